//! Moulds of the build, and those in which several patterns lie side by side.

use super::casting::CastingEstimate;
use super::handling::{self, HandlingEstimate};
use super::hours::{self, StepTime};
use super::layout::{self, Layout};
use super::loads::{self, LoadEstimate};
use super::mould::{self, Cast, CrucibleFit, FlaskFit, MouldEstimate};
use super::ready::{self, InMould, Ready};
use super::{Estimates, listed};
use crate::figure::*;
use crate::manifest::Step;
use crate::model::{Build, Pattern};
use crate::shape::Lies;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Castings of each part in one mould, by part index; the first leads it.
pub type Lots = Vec<(usize, u32)>;

/// A mould in which several patterns lie, each with all its cavities and a sprue of its own.
#[derive(Debug, Clone)]
pub struct Together {
    /// One part of each pattern, by index; the first leads.
    pub parts: Vec<usize>,
    /// The mould laid out, its patterns in the order of the parts; none where one has no size.
    pub layout: Option<Arc<Layout>>,
    /// Sand between the patterns, and between each and the wall.
    pub side: Option<Figure<Length>>,
    /// What its castings are in it, in the order of the parts: in a deeper flask the sprue is longer.
    pub each: Vec<CastingEstimate>,
    /// Metal, sand, flask and crucible of the whole mould.
    pub mould: MouldEstimate,
    /// Loads on it.
    pub loads: LoadEstimate,
    /// Lifts of it.
    pub handling: HandlingEstimate,
    /// To ram it.
    pub ram: Option<Figure<Time>>,
    /// To pour it.
    pub pour: Option<Figure<Time>>,
    /// To shake it out.
    pub shake_out: Option<Figure<Time>>,
    /// How long it cools before.
    pub cool: Option<Figure<Time>>,
    /// How long its wash dries before it is poured.
    pub dry: Option<Figure<Time>>,
}

impl Together {
    /// What a casting is in it; none where its pattern lies there for another part.
    pub fn of(&self, part: usize) -> Option<&CastingEstimate> {
        let at = self.parts.iter().position(|own| *own == part)?;
        self.each.get(at)
    }

    /// What it is called: the ids of its parts.
    pub fn name(&self, build: &Build) -> String {
        let ids: Vec<&str> = self.parts.iter().map(|i| &**build.parts[*i].id()).collect();
        ids.join("+")
    }

    /// Whether the shop can ram and pour it; what cannot be told is no hindrance.
    pub fn fits(&self) -> bool {
        !matches!(self.mould.flask, FlaskFit::Lacking(_))
            && !matches!(self.mould.crucible, CrucibleFit::Lacking(_))
    }

    /// Where the patterns lie in the flask, x along its length, in the order of the parts; nothing
    /// where no flask takes them.
    pub fn places(&self) -> Vec<Lies> {
        let layout = self.layout.iter().filter(|layout| layout.flask.is_some());
        layout.flat_map(|layout| layout.patterns.iter().map(|laid| laid.lies)).collect()
    }

    /// Why its patterns are rammed alone, in words; nothing where they need not be.
    pub fn lacks(&self) -> Vec<&str> {
        let flask = match &self.mould.flask {
            FlaskFit::Lacking(says) => Some(says.as_str()),
            _ => None,
        };
        let crucible = match &self.mould.crucible {
            CrucibleFit::Lacking(says) => Some(says.as_str()),
            _ => None,
        };
        flask.into_iter().chain(crucible).collect()
    }

