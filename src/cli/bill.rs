use super::{Common, Done, json, load, terminal};
use crate::view::bill::BillView;

/// Arguments of `bill`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright bill --build demo
  pourwright bill --csv > bill.csv")]
pub struct Args {
    /// Print comma-separated text for a spreadsheet
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

/// `bill`: what the build takes.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::planned(common, None)?;
    let view = BillView::new(&all.build, &load::supplied(&all));
    match () {
        () if args.csv => Ok(view.csv()),
        () if common.json => json(&view),
        () => Ok(view.text(&terminal::look(common))),
    }
}
