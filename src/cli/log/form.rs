//! The questions of `log` as forms, all at once, for a page that may be away from this machine when
//! they are answered.

use super::offer::{self, Choice, Offer};
use super::said::Said;
use crate::figure::{Kind, System};
use crate::job::Planned;
use crate::journal::{Blemish, Event, EventKind, Form as Written, Key, Says, WORDS};
use crate::plan::next_heat;
use chrono::Duration;
use serde::Serialize;
use std::collections::BTreeMap;

/// Likely entries of one sort that are shown at most.
const MOST_LIKELY: usize = 4;

/// All that can be written down.
#[derive(Debug, Serialize)]
pub(in crate::cli) struct Forms {
    /// The machine.
    title: String,
    /// What is likely to be written down next, likeliest first.
    likely: Vec<Form>,
    /// Every event there is.
    kinds: Vec<Sort>,
}

/// An event with all that it may be about.
#[derive(Debug, Serialize)]
struct Sort {
    title: &'static str,
    /// What is to be chosen first; nothing where there is one form.
    asks: &'static str,
    forms: Vec<Form>,
    /// Why there is nothing to write down.
    says: Option<String>,
}

/// The questions of one entry.
#[derive(Debug, Serialize)]
struct Form {
    event: &'static str,
    title: String,
    /// A word of care.
    says: Option<String>,
    /// What is said already: options and their values.
    said: BTreeMap<&'static str, String>,
    fields: Vec<Field>,
    /// Whether words of the builder's and a picture may be added.
    more: bool,
}

/// A question.
#[derive(Debug, Serialize)]
struct Field {
    option: &'static str,
    asks: String,
    needed: bool,
    #[serde(flatten)]
    input: Input,
}

/// How it is answered.
#[derive(Debug, Serialize)]
#[serde(tag = "input", rename_all = "lowercase")]
enum Input {
    Words { proposed: Option<String> },
    Count { proposed: String },
    Size { units: &'static [&'static str] },
    One { options: Vec<(String, String)>, first: usize },
    Some { options: Vec<(String, String)>, ticked: Vec<usize> },
    Each { each: Vec<(String, u32)> },
    Sizes { names: Vec<String>, units: &'static [&'static str] },
    Blemishes { options: Vec<(String, String)>, fields: Vec<Field> },
}

/// Units that a quantity is given in on a pad without letters; the first is likely.
fn units(kind: Kind, system: System) -> &'static [&'static str] {
    match (kind, system) {
        (Kind::Mass, System::Metric) => &["kg", "g"],
        (Kind::Mass, System::Us) => &["lb", "oz", "kg"],
        (Kind::Temperature, System::Metric) => &["C", "F"],
        (Kind::Temperature, System::Us) => &["F", "C"],
        (Kind::Time, _) => &["min", "h", "s"],
        (Kind::Length, System::Metric) => &["mm", "cm"],
        (Kind::Length, System::Us) => &["in", "mm"],
        (Kind::Ratio, _) => &["%"],
        _ => &[""],
    }
}

fn plain(words: impl IntoIterator<Item = impl ToString>) -> Vec<(String, String)> {
    words.into_iter().map(|word| (word.to_string(), word.to_string())).collect()
}

impl Form {
    /// The questions that `log` asks, one after the other, where what it proposes is taken.
    fn of(
        all: &Planned,
        mut said: Said,
        title: String,
        says: Option<String>,
    ) -> Result<Self, String> {
        let kind = said.kind;
        let given = said.options().map(|(option, values)| (option, values.join(", ")));
        let known = given.collect();
        let mut fields = Vec::new();
        if kind.says == Says::Needed {
            let input = Input::Words { proposed: None };
            let asks = WORDS.asks.to_owned();
            fields.push(Field { option: "words", asks, needed: true, input });
        }
        for key in kind.keys {
            if offer::asked(&said, key) {
                fields.extend(Field::of(all, &mut said, key)?);
            }
        }
        let more = kind.says != Says::Never;
        Ok(Self { event: kind.word, title, says, said: known, fields, more })
    }
}

