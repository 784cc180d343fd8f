//! A key of an entry, declared once: its name, the form of its value, what it is for and how it is
//! asked for. Reading, writing, the options of `log`, its help and its questions go by it.

use super::word::{Again, CanBe, Disposition, Word};
use crate::figure::{Figure, Kind, Quantity};
use crate::handbook::Handbook;
use crate::manifest::Step;
use crate::yaml::{self, Code, Cursor, Fields};
use chrono::NaiveDate;
use indexmap::IndexMap;
use std::sync::Arc;

/// How the value of a key is written.
#[derive(Debug, Clone, Copy)]
#[non_exhaustive]
pub enum Form {
    /// A name.
    Name,
    /// Any words.
    Words,
    /// A whole number from 1.
    Count,
    /// A quantity of this kind.
    Size(Kind),
    /// One of a few words.
    Choice(fn() -> Vec<&'static str>),
    /// A list of names.
    Names,
    /// A list of a few words.
    Choices(fn() -> Vec<&'static str>),
    /// Whole numbers by name.
    Counts,
    /// Quantities by name.
    Sizes(Kind),
    /// A list of blemishes.
    Blemishes,
}

/// A check of a text beyond its form; false where it added a fault.
type Check = fn(&Cursor<'_>, &str, &Handbook) -> bool;

/// A key of an entry.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// As it stands in the journal.
    pub name: &'static str,
    /// What it holds, as the help of `log` has it.
    pub help: &'static str,
    /// How its value is written.
    pub form: Form,
    /// Whether an entry must have it.
    pub needed: bool,
    /// A value, as a fault proposes it.
    pub example: &'static str,
    /// The question that `log` asks at the terminal; empty where it does not ask.
    pub asks: &'static str,
    /// What `log` takes where nothing is said.
    pub usual: Option<&'static str>,
    /// The option that gives one of several values; empty where it is the key's name.
    each: &'static str,
    /// What stands after the option.
    pub value: Option<&'static str>,
    /// An example of one of several values as an option takes it.
    pub one: &'static str,
    /// The option that may stand in its place.
    pub or: Option<&'static str>,
    /// The option that it cannot stand beside.
    pub not_with: Option<&'static str>,
    /// The option that it cannot do without.
    pub with: Option<&'static str>,
    figure: &'static str,
    zero: bool,
    check: Option<Check>,
}

impl Key {
    /// A key that may be left out.
    pub(super) const fn of(name: &'static str) -> Self {
        Self {
            name,
            help: "",
            form: Form::Words,
            needed: false,
            example: "",
            asks: "",
            usual: None,
            each: "",
            value: None,
            one: "",
            or: None,
            not_with: None,
            with: None,
            figure: "",
            zero: false,
            check: None,
        }
    }

    pub(super) const fn form(self, form: Form) -> Self {
        Self { form, ..self }
    }

    pub(super) const fn help(self, help: &'static str) -> Self {
        Self { help: help.trim_ascii(), ..self }
    }

    pub(super) const fn needed(self, example: &'static str) -> Self {
        Self { needed: true, example, ..self }
    }

    pub(super) const fn asks(self, asks: &'static str) -> Self {
        Self { asks, ..self }
    }

    pub(super) const fn usually(self, usual: &'static str) -> Self {
        Self { usual: Some(usual), ..self }
    }

    /// Given one by one, by this option.
    pub(super) const fn each(
        self,
        each: &'static str,
        value: &'static str,
        one: &'static str,
    ) -> Self {
        Self { each, value: Some(value), one, ..self }
    }

    pub(super) const fn or(self, other: &'static str) -> Self {
        Self { or: Some(other), ..self }
    }

    pub(super) const fn not_with(self, other: &'static str) -> Self {
        Self { not_with: Some(other), ..self }
    }

    pub(super) const fn with(self, other: &'static str) -> Self {
        Self { with: Some(other), ..self }
    }

    /// A quantity, and the name of the figure that it becomes.
    pub(super) const fn figure(self, figure: &'static str) -> Self {
        Self { figure, ..self }
    }

    /// A quantity that may be zero.
    pub(super) const fn or_zero(self) -> Self {
        Self { zero: true, ..self }
    }

    pub(super) const fn checked(self, check: Check) -> Self {
        Self { check: Some(check), ..self }
    }

    /// The option of `log` that gives it, without its dashes.
    pub fn option(&self) -> &'static str {
        if self.each.is_empty() { self.name } else { self.each }
    }

    /// Whether its option may be repeated.
    pub fn repeats(&self) -> bool {
        !self.each.is_empty()
    }
}

/// A value that can be read from under a key.
pub(super) trait Readable: Sized {
    /// How it is written.
    const FORM: Form;

