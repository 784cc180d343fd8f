//! Filling HTML templates; everything in them is escaped.

use crate::figure::Kind;
use crate::view::text::held;
use serde::Serialize;
use std::fmt;
use std::io::{self, Write};
use tera::{Context, Kwargs, Map, State, Tera, Value};

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
    tera.set_escape_fn(escaped);
    tera.register_filter("held", |text: &str, _: Kwargs, _: &State| held(text));
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
    let given = Value::try_from_serializable(view).map_err(whole)?;
    let context = Context::from_serialize(&shown(&given).unwrap_or(given)).map_err(whole)?;
    Ok(bound(&tera.render(name, &context).map_err(whole)?))
}

/// What a page is given, as it is to stand there, where that is otherwise: a number that is whole
/// has no point (a place in a drawing is `12`, not `12.0`), and what is no number is not told.
fn shown(given: &Value) -> Option<Value> {
    if let Some(list) = given.as_array() {
        let others: Vec<Option<Value>> = list.iter().map(shown).collect();
        let any = others.iter().any(Option::is_some);
        let each = || list.iter().zip(&others).map(|(is, other)| other.as_ref().unwrap_or(is));
        any.then(|| each().cloned().collect::<Vec<Value>>().into())
    } else if let Some(map) = given.as_map() {
        let others: Vec<_> =
            map.iter().filter_map(|(key, is)| Some((key.clone(), shown(is)?))).collect();
        (!others.is_empty()).then(|| {
            let mut map: Map = map.clone();
            map.extend(others);
            map.into()
        })
    } else {
        let number = given.as_f64().filter(|_| given.is_f64())?;
        let whole = number as i64;
        if !number.is_finite() {
            Some(Value::none())
        } else {
            (whole as f64 == number).then(|| whole.into())
        }
    }
}

/// Text as it stands between tags, in an attribute, in a script.
fn escaped(text: &str, out: &mut dyn Write) -> io::Result<()> {
    let mut rest = text;
    while let Some(at) = rest.find(['&', '<', '>', '"', '\'', '/']) {
        out.write_all(&rest.as_bytes()[..at])?;
        out.write_all(match rest.as_bytes()[at] {
            b'&' => b"&amp;",
            b'<' => b"&lt;",
            b'>' => b"&gt;",
            b'"' => b"&quot;",
            b'\'' => b"&#x27;",
            _ => b"&#x2F;",
        })?;
        rest = &rest[at + 1..];
    }
    out.write_all(rest.as_bytes())
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
    // The word stands before it already where it is shown.
    Unfilled(says.strip_prefix("error: ").map_or_else(|| says.clone(), str::to_owned))
}

#[cfg(test)]
mod tests {
    use super::{bound, filled, parsed};
    use serde_json::json;

    fn page(template: &str) -> Result<String, super::Unfilled> {
        let given = json!({
            "name": "<b>5/8 & 'so'\"</b>", "none": null, "at": [12.0, 0.5, -3.0, 1e3], "of": {"x": 7.0},
        });
        filled(&given, &parsed(&[("a.html", template)])?, "a.html")
    }

    #[test]
    fn every_text_is_escaped_and_only_once() {
        let once = "&lt;b&gt;5&#x2F;8 &amp; &#x27;so&#x27;&quot;&lt;&#x2F;b&gt;";
        for says in ["{{ name }}", "{{ none or name }}", "{{ [name] | join(sep='') }}"] {
            assert_eq!(page(says).as_deref(), Ok(once), "{says}");
        }
        let through = "{% component p(t) %}{{ t | held }}{% endcomponent p %}{{ <p t={name} /> }}";
        assert_eq!(page(through).map(|html| html.replace('\u{a0}', " ")).as_deref(), Ok(once));
    }

    #[test]
    fn a_whole_number_has_no_point() {
        let all = "{% for x in at %}{{ x }} {% endfor %}{{ of.x }}{{ none }}";
        assert_eq!(page(all).as_deref(), Ok("12 0.5 -3 1000 7"));
    }

    #[test]
    fn what_a_template_is_not_given_is_told() {
        for faulty in ["{{ nothing }}", "{{ of.nothing }}", "{{ name | nothing }}", "{% if"] {
            assert!(page(faulty).is_err(), "{faulty}");
        }
        let says = page("a\n{{ of.nothing }}").map_err(|e| e.to_string()).expect_err("a fault");
        assert!(says.contains("nothing") && says.contains("a.html:2"), "{says}");
    }

    #[test]
    fn a_figure_keeps_its_unit_on_the_line() {
        let page = "<p title='3 kg'>lay 14 kg (12 to 16 kg), 640 cm² or 5 % on <b>2 boxes</b> at 9.80 EUR</p><code>8 kg</code> 700 °C";
        let held = "<p title='3 kg'>lay 14\u{a0}kg (12 to 16\u{a0}kg), 640\u{a0}cm² or 5\u{a0}% on <b>2 boxes</b> at 9.80\u{a0}EUR</p><code>8 kg</code> 700\u{a0}°C";
        assert_eq!(bound(page), held);
        let script = "<script>if (a < 3 && 2 > 1) x = '3 kg'</script>3 kg";
        assert_eq!(bound(script), "<script>if (a < 3 && 2 > 1) x = '3 kg'</script>3\u{a0}kg");
    }
}
