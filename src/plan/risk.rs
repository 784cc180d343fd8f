//! The plan under chance: castings that must be made again, hours and yields that turn out
//! otherwise. Replays the plan many times and tells when it may be finished and what it may take.

use super::amounts::{Named, amounts};
use super::calendar::Calendar;
use super::replay::{Decides, Outcome, Script, Shapes, Uncertain, Unit, replay};
use super::search::Layout;
use super::work::{Item, Work};
use crate::chance::Sample;
use crate::estimate::{Estimates, Gone};
use crate::figure::Kind;
use crate::learn::{scrap_prior, scrap_record};
use crate::manifest::{Difficulty, Id, Step};
use crate::model::Build;
use chrono::NaiveDate;
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Replays in one share of the work; shares are added up in order, so that the number of threads
/// changes nothing.
const SHARE: u64 = 512;
/// Kinds of work that vary together: the steps, then melting.
const MELTING: usize = 13;
/// What was done again, told after all kinds.
const AGAIN: usize = MELTING + 1;

/// Percentiles that are told.
pub const TOLD: [f64; 4] = [0.10, 0.50, 0.80, 0.90];

/// A value below which a share of the replays lies.
#[derive(Debug, Clone, Copy)]
pub struct Percentile<T> {
    /// The share.
    pub share: f64,
    /// The value.
    pub value: T,
    /// With 95 % confidence the true one is not below this ...
    pub low: T,
    /// ... nor above this: the sampling error of so many replays.
    pub high: T,
}

/// An amount under chance, in its SI unit.
#[derive(Debug, Clone)]
pub struct Spread {
    /// Name, such as the alloy.
    pub of: Id,
    /// What it is, in words.
    pub what: Gone,
    /// Kind of quantity.
    pub kind: Kind,
    /// The amount if nothing is lost and all is as likely.
    pub planned: f64,
    /// P10, P50, P80, P90.
    pub told: Vec<Percentile<f64>>,
}

/// How often the moulds of one part may have to be made.
#[derive(Debug, Clone)]
pub struct Attempts {
    /// Index of the part.
    pub part: usize,
    /// Mean number of moulds to come, lost ones made again counted.
    pub moulds: f64,
    /// Moulds to come if none is lost.
    pub least: u32,
    /// Moulds to allow for: enough in 80 % and in 90 % of the replays.
    pub allow: [u32; 2],
    /// Chance that at least one mould of it is lost.
    pub lost: f64,
}

/// How a kind of work adds to the spread.
#[derive(Debug, Clone, Copy)]
pub struct Driver {
    /// In words.
    pub what: &'static str,
    /// Mean minutes at the bench.
    pub minutes: f64,
    /// Its covariance with the moment of finish, as a share of that of all bench time.
    pub share: f64,
}

/// The plan under chance.
#[derive(Debug, Clone)]
pub struct Risk {
    /// How often it was replayed.
    pub replays: u64,
    /// Seed of the draws.
    pub seed: u64,
    /// The day it is all finished: P10, P50, P80, P90.
    pub finish: Vec<Percentile<NaiveDate>>,
    /// Metal, sand and fuel.
    pub amounts: Vec<Spread>,
    /// Kinds of work, the one that drives the spread most first.
    pub drivers: Vec<Driver>,
    /// Parts with moulds to come, the one that loses most moulds first.
    pub attempts: Vec<Attempts>,
    /// Replays finished in each week, by its first day.
    pub weeks: Vec<(NaiveDate, u32)>,
    /// Prior and record of each class of difficulty: a, b of the Beta before, lost, moulds.
    pub classes: Vec<(Difficulty, (f64, f64), u32, u32)>,
    /// Mean number of moulds lost.
    pub lost: f64,
}

fn uncertain(shapes: &mut Shapes, [low, likely, high]: [f64; 3]) -> Uncertain {
    shapes.pert(low, likely, high)
}

