//! Asking for an entry at the terminal, with what is likely already filled in.

use super::{Event, moment};
use crate::cli::Stop;
use crate::cli::load::Loaded;
use crate::figure::{Kind, read};
use crate::journal::{CanBe, Disposition};
use crate::model::Build;
use crate::plan::{next_heat, next_name, standing_moulds};
use chrono::NaiveDateTime;
use inquire::validator::Validation;
use inquire::{Confirm, InquireError, MultiSelect, Select, Text};
use std::io::IsTerminal;

type Asked<T> = Result<T, Stop>;

fn stopped(e: InquireError) -> Stop {
    match e {
        InquireError::OperationCanceled | InquireError::OperationInterrupted => {
            Stop::Fault("nothing was written".into())
        }
        e => Stop::Fault(format!("the terminal cannot be asked: {e}")),
    }
}

/// Whether what was shown may be written.
pub(super) fn agreed() -> Asked<bool> {
    Confirm::new("Write this down?").with_default(true).prompt().map_err(stopped)
}

/// What happened, and when; the time is asked for where one is proposed.
pub(super) fn event(
    all: &Loaded,
    propose: Option<NaiveDateTime>,
    at: NaiveDateTime,
) -> Asked<(Event, NaiveDateTime)> {
    if !(std::io::stdin().is_terminal() && std::io::stderr().is_terminal()) {
        return Err(Stop::Usage(
            "which event? `pourwright log --help` lists them; without one it asks, and needs a terminal for that"
                .into(),
        ));
    }
    let kinds = [
        "a mould was rammed",
        "a heat was poured",
        "a mould was shaken out",
        "castings were inspected",
        "a step of a part was finished",
        "a pattern was finished",
        "something arrived",
        "stock was counted",
        "stock was given away",
        "a note",
    ];
    let kind = choose("What happened?", kinds.to_vec(), likely(&all.build))?;
    let at = match propose {
        None => at,
        Some(now) => {
            let now = now.format("%Y-%m-%d %H:%M").to_string();
            let sound = |text: &str| match moment(text) {
                Ok(_) => Ok(Validation::Valid),
                Err(_) => Ok(Validation::Invalid("write 2026-03-07 14:20".into())),
            };
            let text = Text::new("When?").with_default(&now).with_validator(sound);
            moment(&text.prompt().map_err(stopped)?)?
        }
    };
    let at_of = |word: &str| kinds.iter().position(|k| *k == word);
    let event = match at_of(kind) {
        Some(0) => rammed(&all.build)?,
        Some(1) => poured(all)?,
        Some(2) => shaken_out(&all.build)?,
        Some(3) => inspected(&all.build)?,
        Some(4) => step_done(all)?,
        Some(5) => pattern_done(&all.build)?,
        Some(6) => received(&all.build)?,
        Some(7) => Event::Counted {
            stock: choose("Which?", stocks(&all.build), 0)?,
            mass: size("How much is there?", Kind::Mass)?,
        },
        Some(8) => Event::GivenAway {
            stock: choose("Which?", stocks(&all.build), 0)?,
            mass: size("How much?", Kind::Mass)?,
            to: may("To whom?")?,
        },
        _ => Event::Note {
            words: must("What is to be remembered?", None)?,
            part: one_of_parts(&all.build)?,
            mould: None,
        },
    };
    Ok((event, at))
}

/// Place of the event that is likely next: what stands poured is shaken out, what was shaken out
/// is inspected, what is rammed is poured.
fn likely(build: &Build) -> usize {
    let attempts = || build.history.attempts.values();
    if attempts().any(|a| a.poured.is_some() && a.shaken_out.is_none()) {
        2
    } else if !uninspected(build).is_empty() {
        3
    } else if standing_moulds(build).next().is_some() {
        1
    } else {
        0
    }
}

