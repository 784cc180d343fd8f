use super::{Common, Done, Stop, files, json, load, terminal};
use crate::freezing::{Feeders, Frozen, Setup, freeze};
use crate::model::Build;
use crate::view::freezing::{FreezingView, picture};
use crate::yaml::nearest;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Arguments of `freezing`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright freezing base --build demo
  pourwright freezing base --bare --build demo           without its feeders
  pourwright freezing base --picture base.svg --build demo
What was reckoned is kept in the build's folder, and reckoned anew when what it depends on changes.")]
pub struct Args {
    /// A part that is cast
    part: String,
    /// Without the feeders that the estimate advises
    #[arg(long)]
    bare: bool,
    /// Draw three sections through the last place to freeze into this SVG file
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    #[command(flatten)]
    force: files::Force,
}

/// Fields that were reckoned, beside the manifest.
const KEPT: &str = ".freezing.json";
/// Bytes of it that are read at most.
const MOST_KEPT: u64 = 100 << 20;

/// A field and what it depends on.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Kept {
    of: String,
    frozen: Frozen,
}

/// `freezing`: a casting in its mould, by heat flow.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::estimated(common)?;
    let (id, build) = (&args.part, &all.build);
    let at = cast_part(build, id)?;
    let casting = build.parts[at].casting.as_ref();
    let estimate = all.estimates.castings[at].as_ref();
    let (Some(casting), Some(estimate)) = (casting, estimate) else {
        return Err(Stop::Fault(format!("`{id}` has no estimate")));
    };
    let feeders = Feeders::advised(&estimate.feeding).filter(|_| !args.bare);
    let setup = Setup::of(build, casting, feeders)
        .map_err(|why| Stop::Fault(format!("the freezing of `{id}` cannot be reckoned: {why}")))?;
    let frozen = kept_or_reckoned(common, id, args.bare, &setup)
        .ok_or_else(|| {
            Stop::Fault(format!("the freezing of `{id}` cannot be reckoned: it is so thin for its width that it wants more than 4 million cells"))
        })?;
    let view = FreezingView::new(build, id, &setup, &frozen, &estimate.freezing);
    if let Some(path) = &args.picture {
        let drawn = format!("<!-- pourwright -->\n{}", picture(id, &frozen));
        files::write(common, path, drawn.as_bytes(), args.force)?;
        return Ok(format!("wrote {}\n", path.display()));
    }
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}

/// What is kept where it still holds; else reckoned, and kept.
fn kept_or_reckoned(common: &Common, id: &str, bare: bool, setup: &Setup) -> Option<Frozen> {
    let key = if bare { format!("{id} bare") } else { id.to_owned() };
    let text = files::beside(&common.build, KEPT, MOST_KEPT).unwrap_or_default();
    let mut all: BTreeMap<String, Kept> = serde_json::from_slice(&text).unwrap_or_default();
    let of = setup.hash();
    if let Some(kept) = all.get(&key).filter(|k| k.of == of) {
        return Some(kept.frozen.clone());
    }
    let frozen = freeze(setup)?;
    all.insert(key, Kept { of, frozen: frozen.clone() });
    // A folder that may not be written to keeps nothing; all else works.
    if let Ok(text) = serde_json::to_vec_pretty(&all) {
        let _ = files::keep(common, KEPT, &text);
    }
    Some(frozen)
}

/// Index of a part that is cast.
fn cast_part(build: &Build, id: &str) -> Result<usize, Stop> {
    match build.part(id) {
        Some(i) if build.parts[i].casting.is_some() => Ok(i),
        Some(_) => Err(Stop::Usage(format!("`{id}` is not cast; nothing freezes"))),
        None => Err(Stop::Usage(match nearest(id, build.parts.iter().map(|p| &**p.id())) {
            Some(near) => format!("no part is called `{id}`; did you mean `{near}`?"),
            None => format!("no part is called `{id}`; `pourwright parts` lists them"),
        })),
    }
}
