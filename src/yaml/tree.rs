//! Values by `serde_yaml`.

use super::{Code, Fault, unclosed};
use saphyr_parser::{Event, Parser};
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::cell::Cell;
use std::fmt;
use std::sync::Arc;

/// A YAML value. Numbers stay as the text that was written, so that a unit can follow them.
#[derive(Debug, Clone, PartialEq)]
pub enum Tree {
    /// Nothing was written.
    Empty,
    /// `true` or `false`.
    Switch(bool),
    /// A word, a text or a number.
    Text(Arc<str>),
    /// A list.
    List(Vec<Tree>),
    /// Keys and values, in order, repeated keys included.
    Map(Vec<(Arc<str>, Tree)>),
}

/// Larger files are refused unread: a build of 5,000 parts takes about 2 MB.
pub const MAX_BYTES: usize = 16 << 20;
/// More values than this can only come from aliases that multiply.
const MAX_VALUES: usize = 1_000_000;
/// Signs that begin or part values, at most: the parser keeps some 280 bytes for each, and a build
/// of 5,000 parts has a third of them.
const MAX_SIGNS: usize = 700_000;

/// Whether a text has more signs that begin or part values than any build. Letters and digits are
/// passed over quickly.
fn has_too_many_signs(text: &str) -> bool {
    let bytes = text.as_bytes();
    let of_its_own = |b: &u8| matches!(b, b'[' | b'{' | b',' | b':' | b'\n');
    let before_a_gap = |pair: &[u8]| matches!(pair, [b'-' | b'?', b' ']);
    bytes.len() > MAX_SIGNS
        && bytes.iter().filter(|b| of_its_own(b)).count()
            + bytes.windows(2).filter(|pair| before_a_gap(pair)).count()
            > MAX_SIGNS
}

struct Seed<'a>(&'a Cell<usize>);

impl Seed<'_> {
    fn count<E: Error>(&self) -> Result<(), E> {
        let left = self.0.get();
        if left == 0 {
            return Err(E::custom("more than a million values"));
        }
        self.0.set(left - 1);
        Ok(())
    }
}

impl<'de> DeserializeSeed<'de> for Seed<'_> {
    type Value = Tree;
    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Tree, D::Error> {
        self.count()?;
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Seed<'_> {
    type Value = Tree;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a plain value, a list or a map")
    }
    fn visit_unit<E>(self) -> Result<Tree, E> {
        Ok(Tree::Empty)
    }
    fn visit_none<E>(self) -> Result<Tree, E> {
        Ok(Tree::Empty)
    }
    fn visit_bool<E>(self, value: bool) -> Result<Tree, E> {
        Ok(Tree::Switch(value))
    }
    fn visit_i64<E>(self, value: i64) -> Result<Tree, E> {
        Ok(Tree::Text(value.to_string().into()))
    }
    fn visit_u64<E>(self, value: u64) -> Result<Tree, E> {
        Ok(Tree::Text(value.to_string().into()))
    }
    fn visit_f64<E>(self, value: f64) -> Result<Tree, E> {
        Ok(Tree::Text(value.to_string().into()))
    }
    fn visit_str<E>(self, value: &str) -> Result<Tree, E> {
        Ok(Tree::Text(value.into()))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut access: A) -> Result<Tree, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = access.next_element_seed(Seed(self.0))? {
            items.push(item);
        }
        Ok(Tree::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Tree, A::Error> {
        let mut entries = Vec::new();
        while let Some(key) = access.next_key_seed(Seed(self.0))? {
            let key = match key {
                Tree::Text(text) => text,
                Tree::Empty => "".into(),
                Tree::Switch(value) => value.to_string().into(),
                _ => return Err(A::Error::custom("a key must be a plain word")),
            };
            entries.push((key, access.next_value_seed(Seed(self.0))?));
        }
        Ok(Tree::Map(entries))
    }
}

