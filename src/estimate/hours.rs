//! Hands-on hours and waits of each step.

use super::CastingEstimate;
use crate::figure::*;
use crate::handbook::formulas::pattern as bench;
use crate::manifest::{Difficulty, Making, Step, WaitGiven};
use crate::model::{Build, Part};

/// How long a step takes.
#[derive(Debug, Clone, Default)]
pub struct StepTime {
    /// At the bench.
    pub hands_on: Option<Figure<Time>>,
    /// By the clock, with nobody at it.
    pub wait: Option<Figure<Time>>,
}

/// How long the next step waits for what dries or cures after this one. A wash or a core that is
/// damp makes steam under the metal: there the longest of it is gone by.
fn drying(build: &Build, part: &Part, step: Step) -> Option<Figure<Time>> {
    let wait = match part.wait_given(step)? {
        WaitGiven::Usual => build.handbook.time(&format!("dry/{}", step.word()))?,
        WaitGiven::Own(wait) => wait,
    };
    let wait = wait.named(format!("wait after {}", step.word()));
    if !matches!(step, Step::Core | Step::Ram) {
        return Some(wait);
    }
    const WHY: &str = "the longest of it: what is damp makes steam under the metal";
    let because = Because::Chosen(WHY.into(), vec![wait.node().clone()]);
    Some(Figure::new("wait to dry", Range::exact(wait.high()), because).safe_at(SafeEnd::High))
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
/// them; and the longest wait that any of them gives.
pub fn pattern_times(build: &Build) -> Vec<StepTime> {
    let mut given = vec![StepTime::default(); build.patterns.len()];
    let mut hardest = vec![None; build.patterns.len()];
    for part in &build.parts {
        let Some(casting) = &part.casting else { continue };
        let (own, hard) = (&mut given[casting.pattern], &mut hardest[casting.pattern]);
        own.hands_on = own.hands_on.take().or_else(|| part.hours_given(Step::Pattern).cloned());
        let waits = own.wait.take().into_iter().chain(drying(build, part, Step::Pattern));
        own.wait = waits.max_by(|a, b| a.si().total_cmp(&b.si()));
        *hard = (*hard).max(Some(casting.given.difficulty));
    }
    let book = |hard: Option<Difficulty>| build.handbook.time(&format!("pattern/{}", hard?.word()));
    let times = given.into_iter().zip(hardest).map(|(own, hard)| {
        let hands_on = own.hands_on.or_else(|| book(hard).cloned());
        StepTime { hands_on: hands_on.map(|t| t.named("time for the pattern")), ..own }
    });
    times.collect()
}

/// So many equal parts of a time.
pub(super) fn part_of(time: &Figure<Time>, parts: usize) -> Figure<Time> {
    let among = Figure::counted("patterns in the mould", parts as f64, "of the manifest");
    time.shared("share of a mould", "shared equally by the patterns in the mould", &among)
}

/// Time of a step of one mould that holds these parts. The builder's own hours go first, the longest
/// of them where several parts have their own; else ramming goes by the inside of the flask.
pub(super) fn of_mould(
    build: &Build,
    parts: &[usize],
    estimates: &[Option<CastingEstimate>],
    flask: Option<&Figure<Volume>>,
    step: Step,
) -> StepTime {
    let longest = |of: Vec<Figure<Time>>| of.into_iter().max_by(|a, b| a.si().total_cmp(&b.si()));
    let all = |i: &usize| (*i, step_time(build, &build.parts[*i], estimates[*i].as_ref(), step));
    let wait = longest(parts.iter().filter_map(|i| all(i).1.wait).collect());
    let own = parts.iter().any(|i| build.parts[*i].hours_given(step).is_some());
    let by_flask = || {
        let rate = build.handbook.time_by_volume("ram")?;
        Some(bench::bench_time_by_volume::figure(flask?, rate))
    };
    if step == Step::Ram && !own && flask.is_some() {
        return StepTime { hands_on: by_flask(), wait };
    }
    let counts = |i: &&usize| !own || build.parts[**i].hours_given(step).is_some();
    let each = parts.iter().filter(counts).map(all).filter_map(|(i, time)| {
        let moulds = f64::from(estimates[i].as_ref().map_or(1, |e| e.moulds.max(1)));
        let moulds = Figure::counted("moulds", moulds, "pieces by the cavities of the pattern");
        Some(time.hands_on?.shared("time for one mould", "all moulds / how many", &moulds))
    });
    StepTime { hands_on: longest(each.collect()), wait }
}

/// Time of one step of a part, all its pieces together, as if each pattern were rammed alone.
pub fn step_time(
    build: &Build,
    part: &Part,
    estimate: Option<&CastingEstimate>,
    step: Step,
) -> StepTime {
    let time = bench_time(build, part, estimate, step);
    StepTime { wait: time.wait.or_else(|| drying(build, part, step)), ..time }
}

fn bench_time(
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
    let per = |key: &str, count: u32, name| book.time(key).map(|t| t.times(count, name));
    let name = "time at the bench";
    match step {
        Step::Core => StepTime::bench(per("core", pieces, name)),
        Step::Ram => StepTime::bench((|| {
            let flask = estimate?.mould.flask_volume.as_ref()?;
            let each = bench::bench_time_by_volume::figure(flask, book.time_by_volume("ram")?);
            Some(each.times(moulds, name))
        })()),
        Step::Pour => StepTime::bench(per("pour", moulds, name)),
        Step::ShakeOut => StepTime {
            hands_on: per("shake-out", moulds, name),
            wait: estimate
                .and_then(|e| e.not_before.as_ref())
                .or_else(|| book.time(&format!("cool/{family}")))
                .map(|t| t.named("time in the mould")),
        },
        Step::Fettle => StepTime::bench((|| {
            let mass = estimate?.size.rough_mass.as_ref()?.times(pieces, "castings");
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
            let rate = bench::time_per_area::figure(rate);
            Some(bench::bench_time_by_area::figure(&area.times(pieces, "machined surface"), &rate))
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
