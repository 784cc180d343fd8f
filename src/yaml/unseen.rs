//! Signs of a text that are not seen.

/// Whether a sign steers a terminal or turns the order of what is written, and is not seen
/// itself.
pub fn steers(sign: char) -> bool {
    let turns = matches!(sign, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2066}'..='\u{2069}');
    let breaks = matches!(sign, '\u{2028}' | '\u{2029}' | '\u{feff}');
    // Of no width at all: a name with one of them looks like the name without.
    let hides = matches!(sign, '\u{ad}' | '\u{180e}' | '\u{200b}' | '\u{2060}');
    sign != '\n' && sign.is_control() || turns || breaks || hides
}

/// What is not what it looks like in words that mean nothing, with the fix: quotes that curl, spaces
/// that are none to YAML, signs that are not seen, letters of another alphabet among Latin ones.
pub(super) fn looks_like(words: &str) -> Option<String> {
    let latin = words.contains(|c: char| c.is_ascii_alphabetic());
    words.chars().find_map(|sign| {
        let number = u32::from(sign);
        Some(match sign {
            '“' | '”' | '„' | '‟' => {
                format!("`{sign}` is a curly quote: write a straight one, \"")
            }
            '‘' | '’' | '‚' | '‛' => {
                format!("`{sign}` is a curly quote: write a straight one, '")
            }
            '\u{a0}' | '\u{2000}'..='\u{200a}' | '\u{202f}' | '\u{3000}' => {
                format!("a space here is no plain one (U+{number:04X}): write it anew")
            }
            sign if sign != '\t' && steers(sign) => {
                format!("a sign stands here that is not seen (U+{number:04X}): take it out")
            }
            '\u{ff01}'..='\u{ff5e}' => format!("`{sign}` is a wide sign: write the plain one"),
            '\u{370}'..='\u{52f}' if latin && sign != 'μ' => {
                format!(
                    "`{sign}` (U+{number:04X}) is not the Latin letter it looks like: write it anew"
                )
            }
            _ => return None,
        })
    })
}
