//! Estimates for each casting and each mould: metal, sand, flask, crucible, hours.

mod around;
mod by_flow;
mod casting;
mod cautions;
mod company;
mod feeding;
mod field;
mod freezing;
mod gating;
mod handling;
mod hours;
pub mod layout;
mod loads;
mod meshed;
mod mixed;
mod mould;
mod pattern_sheet;
mod pot;
mod pouring;
mod ready;
mod rough;
mod sections;
mod size;
mod takes;
mod timed;
mod together;
mod workshop;

pub use casting::CastingEstimate;
pub(crate) use casting::cores;
pub use cautions::cautions;
pub use company::company;
pub use feeding::{Feeders, FeedingEstimate};
pub use field::{Field, setup};
pub use freezing::FreezingEstimate;
pub use gating::{GatingEstimate, Sprue, Ways};
pub use handling::{Carry, HandlingEstimate, NOT_FOR_HOT_METAL};
pub use hours::{StepTime, pattern_times, step_time};
pub use loads::LoadEstimate;
pub use mould::{
    CrucibleFit, FlaskFit, MouldEstimate, clear_up, crucible_for_all, melt_fuel, melt_time, set_up,
    warm_up,
};
pub use pattern_sheet::PatternSheet;
pub(crate) use pot::held;
pub use pot::{Lift, Pot, pot};
pub use pouring::coldest;
pub use sections::Section;
pub use size::SizeEstimate;
pub use takes::{At, Gone, Takes, Use};
pub use together::{Lots, Together};

use timed::{Clocks, Reckoned};

use crate::figure::{Because, Figure, Known, Node, Quantity, Range, Source};
use crate::freezing::{self as heat, Frozen, Setup};
use crate::model::Build;
use rayon::prelude::*;

/// The figures of a struct's fields that are known, each under the name that `why` answers to.
macro_rules! listed {
    ($self:ident: $($field:ident = $name:literal),+ $(,)?) => {
        [$(($name, $crate::estimate::Listed::listed(&$self.$field))),+]
            .into_iter()
            .filter_map(|(name, node)| Some((name, node?)))
            .collect()
    };
}
use listed;

/// A figure of a record, or one that may not be known.
trait Listed {
    fn listed(&self) -> Option<Node>;
}

impl<Q: Quantity> Listed for Figure<Q> {
    fn listed(&self) -> Option<Node> {
        Some(self.node().clone())
    }
}

impl<Q: Quantity> Listed for Option<Figure<Q>> {
    fn listed(&self) -> Option<Node> {
        self.as_ref().map(|f| f.node().clone())
    }
}

/// The estimates of a build.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Estimates {
    /// By part index; none for what is not cast.
    pub castings: Vec<Option<CastingEstimate>>,
    /// Moulds in which several patterns lie.
    pub together: Vec<Together>,
}

/// Estimates every casting of a build.
pub fn estimate(build: &Build) -> Estimates {
    let clocks = clocks(build);
    let alone = |part| ready::alone(build, part, &clocks);
    let alone: Vec<_> = build.parts.par_iter().map(alone).collect();
    let estimate = |alone: &Option<(ready::Ready<'_>, ready::InMould)>| {
        let (ready, in_mould) = alone.as_ref()?;
        Some(ready.clone().estimate(in_mould.clone()))
    };
    let mut castings: Vec<_> = alone.par_iter().map(estimate).collect();
    let ready: Vec<_> = alone.iter().map(|alone| Some(&alone.as_ref()?.0)).collect();
    mixed::note(build, &mut castings);
    let sets = together::sets(build).into_par_iter();
    let together = sets.filter_map(|parts| together::estimate(build, parts, &castings, &ready));
    let together = together.collect();
    Estimates { castings, together }
}

/// What the castings teach that were timed.
fn clocks(build: &Build) -> Clocks {
    let timed = build.parts.iter().filter_map(|part| {
        let casting = part.casting.as_ref().filter(|c| c.given.froze_in.is_some())?;
        let (freezing, field) = ready::freezing(build, part)?;
        let solid = field.frozen().map(|frozen| frozen.solid);
        Some(Reckoned { casting, last: freezing.sections.last().cloned(), solid })
    });
    Clocks::of(build, &timed.collect::<Vec<_>>())
}

/// The freezing of a part that is cast, with its feeders found by trying and the mould laid out around
/// them; none where the setup lacks a property, or the casting is so thin for its width that it wants
/// more cells than there is room for.
pub fn freeze(build: &Build, part: usize, setup: &Setup) -> Option<Frozen> {
    heat::freeze(setup, &around::Around::of(build, &build.parts[part], setup, clocks(build))?)
}

/// A figure of the trade, low, likely and high in SI, with where it is from.
fn rule<Q: Quantity>(
    name: &'static str,
    [low, likely, high]: [f64; 3],
    known: Known,
    citation: &'static str,
) -> Figure<Q> {
    let source = Source { citation: citation.into(), known };
    Figure::new(name, Range { low, likely, high }, Because::Handbook(source.into()))
}

/// Metal for a whole mould.
fn for_mould(poured: &Figure<crate::figure::Mass>, cavities: u32) -> Figure<crate::figure::Mass> {
    if cavities == 1 {
        poured.named("metal for the mould")
    } else {
        poured.times(cavities, "metal for the mould")
    }
}
