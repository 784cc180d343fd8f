//! One number and the units that it carries, such as `3/8 in`, `2 ft 1 in` or `5 lb-3 oz`.

use super::Unreadable;
use crate::figure::Kind;

/// A number with the unit it carries, if any; compound lengths such as `2 ft 1 in` are one.
pub(super) struct Measure {
    pub terms: Vec<(f64, String)>,
}

impl Measure {
    /// The unit that it ends with, which may be none.
    pub fn unit(&self) -> &str {
        self.terms.last().map_or("", |(_, unit)| unit)
    }

    /// A bare number takes the unit that stands beside it.
    pub fn or_in(mut self, unit: &str) -> Self {
        if let [(_, own)] = self.terms.as_mut_slice()
            && own.is_empty()
        {
            unit.clone_into(own);
        }
        self
    }

    /// Its value in SI.
    pub fn si(&self, kind: Kind) -> Result<f64, Unreadable> {
        let mut sum = 0.0;
        let mut before = f64::INFINITY;
        for (value, unit) in &self.terms {
            let (factor, offset) = kind.unit(unit).ok_or_else(|| wrong_unit(kind, unit))?;
            if kind == Kind::Ratio && unit.is_empty() && *value != 0.0 {
                return Err(share(*value));
            }
            // One number in several units goes from the larger to the smaller.
            if factor >= before || self.terms.len() > 1 && (unit.is_empty() || *value < 0.0) {
                return Err(several(kind));
            }
            before = factor;
            sum += value * factor + offset;
        }
        if !sum.is_finite() {
            return Err(Unreadable::new(
                "this number is too large",
                format!("try {}", kind.example()),
            ));
        }
        Ok(sum)
    }
}

/// Units that one number may be in, with room, such as `1 week 2 d 3 h 4 min 5 s`. Each hyphen is
/// tried as the middle of a range, so that a text without end would be read over and over.
const MOST_TERMS: usize = 6;

fn several(kind: Kind) -> Unreadable {
    let says = "there are several numbers here, and one is expected";
    Unreadable::new(says, format!("try {}", kind.example()))
}

/// A bare number where a percentage is meant may be either.
fn share(value: f64) -> Unreadable {
    let (percent, share) = (plainly(value), plainly(value * 100.0));
    let says = format!("is {value} a share or a percentage? a `%` is missing");
    Unreadable::new(says, format!("write {percent} % or {share} %"))
}

/// A number without the dust of its binary form.
fn plainly(value: f64) -> String {
    let text = format!("{value:.10}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

pub(super) fn wrong_unit(kind: Kind, unit: &str) -> Unreadable {
    let hint = format!("try {}", kind.example());
    if unit.is_empty() {
        return Unreadable::new(format!("a unit is missing; {} is expected", kind.words()), hint);
    }
    if let Some(other) = Kind::of_unit(unit) {
        let says = format!("this is {}; {} is expected", other.words(), kind.words());
        return Unreadable::new(says, hint);
    }
    let spellings = kind.units().iter().flat_map(|u| u.spellings).copied();
    match nearest_unit(unit, spellings).filter(|_| unit.contains(char::is_alphabetic)) {
        Some(near) => Unreadable::new(
            format!("no unit is called `{unit}`"),
            format!("did you mean `{near}`?"),
        ),
        None => Unreadable::new(format!("no unit is called `{unit}`"), hint),
    }
}

fn nearest_unit<'a>(unit: &str, spellings: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let signs = unit.chars().count();
    spellings
        .filter(|s| !s.is_empty() && s.chars().count().abs_diff(signs) <= 2)
        .map(|s| (strsim::damerau_levenshtein(&unit.to_lowercase(), &s.to_lowercase()), s))
        .filter(|(distance, s)| *distance <= 1 || (s.len() > 4 && *distance == 2))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, s)| s)
}

