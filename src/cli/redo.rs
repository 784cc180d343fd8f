use super::{Common, Done, Stop, json, load, terminal};
use crate::estimate::estimate;
use crate::redo::redo;
use crate::view::redo::RedoView;
use crate::yaml::nearest;

/// Arguments of `redo`.
#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  pourwright redo base --build demo\n  pourwright redo motor-plate"
)]
pub struct Args {
    /// The part whose last casting was not simply accepted
    part: String,
}

/// Plans tried for either side.
const TRIES: usize = 200;

/// `redo`: cast it again, or live with it.
pub fn run(common: &Common, args: &Args) -> Done {
    let mut all = load::planned(common, None)?;
    let build = &all.build;
    let Some(part) = build.part(&args.part) else {
        let near = nearest(&args.part, build.parts.iter().map(|p| &**p.id()));
        let hint =
            near.map_or("`pourwright parts` lists them".into(), |n| format!("did you mean `{n}`?"));
        return Err(Stop::Usage(format!("no part is called `{}`; {hint}", args.part)));
    };
    let Some(mut redo) = redo(build, &all.estimates, part) else {
        let says = match build.parts[part].casting {
            Some(_) => "the journal has no casting of it that was scrapped, conceded or put right",
            None => "it is not cast",
        };
        return Err(Stop::Usage(format!("`{}`: {says}; there is nothing to decide", args.part)));
    };
    if let Some(other) = redo.otherwise(build) {
        // Both are looked for alike, so that the days between them are no luck of the search.
        let search = load::search_in_force(common, TRIES);
        let estimates = estimate(&other);
        let kept = load::try_schedule(common, &mut all, &search, None);
        let mut then = load::reckoned(other, estimates, all.learned.clone());
        load::try_schedule(common, &mut then, &search, Some(&kept));
        redo.later(all.plan.schedule.finish, then.plan.schedule.finish);
    }
    let view = RedoView::new(&all.build, &redo);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}
