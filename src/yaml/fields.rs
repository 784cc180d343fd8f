//! The known keys of a map, and what is told of the others.

use super::{Code, Cursor, Tree, nearest};
use crate::figure::Segment;
use std::sync::Arc;

/// The known keys of a map, taken one by one; what is left over is a fault.
#[derive(Debug)]
pub struct Fields<'a> {
    cursor: Cursor<'a>,
    entries: &'a [(Arc<str>, Tree)],
    known: Vec<&'static str>,
}

impl<'a> Fields<'a> {
    pub(super) fn new(cursor: Cursor<'a>, entries: &'a [(Arc<str>, Tree)]) -> Self {
        Self { cursor, entries, known: Vec::new() }
    }

    /// The cursor of the map itself.
    pub fn cursor(&self) -> &Cursor<'a> {
        &self.cursor
    }

    /// The value under a key, if it is there.
    pub fn get(&mut self, key: &'static str) -> Option<Cursor<'a>> {
        if !self.known.contains(&key) {
            self.known.push(key);
        }
        self.cursor.note(|taken, route| taken.key(route, key));
        let (key, tree) = self.entries.iter().find(|(k, _)| **k == *key)?;
        Some(self.cursor.inside(tree, Segment::Key(key.clone(), 0)))
    }

    /// The value under a key, read; none where it is missing or faulty.
    pub fn take<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&Cursor<'a>) -> Option<T>,
    ) -> Option<T> {
        self.get(key).and_then(|c| read(&c))
    }

    /// Like [`Fields::take`], but a missing key is a fault.
    pub fn need<T>(
        &mut self,
        key: &'static str,
        example: &str,
        read: impl FnOnce(&Cursor<'a>) -> Option<T>,
    ) -> Option<T> {
        self.cursor.note(|taken, route| taken.needed(route, key));
        match self.get(key) {
            Some(c) => read(&c),
            None => {
                self.cursor.fault_at_key(
                    Code::MissingKey,
                    format!("`{key}` is missing here"),
                    format!("add `{key}: {example}`"),
                );
                None
            }
        }
    }

    /// Which of these keys are there.
    pub fn present(&self, keys: &[&'static str]) -> Vec<&'static str> {
        keys.iter().copied().filter(|k| self.entries.iter().any(|(e, _)| **e == **k)).collect()
    }

    /// Faults for keys that nobody took and for keys written twice.
    pub fn done(self) {
        for (at, (key, tree)) in self.entries.iter().enumerate() {
            // Known keys are few, so looking back is quicker than remembering.
            let nth = self.entries[..at].iter().filter(|(k, _)| k == key).count() as u32;
            if nth == 0 && self.known.contains(&&**key) {
                continue;
            }
            let cursor = self.cursor.inside(tree, Segment::Key(key.clone(), nth));
            if let Some(rightly) = self.cut_by_comma(at) {
                let says = "a comma splits this number in two; decimals follow a point";
                cursor.fault_at_key(Code::Unit, says, format!("write {rightly}"));
                continue;
            }
            if !self.known.contains(&&**key) {
                let near = nearest(key, self.known.iter().copied());
                let hint = match (near, self.second_value(at)) {
                    (Some(near), _) => format!("did you mean `{near}`?"),
                    (None, Some(both)) => both,
                    (None, None) => format!("known here: {}", self.known.join(", ")),
                };
                cursor.fault_at_key(Code::UnknownKey, format!("`{key}` means nothing here"), hint);
            } else if nth > 0 {
                cursor.fault_at_key(
                    Code::RepeatedKey,
                    format!("`{key}` was given above"),
                    "keep one of the two",
                );
            }
        }
    }
}

impl Fields<'_> {
    /// What to do where this is no key but a second value, as in `{moulds: M1, M2}`.
    fn second_value(&self, at: usize) -> Option<String> {
        let (second, Tree::Empty) = &self.entries[at] else { return None };
        let (key, Tree::Text(first)) = self.entries.get(at.checked_sub(1)?)? else { return None };
        Some(format!(
            "a second value of `{key}`? several stand in brackets: [{first}, {second}]; words with a comma in quotes"
        ))
    }

    /// The number that a comma has cut in two between braces, as in `{cope: 7,5 cm}`.
    fn cut_by_comma(&self, at: usize) -> Option<String> {
        let (rest, Tree::Empty) = &self.entries[at] else { return None };
        let (_, Tree::Text(begins)) = self.entries.get(at.checked_sub(1)?)? else { return None };
        let digits = begins.ends_with(|c: char| c.is_ascii_digit())
            && rest.starts_with(|c: char| c.is_ascii_digit());
        // A point before the comma sets thousands apart, and what stood there is a number by now.
        digits.then(|| match begins.contains('.') {
            true => "it without the comma: 1250.5".to_owned(),
            false => format!("{begins}.{rest}"),
        })
    }
}