fn choose<T: std::fmt::Display>(says: &str, options: Vec<T>, first: usize) -> Asked<T> {
    if options.is_empty() {
        return Err(Stop::Fault(format!("{says} There is nothing to choose from")));
    }
    let first = first.min(options.len() - 1);
    let select = Select::new(says, options).with_starting_cursor(first).with_page_size(12);
    select.prompt().map_err(stopped)
}

fn must(says: &str, proposed: Option<&str>) -> Asked<String> {
    let text = Text::new(says);
    let text = match proposed {
        Some(proposed) => text.with_default(proposed),
        None => text.with_validator(|t: &str| {
            Ok(match t.trim() {
                "" => Validation::Invalid("this is needed".into()),
                _ => Validation::Valid,
            })
        }),
    };
    text.prompt().map_err(stopped)
}

const LEAVES_OUT: &str = "Enter leaves it out";

/// A text that may be left out.
fn may(says: &str) -> Asked<Option<String>> {
    let text = Text::new(says).with_help_message(LEAVES_OUT).prompt().map_err(stopped)?;
    Ok((!text.trim().is_empty()).then(|| text.trim().to_owned()))
}

fn sized(says: &str, kind: Kind, needed: bool) -> Asked<String> {
    let help = match needed {
        true => format!("such as {}", kind.example()),
        false => format!("such as {}; {LEAVES_OUT}", kind.example()),
    };
    let sound = move |text: &str| {
        if text.trim().is_empty() {
            return Ok(match needed {
                true => Validation::Invalid("this is needed".into()),
                false => Validation::Valid,
            });
        }
        Ok(match read(kind, text.trim()) {
            Ok(_) => Validation::Valid,
            Err(e) => Validation::Invalid(format!("{}; {}", e.says, e.hint).into()),
        })
    };
    let text = Text::new(says).with_help_message(&help).with_validator(sound);
    text.prompt().map(|t| t.trim().to_owned()).map_err(stopped)
}

fn size(says: &str, kind: Kind) -> Asked<String> {
    sized(says, kind, true)
}

fn may_size(says: &str, kind: Kind) -> Asked<Option<String>> {
    sized(says, kind, false).map(|t| (!t.is_empty()).then_some(t))
}

/// `NAME=SIZE` again and again until nothing is entered.
fn sizes(says: &str, kind: Kind, proposed: &[&str]) -> Asked<Vec<String>> {
    let mut out = Vec::new();
    for i in 0.. {
        let help = match proposed.get(i) {
            Some(name) => format!("such as {name}={}; {LEAVES_OUT}", kind.example()),
            None => "Enter ends the list".into(),
        };
        let sound = move |text: &str| {
            Ok(match text.split_once('=') {
                _ if text.trim().is_empty() => Validation::Valid,
                Some((name, size)) if !name.trim().is_empty() => match read(kind, size.trim()) {
                    Ok(_) => Validation::Valid,
                    Err(e) => Validation::Invalid(format!("{}; {}", e.says, e.hint).into()),
                },
                _ => Validation::Invalid(format!("write NAME={}", kind.example()).into()),
            })
        };
        let text = Text::new(says).with_help_message(&help).with_validator(sound);
        let text = text.prompt().map_err(stopped)?;
        let Some((name, size)) = text.split_once('=') else { break };
        out.push(format!("{}={}", name.trim(), size.trim()));
    }
    Ok(out)
}

