//! Which quantities are learned: what is believed of each before, and what the journal measured.

use super::{Learned, Lesson, Scale, Takes, chance, measure, scrap_chance, scrap_prior, usual};
use crate::estimate::Estimates;
use crate::figure::*;
use crate::handbook::Alloy;
use crate::manifest::Difficulty;
use crate::model::{Build, Part};
use std::sync::Arc;

const BY_FACTOR: &str = "log-normal, the range as its 90 % interval; counts as one measurement";
const BY_SIZE: &str = "normal, the range as its 90 % interval; counts as one measurement";
const DRAWN: &str = "the range before and the measurements, weighed by how sure each is; range: 90 % of the usual value";

/// Compares what was estimated with what was measured.
pub fn learn(build: &Build, estimates: &Estimates) -> Learned {
    let mut lessons = of_melts(build);
    lessons.extend(of_sand(build, estimates));
    lessons.extend(of_hours(build, estimates));
    lessons.extend(of_contraction(build));
    lessons.extend(of_cooling(build, estimates));
    lessons.extend(of_scrap(build));
    Learned { lessons, taken: build.header.learn }
}

/// A quantity whose range is drawn toward what was measured of it.
struct Topic {
    id: &'static str,
    what: &'static str,
    scale: Scale,
    takes: Takes,
}

impl Topic {
    /// A quantity that errs by a factor.
    const fn by_factor(id: &'static str, what: &'static str, takes: Takes) -> Self {
        Self { id, what, scale: Scale::Log, takes }
    }

    /// The lesson; none where nothing was believed before, or nothing measured.
    fn lesson(&self, of: &Arc<str>, before: Option<&Node>, measured: Vec<Node>) -> Option<Lesson> {
        let before = before.filter(|_| !measured.is_empty())?;
        let values: Vec<f64> = measured.iter().map(|n| n.range().likely).collect();
        let range = usual(before.range(), &values, self.scale);
        let nodes = std::iter::once(before.clone()).chain(measured.iter().cloned()).collect();
        let name = format!("{}, learned", before.name());
        Some(Lesson {
            id: self.id,
            of: of.clone(),
            what: self.what,
            before: before.clone(),
            learned: Node::new(name, before.kind(), range, Because::Closed(DRAWN, nodes)),
            measured,
            prior: if self.scale == Scale::Log { BY_FACTOR } else { BY_SIZE },
            takes: self.takes,
        })
    }

    /// A lesson for each alloy, from a figure of it.
    fn of_alloys<Q: Quantity>(
        &self,
        build: &Build,
        measured: measure::ByName,
        figure: impl Fn(&Alloy) -> Option<&Figure<Q>>,
    ) -> Vec<Lesson> {
        let lesson = |(id, list)| {
            let before = figure(build.handbook.alloys.get(&id)?)?;
            self.lesson(&id, Some(before.node()), list)
        };
        measured.into_iter().filter_map(lesson).collect()
    }
}

/// What becomes of the metal, and of the fuel that melts it.
fn of_melts(build: &Build) -> Vec<Lesson> {
    const YIELD: Topic = Topic::by_factor("yield", "casting yield", Takes::Yield);
    const LOSS: Topic = Topic::by_factor("melt-loss", "share lost in melting", Takes::MeltLoss);
    const FUEL: Topic =
        Topic::by_factor("fuel", "share of the fuel's heat in the metal", Takes::Efficiency);
    let yields = measure::casting_yield(build);
    let losses = measure::melt_loss(build);
    let mut lessons = YIELD.of_alloys(build, yields, |a| a.casting_yield.as_ref());
    lessons.extend(LOSS.of_alloys(build, losses, |a| a.melt_loss.as_ref()));
    lessons.extend(measure::efficiency(build).into_iter().filter_map(|(id, list)| {
        let efficiency = build.shop.furnaces.get(&id)?.efficiency.as_ref()?;
        FUEL.lesson(&id, Some(efficiency.node()), list)
    }));
    lessons
}

fn of_sand(build: &Build, estimates: &Estimates) -> Option<Lesson> {
    const LOSS: Topic =
        Topic::by_factor("sand-loss", "share of the sand lost in a use", Takes::SandLoss);
    let sand = build.sand.as_ref()?;
    let before = sand.loss.as_ref().map(Figure::node);
    LOSS.lesson(&sand.id, before, measure::sand_loss(build, estimates))
}

