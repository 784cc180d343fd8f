//! What is likely to be answered: the choices and proposals for each key of an entry.

use super::said::Said;
use crate::cli::Stop;
use crate::job::Planned;
use crate::journal::{Disposition, Event, EventKind, Form, Key};
use crate::manifest::{Crucible, Id, Making, Step};
use crate::model::{Build, Part};
use crate::plan::{Subject, next_heat, next_name, standing_moulds};

/// How a key is asked for.
pub(super) enum Offer {
    /// Not at all.
    Nothing,
    /// As a text, with one proposed or none.
    Text(Option<String>),
    /// As one of these: the value, how it is shown, and which is likely.
    From(Vec<(String, String)>, usize),
    /// As some of these, with the likely ones ticked.
    Ticked(Vec<String>, Vec<usize>),
    /// As a number of each of these.
    Each(Vec<(String, u32)>),
    /// As quantities under names such as these.
    Names(Vec<String>),
}

/// Choices that answer several keys at once: options with their values, and how they are shown.
type AtOnce = (&'static str, Vec<Choice>);

/// Options with their values, and how they are shown.
pub(super) type Choice = (Vec<(&'static str, String)>, String);

/// The event that is likely next: what stands poured is shaken out, what was shaken out is
/// inspected, what is rammed is poured.
pub(super) fn likely(build: &Build) -> &'static str {
    let attempts = || build.history.attempts.values();
    if attempts().any(|a| a.poured.is_some() && a.shaken_out.is_none()) {
        "shaken-out"
    } else if !uninspected(build).is_empty() {
        "inspected"
    } else if standing_moulds(build).next().is_some() {
        "poured"
    } else {
        "rammed"
    }
}

/// What one choice answers: which castings, which step of what, what arrived.
pub(super) fn at_once(all: &Planned, kind: &EventKind) -> Option<AtOnce> {
    match kind.word {
        "inspected" => Some(("Which castings?", castings_to_inspect(&all.build))),
        "done" | "worked" => Some(("Which step?", steps(all))),
        "ordered" => Some(("What was ordered?", arrivals(&all.build))),
        "received" => Some(("What arrived?", arrivals(&all.build))),
        "retired" => Some(("What is gone?", equipment(&all.build))),
        _ => None,
    }
}

/// What is planned at the bench today: in words, and the options that name it.
pub(super) fn planned_today(all: &Planned) -> Vec<Choice> {
    let (build, schedule) = (&all.build, &all.plan.schedule);
    let today = schedule.sessions.iter().filter(|s| s.day == build.today);
    let mut jobs: Vec<usize> = today.flat_map(|s| &s.blocks).map(|b| b.job).collect();
    jobs.dedup();
    let mut out: Vec<Choice> = Vec::new();
    for job in jobs.into_iter().map(|n| &schedule.jobs[n]) {
        // What is done to a mould is logged of the mould.
        if matches!(job.step, Step::Ram | Step::Pour | Step::ShakeOut | Step::Inspect) {
            continue;
        }
        let (options, shown) = match job.subject {
            Subject::Pattern(i) => {
                let id = build.patterns[i].id.to_string();
                (vec![("pattern", id.clone())], format!("making {id}"))
            }
            Subject::Part(i) => {
                let (id, step) = (build.parts[i].id().to_string(), job.step.word());
                let shown = format!("{}, {step}", name(build, i));
                (vec![("part", id), ("step", step.to_owned())], shown)
            }
        };
        if out.iter().all(|(other, _)| *other != options) {
            out.push((options, shown));
        }
    }
    out
}

/// Whether a key is asked for after what was said.
pub(super) fn asked(said: &Said, key: &Key) -> bool {
    let met = key.with.is_none_or(|other| said.one(other).is_some());
    // A number that one choice proposed may still be less.
    let open = said.all(key.option()).is_empty() || matches!(key.form, Form::Count);
    !key.asks.is_empty() && open && met
}

/// Whether a key may not be left out after what was said.
pub(super) fn needed(said: &Said, key: &Key) -> bool {
    let of_goods = matches!(said.kind.word, "received" | "ordered" | "counted" | "given-away");
    let pieces = said.one("pieces").is_some();
    key.needed || (of_goods && (key.name == "stock" || (key.name == "mass" && !pieces)))
}

/// How a key is asked for.
pub(super) fn of(all: &Planned, said: &Said, key: &Key) -> Result<Offer, Stop> {
    let build = &all.build;
    Ok(match (said.kind.word, key.name) {
        ("rammed", "mould") => {
            let taken = build.history.attempts.keys().map(|k| &**k);
            Offer::Text(Some(next_name("M", taken)))
        }
        ("rammed", "pattern") => patterns(build),
        ("rammed", "flask") => flasks(build, said),
        ("rammed", "castings") => Offer::Each(castings(build, said)),
        ("poured", "heat") => Offer::Text(Some(next_heat(build, &all.plan).name)),
        ("poured", "alloy") => {
            Offer::Text(next_heat(build, &all.plan).alloy.map(|a| a.to_string()))
        }
        ("poured", "crucible") => crucibles(all, said),
        ("poured", "charge") => Offer::Names(["ingot", "returns"].map(str::to_owned).into()),
        ("poured", "moulds") => moulds(all)?,
        ("shaken-out", "mould") => {
            let full = build.history.attempts.values();
            let full = full.filter(|a| a.poured.is_some() && a.shaken_out.is_none());
            plainly(full.map(|a| a.mould.to_string()), 0)
        }
        ("inspected", "sizes") => Offer::Names(measured(build, said)),
        ("done", "sizes") => Offer::Names(["length", "width"].map(str::to_owned).into()),
        ("received" | "ordered", "stock" | "mass") if said.one("part").is_some() => Offer::Nothing,
        (_, "mass") if said.one("pieces").is_some() => Offer::Nothing,
        ("counted" | "given-away", "stock") => plainly(stocks(build), 0),
        ("note", "part") => {
            let none = (String::new(), "no part in particular".to_owned());
            let parts = build.parts.iter().map(|p| (p.id().to_string(), p.id().to_string()));
            Offer::From(std::iter::once(none).chain(parts).collect(), 0)
        }
        ("void", "entry") => entries(build),
        _ => match key.form {
            Form::Choice(words) => plainly(words().into_iter().map(str::to_owned), 0),
            Form::Count => Offer::Text(said.one(key.option()).or(key.usual).map(str::to_owned)),
            _ => Offer::Text(None),
        },
    })
}

/// Choices that are shown as they are written.
fn plainly(options: impl Iterator<Item = String>, first: usize) -> Offer {
    Offer::From(options.map(|o| (o.clone(), o)).collect(), first)
}

fn patterns(build: &Build) -> Offer {
    // Patterns that are finished and whose castings are still wanted come first.
    let wanted = |at: &usize| {
        build.history.patterns.contains(at)
            && build.parts.iter().enumerate().any(|(i, part)| {
                part.casting.as_ref().is_some_and(|c| c.pattern == *at) && build.to_cast(i) > 0
            })
    };
    let first = (0..build.patterns.len()).find(wanted).unwrap_or(0);
    plainly(build.patterns.iter().map(|p| p.id.to_string()), first)
}

/// The parts that are likely to be in the flask with the pattern, and how many of each.
fn castings(build: &Build, said: &Said) -> Vec<(String, u32)> {
    let at = build.patterns.iter().position(|p| Some(&*p.id) == said.one("pattern"));
    let of = |p: &Part| p.casting.as_ref().map(|c| c.pattern);
    // What shares the flask of the pattern is likely to be in it.
    let inside = build.boxes.iter().find(|b| at.is_some_and(|at| b.contains(&at)));
    let lies = |p: &usize| Some(*p) == at || inside.is_some_and(|b| b.contains(p));
    let parts: Vec<_> = build.parts.iter().filter(|p| of(p).is_some_and(|p| lies(&p))).collect();
    let each = |part: &&Part| {
        let alone = parts.iter().filter(|p| of(p) == of(part)).count() == 1;
        let cavities = of(part).map_or(1, |i| build.patterns[i].given.cavities);
        (part.id().to_string(), if alone { cavities } else { 1 })
    };
    parts.iter().map(each).collect()
}

fn flasks(build: &Build, said: &Said) -> Offer {
    let last = build.history.log.iter().rev().find_map(|e| match &e.event {
        Event::Rammed(r) if Some(&*r.pattern.value) == said.one("pattern") => r.flask.as_ref(),
        _ => None,
    });
    let mut flasks = build.shop.flasks.keys();
    if flasks.len() == 0 {
        return Offer::Nothing;
    }
    let first = last.and_then(|l| flasks.position(|f| *f == l.value)).unwrap_or(0);
    plainly(build.shop.flasks.keys().map(|k| k.to_string()), first)
}

fn crucibles(all: &Planned, said: &Said) -> Offer {
    let build = &all.build;
    let family = said.one("alloy").and_then(|a| build.handbook.alloys.get(a)).map(|a| a.family);
    let fits = |c: &Crucible| c.family.is_none() || c.family == family;
    let crucibles = build.shop.crucibles.iter().filter(|(_, c)| fits(c));
    let crucibles: Vec<String> = crucibles.map(|(id, _)| id.to_string()).collect();
    if crucibles.is_empty() {
        return Offer::Nothing;
    }
    let next = next_heat(build, &all.plan).crucible;
    let first = next.and_then(|n| crucibles.iter().position(|c| **c == *n)).unwrap_or(0);
    plainly(crucibles.into_iter(), first)
}

fn moulds(all: &Planned) -> Result<Offer, Stop> {
    let next = next_heat(&all.build, &all.plan);
    let standing: Vec<String> = standing_moulds(&all.build).map(|a| a.mould.to_string()).collect();
    if standing.is_empty() {
        return Err(Stop::Fault("no mould is rammed yet; log that first".into()));
    }
    let likely = |i: &usize| next.moulds.iter().any(|m| **m == *standing[*i]);
    let ticked = (0..standing.len()).filter(likely).collect();
    Ok(Offer::Ticked(standing, ticked))
}

/// Moulds with castings that are not decided yet: mould, part, pieces.
fn uninspected(build: &Build) -> Vec<(String, usize, u32)> {
    let mut out = Vec::new();
    for attempt in build.history.attempts.values().filter(|a| a.shaken_out.is_some()) {
        for (part, cast) in &attempt.castings {
            let seen: i64 = attempt
                .findings
                .iter()
                .filter(|f| f.part == *part)
                .map(|f| match f.disposition {
                    Disposition::Rework => 0,
                    _ => i64::from(f.pieces),
                })
                .sum();
            if let Ok(left @ 1..) = u32::try_from(i64::from(*cast) - seen) {
                out.push((attempt.mould.to_string(), *part, left));
            }
        }
    }
    out
}

pub(super) fn castings_to_inspect(build: &Build) -> Vec<Choice> {
    let one = |(mould, part, pieces): (String, usize, u32)| -> Choice {
        let shown = format!("{pieces} x {} from {mould}", name(build, part));
        let part = build.parts[part].id();
        (vec![("mould", mould), ("part", part.to_string()), ("pieces", pieces.to_string())], shown)
    };
    uninspected(build).into_iter().map(one).collect()
}

/// Names under which the pattern of a casting was measured.
fn measured(build: &Build, said: &Said) -> Vec<String> {
    let part = build.parts.iter().find(|p| Some(&**p.id()) == said.one("part"));
    let pattern = part.and_then(|p| p.casting.as_ref()).map(|c| &build.patterns[c.pattern].id);
    let sizes = build.history.log.iter().filter_map(|e| match &e.event {
        Event::Done(d) => {
            let of = d.pattern.as_ref().map(|p| &p.value);
            (of == pattern).then_some(&d.sizes)
        }
        _ => None,
    });
    sizes.flat_map(|s| s.keys().map(|k| k.to_string())).collect()
}

/// What is free to be done comes first, the most urgent at the top; patterns come last.
fn steps(all: &Planned) -> Vec<Choice> {
    let build = &all.build;
    let tasks = &all.plan.tasks;
    let mut open: Vec<Choice> = Vec::new();
    let rest = (0..tasks.len()).filter(|n| !tasks[*n].done);
    for number in all.plan.ready.iter().copied().chain(rest) {
        // What is done to a mould is logged of the mould.
        let of_mould =
            matches!(tasks[number].step, Step::Ram | Step::Pour | Step::ShakeOut | Step::Inspect);
        if let Subject::Part(part) = tasks[number].subject
            && !of_mould
        {
            let (id, step) = (build.parts[part].id(), tasks[number].step.word());
            let options = vec![("part", id.to_string()), ("step", step.to_owned())];
            if open.iter().all(|(other, _)| *other != options) {
                open.push((options, format!("{}, {step}", name(build, part))));
            }
        }
    }
    let patterns = (0..build.patterns.len()).filter(|i| !build.history.patterns.contains(i));
    open.extend(patterns.map(|i| {
        let id = &build.patterns[i].id;
        (vec![("pattern", id.to_string())], format!("{id}, the pattern"))
    }));
    open
}

fn stocks(build: &Build) -> impl Iterator<Item = String> {
    build.history.stock.keys().map(|k| k.to_string())
}

fn arrivals(build: &Build) -> Vec<Choice> {
    let bought = build.parts.iter().enumerate().filter(|(i, p)| {
        matches!(p.given.making, Making::Bought(_)) && !build.history.is_done(*i, Step::Receive)
    });
    let bought = bought.map(|(i, p)| (vec![("part", p.id().to_string())], name(build, i)));
    // What the journal knows of comes first, then whatever else stock may go by.
    let known = &build.history.stock;
    let others = build.stock_names().into_iter().filter(|name| !known.contains_key(name));
    let stock = stocks(build).chain(others.map(|name| name.to_string()));
    bought.chain(stock.map(|id| (vec![("stock", id.clone())], id))).collect()
}

/// Flasks and crucibles of the shop.
fn equipment(build: &Build) -> Vec<Choice> {
    let choice =
        |what: &'static str, id: &Id| (vec![(what, id.to_string())], format!("{what} {id}"));
    let flasks = build.shop.flasks.keys().map(|id| choice("flask", id));
    let crucibles = build.shop.crucibles.keys().map(|id| choice("crucible", id));
    flasks.chain(crucibles).collect()
}

/// A part as one reads it: its name, and its id too where another part bears that name.
pub(super) fn name(build: &Build, part: usize) -> String {
    let given = &build.parts[part].given;
    match build.parts.iter().filter(|p| p.given.name == given.name).count() {
        1 => given.name.to_string(),
        _ => format!("{} ({})", given.name, given.id),
    }
}

/// The entries that could be taken back, the latest first.
fn entries(build: &Build) -> Offer {
    let shown = |e: &crate::journal::Entry| {
        let about = e.mould().map(|m| format!(" {m}")).unwrap_or_default();
        format!("{} {}{about} ({})", e.at.format("%Y-%m-%d %H:%M"), e.event.word(), e.id)
    };
    let entries = build.history.log.iter().rev();
    Offer::From(entries.map(|e| (e.id.to_string(), shown(e))).collect(), 0)
}
