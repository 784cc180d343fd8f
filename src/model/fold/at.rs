//! Where in the journal something stands.

use crate::figure::{Because, Figure, Quantity, Route, Segment};
use crate::journal::Word;

/// Where in the journal something stands: the line of an entry that says what happened, and a value
/// in that entry.
#[derive(Debug, Clone, Copy)]
pub(super) struct At<'a> {
    pub line: usize,
    pub value: Option<&'a Route>,
    pub at_key: bool,
}

impl<'a> At<'a> {
    pub(super) fn new(line: usize, route: &'a Route) -> Self {
        Self { line, value: Some(route), at_key: false }
    }

    /// At the key of the value: what it is called, not how much it is.
    pub(super) fn named(value: impl Into<Self>) -> Self {
        Self { at_key: true, ..value.into() }
    }
}

/// The route through these keys.
pub(super) fn under(keys: &[&str]) -> Route {
    Route(keys.iter().map(|key| Segment::Key((*key).into(), 0)).collect())
}

impl From<usize> for At<'_> {
    fn from(line: usize) -> Self {
        Self { line, value: None, at_key: false }
    }
}

impl<'a> From<(usize, &'a Word)> for At<'a> {
    fn from((line, word): (usize, &'a Word)) -> Self {
        Self { line, value: Some(&word.route), at_key: false }
    }
}

impl<'a, Q: Quantity> From<(usize, &'a Figure<Q>)> for At<'a> {
    fn from((line, figure): (usize, &'a Figure<Q>)) -> Self {
        let value = match figure.node().because() {
            Because::Given(route) => Some(route),
            _ => None,
        };
        Self { line, value, at_key: false }
    }
}

impl<'a, T> From<(usize, &'a Option<T>)> for At<'a>
where
    At<'a>: From<(usize, &'a T)>,
{
    fn from((line, value): (usize, &'a Option<T>)) -> Self {
        value.as_ref().map_or(line.into(), |value| (line, value).into())
    }
}
