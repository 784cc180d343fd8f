use super::{Common, Done, Stop, json, load, shells, terminal};
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
  pourwright history                    the whole journal, day by day
  pourwright history --part base        the story of a casting, from pattern to fit
  pourwright history --heat H3          the record of a heat
  pourwright history --kind inspected --from 2026-05-01")]
pub struct Args {
    /// All that happened to this part
    #[arg(long, add = ArgValueCandidates::new(shells::parts))]
    part: Option<String>,
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
    #[arg(long, value_name = "YYYY-MM-DD")]
    from: Option<NaiveDate>,
    /// Up to this day
    #[arg(long, value_name = "YYYY-MM-DD")]
    to: Option<NaiveDate>,
}

/// `history`: the journal, narrowed down.
pub fn run(common: &Common, args: &Args) -> Done {
    let build = load::build(common)?;
    let view = HistoryView::new(&build, &asked(&build, args)?);
    if common.json { json(&view) } else { Ok(view.text(&terminal::look(common))) }
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
    if let Some(part) = &args.part {
        known("part", part, build.parts.iter().map(|p| &**p.id()))?;
    }
    if let Some(mould) = &args.mould {
        known("mould", mould, history.attempts.keys().map(|k| &**k))?;
    }
    if let Some(heat) = &args.heat {
        known("heat", heat, history.heats.keys().map(|k| &**k))?;
    }
    if let Some(kind) = &args.kind {
        known("event", kind, Event::WORDS.iter().copied())?;
    }
    Ok(Asked {
        part: args.part.as_deref().and_then(|p| build.part(p)),
        mould: args.mould.clone(),
        heat: args.heat.clone(),
        kind: args.kind.clone(),
        from: args.from,
        to: args.to,
    })
}
