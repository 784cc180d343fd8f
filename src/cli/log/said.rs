//! An event as it was said, in arguments or in answers: texts under the options of its keys.

use crate::cli::Stop;
use crate::journal::{Blemish, Event, EventKind, Form, Key, PHOTO, SAYS, Says, Value, WORDS};
use clap::error::ErrorKind;
use clap::{Arg, ArgAction, ArgMatches, Command};
use std::collections::BTreeMap;

/// What happened, and what was said of it.
#[derive(Debug, Clone)]
pub(super) struct Said {
    pub(super) kind: &'static EventKind,
    given: BTreeMap<&'static str, Vec<String>>,
}

/// The id that the words of a note have among the arguments: they stand without an option.
const NOTE: &str = "words";

impl Said {
    /// Nothing yet of an event.
    pub(super) fn of(kind: &'static EventKind) -> Self {
        Self { kind, given: BTreeMap::new() }
    }

    /// What was said under an option.
    pub(super) fn all(&self, option: &str) -> &[String] {
        self.given.get(option).map_or(&[], Vec::as_slice)
    }

    /// The first that was said under an option.
    pub(super) fn one(&self, option: &str) -> Option<&str> {
        self.all(option).first().map(String::as_str)
    }

    /// All that was said, by option.
    pub(super) fn options(&self) -> impl Iterator<Item = (&'static str, &[String])> {
        self.given.iter().map(|(option, values)| (*option, values.as_slice()))
    }

    /// Says so under an option.
    pub(super) fn say(&mut self, option: &'static str, values: Vec<String>) {
        self.given.insert(option, values);
    }

    /// Says the words of a note.
    pub(super) fn say_words(&mut self, words: String) {
        self.say(NOTE, vec![words]);
    }

    /// The keys of the entry, with the words and the picture that go with any event.
    pub(super) fn fields(
        &self,
        says: &Option<String>,
        photo: &Option<String>,
    ) -> Result<Vec<(&'static str, Option<Value>)>, Stop> {
        let text = |text: Option<&str>| text.map(|t| Value::Text(t.to_owned()));
        let mut fields = Vec::new();
        if let Some(words) = self.one(NOTE) {
            fields.push((WORDS.name, text(Some(words))));
        }
        for key in self.kind.keys {
            fields.push((key.name, self.value(key)?));
        }
        fields.extend([(SAYS.name, text(says.as_deref())), (PHOTO.name, text(photo.as_deref()))]);
        Ok(fields)
    }

    /// The value of a key.
    fn value(&self, key: &Key) -> Result<Option<Value>, Stop> {
        let given = self.all(key.option());
        Ok(match key.form {
            _ if given.is_empty() => None,
            Form::Names | Form::Choices(_) => Some(words(given)),
            Form::Counts | Form::Sizes(_) => Some(Value::Map(
                given.iter().map(|item| pair(item, key)).collect::<Result<_, _>>()?,
            )),
            Form::Blemishes => {
                Some(Value::List(given.iter().map(|item| self.blemish(item)).collect()))
            }
            Form::Name | Form::Words | Form::Count | Form::Size(_) | Form::Choice(_) => {
                given.first().map(|t| Value::Text(t.clone()))
            }
        })
    }

    /// A blemish, with what was said of all of them.
    fn blemish(&self, item: &str) -> Value {
        let (class, place) = item.split_once('=').unwrap_or((item, ""));
        let own = |key: &Key| match key.form {
            Form::Names | Form::Choices(_) => {
                let given = self.all(key.option());
                (!given.is_empty()).then(|| words(given))
            }
            _ if key.needed => Some(Value::Text(class.to_owned())),
            _ => (!place.is_empty()).then(|| Value::Text(place.to_owned())),
        };
        let keys = Blemish::KEYS.iter();
        Value::Map(keys.filter_map(|key| Some((key.name.to_owned(), own(key)?))).collect())
    }
}

fn words(list: &[String]) -> Value {
    Value::List(list.iter().map(|w| Value::Text(w.clone())).collect())
}

