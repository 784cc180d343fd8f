//! What a reader takes of a file: its keys, and the form of each value. Noted while it reads a file
//! that shows them all, so that a schema made of it says what the reader does.

use crate::figure::{Kind, Route, Segment};
use indexmap::IndexMap;

/// The form of a value.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// Any words.
    Text,
    /// One of a few words.
    Choice(Vec<String>),
    /// A quantity of this kind.
    Size(Kind),
    /// So many lengths, as `300 x 200 mm`.
    Sizes(usize),
    /// A whole number from 1.
    Count,
    /// A day.
    Date,
    /// A value of a table, with its source.
    Tabled,
}

/// What was taken at one place of a file.
#[derive(Debug, Clone, Default)]
pub struct Taken {
    /// Known keys, each with what was taken under it.
    pub keys: IndexMap<String, Taken>,
    /// What was taken under ids of the builder's own.
    pub ids: Option<Box<Taken>>,
    /// What was taken of each of a list.
    pub items: Option<Box<Taken>>,
    /// Forms of single values.
    pub forms: Vec<Form>,
    /// Where it was first found.
    pub found: Option<Route>,
    visits: usize,
    asked: IndexMap<&'static str, usize>,
}

impl Taken {
    /// Whether it was read as a map of known keys.
    pub fn is_map(&self) -> bool {
        self.visits > 0
    }

    /// Whether a key may never be left out.
    pub fn needs(&self, key: &str) -> bool {
        self.asked.get(key).is_some_and(|n| *n >= self.visits)
    }

    /// Whether nothing was read there.
    pub fn is_unread(&self) -> bool {
        !self.is_map() && self.ids.is_none() && self.items.is_none() && self.forms.is_empty()
    }

    fn at(&mut self, route: &Route) -> &mut Self {
        let mut node = self;
        for segment in route.0.iter() {
            node = match segment {
                Segment::Index(_) => node.items.get_or_insert_default(),
                Segment::Key(key, _) => {
                    let Self { keys, ids, .. } = node;
                    match ids {
                        Some(ids) if !keys.contains_key(&**key) => ids,
                        _ => keys.entry(key.to_string()).or_default(),
                    }
                }
            };
        }
        node.found.get_or_insert_with(|| route.clone());
        node
    }

    pub(super) fn form(&mut self, route: &Route, form: Form) {
        let node = self.at(route);
        if !node.forms.contains(&form) {
            node.forms.push(form);
        }
    }

    pub(super) fn map(&mut self, route: &Route) {
        self.at(route).visits += 1;
    }

    pub(super) fn ids(&mut self, route: &Route) {
        self.at(route).ids.get_or_insert_default();
    }

    pub(super) fn items(&mut self, route: &Route) {
        self.at(route).items.get_or_insert_default();
    }

    pub(super) fn key(&mut self, route: &Route, key: &'static str) {
        self.at(route).keys.entry(key.to_owned()).or_default();
    }

    pub(super) fn needed(&mut self, route: &Route, key: &'static str) {
        *self.at(route).asked.entry(key).or_default() += 1;
    }
}
