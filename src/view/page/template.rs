//! Filling HTML templates; everything in them is escaped.

use crate::figure::Kind;
use crate::view::text::held;
use serde::Serialize;
use std::collections::HashMap;
use std::fmt;
use tera::{Context, Tera, Value};

/// Why a page could not be filled: a template does not take what it is given, which a test shows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unfilled(String);

impl fmt::Display for Unfilled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Unfilled {}

/// Templates (name, text) that are read. Names end in `.html`, so that every value is escaped.
///
/// # Errors
/// Where one is no template.
pub(in crate::view) fn parsed(templates: &[(&str, &str)]) -> Result<Tera, Unfilled> {
    let mut tera = Tera::default();
    tera.register_filter("held", |value: &Value, _: &HashMap<String, Value>| {
        Ok(value.as_str().map_or_else(|| value.clone(), |text| held(text).into()))
    });
    tera.add_raw_templates(templates.iter().copied()).map_err(whole)?;
    Ok(tera)
}

/// Fills the template of this name.
///
/// # Errors
/// Where it does not take what it is given.
pub(in crate::view) fn filled(
    view: &impl Serialize,
    tera: &Tera,
    name: &str,
) -> Result<String, Unfilled> {
    let context = Context::from_serialize(view).map_err(whole)?;
    Ok(bound(&tera.render(name, &context).map_err(whole)?))
}

/// What is typed or read by a machine keeps its spaces.
const AS_TYPED: [&str; 5] = ["code", "pre", "script", "style", "title"];

/// A page in which no line ends between a figure and its unit, or its currency.
fn bound(html: &str) -> String {
    let mut out = String::with_capacity(html.len() + html.len() / 256);
    let mut typed: Option<&str> = None;
    for (i, piece) in html.split('<').enumerate() {
        let (tag, text) = match piece.split_once('>') {
            Some((tag, text)) if i > 0 => (Some(tag), text),
            _ => (None, piece),
        };
        if let Some(tag) = tag {
            let name =
                tag.split([' ', '\n', '/']).find(|word| !word.is_empty()).unwrap_or_default();
            match typed {
                None => typed = AS_TYPED.into_iter().find(|t| *t == name && !tag.starts_with('/')),
                Some(open) if tag.starts_with('/') && open == name => typed = None,
                Some(_) => {}
            }
            out.extend(["<", tag, ">"]);
        } else if i > 0 {
            out.push('<');
        }
        match typed {
            Some(_) => out.push_str(text),
            None => bind(&mut out, text),
        }
    }
    out
}

fn bind(out: &mut String, text: &str) {
    let mut words = text.split(' ');
    out.push_str(words.next().unwrap_or_default());
    for word in words {
        let after_figure = out.ends_with(|c: char| c.is_ascii_digit());
        out.push(if after_figure && starts_with_unit(word) { '\u{a0}' } else { ' ' });
        out.push_str(word);
    }
}

fn starts_with_unit(word: &str) -> bool {
    let of_unit =
        |c: char| c.is_alphanumeric() || matches!(c, '%' | '\u{b0}' | '\u{b2}' | '\u{b3}');
    let unit = word.split(|c| !of_unit(c)).next().unwrap_or_default();
    let plain = unit.trim_start_matches('\u{b0}').replace('\u{b2}', "2").replace('\u{b3}', "3");
    let currency = unit.len() == 3 && unit.chars().all(|c| c.is_ascii_uppercase());
    unit == "%" || currency || Kind::is_unit(&plain)
}

/// An error with all that caused it.
fn whole(error: tera::Error) -> Unfilled {
    let mut says = error.to_string();
    let mut cause = std::error::Error::source(&error);
    while let Some(under) = cause {
        says.push_str(&format!(": {under}"));
        cause = under.source();
    }
    Unfilled(says)
}

#[cfg(test)]
mod tests {
    use super::bound;

    #[test]
    fn a_figure_keeps_its_unit_on_the_line() {
        let page = "<p title='3 kg'>lay 14 kg (12 to 16 kg), 640 cm² or 5 % on <b>2 boxes</b> at 9.80 EUR</p><code>8 kg</code> 700 °C";
        let held = "<p title='3 kg'>lay 14\u{a0}kg (12 to 16\u{a0}kg), 640\u{a0}cm² or 5\u{a0}% on <b>2 boxes</b> at 9.80\u{a0}EUR</p><code>8 kg</code> 700\u{a0}°C";
        assert_eq!(bound(page), held);
        let script = "<script>if (a < 3 && 2 > 1) x = '3 kg'</script>3 kg";
        assert_eq!(bound(script), "<script>if (a < 3 && 2 > 1) x = '3 kg'</script>3\u{a0}kg");
    }
}
