//! Putting work into time: takes the work in an order of priority and gives each piece the first
//! place where all that it needs is free.
//!
//! The rules it keeps: a person does one thing at a time, inside their hours; work may be broken
//! off only at the end of a session; ramming, melting and pouring are not broken off; moulds that
//! may not stand are rammed in the session they are poured in; a furnace melts one heat at a time
//! and no more in a session than it can; a flask and its sand are taken from ramming to shake-out.

use super::calendar::{Calendar, Minute, Window};
use super::work::{Mould, Work};
use crate::build::Build;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

/// Work is not taken up for less than this before the end of a session, unless it is finished by
/// then. Common practice, no source.
const LEAST_PIECE: Minute = 15;
/// So many moulds are asked whether they share a heat that is being made up.
const COMPANY: usize = 60;

/// An order of priority and a grouping of moulds into heats.
#[derive(Debug, Clone, PartialEq)]
pub struct Idea {
    /// Priority of each item; the higher goes first.
    pub keys: Vec<f64>,
    /// Moulds of each heat.
    pub heats: Vec<Vec<usize>>,
}

/// What kept a heat from an earlier session.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// Too little unbroken time was left in the session.
    Time,
    /// The furnace was melting another heat, or had melted all it can in a session.
    Furnace,
    /// The crucible was in another heat.
    Crucible,
    /// Every flask of this kind held a mould.
    Flask(usize),
    /// The sand was in other moulds.
    Sand,
}

/// One person's time on an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// Who, by index.
    pub person: usize,
    /// From when.
    pub from: Minute,
    /// Until when.
    pub to: Minute,
}

/// An item in time.
#[derive(Debug, Clone, Default)]
pub struct Placed {
    /// Its pieces; none for a wait.
    pub pieces: Vec<Piece>,
    /// When it begins.
    pub start: Minute,
    /// When its work is over.
    pub end: Minute,
    /// When what follows can begin.
    pub ready: Minute,
}

/// A heat in time.
#[derive(Debug, Clone)]
pub struct PlacedHeat {
    /// Its moulds.
    pub moulds: Vec<usize>,
    /// Crucibles, by index.
    pub pots: Vec<usize>,
    /// The furnace, by index.
    pub furnace: usize,
    /// When the furnace is lit.
    pub lit: Minute,
    /// When melting begins.
    pub melt: Minute,
    /// When pouring begins.
    pub pour: Minute,
    /// When it is over.
    pub over: Minute,
    /// What kept it from the session before, and when that was.
    pub held: Option<(Held, Minute)>,
}

/// All the work in time.
#[derive(Debug, Clone)]
pub struct Layout {
    /// By item.
    pub items: Vec<Placed>,
    /// In the order they were placed.
    pub heats: Vec<PlacedHeat>,
    /// Items in the order they were placed.
    pub order: Vec<usize>,
}

impl Layout {
    /// When all is finished.
    pub fn finish(&self) -> Minute {
        self.items.iter().map(|p| p.ready).max().unwrap_or(0)
    }
}

/// Something taken from one moment to another.
#[derive(Debug, Clone, Copy)]
struct Hold {
    from: Minute,
    to: Minute,
    much: f64,
}

/// Most that is taken at once within `from..to`, of holds that all may overlap.
fn most(holds: &[Hold], from: Minute, to: Minute) -> f64 {
    let within = || holds.iter().filter(|h| h.from < to && h.to > from);
    let at = |t: Minute| within().filter(|h| h.from <= t && h.to > t).map(|h| h.much).sum::<f64>();
    within().map(|h| at(h.from.max(from))).fold(0.0, f64::max)
}

/// What the shop has.
#[derive(Debug, Clone)]
pub struct Limits {
    flasks: Vec<usize>,
    /// Sand in the heap, kg; at least what the largest mould takes.
    sand: Option<f64>,
    furnaces: Vec<(Minute, u32)>,
    pots: usize,
    from_two: bool,
}

impl Limits {
    /// How many furnaces there are.
    pub fn furnaces(&self) -> usize {
        self.furnaces.len()
    }