impl Field {
    /// The question for a key; what it proposes is said, so that later ones go by it.
    fn of(all: &Planned, said: &mut Said, key: &'static Key) -> Result<Option<Self>, String> {
        let system = all.build.header.units;
        let offer = offer::of(all, said, key).map_err(|stop| stop.says().to_owned())?;
        let input = match (key.form, offer) {
            (_, Offer::Nothing) => return Ok(None),
            (Written::Blemishes, _) => blemishes(all),
            (_, Offer::Each(each)) => Input::Each { each },
            (Written::Sizes(kind), Offer::Names(names)) => {
                Input::Sizes { names, units: units(kind, system) }
            }
            (_, Offer::Names(names)) => Input::Some { options: plain(names), ticked: Vec::new() },
            (_, Offer::Ticked(options, ticked)) => Input::Some { options: plain(options), ticked },
            (_, Offer::From(options, _)) if options.is_empty() => {
                return Err(format!("{} There is nothing to choose from", key.asks));
            }
            (_, Offer::From(options, first)) => Input::One { options, first },
            (Written::Size(kind), _) => Input::Size { units: units(kind, system) },
            (Written::Count, Offer::Text(usual)) => {
                Input::Count { proposed: usual.unwrap_or_else(|| "1".into()) }
            }
            (_, Offer::Text(proposed)) => Input::Words { proposed },
        };
        match &input {
            Input::Words { proposed: Some(text) } => said.say(key.option(), vec![text.clone()]),
            Input::One { options, first } => {
                let likely = options.get(*first).or(options.first());
                let likely = likely.filter(|(value, _)| !value.is_empty());
                said.say(
                    key.option(),
                    likely.map(|(value, _)| value.clone()).into_iter().collect(),
                );
            }
            _ => {}
        }
        let needed = offer::needed(said, key);
        Ok(Some(Self { option: key.option(), asks: key.asks.to_owned(), needed, input }))
    }
}

fn blemishes(all: &Planned) -> Input {
    let classes = all.build.handbook.defects.iter();
    let options = classes.map(|(code, d)| (code.to_string(), format!("{code} {}", d.title)));
    let field = |key: &'static Key| {
        let input = match key.form {
            Written::Choices(words) => Input::Some { options: plain(words()), ticked: Vec::new() },
            _ => Input::Words { proposed: None },
        };
        Field { option: key.option(), asks: key.asks.to_owned(), needed: false, input }
    };
    let fields = Blemish::KEYS.iter().filter(|key| !key.asks.is_empty()).map(field).collect();
    Input::Blemishes { options: options.collect(), fields }
}

/// An event about what a choice says.
fn about(kind: &'static EventKind, options: &[(&'static str, String)]) -> Said {
    let mut said = Said::of(kind);
    options.iter().for_each(|(option, value)| said.say(option, vec![value.clone()]));
    said
}

/// What an event may be about: what one choice answers, else the first key that others hang on.
fn choices(all: &Planned, kind: &'static EventKind) -> Option<(&'static str, Vec<Choice>)> {
    if let Some(choices) = offer::at_once(all, kind) {
        return Some(choices);
    }
    let leads = match kind.word {
        "rammed" => "pattern",
        "shaken-out" => "mould",
        "counted" | "given-away" => "stock",
        _ => return None,
    };
    let key = kind.keys.iter().find(|key| key.name == leads)?;
    let Ok(Offer::From(options, first)) = offer::of(all, &Said::of(kind), key) else { return None };
    let mut choices: Vec<Choice> =
        options.into_iter().map(|(value, shown)| (vec![(key.option(), value)], shown)).collect();
    let first = first.min(choices.len());
    choices.rotate_left(first);
    Some((key.asks, choices))
}

fn sort(all: &Planned, kind: &'static EventKind) -> Sort {
    let (asks, choices) = choices(all, kind).unwrap_or(("", vec![(Vec::new(), String::new())]));
    let title = |shown: String| match shown.is_empty() {
        true => kind.help.to_owned(),
        false => shown,
    };
    let made: Result<Vec<Form>, String> = choices
        .into_iter()
        .map(|(options, shown)| Form::of(all, about(kind, &options), title(shown), None))
        .collect();
    let (forms, says) = match made {
        Ok(forms) if forms.is_empty() => (forms, Some("there is nothing to choose from".into())),
        Ok(forms) => (forms, None),
        Err(says) => (Vec::new(), Some(says)),
    };
    Sort { title: kind.help, asks, forms, says }
}

