//! A casting that is known by its mesh, or by the water that its pattern pushes out.

use crate::figure::{Area, Because, Figure, Mass, Ratio, Volume};
use crate::handbook::Alloy;
use crate::manifest::{MeshGiven, of_water};

/// Volume and surface of the finished part. A mesh of the pattern has the contraction in it: each
/// length is (1 + contraction) times that of the casting.
pub(super) fn measured(mesh: &MeshGiven, alloy: &Alloy) -> (Figure<Volume>, Figure<Area>) {
    match alloy.contraction.as_ref().filter(|_| mesh.of_pattern) {
        None => (mesh.volume.named("volume"), mesh.surface.named("surface")),
        Some(contraction) => (
            of_pattern(&mesh.volume, contraction),
            Figure::new(
                "surface",
                shrunk(&mesh.surface, contraction, 2),
                Because::Closed(
                    "surface of the pattern / (1 + contraction)^2",
                    vec![mesh.surface.node().clone(), contraction.node().clone()],
                ),
            ),
        ),
    }
}

/// Volume of the finished part from the water that its pattern pushes out, prints left out.
pub(super) fn displaced(water: &Figure<Mass>, alloy: &Alloy) -> Figure<Volume> {
    let pattern = of_water("volume of the pattern", water);
    match &alloy.contraction {
        Some(contraction) => of_pattern(&pattern, contraction),
        None => pattern.named("volume"),
    }
}

fn of_pattern(pattern: &Figure<Volume>, contraction: &Figure<Ratio>) -> Figure<Volume> {
    Figure::new(
        "volume",
        shrunk(pattern, contraction, 3),
        Because::Closed(
            "volume of the pattern / (1 + contraction)^3",
            vec![pattern.node().clone(), contraction.node().clone()],
        ),
    )
}

fn shrunk<Q: crate::figure::Quantity>(
    of: &Figure<Q>,
    contraction: &Figure<Ratio>,
    power: i32,
) -> crate::figure::Range {
    let (of, c) = (of.node().range(), contraction.node().range());
    crate::figure::Range {
        low: of.low / (1.0 + c.high).powi(power),
        likely: of.likely / (1.0 + c.likely).powi(power),
        high: of.high / (1.0 + c.low).powi(power),
    }
}
