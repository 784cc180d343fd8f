//! One replay of a plan: hours as they may turn out, sessions that are missed, castings that must be
//! made again, and the day it is all finished.

use super::bench::Bench;
use super::line::Line;
use super::script::{Decides, MELTING, Melt, Script, Unit};
use crate::chance::{Stream, Uncertain};
use crate::plan::Minute;
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Share of the scatter of a kind of work that all jobs of that kind have in common, such as the
/// builder's own pace; the rest differs from job to job. From memory.
pub const SHARED: f64 = 0.5;

/// A chance of loss above this is drawn as this, so that every replay ends.
const MOST_LOST: f64 = 0.999;
/// Minutes of a day.
const DAY: Minute = 24 * 60;

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

/// Replays the script once.
pub(super) fn once(script: &Script, random: &mut Stream) -> Outcome {
    let mut replay = Replay::new(script, random);
    while replay.next() {}
    debug_assert!(replay.is_over(), "something is left to do");
    replay.amounts();
    replay.out
}

/// Something to do for a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Act {
    /// Its work.
    Work,
    /// To ram and pour the moulds of its castings that were lost.
    Cast,
    /// To shake out, clean and inspect so many moulds that were made again.
    Clean(u32),
    /// To ask the line at a furnace, which is named in place of the unit.
    Ask,
}

/// A furnace on the day it was last lit.
#[derive(Clone, Copy, Default)]
struct Lit {
    day: i64,
    heats: u32,
    free: Minute,
}

/// Moulds of one unit in a heat that makes castings again.
type Recast = (usize, u32);

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
    /// By unit: moulds that were lost and are not yet poured again, and those not yet good.
    to_cast: Vec<u32>,
    to_be_good: Vec<u32>,
    /// By alloy: units with moulds to be poured again.
    lost: Vec<Vec<usize>>,
    /// What can be done now, the most urgent first.
    ready: BinaryHeap<Reverse<(usize, Act)>>,
    /// What can be done from a minute on.
    future: BinaryHeap<Reverse<(Minute, usize, Act)>>,
    benches: Vec<Bench<'a>>,
    /// When each machine of a kind is free.
    machines: Vec<Vec<Minute>>,
    furnaces: Vec<Lit>,
    /// By furnace: what waits to be melted in it.
    lines: Vec<Line<(usize, Act)>>,
    /// By unit: what its heat takes, until it is poured: minutes, those of pouring, clearing up.
    drawn: Vec<Option<[f64; 3]>>,
    /// The same of a mould that is made again: melting, ramming, pouring, clearing up.
    drawn_again: Vec<Option<[f64; 4]>>,
    /// The longest session of anybody on a day on which the shop pours.
    longest: Minute,
    out: Outcome,
}

