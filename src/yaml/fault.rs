//! Faults of a file: a code of ours, a place, what was expected, and the fix.

use super::place::{Entries, places};
use super::unseen::{looks_like, steers};
use super::{Place, place};
use crate::figure::{Route, wrapped};
use std::cell::LazyCell;
use std::fmt::Write;

macro_rules! codes {
    ($($name:ident = $id:literal: $title:literal,)*) => {
        /// What sort of fault it is. Each has an id that never changes its meaning.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        #[non_exhaustive]
        pub enum Code { $(#[doc = $title] $name,)* }

        impl Code {
            /// All of them.
            pub const ALL: &'static [Code] = &[$(Code::$name),*];
            /// The id shown in brackets.
            pub const fn id(self) -> &'static str { match self { $(Code::$name => $id,)* } }
            /// The headline.
            pub const fn title(self) -> &'static str { match self { $(Code::$name => $title,)* } }
        }
    };
}

codes! {
    FileSize = "file-size": "a file too large to be a build",
    NotText = "not-text": "a file that is not text",
    Yaml = "yaml": "YAML that cannot be read",
    Shape = "form": "a value of the wrong form",
    UnknownKey = "unknown-key": "a key that means nothing here",
    RepeatedKey = "repeated-key": "a key written twice",
    MissingKey = "missing-key": "a key that is missing",
    Unit = "unit": "a value without the right unit",
    Size = "size": "a size that cannot be",
    Word = "word": "a word that is not one of the choices",
    BadId = "bad-id": "an id with signs that do not belong in one",
    RepeatedId = "repeated-id": "an id used twice",
    UnknownPart = "unknown-part": "a part that does not exist",
    UnknownPattern = "unknown-pattern": "a pattern that does not exist",
    UnknownAlloy = "unknown-alloy": "an alloy that does not exist",
    UnknownFlask = "unknown-flask": "a flask that does not exist",
    UnknownCrucible = "unknown-crucible": "a crucible that does not exist",
    UnknownFurnace = "unknown-furnace": "a furnace that does not exist",
    UnknownMachine = "unknown-machine": "a machine that does not exist",
    UnknownSand = "unknown-sand": "a sand that does not exist",
    UnknownStock = "unknown-stock": "a stock that does not exist",
    UnknownWood = "unknown-wood": "a wood that does not exist",
    UnknownMould = "unknown-mould": "a mould that does not exist",
    UnknownStep = "unknown-step": "a step that does not exist",
    UnknownEntry = "unknown-entry": "an entry that does not exist",
    Ring = "ring": "parts that wait for each other",
    NegativeShape = "negative-shape": "a shape with no volume left",
    Geometry = "geometry": "a solid that cannot be made",
    File = "file": "a file that is not there or not what it should be",
    Dates = "dates": "dates that contradict each other",
    Story = "story": "an event that does not fit what happened before",
}

/// Where a fault lies.
#[derive(Debug, Clone, PartialEq)]
enum Where {
    Place(Place),
    Route {
        route: Route,
        at_key: bool,
    },
    /// In the entry of a journal that says in this line what happened; without a route, that line.
    Entry {
        line: usize,
        route: Option<Route>,
        at_key: bool,
    },
}

/// One fault of a file.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Fault {
    /// Its code.
    pub code: Code,
    /// What is wrong at the place.
    pub says: String,
    /// What to do about it.
    pub hint: String,
    at: Where,
}

impl Fault {
    fn found(code: Code, says: impl Into<String>, hint: impl Into<String>, at: Where) -> Self {
        Self { code, says: says.into(), hint: hint.into(), at }
    }

    /// At a value.
    pub fn value(
        code: Code,
        route: Route,
        says: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::found(code, says, hint, Where::Route { route, at_key: false })
    }

    /// At the key of a value.
    pub fn key(code: Code, route: Route, says: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::value(code, route, says, hint).at_key()
    }

    /// At a line and column that are known already.
    pub fn at(
        code: Code,
        line: usize,
        column: usize,
        says: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::placed(code, Place { line, column, length: 1 }, says, hint)
    }

    /// Within the entry of a journal that says in this line what happened: at the value to which
    /// the route leads, or at the word of what happened.
    pub fn entry(
        code: Code,
        line: usize,
        route: Option<Route>,
        says: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::found(code, says, hint, Where::Entry { line, route, at_key: false })
    }

    /// The same at the key of its value.
    pub fn at_key(mut self) -> Self {
        if let Where::Route { at_key, .. } | Where::Entry { at_key, .. } = &mut self.at {
            *at_key = true;
        }
        self
    }

    /// At a place that is known already.
    pub fn placed(
        code: Code,
        place: Place,
        says: impl Into<String>,
        hint: impl Into<String>,
    ) -> Self {
        Self::found(code, says, hint, Where::Place(place))
    }

    /// Of the file as a whole.
    pub fn top(code: Code, says: impl Into<String>, hint: impl Into<String>) -> Self {
        Self::at(code, 1, 1, says, hint)
    }

    /// Where it lies in this text.
    pub fn place(&self, text: &str) -> Place {
        match &self.at {
            Where::Place(place) => *place,
            Where::Route { route, at_key } => place(text, route, *at_key),
            Where::Entry { line, route, at_key } => {
                Entries::new(text).place(*line, route.as_ref(), *at_key)
            }
        }
    }
}

/// The faults of one file, with its name and text: enough to show them.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Faults {
    /// Name of the file as the user knows it.
    pub file: String,
    /// Its text.
    pub text: String,
    /// What is wrong, at least one.
    pub list: Vec<Fault>,
}

