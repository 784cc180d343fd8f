//! A short cut for the YAML that the journal is written in: top keys, each with a plain word or a
//! flow map on its line. Whatever lies outside that form is left to the whole reader, so that
//! there is one meaning of a text and only its speed differs.

use super::Fault;
use super::tree::{Tree, parse};
use std::sync::Arc;

/// Parses one document, quickly where it has the form that the journal is written in.
///
/// # Errors
/// Those of [`parse`].
pub fn parse_entry(text: &str) -> Result<Tree, Fault> {
    match short(text) {
        Some(tree) => Ok(tree),
        None => parse(text),
    }
}

/// The tree of a text in the short form; none where it may be anything else.
fn short(text: &str) -> Option<Tree> {
    let mut entries = Vec::with_capacity(4);
    for line in text.lines() {
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let (key, rest) = line.split_once(": ")?;
        let rest = rest.trim_end_matches(' ');
        let mut scan = Scan { bytes: rest.as_bytes(), text: rest, at: 0 };
        let value = if rest.starts_with(['{', '[', '"']) {
            let value = scan.value(0)?;
            (scan.at == rest.len()).then_some(value)?
        } else {
            Tree::Text(plain(rest)?)
        };
        entries.push((plain(key)?, value));
    }
    (!entries.is_empty()).then_some(Tree::Map(entries))
}

/// A word that YAML reads back as it stands.
fn plain(text: &str) -> Option<Arc<str>> {
    let bytes = text.as_bytes();
    let first = *bytes.first()?;
    if !first.is_ascii_alphanumeric() || bytes.last() == Some(&b' ') {
        return None;
    }
    for (i, b) in bytes.iter().enumerate() {
        let sound = b.is_ascii_alphanumeric()
            || matches!(b, b' ' | b'.' | b'/' | b'%' | b'-' | b'+' | b'_' | b'(' | b')')
            || *b == b':' && bytes.get(i + 1).is_some_and(u8::is_ascii_alphanumeric);
        if !sound {
            return None;
        }
    }
    if first.is_ascii_digit() {
        // A number is shown again as YAML would; zeros in front may mean another base.
        if bytes.len() > 1 && first == b'0' && bytes[1] != b'.' {
            return None;
        }
        if let Ok(value) = text.parse::<f64>()
            && value.to_string() != text
        {
            return None;
        }
    } else if bytes.len() <= 5
        && ["true", "false", "null", "nan", "inf"].iter().any(|w| text.eq_ignore_ascii_case(w))
    {
        return None;
    }
    Some(text.into())
}

struct Scan<'a> {
    bytes: &'a [u8],
    text: &'a str,
    at: usize,
}

impl Scan<'_> {
    fn eat(&mut self, what: &[u8]) -> Option<()> {
        self.bytes[self.at..].starts_with(what).then(|| self.at += what.len())
    }

    fn value(&mut self, depth: u8) -> Option<Tree> {
        if depth > 8 {
            return None;
        }
        match self.bytes.get(self.at)? {
            b'{' => {
                self.at += 1;
                let mut entries = Vec::new();
                loop {
                    let key = self.word()?;
                    self.eat(b": ")?;
                    entries.push((key, self.value(depth + 1)?));
                    if self.eat(b"}").is_some() {
                        return Some(Tree::Map(entries));
                    }
                    self.eat(b", ")?;
                }
            }
            b'[' => {
                self.at += 1;
                let mut items = Vec::new();
                loop {
                    items.push(self.value(depth + 1)?);
                    if self.eat(b"]").is_some() {
                        return Some(Tree::List(items));
                    }
                    self.eat(b", ")?;
                }
            }
            b'"' => self.quoted().map(Tree::Text),
            _ => self.word().map(Tree::Text),
        }
    }

    /// A word up to a sign that ends it in a flow.
    fn word(&mut self) -> Option<Arc<str>> {
        let rest = &self.bytes[self.at..];
        let end = (0..rest.len()).find(|i| match rest[*i] {
            b',' | b'}' | b']' => true,
            b':' => rest.get(i + 1) == Some(&b' '),
            _ => false,
        })?;
        let word = plain(&self.text[self.at..self.at + end])?;
        self.at += end;
        Some(word)
    }

    fn quoted(&mut self) -> Option<Arc<str>> {
        self.at += 1;
        let rest = &self.text[self.at..];
        let mut out = String::new();
        let mut signs = rest.char_indices();
        while let Some((i, sign)) = signs.next() {
            match sign {
                '"' => {
                    self.at += i + 1;
                    return Some(out.into());
                }
                '\\' => out.push(match signs.next()?.1 {
                    'n' => '\n',
                    't' => '\t',
                    c @ ('"' | '\\') => c,
                    _ => return None,
                }),
                c if c.is_control() || matches!(c, '\u{feff}' | '\u{2028}' | '\u{2029}') => {
                    return None;
                }
                c => out.push(c),
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn an_entry_takes_the_short_cut() {
        let text = "id: 20260307-1510-a1\nat: 2026-03-07 15:10\npoured: {heat: H1, charge: {ingot: 3.3 kg}, moulds: [M1, M2], weather: \"dry, 9 C\"}\n";
        assert_eq!(short(text), Some(parse(text).expect("yaml")));
        assert!(short(text).is_some());
    }

    /// Words of every sort that YAML may read as something else than they look.
    fn scalar() -> impl Strategy<Value = String> {
        prop_oneof![
            "[a-zA-Z0-9 .:/%+()_-]{1,12}",
            "[0-9]{1,4}(\\.[0-9]{1,3})?( kg)?",
            "0[xob][0-9a-f]{1,3}",
            "[0-9]e[0-9]",
            "(true|False|NULL|null|~|yes|Nan|inf|\\.inf)",
            "\"[a-z \\\\n,:{}\\[\\]#'é]{0,8}\"",
            "'[a-z, ]{0,6}'",
        ]
    }

    fn flow() -> impl Strategy<Value = String> {
        let leaf = scalar();
        leaf.prop_recursive(3, 12, 4, |inner| {
            prop_oneof![
                prop::collection::vec(inner.clone(), 0..4)
                    .prop_map(|v| format!("[{}]", v.join(", "))),
                prop::collection::vec(("[a-z0-9-]{1,6}", inner), 0..4).prop_map(|v| {
                    let pairs: Vec<_> = v.iter().map(|(k, v)| format!("{k}: {v}")).collect();
                    format!("{{{}}}", pairs.join(", "))
                }),
            ]
        })
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]
        #[test]
        fn the_short_cut_leads_where_the_road_does(key in "[a-z0-9-]{1,8}", value in flow(), tail in "( |  # x|,|)") {
            let text = format!("{key}: {value}{tail}\n");
            if let Some(tree) = short(&text) {
                prop_assert_eq!(Ok(tree), parse(&text), "{}", text);
            }
        }
    }
}
