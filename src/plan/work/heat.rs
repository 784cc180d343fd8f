//! How long a heat of some of the moulds takes one person at a furnace.

use super::items::{Mould, Work};
use super::minutes::{Span, whole};
use crate::plan::calendar::Minute;

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

    /// Minutes of ramming a mould; 0 where it stands rammed.
    pub fn ramming(&self, mould: &Mould) -> Minute {
        mould.items[0].map_or(0, |n| self.items[n].minutes)
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

    /// The least that these moulds stand while their metal melts, min.
    pub fn shortest_melt(&self, moulds: &[&Mould]) -> Minute {
        let melting = || moulds.iter().map(|m| &*m.melting);
        let of = |f: usize| self.melt(melting(), f, true);
        (0..self.firing.len()).map(of).min().unwrap_or(0)
    }

    /// How many heats a furnace has melted on a day, counted from today, before any of the plan.
    pub fn melted_on(&self, furnace: usize, day: i64) -> u32 {
        self.melted.get(furnace).copied().filter(|_| day == 0).unwrap_or(0)
    }

    /// How many furnaces are hot from a heat of today that is poured.
    pub fn hot_today(&self) -> usize {
        self.melted.iter().filter(|heats| **heats > 0).count()
    }

    /// No heat takes a person less than this before its first pour, min.
    pub fn least_melt(&self, hot: bool) -> Minute {
        let of = |f: usize| self.melt(std::iter::empty(), f, hot);
        (0..self.firing.len()).map(of).min().unwrap_or(0)
    }
}