    /// The value at a cursor; none where it is faulty.
    fn read(cursor: &Cursor<'_>, key: &Key, book: &Handbook) -> Option<Self>;

    /// What holds where the key is left out; none where it cannot be.
    fn missing() -> Option<Self> {
        None
    }

    /// The value under a key.
    fn under(f: &mut Fields<'_>, key: &'static Key, book: &Handbook) -> Option<Self> {
        let missing = Self::missing();
        if key.needed || missing.is_none() {
            return f.need(key.name, key.example, |c| Self::read(c, key, book));
        }
        match f.get(key.name) {
            Some(c) => Self::read(&c, key, book),
            None => missing,
        }
    }
}

impl<T: Readable> Readable for Option<T> {
    const FORM: Form = T::FORM;
    fn read(cursor: &Cursor<'_>, key: &Key, book: &Handbook) -> Option<Self> {
        Some(T::read(cursor, key, book))
    }
    fn missing() -> Option<Self> {
        Some(None)
    }
}

impl Readable for Word {
    const FORM: Form = Form::Name;
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        cursor.word()
    }
}

impl Readable for Arc<str> {
    const FORM: Form = Form::Words;
    fn read(cursor: &Cursor<'_>, key: &Key, book: &Handbook) -> Option<Self> {
        let text = cursor.text()?;
        key.check.is_none_or(|sound| sound(cursor, &text, book)).then_some(text)
    }
}

impl Readable for NaiveDate {
    const FORM: Form = Form::Words;
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        cursor.date()
    }
}

impl Readable for u32 {
    const FORM: Form = Form::Count;
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        cursor.count()
    }
    fn missing() -> Option<Self> {
        Some(1)
    }
}

impl<Q: Quantity> Readable for Figure<Q> {
    const FORM: Form = Form::Size(Q::KIND);
    fn read(cursor: &Cursor<'_>, key: &Key, _: &Handbook) -> Option<Self> {
        match key.zero {
            true => cursor.figure_or_zero(key.figure),
            false => cursor.figure(key.figure),
        }
    }
}

impl Readable for Disposition {
    const FORM: Form = Form::Choice(|| Self::WORDS.iter().map(|(w, _)| *w).collect());
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        cursor.choice(Self::WORDS)
    }
}

impl Readable for Step {
    const FORM: Form = Form::Choice(|| Self::WORDS.iter().map(|(w, _)| *w).collect());
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        cursor.choice(Self::WORDS)
    }
    /// A pattern has no other step.
    fn missing() -> Option<Self> {
        Some(Step::Pattern)
    }
}

impl Readable for Again {
    const FORM: Form = Form::Choice(|| Self::WORDS.iter().map(|(w, _)| *w).collect());
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        cursor.choice(Self::WORDS)
    }
}

impl Readable for Vec<CanBe> {
    const FORM: Form = Form::Choices(|| CanBe::WORDS.iter().map(|(w, _)| *w).collect());
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        Some(cursor.items().iter().filter_map(|c| c.choice(CanBe::WORDS)).collect())
    }
    fn missing() -> Option<Self> {
        Some(Vec::new())
    }
}

