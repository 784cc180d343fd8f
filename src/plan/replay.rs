//! One replay of a plan: hours as they may turn out, castings that must be made again, and the
//! day it is all finished.

use super::calendar::{Minute, Window};
use crate::chance::{Beta, Stream, stream};
use crate::figure::{Figure, Quantity};
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use statrs::distribution::{ContinuousCDF, Normal};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Share of the scatter of a kind of work that all jobs of that kind have in common, such as the
/// builder's own pace; the rest differs from job to job. From memory.
pub const SHARED: f64 = 0.5;

/// Standard deviations that a quantile table spans to either side.
const SPAN: f64 = 3.5;
/// Points of a quantile table.
const POINTS: usize = 65;

/// A quantity that may turn out low or high, as a table of its values by standard normal score.
#[derive(Debug, Clone)]
pub struct Uncertain {
    low: f64,
    width: f64,
    shape: usize,
}

/// Chance that a standard normal score is not higher.
fn normal(score: f64) -> f64 {
    Normal::standard().cdf(score)
}

/// Quantile tables on 0..1, shared among quantities of one shape.
#[derive(Debug, Clone, Default)]
pub struct Shapes {
    keys: Vec<i64>,
    tables: Vec<[f32; POINTS]>,
}

impl Shapes {
    /// The score of each point.
    fn scores() -> impl Iterator<Item = f64> {
        (0..POINTS).map(|i| SPAN * (2.0 * i as f64 / (POINTS - 1) as f64 - 1.0))
    }

    /// Adds a table of a beta distribution, once.
    fn add(&mut self, key: i64, a: f64, b: f64) -> usize {
        if let Some(found) = self.keys.iter().position(|k| *k == key) {
            return found;
        }
        let mut table = [0.5f32; POINTS];
        if let Some(beta) = Beta::new(a, b) {
            for (slot, z) in table.iter_mut().zip(Self::scores()) {
                *slot = beta.quantile(normal(z)) as f32;
            }
        }
        self.keys.push(key);
        self.tables.push(table);
        self.tables.len() - 1
    }

    /// A figure, so many times.
    pub fn of<Q: Quantity>(&mut self, figure: &Figure<Q>, factor: f64) -> Uncertain {
        let range = figure.node().range();
        self.pert(range.low * factor, range.likely * factor, range.high * factor)
    }

    /// A quantity between low and high, most likely at `likely`: the beta distribution of PERT
    /// (Malcolm, Roseboom, Clark, Fazar, Operations Research 7, 1959), weight 4 on the likely
    /// value.
    pub fn pert(&mut self, low: f64, likely: f64, high: f64) -> Uncertain {
        // Shapes are rounded to a fortieth of the range: far below what is known of any range.
        const STEPS: f64 = 40.0;
        let width = high - low;
        let mode = if width > 0.0 { ((likely - low) / width * STEPS).round() } else { 0.0 };
        let at = mode / STEPS;
        let shape = self.add(mode as i64, 1.0 + 4.0 * at, 1.0 + 4.0 * (1.0 - at));
        Uncertain { low, width, shape }
    }

    /// A chance with this beta distribution.
    pub fn chance(&mut self, a: f64, b: f64) -> Uncertain {
        let key = 1_000_000 + ((a * 64.0).round() as i64) * 1_000_003 + (b * 64.0).round() as i64;
        let shape = self.add(key, a, b);
        Uncertain { low: 0.0, width: 1.0, shape }
    }

    fn at(&self, of: &Uncertain, score: f64) -> f64 {
        let place = (score.clamp(-SPAN, SPAN) + SPAN) / (2.0 * SPAN) * (POINTS - 1) as f64;
        let i = (place as usize).min(POINTS - 2);
        let table = &self.tables[of.shape];
        let part = (place - i as f64) as f32;
        let value = table[i] + (table[i + 1] - table[i]) * part;
        of.low + of.width * f64::from(value)
    }
}

/// A piece of work in a replay.
#[derive(Debug, Clone)]
pub struct Unit {
    /// Time at the bench, in parts that vary by their kind of work.
    pub minutes: Vec<(usize, Uncertain)>,
    /// Fixed minutes with them.
    pub fixed: f64,
    /// Minutes after it by the clock.
    pub wait: Option<Uncertain>,
    /// Whether it cannot be broken off at the end of a session.
    pub unbroken: bool,
    /// Not before this minute.
    pub not_before: Minute,
    /// How many units it waits for.
    pub before: usize,
    /// What waits for it.
    pub after: Vec<usize>,
    /// Part that its time is told of, by index.
    pub part: Option<usize>,
    /// Kind of work that its time is told of.
    pub kind: usize,
    /// Where the moulds of a part are decided upon: what may have to be done again.
    pub decides: Option<Decides>,
}

