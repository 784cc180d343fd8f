//! Reading quantities the way people write them.

use super::spelling::{misread, spelled};
use super::{Kind, Range};

/// Why a text is no quantity of the wanted kind.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Unreadable {
    /// What is wrong, in a few words.
    pub says: String,
    /// What to write instead.
    pub hint: String,
}

impl Unreadable {
    pub(super) fn new(says: impl Into<String>, hint: impl Into<String>) -> Self {
        Self { says: says.into(), hint: hint.into() }
    }
}

/// A number with the unit it carries, if any; compound lengths such as `2 ft 1 in` are one.
struct Measure {
    terms: Vec<(f64, String)>,
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
fn ends_si(mut low: Measure, mut high: Measure, kind: Kind) -> Result<(f64, f64), Unreadable> {
    let units = [&low, &high].map(|m| m.terms.last().map(|(_, unit)| unit.clone()));
    for (end, other) in [(&mut low, &units[1]), (&mut high, &units[0])] {
        if let ([(_, unit)], Some(other)) = (end.terms.as_mut_slice(), other)
            && unit.is_empty()
        {
            unit.clone_from(other);
        }
    }
    Ok((low.si(kind)?, high.si(kind)?))
}

/// A value and its range in brackets after it, as figures are shown: `9 kg (8 to 10)`.
fn told(text: &str) -> Option<(&str, (&str, &str))> {
    let (likely, ends) = text.strip_suffix(')')?.rsplit_once('(')?;
    Some((likely, ends.split_once(" to ")?))
}

fn within(kind: Kind, likely: &str, (low, high): (&str, &str)) -> Result<Range, Unreadable> {
    let likely = measure(likely, kind)?;
    let unit = likely.terms.last().map(|(_, unit)| unit.clone()).unwrap_or_default();
    let end = |text: &str| {
        let mut end = measure(text, kind)?;
        if let [(_, own)] = end.terms.as_mut_slice()
            && own.is_empty()
        {
            own.clone_from(&unit);
        }
        end.si(kind)
    };
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
    let mut measures =
        pieces.iter().map(|p| measure(p, Kind::Length)).collect::<Result<Vec<_>, _>>()?;
    let last = measures.last().and_then(|m| m.terms.last()).map(|(_, u)| u.clone());
    for m in &mut measures {
        if let ([(_, unit)], Some(last)) = (m.terms.as_mut_slice(), &last)
            && unit.is_empty()
        {
            unit.clone_from(last);
        }
    }
    measures.iter().map(|m| m.si(Kind::Length)).collect()
}

fn tolerance(kind: Kind, middle: &str, spread: &str) -> Result<Range, Unreadable> {
    let mut middle = measure(middle, kind)?;
    // In `9 +/- 1 kg` the unit serves both.
    if let [(_, unit)] = middle.terms.as_mut_slice()
        && unit.is_empty()
        && let Some((_, own)) = measure(spread, kind).ok().and_then(|m| m.terms.into_iter().last())
    {
        *unit = own;
    }
    let unit = middle.terms.last().map_or("", |(_, unit)| unit).to_owned();
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
    Ok(sum.abs())
}

impl Measure {
    fn si(&self, kind: Kind) -> Result<f64, Unreadable> {
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

fn wrong_unit(kind: Kind, unit: &str) -> Unreadable {
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

fn measure(text: &str, kind: Kind) -> Result<Measure, Unreadable> {
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

fn number(text: &str) -> Result<f64, Unreadable> {
    match leading_number(text) {
        Some((value, "")) => Ok(value),
        _ => Err(Unreadable::new("a number is expected here", "try 5%")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn likely(kind: Kind, text: &str) -> f64 {
        read(kind, text).expect(text).likely
    }

    #[test]
    fn lengths_as_people_write_them() {
        // 1 in = 25.4 mm exactly (international inch, 1959).
        for (text, mm) in [
            ("3/8 in", 9.525),
            ("1 1/2 in", 38.1),
            ("1-1/2 in", 38.1),
            ("2 ft 1 in", 635.0),
            ("2' 1\"", 635.0),
            ("180 mm", 180.0),
            ("180mm", 180.0),
            ("1e1 mm", 10.0),
            (".5 in", 12.7),
        ] {
            assert!((likely(Kind::Length, text) * 1e3 - mm).abs() < 1e-9, "{text}");
        }
    }

    #[test]
    fn volumes_masses_temperatures() {
        // US gallon 231 cubic inches; avoirdupois pound 0.45359237 kg (NIST Handbook 44, app. C).
        assert!((likely(Kind::Volume, "1 gal") - 231.0 * 0.0254_f64.powi(3)).abs() < 1e-12);
        assert!((likely(Kind::Volume, "1 1/2 qt") * 1e3 - 1.419_529_419).abs() < 1e-9);
        assert!((likely(Kind::Mass, "25 lb") - 11.339_809_25).abs() < 1e-9);
        assert!((likely(Kind::Temperature, "1300 F") - 977.594_444).abs() < 1e-3);
        assert!((likely(Kind::Temperature, "700 C") - 973.15).abs() < 1e-9);
        assert!((likely(Kind::Ratio, "1/8 in/ft") - 0.010_416_666_7).abs() < 1e-9);
        assert!((likely(Kind::Density, "2.68 g/cm3") - 2680.0).abs() < 1e-9);
        assert!((likely(Kind::TimePerArea, "0.5 h/100 cm2") - 180_000.0).abs() < 1e-6);
        assert!((likely(Kind::Frequency, "3 /min") - 0.05).abs() < 1e-12);
    }

    #[test]
    fn ranges_and_tolerances() {
        let r = read(Kind::Mass, "8..10 kg").expect("range");
        assert_eq!((r.low, r.likely, r.high), (8.0, 9.0, 10.0));
        let r = read(Kind::Mass, "9 kg +/- 5%").expect("tolerance");
        assert!((r.low - 8.55).abs() < 1e-12 && (r.high - 9.45).abs() < 1e-12);
        let r = read(Kind::Temperature, "700 C +/- 10 C").expect("tolerance");
        assert!((r.high - r.low - 20.0).abs() < 1e-9);
        let r = read(Kind::Time, "3 h +/- 1").expect("tolerance");
        assert!((r.high - 4.0 * 3600.0).abs() < 1e-9);
        let r = read(Kind::Length, "1/4..3/8 in").expect("range");
        assert!((r.low - 0.00635).abs() < 1e-12 && (r.high - 0.009_525).abs() < 1e-12);
    }

    #[test]
    fn quantities_are_read_as_people_write_them() {
        let same = |kind, text, usual| {
            let (one, other) = (read(kind, text).expect(text), read(kind, usual).expect(usual));
            assert!((one.low - other.low).abs() <= 1e-12 * other.low.abs(), "{text}: {one:?}");
            assert!((one.high - other.high).abs() <= 1e-12 * other.high.abs(), "{text}: {one:?}");
        };
        for (kind, text, usual) in [
            (Kind::Length, "2'-1\"", "25 in"),
            (Kind::Length, "6' 7\"", "79 in"),
            (Kind::Length, "½ in", "0.5 in"),
            (Kind::Length, "3⅜ in", "3.375 in"),
            (Kind::Length, "5 in.", "5 in"),
            (Kind::Length, "2 ft. 1 in.", "25 in"),
            (Kind::Length, "1-1/2 in", "1.5 in"),
            (Kind::Length, "1/4-3/8 in", "1/4..3/8 in"),
            (Kind::Length, "40 µm", "0.04 mm"),
            (Kind::Length, "1e-3 m", "1 mm"),
            (Kind::Area, "12 cm²", "1200 mm2"),
            (Kind::Volume, "12 cm³", "12 ml"),
            (Kind::Volume, "1 imp gal", "4.54609 L"),
            (Kind::Volume, "2 imp qt", "2.273045 L"),
            (Kind::Mass, "5 lb-3 oz", "83 oz"),
            (Kind::Mass, "10 lb.", "10 lb"),
            (Kind::Mass, "8-10 kg", "8..10 kg"),
            (Kind::Mass, "8 – 10 kg", "8..10 kg"),
            (Kind::Mass, "8 kg - 10 kg", "8..10 kg"),
            (Kind::Mass, "8 to 10 kg", "8..10 kg"),
            (Kind::Mass, "8 kg to 10 kg", "8..10 kg"),
            (Kind::Mass, "8 kg..10", "8..10 kg"),
            (Kind::Mass, "9 kg ± 5 %", "9 kg +/- 5%"),
            (Kind::Mass, "9 ± 1 kg", "8..10 kg"),
            (Kind::Mass, "9 kg +-1", "8..10 kg"),
            (Kind::Temperature, "700 ± 10 C", "690..710 C"),
            (Kind::Temperature, "1300 F ± 18 F", "1282..1318 F"),
            (Kind::Temperature, "700 degrees C", "700 C"),
            (Kind::Temperature, "700-720 ℃", "700..720 C"),
            (Kind::Temperature, "700 ºC", "700 C"),
            (Kind::Temperature, "−5 °C", "-5 C"),
            (Kind::Time, "2 hrs", "2 h"),
            (Kind::Time, "30 mins", "30 min"),
            (Kind::Time, "1 h 30 min", "90 min"),
            (Kind::Conductivity, "0.6 W/m/K", "0.6 W/mK"),
            (Kind::Conductivity, "0.6 W/(m·K)", "0.6 W/mK"),
            (Kind::SpecificHeat, "0.9 kJ/kg/K", "900 J/kgK"),
            (Kind::SpecificHeat, "0.9 kJ/(kg K)", "900 J/kgK"),
            (Kind::SpecificHeat, "0.2 Btu/lb/F", "0.2 Btu/lbF"),
            (Kind::SpecificHeat, "0.2 Btu/(lb °F)", "0.2 Btu/lbF"),
            (Kind::SpecificHeat, "0.2 Btu/lb-F", "0.2 Btu/lbF"),
            (Kind::SpecificHeat, "0.9 kJ/(kg*K)", "900 J/kgK"),
            (Kind::SpecificHeat, "900 J/kg·°C", "900 J/kgK"),
            (Kind::SpecificHeat, "800 J/kgK - 900 J/kg K", "800..900 J/kgK"),
            (Kind::Density, "2.4 g/cc", "2400 kg/m3"),
            (Kind::Density, "0.1 lb/cu in", "0.1 lb/in3"),
            (Kind::Frequency, "3 /min - 4 /min", "3..4 /min"),
            (Kind::Ratio, "1-3 %", "1..3 %"),
            (Kind::Ratio, "0", "0 %"),
        ] {
            same(kind, text, usual);
        }
    }

    #[test]
    fn what_could_be_misread_is_refused_with_the_figure_written_rightly() {
        for (kind, text, hint) in [
            (Kind::Mass, "8...10 kg", "write 8..10 kg"),
            (Kind::Temperature, "700...720 C", "write 700..720 C"),
            (Kind::Mass, "8…10 kg", "write 8..10 kg"),
            (Kind::Length, "1'000 mm", "write 1000 mm"),
            (Kind::Length, "1 000 mm", "write 1000 mm"),
            (Kind::Length, "12 500 mm", "write 12500 mm"),
            (Kind::Mass, "2,5 kg", "write 2.5 kg"),
            (Kind::Mass, "1,000 kg", "write 1000 kg or 1.0 kg"),
            (Kind::Mass, "1,250.5 kg", "write 1250.5 kg"),
            (Kind::Mass, "1.250,5 kg", "write 1250.5 kg"),
            (Kind::Mass, "1,250,000 kg", "write 1250000 kg"),
            (Kind::Mass, "10..8 kg", "write the smaller end first, as in 8..10 kg"),
            (Kind::Mass, "10-8 kg", "write the smaller end first, as in 8..10 kg"),
            (Kind::Mass, "1.2.3 kg", "try 11.4 kg, or 25 lb"),
            (Kind::Ratio, "0.05", "write 0.05 % or 5 %"),
            (Kind::Ratio, "5", "write 5 % or 500 %"),
        ] {
            assert_eq!(read(kind, text).expect_err(text).hint, hint, "{text}");
        }
        for (kind, text) in [
            (Kind::Number, "1 5"),
            (Kind::Mass, "3 oz 5 lb"),
            (Kind::Mass, "5 lb 3 lb"),
            (Kind::Mass, "10-20-30 kg"),
            (Kind::Length, "10² mm"),
            (Kind::Mass, "9 kg (10 to 12)"),
            (Kind::Time, "30 min 2 h"),
        ] {
            assert!(read(kind, text).is_err(), "{text}");
        }
        assert_eq!(read_sizes("1'-3\" x 11\"", 2).expect("sizes"), [0.381, 0.279_4]);
        assert!(read_sizes("1'000 x 200 mm", 2).is_err());
        assert_eq!(read_sizes("320*260 mm", 2).expect("sizes"), [0.32, 0.26]);
        assert!(read_sizes("320·260 mm", 2).is_err() && read(Kind::Mass, "3·5 kg").is_err());
    }

    #[test]
    fn measures_of_two_sizes_say_which_they_are() {
        for (text, hint) in [
            ("2 qt", "write 2 US qt or 2 imp qt"),
            ("1 1/2 quarts", "write 1 1/2 US qt or 1 1/2 imp qt"),
            ("8 fl oz", "write 8 US fl oz or 8 imp fl oz"),
        ] {
            assert_eq!(says_which(text).expect_err(text).hint, hint);
        }
        for text in ["2 US qt", "2 imp pt", "1..2 imp gal", "1.2 L", "900 ml", "60 cu in"] {
            assert!(says_which(text).is_ok() && read(Kind::Volume, text).is_ok(), "{text}");
        }
    }

    /// What is shown has three digits, so that much may be lost; a temperature is told to 1 of its
    /// unit below 1000 and to 10 above.
    fn close(kind: Kind, one: f64, other: f64) -> bool {
        let offset = if kind == Kind::Temperature { 5.1 } else { 0.0 };
        (one - other).abs() <= 0.0051 * other.abs() + offset
    }

    proptest::proptest! {
        #[test]
        fn what_is_shown_is_read_again(
            digits in 1.0..10.0_f64,
            exponent in -12..13_i32,
            below in 0.0..1.0_f64,
            above in 0.0..1.0_f64,
            negative: bool,
            beside in proptest::prelude::any::<f64>(),
        ) {
            use crate::figure::{Alike, System, show, show_liquid, show_si, show_spanned};
            let size = digits * 10f64.powi(exponent) * if negative { -1.0 } else { 1.0 };
            for (kind, system) in
                Kind::ALL.iter().flat_map(|k| [(*k, System::Metric), (*k, System::Us)])
            {
                let again = |shown: &str| read(kind, shown).unwrap_or_else(|e| panic!("{kind:?} {shown}: {e:?}"));
                let beside = if beside.is_finite() { beside } else { 0.0 };
                for si in [size, 0.0] {
                    let alike = Alike::of(kind, [si, beside], system);
                    for shown in [show(kind, si, system), alike.show(si)] {
                        assert!(close(kind, again(&shown).likely, si), "{shown} for {si}");
                    }
                    let range = Range { low: si - below * si.abs(), likely: si, high: si + above * si.abs() };
                    for (shown, ends) in [show_spanned(kind, range, system), alike.spanned(range)] {
                        let both = ends.map_or(shown.clone(), |ends| format!("{shown} ({ends})"));
                        let told = again(&both);
                        assert!(told.low <= told.likely && told.likely <= told.high, "{both}");
                        // All three are told to the place of the largest of them.
                        let most = range.low.abs().max(range.high.abs());
                        let slack = 0.006 * most + if kind == Kind::Temperature { 5.1 } else { 0.0 };
                        for (one, other) in [(told.low, range.low), (told.high, range.high)] {
                            assert!((one - other).abs() <= slack, "{both} for {range:?}");
                        }
                        let safe = alike.safe(range, range.high);
                        assert!((again(&safe).likely - range.high).abs() <= slack, "{safe}");
                    }
                }
                let shown = show_si(kind, size);
                assert!(close(kind, again(&shown).likely, size), "{shown} for {size}");
                if kind == Kind::Volume {
                    assert!(close(kind, again(&show_liquid(size.abs(), system)).likely, size.abs()));
                }
            }
        }
    }

    #[test]
    fn a_mass_is_no_length() {
        let e = read(Kind::Length, "180 kg").expect_err("mass");
        assert_eq!(e.says, "this is a mass; a length is expected");
        assert_eq!(e.hint, "try 180 mm, or 7 1/8 in");
    }

    #[test]
    fn odd_texts_are_refused_not_panicked_on() {
        for text in [
            "", " ", "kg", "..", "1..", "x", "1 2 3", "1/0 in", "é", "1 é", "+/-", "5 kg +/-",
            "1e999 mm", "- mm", "°",
        ] {
            assert!(read(Kind::Length, text).is_err(), "{text:?}");
        }
    }

    #[test]
    fn sizes_share_the_last_unit() {
        assert_eq!(read_sizes("320 x 200 x 70 mm", 3).expect("sizes"), [0.32, 0.2, 0.07]);
        assert_eq!(read_sizes("20x10 mm", 2).expect("sizes"), [0.02, 0.01]);
        assert!(read_sizes("320 x 200 mm", 3).is_err());
    }
}
