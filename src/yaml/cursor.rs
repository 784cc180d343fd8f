//! Walking a tree and collecting every fault on the way.

use super::taken::{Form, Taken};
use super::{Code, Fault, Fields, Reading, Tree};
use crate::figure::{Route, Segment};
use std::rc::Rc;
use std::sync::Arc;

#[derive(Debug)]
struct Link {
    up: Option<Rc<Link>>,
    segment: Segment,
}

/// A value and where it stands.
#[derive(Debug, Clone)]
pub struct Cursor<'a> {
    pub(super) tree: &'a Tree,
    link: Option<Rc<Link>>,
    pub(super) reading: &'a Reading<'a>,
}

/// A value as written, with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Given<T> {
    /// The value.
    pub value: T,
    /// Where it was written.
    pub route: Route,
}

impl<'a> Cursor<'a> {
    /// At the top of a tree.
    pub fn top(tree: &'a Tree, reading: &'a Reading<'a>) -> Self {
        Self { tree, link: None, reading }
    }

    /// The pass that it belongs to.
    pub fn reading(&self) -> &'a Reading<'a> {
        self.reading
    }

    /// The value itself.
    pub fn tree(&self) -> &'a Tree {
        if matches!(self.tree, Tree::Text(_)) {
            self.note(|taken, route| taken.form(route, Form::Text));
        }
        self.tree
    }

    pub(super) fn note(&self, note: impl FnOnce(&mut Taken, &Route)) {
        self.reading.note(|taken| note(taken, &self.route()));
    }

    /// Notes a form that a value here may have.
    pub(crate) fn form(&self, form: impl FnOnce() -> Form) {
        self.note(|taken, route| taken.form(route, form()));
    }

    pub(super) fn inside(&self, tree: &'a Tree, segment: Segment) -> Self {
        let link = Some(Rc::new(Link { up: self.link.clone(), segment }));
        Self { tree, link, reading: self.reading }
    }

    /// Where it stands.
    pub fn route(&self) -> Route {
        let mut segments = Vec::new();
        let mut link = self.link.as_ref();
        while let Some(l) = link {
            segments.push(l.segment.clone());
            link = l.up.as_ref();
        }
        segments.reverse();
        Route(segments.into())
    }

    /// Its key, or an empty text in a list or at the top.
    pub fn name(&self) -> Arc<str> {
        match self.link.as_ref().map(|l| &l.segment) {
            Some(Segment::Key(key, _)) => key.clone(),
            _ => "".into(),
        }
    }

    /// Adds a fault at this value.
    pub fn fault(&self, code: Code, says: impl Into<String>, hint: impl Into<String>) {
        self.reading.fault(Fault::value(code, self.route(), says, hint));
    }

    /// Adds a fault at this value's key.
    pub fn fault_at_key(&self, code: Code, says: impl Into<String>, hint: impl Into<String>) {
        self.reading.fault(Fault::key(code, self.route(), says, hint));
    }

    pub(super) fn what(&self) -> &'static str {
        match self.tree {
            Tree::Empty => "nothing is written here",
            Tree::Switch(_) => "this is true or false",
            Tree::Text(_) => "this is a single value",
            Tree::List(_) => "this is a list",
            Tree::Map(_) => "this is a map of keys",
        }
    }

    /// As a map of keys that are known beforehand.
    pub fn fields(&self) -> Option<Fields<'a>> {
        match self.tree {
            Tree::Map(entries) => {
                self.note(Taken::map);
                Some(Fields::new(self.clone(), entries))
            }
            _ => {
                self.fault(
                    Code::Shape,
                    self.what(),
                    "keys with values are expected, such as `name: ...`",
                );
                None
            }
        }
    }

    /// As a map whose keys are ids that the builder chose; faults for repeated and ill-formed ids.
    pub fn entries(&self) -> Vec<(Arc<str>, Cursor<'a>)> {
        self.note(Taken::ids);
        let Tree::Map(entries) = self.tree else {
            if *self.tree != Tree::Empty {
                self.fault(
                    Code::Shape,
                    self.what(),
                    "ids with values are expected, such as `base: {...}`",
                );
            }
            return Vec::new();
        };
        let mut seen: std::collections::HashMap<&str, u32> = std::collections::HashMap::new();
        let mut out = Vec::with_capacity(entries.len());
        for (key, value) in entries {
            let nth = seen.entry(key).or_default();
            let cursor = self.inside(value, Segment::Key(key.clone(), *nth));
            *nth += 1;
            if *nth > 1 {
                cursor.fault_at_key(
                    Code::RepeatedId,
                    format!("`{key}` was used above"),
                    "give this one an id of its own",
                );
                continue;
            }
            let sound = !key.is_empty()
                && key.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_'));
            if !sound {
                cursor.fault_at_key(
                    Code::BadId,
                    "an id is made of letters, digits, - and _",
                    "put the full wording under `name:`",
                );
                continue;
            }
            out.push((key.clone(), cursor));
        }
        out
    }

    /// The value under a key of a map, if it is there.
    pub fn below(&self, key: &str) -> Option<Self> {
        let Tree::Map(entries) = self.tree else { return None };
        let (key, tree) = entries.iter().find(|(k, _)| **k == *key)?;
        Some(self.inside(tree, Segment::Key(key.clone(), 0)))
    }

    /// The keys of a map, sound or not.
    pub fn ids(&self) -> Vec<Arc<str>> {
        match self.tree {
            Tree::Map(entries) => entries.iter().map(|(key, _)| key.clone()).collect(),
            _ => Vec::new(),
        }
    }

    /// As a list; a single value counts as a list of one.
    pub fn items(&self) -> Vec<Cursor<'a>> {
        self.note(Taken::items);
        match self.tree {
            Tree::List(items) => {
                items.iter().enumerate().map(|(i, t)| self.inside(t, Segment::Index(i))).collect()
            }
            Tree::Empty => Vec::new(),
            _ => vec![self.clone()],
        }
    }

    /// Whether it is a list.
    pub fn is_list(&self) -> bool {
        matches!(self.tree, Tree::List(_))
    }

    /// Whether it is a plain nought.
    pub fn is_zero(&self) -> bool {
        matches!(self.tree, Tree::Text(text) if **text == *"0")
    }
}
