use super::{Common, Done, Stop, json, load, named, shells, terminal};
use crate::journal::Event;
use crate::model::{Asked, Build};
use crate::view::history::HistoryView;
use crate::yaml::nearest;
use chrono::NaiveDate;
use clap_complete::engine::ArgValueCandidates;

/// Arguments of `history`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright history --build demo
      the last entries
  pourwright history base --build demo
      the story of a part
  pourwright history --heat H3 --build demo
      the record of a heat
  pourwright history --kind inspected --from 2026-05-01 --build demo

The latest stands first.")]
pub struct Args {
    /// All that happened to this part, by id or name
    #[arg(value_name = "PART", add = ArgValueCandidates::new(shells::parts))]
    of: Option<String>,
    /// The same as an option
    #[arg(long, conflicts_with = "of", add = ArgValueCandidates::new(shells::parts))]
    part: Option<String>,
    /// Every entry, not only the last ones
    #[arg(long)]
    all: bool,
    /// All that happened to this mould
    #[arg(long)]
    mould: Option<String>,
    /// A heat, with its moulds
    #[arg(long)]
    heat: Option<String>,
    /// One kind of entry: rammed, poured, shaken-out, inspected, done, received, counted ...
    #[arg(long)]
    kind: Option<String>,
    /// From this day on
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
    from: Option<NaiveDate>,
    /// Up to this day
    #[arg(long, value_name = "YYYY-MM-DD", value_parser = super::day)]
    to: Option<NaiveDate>,
}

/// Entries that are shown where nothing narrows them down.
const LAST: usize = 12;

/// `history`: the journal, narrowed down.
pub fn run(common: &Common, args: &Args) -> Done {
    let build = load::build(common)?;
    let view = HistoryView::new(&build, &asked(&build, args)?);
    if common.json {
        return json(&view);
    }
    let narrowed = args.of.is_some() || args.part.is_some() || args.mould.is_some();
    let narrowed = narrowed || args.heat.is_some() || args.kind.is_some() || args.from.is_some();
    let most = if args.all || narrowed || args.to.is_some() { usize::MAX } else { LAST };
    Ok(view.text(&terminal::look(common), most))
}

/// Names that are not known are told, with what is near.
fn known<'n>(
    what: &str,
    name: &str,
    among: impl Iterator<Item = &'n str> + Clone,
) -> Result<(), Stop> {
    if among.clone().any(|n| n == name) {
        return Ok(());
    }
    let hint = nearest(name, among).map_or(String::new(), |n| format!("; did you mean `{n}`?"));
    Err(Stop::Usage(format!("no {what} is called `{name}`{hint}")))
}

fn asked(build: &Build, args: &Args) -> Result<Asked, Stop> {
    let history = &build.history;
    if let Some(mould) = &args.mould {
        known("mould", mould, history.attempts.keys().map(|k| &**k))?;
    }
    if let Some(heat) = &args.heat {
        known("heat", heat, history.heats.keys().map(|k| &**k))?;
    }
    if let Some(kind) = &args.kind {
        known("event", kind, Event::WORDS.iter().copied())?;
    }
    let part = |name: &String| match named::part(build, name) {
        Err(_) if history.attempts.contains_key(&**name) => {
            Err(Stop::Usage(format!("`{name}` is a mould; write `--mould {name}`")))
        }
        Err(_) if history.heats.contains_key(&**name) => {
            Err(Stop::Usage(format!("`{name}` is a heat; write `--heat {name}`")))
        }
        found => found,
    };
    Ok(Asked {
        part: args.of.as_ref().or(args.part.as_ref()).map(part).transpose()?,
        mould: args.mould.clone(),
        heat: args.heat.clone(),
        kind: args.kind.clone(),
        from: args.from,
        to: args.to,
    })
}