fn rammed(build: &Build) -> Asked<Event> {
    let taken = build.history.attempts.keys().map(|k| &**k);
    let mould = must("Name of the mould?", Some(&next_name("M", taken)))?;
    let patterns: Vec<String> = build.patterns.iter().map(|p| p.id.to_string()).collect();
    // Patterns that are finished and whose castings are still wanted come first.
    let wanted = |at: usize| {
        build.history.patterns.contains(&at)
            && build.parts.iter().enumerate().any(|(i, part)| {
                part.casting.as_ref().is_some_and(|c| c.pattern == at) && build.to_cast(i) > 0
            })
    };
    let first = (0..patterns.len()).find(|i| wanted(*i)).unwrap_or(0);
    let pattern = choose("Which pattern is in it?", patterns, first)?;
    let at = build.patterns.iter().position(|p| *p.id == *pattern);
    let mut castings = Vec::new();
    let of = |p: &crate::model::Part| p.casting.as_ref().map(|c| c.pattern);
    // What shares the flask of the pattern is likely to be in it.
    let inside = build.boxes.iter().find(|b| at.is_some_and(|at| b.contains(&at)));
    let lies = |p: &usize| Some(*p) == at || inside.is_some_and(|b| b.contains(p));
    let parts: Vec<_> = build.parts.iter().filter(|p| of(p).is_some_and(|p| lies(&p))).collect();
    for part in &parts {
        let alone = parts.iter().filter(|p| of(p) == of(part)).count() == 1;
        let cavities = of(part).map_or(1, |i| build.patterns[i].given.cavities);
        let proposed = if alone { cavities } else { 1 };
        let count = must(
            &format!("How many of {} are in it? (0: none)", part.id()),
            Some(&proposed.to_string()),
        )?;
        if count.trim() != "0" {
            castings.push(format!("{}={}", part.id(), count.trim()));
        }
    }
    let last = build.history.log.iter().rev().find_map(|e| match &e.event {
        crate::journal::Event::Rammed(r) if *r.pattern.value == *pattern => r.flask.as_ref(),
        _ => None,
    });
    let flasks: Vec<String> = build.shop.flasks.keys().map(|k| k.to_string()).collect();
    let first = last.and_then(|l| flasks.iter().position(|f| **f == *l.value)).unwrap_or(0);
    let flask = match flasks.is_empty() {
        true => None,
        false => Some(choose("In which flask?", flasks, first)?),
    };
    let hours = may_size("How long did it take?", Kind::Time)?;
    let moisture = may_size("Water in the sand, if it was measured?", Kind::Ratio)?;
    Ok(Event::Rammed { mould, pattern, flask, castings, hours, moisture })
}

fn poured(all: &Loaded) -> Asked<Event> {
    let build = &all.build;
    let next = next_heat(build, &all.plan);
    let heat = must("Name of the heat?", Some(&next.name))?;
    let standing: Vec<String> = standing_moulds(build).map(|a| a.mould.to_string()).collect();
    let ticked: Vec<usize> =
        (0..standing.len()).filter(|i| next.moulds.iter().any(|m| **m == *standing[*i])).collect();
    if standing.is_empty() {
        return Err(Stop::Fault("no mould stands rammed; log that first".into()));
    }
    let moulds = MultiSelect::new("Which moulds, in order?", standing)
        .with_default(&ticked)
        .with_validator(|ticked: &[inquire::list_option::ListOption<&String>]| {
            Ok(match ticked {
                [] => {
                    Validation::Invalid("a heat fills at least one mould; space ticks one".into())
                }
                _ => Validation::Valid,
            })
        })
        .prompt()
        .map_err(stopped)?;
    let alloy = match &next.alloy {
        Some(alloy) => must("Which alloy?", Some(alloy))?,
        None => must("Which alloy?", None)?,
    };
    let family = build.handbook.alloys.get(&*alloy).map(|a| a.family);
    let fits = |c: &crate::manifest::Crucible| c.family.is_none() || c.family == family;
    let crucibles = build.shop.crucibles.iter().filter(|(_, c)| fits(c));
    let crucibles: Vec<String> = crucibles.map(|(id, _)| id.to_string()).collect();
    let first = next.crucible.and_then(|l| crucibles.iter().position(|c| **c == *l)).unwrap_or(0);
    let crucible = match crucibles.is_empty() {
        true => None,
        false => Some(choose("Which crucible?", crucibles, first)?),
    };
    let charge = sizes("What went in?", Kind::Mass, &["ingot", "returns"])?;
    let temperature = may_size("Pouring temperature?", Kind::Temperature)?;
    let heel = may_size("What was left in the crucible?", Kind::Mass)?;
    let fuel = may_size("Fuel burnt?", Kind::Mass)?;
    let melt_time = may_size("How long did it take to melt?", Kind::Time)?;
    let weather = may("Weather of the day?")?;
    Ok(Event::Poured {
        heat,
        alloy,
        crucible,
        furnace: None,
        moulds,
        charge,
        temperature,
        heel,
        fuel,
        melt_time,
        filled: Vec::new(),
        weather,
    })
}

