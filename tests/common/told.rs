//! What a person was told, read as one line.

/// The words of a text without the ends of its lines and the rule beside the lines of a fault.
pub fn in_one_line(text: &str) -> String {
    let lines = text.lines().map(|line| {
        let line = line.trim();
        line.strip_prefix('|').unwrap_or(line)
    });
    lines.flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}
