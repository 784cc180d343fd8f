//! What no plan can beat.

use super::heats::Melted;
use crate::manifest::Step;
use crate::plan::calendar::{Calendar, Minute, Window};
use crate::plan::work::{Item, Limits, Work};

/// Minutes of a day.
const DAY: Minute = 24 * 60;
/// Moments from which on the work that is free only then is summed up: so many, fewer where there is
/// much work.
const FROM: usize = 32;
const SUMMED: usize = 100_000;
/// No bound is looked for further ahead, days.
const MOST: i64 = 3 * 366;

/// No plan finishes before this minute: the longest chain with everybody free for it, heats in
/// sessions that are long enough; and no day at the end of which more work, more work on a machine or
/// more heats would have to be done between two moments than there is room for.
pub fn bound(work: &Work, limits: &Limits, calendar: &Calendar) -> Minute {
    let room = Room::new(work, limits, calendar);
    let heads = room.heads();
    let ends = (0..work.items.len()).map(|n| room.end(n, &heads) + after(&work.items[n]));
    let chain = ends.max().unwrap_or(0);
    // How many days later, at least: ever longer strides, then halves.
    let first = Calendar::day(chain - 1);
    let late = |days: i64| days <= MOST && room.too_much(&heads, (first + days + 1) * DAY);
    if !late(0) {
        return chain;
    }
    let (mut short, mut enough) = (0, 1);
    while late(enough) {
        (short, enough) = (enough, 2 * enough);
    }
    while enough - short > 1 {
        let middle = (short + enough) / 2;
        if late(middle) { short = middle } else { enough = middle }
    }
    ((first + enough) * DAY + 1).max(chain)
}

/// By the clock after the work on an item: a shake-out waits before it.
fn after(item: &Item) -> Minute {
    if item.step == Step::ShakeOut { 0 } else { item.wait }
}

/// By the clock between the pour of a mould and its shake-out.
fn cooling(item: &Item) -> Minute {
    if item.step == Step::ShakeOut && item.mould.is_some() { item.wait } else { 0 }
}

/// What there is room for.
struct Room<'a> {
    work: &'a Work,
    limits: &'a Limits,
    calendar: &'a Calendar,
    order: Vec<usize>,
    /// Windows of all people, first to last.
    windows: Vec<Window>,
    /// The same where they overlap made one, and the minutes before each.
    open: Vec<(Window, Minute)>,
    /// Days on which a heat fits into a session, and how many heats.
    slots: Vec<(Minute, Minute, usize)>,
}

impl<'a> Room<'a> {
    fn new(work: &'a Work, limits: &'a Limits, calendar: &'a Calendar) -> Self {
        let mut windows: Vec<Window> = calendar.people.iter().flatten().copied().collect();
        windows.sort_by_key(|w| (w.from, w.to));
        let mut open: Vec<(Window, Minute)> = Vec::new();
        for w in &windows {
            match open.last_mut() {
                Some((last, _)) if w.from <= last.to => last.to = last.to.max(w.to),
                last => {
                    let before = last.map_or(0, |(last, before)| *before + last.to - last.from);
                    open.push((*w, before));
                }
            }
        }
        let pours = work.moulds.iter().filter_map(|m| m.items[1]);
        let least = work.melt + pours.map(|n| work.items[n].minutes).min().unwrap_or(0);
        let a_day: usize = limits.furnaces.iter().map(|(_, heats)| *heats as usize).sum();
        let mut slots: Vec<(Minute, Minute, usize)> = Vec::new();
        for w in &windows {
            let heats = ((w.to - w.from) / least.max(1)) as usize;
            match slots.last_mut() {
                _ if heats == 0 => {}
                Some((from, to, count)) if Calendar::day(*from) == Calendar::day(w.from) => {
                    *to = (*to).max(w.to);
                    *count = (*count + heats).min(a_day);
                }
                _ => slots.push((w.from, w.to, heats.min(a_day))),
            }
        }
        Self { work, limits, calendar, order: work.order(), windows, open, slots }
    }

    /// Minutes that an item takes without a break, where it is a pour: melting, and ramming where one
    /// person alone rams in the session in which the mould is poured.
    fn unbroken(&self, n: usize) -> Option<(Minute, Minute)> {
        let item = &self.work.items[n];
        let mould = item.mould.map(|m| &self.work.moulds[m]).filter(|_| item.step == Step::Pour)?;
        let alone = self.calendar.people.len() == 1 && mould.stands.is_none();
        let ram = mould.items[0].filter(|_| alone).map_or(0, |ram| self.work.items[ram].minutes);
        Some((self.work.melt + item.minutes, ram))
    }

    /// When someone who begins at `from` has worked `minutes` without a break.
    fn fit(&self, from: Minute, minutes: Minute) -> Option<Minute> {
        let begin = |w: &Window| w.from.max(from);
        // Windows are sorted by their beginnings; people's windows of a day may overlap.
        let first = self.windows.partition_point(|w| w.from < from - DAY);
        let fits = self.windows[first..].iter().filter(|w| w.to - begin(w) >= minutes);
        let mut best: Option<Minute> = None;
        for w in fits {
            if best.is_some_and(|end| w.from >= end) {
                break;
            }
            let end = begin(w) + minutes;
            best = Some(best.map_or(end, |b| b.min(end)));
        }
        best
    }

