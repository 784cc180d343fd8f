//! Putting work into time: takes the work in an order of priority and gives each piece the first
//! place where all that it needs is free.
//!
//! The rules it keeps: a person does one thing at a time, inside their hours; work may be broken
//! off only at the end of a session; ramming, melting and pouring are not broken off; moulds that
//! may not stand are rammed in the session they are poured in; a furnace melts one heat at a time
//! and no more in a session than it can, in the least crucible that holds it or, where that is in
//! another heat, a larger one; a flask and its sand are taken from ramming to shake-out.

use super::calendar::{Calendar, Minute};
use super::limits::{Limits, may_share};
use super::placer::Placer;
use super::work::Work;
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Work is not taken up for less than this before the end of a session, unless it is finished by
/// then. Common practice, no source.
pub(super) const LEAST_PIECE: Minute = 15;
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
    /// The people that the full pot takes were not in the shop together.
    Hands,
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
    /// Who helps to lift and pour, by index.
    pub hands: Vec<usize>,
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

/// Places all the work by an idea; none where moulds of a heat wait for each other, or where no
/// place was found before the calendar ends. Without a grouping (`heats` empty), moulds that are
/// free at the same time share a heat. A heat whose flask or sand is in a mould that stands or cools
/// goes behind what shakes that out.
pub fn place(work: &Work, limits: &Limits, calendar: &Calendar, idea: &Idea) -> Option<Layout> {
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
    let mut aside: Vec<Unit> = Vec::new();
    'units: while let Some((_, Reverse(unit))) = free.pop() {
        let endless = placer.endless();
        let done: Vec<usize> = match unit {
            Unit::Item(n) => {
                placer.item(n)?;
                vec![n]
            }
            Unit::Heat(g) if taken[g] => continue,
            Unit::Heat(g) => {
                let mut group = if grouped {
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
                    group
                };
                while placer.heat(&group, longest).is_none() {
                    if endless == 0 {
                        return None;
                    }
                    // Company is left before the mould itself is put off.
                    if grouped || group.len() == 1 {
                        aside.push(unit);
                        continue 'units;
                    }
                    group.truncate(1);
                }
                if !grouped {
                    group.iter().for_each(|m| taken[*m] = true);
                }
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
        if placer.endless() < endless {
            free.extend(aside.drain(..).map(|unit| (key(unit), Reverse(unit))));
        }
    }
    (placer.layout.order.len() == work.items.len()).then_some(placer.layout)
}
