//! Solids joined and cut as closed meshes; the bodies of the library that does it stay in here.
//!
//! Its booleans are exact in what touches what: faces that lie on each other are joined, and a cut
//! that ends level with a face leaves no skin.

use super::frame::Frame;
use super::mesh::Mesh;
use super::section::Section;
use super::solid::Solid;
use manifold_rust::linalg::{Mat3x4, Vec2, Vec3};
use manifold_rust::manifold::Manifold;
use manifold_rust::types::{BooleanEngine, MeshGL64, OpType, Polygons};
use std::f64::consts::PI;

/// Sides to a full turn; a multiple of four, so that round things are as long and wide as they
/// should be. A disc comes out 0.3 % small.
const SIDES: i32 = 48;

/// Sides to a full turn of what is round two ways, so that a ball too comes out 0.3 % small at most.
const BALL_SIDES: i32 = 96;

/// Work is done in millimetres, on a grid of a millionth of one: what is written as touching
/// touches.
const MM: f64 = 1e3;
const GRID: f64 = 1e6;

/// A closed body of flat faces.
#[derive(Clone)]
pub(super) struct Csg(Manifold);

impl Csg {
    /// A solid as it stands in this frame; its own origin is in the middle of its underside, but a
    /// polygon keeps its own measures.
    pub fn of(solid: &Solid, frame: &Frame) -> Self {
        let upright = match solid {
            Solid::Plate { length, width, thickness: height }
            | Solid::Block { length, width, height } => {
                let (x, y) = (length / 2.0 * MM, width / 2.0 * MM);
                extruded(&[[-x, -y], [x, -y], [x, y], [-x, y]], height * MM)
            }
            Solid::Prism { section, length } => extruded(&outline(section), length * MM),
            Solid::Sphere { .. } | Solid::Ring { .. } => revolved(&profile(solid), BALL_SIDES),
            _ => revolved(&profile(solid), SIDES),
        };
        let axis = |i: usize| Vec3::new(frame.axes[i][0], frame.axes[i][1], frame.axes[i][2]);
        let [x, y, z] = frame.at.map(|v| v * MM);
        let placed =
            upright.transform(&Mat3x4::from_cols(axis(0), axis(1), axis(2), Vec3::new(x, y, z)));
        Self(placed.warp(|v| {
            for value in [&mut v.x, &mut v.y, &mut v.z] {
                *value = (*value * GRID).round() / GRID;
            }
        }))
    }

    /// All of them as one body; what they share counts once.
    pub fn joined(parts: Vec<Self>) -> Option<Self> {
        // Pairs of like size: as many steps as the count has digits in twos.
        let mut parts = parts;
        while parts.len() > 1 {
            let mut next = Vec::with_capacity(parts.len().div_ceil(2));
            for pair in parts.chunks(2) {
                next.push(match pair {
                    [a, b] => a.with(b, OpType::Add),
                    _ => pair[0].clone(),
                });
            }
            parts = next;
        }
        parts.pop()
    }

    /// Less what the other holds.
    pub fn less(&self, other: &Self) -> Self {
        self.with(other, OpType::Subtract)
    }

    fn with(&self, other: &Self, what: OpType) -> Self {
        if what == OpType::Add && self.apart(other) {
            return Self(Manifold::compose(&[self.0.clone(), other.0.clone()]));
        }
        if what == OpType::Subtract && self.apart(other) {
            return self.clone();
        }
        Self(self.0.boolean_with_engine(&other.0, what, BooleanEngine::Exact))
    }

    /// Whether the boxes around the two neither meet nor touch.
    fn apart(&self, other: &Self) -> bool {
        let (a, b) = (self.0.bounding_box(), other.0.bounding_box());
        a.max.x < b.min.x
            || b.max.x < a.min.x
            || a.max.y < b.min.y
            || b.max.y < a.min.y
            || a.max.z < b.min.z
            || b.max.z < a.min.z
    }

    /// Whether nothing is left.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Volume of its flat faces, m3.
    pub fn volume(&self) -> f64 {
        self.0.volume() / (MM * MM * MM)
    }

    /// Least and greatest corner of the box around it, m.
    pub fn bounds(&self) -> [[f64; 3]; 2] {
        let around = self.0.bounding_box();
        [around.min, around.max].map(|at| [at.x / MM, at.y / MM, at.z / MM])
    }

