use super::{Common, Done, Stop, load, photos, watch, wrote};
use crate::supply::{Wish, purchases, sure};
use crate::view::report::{self, Extras, report_with};
use std::path::PathBuf;

/// Arguments of `report`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  pourwright report --build demo --out demo.html\n  pourwright report --watch --build demo"
)]
pub struct Args {
    /// File to write (default: report.html in the build's folder)
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Show it on a page of this machine that follows the files, until Ctrl-C
    #[arg(short, long, conflicts_with_all = ["out", "json"])]
    watch: bool,
    /// Port of that page (default: any free one)
    #[arg(long, requires = "watch", default_value_t = 0, hide_default_value = true)]
    port: u16,
}

/// Builds with more steps are not replayed for the report; `risk` does it.
const MOST_REPLAYED: usize = 1000;

/// `report`: one HTML file.
pub fn run(common: &Common, args: &Args) -> Done {
    if args.watch {
        return watch::run(common, args.port);
    }
    std::thread::spawn(report::ready);
    let all = load::planned(common, None)?;
    let (html, refused) = page(common, &all)?;
    for says in refused {
        eprintln!("note: {says}");
    }
    let path = args.out.clone().unwrap_or_else(|| common.build.join("report.html"));
    load::write_whole(&path, html.as_bytes())?;
    // The process ends here: half a million figures need not be taken apart one by one.
    std::mem::forget(all);
    wrote(common, &path)
}

/// The page, and what it could not show, in words.
pub(super) fn page(common: &Common, all: &load::Loaded) -> Result<(String, Vec<String>), Stop> {
    let (photos, refused) = photos::photos(common, &all.build);
    let mut bill = load::supplied(all);
    let risk = (all.plan.tasks.len() <= MOST_REPLAYED)
        .then(|| load::usual_risk(common, all).ok())
        .flatten();
    if let Some(risk) = &risk {
        sure(&all.build, risk, &mut bill);
    }
    let purchases = purchases(&all.build, &bill, Wish::default());
    let extras = Extras { photos, risk, learned: all.learned.clone(), purchases };
    let html = report_with(&all.build, &all.estimates, &all.plan, &bill, &extras);
    Ok((html.map_err(Stop::Fault)?, refused))
}
