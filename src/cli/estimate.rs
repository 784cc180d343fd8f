use super::{Common, Done, Stop, json, load, terminal};
use crate::view::estimate::EstimateView;
use crate::yaml::nearest;

/// Arguments of `estimate`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  pourwright estimate\n  pourwright estimate base --build demo")]
pub struct Args {
    /// Part to show with every figure (default: a table of all)
    part: Option<String>,
}

/// `estimate`: the castings' figures.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::all(common)?;
    let only = match &args.part {
        None => None,
        Some(id) => Some(cast_part(&all.build, id)?),
    };
    let view = EstimateView::new(&all.build, &all.estimates, only);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common), only.is_some())) }
}

/// Index of a part that is cast.
fn cast_part(build: &crate::build::Build, id: &str) -> Result<usize, Stop> {
    match build.part(id) {
        Some(i) if build.parts[i].casting.is_some() => Ok(i),
        Some(_) => Err(Stop::Usage(format!("`{id}` is not cast; there is nothing to estimate"))),
        None => Err(Stop::Usage(match nearest(id, build.parts.iter().map(|p| &**p.id())) {
            Some(near) => format!("no part is called `{id}`; did you mean `{near}`?"),
            None => format!("no part is called `{id}`; `pourwright parts` lists them"),
        })),
    }
}