pub(super) fn measure(text: &str, kind: Kind) -> Result<Measure, Unreadable> {
    let mut terms: Vec<(f64, String)> = Vec::new();
    let mut rest = text.trim();
    while !rest.is_empty() {
        // `2'-1"` and `5 lb-3 oz` are one number each.
        if let (Some((_, unit)), Some(after)) = (terms.last(), rest.strip_prefix('-'))
            && !unit.is_empty()
        {
            rest = after.trim_start();
        }
        let (value, after) = leading_number(rest).ok_or_else(|| {
            Unreadable::new(
                format!("{} is expected here", kind.words()),
                format!("try {}", kind.example()),
            )
        })?;
        let (unit, after) = leading_unit(after, kind);
        if terms.len() == MOST_TERMS {
            return Err(several(kind));
        }
        terms.push((value, unit));
        rest = after;
    }
    if terms.is_empty() {
        return Err(Unreadable::new(
            format!("{} is expected here", kind.words()),
            format!("try {}", kind.example()),
        ));
    }
    if terms.len() > 1 && matches!(kind, Kind::Temperature) {
        return Err(Unreadable::new("one temperature is expected", "try 700 C"));
    }
    Ok(Measure { terms })
}

/// `3`, `3.5`, `1e-3`, `3/8`, `1 1/2`, `1-1/2`.
fn leading_number(text: &str) -> Option<(f64, &str)> {
    let (first, mut rest) = plain_number(text)?;
    if let Some(after) = rest.strip_prefix('/')
        && let Some((below, after)) = plain_number(after)
        && below != 0.0
    {
        return Some((first / below, after));
    }
    let joined = rest.trim_start_matches([' ', '-']);
    if joined.len() < rest.len()
        && let Some((above, after)) = plain_number(joined)
        && let Some(after) = after.strip_prefix('/')
        && let Some((below, after)) = plain_number(after)
        && below != 0.0
    {
        rest = after;
        return Some((first + above / below, rest));
    }
    Some((first, rest))
}

fn plain_number(text: &str) -> Option<(f64, &str)> {
    let bytes = text.as_bytes();
    let mut end = usize::from(matches!(bytes.first(), Some(b'-' | b'+')));
    let digits = |from: usize| bytes[from..].iter().take_while(|b| b.is_ascii_digit()).count();
    let whole = digits(end);
    end += whole;
    let mut fraction = 0;
    if bytes.get(end) == Some(&b'.') && bytes.get(end + 1) != Some(&b'.') {
        fraction = digits(end + 1);
        end += 1 + fraction;
    }
    if whole + fraction == 0 {
        return None;
    }
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'-' | b'+')));
        let exponent = bytes.get(end + 1 + sign..).map_or(0, |_| digits(end + 1 + sign));
        if exponent > 0 {
            end += 1 + sign + exponent;
        }
    }
    Some((text[..end].parse().ok()?, &text[end..]))
}

/// The longest run up to the next number that is a unit of some kind.
fn leading_unit(text: &str, kind: Kind) -> (String, &str) {
    let text = text.trim_start();
    let known = |s: &str| kind.unit(s).is_some() || Kind::of_unit(s).is_some();
    // No unit is spelled in more signs.
    const LONGEST: usize = 16;
    let ends = text.char_indices().map(|(i, _)| i).chain([text.len()]).skip(1);
    let ends: Vec<usize> = ends.take(LONGEST).collect();
    for &end in ends.iter().rev() {
        let candidate = text[..end].trim_end();
        let clean = !text[end..].starts_with(|c: char| c.is_alphanumeric() && c.is_alphabetic());
        if clean && !candidate.is_empty() && known(candidate) {
            return (candidate.to_owned(), text[end..].trim_start());
        }
    }
    let end = text.find(|c: char| c.is_ascii_digit()).unwrap_or(text.len());
    let end = if end == 0 { 0 } else { text[..end].trim_end().len().max(1) };
    (text[..end].to_owned(), text[end..].trim_start())
}

pub(super) fn number(text: &str) -> Result<f64, Unreadable> {
    match leading_number(text) {
        Some((value, "")) => Ok(value),
        _ => Err(Unreadable::new("a number is expected here", "try 5%")),
    }
}
