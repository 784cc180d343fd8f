//! Filling HTML templates; everything in them is escaped.

use serde::Serialize;

/// Fills the first of these templates (name, text); the others are those it builds on. Names end
/// in `.html`, so that every value is escaped.
///
/// # Errors
/// In words, where a template does not take what it is given.
pub(super) fn filled(view: &impl Serialize, templates: &[(&str, &str)]) -> Result<String, String> {
    let whole = |error: tera::Error| {
        let mut says = error.to_string();
        let mut cause = std::error::Error::source(&error);
        while let Some(under) = cause {
            says.push_str(&format!(": {under}"));
            cause = under.source();
        }
        says
    };
    let mut tera = tera::Tera::default();
    tera.add_raw_templates(templates.iter().copied()).map_err(whole)?;
    let context = tera::Context::from_serialize(view).map_err(whole)?;
    tera.render(templates[0].0, &context).map_err(whole)
}
