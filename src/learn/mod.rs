//! What the journal teaches: the handbook's ranges drawn toward what was measured.
//!
//! [`learn`] compares build and estimates and gives the lessons; [`Learned::taken_into`] gives a
//! build whose handbook holds what was learned, to be estimated anew.

mod estimator;
mod far;
mod lessons;
mod measure;
mod scrap;

pub use estimator::{Scale, chance, usual};
pub use far::{far, measures};
pub use lessons::learn;
pub use scrap::{scrap_belief, scrap_chance, scrap_prior, scrap_record};

use crate::estimate::{Estimates, estimate};
use crate::figure::*;
use crate::model::Build;
use std::sync::Arc;

/// What a lesson changes when it is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Takes {
    MeltLoss,
    Yield,
    Contraction,
    MouldConstant,
    Efficiency,
    SandLoss,
    Ramming,
    Fettling,
    Melting,
    Patterns,
    /// It is shown and changes no estimate.
    Nothing,
}

/// What was learned about one quantity.
#[derive(Debug, Clone)]
pub struct Lesson {
    /// Name of the quantity, such as `melt-loss`.
    pub id: &'static str,
    /// Of which alloy, furnace, sand, family or class.
    pub of: Arc<str>,
    /// What it is, in words.
    pub what: &'static str,
    /// Before anything was measured.
    pub before: Node,
    /// What was measured, oldest first.
    pub measured: Vec<Node>,
    /// Before and measurements together: the usual value, with its 90 % interval.
    pub learned: Node,
    /// The prior, in words.
    pub prior: &'static str,
    takes: Takes,
}

impl Lesson {
    /// Whether it can replace a figure of the handbook.
    pub fn can_be_taken(&self) -> bool {
        self.takes != Takes::Nothing
    }

    /// The day of the last measurement.
    pub fn on(&self) -> Option<chrono::NaiveDate> {
        let day = |n: &Node| match n.because() {
            Because::Measured { on, .. } => Some(*on),
            _ => None,
        };
        self.measured.iter().filter_map(day).max()
    }

    /// Ids of the entries it was learned from.
    pub fn entries(&self) -> Vec<Arc<str>> {
        let id = |n: &Node| match n.because() {
            Because::Measured { entry, .. } => Some(entry.clone()),
            _ => None,
        };
        self.measured.iter().filter_map(id).collect()
    }

    fn figure<Q: Quantity>(&self) -> Figure<Q> {
        Figure::typed(self.learned.clone())
    }
}

/// All that was learned.
#[derive(Debug, Clone, Default)]
#[non_exhaustive]
pub struct Learned {
    /// The lessons; only quantities that were measured have one.
    pub lessons: Vec<Lesson>,
    /// Whether the estimates use them.
    pub taken: bool,
}

/// Estimates a build, with what its journal teaches where the manifest says `learn: yes`: the
/// build as it is then, its estimates, and the lessons.
pub fn considered(build: Build) -> (Build, Estimates, Learned) {
    let estimates = estimate(&build);
    let learned = learn(&build, &estimates);
    if !learned.taken || !learned.lessons.iter().any(Lesson::can_be_taken) {
        return (build, estimates, learned);
    }
    let build = learned.taken_into(build);
    let estimates = estimate(&build);
    (build, estimates, learned)
}

impl Learned {
    /// The build with every lesson in the place of the figure it started from.
    pub fn taken_into(&self, mut build: Build) -> Build {
        for lesson in &self.lessons {
            let on_alloy = |build: &mut Build, change: &dyn Fn(&mut crate::handbook::Alloy)| {
                let Some(alloy) = build.handbook.alloys.get_mut(&lesson.of) else { return };
                change(Arc::make_mut(alloy));
                let castings = build.parts.iter_mut().filter_map(|p| p.casting.as_mut());
                for casting in castings.filter(|c| c.alloy.id == lesson.of) {
                    casting.alloy = alloy.clone();
                }
            };
            match lesson.takes {
                Takes::Nothing => {}
                Takes::MeltLoss => {
                    on_alloy(&mut build, &|a| a.melt_loss = Some(lesson.figure()));
                }
                Takes::Yield => on_alloy(&mut build, &|a| a.casting_yield = Some(lesson.figure())),
                Takes::Contraction => {
                    on_alloy(&mut build, &|a| a.contraction = Some(lesson.figure()));
                }
                Takes::MouldConstant => {
                    on_alloy(&mut build, &|a| a.mould_constant = Some(lesson.figure()));
                }
                Takes::Efficiency => {
                    if let Some(furnace) = build.shop.furnaces.get_mut(&lesson.of) {
                        furnace.efficiency = Some(lesson.figure());
                    }
                }
                Takes::SandLoss => {
                    let sands = build.patterns.iter_mut().filter_map(|p| p.sand.as_mut());
                    let sands = sands.chain(build.sand.as_mut());
                    for sand in sands.chain(build.handbook.sands.values_mut()) {
                        if sand.id == lesson.of {
                            Arc::make_mut(sand).loss = Some(lesson.figure());
                        }
                    }
                }
                Takes::Ramming => build.handbook.set_time_by_volume("ram", lesson.figure()),
                Takes::Melting => build.handbook.set_time("melt", lesson.figure()),
                Takes::Patterns => {
                    let key = format!("pattern/{}", lesson.of);
                    build.handbook.set_time(&key, lesson.figure());
                }
                Takes::Fettling => {
                    let key = format!("fettle/{}", lesson.of);
                    build.handbook.set_time_by_mass(&key, lesson.figure());
                }
            }
        }
        build
    }
}
