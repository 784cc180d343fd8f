//! What a body covers seen from a side, or shows where it is cut: loops in a plane.

use super::mesh::Mesh;
use manifold_rust::cross_section::CrossSection;
use manifold_rust::linalg::Vec2;
use std::collections::HashMap;
use std::hash::Hash;

/// Loops in a plane, m: counter-clockwise around what is full, clockwise around holes.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Outline {
    /// The loops, each closed from its last corner to its first.
    pub loops: Vec<Vec<[f64; 2]>>,
}

/// Work in the plane is done in millimetres.
const MM: f64 = 1e3;

impl Outline {
    /// Area, holes left out, m2.
    pub fn area(&self) -> f64 {
        self.loops.iter().map(|corners| super::section::signed_area(corners)).sum()
    }

    /// Length of all loops, m.
    pub fn perimeter(&self) -> f64 {
        let sides = self.loops.iter().flat_map(|corners| super::section::edges(corners));
        sides.map(|(a, b)| (b[0] - a[0]).hypot(b[1] - a[1])).sum()
    }

    /// Least and greatest corner of the box around it, m; none where it is empty.
    pub fn bounds(&self) -> Option<[[f64; 2]; 2]> {
        let mut bounds: Option<[[f64; 2]; 2]> = None;
        for &at in self.loops.iter().flatten() {
            let [low, high] = bounds.get_or_insert([at, at]);
            for i in 0..2 {
                low[i] = low[i].min(at[i]);
                high[i] = high[i].max(at[i]);
            }
        }
        bounds
    }

    /// Whether a place lies within one of its loops, be it in a hole.
    pub fn surrounds(&self, [x, y]: [f64; 2]) -> bool {
        let crosses = |(a, b): &([f64; 2], [f64; 2])| {
            (a[1] <= y) != (b[1] <= y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
        };
        let within =
            |way: &Vec<[f64; 2]>| super::section::edges(way).filter(crosses).count() % 2 == 1;
        self.loops.iter().any(within)
    }

    /// The same, grown by so much all round, m; shrunk where it is less than nought.
    pub fn grown(&self, by: f64) -> Self {
        Self::of(&section(&self.loops).offset(by * MM))
    }

    /// What both cover.
    pub fn shared(&self, other: &Self) -> Self {
        Self::of(&section(&self.loops).intersection(&section(&other.loops)))
    }

    /// The same with the first axis turned round.
    pub(super) fn mirrored(&self) -> Self {
        let turned = |way: &Vec<[f64; 2]>| way.iter().rev().map(|c| [-c[0], c[1]]).collect();
        Self { loops: self.loops.iter().map(turned).collect() }
    }

    /// What a mesh covers seen along z: the edges between faces that look up and faces that do
    /// not, joined into loops; where loops lie over each other the plane is covered once.
    pub(super) fn silhouette(mesh: &Mesh, seen: impl Fn([f64; 3]) -> [f64; 2]) -> Self {
        let corner = |v: u32| seen(mesh.vertices[v as usize]);
        let mut next: HashMap<u32, Vec<u32>> = HashMap::new();
        for &[a, b, c] in &mesh.triangles {
            let [p, q, r] = [corner(a), corner(b), corner(c)];
            if (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]) <= 0.0 {
                continue;
            }
            for (from, to) in [(a, b), (b, c), (c, a)] {
                let back = next.get_mut(&to).and_then(|ends| {
                    let at = ends.iter().position(|end| *end == from)?;
                    Some(ends.swap_remove(at))
                });
                if back.is_none() {
                    next.entry(from).or_default().push(to);
                }
            }
        }
        Self::of(&section(&chained(next, corner)))
    }

    /// Where a plane at this height cuts a closed mesh, `turned` giving a corner in the plane's own
    /// measures and its height above it. A corner in the plane counts as above it.
    pub(super) fn cut(mesh: &Mesh, turned: impl Fn([f64; 3]) -> ([f64; 2], f64)) -> Self {
        let corners: Vec<([f64; 2], f64)> = mesh.vertices.iter().map(|&v| turned(v)).collect();
        let above = |v: u32| corners[v as usize].1 >= 0.0;
        let key = |a: u32, b: u32| (a.min(b), a.max(b));
        // From the edge where a face is entered to the one where it is left.
        let mut next: HashMap<(u32, u32), Vec<(u32, u32)>> = HashMap::new();
        for &[a, b, c] in &mesh.triangles {
            let (mut up, mut down) = (None, None);
            for (from, to) in [(a, b), (b, c), (c, a)] {
                match (above(from), above(to)) {
                    (false, true) => up = Some(key(from, to)),
                    (true, false) => down = Some(key(from, to)),
                    _ => {}
                }
            }
            if let (Some(up), Some(down)) = (up, down) {
                next.entry(down).or_default().push(up);
            }
        }
        let crossing = |(a, b): (u32, u32)| {
            let ((p, low), (q, high)) = (corners[a as usize], corners[b as usize]);
            let at = low / (low - high);
            [0, 1].map(|i| p[i] + at * (q[i] - p[i]))
        };
        Self::of(&section(&chained(next, crossing)))
    }

    fn of(section: &CrossSection) -> Self {
        let loops = section.to_polygons();
        Self {
            loops: loops
                .into_iter()
                .map(|corners| corners.into_iter().map(|c| [c.x / MM, c.y / MM]).collect())
                .collect(),
        }
    }
}

/// Steps from key to key joined into loops, in the order of the keys.
fn chained<K: Copy + Ord + Hash>(
    mut next: HashMap<K, Vec<K>>,
    corner: impl Fn(K) -> [f64; 2],
) -> Vec<Vec<[f64; 2]>> {
    let mut starts: Vec<K> = next.keys().copied().collect();
    starts.sort_unstable();
    let mut loops = Vec::new();
    for start in starts {
        while let Some(mut at) = next.get_mut(&start).and_then(Vec::pop) {
            let mut way = vec![corner(start)];
            while at != start {
                way.push(corner(at));
                let Some(to) = next.get_mut(&at).and_then(Vec::pop) else { break };
                at = to;
            }
            loops.push(way);
        }
    }
    loops
}

fn section(loops: &[Vec<[f64; 2]>]) -> CrossSection {
    let corners =
        |way: &Vec<[f64; 2]>| way.iter().map(|c| Vec2::new(c[0] * MM, c[1] * MM)).collect();
    CrossSection::from_polygons_fill(loops.iter().map(corners).collect())
}
