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

/// A map or list that is open, and the routes that go on in it.
enum Frame {
    Map { key: Option<(String, Place)>, seen: Vec<String>, on: Vec<usize> },
    List { next: usize, on: Vec<usize> },
}

/// Finds where a route leads: the value, or its key where `at_key` is set. A route that does
/// not lead all the way ends at the last node that exists.
pub fn place(text: &str, route: &Route, at_key: bool) -> Place {
    places(text, &[(route, at_key)])[0]
}

/// The places of several routes, in one walk through the text.
pub fn places(text: &str, routes: &[(&Route, bool)]) -> Vec<Place> {
    let start = Place { line: 1, column: 1, length: 1 };
    let done: Vec<bool> = routes.iter().map(|(route, _)| route.0.is_empty()).collect();
    let left = done.iter().filter(|done| !**done).count();
    let mut search =
        Search { routes, best: vec![start; routes.len()], done, left, frames: Vec::new() };
    for event in Parser::new_from_str(text) {
        let Ok((event, span)) = event else { break };
        if search.left == 0 {
            break;
        }
        search.step(&event, of_span(span));
    }
    search.best
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
    routes: &'a [(&'a Route, bool)],
    /// By route, the last node on it so far.
    best: Vec<Place>,
    /// By route, whether no more of it can come.
    done: Vec<bool>,
    left: usize,
    frames: Vec<Frame>,
}

impl Search<'_> {
    fn step(&mut self, event: &Event<'_>, place: Place) {
        match event {
            Event::Scalar(text, ..) if self.takes_key(text, place) => {}
            Event::Scalar(..) | Event::Alias(_) => {
                self.enters(place);
                self.leaves();
            }
            Event::MappingStart(..) | Event::SequenceStart(..) => {
                let on = self.enters(Place { length: 1, ..place });
                self.frames.push(match event {
                    Event::MappingStart(..) => Frame::Map { key: None, seen: Vec::new(), on },
                    _ => Frame::List { next: 0, on },
                });
            }
            Event::MappingEnd | Event::SequenceEnd => {
                // The node that these routes go through has ended.
                if let Some(Frame::Map { on, .. } | Frame::List { on, .. }) = self.frames.pop() {
                    on.into_iter().for_each(|route| self.ends(route));
                }
                self.leaves();
            }
            _ => {}
        }
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

    fn ends(&mut self, route: usize) {
        self.left -= usize::from(!self.done[route]);
        self.done[route] = true;
    }

    /// Notes the place of a node for the routes that lead to it; gives those that go on in it.
    fn enters(&mut self, value: Place) -> Vec<usize> {
        let depth = self.frames.len();
        let (here, key) = match self.frames.last() {
            // At the top all that lead anywhere go on.
            None => return (0..self.routes.len()).filter(|r| !self.done[*r]).collect(),
            Some(Frame::Map { key: Some((key, at)), seen, on }) => {
                let nth = |nth: u32| seen.iter().filter(|s| *s == key).count() == nth as usize;
                let here = |segment: &Segment| matches!(segment, Segment::Key(name, n) if **name == **key && nth(*n));
                (self.matching(on, depth, here), Some(*at))
            }
            Some(Frame::Map { key: None, .. }) => (Vec::new(), None),
            Some(Frame::List { next, on }) => {
                let here = |segment: &Segment| matches!(segment, Segment::Index(at) if at == next);
                (self.matching(on, depth, here), None)
            }
        };
        let mut on = Vec::new();
        for at in here {
            let (route, at_key) = self.routes[at];
            let last = depth == route.0.len();
            self.best[at] = match key {
                Some(key) if !last || at_key || value.length == 0 => key,
                _ => Place { length: value.length.max(1), ..value },
            };
            if last { self.ends(at) } else { on.push(at) }
        }
        on
    }

    /// Of these routes those that lead to the node that starts now, so many levels down.
    fn matching(&self, on: &[usize], depth: usize, here: impl Fn(&Segment) -> bool) -> Vec<usize> {
        let leads = |r: &usize| !self.done[*r] && here(&self.routes[*r].0.0[depth - 1]);
        on.iter().copied().filter(leads).collect()
    }

    /// The value just ended: its map waits for the next key, its list counts on.
    fn leaves(&mut self) {
        match self.frames.last_mut() {
            Some(Frame::Map { key, seen, on }) => {
                if let Some((key, _)) = key.take()
                    && !on.is_empty()
                {
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

    #[test]
    fn routes_in_one_walk_lie_where_each_lies_alone() {
        let text = "a: {b: 1, b: [2, {c: 3}], d: 8}\nparts:\n  base: {b: 4}\n  leg:\n    - {b: 5}\n    - b: 6\nb: 7\n";
        let index = Segment::Index;
        let routes = [
            vec![key("a"), key("b")],
            vec![key("a"), Segment::Key("b".into(), 1), index(1), key("c")],
            vec![key("a"), Segment::Key("b".into(), 1), index(2)],
            vec![key("a"), key("d")],
            vec![key("parts"), key("leg"), index(1), key("b")],
            vec![key("parts"), key("base"), key("c")],
            vec![key("parts"), key("base"), key("b")],
            vec![key("b")],
            vec![key("c")],
            vec![],
        ]
        .map(|route| Route(route.into()));
        let lines = [1, 1, 1, 1, 6, 3, 3, 7, 1, 1];
        for at_key in [false, true] {
            let asked: Vec<_> = routes.iter().map(|route| (route, at_key)).collect();
            let found = places(text, &asked);
            assert_eq!(found.iter().map(|p| p.line).collect::<Vec<_>>(), lines);
            for (route, place) in routes.iter().zip(found) {
                assert_eq!(super::place(text, route, at_key), place, "{route}");
            }
        }
    }
}