    /// Its figures, by the name that `why` answers to.
    pub fn figures(&self) -> Vec<(&'static str, Node)> {
        let mut out: Vec<(&'static str, Node)> = listed!(self: side = "sand-between");
        out.extend(self.mould.figures());
        out.extend(self.loads.figures());
        out.extend(self.handling.figures());
        let times: Vec<(&'static str, Node)> = listed!(self:
            ram = "time-ram", pour = "time-pour", shake_out = "time-shake-out",
            cool = "time-in-mould", dry = "time-to-dry");
        out.extend(times);
        out
    }

    /// Time of one step of the whole mould.
    pub fn time(&self, step: Step) -> StepTime {
        let (hands_on, wait) = match step {
            Step::Ram => (&self.ram, &self.dry),
            Step::Pour => (&self.pour, &None),
            Step::ShakeOut => (&self.shake_out, &self.cool),
            _ => (&None, &None),
        };
        StepTime { hands_on: hands_on.clone(), wait: wait.clone() }
    }
}

/// One part of each pattern among these, in their order.
fn one_a_pattern(build: &Build, parts: impl IntoIterator<Item = usize>) -> Vec<usize> {
    let mut seen = Vec::new();
    let pattern = |i: usize| build.parts[i].casting.as_ref().map(|c| c.pattern);
    let first = |i: &usize| {
        let new = pattern(*i).filter(|p| !seen.contains(p));
        seen.extend(new);
        new.is_some()
    };
    parts.into_iter().filter(first).collect()
}

/// Moulds for so many castings of each part, as the manifest would have them: one lot of each
/// pattern that shares a flask, in the order of the parts; what one has more of lies alone.
fn as_said(build: &Build, wanted: impl Fn(usize) -> u32) -> Vec<Lots> {
    let mut lots: BTreeMap<usize, Vec<(usize, u32)>> = BTreeMap::new();
    for (i, part) in build.parts.iter().enumerate() {
        let Some(casting) = &part.casting else { continue };
        let cavities = build.patterns[casting.pattern].given.cavities.max(1);
        let mut left = wanted(i);
        while left > 0 {
            let cast = left.min(cavities);
            lots.entry(casting.pattern).or_default().push((i, cast));
            left -= cast;
        }
    }
    let alloy = |i: usize| build.parts[i].casting.as_ref().map(|c| &c.alloy.id);
    let mut out: Vec<Lots> = Vec::new();
    for inside in &build.boxes {
        let mut each: Vec<_> =
            inside.iter().map(|p| lots.remove(p).unwrap_or_default().into_iter()).collect();
        loop {
            let mut mould: Lots = each.iter_mut().filter_map(Iterator::next).collect();
            let Some(&(lead, _)) = mould.first() else { break };
            // An alloy may be supposed to be another: then it is poured alone.
            let alone = mould.extract_if(.., |(i, _)| alloy(*i) != alloy(lead));
            out.extend(alone.map(|lot| vec![lot]).collect::<Vec<_>>());
            out.push(mould);
        }
    }
    out.extend(lots.into_values().flatten().map(|lot| vec![lot]));
    out.sort_by_key(|mould| mould[0].0);
    out
}

/// Every set of parts that may lie in one mould: by the manifest for the whole build and for what
/// is left of it, and by the journal.
pub(super) fn sets(build: &Build) -> Vec<Vec<usize>> {
    let left = |i: usize| build.to_cast(i);
    let rammed = build.history.attempts.values().map(|a| a.castings.clone());
    let said = if build.boxes.is_empty() {
        Vec::new()
    } else {
        [as_said(build, |i| build.parts[i].given.quantity), as_said(build, left)].concat()
    };
    let all = said.into_iter().chain(rammed);
    let mut out: Vec<Vec<usize>> = Vec::new();
    for parts in all.map(|lots| one_a_pattern(build, lots.into_iter().map(|(i, _)| i))) {
        if parts.len() > 1 && !out.contains(&parts) {
            out.push(parts);
        }
    }
    out
}

/// The figures of a mould that holds these parts, one of each pattern.
pub(super) fn estimate(
    build: &Build,
    parts: Vec<usize>,
    alone: &[Option<CastingEstimate>],
    ready: &[Option<&Ready<'_>>],
) -> Option<Together> {
    let castings =
        parts.iter().map(|i| build.parts[*i].casting.as_ref()).collect::<Option<Vec<_>>>()?;
    let patterns: Vec<&Pattern> = castings.iter().map(|c| &build.patterns[c.pattern]).collect();
    // What is out of date alone is so here.
    let ready = parts.iter().map(|i| ready[*i]).collect::<Option<Vec<_>>>()?;
    let chosen = ready::choose_for(build, &ready);
    let (fit, layout) = (chosen.fit.clone(), chosen.layout.clone());
    let each: Vec<CastingEstimate> = ready
        .into_iter()
        .zip(InMould::all(chosen))
        .map(|(ready, in_mould)| ready.clone().estimate(in_mould))
        .collect();
    let cast: Vec<Cast<'_>> = castings
        .iter()
        .zip(&each)
        .map(|(casting, e)| Cast {
            casting,
            held: e.held.all.as_ref(),
            surface: e.size.rough_surface.as_ref(),
            cores: e.cores.as_ref(),
            poured: e.poured.as_ref(),
        })
        .collect();
    let flask = match &fit {
        FlaskFit::Fits(id) => build.shop.flasks.get(id),
        _ => None,
    };
    let mould = mould::estimate(build, cast[0], &cast[1..], fit.clone());
    let held: Vec<&LoadEstimate> = each.iter().map(|e| &e.loads).collect();
    let masses = loads::masses(
        build,
        &castings,
        flask,
        &each.iter().map(|e| e.held.clone()).collect::<Vec<_>>(),
    );
    let loads = loads::together(build.header.units, &held, masses);
    let handling = handling::estimate(build, &mould, &loads, flask);
    let side = layout::side(build, &patterns).map(|s| {
        s.named("sand between patterns, and to the wall")
            .noting("no figure for the sand between patterns is at hand: taken as that to the wall")
    });
    let time = |step| hours::of_mould(build, &parts, alone, mould.flask_volume.as_ref(), step);
    let (ramming, shaking) = (time(Step::Ram), time(Step::ShakeOut));
    Some(Together {
        ram: ramming.hands_on,
        dry: ramming.wait,
        pour: time(Step::Pour).hands_on,
        shake_out: shaking.hands_on,
        cool: shaking.wait,
        layout,
        each,
        side,
        mould,
        loads,
        handling,
        parts,
    })
}

impl Estimates {
    /// The one time from pouring before which a mould of these parts is not opened: the longest of
    /// them.
    pub fn opened_not_before(
        &self,
        parts: impl IntoIterator<Item = usize>,
    ) -> Option<&Figure<Time>> {
        let times =
            parts.into_iter().filter_map(|i| self.castings[i].as_ref()?.not_before.as_ref());
        times.max_by(|a, b| a.high().total_cmp(&b.high()))
    }

    /// The mould in which these parts lie, where they are of several patterns.
    pub fn shared(
        &self,
        build: &Build,
        parts: impl IntoIterator<Item = usize>,
    ) -> Option<&Together> {
        let mut asked = one_a_pattern(build, parts);
        if asked.len() < 2 {
            return None;
        }
        asked.sort_unstable();
        self.together.iter().find(|t| {
            let mut parts = t.parts.clone();
            parts.sort_unstable();
            parts == asked
        })
    }

    /// What a casting is in the mould of these parts.
    pub fn in_mould(
        &self,
        build: &Build,
        parts: impl IntoIterator<Item = usize>,
        part: usize,
    ) -> Option<&CastingEstimate> {
        let shared = self.shared(build, parts).and_then(|shared| shared.of(part));
        shared.or(self.castings[part].as_ref())
    }

    /// The mould of several patterns in which a part is cast next, or was where none of it is left to
    /// cast; none where it lies alone.
    pub fn shares(&self, build: &Build, part: usize) -> Option<&Together> {
        let of = |wanted: &dyn Fn(usize) -> u32| {
            let moulds = self.moulds(build, wanted);
            moulds.into_iter().find(|lots| lots.iter().any(|(i, _)| *i == part))
        };
        let next = of(&|i| build.to_cast(i));
        let lots = next.or_else(|| of(&|i| build.parts[i].given.quantity))?;
        self.shared(build, lots.iter().map(|(i, _)| *i))
    }

    /// The figures of a mould that holds castings of these parts; the first leads it.
    pub fn mould(&self, build: &Build, lots: &[(usize, u32)]) -> Option<&MouldEstimate> {
        let shared = self.shared(build, lots.iter().map(|(i, _)| *i));
        let lead = || Some(&self.castings[lots.first()?.0].as_ref()?.mould);
        shared.map(|t| &t.mould).or_else(lead)
    }

    /// Moulds for so many castings of each part, those of one lead together: patterns that share a
    /// flask lie in one as far as the shop has a flask and a crucible for it, and alone else.
    pub fn moulds(&self, build: &Build, wanted: impl Fn(usize) -> u32) -> Vec<Lots> {
        let mut out = Vec::new();
        for mould in as_said(build, wanted) {
            let parts = || mould.iter().map(|(i, _)| *i);
            if mould.len() == 1 || self.shared(build, parts()).is_some_and(Together::fits) {
                out.push(mould);
            } else {
                out.extend(mould.into_iter().map(|lot| vec![lot]));
            }
        }
        out.sort_by_key(|mould| mould[0].0);
        out
    }

    /// Time of a step of a part, all its pieces together. Of a mould that holds several patterns
    /// each part bears the same share.
    pub fn step_time(&self, build: &Build, part: usize, step: Step) -> StepTime {
        let estimate = self.castings[part].as_ref();
        let all = hours::step_time(build, &build.parts[part], estimate, step);
        let by_mould = matches!(step, Step::Ram | Step::Pour | Step::ShakeOut);
        if !by_mould || !self.together.iter().any(|t| t.parts.contains(&part)) {
            return all;
        }
        let moulds = self.moulds(build, |i| build.parts[i].given.quantity);
        let mine = || moulds.iter().filter(|m| m.iter().any(|(i, _)| *i == part));
        if mine().all(|m| m.len() == 1) {
            return all;
        }
        let each = hours::of_mould(build, &[part], &self.castings, None, step).hands_on;
        let mut times = Vec::new();
        for mould in mine() {
            let shared = self.shared(build, mould.iter().map(|(i, _)| *i));
            times.extend(match shared {
                Some(t) => t.time(step).hands_on.map(|time| hours::part_of(&time, mould.len())),
                None => each.clone(),
            });
        }
        StepTime { hands_on: Figure::sum("time at the bench", &times), wait: all.wait }
    }
}
