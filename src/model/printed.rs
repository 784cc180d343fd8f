//! Patterns and core boxes as bodies to be printed: stock and contraction in, prints on, draft not.

use super::{Casting, Hole, Opening, Pattern};
use crate::shape::mesh::Mesh;
use crate::shape::{Body, Frame, Placed, Solid};
use crate::yaml::Refused;

/// Round a core in its box, m.
const WALL: f64 = 0.010;

/// A body to be printed.
#[derive(Debug, Clone)]
pub struct Printed {
    /// What it is, as part of a file's name.
    pub name: String,
    /// How many of it are wanted.
    pub count: u32,
    /// Its faces, m.
    pub mesh: Mesh,
    /// What it holds, m3.
    pub volume: f64,
    /// Lengths of the box around it, m.
    pub extents: [f64; 3],
    /// Of a core box, the box around the core in it, low and high corner, m.
    pub inside: Option<[[f64; 3]; 2]>,
}

impl Printed {
    fn new(name: String, count: u32, body: &Body, times: f64, spots: &[[f64; 2]]) -> Self {
        let mut mesh = Mesh { vertices: Vec::new(), triangles: Vec::new() };
        for spot in spots {
            let first = mesh.vertices.len() as u32;
            let put = |v: &[f64; 3]| [v[0] * times + spot[0], v[1] * times + spot[1], v[2] * times];
            mesh.vertices.extend(body.mesh().vertices.iter().map(put));
            mesh.triangles.extend(body.mesh().triangles.iter().map(|t| t.map(|i| i + first)));
        }
        let over = |i: usize| {
            let all = mesh.vertices.iter().map(|v| v[i]);
            let (low, high) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                (low.min(v), high.max(v))
            });
            high - low
        };
        let extents = [0, 1, 2].map(over);
        // Of the faces themselves: what a reader of the file finds.
        let volume = Body::of_mesh(mesh.clone()).volume();
        Self { name, count, mesh, volume, extents, inside: None }
    }
}

impl Casting {
    /// Its pattern, whole or in halves where the mould parts, and its core boxes.
    ///
    /// # Errors
    /// Where its body is not known or nothing is left of it.
    pub fn printed(&self, on: &Pattern, split: bool) -> Result<Vec<Printed>, Refused> {
        let times = self.oversized()?;
        let openings = self.openings(on);
        let pieces = self.pieces(on, &openings)?;
        let placed: Vec<Placed> = pieces.into_iter().map(|(_, _, placed)| placed).collect();
        let whole = Body::of_solids(&placed).0.ok_or("nothing is left of it")?;
        let spots = self.spots(on, &whole, times);
        let mut out = Vec::new();
        let halves = if split { self.halves(on, &placed, &whole, times) } else { Vec::new() };
        match halves.as_slice() {
            [] => out.push(Printed::new("pattern".into(), 1, &whole, times, &spots)),
            halves => out.extend(
                halves
                    .iter()
                    .map(|(name, body)| Printed::new((*name).into(), 1, body, times, &spots)),
            ),
        }
        let cores = openings.iter().filter(|o| o.how == Hole::Core);
        for (nth, opening) in cores.enumerate() {
            out.extend(core_box(opening, nth + 1, times));
        }
        Ok(out)
    }

    /// How high its pattern parts, in the measures of what is printed, m; none where that is not said.
    pub fn parts_at(&self, on: &Pattern) -> Option<f64> {
        let times = 1.0 + self.alloy.contraction.as_ref()?.si();
        let in_cope = on.given.in_cope.as_ref()?.si();
        Some(self.as_cast(on)?.bounds()[1][2] * times - in_cope)
    }

    /// Where the middle of each casting comes to lie, m.
    fn spots(&self, on: &Pattern, whole: &Body, times: f64) -> Vec<[f64; 2]> {
        // Prints stand out of the pattern; how many lie in a row is told without them.
        let cast = self.as_cast(on).map_or(whole.extents(), |cast| cast.extents());
        let flat = |[x, y, _]: [f64; 3]| [x * times, y * times];
        spots(on, flat(cast), flat(whole.extents()))
    }

