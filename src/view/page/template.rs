//! Filling HTML templates; everything in them is escaped.

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
    tera.render(name, &context).map_err(whole)
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
