//! Why a job is not done earlier, and which work sets the finish.

use super::relief::Relief;
use crate::plan::calendar::{Calendar, Minute, Window};
use crate::plan::search::{Candidate, Layout, Obstacle, PlacedHeat};
use crate::plan::work::{Limits, Scarce, Work};
use std::collections::HashMap;

/// What a job waited for last; jobs by index.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Waited {
    /// Nothing: it begins with the first session there is.
    Nothing,
    /// Another job, and its wait.
    Job(usize),
    /// The person was busy with this job, or too little of the session was left after it.
    Person(Option<usize>),
    /// A session long enough for the whole heat, after this job and its wait.
    LongSession(Option<usize>),
    /// The furnace was melting, or had melted all it can in a session; the job is that pour.
    Furnace(Option<usize>),
    /// The crucible was in another heat; the job is that pour.
    Crucible(Option<usize>),
    /// The people that lift the full pot were not in the shop together.
    Hands,
    /// The shop did not pour on the days before.
    PourDay,
    /// The flasks held moulds; the job is the shaking out that made one free.
    Flask(Option<usize>),
    /// The sand was in moulds; the job is the shaking out that made it free.
    Sand(Option<usize>),
    /// The machine was taken; the job is the one that was done on it.
    Machine(usize),
    /// What this job takes cannot be there earlier.
    Material(usize),
    /// It is rammed in the session in which the mould is poured; the job is the pour.
    SameSession(usize),
}

impl Waited {
    /// The job behind it.
    pub fn job(self) -> Option<usize> {
        match self {
            Self::Nothing | Self::Hands | Self::PourDay | Self::Material(_) => None,
            Self::Job(n) | Self::SameSession(n) | Self::Machine(n) => Some(n),
            Self::Person(n)
            | Self::LongSession(n)
            | Self::Furnace(n)
            | Self::Crucible(n)
            | Self::Flask(n)
            | Self::Sand(n) => n,
        }
    }
}

struct Teller<'a> {
    work: &'a Work,
    calendar: &'a Calendar,
    layout: &'a Layout,
    /// By person: end, start and item of each piece, by end.
    pieces: Vec<Vec<(Minute, Minute, usize)>>,
    heat_of: HashMap<usize, usize>,
    relief: Relief,
}

/// What each item waited for, and the work that sets the finish, first item first.
pub(crate) fn reasons(
    (work, limits, calendar): (&Work, &Limits, &Calendar),
    candidate: &Candidate,
    layout: &Layout,
) -> (Vec<Waited>, Vec<usize>) {
    let relief = Relief::new(work, limits, calendar, candidate, layout);
    let mut pieces = vec![Vec::new(); calendar.people.len()];
    for (n, placed) in layout.items.iter().enumerate() {
        for p in &placed.pieces {
            pieces[p.person].push((p.to, p.from, n));
        }
    }
    pieces.iter_mut().for_each(|p| p.sort_unstable());
    let heats = layout.heats.iter().enumerate();
    let heat_of = heats.flat_map(|(h, heat)| heat.moulds.iter().map(move |m| (*m, h))).collect();
    let teller = Teller { work, calendar, layout, pieces, heat_of, relief };
    let waited: Vec<Waited> = (0..work.items.len()).map(|n| teller.of(n)).collect();
    let mut chain = Vec::new();
    let mut next = (0..work.items.len()).max_by_key(|n| layout.items[*n].ready);
    while let Some(n) = next {
        if chain.contains(&n) {
            break;
        }
        chain.push(n);
        next = waited[n].job();
    }
    chain.reverse();
    (waited, chain)
}

