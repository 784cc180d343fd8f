//! What a search looks for, and how long.

/// What comes first when plans are compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Aim {
    /// The earliest day of finish; then the fewest heats.
    #[default]
    Finish,
    /// The fewest heats; then the earliest day of finish.
    Heats,
}

/// How long to look.
pub struct Budget<'a> {
    /// Candidates to try at most.
    pub tries: usize,
    /// Chooses among neighbours.
    pub seed: u64,
    /// Asked now and then; true ends the search. Gets the tries so far and at most.
    pub stop: &'a mut dyn FnMut(usize, usize) -> bool,
}