/// The plan as a script, and the names of its amounts.
fn script(
    build: &Build,
    estimates: &Estimates,
    work: &Work,
    calendar: &Calendar,
    layout: &Layout,
) -> (Script, Vec<Named>) {
    let mut shapes = Shapes::default();
    let classes = [Difficulty::Easy, Difficulty::Fair, Difficulty::Hard];
    let seen = scrap_record(build);
    let mut chances: Vec<Uncertain> = classes
        .iter()
        .map(|class| {
            let ((a, b), (lost, of)) =
                (scrap_prior(*class).0, seen.get(class).copied().unwrap_or_default());
            shapes.chance(a + f64::from(lost), b + f64::from(of - lost))
        })
        .collect();
    let mut class_of = |build: &Build, part: usize, shapes: &mut Shapes| {
        let given = &build.parts[part].casting.as_ref()?.given;
        Some(match &given.scrap {
            Some(own) => {
                chances.push(shapes.of(own, 1.0));
                chances.len() - 1
            }
            None => classes.iter().position(|c| *c == given.difficulty).unwrap_or(1),
        })
    };
    // Units in the order of the plan; ramming and pouring belong to their heat.
    enum Which {
        Item(usize),
        Heat(usize),
    }
    let mut order: Vec<(i64, i64, Which)> = Vec::new();
    for (n, item) in work.items.iter().enumerate() {
        if !matches!(item.step, Step::Ram | Step::Pour) {
            let placed = &layout.items[n];
            order.push((placed.start, placed.end, Which::Item(n)));
        }
    }
    for (h, heat) in layout.heats.iter().enumerate() {
        order.push((heat.lit, heat.over, Which::Heat(h)));
    }
    order.sort_by_key(|(start, end, which)| {
        let n = match which {
            Which::Item(n) => (0, *n),
            Which::Heat(h) => (1, *h),
        };
        (*start, *end, n)
    });
    let mut unit_of = vec![usize::MAX; work.items.len()];
    for (u, (_, _, which)) in order.iter().enumerate() {
        match which {
            Which::Item(n) => unit_of[*n] = u,
            Which::Heat(h) => {
                for m in &layout.heats[*h].moulds {
                    work.moulds[*m].items[..2].iter().flatten().for_each(|n| unit_of[*n] = u);
                }
            }
        }
    }
    let part_of = |item: &Item| match item.subject {
        super::subject::Subject::Part(p) => Some(p),
        super::subject::Subject::Pattern(_) => None,
    };
    let mut units = Vec::with_capacity(order.len());
    for (u, (_, _, which)) in order.iter().enumerate() {
        let (items, unbroken): (Vec<usize>, bool) = match which {
            Which::Item(n) => (vec![*n], false),
            Which::Heat(h) => {
                let moulds = layout.heats[*h].moulds.iter();
                (moulds.flat_map(|m| work.moulds[*m].items[..2].to_vec()).flatten().collect(), true)
            }
        };
        let mut minutes: Vec<(usize, Uncertain)> = items
            .iter()
            .filter(|n| work.items[**n].minutes > 0)
            .map(|n| {
                let item = &work.items[*n];
                (item.step as usize, uncertain(&mut shapes, item.minutes_span))
            })
            .collect();
        if unbroken {
            minutes.push((MELTING, uncertain(&mut shapes, work.melt_span)));
        }
        let first = &work.items[items[0]];
        // What waits for a pour waits for the cooling too.
        let cooling = unbroken.then(|| {
            let m = first.mould.and_then(|m| work.moulds[m].items[2]);
            m.map(|n| work.items[n].wait_span)
        });
        let waits = match cooling.flatten() {
            Some(span) => span,
            None if first.step == Step::ShakeOut => [0.0; 3],
            None => first.wait_span,
        };
        let outside: std::collections::BTreeSet<usize> = items
            .iter()
            .flat_map(|n| work.items[*n].before.iter().map(|b| unit_of[*b]))
            .filter(|b| *b != u)
            .collect();
        let after: std::collections::BTreeSet<usize> = items
            .iter()
            .flat_map(|n| work.items[*n].after.iter().map(|a| unit_of[*a]))
            .filter(|a| *a != u)
            .collect();
        units.push(Unit {
            minutes,
            fixed: 0.0,
            wait: (waits[2] > 0.0).then(|| uncertain(&mut shapes, waits)),
            unbroken,
            not_before: first.not_before,
            before: outside.len(),
            after: after.into_iter().collect(),
            part: part_of(first),
            kind: if unbroken { MELTING } else { first.step as usize },
            decides: None,
        });
    }
    // Decisions: where the castings of a part are inspected, or fettled if nobody inspects.
    for (index, part) in build.parts.iter().enumerate() {
        let find = |step: Step| {
            (0..work.items.len()).find(|n| {
                work.items[*n].subject == super::subject::Subject::Part(index)
                    && work.items[*n].step == step
            })
        };
        let Some(at) = find(Step::Inspect).or_else(|| find(Step::Fettle)) else { continue };
        let moulds: Vec<&super::work::Mould> = work
            .moulds
            .iter()
            .filter(|m| m.part == index || m.others.iter().any(|(i, _)| *i == index))
            .collect();
        let pieces = build.history.pieces(index);
        let cavities = estimates.castings[index].as_ref().map_or(1, |e| e.mould.cavities.max(1));
        let open = (pieces.poured + pieces.shaken_out + pieces.reworked).div_ceil(cavities);
        let count = moulds.len() as u32 + open;
        let Some(class) = class_of(build, index, &mut shapes) else { continue };
        if count == 0 || part.casting.is_none() {
            continue;
        }
        let estimate = estimates.castings[index].as_ref();
        let again = |step: Step| {
            let time = crate::estimate::step_time(build, part, estimate, step);
            let shares = estimate.map_or(1, |e| e.moulds.max(1));
            super::work::span(time.hands_on.as_ref(), shares)
        };
        let cool = crate::estimate::step_time(build, part, estimate, Step::ShakeOut);
        let cool = super::work::span(cool.wait.as_ref(), 1)[1];
        let steps = part.steps();
        let then = [Step::Core, Step::ShakeOut, Step::Fettle, Step::Inspect]
            .into_iter()
            .filter(|s| steps.contains(s))
            .map(|s| again(s)[1])
            .sum();
        units[unit_of[at]].decides = Some(Decides {
            moulds: count,
            class,
            again: vec![
                (Step::Ram as usize, uncertain(&mut shapes, again(Step::Ram))),
                (Step::Pour as usize, uncertain(&mut shapes, again(Step::Pour))),
                (MELTING, uncertain(&mut shapes, work.melt_span)),
            ],
            again_fixed: 0.0,
            then_wait: cool,
            then,
        });
    }
    let (amounts, names) = amounts(build, estimates, (work, layout), &mut shapes);
    let script = Script {
        units,
        people: calendar.people.clone(),
        chances,
        shapes,
        kinds: MELTING + 1,
        parts: build.parts.len(),
        amounts,
    };
    (script, names)
}

