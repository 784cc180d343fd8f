use super::{Common, Done, Stop, json, load, terminal};
use crate::job;
use crate::view::risk::RiskView;

/// Arguments of `risk`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright risk --build demo
  pourwright risk --all --build demo
      with amounts, classes and method
  pourwright risk --replays 10000 --build demo
      more replays, finer figures")]
pub struct Args {
    /// How often to replay the plan (default: as often as the report does)
    #[arg(long)]
    replays: Option<u64>,
    /// Seed of the random draws
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Show also the amounts, the classes and how it was done
    #[arg(long)]
    all: bool,
}

/// `risk`: the plan under chance.
pub fn run(common: &Common, args: &Args) -> Done {
    if args.replays.is_some_and(|n| !(1..=10_000_000).contains(&n)) {
        return Err(Stop::Usage("--replays: from 1 to 10,000,000".into()));
    }
    let all = load::planned(common, None)?;
    let risk = load::risk(&all, (args.replays.unwrap_or(job::usual_replays(&all).0), args.seed))?;
    let view = RiskView::new(&all.build, &all.bill, &risk, all.plan.schedule.finish);
    let view = view.missing(&all.build, &all.plan.schedule);
    let look = terminal::look(common);
    match (common.json, args.all) {
        (true, _) => json(&view),
        (_, true) => Ok(view.text(&look)),
        _ => Ok(view.brief(&look)),
    }
}
