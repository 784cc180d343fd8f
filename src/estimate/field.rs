//! What heat flow says of a casting, where it was reckoned and still holds.

use super::feeding::{Feeders, FeedingEstimate};
use super::layout::{Laid, Layout, Rect};
use super::rough::Rough;
use crate::figure::*;
use crate::freezing::{self, Advice, Frozen, Ingate, Refusal, Setup, Stand, Ways};
use crate::model::{Build, Casting, Hole};
use crate::shape::{Frame, Placed, Solid};
use std::sync::Arc;

/// Heat flow in one casting.
#[derive(Debug, Clone)]
pub enum Field {
    /// It was reckoned and holds.
    Holds(Arc<Frozen>),
    /// What was reckoned depends on what has changed since.
    Outdated,
    /// It was not computed yet.
    Missing,
    /// It cannot be computed.
    Cannot(Refusal),
}

impl Field {
    /// What was reckoned, where it holds.
    pub fn frozen(&self) -> Option<&Arc<Frozen>> {
        match self {
            Self::Holds(frozen) => Some(frozen),
            _ => None,
        }
    }

    /// Whether what holds was reckoned with this way in.
    pub(super) fn is_gated(&self, ways: impl FnOnce() -> Option<Ways>) -> bool {
        self.frozen().is_none_or(|frozen| {
            frozen.way_in.as_ref().map(|own| own.of.as_str())
                == ways().as_ref().map(Ways::name).as_deref()
        })
    }

    pub(super) fn of(build: &Build, part: &str, casting: &Casting, rule: &FeedingEstimate) -> Self {
        match setup(build, casting, rule) {
            Err(why) => Self::Cannot(why),
            Ok(setup) => match build.fields.stand(part, &setup) {
                Stand::Holds(frozen) => Self::Holds(frozen),
                Stand::Outdated => Self::Outdated,
                Stand::Missing => Self::Missing,
            },
        }
    }
}

/// What cores are made of, where nothing else is said.
const CORE_SAND: &str = "baked-sand";

/// The way in of the first casting of a mould, as that is laid out, in the measures of the casting.
pub(super) fn ways((layout, laid): (&Layout, &Laid), rough: &Rough) -> Option<Ways> {
    let (lying, of) = (laid.body.as_ref()?, laid.ways.as_ref()?);
    let in_casting = |at: [f64; 3]| lying.in_shape(at).map(|x| x / rough.oversize);
    let parting = in_casting([0.0; 3])[2];
    let own = |at: [f64; 2]| {
        let [x, y] = [0, 1].map(|i| at[i] - laid.castings[0][i]);
        let [x, y] = if laid.turned { [y, -x] } else { [x, y] };
        let [x, y, _] = in_casting([x, y, 0.0]);
        [x, y]
    };
    let rect = |rect: &Rect| {
        let [a, b] = [rect.low, rect.high].map(own);
        [[a[0].min(b[0]), a[1].min(b[1])], [a[0].max(b[0]), a[1].max(b[1])]]
    };
    let sizes = &of.sizes;
    let [runner_low, runner_high] = rect(&of.runner);
    // Those that end at this casting, not at one beside it.
    let half = laid.casting.map(|side| side / 2.0);
    let casting = Rect::around(laid.castings[0], half);
    let ingates = of.ingates.iter().filter(|gate| casting.apart(gate) < NEAR).map(|gate| {
        let [low, high] = rect(gate);
        let along = usize::from(high[1] <= runner_low[1] + NEAR || low[1] >= runner_high[1] - NEAR);
        let middle = f64::midpoint(low[along], high[along]);
        Ingate {
            low: [low[0], low[1], parting - sizes.ingate[2]],
            high: [high[0], high[1], parting],
            along,
            up: middle > f64::midpoint(runner_low[along], runner_high[along]),
        }
    });
    let standing = |solid, [x, y]: [f64; 2], z| Placed {
        solid,
        frames: vec![Frame::HOME.moved([x, y, z])],
        less: false,
        of: None,
    };
    let runner = Solid::Block {
        length: runner_high[0] - runner_low[0],
        width: runner_high[1] - runner_low[1],
        height: sizes.runner,
    };
    let runner_at = [0, 1].map(|i| f64::midpoint(runner_low[i], runner_high[i]));
    let sprue = own(of.sprue);
    let [bottom, top] = sizes.sprue;
    let [across, deep] = sizes.well;
    Some(Ways {
        ingates: ingates.collect(),
        runner: vec![
            standing(runner, runner_at, parting - sizes.runner),
            standing(Solid::Cylinder { diameter: across, length: deep }, sprue, parting - deep),
            standing(Solid::Cone { bottom, top, length: layout.cope }, sprue, parting),
        ],
    })
}

