//! What the replays say, put together.

use super::amounts::Named;
use super::replay::Outcome;
use super::script::{MELTING, Script};
use super::{Attempts, Class, Driver, Percentile, Risk, Spread};
use crate::chance::Sample;
use crate::figure::Kind;
use crate::learn;
use crate::manifest::{Difficulty, Step};
use crate::model::Build;
use crate::plan::Calendar;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Percentiles that are told.
const TOLD: [f64; 4] = [0.10, 0.50, 0.80, 0.90];

/// Percentiles of a sample, each told by `tell`.
fn percentiles<T>(values: Vec<f64>, tell: impl Fn(f64) -> T) -> Vec<Percentile<T>> {
    let Some(sample) = Sample::new(values) else { return Vec::new() };
    let (first, last) = (sample.sorted()[0], sample.sorted()[sample.sorted().len() - 1]);
    let quantiles = TOLD.iter().map(|share| sample.quantile(*share));
    quantiles
        .map(|q| Percentile {
            share: q.chance,
            value: tell(q.value),
            low: tell(q.low.max(first)),
            high: tell(q.high.min(last)),
        })
        .collect()
}

fn weeks(days: impl Iterator<Item = NaiveDate>) -> Vec<(NaiveDate, u32)> {
    let mut weeks: BTreeMap<NaiveDate, u32> = BTreeMap::new();
    for day in days {
        let monday = day.week(chrono::Weekday::Mon).checked_first_day().unwrap_or(day);
        *weeks.entry(monday).or_default() += 1;
    }
    weeks.into_iter().collect()
}

fn in_words(kind: usize) -> &'static str {
    match kind {
        MELTING => "ramming, melting and pouring",
        kind => Step::WORDS.get(kind).map_or("castings made again", |(word, _)| word),
    }
}

/// What drives the finish: the covariance of each kind of work with it, as a share of their sum.
fn drivers(outcomes: &[Outcome]) -> Vec<Driver> {
    let n = outcomes.len().max(1) as f64;
    let finish = outcomes.iter().map(|o| o.finish as f64).sum::<f64>() / n;
    let kinds = outcomes.first().map_or(0, |o| o.minutes.len());
    let of = |kind: usize| {
        let each = outcomes.iter().map(|o| (f64::from(o.minutes[kind]), o.finish as f64));
        let sums = each.fold([0.0; 2], |sums, (x, y)| [sums[0] + x, sums[1] + x * (y - finish)]);
        (kind, sums[0] / n, sums[1] / n)
    };
    let all: Vec<_> = (0..kinds).map(of).filter(|(_, minutes, _)| *minutes > 0.0).collect();
    let whole: f64 = all.iter().map(|(_, _, with)| with).sum();
    let mut drivers: Vec<Driver> = all
        .into_iter()
        .map(|(kind, minutes, with)| Driver {
            what: in_words(kind),
            minutes,
            share: if whole > 0.0 { with / whole } else { 0.0 },
        })
        .collect();
    drivers.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.what.cmp(b.what)));
    drivers
}

/// Moulds that each part may take, by the distribution of its tries.
fn attempts(script: &Script) -> Vec<Attempts> {
    let decisions = script.units.iter().filter_map(|u| u.decides.as_ref());
    let mut attempts: Vec<Attempts> = decisions
        .filter_map(|decides| {
            let tries = script.losses[decides.loss].moulds(decides.moulds)?;
            let enough = |chance: f64| tries.quantile(chance).map_or(u32::MAX, |n| n as u32);
            Some(Attempts {
                part: decides.part,
                moulds: tries.mean().unwrap_or(f64::INFINITY),
                least: decides.moulds,
                allow: [enough(0.8), enough(0.9)],
                lost: 1.0 - tries.pmf(tries.least()),
            })
        })
        .collect();
    attempts.sort_by(|a, b| {
        let lost = |x: &Attempts| x.moulds - f64::from(x.least);
        lost(b).total_cmp(&lost(a)).then(a.part.cmp(&b.part))
    });
    attempts
}

fn classes(build: &Build) -> Vec<Class> {
    let seen = learn::scrap_record(build);
    [Difficulty::Easy, Difficulty::Fair, Difficulty::Hard]
        .into_iter()
        .map(|difficulty| {
            let (lost, of) = seen.get(&difficulty).copied().unwrap_or_default();
            let prior = learn::scrap_prior(difficulty).0;
            Class { difficulty, prior, now: learn::scrap_belief(build, difficulty), lost, of }
        })
        .collect()
}

/// All that the replays tell.
pub(super) fn told(
    build: &Build,
    calendar: &Calendar,
    (script, names): (&Script, Vec<Named>),
    outcomes: Vec<Outcome>,
    seed: u64,
) -> Risk {
    let day = |minute: i64| calendar.clock((minute - 1).max(0)).date();
    let finishes = outcomes.iter().map(|o| o.finish as f64).collect();
    let attempts = attempts(script);
    let amounts = names.into_iter().enumerate().map(|(at, (of, what, planned))| {
        let values = outcomes.iter().map(|o| o.amounts[at]).collect();
        Spread { of, what, kind: Kind::Mass, planned, told: percentiles(values, |v| v) }
    });
    Risk {
        replays: outcomes.len() as u64,
        seed,
        finish: percentiles(finishes, |minute| day(minute as i64)),
        amounts: amounts.collect(),
        drivers: drivers(&outcomes),
        lost: attempts.iter().map(|a| a.moulds - f64::from(a.least)).sum(),
        attempts,
        weeks: weeks(outcomes.iter().map(|o| day(o.finish))),
        classes: classes(build),
    }
}
