//! One casting: volume, mass, what is poured, what is charged.

use super::mould::{self, MouldEstimate};
use super::{less, meshed, times};
use crate::build::{Build, Casting};
use crate::figure::*;
use crate::handbook::formulas::{metal, pattern};
use crate::manifest::ShapeGiven;

/// The figures of one casting and of the mould it comes from.
#[derive(Debug, Clone)]
pub struct CastingEstimate {
    /// Finished.
    pub volume: Option<Figure<Volume>>,
    /// All faces of its solids, as if none touched; none unless a shape is given.
    pub surface: Option<Figure<Area>>,
    /// Finished.
    pub net_mass: Option<Figure<Mass>>,
    /// Stock left for machining.
    pub allowance: Option<Figure<Length>>,
    /// As cast, with machining stock.
    pub rough_volume: Option<Figure<Volume>>,
    /// As cast, with machining stock.
    pub rough_mass: Option<Figure<Mass>>,
    /// Poured for one casting, gates and feeders with it.
    pub poured: Option<Figure<Mass>>,
    /// Charged for one casting.
    pub charge: Option<Figure<Mass>>,
    /// Moulds for all pieces that the machine needs.
    pub moulds: u32,
    /// The mould.
    pub mould: MouldEstimate,
}

impl CastingEstimate {
    /// Its figures, by the name that `why` answers to.
    pub fn figures(&self) -> Vec<(&'static str, Node)> {
        let mut out = Vec::new();
        let mut take = |name, node: Option<Node>| out.extend(node.map(|n| (name, n)));
        take("volume", self.volume.as_ref().map(|f| f.node().clone()));
        take("surface", self.surface.as_ref().map(|f| f.node().clone()));
        take("net-mass", self.net_mass.as_ref().map(|f| f.node().clone()));
        take("allowance", self.allowance.as_ref().map(|f| f.node().clone()));
        take("rough-volume", self.rough_volume.as_ref().map(|f| f.node().clone()));
        take("rough-mass", self.rough_mass.as_ref().map(|f| f.node().clone()));
        take("poured", self.poured.as_ref().map(|f| f.node().clone()));
        take("charge", self.charge.as_ref().map(|f| f.node().clone()));
        out.extend(self.mould.figures());
        out
    }
}

pub(super) fn estimate(build: &Build, casting: &Casting) -> CastingEstimate {
    let alloy = &casting.alloy;
    let density = alloy.density.as_ref();
    let (volume, given_mass) = match &casting.given.shape {
        ShapeGiven::Volume(volume) => (Some(volume.named("volume")), None),
        ShapeGiven::Mass(mass) => {
            let volume = density.map(|d| volume_of(mass, d));
            (volume, Some(mass.named("mass as given")))
        }
        ShapeGiven::Mesh(mesh) => (Some(meshed::measured(mesh, alloy).0), None),
        ShapeGiven::Solids(solids) => {
            let (less_, add): (Vec<_>, Vec<_>) = solids.iter().partition(|s| s.less);
            let add: Vec<_> = add.iter().map(|s| s.volume()).collect();
            let cut: Vec<_> = less_.iter().map(|s| s.volume()).collect();
            let sum = Figure::sum("volume", &add);
            let volume = match (&sum, cut.is_empty()) {
                (Some(sum), false) => Some(less("volume", &sum.named("solids added"), &cut)),
                _ => sum,
            };
            (volume, None)
        }
    };
    let surface = match &casting.given.shape {
        ShapeGiven::Solids(solids) => {
            let faces: Vec<_> = solids.iter().map(|s| s.surface()).collect();
            Figure::sum("surface", &faces).map(|f| {
                f.noting("counts every face of every solid, joined ones too, so it is high")
            })
        }
        ShapeGiven::Mesh(mesh) => Some(meshed::measured(mesh, alloy).1),
        _ => None,
    };
    let net_mass =
        given_mass.or_else(|| Some(metal::part_mass::figure(volume.as_ref()?, density?)));
    let net_mass = net_mass.map(|m| m.named("net mass"));
    let allowance = allowance(build, casting);
    let rough_volume = match (&volume, &casting.given.machined, &allowance) {
        (Some(v), Some(area), Some(stock)) => Some(pattern::with_allowance::figure(v, area, stock)),
        (Some(v), _, _) => Some(v.clone()),
        _ => None,
    };
    let rough_volume = rough_volume.map(|v| v.named("volume with machining stock"));
    let rough_mass = match (&net_mass, &rough_volume, &casting.given.machined) {
        (Some(net), _, None) => Some(net.clone()),
        (_, Some(v), Some(_)) => density.map(|d| metal::part_mass::figure(v, d)),
        _ => None,
    };
    let rough_mass = rough_mass.map(|m| m.named("casting"));
    let poured = rough_mass
        .as_ref()
        .zip(alloy.casting_yield.as_ref())
        .map(|(mass, casting_yield)| metal::poured_by_yield::figure(mass, casting_yield));
    let charge = poured
        .as_ref()
        .zip(alloy.melt_loss.as_ref())
        .map(|(poured, loss)| metal::charge::figure(poured, loss));
    let cavities = build.patterns[casting.pattern].given.cavities;
    let quantity = |p: &crate::build::Part| p.given.quantity;
    let moulds = build
        .parts
        .iter()
        .find(|p| p.casting.as_ref().is_some_and(|c| std::ptr::eq(c, casting)))
        .map_or(1, |p| quantity(p).div_ceil(cavities));
    let mould = mould::estimate(build, casting, rough_volume.as_ref(), poured.as_ref());
    CastingEstimate {
        volume,
        surface,
        net_mass,
        allowance,
        rough_volume,
        rough_mass,
        poured,
        charge,
        moulds,
        mould,
    }
}

fn volume_of(mass: &Figure<Mass>, density: &Figure<Density>) -> Figure<Volume> {
    let (m, d) = (mass.node().range(), density.node().range());
    let range = Range { low: m.low / d.high, likely: m.likely / d.likely, high: m.high / d.low };
    let inputs = vec![mass.node().clone(), density.node().clone()];
    Figure::new("volume", range, Because::Closed("mass / density", inputs))
}

/// Machining stock: the builder's own, or by ISO 8062-4 for hand-moulded sand castings.
fn allowance(build: &Build, casting: &Casting) -> Option<Figure<Length>> {
    casting.given.machined.as_ref()?;
    if let Some(own) = &casting.given.allowance {
        return Some(own.clone());
    }
    let given = &build.patterns[casting.pattern].given;
    let longest = [given.length.as_ref(), given.width.as_ref(), given.depth.as_ref()]
        .into_iter()
        .flatten()
        .max_by(|a, b| a.si().total_cmp(&b.si()))?;
    let source = Source {
        citation:
            "ISO 8062-4:2017 annex C: F to H for hand-moulded copper, zinc and light metal castings"
                .into(),
        known: Known::Published,
    };
    let grade = Figure::new(
        "grade",
        Range {
            low: pattern::Grade::F.si(),
            likely: pattern::Grade::G.si(),
            high: pattern::Grade::H.si(),
        },
        Because::Handbook(source.into()),
    );
    Some(pattern::machining_allowance::figure(
        &longest.named("largest size of the pattern"),
        &grade,
    ))
}

/// Metal for a whole mould.
pub(super) fn for_mould(poured: &Figure<Mass>, cavities: u32) -> Figure<Mass> {
    if cavities == 1 {
        poured.named("metal for the mould")
    } else {
        times(poured, cavities, "metal for the mould")
    }
}