/// Checks raw bytes before they are read as YAML: size, UTF-8, NUL. A byte order mark is dropped.
///
/// # Errors
/// One fault that names what the bytes are instead of text.
pub fn text_of(bytes: Vec<u8>) -> Result<String, Fault> {
    if bytes.len() > MAX_BYTES {
        let says = format!("this file has {} MB", bytes.len() >> 20);
        return Err(Fault::top(
            Code::FileSize,
            says,
            "a build of 5,000 parts takes 2 MB; is this the right file?",
        ));
    }
    let text = String::from_utf8(bytes).map_err(|e| {
        let at = e.utf8_error().valid_up_to();
        let before = &e.as_bytes()[..at];
        let line = before.iter().filter(|b| **b == b'\n').count() + 1;
        let start = before.iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
        let column = String::from_utf8_lossy(&before[start..]).chars().count() + 1;
        Fault::at(
            Code::NotText,
            line,
            column,
            "this byte is not UTF-8 text",
            "save the file as UTF-8",
        )
    })?;
    let text = match text.strip_prefix('\u{feff}') {
        Some(rest) => rest.to_owned(),
        None => text,
    };
    let text = one_line_end(text);
    if let Some(at) = text.find('\0') {
        let line = text[..at].matches('\n').count() + 1;
        let column = text[..at].chars().rev().take_while(|c| *c != '\n').count() + 1;
        return Err(Fault::at(
            Code::NotText,
            line,
            column,
            "a NUL byte stands here",
            "is this a text file?",
        ));
    }
    Ok(text)
}

/// The same text with every line ended by a line feed: files come with carriage returns before
/// them, or with those alone.
pub fn one_line_end(text: String) -> String {
    match text.contains('\r') {
        true => text.replace("\r\n", "\n").replace('\r', "\n"),
        false => text,
    }
}

/// Bytes that are no text, as nearly as they can be shown; none where they are text or too many.
pub fn shown_of(bytes: &[u8]) -> Option<String> {
    let faulty =
        bytes.len() <= MAX_BYTES && (bytes.contains(&0) || std::str::from_utf8(bytes).is_err());
    faulty.then(|| one_line_end(String::from_utf8_lossy(bytes).into_owned()))
}

/// Parses one YAML document.
///
/// # Errors
/// One fault with the position where reading stopped.
pub fn parse(text: &str) -> Result<Tree, Fault> {
    if has_too_many_signs(text) {
        let says = format!("this has more than {MAX_SIGNS} keys, values and brackets");
        let hint =
            "no build has that many; is this the right file, or do brackets nest without end?";
        return Err(Fault::top(Code::FileSize, says, hint));
    }
    let left = Cell::new(MAX_VALUES);
    let read = Seed(&left).deserialize(serde_yaml::Deserializer::from_str(text));
    read.map_err(|e| {
        let (line, column) = e.location().map_or((1, 1), |l| (l.line(), l.column()));
        let says = e.to_string();
        let says =
            says.split(" at line ").next().unwrap_or(&says).trim_start_matches(": ").to_owned();
        if says.contains("more than one document") {
            let (line, column, says) = beyond_first(text);
            let hint = "one file holds one build; remove this line";
            return Fault::at(Code::Yaml, line, column, says, hint);
        }
        if says.contains("invalid type: enum") {
            let hint = "remove the word that starts with !";
            return Fault::at(Code::Yaml, line, column, "a YAML tag means nothing here", hint);
        }
        let about_values =
            says.contains("million") || says.contains("repetition") || says.contains("recursion");
        if let Some((sign, place)) = unclosed::opener(text, line).filter(|_| !about_values) {
            let (what, end) = match sign {
                '{' => ("bracket", "}"),
                '[' => ("bracket", "]"),
                '"' => ("quote", "\""),
                _ => ("quote", "'"),
            };
            let says = format!("this {what} is not closed");
            let line = text.lines().nth(place.line - 1).unwrap_or_default();
            let hint = match line.contains(" #") {
                true => format!("close it with {end}; words with a # in them stand in quotes"),
                false => format!("close it with {end}"),
            };
            return Fault::placed(Code::Yaml, place, says, hint);
        }
        if let Some((line, hint)) = odd_indent(text, line).filter(|_| !about_values) {
            return Fault::at(Code::Yaml, line, 1, says, hint);
        }
        // A line that is no key is told where the next one begins.
        let dashes = |line: &&str| {
            let mut signs = line.trim().chars().peekable();
            signs.peek().is_some() && signs.all(|c| matches!(c, '-' | '–' | '—' | '―' | '_' | '='))
        };
        let above = line.saturating_sub(1);
        let above_line = text.lines().nth(above.saturating_sub(1)).filter(dashes);
        if above_line.is_some_and(|line| line.trim() != "---") {
            let hint = "three hyphens, ---, stand between entries, and nothing else does";
            return Fault::at(Code::Yaml, above.max(1), 1, says, hint);
        }
        let hint = if says.contains("mapping values") {
            "put words with a colon in them in quotes, or look for a wrong indent just above"
        } else if says.contains("million") || says.contains("repetition") {
            "write the values out; anchors that refer to anchors multiply"
        } else if says.contains("recursion") {
            "no part of a build nests that deep"
        } else {
            "look for a missing space after a colon, a tab, or a wrong indent just above"
        };
        Fault::at(Code::Yaml, line, column, says, hint)
    })
}

