use super::{Common, Done, Stop, json, load, terminal};
use crate::view::risk::RiskView;

/// Arguments of `risk`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  pourwright risk --build demo\n  pourwright risk --replays 100000"
)]
pub struct Args {
    /// How often to replay the plan
    #[arg(long, default_value_t = 10_000)]
    replays: u64,
    /// Another seed draws otherwise
    #[arg(long, default_value_t = 1)]
    seed: u64,
}

/// `risk`: the plan under chance.
pub fn run(common: &Common, args: &Args) -> Done {
    if !(1..=10_000_000).contains(&args.replays) {
        return Err(Stop::Usage("--replays: from 1 to 10,000,000".into()));
    }
    let all = load::planned(common, None)?;
    let risk = load::risk(&all, (args.replays, args.seed))?;
    let view = RiskView::new(&all.build, &risk, all.plan.schedule.finish);
    let view = view.missing(&all.build, &all.plan.schedule);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
