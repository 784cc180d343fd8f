//! Putting work into time: takes the work in an order of priority and gives each piece the first
//! place where all that it needs is free.
//!
//! The rules it keeps: a person does one thing at a time, inside their hours; work may be broken
//! off only at the end of a session, before what is kept of it for clearing up after a heat; ramming, melting and pouring are not broken off; moulds that
//! may not stand are rammed in the session they are poured in; a furnace melts one heat at a time
//! and no more in a session than it can, in the least crucible that holds it or, where that is in
//! another heat, a larger one; a flask and its sand are taken from ramming to shake-out.

use super::layout::{Candidate, Layout};
use super::placer::Placer;
use crate::plan::calendar::Calendar;
use crate::plan::work::{Limits, Work, may_share};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// So many moulds are asked whether they share a heat that is being made up.
const MOST_ASKED: usize = 60;

/// A unit of placing: an item alone, or a heat with all that belongs to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Unit {
    Item(usize),
    Heat(usize),
}

/// A priority that can be compared: that of an item, the earlier item first of two that are alike.
/// A plan is kept as its items in this order, and so found again as it was.
#[derive(PartialEq)]
struct Key(f64, Reverse<usize>);

impl Eq for Key {}

impl PartialOrd for Key {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Key {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0).then(self.1.cmp(&other.1))
    }
}

/// Places all the work as a candidate says; none where moulds of a heat wait for each other, or
/// where no place was found before the calendar ends. Without a grouping (`heats` empty), moulds
/// that are free at the same time share a heat. A heat whose flask or sand is in a mould that
/// stands or cools goes behind what shakes that out.
pub fn place(
    work: &Work,
    limits: &Limits,
    calendar: &Calendar,
    candidate: &Candidate,
) -> Option<Layout> {
    let mut queue = Queue::new(work, candidate);
    let mut placer = Placer::new(work, limits, calendar);
    let longest = calendar.longest_pour();
    while let Some(unit) = queue.next() {
        let held = placer.held;
        match unit {
            Unit::Item(n) => {
                placer.item(n)?;
                queue.over(&[n]);
            }
            Unit::Heat(g) => match queue.heat(&mut placer, limits, g, longest) {
                Some(moulds) => queue.poured(&moulds),
                None if held == 0 => return None,
                None => queue.aside.push(unit),
            },
        }
        if placer.held < held {
            queue.take_back();
        }
    }
    (placer.layout.order.len() == work.items.len()).then(|| placer.finished())
}

/// Units that wait for others, that are free to be placed, and that were put aside.
struct Queue<'a> {
    work: &'a Work,
    candidate: &'a Candidate,
    /// Moulds of each heat; or, where the candidate groups nothing, what is poured together in any
    /// case.
    groups: &'a [Vec<usize>],
    /// By mould.
    group_of: Vec<Option<usize>>,
    item_waits: Vec<usize>,
    heat_waits: Vec<usize>,
    free: BinaryHeap<(Key, Reverse<Unit>)>,
    /// Groups that are in a heat already.
    taken: Vec<bool>,
    /// Heats whose flask or sand is in moulds that stand or cool.
    aside: Vec<Unit>,
}

impl<'a> Queue<'a> {
    fn new(work: &'a Work, candidate: &'a Candidate) -> Self {
        let grouped = !candidate.heats.is_empty();
        let groups = if grouped { &candidate.heats } else { work.batches.all() };
        let mut group_of = vec![None; work.moulds.len()];
        for (g, group) in groups.iter().enumerate() {
            group.iter().for_each(|m| group_of[*m] = Some(g));
        }
        let mut queue = Self {
            work,
            candidate,
            groups,
            group_of,
            item_waits: vec![0; work.items.len()],
            heat_waits: vec![0; groups.len()],
            free: BinaryHeap::new(),
            taken: vec![false; groups.len()],
            aside: Vec::new(),
        };
        queue.count_waits();
        queue.begin();
        queue
    }

    fn grouped(&self) -> bool {
        !self.candidate.heats.is_empty()
    }

    /// The unit that an item belongs to. Groups that the candidate does not put into heats are
    /// counted one by one until a heat takes them.
    fn unit_of(&self, n: usize) -> Unit {
        let group = self.work.items[n].mould.and_then(|m| self.group_of[m]);
        group.map_or(Unit::Item(n), Unit::Heat)
    }

    /// What each unit waits for outside of itself.
    fn count_waits(&mut self) {
        for (n, item) in self.work.items.iter().enumerate() {
            let mine = self.unit_of(n);
            let outside = item.before.iter().filter(|b| self.unit_of(**b) != mine).count();
            *self.waits(mine) += outside;
        }
    }

