//! The work that is left, as items that can be put into time, and the moulds to come.

use crate::figure::{Figure, Mass};
use crate::manifest::{Id, Step};
use crate::plan::calendar::Minute;
use crate::plan::subject::Subject;

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
    /// Minutes at the bench: low, likely, high.
    pub minutes_span: [f64; 3],
    /// Minutes of waiting: low, likely, high.
    pub wait_span: [f64; 3],
    /// Not before this minute.
    pub not_before: Minute,
    /// The machine it is done on, by index in the build.
    pub machine: Option<usize>,
    /// What it waits for.
    pub before: Vec<usize>,
    /// What waits for it.
    pub after: Vec<usize>,
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
    /// As figures.
    pub figures: [Option<Figure<Mass>>; 3],
    /// Alloy, by index in `Work::alloys`.
    pub alloy: usize,
    /// Crucibles that may melt it, and what each holds of it at working fill beside its heel, kg,
    /// least first.
    pub pots: Vec<(usize, f64)>,
    /// Minutes it may stand between ramming and pouring; none: poured the same day.
    pub stands: Option<Minute>,
    /// How much depends on it: the chance that it must be cast again, by its difficulty.
    pub doubt: f64,
    /// Its items: ramming unless it stands, pouring, shaking out.
    pub items: [Option<usize>; 3],
}

/// A flask that is taken, from now until an item is done.
#[derive(Debug, Clone, Copy)]
pub struct Taken {
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
    /// Alloys of the moulds.
    pub alloys: Vec<Id>,
    /// Moulds that are poured and not shaken out.
    pub cooling: Vec<Taken>,
    /// Why some of the work cannot be planned, in words.
    pub missing: Vec<String>,
    /// Hands-on minutes of a melt.
    pub melt: Minute,
    /// The same: low, likely, high.
    pub melt_span: [f64; 3],
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