    /// Of a build's shop, for this work.
    pub fn new(build: &Build, work: &Work) -> Self {
        let shop = &build.shop;
        let minutes = |f: &crate::figure::Figure<_>| (f.si() / 60.0).ceil() as Minute;
        let largest = work.moulds.iter().map(|m| m.sand).fold(0.0, f64::max);
        let heap = shop.sand.as_ref().and_then(|s| s.on_hand.as_ref());
        Self {
            flasks: shop.flasks.values().map(|f| f.count as usize).collect(),
            sand: heap.map(|h| h.si().max(largest)),
            furnaces: shop
                .furnaces
                .values()
                .map(|f| (f.warm_up.as_ref().map_or(0, minutes), f.heats_per_session.max(1)))
                .collect(),
            pots: shop.crucibles.len(),
            from_two: shop.pours_from_two,
        }
    }
}

/// A heat in time, and the pieces of ramming, pouring and shaking out of each of its moulds.
type Trial = (PlacedHeat, Vec<[Option<Vec<Piece>>; 3]>);

/// Why a heat has no place in a session.
enum Miss {
    /// Something it needs is taken.
    Held(Held),
    /// A mould that may stand cannot be rammed before; by its place in the heat.
    Ramming(usize),
}

impl From<Held> for Miss {
    fn from(held: Held) -> Self {
        Self::Held(held)
    }
}

/// One window of a person and what is still free of it.
#[derive(Debug, Clone)]
struct Day {
    window: Window,
    free: Vec<(Minute, Minute)>,
}

/// Person, day, and what was free of it before.
type Undo = (usize, usize, Vec<(Minute, Minute)>);

/// The state while placing.
pub struct Placer<'a> {
    work: &'a Work,
    limits: &'a Limits,
    people: Vec<Vec<Day>>,
    /// Per person, the first day with anything free.
    open: Vec<usize>,
    flasks: Vec<Vec<Hold>>,
    sand: Vec<Hold>,
    /// By furnace and day.
    furnaces: Vec<HashMap<i64, Vec<Hold>>>,
    pots: Vec<Vec<Hold>>,
    undo: Vec<Undo>,
    layout: Layout,
}

/// A unit of placing: an item alone, or a heat with all that belongs to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Unit {
    Item(usize),
    Heat(usize),
}

/// A priority that can be compared.
#[derive(PartialEq)]
struct Key(f64);

impl Eq for Key {}

