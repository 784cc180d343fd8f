//! The heats that were poured.

use crate::figure::{Kind, show};
use crate::model::Build;
use crate::view::page::day;
use crate::view::page::{plain, unit};
use serde::Serialize;

/// A heat.
#[derive(Debug, Clone, Serialize)]
pub struct HeatView {
    /// Its name.
    pub heat: String,
    /// The day.
    pub day: String,
    /// The alloy.
    pub alloy: String,
    /// The crucible.
    pub crucible: Option<String>,
    /// What went in, a source a line.
    pub charge: Vec<String>,
    /// Pouring temperature.
    pub temperature: Option<String>,
    /// The moulds, in order.
    pub moulds: Vec<String>,
    /// What was left.
    pub heel: Option<String>,
    /// Fuel burnt.
    pub fuel: Option<String>,
    /// Time to melt.
    pub melt_time: Option<String>,
    /// Weather.
    pub weather: Option<String>,
}

/// A mould and what was cast in it.
fn told(build: &Build, mould: &str) -> String {
    let attempt = build.history.attempts.get(mould);
    let parts = attempt.map_or(&[][..], |a| &a.castings);
    let names: Vec<&str> = parts.iter().map(|(i, _)| &*build.parts[*i].given.name).collect();
    match names.is_empty() {
        true => plain(mould),
        false => plain(&format!("{mould} {}", names.join(" + "))),
    }
}

/// The last first.
pub(super) fn heats(build: &Build) -> Vec<HeatView> {
    let units = build.header.units;
    let say = |kind, si| unit(&show(kind, si, units));
    let heat = |(name, heat): (&crate::manifest::Id, &crate::model::Heat)| {
        let p = &heat.poured;
        HeatView {
            heat: plain(name),
            day: day(heat.at),
            alloy: plain(&p.alloy.value),
            crucible: p.crucible.as_ref().map(|c| plain(&c.value)),
            charge: p
                .charge
                .iter()
                .map(|(source, mass)| format!("{} {}", say(Kind::Mass, mass.si()), plain(source)))
                .collect(),
            temperature: p.temperature.as_ref().map(|t| say(Kind::Temperature, t.si())),
            moulds: p.moulds.iter().map(|m| told(build, &m.value)).collect(),
            heel: p.heel.as_ref().map(|m| say(Kind::Mass, m.si())),
            fuel: p.fuel.as_ref().map(|m| say(Kind::Mass, m.si())),
            melt_time: p.melt_time.as_ref().map(|t| say(Kind::Time, t.si())),
            weather: p.weather.as_deref().map(plain),
        }
    };
    build.history.heats.iter().rev().map(heat).collect()
}