    /// Its two halves, cut where the mould parts; none where it lies in one half.
    fn halves(
        &self,
        on: &Pattern,
        placed: &[Placed],
        whole: &Body,
        times: f64,
    ) -> Vec<(&'static str, Body)> {
        let Some(parting) = self.parts_at(on).map(|z| z / times) else { return Vec::new() };
        let [low, high] = whole.bounds();
        if parting >= high[2] - 1e-4 || parting <= low[2] + 1e-4 {
            return Vec::new();
        }
        let over = (0..3).map(|i| high[i] - low[i]).fold(0.0, f64::max) + 0.1;
        let middle = [0, 1].map(|i| f64::midpoint(low[i], high[i]));
        let cut = |name, z: f64| {
            let solid = Solid::Block { length: 2.0 * over, width: 2.0 * over, height: over };
            let frames = vec![Frame { at: [middle[0], middle[1], z], ..Frame::HOME }];
            let mut half = placed.to_vec();
            half.push(Placed { solid, frames, less: true, of: None });
            Body::of_solids(&half).0.map(|body| (name, body))
        };
        [cut("pattern-drag", parting), cut("pattern-cope", parting - over)]
            .into_iter()
            .flatten()
            .collect()
    }
}

/// Where the middle of each casting on a pattern comes to lie from the first one's, m; of each its
/// length and width without and with the prints of its cores.
pub(super) fn spots(on: &Pattern, bare: [f64; 2], whole: [f64; 2]) -> Vec<[f64; 2]> {
    let given = &on.given;
    let room = [&given.length, &given.width].map(|f| f.as_ref().map_or(0.0, |f| f.si()));
    let n = given.cavities;
    let fits = |columns: &u32| {
        let many = [*columns, n.div_ceil(*columns)].map(f64::from);
        (0..2).all(|i| bare[i] * many[i] <= room[i] + 1e-3)
    };
    let columns = (1..=n).find(fits).unwrap_or(n);
    let rows = n.div_ceil(columns);
    // At the least a finger's breadth of sand between them.
    let pitch = |room: f64, size: f64, many: u32| match many {
        1 => 0.0,
        _ => ((room - size) / f64::from(many - 1)).max(size + 0.02),
    };
    let step = [pitch(room[0], whole[0], columns), pitch(room[1], whole[1], rows)];
    (0..n).map(|i| [f64::from(i % columns) * step[0], f64::from(i / columns) * step[1]]).collect()
}

/// The box of a core: two like halves for a round one, a frame that is struck off for another.
fn core_box(opening: &Opening, nth: usize, times: f64) -> Option<Printed> {
    let (core, _) = opening.core();
    let floor = if opening.open.iter().all(|open| *open) { 0.0 } else { WALL };
    let [x, y, z] = core.extents();
    let upright = |at: f64| vec![Frame { at: [0.0, 0.0, at], ..Frame::HOME }];
    let add = |solid, frames| Placed { solid, frames, less: false, of: None };
    let cut = |solid, frames| Placed { solid, frames, less: true, of: None };
    let (solids, name, halves, inside) = match core {
        Solid::Cylinder { diameter, length } => {
            let block = Solid::Block {
                length: length + floor,
                width: diameter + 2.0 * WALL,
                height: diameter / 2.0 + WALL,
            };
            let top = diameter / 2.0 + WALL;
            let start = if floor > 0.0 { -(length + floor) / 2.0 + floor } else { -length / 2.0 };
            let lying = Frame::new([start, 0.0, top], [0.0, std::f64::consts::FRAC_PI_2, 0.0]);
            let core = Solid::Cylinder { diameter, length };
            let half = diameter / 2.0;
            let inside = [[start, -half, top - half], [start + length, half, top]];
            (vec![add(block, upright(0.0)), cut(core, vec![lying])], "half", 2, inside)
        }
        Solid::Block { .. } | Solid::Prism { .. } => {
            let block =
                Solid::Block { length: x + 2.0 * WALL, width: y + 2.0 * WALL, height: z + floor };
            let inside = [[-x / 2.0, -y / 2.0, floor], [x / 2.0, y / 2.0, floor + z]];
            (vec![add(block, upright(0.0)), cut(core, upright(floor))], "frame", 1, inside)
        }
        _ => return None,
    };
    let body = Body::of_solids(&solids).0?;
    let name = format!("core-{nth}-box-{name}");
    let inside = Some(inside.map(|corner| corner.map(|v| v * times)));
    Some(Printed { inside, ..Printed::new(name, halves, &body, times, &[[0.0; 2]]) })
}
