//! Places by a position-keeping parser, worked out only when they are shown.

use crate::figure::{Route, Segment};
use saphyr_parser::{Event, Parser, Span};

/// A stretch of one line in a file; lines and columns count from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub struct Place {
    /// Line.
    pub line: usize,
    /// Column of its first character.
    pub column: usize,
    /// Length in characters, at least 1.
    pub length: usize,
}

enum Frame {
    Map { key: Option<(String, Place)>, seen: Vec<String>, wanted: bool },
    List { next: usize, wanted: bool },
}

/// Finds where a route leads: the value, or its key where `at_key` is set. A route that does
/// not lead all the way ends at the last node that exists.
pub fn place(text: &str, route: &Route, at_key: bool) -> Place {
    places(text, &[(route, at_key)])[0]
}

/// The places of several routes, in one walk through the text.
pub(super) fn places(text: &str, routes: &[(&Route, bool)]) -> Vec<Place> {
    let start = Place { line: 1, column: 1, length: 1 };
    let search =
        |(route, at_key)| Search { route, at_key, frames: Vec::new(), depth: 0, best: start };
    let mut all: Vec<Search<'_>> = routes.iter().copied().map(search).collect();
    let mut left: Vec<usize> = (0..all.len()).filter(|i| !routes[*i].0.0.is_empty()).collect();
    for event in Parser::new_from_str(text) {
        let Ok((event, span)) = event else { break };
        left.retain(|i| !all[*i].step(&event, span));
        if left.is_empty() {
            break;
        }
    }
    all.into_iter().map(|s| s.best).collect()
}

/// The lines of a journal, whose documents are its entries.
pub(super) struct Entries<'a> {
    text: &'a str,
    /// Where each line begins.
    lines: Vec<usize>,
}

impl<'a> Entries<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        let after = text.match_indices('\n').map(|(at, _)| at + 1);
        Self { text, lines: std::iter::once(0).chain(after).collect() }
    }

    /// What stands from a line on, counted from 0.
    fn from(&self, line: usize) -> &'a str {
        self.lines.get(line).and_then(|at| self.text.get(*at..)).unwrap_or_default()
    }

    /// Where a route leads in the entry around a line, or the key in that line.
    pub(super) fn place(&self, line: usize, route: Option<&Route>, at_key: bool) -> Place {
        let nth = line.saturating_sub(1);
        let key = self.from(nth).lines().next().unwrap_or_default();
        let key = key.split(':').next().unwrap_or_default().trim_end().chars().count();
        let whole = Place { line: nth + 1, column: 1, length: key.max(1) };
        let Some(route) = route.filter(|route| !route.0.is_empty()) else { return whole };
        let starts = |at: usize| {
            let before = at.checked_sub(1).map(|before| self.from(before));
            self.from(at).starts_with("id:") || before.is_none_or(|b| b.starts_with("---"))
        };
        let first = (0..=nth).rev().find(|at| starts(*at)).unwrap_or(0);
        let ends = |at: &usize| self.from(*at).starts_with("---") || starts(*at);
        let end = (nth + 1..self.lines.len()).find(ends).map_or(self.text.len(), |e| self.lines[e]);
        let text = self.lines.get(first).and_then(|at| self.text.get(*at..end));
        let found = place(text.unwrap_or_default(), route, at_key);
        Place { line: found.line + first, ..found }
    }
}

struct Search<'a> {
    route: &'a Route,
    at_key: bool,
    frames: Vec<Frame>,
    /// How many segments of the route the frames have matched.
    depth: usize,
    best: Place,
}

