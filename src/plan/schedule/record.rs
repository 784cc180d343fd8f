//! A schedule: who does what, when, and which moulds are poured from which heat.

use crate::estimate::Carry;
use crate::figure::{Figure, Mass};
use crate::manifest::{Id, Step};
use crate::plan::calendar::Minute;
use crate::plan::reasons::Waited;
use crate::plan::search::{Aim, Layout};
use crate::plan::subject::Subject;
use crate::plan::work::Work;
use chrono::{NaiveDate, NaiveDateTime};
use std::sync::Arc;

/// A day in the shop.
#[derive(Debug, Clone)]
pub struct Session {
    /// The day.
    pub day: NaiveDate,
    /// When the first person comes.
    pub opens: NaiveDateTime,
    /// When the last person leaves.
    pub closes: NaiveDateTime,
    /// The work of the day, by the clock.
    pub blocks: Vec<Block>,
}

/// An unbroken piece of a job, done by one person.
#[derive(Debug, Clone)]
pub struct Block {
    /// Index of the job.
    pub job: usize,
    /// Who.
    pub person: Id,
    /// What they do.
    pub does: Does,
    /// From when.
    pub from: NaiveDateTime,
    /// Until when.
    pub to: NaiveDateTime,
}

/// What a person does in a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Does {
    /// The job.
    Work,
    /// Helps to lift and pour.
    Help,
    /// Clears up after the heats of the session, at its end; a margin too, for what runs late.
    ClearUp,
}

/// A piece of work with its place in time.
#[derive(Debug, Clone)]
pub struct Job {
    /// Its name in a plan that is kept.
    pub name: String,
    /// On what.
    pub subject: Subject,
    /// Which step.
    pub step: Step,
    /// The mould, for ramming, pouring and shaking out; by index.
    pub mould: Option<usize>,
    /// When the work on it begins.
    pub start: NaiveDateTime,
    /// When the work on it is over.
    pub end: NaiveDateTime,
    /// When what waits for it can begin: after cooling, relieving or delivery.
    pub ready: NaiveDateTime,
    /// Minutes at the bench.
    pub minutes: Minute,
    /// The machine it is done on.
    pub machine: Option<Id>,
    /// Jobs that must be over before.
    pub after: Vec<usize>,
    /// What it waited for last.
    pub waited: Waited,
    /// The material that it waits for, and the day on which that can be there.
    pub awaits: Option<(Id, NaiveDate)>,
    /// Minutes by the clock that it could end later without moving the finish, all else in the
    /// same order.
    pub slack: Minute,
    /// Whether it is of the work that sets the finish.
    pub critical: bool,
}

/// A mould still to be made or poured.
#[derive(Debug, Clone)]
pub struct PlannedMould {
    /// Index of the part whose castings it holds.
    pub part: usize,
    /// Which mould of this part, from 1, counting only those to come; 0 for one that stands.
    pub nth: u32,
    /// Castings in it that the machine needs.
    pub castings: u32,
    /// Castings of other parts that stand in the same mould.
    pub others: Vec<(usize, u32)>,
    /// The flask it is rammed in.
    pub flask: Option<Id>,
    /// Metal poured into it.
    pub poured: Option<Figure<Mass>>,
    /// Metal charged for it.
    pub charge: Option<Figure<Mass>>,
    /// Sand rammed into it.
    pub sand: Option<Figure<Mass>>,
    /// When ramming begins, or began.
    pub rammed: NaiveDateTime,
    /// When it is empty again.
    pub shaken_out: NaiveDateTime,
    /// Index of its heat.
    pub heat: usize,
    /// The name of the mould in the journal, if it is rammed already.
    pub standing: Option<Id>,
    /// Whether that one has stood too long by its heat, and is knocked out and rammed again.
    pub again: bool,
}

impl PlannedMould {
    /// Castings of each part in it; the first leads.
    pub fn lots(&self) -> Vec<(usize, u32)> {
        [&[(self.part, self.castings)], &*self.others].concat()
    }
}

/// A melt, and what is poured from it.
#[derive(Debug, Clone)]
pub struct PlannedHeat {
    /// Its name: `H1`, `H2`, going on from those in the journal.
    pub name: Id,
    /// The alloy.
    pub alloy: Id,
    /// The crucible; two where a mould is poured from two at once.
    pub crucibles: Vec<Id>,
    /// The furnace.
    pub furnace: Id,
    /// When it is lit.
    pub lit: NaiveDateTime,
    /// Whether the furnace is hot from the heat before.
    pub hot: bool,
    /// When pouring begins.
    pub pour: NaiveDateTime,
    /// When pouring is over.
    pub over: NaiveDateTime,
    /// The moulds, in the order to pour them; by index.
    pub moulds: Vec<usize>,
    /// Metal to be charged: for all moulds, and for the heels that are not in the pots already. To go
    /// by at its high end, which is what the moulds may take and no more than the pots do.
    pub charge: Option<Figure<Mass>>,
    /// Metal that is left in the pots.
    pub heels: Vec<Heel>,
    /// People that the full pots ask for, lifted as the handbook says, at the safe end; none where no
    /// pot's mass is known.
    pub people: Option<u32>,
    /// What each pot asks of those who lift it, where its mass is known.
    pub lifts: Vec<HeatLift>,
    /// People who are there to lift and pour.
    pub hands: u32,
}

