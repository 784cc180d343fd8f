use super::{Common, Done, files, load, page, terminal, watch, wrote};
use crate::view::report;
use std::path::PathBuf;

/// Arguments of `report`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  pourwright report --build demo --out demo.html\n  pourwright report --watch --build demo\n  pourwright report --watch --log --address 192.168.1.20 --build demo"
)]
pub struct Args {
    /// File to write (default: report.html in the build's folder)
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
    #[command(flatten)]
    force: files::Force,
    /// Show it on a page of this machine that follows the files, until Ctrl-C
    #[arg(short, long, conflicts_with_all = ["out", "json"])]
    watch: bool,
    #[command(flatten)]
    live: watch::Options,
}

/// `report`: one HTML file.
pub fn run(common: &Common, args: &Args) -> Done {
    if args.watch {
        return watch::run(common, args.live);
    }
    std::thread::spawn(report::ready);
    let all = load::planned(common, None)?;
    let (html, refused) = page::page(common, &all)?;
    for says in refused {
        terminal::note(common, &says);
    }
    let path = args.out.clone().unwrap_or_else(|| common.build.join("report.html"));
    files::write(common, &path, html.as_bytes(), args.force)?;
    // The process ends here: half a million figures need not be taken apart one by one.
    std::mem::forget(all);
    wrote(common, &path)
}