fn shaken_out(build: &Build) -> Asked<Event> {
    let full = build.history.attempts.values();
    let full = full.filter(|a| a.poured.is_some() && a.shaken_out.is_none());
    let mould = choose("Which mould?", full.map(|a| a.mould.to_string()).collect(), 0)?;
    let after = may_size("How long after pouring?", Kind::Time)?;
    let frozen = may_size("How long until it was frozen, if you timed it?", Kind::Time)?;
    let mass = may_size("All the metal that came out, gates with it?", Kind::Mass)?;
    Ok(Event::ShakenOut { mould, after, frozen, mass })
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

fn inspected(build: &Build) -> Asked<Event> {
    let left = uninspected(build);
    let name = |(mould, part, pieces): &(String, usize, u32)| {
        format!("{pieces} x {} from {mould}", build.parts[*part].id())
    };
    let names: Vec<String> = left.iter().map(name).collect();
    let chosen = choose("Which castings?", names.clone(), 0)?;
    let (mould, part, pieces) = &left[names.iter().position(|n| *n == chosen).unwrap_or(0)];
    let pieces = must("How many pieces does this hold for?", Some(&pieces.to_string()))?;
    let Ok(pieces) = pieces.trim().parse::<u32>() else {
        return Err(Stop::Usage(format!("`{pieces}` is no number of pieces")));
    };
    let words: Vec<&str> = Disposition::WORDS.iter().map(|(w, _)| *w).collect();
    let disposition = choose("What becomes of them?", words, 0)?;
    let mass = may_size("Mass of one?", Kind::Mass)?;
    let (mut blemishes, mut faces, mut can_be) = (Vec::new(), Vec::new(), Vec::new());
    if disposition != "accept" {
        let title = |(code, d): (&std::sync::Arc<str>, &crate::handbook::Defect)| {
            format!("{code} {}", d.title)
        };
        let classes: Vec<String> = build.handbook.defects.iter().map(title).collect();
        let found = MultiSelect::new("What was found?", classes).with_page_size(12);
        for class in found.prompt().map_err(stopped)? {
            let code = class.split(' ').next().unwrap_or_default().to_owned();
            let place = may(&format!("Where is it? ({class})"))?;
            blemishes.push(place.map_or(code.clone(), |place| format!("{code}={place}")));
        }
        if !blemishes.is_empty() {
            faces = may("Which faces does it touch?")?.into_iter().collect();
            let words: Vec<&str> = CanBe::WORDS.iter().map(|(w, _)| *w).collect();
            let ticked = MultiSelect::new("What could be done about it?", words);
            can_be = ticked.prompt().map_err(stopped)?;
        }
    }
    let pattern = build.parts[*part].casting.as_ref().map(|c| c.pattern);
    let named = build.history.log.iter().filter_map(|e| match &e.event {
        crate::journal::Event::Done(d) => {
            let of = d.pattern.as_ref().map(|p| p.value.clone());
            (of == pattern.map(|p| build.patterns[p].id.clone())).then_some(&d.sizes)
        }
        _ => None,
    });
    let named: Vec<&str> = named.flat_map(|s| s.keys().map(|k| &**k)).collect();
    Ok(Event::Inspected {
        mould: mould.clone(),
        part: build.parts[*part].id().to_string(),
        pieces,
        disposition: disposition.to_owned(),
        mass,
        blemishes,
        faces,
        can_be: can_be.into_iter().map(str::to_owned).collect(),
        sizes: sizes("A measured size?", Kind::Length, &named)?,
    })
}

fn step_done(all: &Loaded) -> Asked<Event> {
    use crate::manifest::Step;
    use crate::plan::Subject;
    let build = &all.build;
    // What is free to be done comes first, the most urgent at the top.
    let mut open: Vec<(String, String)> = Vec::new();
    let tasks = &all.plan.tasks;
    let rest = (0..tasks.len()).filter(|n| !tasks[*n].done);
    for number in all.plan.ready.iter().copied().chain(rest) {
        // What is done to a mould is logged of the mould.
        let of_mould =
            matches!(tasks[number].step, Step::Ram | Step::Pour | Step::ShakeOut | Step::Inspect);
        if let Subject::Part(part) = tasks[number].subject
            && !of_mould
        {
            let pair = (build.parts[part].id().to_string(), tasks[number].step.word().to_owned());
            if !open.contains(&pair) {
                open.push(pair);
            }
        }
    }
    let names: Vec<String> = open.iter().map(|(part, step)| format!("{part}, {step}")).collect();
    let chosen = choose("Which step?", names.clone(), 0)?;
    let (part, step) = open[names.iter().position(|n| *n == chosen).unwrap_or(0)].clone();
    let hours = may_size("How long did it take?", Kind::Time)?;
    Ok(Event::Done {
        part: Some(part),
        pattern: None,
        step: Some(step),
        hours,
        mass: None,
        sizes: Vec::new(),
    })
}

fn pattern_done(build: &Build) -> Asked<Event> {
    let open = (0..build.patterns.len()).filter(|i| !build.history.patterns.contains(i));
    let open: Vec<String> = open.map(|i| build.patterns[i].id.to_string()).collect();
    Ok(Event::Done {
        part: None,
        pattern: Some(choose("Which pattern?", open, 0)?),
        step: None,
        hours: may_size("How long did it take?", Kind::Time)?,
        mass: may_size("What does it weigh?", Kind::Mass)?,
        sizes: sizes("A measured size?", Kind::Length, &["length", "width"])?,
    })
}

fn stocks(build: &Build) -> Vec<String> {
    build.history.stock.keys().map(|k| k.to_string()).collect()
}

fn one_of_parts(build: &Build) -> Asked<Option<String>> {
    let none = "no part of its own".to_owned();
    let parts = build.parts.iter().map(|p| p.id().to_string());
    let options: Vec<String> = std::iter::once(none.clone()).chain(parts).collect();
    Ok(Some(choose("About which part?", options, 0)?).filter(|p| *p != none))
}

fn received(build: &Build) -> Asked<Event> {
    use crate::manifest::{Making, Step};
    let bought = build.parts.iter().enumerate().filter(|(i, p)| {
        matches!(p.given.making, Making::Bought(_)) && !build.history.is_done(*i, Step::Receive)
    });
    let mut options: Vec<String> = bought.map(|(_, p)| p.id().to_string()).collect();
    let parts = options.len();
    options.extend(stocks(build));
    options.push("stock under another name".into());
    let last = options.len() - 1;
    let chosen = choose("What arrived?", options.clone(), 0)?;
    let at = options.iter().position(|o| *o == chosen).unwrap_or(last);
    if at < parts {
        let price = may("What was paid?")?;
        return Ok(Event::Received { part: Some(chosen), stock: None, mass: None, price });
    }
    let stock = if at == last { must("Under which name?", None)? } else { chosen };
    let mass = Some(size("How much?", Kind::Mass)?);
    Ok(Event::Received { part: None, stock: Some(stock), mass, price: may("What was paid?")? })
}