impl Teller<'_> {
    fn of(&self, n: usize) -> Waited {
        use crate::manifest::Step;
        let item = &self.work.items[n];
        let heat = item.mould.and_then(|m| self.heat_of.get(&m)).map(|h| &self.layout.heats[*h]);
        match (item.step, heat) {
            (Step::Ram, Some(heat)) => {
                let last = heat.moulds.last().and_then(|m| self.work.moulds[*m].items[1]);
                let pour = item.mould.and_then(|m| self.work.moulds[m].items[1]).or(last);
                match self.waited_for_ready(n) {
                    Some(waited) => waited,
                    None => pour.map_or(Waited::Nothing, Waited::SameSession),
                }
            }
            (Step::Pour, Some(heat)) => self.of_heat(heat),
            _ => self.waited_for_ready(n).unwrap_or_else(|| self.busy(n)),
        }
    }

    /// The job it waited for, if it begins as soon as that and the hours allow.
    fn waited_for_ready(&self, n: usize) -> Option<Waited> {
        let item = &self.work.items[n];
        let placed = &self.layout.items[n];
        let last = item.before.iter().copied().max_by_key(|b| self.layout.items[*b].ready);
        let over = last.map_or(0, |b| self.layout.items[b].ready);
        let ready = over.max(item.begins());
        let cool = if item.step == crate::manifest::Step::ShakeOut && item.mould.is_some() {
            item.wait
        } else {
            0
        };
        let person = placed.pieces.first().map(|p| p.person);
        let open = self.open(person, ready + cool, placed.start);
        let comes = item.awaits.is_some_and(|(_, at)| at >= over);
        (open == 0).then(|| match comes {
            true => Waited::Material(n),
            false => last.map_or(Waited::Nothing, Waited::Job),
        })
    }

    /// Minutes that a person works between two moments.
    fn open(&self, person: Option<usize>, from: Minute, to: Minute) -> Minute {
        let Some(person) = person else { return 0 };
        let windows = &self.calendar.people[person];
        let first = windows.partition_point(|w| w.to <= from);
        let until = windows[first..].iter().take_while(|w| w.from < to);
        until.map(|w| (w.to.min(to) - w.from.max(from)).max(0)).sum()
    }

    /// What was done on its machine, or by the person, just before: the machine only where another
    /// one would have let it begin earlier.
    fn busy(&self, n: usize) -> Waited {
        let placed = &self.layout.items[n];
        let Some(piece) = placed.pieces.first() else { return Waited::Nothing };
        let helps = |machine: &usize| self.relief.helps(Scarce::Machine(*machine), n, placed.start);
        let last = self.work.items[n].machine.filter(helps).and_then(|machine| {
            let others = (0..self.work.items.len())
                .filter(|o| *o != n && self.work.items[*o].machine == Some(machine))
                .filter(|o| self.layout.items[*o].end <= placed.start);
            others.max_by_key(|o| self.layout.items[*o].end)
        });
        if let Some(last) = last
            && self.open(Some(piece.person), self.layout.items[last].end, placed.start) == 0
        {
            return Waited::Machine(last);
        }
        Waited::Person(self.before(piece.person, piece.from, n))
    }

    /// The last item of a person that was over by a moment.
    fn before(&self, person: usize, by: Minute, not: usize) -> Option<usize> {
        let pieces = &self.pieces[person];
        let upto = pieces.partition_point(|(to, _, _)| *to <= by);
        let found = pieces[..upto].iter().rev().find(|(_, _, n)| *n != not)?;
        Some(found.2)
    }

    /// What was done in the last session before a heat that was long enough for it.
    fn instead(&self, heat: &PlacedHeat, ready: Minute) -> Option<usize> {
        let of = |m: &usize, step: usize| self.work.moulds[*m].items[step];
        let rams = heat.moulds.iter().filter(|m| self.work.moulds[**m].stands.is_none());
        let rams: Minute = rams.filter_map(|m| of(m, 0)).map(|n| self.work.items[n].minutes).sum();
        let first = heat.moulds.iter().filter_map(|m| of(m, 0).or(of(m, 1)));
        let begins = first.map(|n| self.layout.items[n].start).min().unwrap_or(heat.melt);
        let long = |w: &&Window| {
            w.to - w.from.max(ready)
                >= rams + heat.over + self.work.clear_up(heat.furnace) - heat.melt
        };
        let windows = self.calendar.people.iter().enumerate().flat_map(|(person, windows)| {
            let before = windows.iter().take_while(|w| w.to <= begins);
            before.filter(long).map(move |w| (w.to, person))
        });
        let (to, person) = windows.max()?;
        let upto = self.pieces[person].partition_point(|p| p.0 <= to);
        let (end, _, n) = self.pieces[person][..upto].last()?;
        (*end > ready).then_some(*n)
    }

    fn of_heat(&self, heat: &PlacedHeat) -> Waited {
        let shaken = |alike: &dyn Fn(usize) -> bool| {
            let moulds = (0..self.work.moulds.len())
                .filter(|m| alike(*m) && !heat.moulds.contains(m))
                .filter_map(|m| self.work.moulds[m].items[2])
                .chain(self.work.cooling.iter().map(|t| t.until));
            moulds
                .filter(|s| self.layout.items[*s].end <= heat.pour)
                .max_by_key(|s| self.layout.items[*s].end)
        };
        let other_pour = || {
            let before = self.layout.heats.iter().filter(|h| h.over <= heat.melt);
            let last = before.max_by_key(|h| h.over)?;
            last.moulds.last().and_then(|m| self.work.moulds[*m].items[1])
        };
        // Every mould of the heat is waited for.
        let items = heat.moulds.iter().flat_map(|m| self.work.moulds[*m].items[..2].to_vec());
        let outside = items.flatten().flat_map(|i| {
            let mould = self.work.items[i].mould;
            let before = self.work.items[i].before.iter().copied();
            before.filter(move |b| self.work.items[*b].mould != mould)
        });
        let last = outside.max_by_key(|b| self.layout.items[*b].ready);
        let over = last.map_or(0, |b| self.layout.items[b].ready);
        let items = heat.moulds.iter().flat_map(|m| self.work.moulds[*m].items[..2].to_vec());
        let comes = items.flatten().filter_map(|n| Some((self.work.items[n].awaits?.1, n))).max();
        let comes = comes.filter(|(at, _)| *at >= over);
        let ready = comes.map_or(over, |(at, _)| at);
        let first = heat.moulds.first().and_then(|m| self.work.moulds[*m].items[1]);
        let helps = |of: Scarce| {
            first.is_some_and(|pour| self.relief.helps(of, pour, self.layout.items[pour].start))
        };
        // What would not have let it begin earlier did not hold it up.
        let really = |held: Obstacle| match held {
            Obstacle::Furnace => helps(Scarce::Heats),
            Obstacle::Flask(kind) => helps(Scarce::Flask(kind)),
            Obstacle::Sand => helps(Scarce::Sand),
            Obstacle::Time | Obstacle::Crucible | Obstacle::Hands | Obstacle::Day => true,
        };
        let held =
            heat.held.map(|(held, at)| (if really(held) { held } else { Obstacle::Time }, at));
        match held {
            Some((held, at)) if at + 24 * 60 > ready => match held {
                Obstacle::Furnace => Waited::Furnace(other_pour()),
                Obstacle::Crucible => Waited::Crucible(other_pour()),
                Obstacle::Hands => Waited::Hands,
                Obstacle::Day => Waited::PourDay,
                Obstacle::Flask(f) => {
                    Waited::Flask(shaken(&|m| self.work.moulds[m].flask == Some(f)))
                }
                Obstacle::Sand => Waited::Sand(shaken(&|_| true)),
                Obstacle::Time => match self.instead(heat, ready) {
                    Some(other) => Waited::Person(Some(other)),
                    None => Waited::LongSession(last),
                },
            },
            _ => match comes {
                Some((_, n)) => Waited::Material(n),
                None => last.map_or(Waited::Nothing, Waited::Job),
            },
        }
    }
}
