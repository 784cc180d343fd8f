//! A casting that is known by its mesh, or by the water that its pattern pushes out.

use crate::figure::{Area, Figure, Mass, Volume};
use crate::handbook::Alloy;
use crate::handbook::formulas::pattern;
use crate::manifest::{MeshGiven, of_water};

/// Volume and surface of the finished part. A mesh of the pattern has the contraction in it: each
/// length is (1 + contraction) times that of the casting.
pub(super) fn measured(mesh: &MeshGiven, alloy: &Alloy) -> (Figure<Volume>, Figure<Area>) {
    match alloy.contraction.as_ref().filter(|_| mesh.of_pattern) {
        None => (mesh.volume.named("volume"), mesh.surface.named("surface")),
        Some(contraction) => (
            pattern::shrunk_volume::figure(&mesh.volume, contraction),
            pattern::shrunk_surface::figure(&mesh.surface, contraction),
        ),
    }
}

/// Volume of the finished part from the water that its pattern pushes out, prints left out.
pub(super) fn displaced(water: &Figure<Mass>, alloy: &Alloy) -> Figure<Volume> {
    let displaced = of_water("volume of the pattern", water);
    match &alloy.contraction {
        Some(contraction) => pattern::shrunk_volume::figure(&displaced, contraction),
        None => displaced.named("volume"),
    }
}
