use super::{Common, Done, Stop, files, json, load, named, terminal};
use crate::estimate::{self, Field};
use crate::figure::{Because, Figure, Kind, read};
use crate::freezing::{Chill, Feeding, Fields, Frozen, Setup};
use crate::job::Estimated;
use crate::model::Build;
use crate::plan::Supposition;
use crate::view::freezing::{FreezingList, FreezingPair, FreezingView, Pictured, picture};
use rayon::prelude::*;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Arguments of `freezing`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright freezing --build demo
      every casting
  pourwright freezing base --build demo
  pourwright freezing base --bare --build demo
      without feeders
  pourwright freezing ram --with alloy=A356 --with 'pours=740 C' --build demo
  pourwright freezing ram --with 'feeder=45 mm' --picture both.svg --build demo
  pourwright freezing ram --with chill=iron --build demo
  pourwright freezing ram --with gate=other-side --build demo
  pourwright freezing base --picture base.svg --build demo

What was computed is kept in the build's folder. Estimate, sheets, plan and
report go by it until what it depends on changes.")]
pub struct Args {
    /// A part that is cast (default: all of them)
    part: Option<String>,
    /// Without feeders
    #[arg(long, requires = "part")]
    bare: bool,
    /// Show beside it how it would freeze with alloy=ID, pours=TEMPERATURE, feeder=DIAMETER,
    /// chill=iron (or copper, graphite) under its last place to freeze, or gate=other-side; nothing
    /// of it is kept
    #[arg(long, value_name = "WHAT=VALUE", requires = "part", conflicts_with = "bare")]
    with: Vec<String>,
    /// Draw three sections through the last place to freeze into this SVG file
    #[arg(long, value_name = "FILE", requires = "part")]
    picture: Option<PathBuf>,
    #[command(flatten)]
    force: files::Force,
}

/// What may be supposed otherwise.
const WITH: &str = "alloy=ID, pours=TEMPERATURE, feeder=DIAMETER, chill=iron, gate=other-side";

/// Castings that are reckoned before they are kept.
const AT_ONCE: usize = 4;

/// `freezing`: castings in their moulds, by heat flow.
pub fn run(common: &Common, args: &Args) -> Done {
    let all = load::estimated(common)?;
    let Some(id) = &args.part else { return every(common, all) };
    let at = named::casting(&all.build, id, "nothing freezes")?;
    let mut setup = setup(&all, at)
        .map_err(|why| Stop::Fault(format!("the freezing of `{id}` cannot be computed: {why}")))?;
    if args.bare {
        setup.advice = None;
        let frozen = reckoned(&all, at, &setup)?;
        return shown(common, args, id, (&all, at), (&setup, &frozen));
    }
    let all = kept(common, all, &[at])?;
    match field(&all, at) {
        Some(Field::Holds(frozen)) if !args.with.is_empty() => {
            let now = (&setup, &**frozen);
            compared(common, args, id, (&all, at), now)
        }
        Some(Field::Holds(frozen)) => {
            let frozen = frozen.clone();
            shown(common, args, id, (&all, at), (&setup, &frozen))
        }
        _ => Err(none(id)),
    }
}

fn none(id: &str) -> Stop {
    Stop::Fault(format!(
        "the freezing of `{id}` cannot be computed: it is so thin for its width that it needs more than 4 million cells"
    ))
}

fn reckoned(all: &Estimated, at: usize, setup: &Setup) -> Result<Frozen, Stop> {
    estimate::freeze(&all.build, at, setup).ok_or_else(|| none(all.build.parts[at].id()))
}

fn field(all: &Estimated, at: usize) -> Option<&Field> {
    all.estimates.castings[at].as_ref().map(|e| &e.field)
}

/// What the freezing of a part that is cast depends on, or why it cannot be computed.
fn setup(all: &Estimated, at: usize) -> Result<Setup, String> {
    let casting = all.build.parts[at].casting.as_ref().ok_or("it is not cast")?;
    let estimate = all.estimates.castings[at].as_ref().ok_or("it has no estimate")?;
    estimate::setup(&all.build, casting, &estimate.feeding).map_err(|why| why.to_string())
}

fn shown(
    common: &Common,
    args: &Args,
    id: &str,
    (all, at): (&Estimated, usize),
    (setup, frozen): (&Setup, &Frozen),
) -> Done {
    if let Some(path) = &args.picture {
        return drawn(
            common,
            args,
            path,
            &[Pictured { title: id.to_owned(), says: Vec::new(), frozen }],
        );
    }
    let estimate = all.estimates.castings[at].as_ref();
    let estimate = estimate.ok_or_else(|| Stop::Fault(format!("`{id}` has no estimate")))?;
    let view = FreezingView::new(&all.build, id, setup, frozen, estimate);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}

