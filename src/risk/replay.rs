//! One replay of a plan: hours as they may turn out, castings that must be made again, and the
//! day it is all finished.

use super::script::{Decides, MELTING, Script, Unit};
use crate::chance::{Stream, Uncertain};
use crate::plan::{Minute, Window};
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Share of the scatter of a kind of work that all jobs of that kind have in common, such as the
/// builder's own pace; the rest differs from job to job. From memory.
pub const SHARED: f64 = 0.5;

/// A chance of loss above this is drawn as this, so that every replay ends.
const MOST_LOST: f64 = 0.999;

/// What came out of a replay.
#[derive(Debug, Clone, Default)]
pub(super) struct Outcome {
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
    /// Moves on to a moment in working hours; beyond the last window to `from`.
    fn open(&mut self, from: Minute) {
        self.now = self.now.max(from);
        while self.windows.get(self.at).is_some_and(|w| w.to <= self.now) {
            self.at += 1;
        }
        if let Some(w) = self.windows.get(self.at) {
            self.now = self.now.max(w.from);
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

/// Replays the script once.
pub(super) fn once(script: &Script, random: &mut Stream) -> Outcome {
    let mut replay = Replay::new(script, random);
    while replay.next() {}
    replay.amounts();
    replay.out
}

/// How far a decision has come.
#[derive(Clone, Copy)]
enum Stage {
    /// Nothing is known of the castings.
    Open,
    /// So many moulds were lost and are to be made again; the next is to be poured, or to be cleaned.
    Again { left: u32, poured: bool },
}

struct Replay<'a> {
    script: &'a Script,
    random: &'a mut Stream,
    /// What all jobs of a kind have in common, standard normal scores.
    kinds: Vec<f64>,
    /// The chance that a mould is lost, by kind of loss.
    chances: Vec<f64>,
    /// By unit: for how many others it still waits.
    waits: Vec<usize>,
    /// By unit: not before this minute.
    from: Vec<Minute>,
    stages: Vec<Stage>,
    /// Units that can be done now, the most urgent first.
    ready: BinaryHeap<Reverse<usize>>,
    /// Units that can be done from a minute on.
    future: BinaryHeap<Reverse<(Minute, usize)>>,
    benches: Vec<Bench<'a>>,
    longest: Minute,
    out: Outcome,
}

impl<'a> Replay<'a> {
    fn new(script: &'a Script, random: &'a mut Stream) -> Self {
        let mut score = || -> f64 { StandardNormal.sample(random) };
        let kinds: Vec<f64> = (0..=MELTING).map(|_| score()).collect();
        let chances = script.chances.iter().map(|c| script.tables.at(c, score())).collect();
        let windows = || script.people.iter().flatten();
        let from: Vec<Minute> = script.units.iter().map(|u| u.not_before.max(0)).collect();
        let free = script.units.iter().enumerate().filter(|(_, u)| u.before == 0);
        Self {
            script,
            random,
            kinds,
            chances,
            waits: script.units.iter().map(|u| u.before).collect(),
            stages: vec![Stage::Open; script.units.len()],
            ready: BinaryHeap::new(),
            future: free.map(|(n, _)| Reverse((from[n], n))).collect(),
            from,
            benches: script.people.iter().map(|w| Bench { windows: w, at: 0, now: 0 }).collect(),
            longest: windows().map(|w| w.to - w.from).max().unwrap_or(0),
            out: Outcome {
                again: vec![0; script.parts],
                minutes: vec![0.0; MELTING + 2],
                ..Outcome::default()
            },
        }
    }

    fn score(&mut self) -> f64 {
        StandardNormal.sample(self.random)
    }

    /// Minutes of work, drawn anew for each doing.
    fn draw(&mut self, parts: &[(usize, Uncertain)]) -> f64 {
        let (common, own) = (SHARED.sqrt(), (1.0 - SHARED).sqrt());
        parts.iter().fold(0.0, |sum, (kind, of)| {
            let score = common * self.kinds[*kind] + own * self.score();
            sum + self.script.tables.at(of, score)
        })
    }

    /// Gives whoever is free first the most urgent unit; false when nothing is left to do.
    fn next(&mut self) -> bool {
        let benches = self.benches.iter().enumerate();
        let Some((who, now)) = benches.map(|(b, bench)| (b, bench.now)).min_by_key(|b| b.1) else {
            return false;
        };
        while let Some(Reverse((at, n))) = self.future.peek().copied()
            && at <= now
        {
            self.future.pop();
            self.ready.push(Reverse(n));
        }
        match self.ready.pop() {
            Some(Reverse(n)) => self.work(who, n),
            None => {
                let Some(Reverse((at, _))) = self.future.peek().copied() else { return false };
                self.benches[who].open(at);
            }
        }
        true
    }

    /// Lets a person do a unit, or put it off where what is left of the session is too short.
    fn work(&mut self, who: usize, n: usize) {
        let script = self.script;
        let unit = &script.units[n];
        self.benches[who].open(0);
        let again = match (&unit.decides, self.stages[n]) {
            (Some(decides), Stage::Again { poured, .. }) => Some((decides, poured)),
            _ => None,
        };
        let minutes = match again {
            Some((decides, true)) => decides.then,
            Some((decides, false)) => self.draw(&decides.again),
            None => self.draw(&unit.minutes),
        };
        let minutes = (minutes.round() as Minute).max(0);
        let unbroken = again.map_or(unit.unbroken, |(_, poured)| !poured);
        let minutes = if unbroken { minutes.min(self.longest) } else { minutes };
        let bench = &mut self.benches[who];
        if unbroken && minutes > bench.left() && bench.at < bench.windows.len() {
            // Something else now.
            match bench.next_of(minutes) {
                Some(at) => self.future.push(Reverse((at, n))),
                None => {
                    bench.at += 1;
                    self.ready.push(Reverse(n));
                }
            }
            return;
        }
        bench.work(minutes);
        let now = bench.now;
        let kind = if again.is_some() { MELTING + 1 } else { unit.kind };
        self.out.minutes[kind] += minutes as f32;
        if !unit.decides.as_ref().is_some_and(|decides| self.redo(n, decides, now)) {
            self.over(unit, now);
        }
    }

    /// Takes a decision further; whether some of it is still to be made again.
    fn redo(&mut self, n: usize, decides: &Decides, now: Minute) -> bool {
        let left = match self.stages[n] {
            Stage::Open => {
                let lost = self.lost(decides);
                if let Some(part) = self.script.units[n].part {
                    self.out.again[part] += lost;
                }
                lost
            }
            Stage::Again { left, poured: false } => {
                self.stages[n] = Stage::Again { left, poured: true };
                self.future.push(Reverse((now + decides.then_wait as Minute, n)));
                return true;
            }
            Stage::Again { left, poured: true } => left - 1,
        };
        self.stages[n] = Stage::Again { left, poured: false };
        if left > 0 {
            self.future.push(Reverse((now, n)));
        }
        left > 0
    }

    /// Moulds lost until all are good: each is made until it is, so that its failures are
    /// geometric, drawn by inversion.
    fn lost(&mut self, decides: &Decides) -> u32 {
        let chance = self.chances[decides.loss].clamp(0.0, MOST_LOST);
        let mut failures = || {
            let u: f64 = 1.0 - self.random.random::<f64>();
            if chance > 0.0 { (u.ln() / chance.ln()) as u32 } else { 0 }
        };
        (0..decides.moulds).map(|_| failures()).sum()
    }

    /// A unit is over: what waits for it can begin once its wait has gone by.
    fn over(&mut self, unit: &Unit, now: Minute) {
        let wait = unit.wait.as_ref().map_or(0.0, |of| {
            let score = self.score();
            self.script.tables.at(of, score)
        });
        let over = now + wait.round() as Minute;
        self.out.finish = self.out.finish.max(over);
        for &next in &unit.after {
            self.from[next] = self.from[next].max(over);
            self.waits[next] -= 1;
            if self.waits[next] == 0 {
                self.future.push(Reverse((self.from[next], next)));
            }
        }
    }

    /// What all moulds took; what one takes of an amount is high or low for all of it alike.
    fn amounts(&mut self) {
        for amount in &self.script.amounts {
            let score = self.score();
            let each = amount.each.iter().zip(&amount.moulds);
            let each = each.map(|((part, of), moulds)| {
                let again = part.map_or(0, |p| self.out.again[p]);
                self.script.tables.at(of, score) * f64::from(moulds + again)
            });
            self.out.amounts.push(each.sum());
        }
    }
}
