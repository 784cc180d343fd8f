//! The build: manifest and journal with every name resolved. A [`Build`] cannot be made from a
//! file that has faults, so the floors above never meet one.

mod at;
mod boxes;
mod chain;
mod check;
mod faces;
mod fits;
mod fold;
mod history;
mod holes;
mod lies;
mod pieces;
mod printed;
mod retired;
mod rings;
mod story;

pub use chain::{Chain, ChainSize};
pub use check::check;
pub use history::{
    Attempt, Bench, Equipment, Finding, Gone, Heat, History, OnOrder, Pieces, Receipt, Standing,
    Worked,
};
pub use holes::{DrawnCores, Hole, Opening};
pub use lies::{Cores, Lying};
pub use pieces::{PatternPiece, Piece};
pub use printed::Printed;
pub use story::{Asked, HeatSum};

use crate::figure::{Figure, Kind, SafeEnd, Time};
use crate::freezing::Fields;
use crate::handbook::{Alloy, Handbook, Sand};
use crate::manifest::{self, Header, Id, Shop, Step, StepGiven, is_counted, stock_names};
use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// The checked model of a machine being built.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Build {
    /// Title, units, dates.
    pub header: Header,
    /// The shop.
    pub shop: Shop,
    /// The sand in use.
    pub sand: Option<Arc<Sand>>,
    /// The sand of the cores, where one is named.
    pub core_sand: Option<Arc<Sand>>,
    /// Patterns, in the order of the manifest.
    pub patterns: Vec<Pattern>,
    /// Patterns that share a flask, by index, each list led by the one that names the others.
    pub boxes: Vec<Vec<usize>>,
    /// Parts, in the order of the manifest.
    pub parts: Vec<Part>,
    /// What work is done on, and how many of each: the shop's machines, then finished parts of
    /// the build that serve as such.
    pub machines: indexmap::IndexMap<Id, u32>,
    /// Who sells what, by id.
    pub suppliers: indexmap::IndexMap<manifest::Id, manifest::Supplier>,
    /// Metals at hand that a charge can be made up of, by id.
    pub metals: indexmap::IndexMap<manifest::Id, manifest::Metal>,
    /// What happened.
    pub history: History,
    /// The handbook with the builder's own alloys and sands.
    pub handbook: Handbook,
    /// The day it is looked at.
    pub today: NaiveDate,
    /// Castings whose freezing was reckoned by heat flow; none until a caller hands them in.
    pub fields: Fields,
    /// The manifest's text, for showing the line a figure was given on.
    pub text: Arc<str>,
}

/// A pattern.
#[derive(Debug, Clone)]
pub struct Pattern {
    /// Its id.
    pub id: Id,
    /// As written.
    pub given: manifest::Pattern,
    /// The sand it is rammed in.
    pub sand: Option<Arc<Sand>>,
    /// Whether nothing is said of where it parts, and it was found from the body.
    pub parting_proposed: bool,
}

/// A part.
#[derive(Debug, Clone)]
pub struct Part {
    /// As written.
    pub given: manifest::Part,
    /// What it waits for, resolved.
    pub needs: Vec<Need>,
    /// Its casting, if it is cast.
    pub casting: Option<Casting>,
    /// Steps that are done on a machine, by index in [`Build::machines`].
    pub on: Vec<(Step, usize)>,
}

/// A casting's pattern and alloy.
#[derive(Debug, Clone)]
pub struct Casting {
    /// As written.
    pub given: manifest::Casting,
    /// Index of its pattern.
    pub pattern: usize,
    /// Its alloy.
    pub alloy: Arc<Alloy>,
    /// Its body as cast, once it was asked for.
    pub once: lies::CastOnce,
}

/// One step waits for another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Need {
    /// Index of the part waited for.
    pub part: usize,
    /// Its step.
    pub step: Step,
    /// The step that waits.
    pub before: Step,
}

impl Part {
    /// Its id.
    pub fn id(&self) -> &Id {
        &self.given.id
    }

    /// Its steps in order, pattern-making left out: that belongs to the pattern.
    pub fn steps(&self) -> Vec<Step> {
        let iron =
            self.casting.as_ref().is_some_and(|c| c.alloy.family == crate::handbook::Family::Iron);
        let usual: &[(Step, bool)] = match &self.given.making {
            manifest::Making::Cast(casting) => &[
                (Step::Core, casting.cores.is_some()),
                (Step::Ram, true),
                (Step::Pour, true),
                (Step::ShakeOut, true),
                (Step::Fettle, true),
                (Step::Inspect, true),
                (Step::Relieve, iron),
                (Step::Machine, casting.machined.is_some()),
                (Step::Scrape, false),
                (Step::Fit, true),
            ],
            manifest::Making::Bought(_) => &[
                (Step::Receive, true),
                (Step::Machine, false),
                (Step::Scrape, false),
                (Step::Fit, true),
            ],
            manifest::Making::Made(_) => &[
                (Step::Make, true),
                (Step::Relieve, false),
                (Step::Machine, false),
                (Step::Scrape, false),
                (Step::Fit, true),
            ],
        };
        usual
            .iter()
            .filter(|(step, usual)| match self.step_given(*step) {
                Some(StepGiven::Done { .. }) => true,
                Some(StepGiven::None) => false,
                None => *usual,
            })
            .map(|(step, _)| *step)
            .collect()
    }

    /// What the builder says of a step.
    pub fn step_given(&self, step: Step) -> Option<&StepGiven> {
        self.given.steps.iter().find(|(s, _)| *s == step).map(|(_, g)| g)
    }

