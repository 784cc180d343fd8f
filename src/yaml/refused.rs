//! What is asked of a build and cannot be told or done.

use super::nearest;
use std::fmt;

/// Why something cannot be told or done: a fault that stands in no file.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Refused {
    /// What is wrong, in a few words.
    pub says: String,
    /// What to ask instead, where that is known.
    pub hint: Option<String>,
}

impl Refused {
    /// What is wrong, and what to ask instead.
    pub fn new(says: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { says: says.into(), hint: Some(hint.into()) }
    }

    /// That nothing bears a name: hints at the nearest of those that are known, else says the `other`.
    pub fn unknown<'k>(
        says: impl Into<String>,
        name: &str,
        known: impl IntoIterator<Item = &'k str>,
        other: impl Into<String>,
    ) -> Self {
        let near = nearest(name, known.into_iter()).map(|near| format!("did you mean `{near}`?"));
        Self { says: says.into(), hint: Some(near.unwrap_or_else(|| other.into())) }
    }
}

impl From<String> for Refused {
    fn from(says: String) -> Self {
        Self { says, hint: None }
    }
}

impl From<&str> for Refused {
    fn from(says: &str) -> Self {
        says.to_owned().into()
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.says)?;
        self.hint.as_ref().map_or(Ok(()), |hint| write!(f, "; {hint}"))
    }
}

impl std::error::Error for Refused {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_is_hinted_at_else_where_to_look() {
        let asked = |name| Refused::unknown("no such part", name, ["base", "ram"], "look there");
        assert_eq!(asked("bse").to_string(), "no such part; did you mean `base`?");
        assert_eq!(asked("zzzzzz").to_string(), "no such part; look there");
        assert_eq!(Refused::from("it is not cast").to_string(), "it is not cast");
    }
}