/// What a full pot of a heat asks of those who lift it, at the safe end of each figure.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatLift {
    /// The crucible.
    pub crucible: Id,
    /// Pot, metal and tongs at the most, kg.
    pub load: f64,
    /// That over what one person may lift at the least.
    pub index: f64,
    /// How it may be lifted.
    pub carry: Carry,
    /// Whether it is more than those who are ever in the shop together may lift.
    pub too_heavy: bool,
}

/// Metal that is left in a crucible after a pour. It stays molten where the very next heat of the
/// furnace is of the same alloy in the same pot, and begins within half an hour; else it is pigged
/// while it is hot, for a heel that froze in the pot may crack it when it is heated again. Common
/// practice.
#[derive(Debug, Clone)]
pub struct Heel {
    /// The crucible.
    pub crucible: Id,
    /// What is left.
    pub left: Figure<Mass>,
    /// The heat whose heel is in the pot when this one is charged.
    pub from: Option<Id>,
    /// The heat that it stays for; none where it is pigged.
    pub to: Option<Id>,
}

/// The first heat of a shop, an alloy or a sand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FirstHeat {
    /// Its name; none where small heats first would cost too much.
    pub heat: Option<Id>,
    /// What it is the first of: `this shop`, alloys and sands.
    pub of: Vec<String>,
    /// Why, in words.
    pub says: String,
}

/// The work that is left, in time.
#[derive(Debug, Clone, Default)]
pub struct Schedule {
    /// Days in the shop with work in them, in order.
    pub sessions: Vec<Session>,
    /// Every piece of work that is left.
    pub jobs: Vec<Job>,
    /// Moulds to come.
    pub moulds: Vec<PlannedMould>,
    /// Heats to come, in order.
    pub heats: Vec<PlannedHeat>,
    /// When all is finished, if nothing is cast again; none while something cannot be planned.
    pub finish: Option<NaiveDateTime>,
    /// When all that can be planned is finished, where something cannot.
    pub rest: Option<NaiveDateTime>,
    /// The jobs that set the finish, in order.
    pub chain: Vec<usize>,
    /// No plan finishes before this.
    pub bound: Option<NaiveDateTime>,
    /// No plan has fewer heats.
    pub least_heats: usize,
    /// What came first when plans were compared.
    pub aim: Aim,
    /// Plans tried.
    pub tried: usize,
    /// Plans that would have been tried, had the search not been cut short by the clock.
    pub cut_short: Option<usize>,
    /// Whether it is the plan in force, kept because no other gains enough.
    pub kept: bool,
    /// What could not stay as it was promised, and why.
    pub moved: Vec<String>,
    /// Pots that no smaller heat makes light enough for the people of the shop, in words.
    pub too_heavy: Vec<String>,
    /// Moulds that stand too long and are rammed again, in words.
    pub stale: Vec<String>,
    /// Moulds that stand longer than they may while their own metal melts, in words.
    pub overlong: Vec<String>,
    /// Heats whose metal may come to more than their pot takes, in words.
    pub brimming: Option<String>,
    /// Heats that could be one but for the sand there is, in words.
    pub little_sand: Option<String>,
    /// What waits for a material, with the last day to order it, and orders that are overdue; in
    /// words, told by who knows the stock.
    pub supply: Vec<String>,
    /// First heats of what is new in the shop, and why they are what they are.
    pub firsts: Vec<FirstHeat>,
    /// Why some of the work is not in it, in words.
    pub missing: Vec<String>,
    /// Parts that wait for what is missing, by index.
    pub waiting: Vec<usize>,
    /// The same in minutes; none where nothing could be planned.
    pub laid: Option<Arc<Laid>>,
}

/// A plan in minutes, as the search left it: what a replay goes by.
#[derive(Debug)]
pub struct Laid {
    pub(crate) work: Work,
    pub(crate) layout: Layout,
}

impl Schedule {
    /// Days between its finish and the earliest that any plan could reach.
    pub fn gap_days(&self) -> Option<i64> {
        Some((self.finish.or(self.rest)?.date() - self.bound?.date()).num_days())
    }

    /// The index of a heat by its name.
    pub fn heat(&self, name: &str) -> Option<usize> {
        self.heats.iter().position(|h| *h.name == *name)
    }
}