/// Places closer than this are one, m.
const NEAR: f64 = 1e-6;

/// What the freezing of a casting depends on, with the feeders of the rule of thumb to try from.
///
/// # Errors
/// What is not known.
pub fn setup(build: &Build, casting: &Casting, rule: &FeedingEstimate) -> Result<Setup, Refusal> {
    let rough = Rough::of(build, casting).ok_or(Refusal::Shape)?;
    let sand = build.patterns[casting.pattern].sand.clone().ok_or(Refusal::Sand)?;
    let sleeve = build.handbook.inserts.get("insulating-sleeve").cloned();
    let openings = casting.openings(&build.patterns[casting.pattern]);
    let cores = openings.iter().filter(|opening| opening.how == Hole::Core).map(|opening| {
        let (solid, frames) = opening.core();
        Placed { solid, frames, less: false, of: None }
    });
    let own = sand.clone();
    let setup = Setup {
        body: Arc::new(rough.body),
        oversize: rough.oversize,
        alloy: casting.alloy.clone(),
        sand,
        advice: rule
            .rule
            .as_ref()
            .or(rule.feeders.as_ref())
            .map(|feeders| advice(feeders, build.header.units)),
        sleeve: sleeve.ok_or(Refusal::Lacks(vec!["insulating-sleeve"]))?,
        cores: cores.collect(),
        core_sand: build.handbook.sands.get(CORE_SAND).cloned().unwrap_or(own),
        standing: None,
        chill: None,
        gate_across: false,
    };
    let lacking = setup.lacking();
    if lacking.is_empty() { Ok(setup) } else { Err(Refusal::Lacks(lacking)) }
}

fn advice(of: &Feeders, units: System) -> Advice {
    let feeders = freezing::Feeders {
        number: of.number.si() as usize,
        diameter: of.diameter.si(),
        height: of.height.si(),
        neck: of.neck_diameter.si(),
        neck_length: of.neck_length.si(),
        sleeved: of.sleeved,
    };
    let step = match units {
        System::Metric => 1e-3,
        System::Us => 0.0254 / 16.0,
    };
    Advice { feeders, least: of.volume_wanted.si(), step, tries: true }
}

#[cfg(test)]
mod tests {
    use super::ways;
    use crate::estimate::estimate;

    /// Of two castings in one mould each has as many ingates, and those of the other are none of its own.
    #[test]
    fn the_ingates_of_the_casting_beside_it_are_not_its_own() {
        let text = "build: {title: Two in a mould, begun: 2026-01-01}
shop:
  flasks: {box: {inside: 500 x 400 mm, cope: 120 mm, drag: 100 mm}}
  sand: {kind: green-sand, on-hand: 100 kg}
patterns: {p: {in-cope: 0 mm, cavities: 2}}
parts:
  lug:
    quantity: 2
    casting: {pattern: p, alloy: A356, shape: {add: [{block: {length: 50 mm, width: 40 mm, height: 30 mm}, at: [0, 0, 0]}]}}
";
        let today = crate::Today { asked: None, clock: chrono::NaiveDate::MIN };
        let build = crate::read(text.into(), Vec::new(), today).expect("a sound build");
        let estimates = estimate(&build);
        let told = estimates.castings[0].as_ref().expect("an estimate");
        let (layout, n) = told.layout.as_ref().expect("laid out");
        let laid = &layout.patterns[*n];
        let all = laid.ways.as_ref().expect("a way in").ingates.len();
        let rough = told.size.rough.as_ref().expect("placed");
        let own = ways((&**layout, laid), rough).expect("a way in").ingates.len();
        assert!(own > 0 && 2 * own == all && laid.castings.len() == 2, "{own} of {all}");
    }
}
