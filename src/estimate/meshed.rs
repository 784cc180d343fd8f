//! A casting whose shape is a mesh.

use crate::figure::{Area, Because, Figure, Ratio, Volume};
use crate::handbook::Alloy;
use crate::manifest::MeshGiven;

/// Volume and surface of the finished part. A mesh of the pattern has the contraction in it: each
/// length is (1 + contraction) times that of the casting.
pub(super) fn measured(mesh: &MeshGiven, alloy: &Alloy) -> (Figure<Volume>, Figure<Area>) {
    match alloy.contraction.as_ref().filter(|_| mesh.of_pattern) {
        None => (mesh.volume.named("volume"), mesh.surface.named("surface")),
        Some(contraction) => (
            Figure::new(
                "volume",
                shrunk(&mesh.volume, contraction, 3),
                Because::Closed(
                    "volume of the pattern / (1 + contraction)^3",
                    vec![mesh.volume.node().clone(), contraction.node().clone()],
                ),
            ),
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
