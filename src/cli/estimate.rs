use super::{Common, Done, json, load, named, shells, terminal};
use crate::job::Estimated;
use crate::view::estimate::EstimateView;
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `estimate`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright estimate --build demo
      a table of all castings
  pourwright estimate base --build demo
      flask, pot, what is missing
  pourwright estimate base --all --build demo
      every figure, note and caution")]
pub struct Args {
    /// Part to show, by id or name (default: a table of all)
    #[arg(add = ArgValueCandidates::new(shells::parts))]
    part: Option<String>,
    /// Show every figure, note and caution of the part
    #[arg(long, requires = "part")]
    all: bool,
}

/// `estimate`: the castings' figures.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::estimated(common)?;
    let only = match &args.part {
        None => None,
        Some(id) => Some(named::casting(&all.build, id, "there is nothing to estimate")?),
    };
    let view = EstimateView::new(&all.build, &all.estimates, only);
    if common.json {
        return json(&view);
    }
    let look = terminal::look(common);
    Ok(match only {
        Some(_) if !args.all => view.brief(&look),
        _ => view.text(&look, only.is_some()) + &measured_here(&all, &look),
    })
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
