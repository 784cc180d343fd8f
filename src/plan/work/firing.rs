//! How long a heat takes one person at a furnace: setting up, melting, clearing up.

use super::items::{Mould, Work};
use super::making::{Span, span, whole};
use crate::estimate::{MouldEstimate, melt_time};
use crate::manifest::Furnace;
use crate::model::Build;
use crate::plan::calendar::Minute;

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

impl Work {
    /// Minutes of one person from taking up a heat to the first pour, with what each of its moulds takes to
    /// melt by furnace.
    pub fn melt_span<'a>(
        &self,
        moulds: impl Iterator<Item = &'a [Span]>,
        furnace: usize,
        hot: bool,
    ) -> Span {
        let own = |melting: &[Span]| melting.get(furnace).copied().unwrap_or_default();
        let firing = self.firing.get(furnace);
        firing.map_or([0.0; 3], |firing| firing.before_pour(moulds.map(own), hot))
    }

    /// The same as the plan takes it: the likely value in whole minutes.
    pub fn melt<'a>(
        &self,
        moulds: impl Iterator<Item = &'a [Span]>,
        furnace: usize,
        hot: bool,
    ) -> Minute {
        whole(self.melt_span(moulds, furnace, hot)[1])
    }

    /// Minutes of clearing up at the end of a session in which a furnace melted.
    pub fn clear_up(&self, furnace: usize) -> Minute {
        self.firing.get(furnace).map_or(0, |f| whole(f.clear_up[1]))
    }

    /// Minutes before the first pour of a heat of one mould, at the quickest furnace, where its charge makes
    /// that longer than is usual.
    pub fn slow_melt(&self, mould: &Mould) -> Option<Minute> {
        let of = |f: usize| self.melt(std::iter::once(&*mould.melting), f, false);
        let melt = (0..self.firing.len()).map(of).min()?;
        (melt > self.least_melt(false)).then_some(melt)
    }

    /// The least of these of any furnace.
    pub fn least_clear_up(&self) -> Minute {
        (0..self.firing.len()).map(|f| self.clear_up(f)).min().unwrap_or(0)
    }

    /// Minutes at the quickest furnace of a heat of these moulds that has a session to itself, pouring
    /// left out.
    pub fn shortest_heat(&self, moulds: &[&Mould]) -> Minute {
        let melting = || moulds.iter().map(|m| &*m.melting);
        let of = |f: usize| self.melt(melting(), f, false) + self.clear_up(f);
        (0..self.firing.len()).map(of).min().unwrap_or(0)
    }

    /// No heat takes a person less than this before its first pour, min.
    pub fn least_melt(&self, hot: bool) -> Minute {
        let of = |f: usize| self.melt(std::iter::empty(), f, hot);
        (0..self.firing.len()).map(of).min().unwrap_or(0)
    }
}