    /// The machine that a step is done on, by index in [`Build::machines`].
    pub fn machine(&self, step: Step) -> Option<usize> {
        self.on.iter().find(|(s, _)| *s == step).map(|(_, machine)| *machine)
    }

    /// Whether a step may be put down for other work at any time.
    pub fn put_down(&self, step: Step) -> bool {
        matches!(self.step_given(step), Some(StepGiven::Done { put_down: true, .. }))
    }

    /// What the builder says of the wait after a step.
    pub fn wait_given(&self, step: Step) -> Option<&manifest::WaitGiven> {
        match self.step_given(step) {
            Some(StepGiven::Done { wait, .. }) => wait.as_ref(),
            _ => None,
        }
    }

    /// Hours that the builder gives for a step.
    pub fn hours_given(&self, step: Step) -> Option<&Figure<Time>> {
        match self.step_given(step) {
            Some(StepGiven::Done { hours, .. }) => hours.as_ref(),
            _ => None,
        }
    }
}

/// Name of the stock of returns of an alloy: count them under it.
pub fn returns_of(alloy: &str) -> Id {
    format!("{alloy}-returns").into()
}

impl Build {
    /// Name of the stock that a line of a charge of this alloy is taken from.
    pub fn charged_from(&self, alloy: &Id, source: &Id) -> Id {
        match &**source {
            "ingot" => alloy.clone(),
            "returns" => returns_of(alloy),
            metal => self.metals.get(metal).and_then(|m| m.stock.clone()).unwrap_or(source.clone()),
        }
    }

    /// Name of the stock that a sand is kept under: `sand` for the main one.
    pub fn sand_stock(&self, sand: &Sand) -> Id {
        let main = self.sand.as_ref().is_some_and(|s| s.id == sand.id);
        if main { "sand".into() } else { sand.id.clone() }
    }

    /// What the manifest says lies in the shop, kg by name.
    pub fn given_stock(&self) -> BTreeMap<Id, f64> {
        let stock = self.shop.stock.iter().map(|(name, mass)| (name.clone(), mass.si()));
        let mut out: BTreeMap<Id, f64> = stock.collect();
        for (id, metal) in &self.metals {
            let name = metal.stock.as_ref().unwrap_or(id);
            let amount = metal.amount.as_ref().map(Figure::si);
            amount.into_iter().for_each(|kg| *out.entry(name.clone()).or_default() += kg);
        }
        let heap = self.shop.sand.as_ref().and_then(|s| s.on_hand.as_ref());
        out.extend(heap.map(|mass| ("sand".into(), mass.si())));
        let cores = self.shop.core_sand.as_ref().and_then(|s| s.on_hand.as_ref());
        if let (Some(mass), Some(sand)) = (cores, &self.core_sand) {
            *out.entry(self.sand_stock(sand)).or_default() += mass.si();
        }
        out
    }

    /// Whether a stock is counted in pieces: what the manifest says so of, and crucibles.
    pub fn is_counted(&self, name: &str) -> bool {
        is_counted(&self.handbook, &self.shop, name)
    }

    /// In what a stock is told: kilograms, or pieces.
    pub fn kind_of(&self, name: &str) -> Kind {
        if self.is_counted(name) { Kind::Pieces } else { Kind::Mass }
    }

    /// Names under which stock can be kept: what the handbook has, what lay in the shop at the
    /// start, and the metals of charges.
    pub fn stock_names(&self) -> BTreeSet<Id> {
        let metals = self.metals.keys().cloned().collect();
        stock_names(&self.handbook, &self.shop, metals).into_iter().collect()
    }

    /// The alloys of its castings, in the order of the parts.
    pub fn alloys(&self) -> Vec<&Alloy> {
        let mut out: Vec<&Alloy> = Vec::new();
        for casting in self.parts.iter().filter_map(|p| p.casting.as_ref()) {
            if !out.iter().any(|a| a.id == casting.alloy.id) {
                out.push(&casting.alloy);
            }
        }
        out
    }

    /// Castings of a part that are still to be rammed: those wanted, less the good ones and those
    /// that are on their way.
    pub fn to_cast(&self, part: usize) -> u32 {
        let pieces = self.history.pieces(part);
        self.parts[part].given.quantity.saturating_sub(pieces.good() + pieces.under_way())
    }

    /// Castings of a part that cores are still to be made for: those of moulds that were lost are
    /// gone with them.
    pub fn to_core(&self, part: usize) -> u32 {
        let made = self.history.cores.get(&part).copied().unwrap_or(0);
        let to_cast = self.to_cast(part);
        (self.history.cast(part) + to_cast).saturating_sub(made).min(to_cast)
    }

    /// How long a mould of a pattern may stand between ramming and pouring: a limit, gone by at its
    /// least, for what crumbles costs the casting.
    pub fn stands(&self, pattern: usize) -> Option<Figure<Time>> {
        let sand = self.patterns[pattern].sand.as_ref()?;
        let own = self.shop.sand.as_ref().filter(|s| s.kind.value == sand.id);
        let stands = own.and_then(|s| s.stands.as_ref()).or(sand.stands.as_ref());
        stands.map(|stands| stands.safe_at(SafeEnd::Low))
    }

    /// Until when a mould that stands may be poured.
    pub fn good_until(&self, attempt: &Attempt) -> Option<NaiveDateTime> {
        let stands = self.stands(attempt.pattern)?;
        Some(attempt.rammed + TimeDelta::seconds(stands.safe() as i64))
    }

    /// Index of the part with this id.
    pub fn part(&self, id: &str) -> Option<usize> {
        self.parts.iter().position(|p| **p.id() == *id)
    }
}