/// Writes the picture of a casting, or of two side by side.
fn drawn(common: &Common, args: &Args, path: &Path, of: &[Pictured<'_>]) -> Done {
    let svg = format!("<!-- pourwright -->\n{}", picture(of));
    files::write(common, path, svg.as_bytes(), args.force)?;
    Ok(format!("wrote {}\n", path.display()))
}

/// A casting beside what it would be with these changes.
fn compared(
    common: &Common,
    args: &Args,
    id: &str,
    (all, at): (&Estimated, usize),
    (setup, frozen): (&Setup, &Frozen),
) -> Done {
    let (other, supposed) = supposed(all, at, &args.with, frozen).map_err(Stop::Usage)?;
    let then = reckoned(&other, at, &supposed)?;
    let with = args.with.join(", ");
    let of = |all: &Estimated, setup: &Setup, frozen: &Frozen| {
        let estimate = all.estimates.castings[at].as_ref()?;
        Some(FreezingView::new(&all.build, id, setup, frozen, estimate))
    };
    let pair = of(all, setup, frozen).zip(of(&other, &supposed, &then));
    let (now, then) = pair.ok_or_else(|| Stop::Fault(format!("`{id}` has no estimate")))?;
    let view = FreezingPair { now, with, then };
    if let Some(path) = &args.picture {
        return drawn(common, args, path, &view.pictured());
    }
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}

/// The build with these changes, and what the freezing of the part then depends on.
fn supposed(
    all: &Estimated,
    at: usize,
    with: &[String],
    now: &Frozen,
) -> Result<(Estimated, Setup), String> {
    let mut build = all.build.clone();
    let part = build.parts[at].id().to_string();
    let (mut feeder, mut chill, mut across) = (None, None, false);
    for change in with {
        let asked = || format!("`{change}`: write {WITH}");
        let size = |kind, value: &str| read(kind, value).map_err(|e| format!("`{change}`: {e}"));
        match change.split_once('=').ok_or_else(asked)? {
            ("alloy", alloy) => {
                Supposition::Alloy { part: part.clone(), alloy: alloy.to_owned() }
                    .apply(&mut build)
                    .map_err(|why| why.to_string())?;
            }
            ("pours", value) => {
                let range = size(Kind::Temperature, value)?;
                if let Some(casting) = &mut build.parts[at].casting {
                    let pours =
                        Figure::new("poured at", range, Because::Counted("supposed".into()));
                    Arc::make_mut(&mut casting.alloy).pours = Some(pours);
                }
            }
            ("feeder", value) => feeder = Some(size(Kind::Length, value)?.likely),
            ("gate", "other-side") => across = true,
            ("chill", of) => {
                let insert = build.handbook.inserts.get(&*format!("{of}-chill"));
                chill = Some(insert.cloned().ok_or_else(|| {
                    format!("`{change}`: a chill is of iron, copper or graphite")
                })?);
            }
            _ => return Err(asked()),
        }
    }
    let other = all.otherwise(build);
    let mut setup = setup(&other, at)?;
    if let Some(diameter) = feeder {
        let most = 1.0;
        if !(0.005..=most).contains(&diameter) {
            return Err("a feeder is between 5 mm and 1 m across".into());
        }
        let advice = setup.advice.take().ok_or("the estimate advises no feeder to change")?;
        setup.advice = Some(advice.fixed(diameter));
    } else if chill.is_some() || across {
        // All else stays as it is, so that what this one change does can be seen.
        setup.standing = now.feeding.as_ref().map(Feeding::fed);
    }
    if across && now.way_in.is_none() {
        return Err("the mould could not be laid out: there is no gate to move".into());
    }
    setup.gate_across = across;
    setup.chill = chill.map(|of| {
        let ball = other.estimates.castings[at].as_ref();
        let ball = ball.and_then(|e| e.freezing.thickest_place.as_ref());
        Chill::under(of, now.last, ball.map_or(now.ruling, Figure::si))
    });
    Ok((other, setup))
}

/// All castings, those that were not computed yet first.
fn every(common: &Common, all: Estimated) -> Done {
    let castings: Vec<usize> =
        (0..all.build.parts.len()).filter(|i| field(&all, *i).is_some()).collect();
    let all = kept(common, all, &castings)?;
    let view = FreezingList::new(&all.build, &all.estimates);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
}

/// Reckons what is not kept of these castings or no longer holds, keeps it, and estimates anew.
fn kept(common: &Common, all: Estimated, castings: &[usize]) -> Result<Estimated, Stop> {
    let wanting = |i: &&usize| matches!(field(&all, **i), Some(Field::Missing | Field::Outdated));
    let wanted: Vec<usize> = castings.iter().filter(wanting).copied().collect();
    if wanted.is_empty() {
        return Ok(all);
    }
    let bar = load::shown("reckoning", "castings");
    let mut fields = all.build.fields.clone();
    for some in wanted.chunks(AT_ONCE) {
        let found: Vec<(usize, Setup, Option<Frozen>)> = some
            .par_iter()
            .filter_map(|at| {
                let setup = setup(&all, *at).ok()?;
                let frozen = estimate::freeze(&all.build, *at, &setup);
                Some((*at, setup, frozen))
            })
            .collect();
        for (at, setup, frozen) in found {
            if let Some(frozen) = frozen {
                fields.keep(all.build.parts[at].id(), &setup, frozen);
            }
        }
        keep(common, &fields);
        if let Some(bar) = &bar {
            bar.set_length(wanted.len() as u64);
            bar.inc(some.len() as u64);
        }
    }
    if let Some(bar) = &bar {
        bar.finish_and_clear();
    }
    let build = Build { fields, ..all.build.clone() };
    Ok(all.otherwise(build))
}

/// A folder that may not be written to keeps nothing; all else works.
fn keep(common: &Common, fields: &Fields) {
    if let Ok(text) = serde_json::to_vec_pretty(fields) {
        let _ = files::keep(common, load::FIELDS, &text);
    }
}
