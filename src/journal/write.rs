//! A journal entry as text: what happened stands on one line, the last, so that a write that was
//! cut off can be told from a whole one.

use chrono::NaiveDateTime;
use std::fmt::Write;

/// A value of an entry.
#[derive(Debug, Clone)]
pub enum Value {
    /// A word, text or quantity.
    Text(String),
    /// Several.
    List(Vec<Value>),
    /// Keys and values.
    Map(Vec<(String, Value)>),
}

/// One YAML document, from its `---` line to its last line end.
pub fn entry_text(
    id: &str,
    at: NaiveDateTime,
    event: &str,
    fields: Vec<(&str, Option<Value>)>,
) -> String {
    let fields: Vec<(String, Value)> =
        fields.into_iter().filter_map(|(k, v)| Some((k.to_owned(), v?))).collect();
    let mut out = format!("---\nid: {id}\nat: {}\n{event}: ", at.format("%Y-%m-%d %H:%M"));
    flow(&Value::Map(fields), &mut out);
    out.push('\n');
    out
}

fn flow(value: &Value, out: &mut String) {
    match value {
        Value::Text(text) => word(text, out),
        Value::List(items) => {
            out.push('[');
            for (i, item) in items.iter().enumerate() {
                out.push_str(if i > 0 { ", " } else { "" });
                flow(item, out);
            }
            out.push(']');
        }
        Value::Map(entries) => {
            out.push('{');
            for (i, (key, value)) in entries.iter().enumerate() {
                out.push_str(if i > 0 { ", " } else { "" });
                word(key, out);
                out.push_str(": ");
                flow(value, out);
            }
            out.push('}');
        }
    }
}

/// A text without quotes where YAML reads it back as it is, else in double quotes.
fn word(text: &str, out: &mut String) {
    let plain = |c: char| {
        c.is_ascii_alphanumeric()
            || matches!(c, ' ' | '.' | '/' | '%' | '-' | '+' | '_' | '(' | ')')
    };
    let starts = text.starts_with(|c: char| c.is_ascii_alphanumeric());
    let meant = !matches!(
        text.to_ascii_lowercase().as_str(),
        "true" | "false" | "null" | "yes" | "no" | "on" | "off"
    );
    let digits = text.chars().all(|c| c.is_ascii_digit()) && !text.starts_with('0');
    let number_like =
        !digits && (text.parse::<f64>().is_ok() || text.starts_with('0') && !text.contains(' '));
    if starts && meant && !number_like && text.chars().all(plain) && text.trim() == text {
        out.push_str(text);
        return;
    }
    out.push('"');
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::yaml::{Tree, parse};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn any_text_reads_back_as_it_was(text in "\\PC*|[ -~\\n\\t]*") {
            let at = "2026-03-07T14:20:00".parse().expect("time");
            let entry = entry_text("a", at, "note", vec![("says", Some(Value::Text(text.clone())))]);
            let Tree::Map(keys) = parse(&entry).expect("yaml") else { panic!("map") };
            let Tree::Map(inner) = &keys[2].1 else { panic!("map") };
            let read = match &inner[0].1 { Tree::Text(t) => t.to_string(), other => panic!("{other:?}") };
            prop_assert_eq!(read, text);
        }
    }
}