impl PartialOrd for Key {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Key {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// Whether these moulds can be one heat at all: one alloy, one crucible, flasks enough, a session
/// long enough, and none of them waiting for another.
pub fn may_share(work: &Work, limits: &Limits, group: &[usize], longest: Minute) -> bool {
    let moulds: Vec<&Mould> = group.iter().map(|m| &work.moulds[*m]).collect();
    let alloy = moulds.first().map(|m| m.alloy);
    if moulds.iter().any(|m| Some(m.alloy) != alloy) {
        return false;
    }
    if work.pots_for(&moulds, limits.from_two).is_none() {
        return false;
    }
    let waits = |n: usize| {
        let others =
            work.items[n].before.iter().filter(|b| work.items[**b].mould != work.items[n].mould);
        others.filter_map(|b| work.items[*b].mould).any(|m| group.contains(&m))
    };
    if moulds.iter().flat_map(|m| m.items).flatten().any(waits) {
        return false;
    }
    let sand: f64 = moulds.iter().map(|m| m.sand).sum();
    if moulds.len() > 1 && limits.sand.is_some_and(|heap| sand > heap) {
        return false;
    }
    for (flask, count) in limits.flasks.iter().enumerate() {
        if moulds.iter().filter(|m| m.flask == Some(flask)).count() > *count {
            return false;
        }
    }
    let item = |n: Option<usize>| n.map_or(0, |n| work.items[n].minutes);
    let ram = |m: &&Mould| if m.stands.is_none() { item(m.items[0]) } else { 0 };
    let whole: Minute = moulds.iter().map(|m| ram(m) + item(m.items[1])).sum();
    whole + work.melt <= longest
}

/// Places all the work by an idea; none where moulds of a heat wait for each other, or where no
/// place was found before the calendar ends. Without a grouping (`heats` empty), moulds that are
/// free at the same time share a heat.
pub fn place(
    work: &Work,
    limits: &Limits,
    calendar: &Calendar,
    idea: &Idea,
) -> Result<Layout, Option<usize>> {
    let longest = calendar.longest();
    let mut placer = Placer::new(work, limits, calendar);
    let grouped = !idea.heats.is_empty();
    let mut group_of: Vec<Option<usize>> = vec![None; work.moulds.len()];
    for (g, group) in idea.heats.iter().enumerate() {
        for &m in group {
            group_of[m] = Some(g);
        }
    }
    // What each unit waits for outside of itself.
    let unit_of = |n: usize| match work.items[n].mould {
        Some(m) if grouped => group_of[m].map_or(Unit::Item(n), Unit::Heat),
        // Ungrouped moulds are counted one by one until a heat takes them.
        Some(m) => Unit::Heat(m),
        None => Unit::Item(n),
    };
    let heats = if grouped { idea.heats.len() } else { work.moulds.len() };
    let mut item_waits = vec![0usize; work.items.len()];
    let mut heat_waits = vec![0usize; heats];
    for (n, item) in work.items.iter().enumerate() {
        let mine = unit_of(n);
        let outside = item.before.iter().filter(|b| unit_of(**b) != mine).count();
        match mine {
            Unit::Item(n) => item_waits[n] = outside,
            Unit::Heat(g) => heat_waits[g] += outside,
        }
    }
    let key = |unit: Unit| {
        let of = |n: usize| idea.keys[n];
        let of_mould = |m: usize| {
            work.moulds[m].items.iter().flatten().map(|n| of(*n)).fold(f64::MIN, f64::max)
        };
        Key(match unit {
            Unit::Item(n) => of(n),
            Unit::Heat(g) if grouped => {
                idea.heats[g].iter().map(|m| of_mould(*m)).fold(f64::MIN, f64::max)
            }
            Unit::Heat(m) => of_mould(m),
        })
    };
    let mut free: BinaryHeap<(Key, Reverse<Unit>)> = BinaryHeap::new();
    for (n, waits) in item_waits.iter().enumerate() {
        let unit = unit_of(n);
        if unit == Unit::Item(n) && *waits == 0 {
            free.push((key(unit), Reverse(unit)));
        }
    }
    for (g, waits) in heat_waits.iter().enumerate() {
        if *waits == 0 {
            free.push((key(Unit::Heat(g)), Reverse(Unit::Heat(g))));
        }
    }
    let mut taken = vec![false; heats];
    while let Some((_, Reverse(unit))) = free.pop() {
        let done: Vec<usize> = match unit {
            Unit::Item(n) => {
                placer.item(n).ok_or(None)?;
                vec![n]
            }
            Unit::Heat(g) if taken[g] => continue,
            Unit::Heat(g) => {
                let group = if grouped {
                    idea.heats[g].clone()
                } else {
                    let mut group = vec![g];
                    let alike =
                        |m: usize| !taken[m] && work.moulds[m].alloy == work.moulds[g].alloy;
                    let mut others: Vec<(&Key, Reverse<usize>)> = free
                        .iter()
                        .filter_map(|(key, unit)| match unit.0 {
                            Unit::Heat(m) if m != g && alike(m) => Some((key, Reverse(m))),
                            _ => None,
                        })
                        .collect();
                    // Company is looked for among the most urgent.
                    if others.len() > COMPANY {
                        others.select_nth_unstable_by(COMPANY, |a, b| b.cmp(a));
                        others.truncate(COMPANY);
                    }
                    others.sort_by(|a, b| b.cmp(a));
                    for (_, Reverse(m)) in others {
                        group.push(m);
                        if !may_share(work, limits, &group, longest) {
                            group.pop();
                        }
                    }
                    for &m in &group {
                        taken[m] = true;
                    }
                    group
                };
                placer.heat(&group, longest).ok_or(Some(g))?;
                group.iter().flat_map(|m| work.moulds[*m].items.into_iter().flatten()).collect()
            }
        };
        for n in done {
            let mine = unit_of(n);
            for &next in &work.items[n].after {
                let unit = unit_of(next);
                if unit == mine {
                    continue;
                }
                let waits = match unit {
                    Unit::Item(n) => &mut item_waits[n],
                    Unit::Heat(g) => &mut heat_waits[g],
                };
                *waits -= 1;
                if *waits == 0 {
                    free.push((key(unit), Reverse(unit)));
                }
            }
        }
    }
    if placer.layout.order.len() == work.items.len() { Ok(placer.layout) } else { Err(None) }
}

impl<'a> Placer<'a> {
    fn new(work: &'a Work, limits: &'a Limits, calendar: &Calendar) -> Self {
        let days = |windows: &Vec<Window>| {
            windows.iter().map(|w| Day { window: *w, free: vec![(w.from, w.to)] }).collect()
        };
        let people: Vec<Vec<Day>> = calendar.people.iter().map(days).collect();
        let empty = Layout {
            items: vec![Placed::default(); work.items.len()],
            heats: Vec::new(),
            order: Vec::new(),
        };
        let mut placer = Self {
            work,
            limits,
            open: vec![0; people.len()],
            people,
            flasks: vec![Vec::new(); limits.flasks.len()],
            sand: Vec::new(),
            furnaces: vec![HashMap::new(); limits.furnaces.len()],
            pots: vec![Vec::new(); limits.pots],
            undo: Vec::new(),
            layout: empty,
        };
        // Moulds that stand or cool hold their flask until they are shaken out; until that is
        // placed, for ever.
        for taken in &work.cooling {
            placer.hold(taken.flask, taken.sand, 0, Minute::MAX);
        }
        for mould in work.moulds.iter().filter(|m| m.standing.is_some()) {
            placer.hold(mould.flask, mould.sand, 0, Minute::MAX);
        }
        placer
    }

