//! Names that go on from those in the journal.

/// The name after the highest of these that are the prefix and a number.
pub fn next_name<'n>(prefix: &str, taken: impl Iterator<Item = &'n str>) -> String {
    let number = |name: &str| name.strip_prefix(prefix)?.parse::<u32>().ok();
    let highest = taken.filter_map(number).max().unwrap_or(0);
    format!("{prefix}{}", highest.saturating_add(1))
}

#[cfg(test)]
mod tests {
    use super::next_name;

    #[test]
    fn names_go_on_from_the_highest() {
        assert_eq!(next_name("M", ["M2", "M10", "Mx", "H11"].into_iter()), "M11");
        assert_eq!(next_name("H", std::iter::empty()), "H1");
    }
}
