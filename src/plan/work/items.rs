//! The work that is left, as items that can be put into time, and the moulds to come.

use super::firing::Firing;
use super::minutes::Span;
use crate::figure::{Figure, Mass};
use crate::manifest::{Id, Step};
use crate::plan::awaited::Awaited;
use crate::plan::calendar::{Gone, Minute};
use crate::plan::subject::Subject;
use std::collections::BTreeSet;

/// A piece of work.
#[derive(Debug, Clone)]
pub struct Item {
    /// On what.
    pub subject: Subject,
    /// Which step.
    pub step: Step,
    /// The mould it belongs to: ramming, pouring and shaking out go together.
    pub mould: Option<usize>,
    /// At the bench.
    pub minutes: Minute,
    /// By the clock: before shaking out, after any other step.
    pub wait: Minute,
    /// Minutes at the bench.
    pub minutes_span: Span,
    /// Minutes of waiting.
    pub wait_span: Span,
    /// Not before this minute.
    pub not_before: Minute,
    /// Not before a material can be there either: which of `Work::awaited`, and the minute.
    pub awaits: Option<(usize, Minute)>,
    /// The machine it is done on, by index in the build.
    pub machine: Option<usize>,
    /// Whether it may be put down at any time, not only at the end of a session.
    pub put_down: bool,
    /// What it waits for.
    pub before: Vec<usize>,
    /// What waits for it.
    pub after: Vec<usize>,
}

impl Item {
    /// It begins no earlier, whatever the work before it.
    pub fn begins(&self) -> Minute {
        self.not_before.max(self.awaits.map_or(0, |(_, at)| at)).max(0)
    }
}

/// A mould to come, or one that stands rammed.
#[derive(Debug, Clone)]
pub struct Mould {
    /// Index of the part.
    pub part: usize,
    /// Which of this part, from 1.
    pub nth: u32,
    /// Castings of the part in it.
    pub castings: u32,
    /// Castings of other parts in it, of the same pattern or of one beside it.
    pub others: Vec<(usize, u32)>,
    /// Its name, and when it was rammed, if it stands.
    pub standing: Option<(Id, Minute)>,
    /// The flask it takes, by index in the shop.
    pub flask: Option<usize>,
    /// Rammed sand from the heap, kg.
    pub sand: f64,
    /// Charge, kg.
    pub charge: f64,
    /// Charge at the most, kg.
    pub charge_most: f64,
    /// As figures.
    pub figures: [Option<Figure<Mass>>; 3],
    /// Alloy, by index in `Work::alloys`.
    pub alloy: usize,
    /// Crucibles that may melt it, and what each holds of it at working fill beside its heel, kg,
    /// least first.
    pub pots: Vec<(usize, f64)>,
    /// Minutes that its metal takes to melt by the power of each furnace, once that is warm; 0 where
    /// nobody knows.
    pub melting: Vec<Span>,
    /// Until when it may be poured as it stands; none where it does not stand, where nobody knows, or
    /// where it is rammed again.
    pub good_until: Option<Minute>,
    /// Minutes it may stand between ramming and pouring; none where nobody knows.
    pub keeps: Option<Minute>,
    /// The same where that is a day or more; none: rammed in the session that it is poured in.
    pub stands: Option<Minute>,
    /// How much depends on it: the chance that it must be cast again, by its difficulty.
    pub doubt: f64,
    /// Its items: ramming unless it stands as it is, pouring, shaking out.
    pub items: [Option<usize>; 3],
}

impl Mould {
    /// The name of one that stands and is rammed again.
    pub fn rammed_again(&self) -> Option<&Id> {
        self.standing.as_ref().filter(|_| self.items[0].is_some()).map(|(name, _)| name)
    }
}

/// What is melted in a pot beside its heel.
#[derive(Debug, Clone, Copy)]
pub struct InPot {
    /// The pot, by index.
    pub pot: usize,
    /// At the most, kg.
    pub most: f64,
}

/// Moulds that share a heat, whichever it is: those that stand rammed for the same one; every other
/// mould is alone.
#[derive(Debug, Clone, Default)]
pub struct Batches {
    all: Vec<Vec<usize>>,
    /// By mould.
    of: Vec<usize>,
    /// By batch: whether nothing else may be poured with it.
    whole: Vec<bool>,
}