    fn hold(&mut self, flask: Option<usize>, sand: f64, from: Minute, to: Minute) {
        if let Some(flask) = flask {
            self.flasks[flask].push(Hold { from, to, much: 1.0 });
        }
        self.sand.push(Hold { from, to, much: sand });
    }

    /// Ends a hold that had no end.
    fn release(&mut self, flask: Option<usize>, sand: f64, at: Minute) {
        if let Some(hold) =
            flask.and_then(|f| self.flasks[f].iter_mut().find(|h| h.to == Minute::MAX))
        {
            hold.to = at;
        }
        if let Some(hold) =
            self.sand.iter_mut().find(|h| h.to == Minute::MAX && (h.much - sand).abs() < 1e-12)
        {
            hold.to = at;
        }
    }

    /// When an item may begin.
    fn ready(&self, n: usize) -> Minute {
        let item = &self.work.items[n];
        let before = item.before.iter().map(|b| self.layout.items[*b].ready);
        before.max().unwrap_or(0).max(item.not_before).max(0)
    }

    fn take(&mut self, piece: Piece) {
        let days = &mut self.people[piece.person];
        let d = days.partition_point(|d| d.window.to <= piece.from);
        let free = &mut days[d].free;
        self.undo.push((piece.person, d, free.clone()));
        if let Some(i) = free.iter().position(|(a, b)| *a <= piece.from && piece.to <= *b) {
            let (a, b) = free[i];
            let parts = [(a, piece.from), (piece.to, b)];
            free.splice(i..=i, parts.into_iter().filter(|(a, b)| a < b));
        }
    }

    fn roll_back(&mut self, to: usize) {
        while self.undo.len() > to {
            if let Some((person, d, free)) = self.undo.pop() {
                self.people[person][d].free = free;
            }
        }
    }

    /// The first pieces of work at the bench from `from` on, by whoever is done first.
    fn bench(&self, from: Minute, minutes: Minute) -> Option<Vec<Piece>> {
        if minutes == 0 {
            return Some(Vec::new());
        }
        let mut best: Option<Vec<Piece>> = None;
        for (person, days) in self.people.iter().enumerate() {
            let first = days.partition_point(|d| d.window.to <= from).max(self.open[person]);
            let until = best.as_ref().and_then(|b| b.last()).map_or(Minute::MAX, |p| p.to);
            let mut left = minutes;
            let mut pieces = Vec::new();
            'days: for day in &days[first..] {
                if day.window.from >= until {
                    break;
                }
                for &(a, b) in &day.free {
                    let a = a.max(from);
                    let length = b - a;
                    if length >= left {
                        pieces.push(Piece { person, from: a, to: a + left });
                        left = 0;
                        break 'days;
                    }
                    if b == day.window.to && length >= LEAST_PIECE {
                        pieces.push(Piece { person, from: a, to: b });
                        left -= length;
                    }
                }
            }
            let ends = pieces.last().map_or(Minute::MAX, |p| p.to);
            if left == 0 && ends < until {
                best = Some(pieces);
            }
        }
        best
    }

