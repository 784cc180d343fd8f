use super::{Common, Done, json, load, terminal};
use crate::view::bill::BillView;

/// Arguments of `bill`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright bill --build demo
  pourwright bill --sure --build demo
      with castings made again
  pourwright bill --csv --build demo > bill.csv")]
pub struct Args {
    /// Print comma-separated text for a spreadsheet
    #[arg(long, conflicts_with = "json")]
    csv: bool,
    /// Also show what to buy so that nine in ten replays of the plan have enough
    #[arg(long)]
    sure: bool,
}

/// `bill`: what the build takes.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::planned(common, None)?;
    let bill = load::supplied(&all, args.sure)?;
    let view = BillView::new(&all.build, &bill);
    match () {
        () if args.csv => Ok(view.csv()),
        () if common.json => json(&view),
        () => Ok(view.text(&terminal::look(common))),
    }
}
