//! Signs of a text that are not seen.

/// Whether a sign steers a terminal or turns the order of what is written, and is not seen itself.
pub fn steers(sign: char) -> bool {
    let turns = matches!(sign, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}');
    let breaks = matches!(sign, '\u{2028}' | '\u{2029}' | '\u{feff}');
    sign != '\n' && sign.is_control() || turns || breaks
}