impl<'a> Replay<'a> {
    fn new(script: &'a Script, random: &'a mut Stream) -> Self {
        let kinds: Vec<f64> = (0..=MELTING).map(|_| StandardNormal.sample(random)).collect();
        let chance = |of: &Uncertain, random: &mut Stream| {
            script.tables.at(of, StandardNormal.sample(random)).clamp(0.0, MOST_LOST)
        };
        let chances = script.chances.iter().map(|of| chance(of, random)).collect();
        let benches = script.people.iter().map(|windows| Bench::new(windows, random)).collect();
        let from: Vec<Minute> = script.units.iter().map(|u| u.not_before.max(0)).collect();
        let free = script.units.iter().enumerate().filter(|(_, u)| u.before == 0);
        let count = script.units.len();
        Self {
            script,
            random,
            kinds,
            chances,
            waits: script.units.iter().map(|u| u.before).collect(),
            to_cast: vec![0; count],
            to_be_good: vec![0; count],
            lost: vec![Vec::new(); script.alloys],
            ready: BinaryHeap::new(),
            future: free.map(|(n, _)| Reverse((from[n], n, Act::Work))).collect(),
            from,
            benches,
            machines: script.machines.iter().map(|count| vec![0; *count]).collect(),
            furnaces: script
                .melted
                .iter()
                .map(|heats| Lit { heats: *heats, ..Lit::default() })
                .collect(),
            lines: vec![Line::default(); script.furnaces.len()],
            drawn: vec![None; count],
            drawn_again: vec![None; count],
            longest: script.longest_pour(),
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

    /// Minutes of a kind of work, drawn anew for each doing.
    fn draw(&mut self, (kind, of): &(usize, Uncertain)) -> f64 {
        let score = SHARED.sqrt() * self.kinds[*kind] + (1.0 - SHARED).sqrt() * self.score();
        self.script.tables.at(of, score)
    }

    fn draw_all(&mut self, parts: &[(usize, Uncertain)]) -> f64 {
        parts.iter().map(|part| self.draw(part)).sum()
    }

    /// Whether all is done.
    fn is_over(&self) -> bool {
        self.waits.iter().all(|others| *others == 0)
            && self.to_be_good.iter().chain(&self.to_cast).all(|moulds| *moulds == 0)
            && self.lines.iter().all(Line::is_empty)
    }

    /// Gives whoever is free first the most urgent thing to do; false when nothing is left.
    fn next(&mut self) -> bool {
        let benches = self.benches.iter().enumerate();
        let Some((who, now)) = benches.map(|(b, bench)| (b, bench.now)).min_by_key(|b| b.1) else {
            return false;
        };
        while let Some(Reverse((at, n, act))) = self.future.peek().copied()
            && at <= now
        {
            self.future.pop();
            self.can(n, act, now);
        }
        match self.ready.pop() {
            Some(Reverse((n, act))) => match self.furnace(n, act) {
                Some(furnace) => self.ask(who, furnace, (n, act)),
                None => {
                    if let Some(later) = self.act(who, n, act) {
                        self.future.push(Reverse((later.max(now + 1), n, act)));
                    }
                }
            },
            None => {
                let Some(Reverse((at, ..))) = self.future.peek().copied() else { return false };
                self.benches[who].open(at, self.random);
            }
        }
        true
    }

    /// The furnace that something is melted in.
    fn furnace(&self, n: usize, act: Act) -> Option<usize> {
        let unit = &self.script.units[n];
        match act {
            Act::Work => unit.melt.as_ref().map(|melt| melt.furnace),
            Act::Cast => unit.decides.as_ref().map(|decides| decides.melt.furnace),
            Act::Clean(_) | Act::Ask => None,
        }
    }

    /// Something can be done from now on; what needs a furnace joins the line there.
    fn can(&mut self, n: usize, act: Act, now: Minute) {
        if act == Act::Ask {
            return self.call(n, now);
        }
        if let Some(furnace) = self.furnace(n, act) {
            self.lines[furnace].join((n, act));
            if self.lines[furnace].first(now) != Some((n, act)) {
                return;
            }
        }
        self.ready.push(Reverse((n, act)));
    }

    /// The most urgent in the line at a furnace can be asked, now or once it can.
    fn call(&mut self, furnace: usize, now: Minute) {
        match self.lines[furnace].first(now) {
            Some(first) => self.ready.push(Reverse(first)),
            None => {
                if let Some(next) = self.lines[furnace].next() {
                    self.wake(furnace, next);
                }
            }
        }
    }

    /// Lets a person melt for the most urgent in the line at a furnace, or for the next that fits into
    /// what is left of the session, unless something else is more urgent by then.
    fn ask(&mut self, who: usize, furnace: usize, first: (usize, Act)) {
        let now = self.benches[who].now;
        let Some(place) = self.lines[furnace].place(first, now) else { return };
        if let Some(opens) = self.closed(who, furnace) {
            return self.wake(furnace, opens);
        }
        let mut asked = Some(place);
        while let Some(place) = asked {
            let (n, act) = self.lines[furnace].at(place);
            if self.ready.peek() > Some(&Reverse((n, act))) {
                break;
            }
            asked = match self.act(who, n, act) {
                Some(later) => self.lines[furnace].put_off(place, later.max(now + 1), now),
                None => {
                    self.lines[furnace].leave(place);
                    None
                }
            };
        }
        self.call(furnace, now);
    }

    /// Asks the line at a furnace again at a minute.
    fn wake(&mut self, furnace: usize, at: Minute) {
        if self.lines[furnace].wakes != at {
            self.lines[furnace].wakes = at;
            self.future.push(Reverse((at, furnace, Act::Ask)));
        }
    }

    /// Lets a person do something for a unit; the minute to try again at where it cannot be now.
    fn act(&mut self, who: usize, n: usize, act: Act) -> Option<Minute> {
        let unit = &self.script.units[n];
        match (act, &unit.melt, &unit.decides) {
            (Act::Work, Some(melt), _) => self.heat(who, n, melt),
            (Act::Work, None, _) => self.work(who, n, unit),
            (Act::Cast, _, Some(decides)) => self.cast_again(who, n, decides),
            (Act::Clean(moulds), _, Some(decides)) => {
                let minutes = self.draw_all(&decides.then) * f64::from(moulds);
                self.bench(who, MELTING + 1, minutes);
                self.decide(n, decides, moulds, self.benches[who].last);
                None
            }
            _ => None,
        }
    }

    /// Minutes at the bench, broken off at the ends of sessions.
    fn bench(&mut self, who: usize, kind: usize, minutes: f64) {
        let minutes = (minutes.round() as Minute).max(0);
        self.benches[who].work(minutes, self.random);
        self.out.minutes[kind] += minutes as f32;
    }

    fn work(&mut self, who: usize, n: usize, unit: &Unit) -> Option<Minute> {
        let slot = match unit.machine {
            Some(machine) => {
                let slots = self.machines[machine].iter().copied().enumerate();
                let (slot, free) = slots.min_by_key(|(_, free)| *free)?;
                if free > self.benches[who].now {
                    return Some(free);
                }
                Some((machine, slot))
            }
            None => None,
        };
        let minutes = self.draw_all(&unit.minutes);
        self.bench(who, unit.kind, minutes);
        let now = self.benches[who].last;
        if let Some((machine, slot)) = slot {
            self.machines[machine][slot] = now;
        }
        match &unit.decides {
            Some(decides) => {
                self.to_be_good[n] = decides.moulds;
                self.decide(n, decides, decides.moulds, now);
            }
            None => self.over(unit, now),
        }
        None
    }

    /// A heat of the plan; moulds of its alloy that were lost are poured with it where the pot and
    /// the session have room.
    fn heat(&mut self, who: usize, n: usize, melt: &Melt) -> Option<Minute> {
        let unit = &self.script.units[n];
        let drawn = self.drawn[n].take().unwrap_or_else(|| {
            let minutes = self.draw_all(&unit.minutes);
            let pouring = self.draw_all(&melt.pours);
            [minutes + pouring, pouring, self.draw_all(melt.clear_up.as_slice())]
        });
        self.drawn[n] = Some(drawn);
        let [mut minutes, mut pouring, clear_up] = drawn;
        if let Some(later) = self.too_long(who, minutes, clear_up) {
            return Some(later);
        }
        let room = (melt.holds - melt.charge, melt.spare);
        let left = self.left(who, clear_up);
        let with = self.fill(melt.alloy, room, (&mut minutes, &mut pouring), left);
        let over = match self.melt(who, melt, (minutes, pouring, clear_up), MELTING) {
            Ok(over) => over,
            Err(later) => return Some(later),
        };
        self.poured(&with, over);
        self.over(unit, over);
        None
    }

    /// A heat for moulds that were lost.
    fn cast_again(&mut self, who: usize, n: usize, decides: &Decides) -> Option<Minute> {
        if self.to_cast[n] == 0 {
            return None;
        }
        let melt = &decides.melt;
        // One mould of its own, the melt for it and clearing up, as long as they take this time.
        let drawn = self.drawn_again[n].take().unwrap_or_else(|| {
            let [melting, ram, pour] =
                [&decides.melting, &decides.ram, &decides.pour].map(|of| self.draw(of));
            [melting, ram, pour, self.draw_all(melt.clear_up.as_slice())]
        });
        self.drawn_again[n] = Some(drawn);
        let [mut minutes, ram, pour, clear_up] = drawn;
        if let Some(later) = self.too_long(who, minutes + ram + pour, clear_up) {
            return Some(later);
        }
        let mut pouring = 0.0;
        let left = self.left(who, clear_up);
        let alloy = &mut self.lost[melt.alloy];
        // Its own go first.
        if let Some(at) = alloy.iter().position(|unit| *unit == n) {
            alloy[..=at].rotate_right(1);
        }
        let room = (melt.holds, melt.spare + decides.melts);
        let with = self.fill(melt.alloy, room, (&mut minutes, &mut pouring), left);
        let with = if with.is_empty() {
            // More than a pot, or longer as drawn anew than the session: one at a time.
            minutes += ram + pour;
            pouring += pour;
            vec![(n, 1)]
        } else {
            with
        };
        let over = match self.melt(who, melt, (minutes, pouring, clear_up), MELTING + 1) {
            Ok(over) => over,
            Err(later) => return Some(later),
        };
        self.drawn_again[n] = None;
        self.poured(&with, over);
        if self.to_cast[n] > 0 {
            self.future.push(Reverse((over, n, Act::Cast)));
        }
        None
    }

    /// Minutes that are left of a session for a heat, with clearing up after it.
    fn left(&self, who: usize, clear_up: f64) -> f64 {
        let bench = &self.benches[who];
        (bench.left() - bench.to_keep(clear_up.round() as Minute)) as f64
    }

    /// When a furnace may be open again where nothing can be melted in it now, however long it takes.
    fn closed(&self, who: usize, furnace: usize) -> Option<Minute> {
        let now = self.benches[who].now;
        let (day, lit) = (now.div_euclid(DAY), self.furnaces[furnace]);
        let pours = self.script.pours[day.rem_euclid(7) as usize];
        let melted = lit.day == day && lit.heats >= self.script.furnaces[furnace];
        match !pours || melted {
            true => Some((day + 1) * DAY),
            false => Some(lit.free).filter(|free| *free > now),
        }
    }

    /// Moulds that were lost and go into a heat: as many as its pot, their flasks and what is left of
    /// the session have room for. `spare` minutes of its melt melt more metal than it has.
    fn fill(
        &mut self,
        alloy: usize,
        (mut room, mut spare): (f64, f64),
        (minutes, pouring): (&mut f64, &mut f64),
        left: f64,
    ) -> Vec<Recast> {
        let mut with: Vec<Recast> = Vec::new();
        for at in 0..self.lost[alloy].len() {
            let n = self.lost[alloy][at];
            let Some(decides) = &self.script.units[n].decides else { continue };
            let mut moulds = 0;
            while moulds < self.to_cast[n].min(decides.at_once) && decides.melt.charge <= room {
                let (ram, pour) = (self.draw(&decides.ram), self.draw(&decides.pour));
                let melting = (decides.melts - spare).max(0.0);
                if *minutes + ram + pour + melting > left {
                    break;
                }
                spare = (spare - decides.melts).max(0.0);
                *minutes += ram + pour + melting;
                *pouring += pour;
                room -= decides.melt.charge;
                moulds += 1;
            }
            if moulds > 0 {
                with.push((n, moulds));
            }
        }
        with
    }

    /// A heat and clearing up after it in whole minutes, no longer than the longest session.
    fn whole(&self, minutes: f64, clear_up: f64) -> [Minute; 2] {
        let whole = |minutes: f64, most: Minute| (minutes.round() as Minute).clamp(0, most);
        let minutes = whole(minutes, self.longest);
        [minutes, whole(clear_up, self.longest - minutes)]
    }

    /// When to try again where a heat and clearing up are longer than what is left of the session.
    fn too_long(&self, who: usize, minutes: f64, clear_up: f64) -> Option<Minute> {
        let bench = &self.benches[who];
        let [minutes, clear_up] = self.whole(minutes, clear_up);
        let fits = bench.endless() || minutes + bench.to_keep(clear_up) <= bench.left();
        (!fits).then(|| bench.next_of(minutes + clear_up).unwrap_or(bench.closes()))
    }

    /// Melts and pours without a break, where the session has time to clear up too; when it is over, or
    /// when to try again.
    fn melt(
        &mut self,
        who: usize,
        melt: &Melt,
        (minutes, pouring, clear_up): (f64, f64, f64),
        kind: usize,
    ) -> Result<Minute, Minute> {
        if let Some(later) = self.too_long(who, minutes, clear_up) {
            return Err(later);
        }
        let [minutes, clear_up] = self.whole(minutes, clear_up);
        let pouring = (pouring.round() as Minute).clamp(0, minutes);
        let now = self.benches[who].now;
        let hands = self.hands(who, melt.hands, now + minutes - pouring, now + minutes)?;
        for helper in hands {
            self.benches[helper].until(now + minutes, self.random);
        }
        let (day, lit) = (now.div_euclid(DAY), self.furnaces[melt.furnace]);
        let heats = if lit.day == day { lit.heats + 1 } else { 1 };
        self.furnaces[melt.furnace] = Lit { day, heats, free: now + minutes };
        self.benches[who].keep(clear_up);
        self.bench(who, kind, minutes as f64);
        Ok(now + minutes)
    }

    /// Who helps to lift and pour; else when to try again.
    fn hands(
        &self,
        who: usize,
        wanted: usize,
        from: Minute,
        to: Minute,
    ) -> Result<Vec<usize>, Minute> {
        let others = self.benches.iter().enumerate().filter(|(b, _)| *b != who);
        let there = others.clone().filter(|(_, bench)| bench.there(from, to));
        let there: Vec<usize> = there.map(|(b, _)| b).take(wanted).collect();
        // Nobody is asked for who is not in the shop at all.
        if there.len() >= wanted.min(self.benches.len() - 1) {
            return Ok(there);
        }
        let later = others.filter_map(|(_, bench)| bench.begins_after(to)).min();
        later.map_or(Ok(there), Err)
    }

    /// Moulds were made again: they cool, and then it turns out whether they are good.
    fn poured(&mut self, with: &[Recast], over: Minute) {
        for &(n, moulds) in with {
            let Some(decides) = &self.script.units[n].decides else { continue };
            self.to_cast[n] -= moulds;
            if self.to_cast[n] == 0 {
                self.lost[decides.melt.alloy].retain(|unit| *unit != n);
            }
            let cool = over + decides.then_wait as Minute;
            self.future.push(Reverse((cool, n, Act::Clean(moulds))));
        }
    }

    /// So many moulds of a part turn out good or lost.
    fn decide(&mut self, n: usize, decides: &Decides, moulds: u32, now: Minute) {
        let chance = self.chances[decides.loss];
        let lost = (0..moulds).filter(|_| self.random.random::<f64>() < chance).count() as u32;
        self.to_be_good[n] -= moulds - lost;
        if lost > 0 {
            self.out.again[decides.part] += lost;
            if self.to_cast[n] == 0 {
                self.lost[decides.melt.alloy].push(n);
            }
            self.to_cast[n] += lost;
            self.future.push(Reverse((now, n, Act::Cast)));
        } else if self.to_be_good[n] == 0 {
            self.over(&self.script.units[n], now);
        }
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
                self.future.push(Reverse((self.from[next], next, Act::Work)));
            }
        }
    }

    /// What all moulds took; what one takes of an amount is high or low for all of it alike.
    fn amounts(&mut self) {
        for amount in &self.script.amounts {
            let score = self.score();
            let again = amount.again.iter().map(|(part, of)| match self.out.again[*part] {
                0 => 0.0,
                moulds => self.script.tables.at(of, score) * f64::from(moulds),
            });
            let planned = self.script.tables.at_all(&amount.planned, score);
            self.out.amounts.push(planned + again.sum::<f64>());
        }
    }
}
