use super::{Common, Done, Stop, json, load, terminal};
use crate::supply::stock;
use crate::view::stock::StockView;

/// Arguments of `stock`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright stock --build demo
  pourwright stock A356 --build demo
      how all of it came and where it went
  pourwright why A356-returns stock --build demo")]
pub struct Args {
    /// One stock: its receipts, and its balance from the start to now
    of: Option<String>,
}

/// `stock`: what the shop keeps.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::estimated(common)?;
    let holdings = stock(&all.build, &all.estimates);
    let view = StockView::new(&all.build, &holdings, args.of.as_deref()).map_err(Stop::usage)?;
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