/// How long the work takes.
fn of_hours(build: &Build, estimates: &Estimates) -> Vec<Lesson> {
    const RAM: Topic = Topic::by_factor("ramming", "time to ram a volume of flask", Takes::Ramming);
    const FETTLE: Topic =
        Topic::by_factor("fettling", "time to fettle a mass of castings", Takes::Fettling);
    const MELT: Topic =
        Topic::by_factor("melting", "time at the furnace for a heat", Takes::Melting);
    const PATTERN: Topic = Topic::by_factor("patterns", "time for a pattern", Takes::Patterns);
    let book = &build.handbook;
    let ramming = book.time_by_volume("ram").map(Figure::node);
    let melting = book.time("melt").map(Figure::node);
    let fettling = |(family, list): (Arc<str>, Vec<Node>)| {
        let before = book.time_by_mass(&format!("fettle/{family}")).map(Figure::node);
        FETTLE.lesson(&family, before, list)
    };
    let patterns = |(difficulty, list): (Difficulty, Vec<Node>)| {
        let word: Arc<str> = difficulty.word().into();
        let before = book.time(&format!("pattern/{word}")).map(Figure::node);
        PATTERN.lesson(&word, before, list)
    };
    let rammed = RAM.lesson(&"moulds".into(), ramming, measure::ramming(build, estimates));
    let melted = MELT.lesson(&"heats".into(), melting, measure::melting(build));
    (rammed.into_iter())
        .chain(measure::fettling(build).into_iter().filter_map(fettling))
        .chain(melted)
        .chain(measure::patterns(build).into_iter().filter_map(patterns))
        .collect()
}

fn of_contraction(build: &Build) -> Vec<Lesson> {
    const CONTRACTION: Topic = Topic {
        id: "contraction",
        what: "contraction, pattern to casting",
        scale: Scale::Plain,
        takes: Takes::Contraction,
    };
    CONTRACTION.of_alloys(build, measure::contraction(build), |a| a.contraction.as_ref())
}

/// How fast a casting freezes, and how long it then lies in its mould.
fn of_cooling(build: &Build, estimates: &Estimates) -> Vec<Lesson> {
    const CONSTANT: Topic =
        Topic::by_factor("mould-constant", "mould constant", Takes::MouldConstant);
    const LEFT: Topic =
        Topic::by_factor("shake-out", "time in the mould over the computed time", Takes::Nothing);
    let (left, constants) = measure::cooling(build, estimates);
    // It is the same for all castings of an alloy.
    let constant = |(id, list): (Arc<str>, Vec<Node>)| {
        let of = |p: &Part| p.casting.as_ref().is_some_and(|c| c.alloy.id == id);
        let estimate = estimates.castings[build.parts.iter().position(of)?].as_ref()?;
        let before = estimate.freezing.mould_constant.as_ref().map(Figure::node);
        CONSTANT.lesson(&id, before, list)
    };
    let reckoned = Node::new(
        LEFT.what,
        Kind::Number,
        Range { low: 0.7, likely: 1.0, high: 1.5 },
        Because::Counted("as computed, 5 to 10 freezing times".into()),
    );
    let lying = |(id, list)| LEFT.lesson(&id, Some(&reckoned), list);
    let constants = constants.into_iter().filter_map(constant);
    constants.chain(left.into_iter().filter_map(lying)).collect()
}

/// How often a mould is lost, by difficulty.
fn of_scrap(build: &Build) -> Vec<Lesson> {
    let lesson = |(difficulty, (measured, _)): (Difficulty, (Vec<Node>, u32))| {
        let (prior, says) = scrap_prior(difficulty);
        let source = Source { citation: says.into(), known: Known::FromMemory };
        let because = Because::Handbook(Arc::new(source));
        Lesson {
            id: "scrap",
            of: difficulty.word().into(),
            what: "chance that a mould is lost",
            before: Node::new("prior", Kind::Ratio, chance(prior), because),
            measured,
            learned: scrap_chance(build, difficulty).node().clone(),
            prior: says,
            takes: Takes::Nothing,
        }
    };
    measure::scrap(build).into_iter().map(lesson).collect()
}
