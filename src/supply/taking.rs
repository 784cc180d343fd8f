//! What one mould and one heat take, at one end of every doubt.

use super::flow::{End, Point};
use crate::estimate::{At, CastingEstimate, Estimates, Takes, Use, melt_fuel, warm_up};
use crate::figure::{Figure, Mass, Quantity};
use crate::handbook::Sand;
use crate::manifest::Id;
use crate::model::Build;

/// Castings of each part in a mould.
pub(super) type Castings = [(usize, u32)];

/// The metal of a mould at one end of its doubt.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pour {
    /// Poured, kg.
    pub poured: f64,
    /// Of that in castings, kg.
    pub castings: f64,
}

impl Pour {
    /// Gates and feeders come off; `back` of them is melted again.
    pub fn fettle(self, point: &mut Point, back: f64) {
        let gates = self.poured - self.castings;
        point.in_moulds -= self.poured;
        point.castings += self.castings;
        point.returns += gates * back;
        point.lost += gates * (1.0 - back);
    }
}

/// Sand in a mould, or in the cores of one.
#[derive(Debug, Clone)]
pub(super) struct Packed {
    /// Name of the stock.
    pub of: Id,
    /// All of it, kg.
    mass: f64,
    /// What of that does not come back, kg.
    pub lost: f64,
}

impl Packed {
    /// Out of the heap, into the mould.
    pub fn pack(&self, point: &mut Point) {
        point.stock -= self.mass;
        point.in_moulds += self.mass;
    }

    /// Shaken out, and back on the heap.
    pub fn empty(&self, point: &mut Point) {
        point.in_moulds -= self.mass;
        point.stock += self.mass - self.lost;
        point.lost += self.lost;
    }
}

/// Takes one end of every doubt.
#[derive(Clone, Copy)]
pub(super) struct Taking<'a> {
    pub build: &'a Build,
    pub estimates: &'a Estimates,
    pub end: End,
}

impl Taking<'_> {
    /// So much that is used: kg, or pieces.
    pub fn used<Q: Quantity>(&self, figure: &Figure<Q>) -> f64 {
        self.end.used(figure.node().range())
    }

    fn packed(&self, sand: &Sand, mass: f64) -> Packed {
        let loss = sand.loss.as_ref().map_or(0.0, |l| self.end.used(l.node().range()));
        Packed { of: self.build.sand_stock(sand), mass, lost: mass * loss }
    }

    /// Sand rammed into a mould, by its own figure.
    pub fn sand(&self, lots: &Castings, rammed: Option<&Figure<Mass>>) -> Option<Packed> {
        let casting = self.build.parts[lots.first()?.0].casting.as_ref()?;
        let sand = self.build.patterns[casting.pattern].sand.as_ref()?;
        Some(self.packed(sand, self.used(rammed?)))
    }

    /// Sand of the cores of a mould.
    pub fn cores(&self, lots: &Castings) -> Option<Packed> {
        let sand = self.build.core_sand.as_ref()?;
        let each = |(part, n): (usize, u32)| {
            let mould = &self.estimates.castings[part].as_ref()?.mould;
            Some(
                self.used(mould.core_sand.as_ref()?) * f64::from(n)
                    / f64::from(mould.cavities.max(1)),
            )
        };
        let mass: f64 = self.cavities(lots).into_iter().filter_map(each).sum();
        (mass > 0.0).then(|| self.packed(sand, mass))
    }

    /// Parts in a mould and how many of each. Every cavity is filled, whether the machine needs
    /// the casting or it lies by as a spare.
    pub fn cavities(&self, lots: &Castings) -> Vec<(usize, u32)> {
        let pattern = |part: usize| self.build.parts[part].casting.as_ref().map(|c| c.pattern);
        let filled = |&(part, n): &(usize, u32)| {
            let alone = lots.iter().filter(|l| pattern(l.0) == pattern(part)).count() == 1;
            let estimate = self.estimates.castings[part].as_ref().filter(|_| alone);
            (part, estimate.map_or(0, |e| e.mould.cavities).max(n))
        };
        lots.iter().map(filled).collect()
    }

    /// Mass of castings, kg.
    pub fn castings(&self, lots: &Castings) -> f64 {
        let rough = |e: &CastingEstimate| e.size.rough_mass.as_ref().map_or(0.0, |f| self.used(f));
        let each = |part: usize| self.estimates.castings[part].as_ref().map_or(0.0, rough);
        lots.iter().map(|(part, n)| each(*part) * f64::from(*n)).sum()
    }

    /// Metal that a mould with so many castings of each part takes, kg.
    pub fn poured(&self, lots: &Castings) -> f64 {
        let each = |part: usize| self.estimates.castings[part].as_ref()?.poured.as_ref();
        lots.iter().map(|(p, n)| each(*p).map_or(0.0, |f| self.used(f)) * f64::from(*n)).sum()
    }

    /// Mass of a finished part, kg, where that is known.
    pub fn finished(&self, part: usize) -> Option<f64> {
        Some(self.used(self.estimates.castings[part].as_ref()?.size.net_mass.as_ref()?))
    }

    fn takes(&self, lots: &Castings) -> &[Takes] {
        self.estimates.mould(self.build, lots).map_or(&[], |m| &m.takes)
    }

    /// What a mould uses up at this work.
    pub fn used_up(&self, lots: &Castings, at: At) -> Vec<(Id, f64)> {
        let takes = self.takes(lots).iter().filter(|t| t.at == at && t.what == Use::UsedUp);
        takes.filter_map(|t| Some((t.of.clone(), self.used(t.amount.as_ref().ok()?)))).collect()
    }

    /// What a heat with this mould takes beside metal and fuel.
    pub fn fluxes(&self, lots: &Castings, charge: f64) -> Vec<(Id, f64)> {
        let much = |t: &Takes| match (&t.of_metal, &t.of_heat) {
            (Some(share), _) => Some(charge * self.end.used(share.node().range())),
            (None, each) => each.as_ref().map(|each| self.used(each)),
        };
        let takes = self.takes(lots).iter();
        takes.filter_map(|t| Some((t.of.clone(), much(t)?))).collect()
    }

    /// Fuel that melts the metal of these moulds in a furnace and a heel of this share of it, and
    /// warms the furnace where it is cold and that is known.
    pub fn fuel(
        &self,
        furnace: &str,
        moulds: &[Vec<(usize, u32)>],
        heel: f64,
        cold: bool,
    ) -> Option<f64> {
        let build = self.build;
        build.handbook.fuels.get(&build.shop.furnaces.get(furnace)?.fuel)?.as_ref()?;
        let melts = moulds.iter().filter_map(|lots| {
            let heat = self.estimates.mould(build, lots)?.melt_heat.as_ref()?;
            Some(melt_fuel(build, furnace, heat).map(|fuel| self.used(&fuel)))
        });
        let warm = Some(furnace).filter(|_| cold).and_then(|f| warm_up(build, f));
        let melts = melts.sum::<Option<f64>>()? * (1.0 + heel);
        Some(melts + warm.map_or(0.0, |f| self.used(&f)))
    }
}