/// `NAME=VALUE`.
fn pair(item: &str, key: &Key) -> Result<(String, Value), Stop> {
    let (name, value) = item
        .split_once('=')
        .ok_or_else(|| Stop::Usage(format!("`{item}` has no =; write {}", key.one)))?;
    Ok((name.to_owned(), Value::Text(value.to_owned())))
}

/// The keys that have an option: those of a blemish with the event that may find one.
fn options(kind: &EventKind) -> impl Iterator<Item = &'static Key> {
    let blemished = kind.keys.iter().any(|key| matches!(key.form, Form::Blemishes));
    let of_blemishes = Blemish::KEYS.iter().filter(move |key| blemished && key.repeats());
    kind.keys.iter().chain(of_blemishes)
}

fn placeholder(key: &Key) -> String {
    let name = || key.option().to_uppercase().replace('-', "_");
    key.value.map_or_else(name, str::to_owned)
}

fn argument(key: &'static Key) -> Arg {
    let option = key.option();
    let mut arg = Arg::new(option).long(option).help(key.help).value_name(placeholder(key));
    arg = arg.required(key.needed);
    arg = match key.repeats() {
        true => arg.action(ArgAction::Append),
        false => arg.action(ArgAction::Set),
    };
    if let Form::Count = key.form {
        arg = arg.value_parser(clap::value_parser!(u32).range(1..));
    }
    if let Some(usual) = key.usual {
        arg = arg.default_value(usual);
    }
    if let Some(other) = key.or {
        arg = arg.required_unless_present(other);
    }
    if let Some(other) = key.not_with {
        arg = arg.conflicts_with(other);
    }
    if let Some(other) = key.with {
        arg = arg.requires(other);
    }
    arg
}

/// The line of usage, where it is too long for one line of the help.
fn usage(kind: &EventKind) -> Option<String> {
    const MOST: usize = 80 - "Usage: ".len();
    let needed = options(kind).filter(|key| key.needed);
    let needed = needed.map(|key| format!("--{} <{}>", key.option(), placeholder(key)));
    let mut lines = vec![format!("pourwright log {} [OPTIONS]", kind.word)];
    for word in needed {
        match lines.last_mut() {
            Some(line) if line.len() + 1 + word.len() <= MOST => *line += &format!(" {word}"),
            _ => lines.push(format!("    {word}")),
        }
    }
    (lines.len() > 1).then(|| lines.join("\n   "))
}

fn command(kind: &'static EventKind) -> Command {
    let mut command = Command::new(kind.word).about(kind.help).args(options(kind).map(argument));
    if kind.says == Says::Needed {
        let words = Arg::new(NOTE).help(WORDS.help).value_name("WORDS").required(true);
        command = command.arg(words);
    }
    match usage(kind) {
        Some(usage) => command.override_usage(usage),
        None => command,
    }
}

impl clap::FromArgMatches for Said {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let found = matches.subcommand().and_then(|(word, matches)| {
            Some((Event::KINDS.iter().find(|kind| kind.word == word)?, matches))
        });
        let (kind, matches) =
            found.ok_or_else(|| clap::Error::new(ErrorKind::MissingSubcommand))?;
        let mut said = Said::of(kind);
        let note = (kind.says == Says::Needed).then_some(NOTE);
        for option in options(kind).map(Key::option).chain(note) {
            let given = matches.get_raw(option).into_iter().flatten();
            let given: Vec<String> = given.map(|v| v.to_string_lossy().into_owned()).collect();
            if !given.is_empty() {
                said.say(option, given);
            }
        }
        Ok(said)
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl clap::Subcommand for Said {
    fn augment_subcommands(command_of_all: Command) -> Command {
        command_of_all.subcommands(Event::KINDS.iter().map(command))
    }

    fn augment_subcommands_for_update(command_of_all: Command) -> Command {
        Self::augment_subcommands(command_of_all)
    }

    fn has_subcommand(name: &str) -> bool {
        Event::WORDS.contains(&name)
    }
}
