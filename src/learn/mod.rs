//! What the journal teaches: the handbook's ranges drawn toward what was measured.
//!
//! [`learn`] compares build and estimates and gives the lessons; [`Learned::taken_into`] gives a
//! build whose handbook holds what was learned, to be estimated anew.

mod estimator;
mod far;
mod measure;

pub use estimator::{Scale, chance, usual};
pub use far::{far, measures};

use crate::chance::Beta;
use crate::estimate::{Estimates, estimate};
use crate::figure::*;
use crate::manifest::Difficulty;
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

const BY_FACTOR: &str = "log-normal, the range as its 90 % interval; counts as one measurement";
const BY_SIZE: &str = "normal, the range as its 90 % interval; counts as one measurement";

/// Beta prior of the chance that a mould is lost, by difficulty: from memory, means of 10, 25 and
/// 40 %, each worth about four moulds or more.
pub fn scrap_prior(difficulty: Difficulty) -> (Beta, &'static str) {
    match difficulty {
        Difficulty::Easy => (Beta::EVEN.after(0, 8), "Beta(1, 9), mean 10 %, from memory"),
        Difficulty::Fair => (Beta::EVEN.after(0, 2), "Beta(1, 3), mean 25 %, from memory"),
        Difficulty::Hard => (Beta::EVEN.after(1, 2), "Beta(2, 3), mean 40 %, from memory"),
    }
}

/// Moulds lost and moulds decided on so far, by difficulty.
pub fn scrap_record(build: &Build) -> std::collections::BTreeMap<Difficulty, (u32, u32)> {
    let record = measure::scrap(build).into_iter();
    record.map(|(class, (nodes, lost))| (class, (lost, nodes.len() as u32))).collect()
}

/// What is believed of the chance that a mould of this difficulty is lost, with what the journal
/// says of it.
pub fn scrap_belief(build: &Build, difficulty: Difficulty) -> Beta {
    let (nodes, lost) = measure::scrap(build).remove(&difficulty).unwrap_or_default();
    scrap_prior(difficulty).0.after(u64::from(lost), nodes.len() as u64 - u64::from(lost))
}

/// The same as a figure.
pub fn scrap_chance(build: &Build, difficulty: Difficulty) -> Figure<Ratio> {
    let (nodes, _) = measure::scrap(build).remove(&difficulty).unwrap_or_default();
    let (prior, says) = scrap_prior(difficulty);
    let range = chance(scrap_belief(build, difficulty));
    let before = Node::new(
        "prior",
        Kind::Ratio,
        chance(prior),
        Because::Handbook(Arc::new(Source { citation: says.into(), known: Known::FromMemory })),
    );
    let because = Because::Closed(CHANCE, std::iter::once(before).chain(nodes).collect());
    Figure::new("chance that a mould is lost", range, because)
}

const CHANCE: &str = "(prior a + moulds lost) / (prior a + b + moulds); range: 5 and 95 %";
const DRAWN: &str = "the range before and the measurements, weighed by how sure each is; range: 90 % of the usual value";