impl Search<'_> {
    /// Takes one event; true when the place is found.
    fn step(&mut self, event: &Event<'_>, span: Span) -> bool {
        let place = of_span(span);
        match event {
            Event::Scalar(text, ..) => {
                if self.takes_key(text, place) {
                    return false;
                }
                if self.enters(place) {
                    return true;
                }
                self.leaves();
            }
            Event::Alias(_) => {
                if self.enters(place) {
                    return true;
                }
                self.leaves();
            }
            Event::MappingStart(..) | Event::SequenceStart(..) => {
                let wanted = self.frames.is_empty() || self.matches();
                if self.enters(Place { length: 1, ..place }) {
                    return true;
                }
                if wanted && !self.frames.is_empty() {
                    self.depth += 1;
                }
                self.frames.push(match event {
                    Event::MappingStart(..) => Frame::Map { key: None, seen: Vec::new(), wanted },
                    _ => Frame::List { next: 0, wanted },
                });
            }
            Event::MappingEnd | Event::SequenceEnd => {
                let wanted = matches!(
                    self.frames.pop(),
                    Some(Frame::Map { wanted: true, .. } | Frame::List { wanted: true, .. })
                );
                if wanted {
                    // The node that the route goes through has ended without its target.
                    return true;
                }
                self.leaves();
            }
            _ => {}
        }
        false
    }

    /// A scalar where a map waits for a key is that key.
    fn takes_key(&mut self, text: &str, place: Place) -> bool {
        match self.frames.last_mut() {
            Some(Frame::Map { key: key @ None, .. }) => {
                *key = Some((text.to_owned(), place));
                true
            }
            _ => false,
        }
    }

    /// Whether the node that starts now is the next one on the route.
    fn matches(&self) -> bool {
        let Some(segment) = self.route.0.get(self.depth) else { return false };
        match (self.frames.last(), segment) {
            (
                Some(Frame::Map { key: Some((key, _)), seen, wanted: true }),
                Segment::Key(name, nth),
            ) => {
                **name == *key.as_str()
                    && seen.iter().filter(|s| *s == key).count() == *nth as usize
            }
            (Some(Frame::List { next, wanted: true }), Segment::Index(index)) => next == index,
            _ => false,
        }
    }

    /// Notes the place of a node on the route; true when it is the last one.
    fn enters(&mut self, value: Place) -> bool {
        if !self.matches() {
            return false;
        }
        let key = match self.frames.last() {
            Some(Frame::Map { key: Some((_, key)), .. }) => Some(*key),
            _ => None,
        };
        let last = self.depth + 1 == self.route.0.len();
        self.best = match key {
            Some(key) if !last || self.at_key || value.length == 0 => key,
            _ => Place { length: value.length.max(1), ..value },
        };
        last
    }

    /// The value just ended: its map waits for the next key, its list counts on.
    fn leaves(&mut self) {
        match self.frames.last_mut() {
            Some(Frame::Map { key, seen, .. }) => {
                if let Some((key, _)) = key.take() {
                    seen.push(key);
                }
            }
            Some(Frame::List { next, .. }) => *next += 1,
            None => {}
        }
    }
}

fn of_span(span: Span) -> Place {
    let (start, end) = (span.start, span.end);
    let length = if start.line() == end.line() { end.col().saturating_sub(start.col()) } else { 1 };
    Place { line: start.line(), column: start.col() + 1, length }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(name: &str) -> Segment {
        Segment::Key(name.into(), 0)
    }

    #[test]
    fn a_route_leads_into_the_entry_around_a_line() {
        let text = "---\nid: a\nat: x\nnote: {says: one}\n---\nid: b\nat: y\nnote:\n  says: two\nid: c\nnote: {part: z}\n";
        let entries = Entries::new(text);
        let at = |line, keys: &[&str]| {
            let route = Route(keys.iter().map(|k| key(k)).collect());
            let p = entries.place(line, Some(&route), false);
            (p.line, p.column, p.length)
        };
        assert_eq!(at(4, &["note", "says"]), (4, 14, 3));
        assert_eq!(at(8, &["note", "says"]), (9, 9, 3));
        assert_eq!(at(8, &["id"]), (6, 5, 1));
        assert_eq!(at(11, &["note", "part"]), (11, 14, 1));
        let says = Route([key("note"), key("says")].into());
        let p = entries.place(4, Some(&says), true);
        assert_eq!((p.line, p.column, p.length), (4, 8, 4));
        let p = entries.place(8, None, true);
        assert_eq!((p.line, p.column, p.length), (8, 1, 4));
        assert_eq!(entries.place(99, None, false).line, 99);
    }

    #[test]
    fn a_route_leads_to_its_line_and_column() {
        let text =
            "a: 1\nparts:\n  base:\n    needs: [x, {part: y}]\n    width: 180 kg\n    width: 2\n";
        let at = |route: Vec<Segment>, at_key| place(text, &Route(route.into()), at_key);
        let p = at(vec![key("parts"), key("base"), key("width")], false);
        assert_eq!((p.line, p.column, p.length), (5, 12, 6));
        let p = at(vec![key("parts"), key("base"), Segment::Key("width".into(), 1)], true);
        assert_eq!((p.line, p.column, p.length), (6, 5, 5));
        let p = at(
            vec![key("parts"), key("base"), key("needs"), Segment::Index(1), key("part")],
            false,
        );
        assert_eq!((p.line, p.column), (4, 23));
        let p = at(vec![key("parts"), key("base"), key("missing")], false);
        assert_eq!((p.line, p.column), (3, 3));
    }
}
