//! What to lay on the cope: the number at its safe end, and the reason where there is none.

use crate::estimate::LoadEstimate;
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::view::FigureView;
use crate::view::page::unit;
use serde::Serialize;

/// Weights on the cope of a mould.
#[derive(Debug, Clone, Serialize)]
pub struct Weights {
    /// What to lay on: the most that may be needed; none where it cannot be computed.
    pub shown: Option<String>,
    /// What is likely enough, what holds instead, or what is not known.
    pub says: String,
}

impl Weights {
    /// Of a mould of this part.
    pub(super) fn of(build: &Build, part: usize, loads: &LoadEstimate) -> Self {
        let units = build.header.units;
        let mass = |kg: f64| unit(&show(Kind::Mass, kg, units));
        let Some(weights) = &loads.weights else {
            return Self { shown: None, says: missing(build, part, loads).to_owned() };
        };
        let (likely, high) = (weights.si(), weights.high());
        let view = FigureView::new(weights.node(), units);
        let most = unit(view.large());
        let cope = || match (&loads.cope_mass, &loads.margin) {
            (Some(cope), Some(margin)) => {
                let (cope, margin) = (mass(cope.si()), margin.node().range());
                let times = if high > 0.0 { margin.likely } else { margin.low };
                let least = if high > 0.0 { "likely" } else { "at least" };
                format!("the cope, {cope}, is {least} {times:.1} times the lift")
            }
            _ => "the cope holds the lift".to_owned(),
        };
        match (likely > 0.0, high > 0.0) {
            (true, _) if high > likely => {
                Self { shown: Some(most), says: format!("likely {}", unit(&view.shown)) }
            }
            (true, _) => Self { shown: Some(most), says: String::new() },
            (false, true) => Self { shown: Some(most), says: cope() },
            (false, false) => Self { shown: Some("none needed".into()), says: cope() },
        }
    }
}

/// What is missing for it.
fn missing(build: &Build, part: usize, loads: &LoadEstimate) -> &'static str {
    let casting = build.parts[part].casting.as_ref();
    if loads.plan.is_none() {
        "the pattern has no `size`"
    } else if casting.is_some_and(|c| c.alloy.liquid_density.is_none()) {
        "the alloy has no density of the melt"
    } else {
        "no flask or no gating is known, so no head of metal"
    }
}
