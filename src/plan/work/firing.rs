//! How long a furnace takes one person: setting up, melting, clearing up.

use super::minutes::{Span, span};
use crate::estimate::{MouldEstimate, melt_time};
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
            set_up: span(furnace.set_up.as_ref().or(book.time("set-up")), 1),
            clear_up: span(furnace.clear_up.as_ref().or(book.time("clear-up")), 1),
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
