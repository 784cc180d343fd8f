use super::{Common, Done, json, load, terminal};
use crate::job;
use crate::supply::Wish;
use crate::view::buy::BuyView;

/// Arguments of `buy`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright buy --build demo
  pourwright buy --sure --build demo
      enough in nine of ten replays
  pourwright buy --stages --build demo
      an order for each month
  pourwright buy --csv --build demo > orders.csv")]
pub struct Args {
    /// Cover what nine in ten replays of the plan take, castings made again included
    #[arg(long)]
    sure: bool,
    /// An order for each month in which something runs short
    #[arg(long)]
    stages: bool,
    /// Print comma-separated text for a spreadsheet
    #[arg(long, conflicts_with = "json")]
    csv: bool,
}

/// `buy`: what to order, from whom, by when.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::planned(common, None)?;
    let wish = Wish { sure: args.sure, stages: args.stages };
    let bill = load::supplied(&all, args.sure)?;
    let view = BuyView::new(&all.build, &bill, &job::purchases(&all, &bill, wish));
    match () {
        () if args.csv => Ok(view.csv()),
        () if common.json => json(&view),
        () => Ok(view.text(&terminal::look(common))),
    }
}
