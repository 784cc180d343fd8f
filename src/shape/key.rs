//! What tells one body from every other.

use super::mesh::Mesh;
use sha2::{Digest, Sha256};

/// A name for a question or a body: a hash of all that the answer depends on.
pub type Key = [u8; 32];

/// The name of a mesh.
pub(super) fn name(mesh: &Mesh) -> Key {
    let mut hash = Sha256::new();
    mesh.vertices.as_flattened().iter().for_each(|x| hash.update(x.to_le_bytes()));
    mesh.triangles.as_flattened().iter().for_each(|i| hash.update(i.to_le_bytes()));
    hash.finalize().into()
}
