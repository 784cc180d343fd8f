use super::{MOST_TRIANGLES, Mesh, Refusal};
use hashbrown::HashTable;

/// Joins corners that lie at the very same place.
#[derive(Default)]
pub(super) struct Welder {
    places: HashTable<u32>,
    mesh: Mesh,
}

fn hash(at: [u64; 3]) -> u64 {
    const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
    let mixed = at.iter().fold(0_u64, |h, v| (h.rotate_left(23) ^ v).wrapping_mul(ODD));
    (mixed ^ (mixed >> 32)).wrapping_mul(ODD)
}

fn bits(at: [f64; 3]) -> [u64; 3] {
    at.map(f64::to_bits)
}

impl Welder {
    pub(super) fn with_triangles(count: usize) -> Self {
        let count = count.min(MOST_TRIANGLES);
        let mesh = Mesh {
            vertices: Vec::with_capacity(count / 2 + 2),
            triangles: Vec::with_capacity(count),
        };
        Self { places: HashTable::with_capacity(count / 2 + 2), mesh }
    }

    /// The index of the corner at this place.
    pub(super) fn corner(&mut self, at: [f64; 3]) -> Result<u32, Refusal> {
        // Adding nought makes minus nought the same place as nought.
        let at = at.map(|v| v + 0.0);
        let key = bits(at);
        let vertices = &mut self.mesh.vertices;
        let same = |&i: &u32| bits(vertices[i as usize]) == key;
        let again = |&i: &u32| hash(bits(vertices[i as usize]));
        let entry = self.places.entry(hash(key), same, again);
        match entry {
            hashbrown::hash_table::Entry::Occupied(found) => Ok(*found.get()),
            hashbrown::hash_table::Entry::Vacant(free) => {
                let new = u32::try_from(vertices.len()).map_err(|_| Refusal::TooBig)?;
                free.insert(new);
                vertices.push(at);
                Ok(new)
            }
        }
    }

    pub(super) fn triangle(&mut self, corners: [[f64; 3]; 3]) -> Result<(), Refusal> {
        if self.mesh.triangles.len() >= MOST_TRIANGLES {
            return Err(Refusal::TooBig);
        }
        let [a, b, c] = corners;
        let triangle = [self.corner(a)?, self.corner(b)?, self.corner(c)?];
        self.mesh.triangles.push(triangle);
        Ok(())
    }

    pub(super) fn done(self) -> Mesh {
        self.mesh
    }
}
