//! Text in lines of a width, in which no line ends between a number and its unit.

use super::Kind;

/// Text wrapped to so many columns, later lines indented.
pub fn wrapped(text: &str, width: usize, indent: usize) -> String {
    let mut out = String::new();
    let mut column = 0;
    for word in held_words(text) {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > width {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            column = indent;
        } else if column > 0 {
            out.push(' ');
            column += 1;
        }
        out.push_str(&word);
        column += length;
    }
    out
}

/// Words of a text; a number and its unit are one.
pub(crate) fn held_words(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let of_a_number = |last: &String| {
            last.starts_with(|c: char| c.is_ascii_digit())
                && last.ends_with(|c: char| c.is_ascii_digit())
                && !last.contains(' ')
        };
        match out.last_mut().filter(|last| of_a_number(last)) {
            Some(last) if Kind::is_unit(word.trim_end_matches([',', '.', ';', ':', ')', '`'])) => {
                last.push(' ');
                last.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}