/// A decision on the castings of one part, and what doing one mould of it again takes.
#[derive(Debug, Clone)]
pub struct Decides {
    /// Moulds that are decided upon.
    pub moulds: u32,
    /// Their class of difficulty, or a part's own.
    pub class: usize,
    /// Ramming, melting and pouring one again.
    pub again: Vec<(usize, Uncertain)>,
    /// Fixed minutes with it.
    pub again_fixed: f64,
    /// Cooling, then shaking out, fettling, inspecting it again.
    pub then_wait: f64,
    /// Minutes at the bench for that.
    pub then: f64,
}

/// All that replays share.
#[derive(Debug, Clone)]
pub struct Script {
    /// Pieces of work, the most urgent first.
    pub units: Vec<Unit>,
    /// Hours of each person.
    pub people: Vec<Vec<Window>>,
    /// Chance that a mould is lost, by class.
    pub chances: Vec<Uncertain>,
    /// Quantile tables.
    pub shapes: Shapes,
    /// Kinds of work.
    pub kinds: usize,
    /// Parts of the build.
    pub parts: usize,
    /// Amounts that grow with each mould, such as metal of an alloy.
    pub amounts: Vec<Amount>,
}

/// Something that is used up by moulds.
#[derive(Debug, Clone)]
pub struct Amount {
    /// By part: how much one mould takes, in the amount's own unit.
    pub each: Vec<(Option<usize>, Uncertain)>,
    /// Moulds to come, by part as in `each`.
    pub moulds: Vec<u32>,
}

/// What came out of a replay.
#[derive(Debug, Clone, Default)]
pub struct Outcome {
    /// When all was finished.
    pub finish: Minute,
    /// Moulds rammed again, by part.
    pub again: Vec<u32>,
    /// Minutes at the bench, by kind of work; last, what was done again.
    pub minutes: Vec<f32>,
    /// Amounts.
    pub amounts: Vec<f64>,
}

/// A person's place in their hours.
struct Bench<'a> {
    windows: &'a [Window],
    at: usize,
    now: Minute,
}

impl Bench<'_> {
    /// Moves on to a moment in working hours; false beyond the last.
    fn open(&mut self, from: Minute) -> bool {
        self.now = self.now.max(from);
        while self.windows.get(self.at).is_some_and(|w| w.to <= self.now) {
            self.at += 1;
        }
        match self.windows.get(self.at) {
            Some(w) => {
                self.now = self.now.max(w.from);
                true
            }
            None => false,
        }
    }

    /// Works for so long; breaks at the ends of sessions.
    fn work(&mut self, mut minutes: Minute) {
        while minutes > 0 {
            let Some(w) = self.windows.get(self.at) else {
                self.now += minutes;
                return;
            };
            self.now = self.now.max(w.from);
            let piece = (w.to - self.now).min(minutes);
            minutes -= piece;
            self.now += piece;
            if self.now >= w.to {
                self.at += 1;
            }
        }
    }

    fn left(&self) -> Minute {
        self.windows.get(self.at).map_or(0, |w| w.to - self.now)
    }

    /// The next session that is long enough, or the longest there is.
    fn next_of(&self, minutes: Minute) -> Option<Minute> {
        let later = self.windows.get(self.at + 1..)?;
        later.iter().find(|w| w.to - w.from >= minutes).map(|w| w.from)
    }
}