    /// Its faces, m.
    pub fn mesh(&self) -> Mesh {
        let faces: MeshGL64 = self.0.get_mesh_gl64(-1);
        let step = faces.num_prop as usize;
        let vertices = faces.vert_properties.chunks_exact(step.max(3));
        let triangles = faces.tri_verts.chunks_exact(3);
        Mesh {
            vertices: vertices.map(|v| [v[0] / MM, v[1] / MM, v[2] / MM]).collect(),
            triangles: triangles.map(|t| [t[0] as u32, t[1] as u32, t[2] as u32]).collect(),
        }
    }
}

fn extruded(corners: &[[f64; 2]], height: f64) -> Manifold {
    Manifold::extrude(&polygons(corners), height, 0, 0.0, Vec2::new(1.0, 1.0))
}

/// Turned about the upright axis: corners are how far out and how high.
fn revolved(corners: &[[f64; 2]], sides: i32) -> Manifold {
    Manifold::revolve(&polygons(corners), sides, 360.0)
}

fn polygons(corners: &[[f64; 2]]) -> Polygons {
    vec![corners.iter().map(|&[x, y]| Vec2::new(x, y)).collect()]
}

/// Corners of a section counter-clockwise, mm: about the middle of its box, or as a polygon says.
fn outline(section: &Section) -> Vec<[f64; 2]> {
    let mut corners = section.outline().into_owned();
    if let Section::Polygon(_) = section {
        if super::section::signed_area(&corners) < 0.0 {
            corners.reverse();
        }
    } else {
        let [x, y] = section.extents();
        for corner in &mut corners {
            *corner = [corner[0] - x / 2.0, corner[1] - y / 2.0];
        }
    }
    corners.iter().map(|c| c.map(|v| v * MM)).collect()
}

/// Half the cut through a round solid along its axis, counter-clockwise, mm.
fn profile(solid: &Solid) -> Vec<[f64; 2]> {
    let corners = match *solid {
        Solid::Cylinder { diameter: d, length } => {
            vec![[0.0, 0.0], [d / 2.0, 0.0], [d / 2.0, length], [0.0, length]]
        }
        Solid::Tube { outside, inside, length } => {
            let (out, bore) = (outside / 2.0, inside / 2.0);
            vec![[bore, 0.0], [out, 0.0], [out, length], [bore, length]]
        }
        Solid::Cone { bottom, top, length } => {
            let mut corners = vec![[0.0, 0.0]];
            corners.extend((bottom > 0.0).then_some([bottom / 2.0, 0.0]));
            corners.extend((top > 0.0).then_some([top / 2.0, length]));
            corners.push([0.0, length]);
            corners
        }
        Solid::Ring { outside, section } => {
            let (radius, off) = (section / 2.0, (outside - section) / 2.0);
            // A ring that closes in the middle touches the axis in one place only.
            let corner = |[x, z]: [f64; 2]| [(off + radius * x).max(0.0), radius + radius * z];
            (0..BALL_SIDES).map(|i| corner(around(i))).collect()
        }
        Solid::Sphere { diameter } => {
            let r = diameter / 2.0;
            let half = BALL_SIDES / 2;
            let corner = |i: i32| match around(i - BALL_SIDES / 4) {
                _ if i == 0 => [0.0, 0.0],
                _ if i == half => [0.0, 2.0 * r],
                [x, z] => [r * x, r + r * z],
            };
            (0..=half).map(corner).collect()
        }
        Solid::Plate { .. } | Solid::Block { .. } | Solid::Prism { .. } => Vec::new(),
    };
    corners.into_iter().map(|c| c.map(|v| v * MM)).collect()
}

/// A corner of the ball's regular polygon about the origin; exact on the axes.
fn around(corner: i32) -> [f64; 2] {
    let at = corner.rem_euclid(BALL_SIDES);
    let quarter = BALL_SIDES / 4;
    let (x, y) = match at % quarter {
        0 => (1.0, 0.0),
        rest => {
            let (sin, cos) = (2.0 * PI * f64::from(rest) / f64::from(BALL_SIDES)).sin_cos();
            (cos, sin)
        }
    };
    match at / quarter {
        0 => [x, y],
        1 => [-y, x],
        2 => [-x, -y],
        _ => [y, -x],
    }
}