/// More than these are counted, not shown: a file with that many has one cause.
const SHOWN: usize = 200;

impl Faults {
    /// The faults with their places, in the order of the file. Where something in the words at fault
    /// is not what it looks like, the hint says so.
    pub fn placed(&self) -> Vec<(Place, Fault)> {
        let lines: Vec<&str> = self.text.lines().collect();
        let mut placed = self.found();
        for (place, fault) in &mut placed {
            let line = lines.get(place.line - 1).copied().unwrap_or_default();
            let words: String = match fault.code {
                Code::Yaml => line.to_owned(),
                _ => line.chars().skip(place.column - 1).take(place.length).collect(),
            };
            if let Some(looks) = looks_like(&words) {
                let apart = if fault.hint.ends_with('?') { " " } else { "; " };
                fault.hint = format!("{}{apart}{looks}", fault.hint);
            }
        }
        placed
    }

    fn found(&self) -> Vec<(Place, Fault)> {
        let top = Route([].into());
        let nowhere = (&top, false);
        let shown = &self.list[..self.list.len().min(SHOWN)];
        let routes: Vec<_> = shown
            .iter()
            .map(|f| match &f.at {
                Where::Route { route, at_key } => (route, *at_key),
                Where::Place(_) | Where::Entry { .. } => nowhere,
            })
            .collect();
        let found = places(&self.text, &routes).into_iter().zip(shown);
        let entries = LazyCell::new(|| Entries::new(&self.text));
        let mut placed: Vec<_> = found
            .map(|(place, fault)| match &fault.at {
                Where::Place(known) => (*known, fault.clone()),
                Where::Route { .. } => (place, fault.clone()),
                Where::Entry { line, route, at_key } => {
                    (entries.place(*line, route.as_ref(), *at_key), fault.clone())
                }
            })
            .collect();
        placed.sort_by_key(|(place, fault)| (*place, fault.code));
        placed
    }
}

