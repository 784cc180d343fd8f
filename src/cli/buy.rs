use super::{Common, Done, json, load, terminal};
use crate::job;
use crate::supply::Wish;
use crate::view::buy::BuyView;

/// Arguments of `buy`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright buy --build demo
  pourwright buy --sure                enough even if every need is at its highest
  pourwright buy --stages              an order for each month in which something runs short
  pourwright buy --csv > orders.csv")]
pub struct Args {
    /// Cover the high end of each need, not the likely one
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
    let purchases = job::purchases(&all, &job::supply(&all), wish);
    let total = purchases.iter().map(|p| p.total).sum();
    let view = BuyView::new(&all.build, &purchases, total);
    match () {
        () if args.csv => Ok(view.csv()),
        () if common.json => json(&view),
        () => Ok(view.text(&terminal::look(common))),
    }
}
