use crate::figure::{Alike, Kind, Known, Node, Range, System, show_spanned};
use serde::Serialize;

/// A figure as it is shown and as JSON tells it: SI value and unit beside the text.
#[derive(Debug, Clone, Serialize)]
pub struct FigureView {
    /// What it is called.
    pub name: String,
    /// Likely value in `unit`.
    pub value: f64,
    /// SI unit (degrees Celsius for temperatures, degrees for angles).
    pub unit: &'static str,
    /// Least value in `unit`.
    pub low: f64,
    /// Most in `unit`.
    pub high: f64,
    /// Likely value in the units of the build, such as `14.2 kg`.
    pub shown: String,
    /// The span in the same unit, such as `13.5 to 15.1`; none where it is exact.
    pub span: Option<String>,
    /// For a limit: the end of the span that is safe to go by, to be shown large.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub safe: Option<String>,
    /// The weakest knowledge that went into it.
    pub known: Option<Known>,
    /// A word of warning.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    #[serde(skip)]
    kind: Kind,
    #[serde(skip)]
    range: Range,
    #[serde(skip)]
    safe_at: Option<f64>,
    #[serde(skip)]
    units: System,
}

impl FigureView {
    /// A figure in the units of a build.
    pub fn new(node: &Node, units: System) -> Self {
        let (kind, range) = (node.kind(), node.range());
        let mut view = Self {
            name: node.name().to_owned(),
            value: kind.told(range.likely),
            unit: kind.symbol(),
            low: kind.told(range.low),
            high: kind.told(range.high),
            shown: String::new(),
            span: None,
            safe: None,
            known: node.known(),
            note: node.note().map(str::to_owned),
            kind,
            range,
            safe_at: node.safe(),
            units,
        };
        view.tell(Alike::of_ranges(kind, [range], units));
        view
    }

    /// The figure to go by: the safe end of a limit, else the likely one.
    pub(in crate::view) fn large(&self) -> &str {
        self.safe.as_ref().unwrap_or(&self.shown)
    }

    /// What stands beside it: `likely 13.2 kg` for a limit, else the span.
    pub(in crate::view) fn beside(&self) -> Option<String> {
        match (&self.safe, &self.span) {
            (Some(safe), _) if *safe != self.shown => Some(format!("likely {}", self.shown)),
            (None, Some(span)) => Some(span.clone()),
            _ => None,
        }
    }

    /// Told in the unit of those that it stands with. The safe end is told as in the span.
    pub(in crate::view) fn tell(&mut self, alike: Alike) {
        (self.shown, self.span) = alike.spanned(self.range);
        self.safe = self.safe_at.map(|si| alike.safe(self.range, si));
    }
}

/// Figures that stand in one column, or in one row, in one unit: see [`Alike`]. What is of another
/// kind than the first stays as it is.
pub(in crate::view) fn alike<'f>(figures: impl IntoIterator<Item = &'f mut FigureView>) {
    let mut figures: Vec<&mut FigureView> = figures.into_iter().collect();
    let Some((kind, units)) = figures.first().map(|f| (f.kind, f.units)) else { return };
    figures.retain(|f| f.kind == kind);
    let alike = Alike::of_ranges(kind, figures.iter().map(|f| f.range), units);
    figures.into_iter().for_each(|figure| figure.tell(alike));
}

/// Figures of a casting that stand first in every view: those that pattern, mould and pour are
/// made by.
pub(in crate::view) const FIRST_FIGURES: [&str; 8] = [
    "rough-mass",
    "mould-charge",
    "sand",
    "sprue-base",
    "ingate-area",
    "pouring-time",
    "weights-on-cope",
    "opened-not-before",
];

/// A figure in one line: `14.2 kg (13.5 to 15.1)`.
pub fn figure_text(node: &Node, units: System) -> String {
    match show_spanned(node.kind(), node.range(), units) {
        (shown, Some(span)) => format!("{shown} ({span})"),
        (shown, None) => shown,
    }
}
