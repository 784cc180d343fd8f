//! A casting made ready to be laid in a mould: all of it that does not hang on its flask, and the
//! place that it gets.

use super::by_flow;
use super::feeding::{self, FeedingEstimate};
use super::field::Field;
use super::freezing::{self, FreezingEstimate};
use super::gating::{self, GatingEstimate};
use super::layout::{self, Chosen, Held, Laid, Layout};
use super::mould::FlaskFit;
use super::size::{SizeEstimate, size};
use super::timed::Clocks;
use crate::figure::*;
use crate::freezing::Ways;
use crate::manifest::Flask;
use crate::model::{Build, Casting, Lying, Part};
use std::sync::Arc;

/// How a casting freezes by the rule of thumb and by heat flow, all else aside.
pub(super) fn freezing(build: &Build, part: &Part) -> Option<(FreezingEstimate, Field)> {
    let casting = part.casting.as_ref()?;
    let size = size(build, casting);
    let freezing = freezing::estimate(build, casting, size.whole(), &Clocks::default());
    let volume = size.rough_volume.as_ref();
    let feeding = feeding::estimate(casting, &freezing, volume, build.header.units);
    let field = Field::of(build, part.id(), casting, &feeding);
    Some((freezing, field))
}

/// All of a casting that does not hang on its flask.
#[derive(Clone)]
pub(super) struct Ready<'a> {
    pub build: &'a Build,
    pub part: &'a Part,
    pub casting: &'a Casting,
    pub lying: Option<Arc<Lying>>,
    pub size: SizeEstimate,
    pub freezing: FreezingEstimate,
    pub feeding: FeedingEstimate,
    pub field: Field,
    /// One casting with its feeders.
    pub each: Option<Figure<Mass>>,
}

/// A casting's place in a mould that was laid out.
#[derive(Clone)]
pub(super) struct InMould {
    pub fit: FlaskFit,
    pub gating: Option<GatingEstimate>,
    /// The mould, and which of its patterns this casting is of.
    pub layout: Option<(Arc<Layout>, usize)>,
}

impl InMould {
    /// The place of each pattern of a mould.
    pub fn all(chosen: Chosen) -> Vec<Self> {
        let Chosen { fit, layout, gating } = chosen;
        let each = gating.into_iter().enumerate().map(|(n, gating)| Self {
            fit: fit.clone(),
            gating,
            layout: layout.clone().map(|layout| (layout, n)),
        });
        each.collect()
    }

    pub fn laid(&self) -> Option<(&Layout, &Laid)> {
        self.layout.as_ref().map(|(layout, n)| (&**layout, &layout.patterns[*n]))
    }
}

/// A casting and its place in the mould that it lies in alone.
pub(super) fn alone<'a>(
    build: &'a Build,
    part: &'a Part,
    clocks: &Clocks,
) -> Option<(Ready<'a>, InMould)> {
    let ready = Ready::of(build, part, clocks, None)?;
    let in_mould = in_own(&ready)?;
    if ready.field.is_gated(|| ready.ways(&in_mould)) {
        return Some((ready, in_mould));
    }
    // The way in that heat flow was reckoned with is another now.
    let ready = Ready::of(build, part, clocks, Some(Field::Outdated))?;
    let in_mould = in_own(&ready)?;
    Some((ready, in_mould))
}

/// Its place in a mould by itself.
pub(super) fn in_own(ready: &Ready<'_>) -> Option<InMould> {
    InMould::all(choose_for(ready.build, &[ready])).pop()
}

/// One casting with its feeders.
pub(super) fn with_feeders(size: &SizeEstimate, feeding: &FeedingEstimate) -> Option<Figure<Mass>> {
    let parts: Vec<_> =
        std::iter::once(size.rough_mass.as_ref()?).chain(feeding.mass()).cloned().collect();
    Figure::sum("casting and feeders", &parts)
}

/// The flask for a mould of these castings, and what lies where in it.
pub(super) fn choose_for(build: &Build, castings: &[&Ready<'_>]) -> Chosen {
    let gating: Vec<_> = castings.iter().map(|c| |flask: Option<&Flask>| c.gating(flask)).collect();
    let wanted = castings.iter().zip(&gating).map(|(c, gating)| layout::Wanted {
        pattern: c.casting.pattern,
        body: c.lying.clone(),
        feeders: c.feeding.feeders.as_ref(),
        alloy: &c.casting.alloy,
        gating,
    });
    layout::choose(build, &wanted.collect::<Vec<_>>())
}

impl<'a> Ready<'a> {
    /// With what is kept of heat flow, or as it is told to stand.
    pub fn of(
        build: &'a Build,
        part: &'a Part,
        clocks: &Clocks,
        field: Option<Field>,
    ) -> Option<Self> {
        let casting = part.casting.as_ref()?;
        let (alloy, units) = (&casting.alloy, build.header.units);
        let size = size(build, casting);
        let volume = size.rough_volume.as_ref();
        let mut freezing = freezing::estimate(build, casting, size.whole(), clocks);
        let mut feeding = feeding::estimate(casting, &freezing, volume, units);
        let field = field.unwrap_or_else(|| Field::of(build, part.id(), casting, &feeding));
        if let Some(frozen) = field.frozen() {
            freezing.by_field(by_flow::times(frozen, casting, build, clocks));
            let oversize = size.rough.as_ref().map_or(1.0, |rough| rough.oversize);
            frozen.feeding.iter().for_each(|fed| feeding.tried(fed, oversize, alloy, units));
        }
        let each = with_feeders(&size, &feeding);
        let lying = casting.lying(&build.patterns[casting.pattern]).map(Arc::new);
        Some(Self { build, part, casting, lying, size, freezing, feeding, field, each })
    }

    /// The way in as it is laid out beside one casting.
    pub fn ways(&self, in_mould: &InMould) -> Option<Ways> {
        super::field::ways(in_mould.laid()?, self.size.rough.as_ref()?)
    }

    /// The way in, in a flask or in the least that takes the pattern.
    fn gating(&self, flask: Option<&Flask>) -> Option<GatingEstimate> {
        let (build, casting) = (self.build, self.casting);
        let cope = gating::cope_depth(build, casting, flask)?;
        let (freezing, each) = (&self.freezing, self.each.as_ref()?);
        gating::estimate(gating::Filled { build, casting, freezing, cope: &cope, each })
    }

    /// What lies of it in the mould.
    pub fn held(&self, in_mould: &InMould) -> Held {
        let cavities = self.build.patterns[self.casting.pattern].given.cavities;
        let all = |volume: &Figure<Volume>, name| volume.times(cavities, name);
        let castings = self.size.rough_volume.as_ref().map(|v| all(v, "castings in the mould"));
        let feeders = self.feeding.feeders.as_ref();
        let feeders =
            feeders.map(|f| all(&f.volume.reference("feeder-volume"), "feeders in the mould"));
        Held::of(in_mould.laid(), castings.as_ref(), feeders.as_ref(), in_mould.gating.as_ref())
    }
}
