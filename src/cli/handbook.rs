use super::{Common, Done, Stop, json, load, terminal};
use crate::handbook::Handbook;
use crate::view::handbook::HandbookView;

/// Arguments of `handbook`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright handbook
      what it holds
  pourwright handbook cope-lift
      one formula
  pourwright handbook A356
      one alloy
  pourwright handbook --all > handbook.md
  pourwright handbook --html > handbook.html")]
pub struct Args {
    /// A formula, an alloy, a sand or a consumable
    name: Option<String>,
    /// All of it, as Markdown
    #[arg(long)]
    all: bool,

    /// As one HTML page instead of Markdown
    #[arg(long)]
    html: bool,
}

/// `handbook`: formulas and tables with their sources; with the build's own alloys where there is
/// a build.
pub fn run(common: &Common, args: &Args) -> Done {
    let view = match load::build(common) {
        Ok(build) => HandbookView::new(&build.handbook, build.header.units),
        Err(_) => HandbookView::new(&Handbook::embedded(), Default::default()),
    };
    if common.json {
        return json(&view);
    }
    match &args.name {
        Some(name) => view.only(name).map(|v| v.text(&terminal::look(common))).map_err(Stop::usage),
        None if args.html => view.html().map_err(Stop::fault),
        None if args.all => Ok(view.markdown()),
        None => Ok(view.contents(&terminal::look(common))),
    }
}