impl Batches {
    /// Every mould alone.
    pub fn apart(moulds: usize) -> Self {
        Self {
            all: (0..moulds).map(|m| vec![m]).collect(),
            of: (0..moulds).collect(),
            whole: vec![false; moulds],
        }
    }

    /// What stands of each of these promised heats. Where all of a heat stands, nothing else is
    /// poured with it: its charge was promised too.
    pub fn of<'a>(work: &Work, heats: impl Iterator<Item = &'a [usize]>) -> Self {
        let mut with: Vec<Vec<usize>> = (0..work.moulds.len()).map(|m| vec![m]).collect();
        let mut complete = vec![false; work.moulds.len()];
        for heat in heats {
            let standing = |m: &&usize| work.moulds[**m].standing.is_some();
            let ready: Vec<usize> = heat.iter().filter(standing).copied().collect();
            ready.iter().for_each(|m| complete[*m] = ready.len() == heat.len());
            ready.iter().for_each(|m| with[*m].clone_from(&ready));
        }
        let (mut all, mut of, mut whole) =
            (Vec::new(), vec![usize::MAX; work.moulds.len()], Vec::new());
        for m in 0..work.moulds.len() {
            if of[m] == usize::MAX {
                with[m].iter().for_each(|m| of[*m] = all.len());
                all.push(std::mem::take(&mut with[m]));
                whole.push(complete[m]);
            }
        }
        Self { all, of, whole }
    }

    /// Whether the batches of these moulds may be poured together: a promised heat that is ready
    /// is poured as it is.
    pub fn may_join(&self, moulds: &[usize]) -> bool {
        let mut batches = moulds.iter().map(|m| self.of[*m]);
        let Some(first) = batches.next() else { return true };
        let alone = batches.all(|b| b == first);
        alone || moulds.iter().all(|m| !self.whole[self.of[*m]])
    }

    /// Lets nothing else be poured with a mould and its batch.
    pub fn keep_alone(&mut self, mould: usize) {
        self.whole[self.of[mould]] = true;
    }

    /// Each batch.
    pub fn all(&self) -> &[Vec<usize>] {
        &self.all
    }

    /// The batch of a mould.
    pub fn with(&self, mould: usize) -> &[usize] {
        &self.all[self.of[mould]]
    }
}

/// A flask that is taken, from now until an item is done.
#[derive(Debug, Clone)]
pub struct Taken {
    /// The mould in it, as the journal calls it.
    pub mould: Id,
    /// The flask.
    pub flask: Option<usize>,
    /// The sand in it, kg.
    pub sand: f64,
    /// Until this item is done.
    pub until: usize,
}

/// All that is left to do.
#[derive(Debug, Clone, Default)]
pub struct Work {
    /// Pieces of work, in the order of the manifest.
    pub items: Vec<Item>,
    /// Moulds to come.
    pub moulds: Vec<Mould>,
    /// Moulds that share a heat in any plan.
    pub batches: Batches,
    /// Alloys of the moulds.
    pub alloys: Vec<Id>,
    /// Moulds that are poured and not shaken out.
    pub cooling: Vec<Taken>,
    /// Materials that some of it waits for.
    pub awaited: Vec<Awaited>,
    /// Why some of the work cannot be planned, in words.
    pub missing: Vec<String>,
    /// Parts that wait for what is missing, by index.
    pub waiting: BTreeSet<usize>,
    /// What is gone of today.
    pub gone: Gone,
    /// What a heat takes of one person, by furnace.
    pub firing: Vec<Firing>,
    /// Heats of today in the journal, by furnace: one that melted is hot for the rest of the day, and
    /// has so many heats less to melt.
    pub melted: Vec<u32>,
}

impl Work {
    /// Every item, no item before what it waits for.
    pub fn order(&self) -> Vec<usize> {
        let mut waits: Vec<usize> = self.items.iter().map(|i| i.before.len()).collect();
        let mut order: Vec<usize> = (0..self.items.len()).filter(|n| waits[*n] == 0).collect();
        let mut next = 0;
        while next < order.len() {
            for &after in &self.items[order[next]].after {
                waits[after] -= 1;
                if waits[after] == 0 {
                    order.push(after);
                }
            }
            next += 1;
        }
        order
    }
}