    fn waits(&mut self, unit: Unit) -> &mut usize {
        match unit {
            Unit::Item(n) => &mut self.item_waits[n],
            Unit::Heat(g) => &mut self.heat_waits[g],
        }
    }

    /// Frees what waits for nothing.
    fn begin(&mut self) {
        let items = (0..self.item_waits.len()).map(Unit::Item);
        let alone = items.filter(|unit| matches!(unit, Unit::Item(n) if self.unit_of(*n) == *unit));
        let heats = (0..self.heat_waits.len()).map(Unit::Heat);
        let units: Vec<Unit> = alone.chain(heats).collect();
        for unit in units {
            if *self.waits(unit) == 0 {
                self.release(unit);
            }
        }
    }

    fn release(&mut self, unit: Unit) {
        self.free.push((self.key(unit), Reverse(unit)));
    }

    /// The priority of a unit: that of its most urgent item.
    fn key(&self, unit: Unit) -> Key {
        let of = |n: usize| Key(self.candidate.keys[n], Reverse(n));
        match unit {
            Unit::Item(n) => of(n),
            Unit::Heat(g) => {
                let moulds = self.groups[g].iter();
                let items = moulds.flat_map(|m| self.work.moulds[*m].items.iter().flatten());
                items.map(|n| of(*n)).max().unwrap_or(Key(f64::MIN, Reverse(usize::MAX)))
            }
        }
    }

    /// The most urgent unit that is free.
    fn next(&mut self) -> Option<Unit> {
        loop {
            let (_, Reverse(unit)) = self.free.pop()?;
            match unit {
                Unit::Heat(g) if self.taken[g] => {}
                unit => return Some(unit),
            }
        }
    }

    /// Places a heat, and says which moulds it has; none where there is no place for it now. Groups
    /// that came along are left out before the group itself is put off.
    fn heat(
        &self,
        placer: &mut Placer<'_>,
        limits: &Limits,
        g: usize,
        longest: i64,
    ) -> Option<Vec<usize>> {
        let alone = self.groups[g].clone();
        let group = if self.grouped() { alone.clone() } else { self.made_up(limits, g, longest) };
        if placer.heat(&group, longest).is_some() {
            return Some(group);
        }
        (group.len() > alone.len() && placer.heat(&alone, longest).is_some()).then_some(alone)
    }

    /// A group and those that are free at the same time and may share its heat, the most urgent
    /// first.
    fn made_up(&self, limits: &Limits, g: usize, longest: i64) -> Vec<usize> {
        let alloy = |g: usize| self.groups[g].first().map(|m| self.work.moulds[*m].alloy);
        let mut others: Vec<(&Key, Reverse<usize>)> = self
            .free
            .iter()
            .filter_map(|(key, unit)| match unit.0 {
                Unit::Heat(m) if m != g && !self.taken[m] && alloy(m) == alloy(g) => {
                    Some((key, Reverse(m)))
                }
                _ => None,
            })
            .collect();
        if others.len() > MOST_ASKED {
            others.select_nth_unstable_by(MOST_ASKED, |a, b| b.cmp(a));
            others.truncate(MOST_ASKED);
        }
        others.sort_by(|a, b| b.cmp(a));
        let mut group = self.groups[g].clone();
        for (_, Reverse(other)) in others {
            let before = group.len();
            group.extend(&self.groups[other]);
            let joins = self.work.batches.may_join(&group);
            if !joins || !may_share(self.work, limits, &group, longest) {
                group.truncate(before);
            }
        }
        group
    }

    fn poured(&mut self, moulds: &[usize]) {
        moulds.iter().filter_map(|m| self.group_of[*m]).for_each(|g| self.taken[g] = true);
        let work = self.work;
        let items: Vec<usize> =
            moulds.iter().flat_map(|m| work.moulds[*m].items.into_iter().flatten()).collect();
        self.over(&items);
    }

    /// Frees what waited for these items only.
    fn over(&mut self, items: &[usize]) {
        let work = self.work;
        for &n in items {
            let mine = self.unit_of(n);
            for &next in &work.items[n].after {
                let unit = self.unit_of(next);
                if unit == mine {
                    continue;
                }
                let waits = self.waits(unit);
                *waits -= 1;
                if *waits == 0 {
                    self.release(unit);
                }
            }
        }
    }

    /// Heats that were put aside may find a flask now.
    fn take_back(&mut self) {
        for unit in std::mem::take(&mut self.aside) {
            self.release(unit);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_earlier_of_two_alike_goes_first() {
        let mut all = [(1.0, 2), (2.0, 3), (1.0, 0), (2.0, 1)].map(|(key, n)| Key(key, Reverse(n)));
        all.sort_by(|a, b| b.cmp(a));
        assert_eq!(all.map(|Key(_, Reverse(n))| n), [1, 3, 0, 2]);
    }
}
