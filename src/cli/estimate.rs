use super::{Common, Done, Stop, json, load, shells, terminal};
use crate::job::Estimated;
use crate::view::estimate::EstimateView;
use crate::yaml::nearest;
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `estimate`.
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:\n  pourwright estimate\n  pourwright estimate base --build demo")]
pub struct Args {
    /// Part to show with every figure (default: a table of all)
    #[arg(add = ArgValueCandidates::new(shells::parts))]
    part: Option<String>,
}

/// `estimate`: the castings' figures.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::estimated(common)?;
    let only = match &args.part {
        None => None,
        Some(id) => Some(cast_part(&all.build, id)?),
    };
    let view = EstimateView::new(&all.build, &all.estimates, only);
    if common.json {
        return json(&view);
    }
    let look = terminal::look(common);
    Ok(view.text(&look, only.is_some()) + &measured_here(&all, &look))
}

/// A mark that the journal knows better than the handbook, where that is so and is not used.
fn measured_here(all: &Estimated, look: &crate::view::text::Look) -> String {
    let lessons = all.learned.lessons.iter().filter(|l| l.can_be_taken());
    let mut ids: Vec<&str> = lessons.map(|l| l.id).collect();
    ids.dedup();
    if ids.is_empty() || all.learned.taken {
        return String::new();
    }
    let says = format!(
        "* Your journal has measurements of {}; these figures do not use them. `pourwright learned` shows them, `learn: yes` under `build:` takes them.",
        ids.join(", ")
    );
    look.wrapped(&says, 2) + "\n"
}

/// Index of a part that is cast.
fn cast_part(build: &crate::model::Build, id: &str) -> Result<usize, Stop> {
    match build.part(id) {
        Some(i) if build.parts[i].casting.is_some() => Ok(i),
        Some(_) => Err(Stop::Usage(format!("`{id}` is not cast; there is nothing to estimate"))),
        None => Err(Stop::Usage(match nearest(id, build.parts.iter().map(|p| &**p.id())) {
            Some(near) => format!("no part is called `{id}`; did you mean `{near}`?"),
            None => format!("no part is called `{id}`; `pourwright parts` lists them"),
        })),
    }
}
