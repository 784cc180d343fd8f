use super::{Common, Done, Stop, json, load, named, shells, terminal};
use crate::job;
use crate::redo::redo;
use crate::view::redo::RedoView;
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `redo`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  pourwright redo base --build demo\n  pourwright redo motor-plate --build demo"
)]
pub struct Args {
    /// The part whose last casting was not simply accepted
    #[arg(add = ArgValueCandidates::new(shells::parts))]
    part: String,
}

/// Plans tried for either side.
const TRIES: usize = 200;

/// `redo`: cast it again, or live with it.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::estimated(common)?;
    let build = &all.build;
    let part = named::part(build, &args.part)?;
    let Some(mut redo) = redo(build, &all.estimates, part) else {
        let says = match build.parts[part].casting {
            Some(_) => "the journal has no casting of it that was scrapped, conceded or put right",
            None => "it is not cast",
        };
        return Err(Stop::Usage(format!("`{}`: {says}; there is nothing to decide", args.part)));
    };
    if let Some(other) = redo.otherwise(build) {
        // Both are looked for alike, so that the days between them are no luck of the search.
        let kept = load::kept(common);
        let search = job::Search { tries: Some(TRIES), gain: 0, ..job::Search::default() };
        let finished = |of, from| job::plan(of, from, Some(search), &mut |_, _| false);
        let now = finished(all.clone(), kept.as_ref());
        let then = finished(all.otherwise(other), now.kept.as_ref());
        redo.later(now.plan.schedule.finish, then.plan.schedule.finish);
    }
    let view = RedoView::new(&all.build, &redo);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
