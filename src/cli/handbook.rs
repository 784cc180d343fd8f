use super::{Common, Done, Stop, json, load};
use crate::handbook::Handbook;
use crate::view::handbook::HandbookView;

/// Arguments of `handbook`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright handbook > handbook.md
  pourwright handbook --html > handbook.html")]
pub struct Args {
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
    if args.html { view.html().map_err(Stop::Fault) } else { Ok(view.markdown()) }
}
