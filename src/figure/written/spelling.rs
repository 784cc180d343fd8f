//! How the signs of a quantity are written: many spellings made one, and what could be misread.

use super::Unreadable;
use std::fmt::Write;

/// Fractions that are one sign, as they are written in two numbers.
const FRACTIONS: [(char, &str); 15] = [
    ('½', "1/2"),
    ('⅓', "1/3"),
    ('⅔', "2/3"),
    ('¼', "1/4"),
    ('¾', "3/4"),
    ('⅕', "1/5"),
    ('⅖', "2/5"),
    ('⅗', "3/5"),
    ('⅘', "4/5"),
    ('⅙', "1/6"),
    ('⅚', "5/6"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
];

/// The same text with signs that mean the same written as one: fractions, powers, degrees, dashes,
/// quotes, dots between units, and the stop after a short form such as `in.`.
pub(super) fn spelled(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    let mut signs = text.chars().peekable();
    while let Some(sign) = signs.next() {
        let before = out.chars().next_back();
        let after = signs.peek().copied();
        let in_unit = before.is_some_and(char::is_alphabetic);
        if let Some((_, fraction)) = FRACTIONS.iter().find(|(one, _)| *one == sign) {
            if before.is_some_and(|c| c.is_ascii_digit()) {
                out.push(' ');
            }
            out.push_str(fraction);
            continue;
        }
        match sign {
            '²' if in_unit => out.push('2'),
            '³' if in_unit => out.push('3'),
            '^' if in_unit && matches!(after, Some('2' | '3')) => {}
            '℃' => out.push_str("°C"),
            '℉' => out.push_str("°F"),
            'º' => out.push('°'),
            'µ' | 'μ' => out.push('u'),
            '·' | '⋅' | '*' if in_unit => out.push(' '),
            '*' => out.push('x'),
            '‐' | '‑' | '–' | '—' | '−' => out.push('-'),
            '″' | '”' | '“' => out.push('"'),
            '′' | '’' | '‘' => out.push('\''),
            '⁄' => out.push('/'),
            '×' => out.push('x'),
            '±' => out.push_str("+/-"),
            '…' => out.push_str("..."),
            '\u{a0}' | '\u{2009}' | '\u{202f}' => out.push(' '),
            '.' if in_unit && !after.is_some_and(|c| c == '.' || c.is_alphanumeric()) => {}
            sign => out.push(sign),
        }
    }
    out
}

/// Refuses numbers that may be read in two ways: three dots, a comma, thousands set apart.
///
/// # Errors
/// With the figure as it is written rightly.
pub(super) fn misread(text: &str) -> Result<(), Unreadable> {
    if text.contains("...") {
        let says = "three dots may be a range or a range and a decimal point";
        let rightly = text.split("...").map(str::trim).collect::<Vec<_>>().join("..");
        return Err(Unreadable::new(says, format!("write {rightly}")));
    }
    let signs: Vec<char> = text.chars().collect();
    let digit = |at: usize| signs.get(at).is_some_and(char::is_ascii_digit);
    for at in 1..signs.len() {
        let digits_after = (at + 1..signs.len()).take_while(|i| digit(*i)).count();
        if !digit(at - 1) || digits_after == 0 {
            continue;
        }
        let with = |sign: &str| {
            let mut out: String = signs[..at].iter().collect();
            let _ = write!(out, "{sign}{}", signs[at + 1..].iter().collect::<String>());
            out
        };
        let three = digits_after == 3 && !matches!(signs.get(at + 4), Some('/' | '.'));
        let number: String = signs[at..].iter().take_while(|c| number_sign(**c)).collect();
        let before: String = signs[..at].iter().rev().take_while(|c| number_sign(**c)).collect();
        let marks = |sign| number.matches(sign).count() + before.matches(sign).count();
        if signs[at] == ',' && (marks('.') == 1 || marks(',') > 1) {
            // The last of the two signs is the point; of one sign that comes twice, neither is.
            let apart = if number.contains('.') || marks(',') > 1 { ',' } else { '.' };
            let start = at - before.chars().count();
            let end = at + number.chars().count();
            let whole: String = signs[start..end].iter().filter(|c| **c != apart).collect();
            let rest = |range: &[char]| range.iter().collect::<String>();
            let rightly = format!(
                "{}{}{}",
                rest(&signs[..start]),
                whole.replace(',', "."),
                rest(&signs[end..])
            );
            let says = "thousands are not set apart, and decimals follow a point";
            return Err(Unreadable::new(says, format!("write {rightly}")));
        }
        match signs[at] {
            ',' if three => {
                let decimal = short(&with("."));
                let hint = format!("write {} or {decimal}", with(""));
                return Err(Unreadable::new(
                    "a comma may set thousands apart or be a decimal point",
                    hint,
                ));
            }
            ',' => {
                let says = "there is a comma in this number; decimals follow a point";
                return Err(Unreadable::new(says, format!("write {}", with("."))));
            }
            '\'' | ' ' if three => {
                let says = "thousands are not set apart: this could be two numbers";
                return Err(Unreadable::new(says, format!("write {}", with(""))));
            }
            _ => {}
        }
    }
    Ok(())
}

fn number_sign(sign: char) -> bool {
    sign.is_ascii_digit() || matches!(sign, '.' | ',')
}

/// `1.000 kg` as `1.0 kg`.
fn short(text: &str) -> String {
    text.replacen(".000", ".0", 1)
}
