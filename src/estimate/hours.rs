//! Hands-on hours and waits of each step.

use super::{CastingEstimate, times};
use crate::build::{Build, Part};
use crate::figure::*;
use crate::handbook::formulas::pattern as bench;
use crate::manifest::{Difficulty, Making, Step};

/// How long a step takes.
#[derive(Debug, Clone, Default)]
pub struct StepTime {
    /// At the bench.
    pub hands_on: Option<Figure<Time>>,
    /// By the clock, with nobody at it.
    pub wait: Option<Figure<Time>>,
}

impl StepTime {
    fn bench(hands_on: Option<Figure<Time>>) -> Self {
        Self { hands_on, wait: None }
    }

    /// Likely seconds at the bench.
    pub fn hands_on_si(&self) -> f64 {
        self.hands_on.as_ref().map_or(0.0, Figure::si)
    }

    /// Likely seconds of waiting.
    pub fn wait_si(&self) -> f64 {
        self.wait.as_ref().map_or(0.0, Figure::si)
    }
}

/// Time to make each pattern: the builder's own for any part that uses it, or by the hardest of
/// them.
pub fn pattern_times(build: &Build) -> Vec<Option<Figure<Time>>> {
    let mut given = vec![None; build.patterns.len()];
    let mut hardest = vec![None; build.patterns.len()];
    for part in &build.parts {
        let Some(casting) = &part.casting else { continue };
        let (own, hard) = (&mut given[casting.pattern], &mut hardest[casting.pattern]);
        *own = own.take().or_else(|| part.hours_given(Step::Pattern));
        *hard = (*hard).max(Some(casting.given.difficulty));
    }
    let book = |hard: Option<Difficulty>| build.handbook.time(&format!("pattern/{}", hard?.word()));
    let times = given.into_iter().zip(hardest);
    times
        .map(|(own, hard)| Some(own.or_else(|| book(hard))?.named("time for the pattern")))
        .collect()
}

/// Time of one step of a part, all its pieces together.
pub fn step_time(
    build: &Build,
    part: &Part,
    estimate: Option<&CastingEstimate>,
    step: Step,
) -> StepTime {
    let book = &build.handbook;
    let given = part.hours_given(step).cloned();
    let wait_given = matches!(step, Step::Relieve | Step::Receive);
    if let Some(given) = given {
        return if wait_given {
            StepTime { hands_on: None, wait: Some(given) }
        } else {
            StepTime::bench(Some(given))
        };
    }
    let family = part.casting.as_ref().map(|c| c.alloy.family.word()).unwrap_or_default();
    let pieces = part.given.quantity;
    let moulds = estimate.map_or(1, |e| e.moulds);
    let per = |key: &str, count: u32, name| book.time(key).map(|t| times(t, count, name));
    let name = "time at the bench";
    match step {
        Step::Core => StepTime::bench(per("core", pieces, name)),
        Step::Ram => StepTime::bench((|| {
            let flask = estimate?.mould.flask_volume.as_ref()?;
            let each = bench::bench_time_by_volume::figure(flask, book.time_by_volume("ram")?);
            Some(times(&each, moulds, name))
        })()),
        Step::Pour => StepTime::bench(per("pour", moulds, name)),
        Step::ShakeOut => StepTime {
            hands_on: per("shake-out", moulds, name),
            wait: book.time(&format!("cool/{family}")).map(|t| t.named("time in the mould")),
        },
        Step::Fettle => StepTime::bench((|| {
            let mass = times(estimate?.rough_mass.as_ref()?, pieces, "castings");
            Some(bench::bench_time_by_mass::figure(
                &mass,
                book.time_by_mass(&format!("fettle/{family}"))?,
            ))
        })()),
        Step::Inspect => StepTime::bench(per("inspect", pieces, name)),
        Step::Relieve => StepTime {
            hands_on: None,
            wait: book.time(&format!("relieve/{family}")).map(|t| t.named("time in the furnace")),
        },
        Step::Machine => StepTime::bench((|| {
            let area = part.casting.as_ref()?.given.machined.as_ref()?;
            let rate = book.time_by_surface("machine")?;
            let range = rate.node().range().map(|t| t / 0.01);
            let rate = Figure::<TimePerArea>::new(
                "time for a machined surface",
                range,
                Because::Closed("time for 100 cm2 / 100 cm2", vec![rate.node().clone()]),
            );
            Some(bench::bench_time_by_area::figure(&times(area, pieces, "machined surface"), &rate))
        })()),
        Step::Fit => StepTime::bench(per("assemble", pieces, name)),
        Step::Receive => match &part.given.making {
            Making::Bought(bought) => StepTime { hands_on: None, wait: bought.delivery.clone() },
            _ => StepTime::default(),
        },
        Step::Make => match &part.given.making {
            Making::Made(made) => StepTime::bench(made.hours.clone()),
            _ => StepTime::default(),
        },
        Step::Pattern | Step::Scrape => StepTime::default(),
    }
}
