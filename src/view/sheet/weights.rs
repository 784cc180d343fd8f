//! What to lay on the cope: the number, and the reason where there is none.

use crate::estimate::LoadEstimate;
use crate::figure::{Kind, System, show};
use crate::model::Build;
use crate::view::page::unit;
use serde::Serialize;

/// Weights on the cope of a mould.
#[derive(Debug, Clone, Serialize)]
pub struct Weights {
    /// What to lay on, with its unit; none where it cannot be reckoned.
    pub shown: Option<String>,
    /// The most that may be needed, what holds instead, or what is not known.
    pub says: String,
    /// The most that may be needed, where it is more.
    pub most: Option<String>,
}

impl Weights {
    /// Of a mould of this part. Where the cope holds by itself, something is laid on all the same:
    /// the margin on the lift is a habit of the trade, no proof.
    pub(super) fn of(build: &Build, part: usize, loads: &LoadEstimate) -> Self {
        let units = build.header.units;
        let mass = |kg: f64| match (kg > 0.0, units) {
            (true, _) => unit(&show(Kind::Mass, kg, units)),
            (false, System::Metric) => "0\u{a0}kg".to_owned(),
            (false, System::Us) => "0\u{a0}lb".to_owned(),
        };
        let Some(weights) = &loads.weights else {
            let says = missing(build, part, loads).to_owned();
            return Self { shown: None, says, most: None };
        };
        let (likely, high) = (weights.si(), weights.high());
        let most = (high > likely).then(|| format!("up to {}", mass(high)));
        if likely > 0.0 {
            let says = most.clone().unwrap_or_default();
            return Self { shown: Some(mass(likely)), says, most };
        }
        let mut says = match (&loads.cope_mass, &loads.margin) {
            (Some(cope), Some(margin)) => {
                format!("the cope, {}, is {:.1} times the lift", mass(cope.si()), margin.si())
            }
            _ => "the cope holds the lift".to_owned(),
        };
        says += &most.as_ref().map_or(String::new(), |m| format!("; {m}"));
        Self { shown: Some(format!("{} + some", mass(0.0))), says, most }
    }
}

/// What the reckoning wants for.
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
