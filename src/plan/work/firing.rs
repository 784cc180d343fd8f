//! How long a furnace takes one person: setting up, melting, clearing up.

use super::minutes::{Span, span};
use crate::estimate::{MouldEstimate, clear_up, melt_time, set_up};
use crate::figure::{Because, Figure, Range, Time};
use crate::manifest::Furnace;
use crate::model::Build;

/// What a heat takes of one person at a furnace, in minutes.
#[derive(Debug, Clone, Copy)]
pub struct Firing {
    /// Before the first pour, as is usual, setting up counted in.
    usual: Span,
    /// Setting up before the first heat of a session.
    pub set_up: Span,
    /// Clearing up at the end of a session in which it melted; a margin too.
    pub clear_up: Span,
}

impl Firing {
    /// By the furnace's own times, or the handbook's.
    pub fn of(build: &Build, furnace: &Furnace) -> Self {
        let book = &build.handbook;
        Self {
            usual: span(book.time("melt"), 1),
            set_up: span(set_up(build, furnace), 1),
            clear_up: span(clear_up(build, furnace), 1),
        }
    }

    /// Minutes from taking up a heat to its first pour, with what each of its moulds takes to melt by the
    /// power of the furnace: what is usual, or setting up and melting, whichever is longer. Where the
    /// furnace is hot from the heat before, setting up falls away.
    pub fn before_pour(&self, moulds: impl Iterator<Item = Span>, hot: bool) -> Span {
        let mut melts = [0.0; 3];
        for mould in moulds {
            melts.iter_mut().zip(mould).for_each(|(sum, minutes)| *sum += minutes);
        }
        std::array::from_fn(|end| match hot {
            true => (self.usual[end] - self.set_up[end]).max(melts[end]).max(0.0),
            false => self.usual[end].max(self.set_up[end] + melts[end]),
        })
    }
}

/// What the plan takes for one person from taking up a heat to its first pour ([`Firing::before_pour`]), as
/// a figure; `melts` is what its metal takes to melt by the power of the furnace.
pub(crate) fn before_pour(
    build: &Build,
    furnace: &Furnace,
    melts: Option<&Figure<Time>>,
    hot: bool,
) -> Figure<Time> {
    let takes = melts.map(|melts| span(Some(melts), 1));
    let minutes = Firing::of(build, furnace).before_pour(takes.into_iter(), hot);
    let [low, likely, high] = minutes.map(|minutes| 60.0 * minutes);
    let says = match hot {
        true => {
            "what is usual less setting up, or what its metal takes to melt by the power of the \
             furnace, whichever is longer: the furnace is hot from the heat before"
        }
        false => {
            "what is usual, or setting up and what its metal takes to melt by the power of the \
             furnace, whichever is longer"
        }
    };
    let usual = build.handbook.time("melt").map(|f| f.named("as is usual, setting up counted in"));
    let set_up = set_up(build, furnace).map(|f| f.named("setting up"));
    let from = [usual, set_up, melts.cloned()];
    let nodes = from.into_iter().flatten().map(|f| f.node().clone()).collect();
    Figure::new("time to the first pour", Range { low, likely, high }, Because::Closed(says, nodes))
}

/// Minutes that the metal of a mould takes to melt by the power of a furnace, once it is warm; 0 where
/// nobody knows.
pub(crate) fn melts(build: &Build, furnace: &Furnace, mould: &MouldEstimate) -> Span {
    let heat = mould.melt_heat.as_ref();
    span(heat.and_then(|heat| melt_time(build, furnace, heat)).as_ref(), 1)
}

/// The same for each furnace of the shop.
pub(crate) fn melting(build: &Build, mould: &MouldEstimate) -> Vec<Span> {
    build.shop.furnaces.values().map(|furnace| melts(build, furnace, mould)).collect()
}
