//! The plan under chance, as the page shows it.

use crate::figure::Alike;
use crate::manifest::Step;
use crate::model::Build;
use crate::risk::Risk;
use crate::view::chart::{Chart, Spread, spread};
use crate::view::page::{day_words, plain, unit};
use serde::Serialize;

/// When the machine may be finished and what it may take, castings that fail counted in.
#[derive(Debug, Clone, Serialize)]
pub struct ChancesView {
    /// Days of finish.
    pub chart: Option<Chart>,
    /// How often the plan was replayed.
    pub replays: u64,
    /// Days by which 50, 80 and 90 in a hundred replays end.
    pub half: String,
    /// See `half`.
    pub eight: String,
    /// See `half`.
    pub nine: String,
    /// The days of 50 and 90 in words.
    pub half_words: String,
    /// See `half_words`.
    pub nine_words: String,
    /// Moulds lost on average.
    pub lost: String,
    /// Parts of which a mould may be lost, the one that loses most first.
    pub moulds: Vec<AllowView>,
    /// How many more parts there are than the page lists.
    pub moulds_more: usize,
    /// Metal, sand and fuel.
    pub amounts: Vec<AmountView>,
    /// What drives the day of finish, in words.
    pub drivers: Vec<String>,
}

/// Moulds to allow for.
#[derive(Debug, Clone, Serialize)]
pub struct AllowView {
    /// Index of the part.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// Moulds if none is lost.
    pub least: u32,
    /// Enough in 80 % of the replays.
    pub eight: u32,
    /// Enough in 90 % of the replays.
    pub nine: u32,
    /// Chance that one or more is lost.
    pub lost: String,
}

/// An amount.
#[derive(Debug, Clone, Serialize)]
pub struct AmountView {
    /// Of what, and what it is.
    pub name: String,
    /// P10, P50, P80 and P90.
    pub values: Vec<String>,
}

const MOULDS: usize = 24;
/// Kinds of work with a smaller share of the spread are not named.
const WORTH_NAMING: f64 = 0.05;

/// A kind of work in words: a step stands for the time that it takes.
fn driver(what: &str) -> String {
    match Step::WORDS.iter().any(|(word, _)| *word == what) {
        true => format!("time for {what} work"),
        false => what.to_owned(),
    }
}

pub(super) fn chances(build: &Build, risk: &Risk) -> Option<ChancesView> {
    let by = |share: f64| {
        let of = risk.finish.iter().find(|p| (p.share - share).abs() < 1e-9)?;
        Some(of.value)
    };
    let chart = spread(&Spread {
        id: "finish".into(),
        name: "When the machine is finished".into(),
        weeks: risk.weeks.clone(),
        named: risk.finish.iter().map(|p| ((p.share * 100.0).round() as u32, p.value)).collect(),
    });
    let percent = |share: f64| format!("{:.0}\u{a0}%", share * 100.0);
    let allow = |a: &crate::risk::Attempts| AllowView {
        part: a.part,
        name: plain(&build.parts[a.part].given.name),
        least: a.least,
        eight: a.allow[0],
        nine: a.allow[1],
        lost: percent(a.lost),
    };
    let units = build.header.units;
    let amounts = risk.amounts.iter().map(|s| AmountView {
        name: plain(&format!("{}: {}", s.of, s.what.words())),
        values: {
            let alike = Alike::of(s.kind, s.told.iter().map(|p| p.value), units);
            s.told.iter().map(|p| unit(&alike.show(p.value))).collect()
        },
    });
    let drivers = risk.drivers.iter().filter(|d| d.share >= WORTH_NAMING);
    Some(ChancesView {
        chart,
        replays: risk.replays,
        half: by(0.5)?.to_string(),
        eight: by(0.8)?.to_string(),
        nine: by(0.9)?.to_string(),
        half_words: day_words(by(0.5)?),
        nine_words: day_words(by(0.9)?),
        lost: format!("{:.1}", risk.lost),
        moulds: risk.attempts.iter().take(MOULDS).map(allow).collect(),
        moulds_more: risk.attempts.len().saturating_sub(MOULDS),
        amounts: amounts.collect(),
        drivers: drivers.map(|d| format!("{} {}", driver(d.what), percent(d.share))).collect(),
    })
}
