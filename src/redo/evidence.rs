//! What the record says for and against a cause.

use super::elapsed;
use crate::estimate::CastingEstimate;
use crate::figure::*;
use crate::handbook::Alloy;
use crate::journal::Event;
use crate::model::{Attempt, Build, Finding, Heat, Pattern};

/// Something in the record that speaks for a cause, or against it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// How loudly: above zero for it, below against it.
    pub weight: i32,
    /// In words.
    pub says: String,
}

/// One casting that was not simply accepted, with all that is known of its making.
pub(super) struct Case<'a> {
    pub(super) build: &'a Build,
    pub(super) attempt: &'a Attempt,
    pub(super) finding: &'a Finding,
    pub(super) heat: Option<&'a Heat>,
    pub(super) alloy: &'a Alloy,
    pub(super) estimate: &'a CastingEstimate,
    pub(super) wall: Option<&'a Figure<Length>>,
}

impl<'a> Case<'a> {
    /// The pattern of the part; what lay beside it in the mould has others.
    pub(super) fn pattern(&self) -> &'a Pattern {
        let casting = self.build.parts[self.finding.part].casting.as_ref();
        &self.build.patterns[casting.map_or(self.attempt.pattern, |c| c.pattern)]
    }
}

/// Words by which a builder names a cause.
const NAMED: &[(&str, &[&str])] = &[
    ("cold-metal", &["too cold", "cold metal", "poured cold", "hotter"]),
    ("hot-metal", &["too hot", "cooler", "overheated"]),
    ("slow-fill", &["slow", "one end", "two ingates", "two gates", "fold", "wrinkl"]),
    ("small-feeder", &["feeder", "sink", "drawn in"]),
    ("early-cutoff", &["neck", "cut off the feed"]),
    ("wet-sand", &["damp", "wet", "moist", "drew water"]),
    ("wet-core", &["core"]),
    ("dry-sand", &["dried out", "crumbl"]),
    ("poor-vents", &["vent", "trapped air"]),
    ("gas-in-melt", &["pot was not dried", "stewed", "hydrogen", "degas", "gassy"]),
    ("soft-ramming", &["soft"]),
    ("loose-joint", &["joint", "leak", "ran out"]),
    ("weak-hold-down", &["lifted", "floated", "weights"]),
    ("paused-pour", &["paused", "stopped pouring", "interrupted"]),
    ("short-metal", &["not enough metal", "ran short", "ran dry"]),
    ("dirty-melt", &["slag", "dross", "skim"]),
    ("loose-sand", &["sand in", "loose sand", "washed"]),
    ("fast-gate", &["splash", "turbulen", "jet"]),
    ("early-shake-out", &["too early", "too soon"]),
    ("rough-handling", &["dropped", "struck", "hammer"]),
    ("rough-closing", &["closing", "knocked in"]),
    ("core-print", &["core moved", "core shift", "print"]),
    ("pin-wear", &["pins", "shift"]),
    ("over-rapping", &["rapp"]),
    ("low-draft", &["draft", "tore on drawing"]),
];

/// A cold day takes heat out of a crucible on its way, below this many degrees.
const COLD_DAY: f64 = 8.0;

