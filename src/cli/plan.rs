use super::{Common, Done, json, load, terminal};
use crate::view::plan::PlanView;

/// Arguments of `plan`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  pourwright plan --build demo\n  pourwright plan --all")]
pub struct Args {
    /// Show every step that is left, not only the next twenty
    #[arg(long)]
    all: bool,
}

/// `plan`: the work in order.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::all(common)?;
    let view = PlanView::new(&all.build, &all.plan);
    let most = if args.all { usize::MAX } else { 20 };
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common), most)) }
}
