//! JSON Schemas of the build's files, for an editor that completes keys and shows what they mean.
//!
//! Nothing is declared here: of the manifest it tells what the reader took of a file that shows every
//! key, of the journal the keys that its reader goes by.

use crate::figure::{Kind, Route};
use crate::journal::{Blemish, Event, EventKind, Form as KeyForm, Key, PHOTO, SAYS, Says, WORDS};
use crate::manifest;
use crate::yaml::{Form, Taken, place};
use serde_json::{Map, Value, json};

/// A manifest with every key, as `new --full` writes it.
pub const EVERY_KEY: &str = include_str!("../../templates/full/build.yaml");

const DRAFT: &str = "https://json-schema.org/draft/2020-12/schema";

/// Of `build.yaml`.
pub fn of_build() -> Value {
    let mut schema = told(&manifest::taken(EVERY_KEY));
    schema["$schema"] = json!(DRAFT);
    schema["title"] = json!("build.yaml");
    schema
}

/// Of one entry of `journal.yaml`.
pub fn of_journal() -> Value {
    let words: Vec<Value> = Event::KINDS.iter().map(|k| json!({"required": [k.word]})).collect();
    let mut keys = Map::new();
    keys.insert("id".into(), json!({"type": ["string", "number"], "description": "Its id"}));
    let when = json!({"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}([ T]\d{2}:\d{2}(:\d{2})?)?$",
        "description": "When it happened, YYYY-MM-DD HH:MM"});
    keys.insert("at".into(), when);
    keys.extend(Event::KINDS.iter().map(|kind| (kind.word.to_owned(), of_event(kind))));
    json!({
        "$schema": DRAFT, "title": "An entry of journal.yaml", "type": "object",
        "properties": keys, "required": ["id", "at"], "oneOf": words,
        "additionalProperties": false,
    })
}

fn of_event(kind: &EventKind) -> Value {
    let says: &[&Key] = match kind.says {
        Says::May => &[&SAYS, &PHOTO],
        Says::Needed => &[&WORDS, &PHOTO],
        Says::Never => &[],
    };
    let mut schema = of_keys(kind.keys.iter().chain(says.iter().copied()));
    schema["description"] = json!(kind.help);
    schema
}

fn of_keys<'a>(keys: impl Iterator<Item = &'a Key> + Clone) -> Value {
    let needed: Vec<&str> = keys.clone().filter(|k| k.needed).map(|k| k.name).collect();
    let properties: Map<String, Value> = keys.map(|k| (k.name.to_owned(), of_key(k))).collect();
    json!({"type": "object", "properties": properties, "required": needed,
        "additionalProperties": false})
}

fn of_key(key: &Key) -> Value {
    let named = |schema: Value| json!({"type": "object", "additionalProperties": schema});
    let some = |schema: Value| json!({"anyOf": [{"type": "array", "items": schema}, schema]});
    let choice =
        |words: &[&str]| form(&Form::Choice(words.iter().map(|w| w.to_string()).collect()));
    let mut schema = match key.form {
        KeyForm::Name | KeyForm::Words => form(&Form::Text),
        KeyForm::Count => form(&Form::Count),
        KeyForm::Size(kind) => form(&Form::Size(kind)),
        KeyForm::Choice(words) => choice(&words()),
        KeyForm::Names => some(form(&Form::Text)),
        KeyForm::Choices(words) => some(choice(&words())),
        KeyForm::Counts => named(form(&Form::Count)),
        KeyForm::Sizes(kind) => named(form(&Form::Size(kind))),
        KeyForm::Blemishes => some(of_keys(Blemish::KEYS.iter())),
    };
    if !key.help.is_empty() {
        schema["description"] = json!(key.help);
    }
    schema
}

/// What was taken at a place, and what the comment in that line of the file says.
fn told(taken: &Taken) -> Value {
    let mut ways: Vec<Value> = Vec::new();
    if taken.is_map() {
        ways.push(map(taken));
    } else if let Some(ids) = &taken.ids {
        ways.push(json!({"type": "object", "additionalProperties": told(ids),
            "propertyNames": {"pattern": r"^[\w-]+$"}}));
    }
    if let Some(items) = &taken.items {
        let each = told(items);
        ways.push(json!({"type": "array", "items": each}));
        ways.push(each);
    }
    ways.extend(taken.forms.iter().map(form));
    let mut schema = match ways.len() {
        0 => json!({}),
        1 => ways.remove(0),
        _ => json!({"anyOf": ways}),
    };
    if let Some(says) = taken.found.as_ref().and_then(comment) {
        schema["description"] = json!(says);
    }
    schema
}

fn map(taken: &Taken) -> Value {
    let needed: Vec<&String> = taken.keys.keys().filter(|key| taken.needs(key)).collect();
    let keys: Map<String, Value> =
        taken.keys.iter().map(|(key, under)| (key.clone(), told(under))).collect();
    let others = taken.ids.as_ref().map_or(json!(false), |ids| told(ids));
    json!({"type": "object", "properties": keys, "required": needed,
        "additionalProperties": others})
}

fn form(form: &Form) -> Value {
    match form {
        Form::Text => json!({"type": ["string", "number", "boolean"]}),
        Form::Choice(words) => {
            let mut all: Vec<Value> = words.iter().map(|word| json!(word)).collect();
            // YAML reads these words as a switch.
            for (word, switch) in [("yes", true), ("true", true), ("no", false), ("false", false)] {
                let value = json!(switch);
                if words.iter().any(|w| w == word) && !all.contains(&value) {
                    all.push(value);
                }
            }
            json!({"enum": all})
        }
        Form::Size(kind) => {
            json!({"type": ["string", "number"], "description": quantity(*kind)})
        }
        Form::Sizes(count) => {
            let example = ["300 mm", "250 mm", "75 mm"][..(*count).min(3)].join(" x ");
            json!({"type": "string", "description": format!("sizes, such as {example}")})
        }
        Form::Count => json!({"anyOf": [{"type": "integer", "minimum": 1},
            {"type": "string", "pattern": "^[1-9][0-9]*$"}]}),
        Form::Tabled => {
            let text = || self::form(&Form::Text);
            let keys = ["is", "likely", "from", "known", "per", "at"];
            let keys: Map<String, Value> =
                keys.map(|key| (key.to_owned(), text())).into_iter().collect();
            json!({"type": "object", "properties": keys, "required": ["is"],
                "additionalProperties": false, "description": "a value with its source"})
        }
        Form::Date => json!({"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
    }
}

fn quantity(kind: Kind) -> String {
    format!("{} with its unit, such as {}", kind.words(), kind.example())
}

/// The comment at the end of the line where a key stands.
fn comment(route: &Route) -> Option<String> {
    if route.0.is_empty() {
        return None;
    }
    let line = EVERY_KEY.lines().nth(place(EVERY_KEY, route, true).line.checked_sub(1)?)?;
    let (before, says) = line.split_once(" # ")?;
    // Of several keys in one line the comment is of the first.
    let first = before.trim_start().trim_start_matches("- ").split(':').next()?;
    let last = route.0.iter().rev().find_map(|segment| match segment {
        crate::figure::Segment::Key(key, _) => Some(&**key),
        _ => None,
    })?;
    (first == last).then(|| says.trim().to_owned())
}