/// Compares what was estimated with what was measured.
pub fn learn(build: &Build, estimates: &Estimates) -> Learned {
    let mut lessons = Vec::new();
    let mut add =
        |id, what, of: &Arc<str>, before: Option<&Node>, measured: Vec<Node>, scale, takes| {
            let Some(before) = before.filter(|_| !measured.is_empty()) else { return };
            let values: Vec<f64> = measured.iter().map(|n| n.range().likely).collect();
            let range = usual(before.range(), &values, scale);
            let nodes = std::iter::once(before.clone()).chain(measured.iter().cloned()).collect();
            let name = format!("{}, learned", before.name());
            let learned = Node::new(name, before.kind(), range, Because::Closed(DRAWN, nodes));
            let prior = if scale == Scale::Log { BY_FACTOR } else { BY_SIZE };
            lessons.push(Lesson {
                id,
                of: of.clone(),
                what,
                before: before.clone(),
                measured,
                learned,
                prior,
                takes,
            });
        };
    let book = &build.handbook;
    let alloy = |id: &Arc<str>| book.alloys.get(id);
    for (id, list) in measure::casting_yield(build) {
        let before = alloy(&id).and_then(|a| a.casting_yield.as_ref()).map(Figure::node);
        add("yield", "casting yield", &id, before, list, Scale::Log, Takes::Yield);
    }
    for (id, list) in measure::melt_loss(build) {
        let before = alloy(&id).and_then(|a| a.melt_loss.as_ref()).map(Figure::node);
        add("melt-loss", "share lost in melting", &id, before, list, Scale::Log, Takes::MeltLoss);
    }
    for (id, list) in measure::efficiency(build) {
        let furnace = build.shop.furnaces.get(&id);
        let before = furnace.and_then(|f| f.efficiency.as_ref()).map(Figure::node);
        add(
            "fuel",
            "share of the fuel's heat in the metal",
            &id,
            before,
            list,
            Scale::Log,
            Takes::Efficiency,
        );
    }
    if let Some(sand) = &build.sand {
        let list = measure::sand_loss(build, estimates);
        let before = sand.loss.as_ref().map(Figure::node);
        let what = "share of the sand lost in a use";
        add("sand-loss", what, &sand.id, before, list, Scale::Log, Takes::SandLoss);
    }
    let list = measure::ramming(build, estimates);
    let before = book.time_by_volume("ram").map(Figure::node);
    let what = "time to ram a volume of flask";
    add("ramming", what, &"moulds".into(), before, list, Scale::Log, Takes::Ramming);
    for (family, list) in measure::fettling(build) {
        let before = book.time_by_mass(&format!("fettle/{family}")).map(Figure::node);
        let what = "time to fettle a mass of castings";
        add("fettling", what, &family, before, list, Scale::Log, Takes::Fettling);
    }
    let before = book.time("melt").map(Figure::node);
    let what = "time at the furnace for a heat";
    let list = measure::melting(build);
    add("melting", what, &"heats".into(), before, list, Scale::Log, Takes::Melting);
    for (difficulty, list) in measure::patterns(build) {
        let word: Arc<str> = difficulty.word().into();
        let before = book.time(&format!("pattern/{word}")).map(Figure::node);
        add("patterns", "time for a pattern", &word, before, list, Scale::Log, Takes::Patterns);
    }
    for (id, list) in measure::contraction(build) {
        let before = alloy(&id).and_then(|a| a.contraction.as_ref()).map(Figure::node);
        let what = "contraction, pattern to casting";
        add("contraction", what, &id, before, list, Scale::Plain, Takes::Contraction);
    }
    let (left, constants) = measure::cooling(build, estimates);
    for (id, list) in constants {
        let of = |p: &crate::model::Part| p.casting.as_ref().is_some_and(|c| c.alloy.id == id);
        let at = build.parts.iter().position(of);
        let estimate = at.and_then(|i| estimates.castings[i].as_ref());
        let before = estimate.and_then(|e| e.freezing.mould_constant.as_ref()).map(Figure::node);
        let what = "mould constant";
        add("mould-constant", what, &id, before, list, Scale::Log, Takes::MouldConstant);
    }
    let reckoned = Node::new(
        "time in the mould over the computed time",
        Kind::Number,
        Range { low: 0.7, likely: 1.0, high: 1.5 },
        Because::Counted("as computed, 5 to 10 freezing times".into()),
    );
    for (id, list) in left {
        let what = "time in the mould over the computed time";
        add("shake-out", what, &id, Some(&reckoned), list, Scale::Log, Takes::Nothing);
    }
    for (difficulty, (nodes, _)) in measure::scrap(build) {
        let (prior, says) = scrap_prior(difficulty);
        let learned = scrap_chance(build, difficulty).node().clone();
        let because =
            Because::Handbook(Arc::new(Source { citation: says.into(), known: Known::FromMemory }));
        lessons.push(Lesson {
            id: "scrap",
            of: difficulty.word().into(),
            what: "chance that a mould is lost",
            before: Node::new("prior", Kind::Ratio, chance(prior), because),
            measured: nodes,
            learned,
            prior: says,
            takes: Takes::Nothing,
        });
    }
    Learned { lessons, taken: build.header.learn }
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