/// Percentiles of a sample, each told by `tell`.
fn told<T>(values: Vec<f64>, tell: impl Fn(f64) -> T) -> Vec<Percentile<T>> {
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

#[derive(Default)]
struct Sums {
    /// By kind: minutes, and minutes times finish.
    kinds: Vec<[f64; 2]>,
    finish: f64,
    again: Vec<Vec<u32>>,
    finishes: Vec<i64>,
    amounts: Vec<Vec<f64>>,
}

impl Sums {
    fn add(&mut self, outcome: Outcome) {
        let y = outcome.finish as f64;
        self.finish += y;
        self.kinds.resize(outcome.minutes.len(), [0.0; 2]);
        for (sums, x) in self.kinds.iter_mut().zip(&outcome.minutes) {
            let x = f64::from(*x);
            sums[0] += x;
            sums[1] += x * y;
        }
        self.again.resize(outcome.again.len(), Vec::new());
        for (again, lost) in self.again.iter_mut().zip(&outcome.again) {
            let slot = *lost as usize;
            again.resize(again.len().max(slot + 1), 0);
            again[slot] += 1;
        }
        self.finishes.push(outcome.finish);
        self.amounts.resize(outcome.amounts.len(), Vec::new());
        for (list, amount) in self.amounts.iter_mut().zip(outcome.amounts) {
            list.push(amount);
        }
    }

    fn join(&mut self, other: Sums) {
        self.kinds.resize(other.kinds.len(), [0.0; 2]);
        for (mine, theirs) in self.kinds.iter_mut().zip(other.kinds) {
            mine.iter_mut().zip(theirs).for_each(|(m, t)| *m += t);
        }
        self.finish += other.finish;
        self.again.resize(other.again.len(), Vec::new());
        for (mine, theirs) in self.again.iter_mut().zip(other.again) {
            mine.resize(mine.len().max(theirs.len()), 0);
            mine.iter_mut().zip(theirs).for_each(|(m, t)| *m += t);
        }
        self.finishes.extend(other.finishes);
        self.amounts.resize(other.amounts.len(), Vec::new());
        for (mine, theirs) in self.amounts.iter_mut().zip(other.amounts) {
            mine.extend(theirs);
        }
    }
}

/// Replays a plan. `progress` is told how many replays are done.
pub(super) fn risk(
    build: &Build,
    estimates: &Estimates,
    (work, calendar, layout): (&Work, &Calendar, &Layout),
    (replays, seed): (u64, u64),
    progress: &(dyn Fn(u64) + Sync),
) -> Risk {
    let (script, names) = script(build, estimates, work, calendar, layout);
    let shares: Vec<u64> = (0..replays.div_ceil(SHARE)).collect();
    let sums: Vec<Sums> = shares
        .par_iter()
        .map(|share| {
            let mut sums = Sums::default();
            let last = ((share + 1) * SHARE).min(replays);
            for number in share * SHARE..last {
                sums.add(replay(&script, seed, number));
            }
            progress(last - share * SHARE);
            sums
        })
        .collect();
    let mut all = Sums::default();
    sums.into_iter().for_each(|s| all.join(s));
    let n = replays.max(1) as f64;
    let day = |m: i64| calendar.clock((m - 1).max(0)).date();
    let finishes = all.finishes.iter().map(|m| *m as f64).collect();
    let finish = told(finishes, |m| day(m as i64));
    let mut weeks: BTreeMap<NaiveDate, u32> = BTreeMap::new();
    for &m in &all.finishes {
        let day = day(m);
        let week = day.week(chrono::Weekday::Mon).first_day();
        *weeks.entry(week).or_default() += 1;
    }
    let amounts = names.into_iter().zip(all.amounts);
    let amounts = amounts
        .map(|((of, what, planned), values)| Spread {
            of,
            what,
            kind: Kind::Mass,
            planned,
            told: told(values, |v| v),
        })
        .collect();
    let mean = all.finish / n;
    let with = |sums: &[f64; 2]| sums[1] / n - sums[0] / n * mean;
    let whole: f64 = all.kinds.iter().map(with).sum();
    let mut drivers: Vec<Driver> = all
        .kinds
        .iter()
        .enumerate()
        .filter(|(_, sums)| sums[0] > 0.0)
        .map(|(kind, sums)| {
            let what = match kind {
                MELTING => "ramming, melting and pouring",
                AGAIN => "castings made again",
                _ => Step::WORDS.get(kind).map_or("", |(word, _)| word),
            };
            let share = if whole > 0.0 { with(sums) / whole } else { 0.0 };
            Driver { what, minutes: sums[0] / n, share }
        })
        .collect();
    drivers.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.what.cmp(b.what)));
    let mut lost = 0.0;
    let mut attempts: Vec<Attempts> = Vec::new();
    for (part, again) in all.again.iter().enumerate() {
        let least = script.units.iter().filter(|u| u.part == Some(part));
        let least: u32 = least.filter_map(|u| u.decides.as_ref()).map(|d| d.moulds).sum();
        if least == 0 {
            continue;
        }
        let average: f64 =
            again.iter().enumerate().map(|(k, c)| k as f64 * f64::from(*c)).sum::<f64>() / n;
        lost += average;
        let enough = |share: f64| {
            let mut seen = 0.0;
            let found = again.iter().position(|c| {
                seen += f64::from(*c);
                seen >= share * n
            });
            least + found.unwrap_or(0) as u32
        };
        attempts.push(Attempts {
            part,
            moulds: f64::from(least) + average,
            least,
            allow: [enough(0.8), enough(0.9)],
            lost: 1.0 - again.first().map_or(0.0, |c| f64::from(*c) / n),
        });
    }
    attempts.sort_by(|a, b| {
        let lost = |x: &Attempts| x.moulds - f64::from(x.least);
        lost(b).total_cmp(&lost(a)).then(a.part.cmp(&b.part))
    });
    let seen = scrap_record(build);
    let classes = [Difficulty::Easy, Difficulty::Fair, Difficulty::Hard]
        .into_iter()
        .map(|c| {
            let (lost, of) = seen.get(&c).copied().unwrap_or_default();
            (c, scrap_prior(c).0, lost, of)
        })
        .collect();
    Risk {
        replays,
        seed,
        finish,
        amounts,
        drivers,
        attempts,
        weeks: weeks.into_iter().collect(),
        classes,
        lost,
    }
}
