//! The rough casting: the body that comes out of the sand, with stock on its machined faces. It is
//! what is poured, what freezes and what is fed.

use crate::figure::*;
use crate::manifest::ShapeGiven;
use crate::model::{Build, Casting};
use crate::shape::{Around, Body};

/// A casting's body as it comes out of the sand.
#[derive(Debug, Clone)]
pub(super) struct Rough {
    /// As drawn, m.
    pub body: Body,
    /// Lengths as drawn over those of the casting: more than 1 where the contraction is drawn in.
    pub oversize: f64,
    /// Whether the stock is on its faces; of a mesh it is not known which are machined.
    pub stocked: bool,
}

impl Rough {
    /// None where the body of the casting is not known.
    pub fn of(build: &Build, casting: &Casting) -> Option<Self> {
        match &casting.given.shape {
            ShapeGiven::Mesh(mesh) if mesh.of_pattern => {
                let contraction = casting.alloy.contraction.as_ref().map_or(0.0, Figure::si);
                let body = (*mesh.body).clone();
                Some(Self { body, oversize: 1.0 + contraction, stocked: false })
            }
            ShapeGiven::Mesh(_) => {
                let body = (**casting.given.body.as_ref()?).clone();
                Some(Self { body, oversize: 1.0, stocked: false })
            }
            _ => {
                let body = casting.as_cast(&build.patterns[casting.pattern])?;
                Some(Self { body, oversize: 1.0, stocked: true })
            }
        }
    }

    /// What lies around the largest ball, in measures of the casting.
    pub fn around(&self, centre: [f64; 3], ball: &Figure<Length>) -> Option<Around> {
        let around = self.body.around(centre, ball.si() / 2.0 * self.oversize)?;
        Some(Around { moduli: around.moduli.map(|modulus| modulus / self.oversize), ..around })
    }

    /// Volume with the stock, from that of the finished part.
    pub fn volume(&self, finished: &Figure<Volume>, stock: &Figure<Length>) -> Figure<Volume> {
        self.with_stock("volume with machining stock", finished, stock, self.body.volume())
    }

    /// Surface with the stock, from that of the finished part.
    pub fn surface(&self, finished: &Figure<Area>, stock: &Figure<Length>) -> Figure<Area> {
        self.with_stock("surface with machining stock", finished, stock, self.body.surface())
    }

    /// Likely as drawn; the ends in proportion to the stock, whose corners are small against it.
    fn with_stock<Q: Quantity>(
        &self,
        name: &'static str,
        finished: &Figure<Q>,
        stock: &Figure<Length>,
        drawn: f64,
    ) -> Figure<Q> {
        let (base, range) = (finished.si(), stock.node().range());
        let at = |stock: f64| base + (drawn - base) * stock / range.likely.max(f64::MIN_POSITIVE);
        let ends = [at(range.low), at(range.high)];
        let range = Range { low: ends[0].min(ends[1]), likely: drawn, high: ends[0].max(ends[1]) };
        const SAYS: &str = "of the body that comes out of the sand, with stock on each machined face and inward in bores; low and high by the stock";
        Figure::new(
            name,
            range,
            Because::Closed(SAYS, vec![finished.node().clone(), stock.node().clone()]),
        )
    }
}
