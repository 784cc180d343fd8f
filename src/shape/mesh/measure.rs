use super::Mesh;
use super::check::{Doubt, Edges, bodies, bodies_doubts, edge_doubts, overlap};
use super::plan::Plan;
use super::vector::{across, dot, minus};
use rayon::prelude::*;
use std::borrow::Cow;

/// What a mesh measures, and what speaks against it.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    /// Triangles that were measured.
    pub triangles: usize,
    /// Volume, m3: what is hollow is taken off. To be believed where [`Measures::is_sound`].
    pub volume: f64,
    /// Surface, inside hollows too, m2.
    pub surface: f64,
    /// Least and greatest corner of the box around it, m.
    pub bounds: [[f64; 3]; 2],
    /// Centre of the volume, m; of the box where there is no volume.
    pub centroid: [f64; 3],
    /// Area covered seen along z, m2.
    pub plan_area: f64,
    /// Whether the plan area is reckoned from the faces; else it is counted in cells of 1/1024 of
    /// the longer side, since parts lie above each other or the mesh is not sound.
    pub plan_exact: bool,
    /// Shells that share no corner; a hollow is one too.
    pub bodies: usize,
    /// Whether each edge has just two faces that agree on what is outside.
    pub watertight: bool,
    /// What speaks against the mesh.
    pub doubts: Vec<Doubt>,
}

impl Measures {
    /// Whether the volume is to be believed.
    pub fn is_sound(&self) -> bool {
        !self.doubts.iter().any(|doubt| doubt.spoils_volume())
    }
}

/// Triangles to a share of work; sums are taken in the order of the shares, so that they do not
/// hang on the number of threads.
const SHARE: usize = 1 << 16;

/// Square of a triangle's height over its longest side below which it has no area.
const FLAT: f64 = 1e-24;
/// A body thinner than this share of its size is faces that lie on each other.
const THINNEST: f64 = 1e-6;

#[derive(Default)]
struct Sums {
    /// Six times the volume.
    volume6: f64,
    /// Twenty-four times the first moment.
    moment24: [f64; 3],
    /// Twice the surface.
    surface2: f64,
    /// Four times the area seen from above.
    plan4: f64,
    flat: Vec<usize>,
}

impl Sums {
    fn of(mesh: &Mesh, centre: [f64; 3]) -> Self {
        let parts: Vec<Self> = mesh
            .triangles
            .par_chunks(SHARE)
            .enumerate()
            .map(|(share, triangles)| {
                let mut sums = Self::default();
                for (at, triangle) in triangles.iter().enumerate() {
                    let corners = triangle.map(|v| minus(mesh.vertices[v as usize], centre));
                    sums.add(share * SHARE + at, corners);
                }
                sums
            })
            .collect();
        parts.into_iter().fold(Self::default(), |mut all, part| {
            all.volume6 += part.volume6;
            all.surface2 += part.surface2;
            all.plan4 += part.plan4;
            for (sum, more) in all.moment24.iter_mut().zip(part.moment24) {
                *sum += more;
            }
            all.flat.extend(part.flat);
            all
        })
    }

    fn add(&mut self, index: usize, [a, b, c]: [[f64; 3]; 3]) {
        let (ab, ac) = (minus(b, a), minus(c, a));
        let normal = across(ab, ac);
        let square = dot(normal, normal);
        let bc = minus(c, b);
        let longest = dot(ab, ab).max(dot(ac, ac)).max(dot(bc, bc));
        if square <= FLAT * longest * longest {
            self.flat.push(index);
        }
        let volume6 = dot(a, normal);
        self.volume6 += volume6;
        for i in 0..3 {
            self.moment24[i] += volume6 * (a[i] + b[i] + c[i]);
        }
        self.surface2 += square.sqrt();
        self.plan4 += normal[2].abs();
    }
}

fn bounds(mesh: &Mesh) -> [[f64; 3]; 2] {
    let mut bounds = [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]];
    for vertex in &mesh.vertices {
        if vertex.iter().all(|v| v.is_finite()) {
            for i in 0..3 {
                bounds[0][i] = bounds[0][i].min(vertex[i]);
                bounds[1][i] = bounds[1][i].max(vertex[i]);
            }
        }
    }
    if bounds[0][0] > bounds[1][0] { [[0.0; 3]; 2] } else { bounds }
}

