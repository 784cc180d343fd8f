//! Reading quantities the way people write them.

mod measure;
mod spelling;

use super::{Kind, Range};
use measure::{Measure, measure, number, wrong_unit};
use spelling::{misread, spelled};

/// Why a text is no quantity of the wanted kind.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Unreadable {
    /// What is wrong, in a few words.
    pub says: String,
    /// What to write instead.
    pub hint: String,
}

impl std::fmt::Display for Unreadable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}; {}", self.says, self.hint)
    }
}

impl std::error::Error for Unreadable {}

impl Unreadable {
    pub(in crate::figure) fn new(says: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { says: says.into(), hint: hint.into() }
    }
}

/// Reads `11.4 kg`, `3/8 in`, `2 ft 1 in`, `8..10 kg`, `8-10 kg`, `8 to 10 kg`, `9 kg +/- 5%` or
/// `9 kg (8 to 10)` as SI.
///
/// # Errors
/// Says what the text is instead: another kind of unit, no number, an unknown unit, a number that
/// could be read in two ways.
pub fn read(kind: Kind, text: &str) -> Result<Range, Unreadable> {
    bounded(text)?;
    let text = spelled(text);
    let text = text.trim();
    misread(text)?;
    if let Some((likely, ends)) = told(text) {
        return within(kind, likely, ends);
    }
    if let Some((middle, spread)) = text.split_once("+/-").or_else(|| text.split_once("+-")) {
        return tolerance(kind, middle, spread);
    }
    let parted = text.split_once("..").or_else(|| text.split_once(" to "));
    let ends = match parted {
        Some((low, high)) => Some((measure(low, kind)?, measure(high, kind)?)),
        None => hyphened(text, kind),
    };
    if let Some((low, high)) = ends {
        let (low, high) = ends_si(low, high, kind)?;
        if low > high {
            let says = "the larger end of this range stands first";
            return Err(Unreadable::new(says, "write the smaller end first, as in 8..10 kg"));
        }
        return Ok(Range::between(low, high));
    }
    Ok(Range::exact(measure(text, kind)?.si(kind)?))
}

/// Refuses a volume in a unit that the US and Britain have in two sizes, where it does not say which.
///
/// # Errors
/// Asks which is meant, with both written out.
pub fn says_which(text: &str) -> Result<(), Unreadable> {
    const TWO: [(&[&str], &str); 4] = [
        (&["gal", "gallon", "gallons"], "gal"),
        (&["qt", "quart", "quarts"], "qt"),
        (&["pt", "pint", "pints"], "pt"),
        (&["fl"], "fl"),
    ];
    let mut before = "";
    for word in text.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()) {
        let two = TWO.iter().find(|(spellings, _)| spellings.contains(&word));
        if let Some((_, short)) = two.filter(|_| !matches!(before, "US" | "imp")) {
            let with = |whose: &str| text.replacen(word, &format!("{whose} {short}"), 1);
            let says = "US and imperial measures differ; which of the two is this?";
            return Err(Unreadable::new(says, format!("write {} or {}", with("US"), with("imp"))));
        }
        before = word;
    }
    Ok(())
}

/// Refuses what is too long for a quantity, before it is looked into.
fn bounded(text: &str) -> Result<(), Unreadable> {
    const LONGEST: usize = 200;
    match text.len() <= LONGEST {
        true => Ok(()),
        false => {
            let says = format!("this has more than {LONGEST} signs; no quantity is that long");
            Err(Unreadable::new(says, "words about it go under `notes:`"))
        }
    }
}

/// Both ends of a range in SI; a unit that stands once serves both.
fn ends_si(low: Measure, high: Measure, kind: Kind) -> Result<(f64, f64), Unreadable> {
    let units = [low.unit().to_owned(), high.unit().to_owned()];
    Ok((low.or_in(&units[1]).si(kind)?, high.or_in(&units[0]).si(kind)?))
}

/// A value and its range in brackets after it, as figures are shown: `9 kg (8 to 10)`.
fn told(text: &str) -> Option<(&str, (&str, &str))> {
    let (likely, ends) = text.strip_suffix(')')?.rsplit_once('(')?;
    Some((likely, ends.split_once(" to ")?))
}

