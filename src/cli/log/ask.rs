//! Asking for an entry at the terminal, key by key, with what is likely already filled in.

use super::moment;
use super::offer::{self, Offer};
use super::said::Said;
use crate::cli::Stop;
use crate::figure::{Kind, read};
use crate::job::Planned;
use crate::journal::{Blemish, Event, EventKind, Form, Key, Says, WORDS};
use chrono::NaiveDateTime;
use inquire::validator::Validation;
use inquire::{Confirm, InquireError, MultiSelect, Select, Text};
use std::io::IsTerminal;

pub(super) type Asked<T> = Result<T, Stop>;

fn stopped(e: InquireError) -> Stop {
    match e {
        InquireError::OperationCanceled | InquireError::OperationInterrupted => {
            Stop::Fault("nothing was written".into())
        }
        e => Stop::Fault(format!("the terminal could not be read: {e}")),
    }
}

/// Whether what was shown may be written.
pub(super) fn agreed() -> Asked<bool> {
    Confirm::new("Write this down?").with_default(true).prompt().map_err(stopped)
}

/// What happened, and when; the time is asked for where one is proposed.
pub(super) fn event(
    all: &Planned,
    propose: Option<NaiveDateTime>,
    at: NaiveDateTime,
) -> Asked<(Said, NaiveDateTime)> {
    if !(std::io::stdin().is_terminal() && std::io::stderr().is_terminal()) {
        return Err(Stop::Usage(
            "which event? `pourwright log --help` lists them; at a terminal `log` alone asks for one"
                .into(),
        ));
    }
    let planned = if at.date() == all.build.today { of_today(all)? } else { None };
    let mut said = match planned {
        Some(said) => said,
        None => Said::of(kind(all)?),
    };
    let at = match propose {
        None => at,
        Some(now) => when(now)?,
    };
    if said.kind.says == Says::Needed {
        said.say_words(must(WORDS.asks, None)?);
    }
    let named = ["part", "pattern"].iter().any(|key| said.one(key).is_some());
    if let Some((says, choices)) = offer::at_once(all, said.kind).filter(|_| !named) {
        for (option, value) in pick(says, choices, 0)? {
            said.say(option, vec![value]);
        }
    }
    for key in said.kind.keys {
        if offer::asked(&said, key) {
            answer(all, &mut said, key)?;
        }
    }
    Ok((said, at))
}

fn kind(all: &Planned) -> Asked<&'static EventKind> {
    let kinds = Event::KINDS.iter().map(|kind| (kind, kind.help.to_owned())).collect();
    let likely = offer::likely(&all.build);
    let first = Event::WORDS.iter().position(|word| *word == likely).unwrap_or(0);
    pick("What happened?", kinds, first)
}

/// Asks of each job at the bench that is planned today whether it was done: the beginning of an
/// entry for the first that was, whole or half.
fn of_today(all: &Planned) -> Asked<Option<Said>> {
    for (options, shown) in offer::planned_today(all) {
        let answers = ["no", "half: begun, and not finished", "yes, it is finished"];
        let answers = ["", "worked", "done"].into_iter().zip(answers.map(str::to_owned));
        let word = pick(&format!("Planned today: {shown}. Is it done?"), answers.collect(), 0)?;
        if let Some(kind) = Event::KINDS.iter().find(|kind| kind.word == word) {
            let mut said = Said::of(kind);
            options.into_iter().for_each(|(option, value)| said.say(option, vec![value]));
            return Ok(Some(said));
        }
    }
    Ok(None)
}

fn when(now: NaiveDateTime) -> Asked<NaiveDateTime> {
    let now = now.format("%Y-%m-%d %H:%M").to_string();
    let sound = |text: &str| match moment(text) {
        Ok(_) => Ok(Validation::Valid),
        Err(_) => Ok(Validation::Invalid("write 2026-03-07 14:20".into())),
    };
    let text = Text::new("When?").with_default(&now).with_validator(sound);
    moment(&text.prompt().map_err(stopped)?)
}