    fn settle(&mut self, n: usize, pieces: Vec<Piece>, from: Minute) {
        let item = &self.work.items[n];
        let start = pieces.first().map_or(from, |p| p.from);
        let end = pieces.last().map_or(from, |p| p.to);
        // The wait of a shake-out lies before it.
        let wait = if item.step == crate::manifest::Step::ShakeOut { 0 } else { item.wait };
        self.layout.items[n] = Placed { pieces, start, end, ready: end + wait };
        self.layout.order.push(n);
    }

    fn tidy(&mut self) {
        self.undo.clear();
        for (person, open) in self.open.iter_mut().enumerate() {
            let days = &self.people[person];
            while days.get(*open).is_some_and(|d| d.free.is_empty()) {
                *open += 1;
            }
        }
    }

    /// Places an item that stands alone.
    fn item(&mut self, n: usize) -> Option<()> {
        let from = self.ready(n);
        let minutes = self.work.items[n].minutes;
        let pieces = self.bench(from, minutes)?;
        for piece in &pieces {
            self.take(*piece);
        }
        self.settle(n, pieces, from);
        let until = self.work.cooling.iter().find(|t| t.until == n).copied();
        if let Some(taken) = until {
            self.release(taken.flask, taken.sand, self.layout.items[n].end);
        }
        self.tidy();
        Some(())
    }

    /// Places a heat: ramming, melting, pouring and shaking out of all its moulds.
    fn heat(&mut self, group: &[usize], longest: Minute) -> Option<()> {
        let moulds: Vec<&Mould> = group.iter().map(|m| &self.work.moulds[*m]).collect();
        let pots = self.work.pots_for(&moulds, self.limits.from_two)?;
        if self.limits.furnaces.is_empty() || !may_share(self.work, self.limits, group, longest) {
            return None;
        }
        let ready = |step: usize| {
            let items = moulds.iter().filter_map(|m| m.items[step]);
            items.map(|n| self.outside(n)).max().unwrap_or(0)
        };
        let from = ready(0).max(0);
        let pour_from = ready(1).max(from);
        let mut held = None;
        let mut next: Vec<usize> = self
            .people
            .iter()
            .zip(&self.open)
            .map(|(days, open)| days.partition_point(|d| d.window.to <= pour_from).max(*open))
            .collect();
        loop {
            // The next session of anybody.
            let person = (0..self.people.len())
                .filter(|p| next[*p] < self.people[*p].len())
                .min_by_key(|p| self.people[*p][next[*p]].window.from)?;
            let d = next[person];
            next[person] += 1;
            let window = self.people[person][d].window;
            let mut why = None;
            for furnace in 0..self.limits.furnaces.len() {
                let mark = self.undo.len();
                match self.attempt(&moulds, &pots, furnace, (person, d), pour_from) {
                    Ok((heat, placed)) => {
                        self.accept(group, heat, placed, held);
                        return Some(());
                    }
                    Err(reason) => {
                        self.roll_back(mark);
                        why = Some(reason);
                    }
                }
            }
            held = why.map(|w| (w, window.from));
        }
    }

    /// When an item of a heat may begin, its own mould's items left out.
    fn outside(&self, n: usize) -> Minute {
        let item = &self.work.items[n];
        let others = item.before.iter().filter(|b| self.work.items[**b].mould != item.mould);
        let ready = others.map(|b| self.layout.items[*b].ready).max().unwrap_or(0);
        ready.max(item.not_before)
    }

    /// The first unbroken stretch of `minutes` from `from` on within a day.
    fn stretch(&self, (person, d): (usize, usize), from: Minute, minutes: Minute) -> Option<Piece> {
        let free = &self.people[person][d].free;
        let found = free.iter().find(|(a, b)| b - (*a).max(from) >= minutes)?;
        let from = found.0.max(from);
        Some(Piece { person, from, to: from + minutes })
    }

    /// The last unbroken stretch of ramming for a mould that may stand, so that it is over by
    /// `by` and not before `by - stands`.
    fn earlier(
        &self,
        person: usize,
        (from, by): (Minute, Minute),
        minutes: Minute,
    ) -> Option<Piece> {
        let days = &self.people[person];
        let last = days.partition_point(|d| d.window.from < by);
        let runs = days[..last].iter().rev().take_while(|d| d.window.to > from);
        runs.flat_map(|d| d.free.iter().rev())
            .filter(|(a, b)| (*b).min(by) - (*a).max(from) >= minutes)
            .map(|(_, b)| (*b).min(by))
            .map(|to| Piece { person, from: to - minutes, to })
            .next()
    }

