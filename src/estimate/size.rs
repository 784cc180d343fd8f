//! How large a casting is: volume, surface and mass, finished and as it comes out of the sand.

use super::listed;
use super::meshed;
use super::rough::Rough;
use super::sections::Whole;
use crate::figure::*;
use crate::handbook::formulas::{metal, pattern};
use crate::manifest::{ShapeGiven, WoodGiven};
use crate::model::{Build, Casting};
use crate::shape::Body;

/// How large a casting is.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct SizeEstimate {
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
    /// As cast, with machining stock; none unless a shape is given.
    pub rough_surface: Option<Figure<Area>>,
    /// As cast, with machining stock.
    pub rough_mass: Option<Figure<Mass>>,
    /// As it comes out of the sand, where its body is known.
    pub(super) rough: Option<Rough>,
}

impl SizeEstimate {
    /// Its figures, by the name that `why` answers to.
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            volume = "volume", surface = "surface", net_mass = "net-mass",
            allowance = "allowance", rough_volume = "rough-volume", rough_surface = "rough-surface",
            rough_mass = "rough-mass")
    }

    /// The rough casting as what freezes.
    pub(super) fn whole(&self) -> Whole<'_> {
        Whole {
            volume: self.rough_volume.as_ref(),
            surface: self.rough_surface.as_ref(),
            body: self.rough.as_ref(),
        }
    }
}

/// From its shape, with stock on what is machined.
pub(super) fn size(build: &Build, casting: &Casting) -> SizeEstimate {
    let alloy = &casting.alloy;
    let density = alloy.density.as_ref();
    let (volume, given_mass) = match &casting.given.shape {
        ShapeGiven::Volume(volume) => (Some(volume.named("volume")), None),
        ShapeGiven::Water(water) => (Some(meshed::displaced(water, alloy)), None),
        ShapeGiven::Mass(mass) => {
            let volume = density.map(|d| metal::volume_of_mass::figure(mass, d));
            (volume, Some(mass.named("mass as given")))
        }
        ShapeGiven::Mesh(mesh) => (Some(meshed::measured(mesh, alloy).0), None),
        ShapeGiven::Pattern { mass, wood } => {
            let wood = match wood {
                WoodGiven::Density(density) => Some(density),
                WoodGiven::Named(name) => build.handbook.woods.get(&name.value),
            };
            let mass = wood.zip(density).map(|(w, d)| pattern::pattern_weight::figure(mass, w, d));
            (mass.as_ref().zip(density).map(|(m, d)| metal::volume_of_mass::figure(m, d)), mass)
        }
        ShapeGiven::Solids(solids) => {
            let (less_, add): (Vec<_>, Vec<_>) = solids.iter().partition(|s| s.less);
            let add: Vec<_> = add.iter().map(|s| s.volume()).collect();
            let cut: Vec<_> = less_.iter().map(|s| s.volume()).collect();
            let sum = Figure::sum("volume", &add);
            let volume = match (&sum, cut.is_empty()) {
                _ if casting.given.body.is_some() => standing(casting, &[add, cut].concat()),
                (Some(sum), false) => Some(sum.named("solids added").less("volume", &cut)),
                _ => sum,
            };
            (volume, None)
        }
    };
    let surface = match &casting.given.shape {
        ShapeGiven::Solids(solids) => {
            let faces: Vec<_> = solids.iter().map(|s| s.surface()).collect();
            match &casting.given.body {
                Some(body) => Some(faces_left(body, &faces)),
                None => Figure::sum("surface", &faces).map(|f| {
                    f.noting("counts every face of every solid, joined ones too, so it is high")
                }),
            }
        }
        ShapeGiven::Mesh(mesh) => Some(meshed::measured(mesh, alloy).1),
        _ => None,
    };
    let allowance = casting.stock(&build.patterns[casting.pattern]);
    let machined = casting.given.machined.as_ref().zip(allowance.as_ref());
    // A pattern has the stock on it already.
    let off_pattern = match &casting.given.shape {
        ShapeGiven::Mesh(mesh) => mesh.of_pattern,
        ShapeGiven::Water(_) | ShapeGiven::Pattern { .. } => true,
        _ => false,
    };
    let (volume, cast, given_mass) = match (volume, machined.filter(|_| off_pattern)) {
        (Some(cast), Some((area, stock))) => {
            let finished = pattern::without_allowance::figure(&cast, area, stock);
            (Some(finished).filter(|v| v.low() > 0.0), Some(cast), None)
        }
        (volume, _) => (volume, None, given_mass),
    };
    let net_mass =
        given_mass.or_else(|| Some(metal::part_mass::figure(volume.as_ref()?, density?)));
    let net_mass = net_mass.map(|m| m.named("net mass"));
    let rough = Rough::of(build, casting);
    let stocked = rough.as_ref().filter(|rough| rough.stocked).zip(allowance.as_ref());
    let rough_volume = match (cast, &volume, machined) {
        (Some(cast), ..) => Some(cast),
        (None, Some(v), Some((area, stock))) => Some(match stocked {
            Some((rough, stock)) => rough.volume(v, stock),
            None => pattern::with_allowance::figure(v, area, stock),
        }),
        (None, volume, _) => volume.clone(),
    };
    let rough_surface = surface.as_ref().map(|surface| match stocked {
        Some((rough, stock)) => rough.surface(surface, stock),
        None => surface.clone(),
    });
    let rough_volume = rough_volume.map(|v| v.named("volume with machining stock"));
    let rough_mass = match (&net_mass, &rough_volume, &casting.given.machined) {
        (Some(net), _, None) => Some(net.clone()),
        (_, Some(v), Some(_)) => density.map(|d| metal::part_mass::figure(v, d)),
        _ => None,
    };
    let rough_mass = rough_mass.map(|m| m.named("casting"));
    SizeEstimate {
        volume,
        surface,
        net_mass,
        allowance,
        rough_volume,
        rough_surface,
        rough_mass,
        rough,
    }
}

/// Volume of solids that are placed.
fn standing(casting: &Casting, solids: &[Figure<Volume>]) -> Option<Figure<Volume>> {
    let body = casting.given.body.as_ref()?;
    let nodes = solids.iter().map(|f| f.node().clone()).collect();
    let because = Because::Closed(
        "the solids where they stand: an overlap counts once, a cut only where it meets metal",
        nodes,
    );
    Some(Figure::new("volume", Range::exact(body.volume()), because))
}

/// Surface of solids that are placed.
fn faces_left(body: &Body, solids: &[Figure<Area>]) -> Figure<Area> {
    let nodes = solids.iter().map(|f| f.node().clone()).collect();
    let because = Because::Closed("the outer faces of the solids where they stand", nodes);
    Figure::new("surface", Range::exact(body.surface()), because)
}