/// Volume (m3), surface (m2) and box of a mesh that nothing speaks against: what [`measure`] finds.
pub(in crate::shape) fn sizes(mesh: &Mesh) -> (f64, f64, [[f64; 3]; 2]) {
    let bounds = bounds(mesh);
    let sums = Sums::of(mesh, middle(bounds));
    (sums.volume6.abs() / 6.0, sums.surface2 / 2.0, bounds)
}

fn middle([low, high]: [[f64; 3]; 2]) -> [f64; 3] {
    [0, 1, 2].map(|i| low[i] + (high[i] - low[i]) / 2.0)
}

/// Measures a mesh and says what speaks against it.
pub fn measure(mesh: &Mesh) -> Measures {
    let is_sound = |triangle: &[u32; 3]| {
        triangle.iter().all(|&v| {
            mesh.vertices.get(v as usize).is_some_and(|at| at.iter().all(|v| v.is_finite()))
        })
    };
    let unsound = mesh.triangles.par_iter().filter(|t| !is_sound(t)).count();
    if unsound == 0 {
        return measure_finite(mesh, 0);
    }
    let finite = Mesh {
        vertices: mesh.vertices.clone(),
        triangles: mesh.triangles.iter().copied().filter(is_sound).collect(),
    };
    measure_finite(&finite, unsound)
}

fn measure_finite(mesh: &Mesh, left_out: usize) -> Measures {
    let bounds = bounds(mesh);
    let [low, high] = bounds;
    let centre = middle(bounds);
    let (edges, (sums, (of, count))) = rayon::join(
        || Edges::of(&mesh.triangles, mesh.vertices.len()),
        || rayon::join(|| Sums::of(mesh, centre), || bodies(mesh)),
    );

    let mut doubts = Vec::new();
    if left_out > 0 {
        doubts.push(Doubt::NotFinite { triangles: left_out });
    }
    if !sums.flat.is_empty() {
        doubts.push(Doubt::Degenerate { triangles: sums.flat.len() });
    }
    let mut watertight = false;
    if left_out == 0 {
        let (found, closed) = edge_doubts(mesh, &sums.flat, edges);
        watertight = closed;
        doubts.extend(found);
        if !doubts.iter().any(|doubt| doubt.spoils_volume()) {
            let inward = sums.volume6 < 0.0;
            if inward {
                doubts.push(Doubt::InsideOut);
            }
            if count > 1 {
                let turned = if inward { Cow::Owned(turned(mesh)) } else { Cow::Borrowed(mesh) };
                doubts.extend(bodies_doubts(&turned, &of, count, centre));
            }
            if !doubts.iter().any(|doubt| doubt.spoils_volume()) {
                doubts.extend(overlap(mesh, bounds, if inward { -1 } else { 1 }));
            }
        }
    }

    let across: f64 = (0..3).map(|i| high[i] - low[i]).sum();
    let least = THINNEST * sums.surface2 / 2.0 * across;
    if !doubts.iter().any(|doubt| doubt.spoils_volume()) && sums.volume6.abs() / 6.0 <= least {
        doubts.push(Doubt::Flat);
    }
    let sound = !doubts.iter().any(|doubt| doubt.spoils_volume());
    let plan = Plan::of(mesh, low, high, !sound || sums.volume6 < 0.0);
    let plan_exact = sound && sums.volume6 > 0.0 && plan.once;
    Measures {
        triangles: mesh.triangles.len(),
        volume: sums.volume6.abs() / 6.0,
        surface: sums.surface2 / 2.0,
        bounds,
        centroid: [0, 1, 2].map(|i| {
            let off = sums.moment24[i] / (4.0 * sums.volume6);
            centre[i] + if off.is_finite() { off } else { 0.0 }
        }),
        plan_area: if plan_exact { sums.plan4 / 4.0 } else { plan.covered },
        plan_exact,
        bodies: count,
        watertight,
        doubts,
    }
}

fn turned(mesh: &Mesh) -> Mesh {
    Mesh {
        vertices: mesh.vertices.clone(),
        triangles: mesh.triangles.iter().map(|&[a, b, c]| [a, c, b]).collect(),
    }
}
