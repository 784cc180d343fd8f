//! How much of a mould is metal: in its cope and in its drag.

use super::{Laid, Layout};
use crate::estimate::gating::GatingEstimate;
use crate::figure::*;
use crate::handbook::formulas::metal;
use crate::model::Lying;

/// Metal of one pattern within the flask; no figure where it cannot be told.
#[derive(Debug, Clone, Default)]
pub struct Held {
    /// Over the parting.
    pub cope: Option<Figure<Volume>>,
    /// Under it.
    pub drag: Option<Figure<Volume>>,
    /// Both, and that of a cavity whose body is not known.
    pub all: Option<Figure<Volume>>,
}

/// A share of a volume.
fn part(name: &str, whole: &Figure<Volume>, share: f64, says: &'static str) -> Figure<Volume> {
    let range = whole.node().range();
    let range =
        Range { low: share * range.low, likely: share * range.likely, high: share * range.high };
    Figure::new(name.to_owned(), range, Because::Closed(says, vec![whole.node().clone()]))
}

/// Which share of a cavity lies over the parting, 0 to 1.
fn over_parting(body: &Lying) -> f64 {
    let (mut above, mut all) = (0.0, 0.0);
    for column in body.columns().full() {
        for [from, to] in column.spans {
            above += to.max(0.0) - from.max(0.0);
            all += to - from;
        }
    }
    if all > 0.0 { above / all } else { 0.0 }
}

impl Held {
    /// Of a pattern that lies so in a mould: its castings, feeders and way in. The basin stands on the
    /// cope and is none of it, nor what of a feeder rises out of it.
    pub(in crate::estimate) fn of(
        layout: Option<(&Layout, &Laid)>,
        castings: Option<&Figure<Volume>>,
        feeders: Option<&Figure<Volume>>,
        gating: Option<&GatingEstimate>,
    ) -> Self {
        let Some(castings) = castings else { return Self::default() };
        let cavity = layout.and_then(|(_, laid)| laid.body.as_deref()).map(over_parting);
        let (mut cope, mut drag) = (Vec::new(), Vec::new());
        match cavity {
            Some(share) => {
                const SAYS: &str = "of the castings, by their bodies as they lie";
                cope.push(part("castings in the cope", castings, share, SAYS));
                drag.push(part("castings in the drag", castings, 1.0 - share, SAYS));
            }
            None => drag.push(castings.clone()),
        }
        if let Some(feeders) = feeders {
            const SAYS: &str = "of feeders and necks, what lies below the top of the cope";
            let share = layout.map_or(1.0, |(layout, laid)| below_top(layout, laid));
            cope.push(part("feeders in the cope", feeders, share, SAYS));
        }
        if let Some(gating) = gating {
            let sprue = &gating.sprue;
            let foot = sprue.base.reference("sprue-base");
            let mouth = sprue.top.reference("sprue-top");
            cope.push(metal::frustum_volume::figure(&mouth, &foot, &sprue.height).named("sprue"));
            drag.extend(gating.ways.volumes());
        }
        let all = [cope.as_slice(), drag.as_slice()].concat();
        let sum = |name, of: &[Figure<Volume>]| Figure::sum(name, of);
        Self {
            cope: sum("metal in the cope", &cope).filter(|_| cavity.is_some()),
            drag: sum("metal in the drag", &drag).filter(|_| cavity.is_some()),
            all: sum("castings, feeders and ways in the mould", &all),
        }
    }
}

fn below_top(layout: &Layout, laid: &Laid) -> f64 {
    let Some(feeder) = laid.feeders.first() else { return 1.0 };
    let whole = feeder.neck[1] + feeder.size[1];
    ((layout.cope - feeder.root) / whole).clamp(0.0, 1.0)
}
