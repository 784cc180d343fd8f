//! A schedule: who does what, when, and which moulds are poured from which heat.

use super::Subject;
use crate::figure::{Figure, Mass};
use crate::manifest::{Id, Step};
use chrono::{NaiveDate, NaiveDateTime};

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
    /// From when.
    pub from: NaiveDateTime,
    /// Until when.
    pub to: NaiveDateTime,
}

/// A piece of work with its place in time.
#[derive(Debug, Clone)]
pub struct Job {
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
}

/// A mould still to be made or poured.
#[derive(Debug, Clone)]
pub struct PlannedMould {
    /// Index of the part whose castings it holds.
    pub part: usize,
    /// Which mould of this part, from 1, counting only those to come.
    pub nth: u32,
    /// Castings in it that the machine needs.
    pub castings: u32,
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
    /// When pouring begins.
    pub pour: NaiveDateTime,
    /// When pouring is over.
    pub over: NaiveDateTime,
    /// The moulds, in the order to pour them; by index.
    pub moulds: Vec<usize>,
    /// Metal charged, all moulds together.
    pub charge: Option<Figure<Mass>>,
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
    /// When the machine is finished, if nothing is cast again.
    pub finish: Option<NaiveDateTime>,
}