impl std::fmt::Display for Faults {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let lines: Vec<&str> = self.text.lines().collect();
        for (place, fault) in self.placed() {
            let mut head =
                format!("{}:{}:{}  {}", self.file, place.line, place.column, fault.code.title());
            let code = format!("[{}]", fault.code.id());
            let gap = 78usize.saturating_sub(head.chars().count() + code.len()).max(2);
            write!(head, "{:gap$}{code}", "")?;
            writeln!(f, "{head}")?;
            let line = lines.get(place.line - 1).copied().unwrap_or_default();
            let (line, column) = window(line, place.column);
            writeln!(f, "{:>5} | {line}", place.line)?;
            let room = line.chars().count().saturating_sub(column - 1).max(1);
            let marks = "^".repeat(place.length.clamp(1, room));
            let marks = format!("{:>pad$}{marks}", "", pad = column - 1);
            write!(f, "{}", marked(&marks, &fault.says))?;
            let hint = wrapped(&fault.hint, WIDTH - 8, 0).replace('\n', "\n        ");
            writeln!(f, "      = {hint}")?;
            writeln!(f)?;
        }
        if self.list.len() > SHOWN {
            writeln!(f, "and {} more faults\n", self.list.len() - SHOWN)?;
        }
        let n = self.list.len();
        write!(f, "{n} {} in {}", if n == 1 { "fault" } else { "faults" }, self.file)
    }
}

impl std::error::Error for Faults {}

/// Columns of a terminal: no sentence is longer.
const WIDTH: usize = 80;

/// A sentence is not squeezed into fewer columns than this beside its marks.
const NARROW: usize = 40;

/// What is wrong, beside the marks under what it is about, and wrapped: where little room is left beside
/// them, below.
fn marked(marks: &str, says: &str) -> String {
    let beside = marks.chars().count() + 1;
    let room = WIDTH.saturating_sub(8 + beside);
    let below = wrapped(says, WIDTH - 10, 0);
    let says = wrapped(says, room, 0);
    // The marks take a line of their own then.
    let shorter = says.lines().count() <= 1 + below.lines().count();
    if says.lines().count() <= 1 || (room >= NARROW && shorter) {
        let says = says.replace('\n', &format!("\n      | {:beside$}", ""));
        return format!("      | {marks} {says}\n");
    }
    format!("      | {marks}\n      |   {}\n", below.replace('\n', "\n      |   "))
}

/// The part of a long line around a column: a tab as a space, and what is not seen as one sign that
/// is, so that the marks below stay under what they mark.
fn window(line: &str, column: usize) -> (String, usize) {
    let clean = |c: char| match c {
        '\t' => ' ',
        c if steers(c) => '\u{fffd}',
        c => c,
    };
    let start = column.saturating_sub(56);
    let text: String = line.chars().skip(start).take(90).map(clean).collect();
    (text, column - start)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn ids_are_unique() {
        let ids: BTreeSet<_> = Code::ALL.iter().map(|c| c.id()).collect();
        assert_eq!(ids.len(), Code::ALL.len());
    }

    #[test]
    fn no_sentence_is_wider_than_a_terminal() {
        let long = "this pattern is too small for its casting by 2 mm, ".repeat(5);
        let (long, near) = (long.trim_end(), format!("k: {}", "x".repeat(80)));
        let shown = |column, length: usize| {
            let place = Place { line: 1, column, length };
            let list = vec![Fault::placed(Code::Size, place, long, long)];
            Faults { file: "build.yaml".into(), text: near.clone(), list }.to_string()
        };
        for (column, length) in [(1, 1), (4, 20), (30, 12), (70, 3), (4, 80)] {
            let text = shown(column, length);
            let said = text.lines().filter(|l| l.starts_with("      ") && !l.contains("^^^"));
            for line in said.clone() {
                assert!(line.chars().count() <= WIDTH, "{line}");
            }
            // All of it is told, twice.
            let told: Vec<&str> = text.split_whitespace().filter(|word| *word != "|").collect();
            assert_eq!(told.join(" ").matches(long).count(), 2, "{text}");
        }
        assert!(shown(1, 1).contains("\n      | ^ this pattern"), "{}", shown(1, 1));
    }

    #[test]
    fn a_fault_shows_its_line() {
        let faults = Faults {
            file: "build.yaml".into(),
            text: "a: 1\nwidth: 180 kg\n".into(),
            list: vec![Fault::at(Code::Unit, 2, 8, "this is a mass", "try 180 mm")],
        };
        let shown = faults.to_string();
        assert!(
            shown.contains(
                "    2 | width: 180 kg\n      |        ^ this is a mass\n      = try 180 mm"
            ),
            "{shown}"
        );
    }
}
