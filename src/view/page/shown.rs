//! Figures as the page shows them, each with what `pourwright why` answers to.

use crate::figure::{Kind, Node, System, TENTH_OUNCE, show};
use crate::view::{self, FigureView};
use serde::Serialize;

/// A figure on the page.
#[derive(Debug, Clone, Serialize)]
pub struct Shown {
    /// What it is called.
    pub name: String,
    /// Subject and name that `pourwright why` answers to.
    pub why: String,
    /// The name alone.
    pub ask: String,
    /// Likely value with its unit.
    pub shown: String,
    /// The span in the same unit.
    pub span: Option<String>,
    /// For a limit: the end of the span that is safe to go by, to be shown large.
    pub safe: Option<String>,
    /// How far it can be trusted, in words.
    pub known: &'static str,
    /// A word of warning.
    pub note: Option<String>,
    #[serde(skip)]
    view: FigureView,
}

/// A figure; `of` and `name` are what `why` answers to.
pub(in crate::view) fn shown(node: &Node, units: System, of: &str, name: &str) -> Shown {
    let view = FigureView::new(node, units);
    let (shown, span, safe) = match node.kind() {
        Kind::Time if view.value >= 120.0 => hours(node),
        _ => (unit(&view.shown), view.span.clone(), view.safe.as_deref().map(unit)),
    };
    Shown {
        name: plain(&view.name),
        why: format!("{} {name}", plain(of)),
        ask: name.to_owned(),
        shown,
        span,
        safe,
        known: node.trust(),
        note: view.note.as_deref().map(plain),
        view,
    }
}

/// Figures of a column, or of a row, in one unit; times stay as they are.
pub(in crate::view) fn alike<'s>(all: impl IntoIterator<Item = &'s mut Shown>) {
    let mut all: Vec<&mut Shown> = all.into_iter().collect();
    view::alike(all.iter_mut().map(|shown| &mut shown.view));
    for shown in all.into_iter().filter(|shown| shown.view.unit != Kind::Time.symbol()) {
        shown.shown = unit(&shown.view.shown);
        shown.span.clone_from(&shown.view.span);
        shown.safe = shown.view.safe.as_deref().map(unit);
    }
}

/// Bench time is counted in hours, however long: a working day is no 24 hours.
fn hours(node: &Node) -> (String, Option<String>, Option<String>) {
    let range = node.range();
    let minutes = range.likely < 5_400.0;
    let (one, word) = if minutes { (60.0, "min") } else { (3_600.0, "h") };
    let digits = |seconds: f64| {
        let value = seconds / one;
        let text = if value < 10.0 { format!("{value:.1}") } else { format!("{value:.0}") };
        text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
    };
    let span =
        (!range.is_exact()).then(|| format!("{} to {}", digits(range.low), digits(range.high)));
    let with_unit = |seconds| format!("{}\u{a0}{word}", digits(seconds));
    (with_unit(range.likely), span, node.safe().map(with_unit))
}

/// A time by the clock, with nobody at it: days where it is long.
pub(in crate::view) fn by_the_clock(node: &Node, units: System, of: &str, name: &str) -> Shown {
    const DAY: f64 = 86_400.0;
    let range = node.range();
    let mut out = shown(node, units, of, name);
    if range.likely >= 2.0 * DAY {
        let days = |seconds: f64| format!("{:.0}", seconds / DAY);
        out.shown = format!("{}\u{a0}days", days(range.likely));
        out.span =
            (!range.is_exact()).then(|| format!("{} to {}", days(range.low), days(range.high)));
    }
    out
}

/// A shown value with the typographer's unit: `640 cm2` as `640 cm²`.
pub(in crate::view) fn unit(text: &str) -> String {
    let Some((number, unit)) = text.rsplit_once(' ') else { return text.to_owned() };
    let unit = match unit {
        "C" => "\u{b0}C".to_owned(),
        "F" => "\u{b0}F".to_owned(),
        other => ["m", "in", "ft"].iter().fold(other.to_owned(), |text, of| {
            let (square, cube) = (format!("{of}\u{b2}"), format!("{of}\u{b3}"));
            text.replace(&format!("{of}2"), &square).replace(&format!("{of}3"), &cube)
        }),
    };
    // The parts of `7 1/8` belong together as well.
    let number = match number.contains('/') {
        true => number.replace(' ', "\u{a0}"),
        false => number.to_owned(),
    };
    format!("{number}\u{a0}{unit}")
}

/// Text without the characters that a page or a drawing may not hold or that turn its direction.
pub(in crate::view) fn plain(text: &str) -> String {
    let bad = |c: char| {
        (c.is_control() && c != '\n')
            || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{fffe}' | '\u{ffff}')
    };
    if text.contains(bad) { text.replace(bad, " ") } else { text.to_owned() }
}

/// A mass to buy that comes in no known pack: up to the next of two digits, never less.
pub(in crate::view) fn at_least(kg: f64, units: System) -> String {
    // Two digits in kg are two in g; grams, ounces and pounds are shown each in its own.
    let one = match units {
        System::Metric => 1.0,
        System::Us if kg < TENTH_OUNCE => 1.0,
        System::Us if kg < 0.453_5 => 0.453_592_37 / 16.0,
        System::Us => 0.453_592_37,
    };
    let step = 10f64.powf((kg / one).log10().floor() - 1.0);
    show(Kind::Mass, (kg / one / step - 1e-9).ceil() * step * one, units)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_set_as_a_typographer_does() {
        assert_eq!(unit("640 cm2"), "640\u{a0}cm\u{b2}");
        assert_eq!(unit("4.3 min/cm2"), "4.3\u{a0}min/cm\u{b2}");
        assert_eq!(unit("12 in3"), "12\u{a0}in\u{b3}");
        assert_eq!(unit("700 C"), "700\u{a0}\u{b0}C");
        assert_eq!(unit("89600"), "89600");
        assert_eq!(unit("7 1/8 in"), "7\u{a0}1/8\u{a0}in");
    }
}
