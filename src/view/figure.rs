use crate::figure::{Known, Node, System, show, show_range};
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
}

impl FigureView {
    /// A figure in the units of a build.
    pub fn new(node: &Node, units: System) -> Self {
        let (kind, range) = (node.kind(), node.range());
        Self {
            name: node.name().to_owned(),
            value: kind.told(range.likely),
            unit: kind.symbol(),
            low: kind.told(range.low),
            high: kind.told(range.high),
            shown: show(kind, range.likely, units),
            span: show_range(kind, range, units),
            safe: node.safe().map(|value| show(kind, value, units)),
            known: node.known(),
            note: node.note().map(str::to_owned),
        }
    }
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
    let shown = show(node.kind(), node.range().likely, units);
    match show_range(node.kind(), node.range(), units) {
        Some(span) => format!("{shown} ({span})"),
        None => shown,
    }
}