/// Replays the script once; the same number always gives the same outcome.
pub fn replay(script: &Script, seed: u64, number: u64) -> Outcome {
    let mut random = stream(seed, number);
    let score = |random: &mut Stream| -> f64 { StandardNormal.sample(random) };
    let kinds: Vec<f64> = (0..script.kinds).map(|_| score(&mut random)).collect();
    let chances: Vec<f64> =
        script.chances.iter().map(|c| script.shapes.at(c, score(&mut random))).collect();
    let (common, own) = (SHARED.sqrt(), (1.0 - SHARED).sqrt());
    let draw = |random: &mut Stream, parts: &[(usize, Uncertain)], fixed: f64| {
        parts.iter().fold(fixed, |sum, (kind, of)| {
            let z = common * kinds[*kind] + own * score(random);
            sum + script.shapes.at(of, z)
        })
    };
    let mut out = Outcome {
        finish: 0,
        again: vec![0; script.parts],
        minutes: vec![0.0; script.kinds + 1],
        amounts: Vec::new(),
    };
    let units = &script.units;
    let mut waits: Vec<u32> = units.iter().map(|u| u.before as u32).collect();
    let mut from: Vec<Minute> = units.iter().map(|u| u.not_before.max(0)).collect();
    // Moulds that a decision still has to do again; drawn when it first comes up.
    let mut to_redo: Vec<Option<u32>> = vec![None; units.len()];
    let mut then: Vec<bool> = vec![false; units.len()];
    let mut ready: BinaryHeap<Reverse<usize>> = BinaryHeap::new();
    let mut future: BinaryHeap<Reverse<(Minute, usize)>> = BinaryHeap::new();
    for (n, w) in waits.iter().enumerate() {
        if *w == 0 {
            future.push(Reverse((from[n], n)));
        }
    }
    let mut benches: Vec<Bench<'_>> =
        script.people.iter().map(|w| Bench { windows: w, at: 0, now: 0 }).collect();
    let longest: Minute = script.people.iter().flatten().map(|w| w.to - w.from).max().unwrap_or(0);
    let mut aside: Vec<usize> = Vec::new();
    while let Some(bench) = benches.iter_mut().min_by_key(|b| b.now) {
        while let Some(Reverse((at, n))) = future.peek().copied()
            && at <= bench.now
        {
            future.pop();
            ready.push(Reverse(n));
        }
        let Some(Reverse(n)) = ready.pop() else {
            let Some(Reverse((at, _))) = future.peek().copied() else { break };
            if !bench.open(at) {
                bench.now = bench.now.max(at);
            }
            continue;
        };
        bench.open(bench.now);
        let unit = &units[n];
        let redo = unit.decides.as_ref().filter(|_| to_redo[n].is_some_and(|left| left > 0));
        // Drawn once for each doing.
        let minutes = match redo {
            Some(d) if then[n] => d.then,
            Some(d) => draw(&mut random, &d.again, d.again_fixed),
            None => draw(&mut random, &unit.minutes, unit.fixed),
        };
        let unbroken = unit.unbroken || (redo.is_some() && !then[n]);
        let whole = (minutes.round() as Minute).max(0);
        let whole = if unbroken { whole.min(longest) } else { whole };
        if unbroken && whole > bench.left() && bench.at < bench.windows.len() {
            // Not in what is left of this session: later, and something else now.
            match bench.next_of(whole) {
                Some(at) => future.push(Reverse((at, n))),
                None => {
                    bench.at += 1;
                    aside.push(n);
                }
            }
            ready.extend(aside.drain(..).map(Reverse));
            continue;
        }
        bench.work(whole);
        let now = bench.now;
        out.minutes[if redo.is_some() { script.kinds } else { unit.kind }] += whole as f32;
        if let Some(d) = &unit.decides {
            let left = match to_redo[n] {
                None => {
                    let chance = chances[d.class].min(0.95);
                    let mut lost = 0;
                    for _ in 0..d.moulds {
                        // Each mould until it is good.
                        while random.random::<f64>() < chance && lost < 60 {
                            lost += 1;
                        }
                    }
                    if let Some(part) = unit.part {
                        out.again[part] += lost;
                    }
                    to_redo[n] = Some(lost);
                    lost
                }
                Some(left) if left > 0 && !then[n] => {
                    then[n] = true;
                    future.push(Reverse((now + d.then_wait as Minute, n)));
                    continue;
                }
                Some(left) => {
                    then[n] = false;
                    let left = left.saturating_sub(1);
                    to_redo[n] = Some(left);
                    left
                }
            };
            if left > 0 {
                future.push(Reverse((now, n)));
                continue;
            }
        }
        let wait = unit.wait.as_ref().map_or(0.0, |w| script.shapes.at(w, score(&mut random)));
        let over = now + wait.round() as Minute;
        out.finish = out.finish.max(over);
        for &next in &unit.after {
            from[next] = from[next].max(over);
            waits[next] -= 1;
            if waits[next] == 0 {
                future.push(Reverse((from[next], next)));
            }
        }
    }
    out.amounts = script
        .amounts
        .iter()
        .map(|amount| {
            let score = score(&mut random);
            let each = amount.each.iter().zip(&amount.moulds);
            each.map(|((part, of), moulds)| {
                let again = part.map_or(0, |p| out.again[p]);
                script.shapes.at(of, score) * f64::from(moulds + again)
            })
            .sum()
        })
        .collect();
    out
}
