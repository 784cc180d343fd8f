//! A person's place in their hours, in a replay.

use crate::chance::Stream;
use crate::plan::{Minute, Window};
use rand::RngExt;

/// Share of sessions that are missed: one in ten. From memory.
pub const MISSED: f64 = 0.1;

/// A person's place in their hours, some of which are missed.
pub(super) struct Bench<'a> {
    windows: &'a [Window],
    at: usize,
    /// Minutes at the end of the session that are kept for clearing up after a heat.
    kept: Minute,
    /// When the person can begin something: within a session, unless there are no more.
    pub now: Minute,
    /// When the last work was over.
    pub last: Minute,
}

impl<'a> Bench<'a> {
    pub fn new(windows: &'a [Window], random: &mut Stream) -> Self {
        let mut bench = Self { windows, at: 0, kept: 0, now: 0, last: 0 };
        if bench.missed(random) {
            bench.skip(random);
        }
        bench.open(0, random);
        bench
    }

    fn missed(&self, random: &mut Stream) -> bool {
        random.random::<f64>() < MISSED
    }

    /// Goes on to the next session that is not missed.
    fn skip(&mut self, random: &mut Stream) {
        self.kept = 0;
        self.at += 1;
        while self.at < self.windows.len() && self.missed(random) {
            self.at += 1;
        }
    }

    /// Moves on to a moment in working hours, not before `from`; beyond the last session to `from`.
    pub fn open(&mut self, from: Minute, random: &mut Stream) {
        self.now = self.now.max(from);
        while self.windows.get(self.at).is_some_and(|w| w.to - self.kept <= self.now) {
            self.skip(random);
        }
        if let Some(w) = self.windows.get(self.at) {
            self.now = self.now.max(w.from);
        }
    }

    /// Works for so long; breaks at the ends of sessions.
    pub fn work(&mut self, mut minutes: Minute, random: &mut Stream) {
        self.last = self.now;
        while minutes > 0 {
            let left = if self.endless() { minutes } else { self.left().min(minutes) };
            minutes -= left;
            self.last = self.now + left;
            self.open(self.last, random);
        }
    }

    /// Is busy until a moment of this session.
    pub fn until(&mut self, to: Minute, random: &mut Stream) {
        self.open(to, random);
    }

    /// Whether there are no more sessions: beyond them all hours are taken to be open.
    pub fn endless(&self) -> bool {
        self.at >= self.windows.len()
    }

    /// What is left of the session.
    pub fn left(&self) -> Minute {
        self.windows.get(self.at).map_or(0, |w| w.to - self.kept - self.now)
    }

    /// Minutes that are still to be kept for clearing up for so long.
    pub fn to_keep(&self, minutes: Minute) -> Minute {
        if self.endless() { 0 } else { (minutes - self.kept).max(0) }
    }

    /// Keeps the end of the session for clearing up.
    pub fn keep(&mut self, minutes: Minute) {
        self.kept += self.to_keep(minutes);
    }

    /// When the session is over, but for clearing up.
    pub fn closes(&self) -> Minute {
        self.windows.get(self.at).map_or(self.now, |w| w.to - self.kept)
    }

    /// When the next session begins that is long enough.
    pub fn next_of(&self, minutes: Minute) -> Option<Minute> {
        let later = self.windows.get(self.at + 1..)?;
        later.iter().find(|w| w.to - w.from >= minutes).map(|w| w.from)
    }

    /// Whether the person is in the shop from one moment to another, and has nothing to do before.
    pub fn there(&self, from: Minute, to: Minute) -> bool {
        self.endless()
            || self.now <= from
                && self.windows[self.at].from <= from
                && to <= self.windows[self.at].to - self.kept
    }

    /// When the person can next begin something after a moment.
    pub fn begins_after(&self, moment: Minute) -> Option<Minute> {
        if self.now > moment {
            return Some(self.now);
        }
        let later = self.windows.get(self.at..)?;
        later.iter().map(|w| w.from).find(|from| *from > moment)
    }
}