fn within(kind: Kind, likely: &str, (low, high): (&str, &str)) -> Result<Range, Unreadable> {
    let likely = measure(likely, kind)?;
    let end = |text: &str| measure(text, kind)?.or_in(likely.unit()).si(kind);
    let range = Range { low: end(low)?, likely: likely.si(kind)?, high: end(high)? };
    if range.low <= range.likely && range.likely <= range.high {
        return Ok(range);
    }
    Err(Unreadable::new("the value does not lie within its range", "write 9 kg (8 to 10)"))
}

/// The ends of `8-10 kg` or `8 kg - 10 kg`. A hyphen also joins what is one number, as in
/// `1-1/2 in`, `2'-1"` and `5 lb-3 oz`.
fn hyphened(text: &str, kind: Kind) -> Option<(Measure, Measure)> {
    text.match_indices('-').find_map(|(at, _)| {
        let (before, after) = (&text[..at], &text[at + 1..]);
        let digit_before =
            before.trim_end_matches(['e', 'E']).ends_with(|c: char| c.is_ascii_digit());
        let exponent = before.ends_with(['e', 'E']) && digit_before;
        if before.trim().is_empty() || exponent {
            return None;
        }
        let (low, high) = (measure(before, kind).ok()?, measure(after, kind).ok()?);
        let ([(first, unit)], [(second, other)]) = (&low.terms[..], &high.terms[..]) else {
            return None;
        };
        let joined =
            unit.is_empty() && first.fract() == 0.0 && *second < 1.0 && after.contains('/');
        let alike = unit.is_empty() || kind.unit(unit).is_some_and(|u| Some(u) == kind.unit(other));
        (alike && !joined).then_some((low, high))
    })
}

/// Reads `320 x 200 x 70 mm` as that many lengths, in metres; a unit at the end serves all.
///
/// # Errors
/// Where the count is not `count`, or one of them is no length.
pub fn read_sizes(text: &str, count: usize) -> Result<Vec<f64>, Unreadable> {
    let example = ["180 mm", "300 x 200 mm", "300 x 200 x 60 mm"][count.clamp(1, 3) - 1];
    bounded(text)?;
    let text = spelled(text);
    misread(&text)?;
    // No unit of length has an x in it.
    let pieces: Vec<&str> = text.split(['x', 'X', '×']).map(str::trim).collect();
    if pieces.len() != count {
        return Err(Unreadable::new(
            format!("{count} lengths are expected, {} found", pieces.len()),
            format!("try {example}"),
        ));
    }
    let measures: Vec<Measure> =
        pieces.iter().map(|piece| measure(piece, Kind::Length)).collect::<Result<_, _>>()?;
    let last = measures.last().map_or("", Measure::unit).to_owned();
    measures.into_iter().map(|m| m.or_in(&last).si(Kind::Length)).collect()
}

fn tolerance(kind: Kind, middle: &str, spread: &str) -> Result<Range, Unreadable> {
    let middle = measure(middle, kind)?;
    // In `9 +/- 1 kg` the unit serves both.
    let middle = match measure(spread, kind) {
        Ok(spread) => middle.or_in(spread.unit()),
        Err(_) => middle,
    };
    let unit = middle.unit().to_owned();
    let middle = middle.si(kind)?;
    let half = match spread.trim().strip_suffix('%') {
        Some(percent) if kind != Kind::Ratio => match kind {
            Kind::Temperature => {
                return Err(Unreadable::new(
                    "a percentage of a temperature means nothing",
                    "try 700 C +/- 10 K",
                ));
            }
            _ => middle.abs() * number(percent.trim())? / 100.0,
        },
        _ => spread_si(kind, spread, &unit)?,
    };
    if half < 0.0 {
        return Err(Unreadable::new("a spread cannot be below 0", "try 9 kg +/- 5 %"));
    }
    let range = Range { low: middle - half, likely: middle, high: middle + half };
    match range.low.is_finite() && range.high.is_finite() {
        true => Ok(range),
        false => Err(Unreadable::new("this number is too large", "try 9 kg +/- 5 %")),
    }
}

/// A spread of temperature is a difference: its unit has no offset. Without a unit it has that of
/// the value.
fn spread_si(kind: Kind, text: &str, unit_of_value: &str) -> Result<f64, Unreadable> {
    let m = measure(text, kind)?;
    let mut sum = 0.0;
    for (value, unit) in &m.terms {
        let unit = if unit.is_empty() { unit_of_value } else { unit };
        let (factor, _) = kind.unit(unit).ok_or_else(|| wrong_unit(kind, unit))?;
        sum += value * factor;
    }
    Ok(sum)
}

#[cfg(test)]
mod tests;