    /// The latest moment at which work of `minutes` without a break can begin to be over by `until`.
    fn fit_back(&self, until: Minute, minutes: Minute) -> Option<Minute> {
        let last = self.windows.partition_point(|w| w.from < until);
        let fits =
            self.windows[..last].iter().rev().filter(|w| w.to.min(until) - w.from >= minutes);
        // The windows of a few days hold the latest.
        fits.take(2 * self.calendar.people.len().max(1)).map(|w| w.to.min(until) - minutes).max()
    }

    /// When the work on an item is over at the earliest.
    fn end(&self, n: usize, heads: &[Minute]) -> Minute {
        let item = &self.work.items[n];
        let alone = self.calendar.alone(heads[n], item.minutes).unwrap_or(heads[n]);
        let Some((pour, ram)) = self.unbroken(n) else { return alone };
        // What it waits for must be done before melting where it is melted at once with no ramming.
        let end = self.fit(heads[n] - self.work.melt, pour).unwrap_or(alone);
        let with_ram = item.mould.and_then(|m| self.work.moulds[m].items[0]).filter(|_| ram > 0);
        let whole = with_ram.and_then(|first| self.fit(heads[first], ram + pour));
        alone.max(end).max(whole.unwrap_or(0))
    }

    /// When each item can begin at the earliest, everybody being free for it.
    fn heads(&self) -> Vec<Minute> {
        let mut heads = vec![0; self.work.items.len()];
        for &n in &self.order {
            let item = &self.work.items[n];
            let mut head = item.not_before.max(0);
            for &b in &item.before {
                let before = &self.work.items[b];
                let poured = if before.mould.is_some() { cooling(item) } else { 0 };
                head = head.max(self.end(b, &heads) + after(before).max(poured));
            }
            heads[n] = head;
        }
        heads
    }

    /// When the work on each item must be over for all to be finished by a moment.
    fn latest(&self, finish: Minute) -> Vec<Minute> {
        let mut latest: Vec<Minute> = self.work.items.iter().map(|i| finish - after(i)).collect();
        for &n in self.order.iter().rev() {
            let item = &self.work.items[n];
            for &a in &item.after {
                let next = &self.work.items[a];
                let begin = self.begin(a, latest[a]);
                let poured = if item.mould.is_some() { cooling(next) } else { 0 };
                latest[n] = latest[n].min(begin - after(item).max(poured));
            }
        }
        latest
    }

    /// When an item must begin to be over by a moment.
    fn begin(&self, n: usize, until: Minute) -> Minute {
        let minutes = self.work.items[n].minutes;
        let alone = self.calendar.back(until, minutes).unwrap_or(Minute::MIN / 2);
        match self.unbroken(n) {
            // The pour comes last in its stretch.
            Some((pour, _)) => {
                let begin = self.fit_back(until, pour).map(|begin| begin + pour - minutes);
                alone.min(begin.unwrap_or(alone))
            }
            None => alone,
        }
    }

    /// Whether not all can be finished by a moment.
    fn too_much(&self, heads: &[Minute], finish: Minute) -> bool {
        let latest = self.latest(finish);
        let count = self.work.items.len();
        if (0..count).any(|n| self.end(n, heads) > latest[n]) {
            return true;
        }
        let mut by_latest: Vec<usize> = (0..count).collect();
        by_latest.sort_by_key(|n| latest[*n]);
        let mut moments: Vec<Minute> = heads.to_vec();
        moments.sort_unstable();
        moments.dedup();
        let most = (SUMMED / count.max(1)).clamp(4, FROM);
        let stride = moments.len().div_ceil(most).max(1);
        moments.into_iter().step_by(stride).any(|from| {
            let within: Vec<usize> =
                by_latest.iter().copied().filter(|n| heads[*n] >= from).collect();
            self.crowded(from, &within, &latest)
        })
    }

    /// Whether items that are free only from a moment on, by the time at which they must be over, find
    /// too little room: people, machines, or sessions for heats.
    fn crowded(&self, from: Minute, within: &[usize], latest: &[Minute]) -> bool {
        let mut minutes = 0;
        let mut machines = vec![0; self.limits.machines.len()];
        let mut melted = Melted::new(self.work, self.limits);
        let mut melts = 0;
        for &n in within {
            let item = &self.work.items[n];
            minutes += item.minutes;
            if let Some(machine) = item.machine {
                machines[machine] += item.minutes;
                let there = self.limits.machines[machine] as Minute;
                if machines[machine] > there * self.opened(from, latest[n]) {
                    return true;
                }
            }
            if let (Step::Pour, Some(mould)) = (item.step, item.mould) {
                melted.add(mould);
                melts = melted.fewest();
                if melts > self.heats(from, latest[n]) {
                    return true;
                }
            }
            // One melt of each person may have begun before what its pour waits for was over.
            let within = melts.saturating_sub(self.calendar.people.len());
            let melting = self.work.melt * within as Minute;
            if minutes + melting > self.calendar.worked(from, latest[n]) {
                return true;
            }
        }
        false
    }

    /// Minutes in which anybody is in the shop.
    fn opened(&self, from: Minute, to: Minute) -> Minute {
        let upto = |at: Minute| {
            let next = self.open.partition_point(|(w, _)| w.from < at);
            let last = next.checked_sub(1).map(|i| self.open[i]);
            last.map_or(0, |(w, before)| before + at.min(w.to) - w.from)
        };
        (upto(to) - upto(from)).max(0)
    }

    /// Heats that the days between two moments have room for.
    fn heats(&self, from: Minute, to: Minute) -> usize {
        let first = self.slots.partition_point(|(_, closes, _)| *closes <= from);
        let within = self.slots[first..].iter().take_while(|(opens, ..)| *opens < to);
        within.map(|(.., heats)| heats).sum()
    }
}