impl Readable for Vec<Word> {
    const FORM: Form = Form::Names;
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        Some(cursor.items().iter().filter_map(Cursor::word).collect())
    }
}

impl Readable for Vec<Arc<str>> {
    const FORM: Form = Form::Names;
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        Some(cursor.items().iter().filter_map(Cursor::text).collect())
    }
    fn missing() -> Option<Self> {
        Some(Vec::new())
    }
}

impl Readable for Vec<(Word, u32)> {
    const FORM: Form = Form::Counts;
    fn read(cursor: &Cursor<'_>, _: &Key, _: &Handbook) -> Option<Self> {
        let each = |(name, c): (Arc<str>, Cursor<'_>)| {
            Some((Word { value: name, route: c.route() }, c.count()?))
        };
        Some(cursor.entries().into_iter().filter_map(each).collect())
    }
}

impl<Q: Quantity> Readable for IndexMap<Arc<str>, Figure<Q>> {
    const FORM: Form = Form::Sizes(Q::KIND);
    fn read(cursor: &Cursor<'_>, key: &Key, _: &Handbook) -> Option<Self> {
        let each = |(name, c): (Arc<str>, Cursor<'_>)| Some((name, c.figure(key.figure)?));
        Some(cursor.entries().into_iter().filter_map(each).collect())
    }
    fn missing() -> Option<Self> {
        Some(IndexMap::new())
    }
}

/// A picture lies in the build's folder or below; whether it is there is not asked.
pub(super) fn photo(cursor: &Cursor<'_>, path: &str, _: &Handbook) -> bool {
    use std::path::{Component, Path};
    let inside = |c| matches!(c, Component::Normal(_) | Component::CurDir);
    let sound = Path::new(path).components().all(inside);
    if !sound {
        let hint = "copy it beside journal.yaml and give its name there";
        cursor.fault(Code::File, "this picture lies outside the build's folder", hint);
    }
    sound
}

/// A price is a plain number, nothing or more.
pub(super) fn price(cursor: &Cursor<'_>, text: &str, _: &Handbook) -> bool {
    cursor.read(Code::Shape, yaml::price(text)).is_some()
}

/// A class of defect is one of the handbook's, or a member of one.
pub(super) fn class(cursor: &Cursor<'_>, class: &str, book: &Handbook) -> bool {
    let group = class.get(..2).map(|g| format!("{g}00"));
    let digits = class.len() == 4 && class.bytes().skip(1).all(|b| b.is_ascii_digit());
    let sound = digits && group.is_some_and(|g| book.defects.contains_key(&*g));
    if !sound {
        let all = book.defects.keys().map(|k| &**k);
        let hint = match yaml::nearest(class, all.clone()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("choose from: {}", all.collect::<Vec<_>>().join(", ")),
        };
        cursor.fault(Code::Word, format!("`{class}` is not a class of defect"), hint);
    }
    sound
}

/// Structs whose fields are keys: each field with its help, its type and its key.
macro_rules! keys {
    ($(
        $(#[$doc:meta])*
        $name:ident { $(#[doc = $help:literal] $field:ident: $type:ty = $key:expr;)* }
    )*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone)]
        pub struct $name { $(#[doc = $help] pub $field: $type,)* }

        impl $name {
            /// Its keys, in the order in which they are written.
            pub const KEYS: &'static [Key] =
                &[$($key.form(<$type as Readable>::FORM).help($help)),*];

            /// Reads the values under its keys; none where one is missing or faulty.
            pub(super) fn read(f: &mut Fields<'_>, book: &Handbook) -> Option<Self> {
                let mut keys = Self::KEYS.iter();
                $(let $field = <$type as Readable>::under(f, keys.next()?, book);)*
                Some(Self { $($field: $field?,)* })
            }
        }
    )*};
}
pub(super) use keys;