    /// Tries a heat in a session. Moulds that may stand are rammed before it; where there is no
    /// time for that, in the session itself like all others.
    fn attempt(
        &mut self,
        moulds: &[&Mould],
        pots: &[usize],
        furnace: usize,
        session: (usize, usize),
        pour_from: Minute,
    ) -> Result<Trial, Held> {
        let mark = self.undo.len();
        let mut here: Vec<bool> = moulds.iter().map(|m| m.stands.is_none()).collect();
        loop {
            match self.trial(moulds, pots, furnace, session, pour_from, &here) {
                Err(Miss::Ramming(mould)) => here[mould] = true,
                Err(Miss::Held(held)) => return Err(held),
                Ok(trial) => return Ok(trial),
            }
            self.roll_back(mark);
        }
    }

    fn trial(
        &mut self,
        moulds: &[&Mould],
        pots: &[usize],
        furnace: usize,
        (person, d): (usize, usize),
        pour_from: Minute,
        here: &[bool],
    ) -> Result<Trial, Miss> {
        let window = self.people[person][d].window;
        let (warm_up, most_heats) = self.limits.furnaces[furnace];
        let minutes =
            |m: &Mould, step: usize| m.items[step].map_or(0, |n| self.work.items[n].minutes);
        let pours: Minute = moulds.iter().map(|m| minutes(m, 1)).sum();
        let length = self.work.melt + pours;
        if self.people[person][d].free.iter().all(|(a, b)| b - a < length) {
            return Err(Held::Time.into());
        }
        // Ramming in the session, one after the other.
        let mut rams: Vec<Option<Piece>> = vec![None; moulds.len()];
        let mut over = window.from.max(pour_from);
        for ((slot, m), here) in rams.iter_mut().zip(moulds).zip(here) {
            let Some(n) = m.items[0].filter(|_| *here) else { continue };
            let at = self.outside(n).max(window.from);
            let piece = self.stretch((person, d), at, minutes(m, 0)).ok_or(Held::Time)?;
            self.take(piece);
            over = over.max(piece.to);
            *slot = Some(piece);
        }
        // Melting: the furnace warms up meanwhile, unless it is hot from a heat before.
        let today = self.furnaces[furnace].get(&Calendar::day(window.from));
        let others: Vec<Hold> = today.cloned().unwrap_or_default();
        if others.len() >= most_heats as usize {
            return Err(Held::Furnace.into());
        }
        let mut at = over;
        let (melt, lit) = loop {
            let hot = others.iter().any(|h| h.to <= at);
            let earliest = if hot { at } else { at.max(window.from + warm_up) };
            let piece = self.stretch((person, d), earliest, length).ok_or(Held::Time)?;
            let hot = others.iter().any(|h| h.to <= piece.from);
            let lit = if hot { piece.from } else { piece.from - warm_up };
            match others.iter().filter(|h| h.from < piece.to && h.to > lit).map(|h| h.to).max() {
                None => break (piece, lit),
                Some(to) if to > at => at = to,
                Some(_) => return Err(Held::Furnace.into()),
            }
        };
        self.take(melt);
        if pots.iter().any(|p| most(&self.pots[*p], lit, melt.to) > 0.0) {
            return Err(Held::Crucible.into());
        }
        // Ramming of what may stand until it is poured, as late as it can be, by anybody.
        let mut poured = melt.from + self.work.melt;
        for (i, m) in moulds.iter().enumerate() {
            let at = poured;
            poured += minutes(m, 1);
            let (Some(n), Some(stands), false) = (m.items[0], m.stands, here[i]) else { continue };
            let earliest = self.outside(n).max(at - stands - minutes(m, 0)).max(0);
            let pieces = (0..self.people.len())
                .filter_map(|p| self.earlier(p, (earliest, melt.from), minutes(m, 0)));
            let piece = pieces.max_by_key(|p| (p.to, Reverse(p.person))).ok_or(Miss::Ramming(i))?;
            self.take(piece);
            rams[i] = Some(piece);
        }
        // Pouring, one mould after the other, then shaking out.
        let mut at = melt.from + self.work.melt;
        let mut placed = Vec::with_capacity(moulds.len());
        for (m, ram) in moulds.iter().zip(rams) {
            let poured = at + minutes(m, 1);
            // The first mould's time covers the melt too: one person, unbroken.
            let begin = if placed.is_empty() { melt.from } else { at };
            let pour = Piece { person, from: begin, to: poured };
            at = poured;
            let shake = m.items[2].ok_or(Held::Time)?;
            let cool = self.work.items[shake].wait;
            let earliest = (poured + cool).max(self.outside(shake));
            let pieces = self.bench(earliest, minutes(m, 2)).ok_or(Held::Time)?;
            for piece in &pieces {
                self.take(*piece);
            }
            placed.push([ram.map(|p| vec![p]), Some(vec![pour]), Some(pieces)]);
        }
        self.room(moulds, &placed)?;
        let heat = PlacedHeat {
            moulds: Vec::new(),
            pots: pots.to_vec(),
            furnace,
            lit,
            melt: melt.from,
            pour: melt.from + self.work.melt,
            over: melt.to,
            held: None,
        };
        Ok((heat, placed))
    }