/// Asks for the value of a key.
fn answer(all: &Planned, said: &mut Said, key: &'static Key) -> Asked<()> {
    let needed = offer::needed(said, key);
    let offer = offer::of(all, said, key)?;
    let given = match (key.form, offer) {
        (_, Offer::Nothing) => return Ok(()),
        (Form::Blemishes, _) => return blemishes(all, said, key),
        (Form::Counts, Offer::Each(each)) => counts(key, &each)?,
        (Form::Sizes(kind), Offer::Names(names)) => sizes(key.asks, kind, &names)?,
        (_, Offer::Ticked(options, ticked)) => several(key.asks, options, &ticked, needed)?,
        (_, Offer::From(options, first)) => match pick(key.asks, options, first)? {
            chosen if chosen.is_empty() => return Ok(()),
            chosen => vec![chosen],
        },
        (Form::Size(kind), _) => sized(key.asks, kind, needed)?.into_iter().collect(),
        (Form::Count, Offer::Text(usual)) => vec![count(key.asks, usual.as_deref())?],
        (_, Offer::Text(usual)) if needed => vec![must(key.asks, usual.as_deref())?],
        _ => may(key.asks)?.into_iter().collect(),
    };
    if !given.is_empty() {
        said.say(key.option(), given);
    }
    Ok(())
}

/// One of several, each shown in its words.
fn pick<T>(says: &str, options: Vec<(T, String)>, first: usize) -> Asked<T> {
    if options.is_empty() {
        return Err(Stop::Fault(format!("{says} There is nothing to choose from")));
    }
    let first = first.min(options.len() - 1);
    let (mut values, shown): (Vec<T>, Vec<String>) = options.into_iter().unzip();
    let select = Select::new(says, shown).with_starting_cursor(first).with_page_size(12);
    let chosen = select.raw_prompt().map_err(stopped)?.index;
    Ok(values.swap_remove(chosen))
}

fn several(says: &str, options: Vec<String>, ticked: &[usize], needed: bool) -> Asked<Vec<String>> {
    let enough = move |ticked: &[inquire::list_option::ListOption<&String>]| {
        Ok(match ticked {
            [] if needed => Validation::Invalid("at least one is needed; space ticks one".into()),
            _ => Validation::Valid,
        })
    };
    let select = MultiSelect::new(says, options).with_default(ticked).with_page_size(12);
    select.with_validator(enough).prompt().map_err(stopped)
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

fn sized(says: &str, kind: Kind, needed: bool) -> Asked<Option<String>> {
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
            Err(e) => Validation::Invalid(e.to_string().into()),
        })
    };
    let text = Text::new(says).with_help_message(&help).with_validator(sound);
    let text = text.prompt().map_err(stopped)?;
    Ok(Some(text.trim().to_owned()).filter(|t| !t.is_empty()))
}

/// A whole number from 1.
fn count(says: &str, proposed: Option<&str>) -> Asked<String> {
    let sound = |text: &str| match text.trim().parse::<u32>() {
        Ok(1..) => Ok(Validation::Valid),
        _ => Ok(Validation::Invalid("a whole number from 1 is expected".into())),
    };
    let text = Text::new(says).with_default(proposed.unwrap_or("1")).with_validator(sound);
    text.prompt().map(|t| t.trim().to_owned()).map_err(stopped)
}

/// How many of each; none of it is left out.
fn counts(key: &Key, each: &[(String, u32)]) -> Asked<Vec<String>> {
    let mut out = Vec::new();
    for (name, proposed) in each {
        let number = must(&key.asks.replace("{}", name), Some(&proposed.to_string()))?;
        if number.trim() != "0" {
            out.push(format!("{name}={}", number.trim()));
        }
    }
    Ok(out)
}

/// `NAME=SIZE` again and again until nothing is entered.
fn sizes(says: &str, kind: Kind, proposed: &[String]) -> Asked<Vec<String>> {
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
                    Err(e) => Validation::Invalid(e.to_string().into()),
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

/// What was found on castings that are not as they should be.
fn blemishes(all: &Planned, said: &mut Said, key: &'static Key) -> Asked<()> {
    if said.one("disposition") == Some("accept") {
        return Ok(());
    }
    let classes = all.build.handbook.defects.iter();
    let classes = classes.map(|(code, defect)| format!("{code} {}", defect.title)).collect();
    let mut found = Vec::new();
    for class in several(key.asks, classes, &[], false)? {
        let code = class.split(' ').next().unwrap_or_default();
        let place = may(&format!("Where is it? ({class})"))?;
        found.push(place.map_or(code.to_owned(), |place| format!("{code}={place}")));
    }
    if found.is_empty() {
        return Ok(());
    }
    said.say(key.option(), found);
    for key in Blemish::KEYS.iter().filter(|key| !key.asks.is_empty()) {
        let given = match key.form {
            Form::Choices(words) => {
                let words = words().into_iter().map(str::to_owned).collect();
                several(key.asks, words, &[], false)?
            }
            _ => may(key.asks)?.into_iter().collect(),
        };
        said.say(key.option(), given);
    }
    Ok(())
}
