//! The name that was meant.

/// The name most like this one, if any is like enough.
pub fn nearest<'n>(name: &str, among: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let lower = name.to_lowercase();
    // A slip of the fingers seldom hits the first letter; in a short word another first letter is
    // another word, as `bore` is not `core`.
    const SHORT: usize = 6;
    let begins = |n: &str| {
        lower.chars().count() > SHORT || lower.chars().next() == n.to_lowercase().chars().next()
    };
    among
        .filter(|n| begins(n))
        .map(|n| (strsim::jaro_winkler(&lower, &n.to_lowercase()), n))
        .filter(|(score, _)| *score > 0.82)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, n)| n)
}