fn kind(word: &str) -> Option<&'static EventKind> {
    Event::KINDS.iter().find(|kind| kind.word == word)
}

/// When a mould may be opened at the earliest, as everything else tells it.
fn not_before(all: &Planned, mould: &str) -> Option<String> {
    let attempt = all.build.history.attempts.get(mould)?;
    let held = attempt.castings.iter().map(|(part, _)| *part);
    let wait = all.estimates.opened_not_before(held)?.high();
    let from = attempt.poured.as_ref()?.1 + Duration::seconds(wait.ceil() as i64);
    // To the next whole minute.
    let from = from + Duration::seconds(59);
    let days = if from.date() == all.build.today { "%H:%M" } else { "%Y-%m-%d %H:%M" };
    Some(format!("Not before {}", from.format(days)))
}

/// Moulds of the plan in force that are to be rammed, in its order.
fn to_ram(all: &Planned) -> Vec<Choice> {
    let schedule = &all.plan.schedule;
    let mut moulds: Vec<_> = schedule.moulds.iter().filter(|m| m.standing.is_none()).collect();
    moulds.sort_by_key(|m| m.rammed);
    let mut out: Vec<Choice> = Vec::new();
    for mould in moulds {
        let Some(casting) = &all.build.parts[mould.part].casting else { continue };
        let pattern = all.build.patterns[casting.pattern].id.to_string();
        let heat = schedule.heats.get(mould.heat).map_or("", |heat| &heat.name);
        let shown = format!("Rammed: {pattern}, for {heat}");
        if out.iter().all(|(options, _)| options[0].1 != pattern) {
            out.push((vec![("pattern", pattern)], shown));
        }
    }
    out
}

/// What is likely to be written down next, by the journal and the plan in force.
fn likely(all: &Planned) -> Vec<Form> {
    let build = &all.build;
    let poured = build.history.attempts.values().filter(|a| a.poured.is_some());
    let full = poured.filter(|a| a.shaken_out.is_none()).map(|a| a.mould.to_string());
    let full = full.map(|m| (vec![("mould", m.clone())], format!("Opened: mould {m}")));
    let inspect = offer::castings_to_inspect(build).into_iter();
    let heat = next_heat(build, &all.plan);
    let pour = (!heat.moulds.is_empty()).then(|| (Vec::new(), format!("Poured: {}", heat.name)));
    let today = offer::planned_today(all);
    let today = |word: &str| -> Vec<Choice> {
        today.iter().map(|(options, shown)| (options.clone(), format!("{word}: {shown}"))).collect()
    };
    let came = build.history.on_order.iter().map(|order| {
        let (option, shown) = match build.part(&order.of) {
            Some(part) => ("part", offer::name(build, part)),
            None => ("stock", order.of.to_string()),
        };
        (vec![(option, order.of.to_string())], format!("Arrived: {shown}"))
    });
    let all_of: [(&str, Vec<Choice>); 8] = [
        ("shaken-out", full.collect()),
        ("inspected", inspect.map(|(o, shown)| (o, format!("Inspected: {shown}"))).collect()),
        ("poured", pour.into_iter().collect()),
        ("rammed", to_ram(all)),
        ("done", today("Finished")),
        ("worked", today("Worked on")),
        ("received", came.collect()),
        ("note", vec![(Vec::new(), "Something to remember".into())]),
    ];
    let mut out = Vec::new();
    for (word, choices) in all_of {
        let Some(kind) = kind(word) else { continue };
        for (options, shown) in choices.into_iter().take(MOST_LIKELY) {
            let says = options.first().filter(|_| word == "shaken-out");
            let says = says.and_then(|(_, mould)| not_before(all, mould));
            out.extend(Form::of(all, about(kind, &options), shown, says));
        }
    }
    out
}

impl Forms {
    /// Of a build and its plan in force.
    pub(in crate::cli) fn of(all: &Planned) -> Self {
        Self {
            title: all.build.header.title.to_string(),
            likely: likely(all),
            kinds: Event::KINDS.iter().map(|kind| sort(all, kind)).collect(),
        }
    }
}