    /// Whether flasks and sand are there for these moulds.
    fn room(&self, moulds: &[&Mould], placed: &[[Option<Vec<Piece>>; 3]]) -> Result<(), Held> {
        let span = |p: &[Option<Vec<Piece>>; 3]| {
            let from = p[0].as_ref().and_then(|v| v.first()).map(|p| p.from);
            let to = p[2].as_ref().and_then(|v| v.last()).map(|p| p.to);
            from.zip(to)
        };
        let mut flasks: Vec<(usize, Hold)> = Vec::new();
        let mut sand: Vec<Hold> = Vec::new();
        for (m, p) in moulds.iter().zip(placed) {
            // A mould that stands holds its flask already.
            if m.standing.is_some() {
                continue;
            }
            let Some((from, to)) = span(p) else { continue };
            flasks.extend(m.flask.map(|f| (f, Hold { from, to, much: 1.0 })));
            sand.push(Hold { from, to, much: m.sand });
        }
        for (f, hold) in &flasks {
            let mut all: Vec<Hold> = overlapping(&self.flasks[*f], hold);
            all.extend(flasks.iter().filter(|(g, _)| g == f).map(|(_, h)| *h));
            if most(&all, hold.from, hold.to) > self.limits.flasks[*f] as f64 {
                return Err(Held::Flask(*f));
            }
        }
        if let Some(heap) = self.limits.sand {
            for hold in &sand {
                let mut all = overlapping(&self.sand, hold);
                all.extend(&sand);
                if most(&all, hold.from, hold.to) > heap + 1e-9 {
                    return Err(Held::Sand);
                }
            }
        }
        Ok(())
    }

    fn accept(
        &mut self,
        group: &[usize],
        heat: PlacedHeat,
        placed: Vec<[Option<Vec<Piece>>; 3]>,
        held: Option<(Held, Minute)>,
    ) {
        let furnace = Hold { from: heat.lit, to: heat.over, much: 1.0 };
        let day = Calendar::day(furnace.from);
        self.furnaces[heat.furnace].entry(day).or_default().push(furnace);
        for &pot in &heat.pots {
            self.pots[pot].push(furnace);
        }
        for (&m, steps) in group.iter().zip(placed) {
            let mould = &self.work.moulds[m];
            let mut from = None;
            let mut to = heat.over;
            for (item, pieces) in mould.items.into_iter().zip(steps) {
                let (Some(n), Some(pieces)) = (item, pieces) else { continue };
                from = from.or(pieces.first().map(|p| p.from));
                to = pieces.last().map_or(to, |p| p.to);
                self.settle(n, pieces, to);
            }
            match mould.standing {
                Some(_) => self.release(mould.flask, mould.sand, to),
                None => self.hold(mould.flask, mould.sand, from.unwrap_or(heat.lit), to),
            }
        }
        self.layout.heats.push(PlacedHeat { moulds: group.to_vec(), held, ..heat });
        self.tidy();
    }
}

fn overlapping(holds: &[Hold], with: &Hold) -> Vec<Hold> {
    holds.iter().filter(|h| h.from < with.to && h.to > with.from).copied().collect()
}