impl Case<'_> {
    fn shown(&self, kind: Kind, value: f64) -> String {
        show(kind, value, self.build.header.units)
    }

    fn span<Q: Quantity>(&self, figure: &Figure<Q>) -> String {
        let (range, units) = (figure.node().range(), self.build.header.units);
        match show_spanned(Q::KIND, range, units) {
            (likely, Some(span)) => format!("{span}, likely {likely}"),
            (likely, None) => likely,
        }
    }

    /// What the builder wrote about it: the finding, where the blemishes are, and notes on the
    /// part in the week after.
    fn own_words(&self) -> Vec<&str> {
        let mut out: Vec<&str> = self.finding.says.as_deref().into_iter().collect();
        out.extend(self.finding.blemishes.iter().filter_map(|b| b.place.as_deref()));
        out.extend(self.notes());
        out
    }

    /// Notes on the part in the week after the finding.
    pub(super) fn notes(&self) -> Vec<&str> {
        let id = self.build.parts[self.finding.part].id();
        let near = |at: chrono::NaiveDateTime| (0..=7).contains(&(at - self.finding.at).num_days());
        let note = |e: &'_ crate::journal::Entry| match &e.event {
            Event::Note(n) => {
                n.part.as_ref().is_some_and(|p| p.value == *id)
                    || n.mould.as_ref().is_some_and(|m| m.value == self.attempt.mould)
            }
            _ => false,
        };
        let log = self.build.history.log.iter();
        log.filter(|e| near(e.at) && note(e)).filter_map(|e| e.says.as_deref()).collect()
    }

    /// How long the mould stood before it was filled, s.
    fn stood(&self) -> Option<f64> {
        let (_, poured) = self.attempt.poured.as_ref()?;
        Some((*poured - self.attempt.rammed).num_seconds() as f64)
    }

    /// Degrees of the air in the words about the weather, such as `raw, 4 C`, in kelvin.
    fn air(&self) -> Option<f64> {
        let weather = self.heat?.poured.weather.as_deref()?;
        let pieces: Vec<&str> = weather.split(',').map(str::trim).collect();
        pieces.iter().find_map(|p| read(Kind::Temperature, p).ok()).map(|r| r.likely)
    }

    fn temperature(&self) -> Option<f64> {
        self.heat?.poured.temperature.as_ref().map(Figure::si)
    }

    /// Everything the record says about a cause.
    pub(super) fn signs(&self, cause: &str) -> Vec<Sign> {
        let mut signs = self.measured(cause);
        let named = NAMED.iter().find(|(id, _)| *id == cause).map_or(&[][..], |(_, words)| words);
        let said = |text: &&&str| {
            let lower = text.to_lowercase();
            named.iter().any(|w| lower.contains(w))
        };
        if let Some(text) = self.own_words().iter().find(said) {
            signs.push(Sign { weight: 3, says: format!("you wrote \"{text}\"") });
        }
        signs
    }

    fn measured(&self, cause: &str) -> Vec<Sign> {
        match cause {
            "cold-metal" => self.temperature_signs(true),
            "hot-metal" => self.temperature_signs(false),
            "slow-fill" => self.fill_signs(),
            "fast-gate" => self.gate_signs(),
            "wet-sand" | "wet-core" | "dry-sand" => self.sand_signs(cause),
            "small-feeder" | "early-cutoff" | "hot-spot" => self.feeding_signs(cause),
            "thin-wall" => self.wall_signs(),
            "short-metal" => self.heel_signs(),
            "gas-in-melt" | "dirty-melt" => self.melt_signs(cause),
            "early-shake-out" => self.shake_out_signs(),
            "soft-ramming" => self.ramming_signs(),
            _ => Vec::new(),
        }
    }

    fn temperature_signs(&self, cold: bool) -> Vec<Sign> {
        let (Some(t), Some(pours)) = (self.temperature(), self.alloy.pours.as_ref()) else {
            return Vec::new();
        };
        let r = pours.node().range();
        let at = format!("poured at {}", self.shown(Kind::Temperature, t));
        let of = format!("the handbook has {}", self.span(pours));
        let (beyond, share) = match cold {
            true => (t < r.low, (r.likely - t) / (r.likely - r.low).max(1.0)),
            false => (t > r.high, (t - r.likely) / (r.high - r.likely).max(1.0)),
        };
        let weight = match share {
            _ if beyond => 6,
            s if s >= 0.5 => 4,
            s if s > 0.2 => 1,
            s if s > 0.0 => 0,
            _ => -3,
        };
        let mut signs = vec![Sign { weight, says: format!("{at}; {of}") }];
        if cold && let Some(air) = self.air().filter(|air| *air < 273.15 + COLD_DAY) {
            let says = format!("a cold day, {}", self.shown(Kind::Temperature, air));
            signs.push(Sign { weight: 1, says });
        }
        signs
    }

    fn fill_signs(&self) -> Vec<Sign> {
        let Some(gating) = &self.estimate.gating else { return Vec::new() };
        let wanted = &gating.sprue.time_wanted;
        let took = self.heat.and_then(|h| h.poured.filled.get(&self.attempt.mould));
        if let Some(took) = took {
            let weight = if took.si() > wanted.high() { 5 } else { -3 };
            let says = format!(
                "it took {} to fill; {} is wanted for this wall",
                self.shown(Kind::Time, took.si()),
                self.span(wanted)
            );
            return vec![Sign { weight, says }];
        }
        // Metal that has far to run in a thin wall.
        let longest = self.pattern().given.length.as_ref();
        match (longest, self.wall) {
            (Some(length), Some(wall)) if length.si() > 35.0 * wall.si() => vec![Sign {
                weight: 1,
                says: format!(
                    "the metal runs up to {} through a wall of {}",
                    self.shown(Kind::Length, length.si()),
                    self.shown(Kind::Length, wall.si())
                ),
            }],
            _ => Vec::new(),
        }
    }

    fn gate_signs(&self) -> Vec<Sign> {
        let gating = self.estimate.gating.as_ref().map(|g| &g.ways.ingate_speed);
        let Some((speed, limit)) = gating.zip(self.alloy.ingate_speed.as_ref()) else {
            return Vec::new();
        };
        let weight = if speed.si() > limit.high() { 3 } else { -1 };
        let says = format!(
            "with gates as computed the metal enters at {}; the limit is {}",
            self.shown(Kind::Speed, speed.si()),
            self.span(limit)
        );
        vec![Sign { weight, says }]
    }

    fn sand_signs(&self, cause: &str) -> Vec<Sign> {
        if cause == "wet-core" && !self.has_cores() {
            return vec![Sign { weight: -5, says: "it has no core".into() }];
        }
        let mut signs = Vec::new();
        let sand = self.pattern().sand.as_ref();
        if let (Some(stood), Some(stands)) = (self.stood(), self.build.stands(self.attempt.pattern))
        {
            let weight = match (stood > stands.high(), stood > stands.safe()) {
                (true, _) if cause == "dry-sand" => 2,
                (true, _) => 4,
                (false, true) => 1,
                (false, false) => -1,
            };
            let says = format!(
                "the mould stood {} before it was poured; this sand may stand {}",
                elapsed(stood, self.build.header.units),
                self.span(&stands)
            );
            signs.push(Sign { weight, says });
        }
        if cause == "dry-sand" {
            return signs;
        }
        let water = sand.and_then(|s| s.additions.iter().find(|(n, _)| **n == *"water"));
        if let (Some(moisture), Some((_, usual))) = (self.attempt.moisture, water) {
            let wet = moisture > usual.si() * 1.3;
            let says = format!(
                "the sand held {} water; {} is usual",
                self.shown(Kind::Ratio, moisture),
                self.span(usual)
            );
            signs.push(Sign { weight: if wet { 5 } else { -3 }, says });
        }
        let weather = self.heat.and_then(|h| h.poured.weather.as_deref());
        let damp = ["humid", "rain", "damp", "shower", "fog", "mist"];
        if let Some(weather) = weather.filter(|w| damp.iter().any(|d| w.to_lowercase().contains(d)))
        {
            signs.push(Sign { weight: 1, says: format!("the weather: {weather}") });
        }
        signs
    }

    fn has_cores(&self) -> bool {
        self.build.parts[self.finding.part]
            .casting
            .as_ref()
            .is_some_and(|c| c.given.cores.is_some())
    }

    fn feeding_signs(&self, cause: &str) -> Vec<Sign> {
        let (freezing, feeding) = (&self.estimate.freezing, &self.estimate.feeding);
        let (Some(first), Some(last)) = (freezing.sections.first(), freezing.sections.last())
        else {
            return Vec::new();
        };
        let mut signs = Vec::new();
        if cause == "small-feeder" {
            if let Some(feeders) = &feeding.feeders {
                let across = self.shown(Kind::Length, feeders.diameter.si());
                let says = match feeders.number.si() {
                    n if n < 1.5 => {
                        format!("it needs a feeder {across} across at its thick place")
                    }
                    n => format!("it needs {n:.0} feeders {across} across at its thick places"),
                };
                // A skin that is folded or rough says nothing about feeding.
                let hollow = self.finding.blemishes.iter().any(|b| b.class.starts_with('B'));
                signs.push(Sign { weight: if hollow { 2 } else { 0 }, says });
            } else {
                signs.push(Sign { weight: -1, says: "this thin it hardly needs a feeder".into() });
            }
        } else if first.modulus.si() < 0.8 * last.modulus.si() {
            let says = format!("first to freeze: {}; last: {}", first.name, last.name);
            signs.push(Sign { weight: 1, says });
        }
        signs
    }

    fn wall_signs(&self) -> Vec<Sign> {
        let (Some(wall), Some(least)) = (self.wall, self.estimate.pattern.least_wall.as_ref())
        else {
            return Vec::new();
        };
        let weight = if wall.si() < least.si() { 4 } else { -2 };
        let says = format!(
            "a wall of {}; the least that runs full is {}",
            self.shown(Kind::Length, wall.si()),
            self.span(least)
        );
        vec![Sign { weight, says }]
    }

    fn heel_signs(&self) -> Vec<Sign> {
        let Some(heel) = self.heat.and_then(|h| h.poured.heel.as_ref()) else { return Vec::new() };
        let left = self.shown(Kind::Mass, heel.si());
        if heel.si() > 0.0 {
            vec![Sign { weight: -4, says: format!("{left} was left in the crucible") }]
        } else {
            vec![Sign { weight: 3, says: "the crucible was poured out to the last".into() }]
        }
    }

    fn melt_signs(&self, cause: &str) -> Vec<Sign> {
        let Some(heat) = self.heat else { return Vec::new() };
        let charged: f64 = heat.poured.charge.values().map(Figure::si).sum();
        let mut signs = Vec::new();
        let returns = heat.poured.charge.get("returns").map_or(0.0, Figure::si) / charged.max(1e-9);
        if let Some(most) = &self.alloy.returns_share
            && returns > most.high()
        {
            let says = format!(
                "{} of the charge were returns; up to {} is usual",
                self.shown(Kind::Ratio, returns),
                self.shown(Kind::Ratio, most.high())
            );
            signs.push(Sign { weight: 1, says });
        }
        if cause == "gas-in-melt" {
            // Melting for long, against the other heats of this alloy.
            let rate = |h: &Heat| {
                let mass: f64 = h.poured.charge.values().map(Figure::si).sum();
                (mass > 0.0).then(|| Some(h.poured.melt_time.as_ref()?.si() / mass))?
            };
            let alike = self.build.history.heats.values();
            let alike = alike.filter(|h| h.poured.alloy.value == heat.poured.alloy.value);
            let mut rates: Vec<f64> = alike.filter_map(rate).collect();
            rates.sort_by(f64::total_cmp);
            if rates.len() >= 4
                && let Some(own) = rate(heat).filter(|own| *own > 1.3 * rates[rates.len() / 2])
            {
                let says = format!(
                    "it melted for {} a kilogram, longer than most heats of this alloy",
                    self.shown(Kind::Time, own)
                );
                signs.push(Sign { weight: 1, says });
            }
            if let Some(pours) = &self.alloy.pours
                && let Some(t) = self.temperature().filter(|t| *t > pours.high())
            {
                let says = format!("overheated, at {}", self.shown(Kind::Temperature, t));
                signs.push(Sign { weight: 2, says });
            }
        }
        signs
    }

    fn shake_out_signs(&self) -> Vec<Sign> {
        let (Some((_, poured)), Some(out), Some(wanted)) = (
            self.attempt.poured.as_ref(),
            self.attempt.shaken_out,
            self.estimate.not_before.as_ref(),
        ) else {
            return Vec::new();
        };
        let after = (out - *poured).num_seconds() as f64;
        let weight = if after < wanted.safe() { 4 } else { -4 };
        let units = self.build.header.units;
        let says = format!(
            "shaken out after {}; not before {} was safe",
            elapsed(after, units),
            elapsed(wanted.safe(), units)
        );
        vec![Sign { weight, says }]
    }

    /// Ramming that was quicker than usual for this flask.
    fn ramming_signs(&self) -> Vec<Sign> {
        let time = |entry: &crate::journal::Entry| match &entry.event {
            Event::Rammed(r) => {
                Some((r.mould.value.clone(), r.flask.clone()?.value, r.hours.as_ref()?.si()))
            }
            _ => None,
        };
        let all: Vec<_> = self.build.history.log.iter().filter_map(time).collect();
        let Some((_, flask, own)) = all.iter().find(|(m, _, _)| *m == self.attempt.mould) else {
            return Vec::new();
        };
        let mut alike: Vec<f64> =
            all.iter().filter(|(_, f, _)| f == flask).map(|(_, _, t)| *t).collect();
        alike.sort_by(f64::total_cmp);
        let middle = alike[alike.len() / 2];
        if alike.len() >= 3 && *own < 0.8 * middle {
            let says = format!(
                "rammed in {}, {} is usual for {flask}",
                self.shown(Kind::Time, *own),
                self.shown(Kind::Time, middle)
            );
            return vec![Sign { weight: 2, says }];
        }
        Vec::new()
    }
}
