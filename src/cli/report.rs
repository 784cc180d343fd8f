use super::{Common, Done, Stop, load};
use crate::view::report::report;
use std::path::PathBuf;

/// Arguments of `report`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Example:\n  pourwright report --build demo --out demo.html")]
pub struct Args {
    /// File to write (default: report.html in the build's folder)
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
}

/// `report`: one HTML file.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::planned(common, None)?;
    let html = report(&all.build, &all.estimates, &all.plan, &load::supplied(&all))
        .map_err(Stop::Fault)?;
    let path = args.out.clone().unwrap_or_else(|| common.build.join("report.html"));
    load::write_whole(&path, html.as_bytes())?;
    // The process ends here: half a million figures need not be taken apart one by one.
    std::mem::forget(all);
    Ok(format!("{}\n", path.display()))
}