/// The line that is indented with other than spaces, and what to do about it. The reader stops at a tab; any
/// other space is a letter to it, and it stops a few lines below.
fn odd_indent(text: &str, stopped: usize) -> Option<(usize, &'static str)> {
    const FEW: usize = 5;
    let read = text.lines().enumerate().take(stopped).skip(stopped.saturating_sub(FEW));
    let odd = read.filter_map(|(nth, line)| {
        let indent = line.chars().take_while(|c| c.is_whitespace());
        match indent.into_iter().find(|c| *c != ' ')? {
            '\t' => (nth + 1 == stopped)
                .then_some((stopped, "this line is indented with a tab; indent with spaces")),
            _ => Some((nth + 1, "indent this line with plain spaces")),
        }
    });
    odd.last()
}

/// What comes after the first document: where a second one begins, or where what stands there is
/// none.
fn beyond_first(text: &str) -> (usize, usize, &'static str) {
    const SECOND: &str = "a second document begins here";
    let mut begun = 0;
    for event in Parser::new_from_str(text) {
        match event {
            Ok((Event::DocumentStart(_), span)) if begun == 1 => {
                return (span.start.line(), span.start.col() + 1, SECOND);
            }
            Ok((Event::DocumentStart(_), _)) => begun += 1,
            Ok(_) => {}
            Err(e) => {
                let at = e.marker();
                return (
                    at.line().max(1),
                    at.col() + 1,
                    "the build has ended above, and this does not belong to it",
                );
            }
        }
    }
    (1, 1, SECOND)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn repeated_keys_are_kept_and_numbers_stay_text() {
        let tree = parse("a: 1.50\na: 2\nb: [x, null, true]\n").expect("tree");
        let Tree::Map(entries) = tree else { panic!("map") };
        assert_eq!(entries.len(), 3);
        assert_eq!(
            entries[2].1,
            Tree::List(vec![Tree::Text("x".into()), Tree::Empty, Tree::Switch(true)])
        );
    }

    #[test]
    fn hostile_texts_end_in_a_fault() {
        assert!(parse(&"[".repeat(10_000)).is_err());
        let mut bomb = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
        for i in 1..12 {
            let refs = vec![format!("*a{}", i - 1); 10].join(", ");
            bomb += &format!("a{i}: &a{i} [{refs}]\n");
        }
        assert!(parse(&bomb).is_err());
        assert_eq!(text_of(b"a: b\nc: \xff".to_vec()).expect_err("utf8").code, Code::NotText);
        assert_eq!(text_of(b"a: \0".to_vec()).expect_err("nul").code, Code::NotText);
        assert!(parse("a: &x 1\nb: !tag 2\n").is_err());
    }
}
