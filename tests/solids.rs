//! Solids against meshes of themselves, worked out by other means, and against trimesh.

mod common;

use pourwright::shape::mesh::{Mesh, measure};
use pourwright::shape::{Section, Solid};
use proptest::prelude::*;
use std::f64::consts::{PI, TAU};

/// Turns a closed outline of (radius, height), counter-clockwise, about the z axis.
fn turned(outline: &[[f64; 2]], steps: usize) -> Mesh {
    let mut mesh = Mesh::default();
    let mut rows = Vec::new();
    for &[r, z] in outline {
        let first = mesh.vertices.len() as u32;
        let count = if r == 0.0 { 1 } else { steps };
        for step in 0..count {
            let (sin, cos) = (TAU * step as f64 / steps as f64).sin_cos();
            mesh.vertices.push([r * cos, r * sin, z]);
        }
        rows.push((first, count));
    }
    let corner = |row: usize, step: usize| {
        let (first, count) = rows[row % rows.len()];
        first + (step % count) as u32
    };
    for row in 0..outline.len() {
        for step in 0..steps {
            let (a, b) = (corner(row, step), corner(row, step + 1));
            let (c, d) = (corner(row + 1, step + 1), corner(row + 1, step));
            if a != b {
                mesh.triangles.push([a, b, c]);
            }
            if c != d {
                mesh.triangles.push([a, c, d]);
            }
        }
    }
    mesh
}

fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Cuts a counter-clockwise outline into triangles, ear by ear.
fn ears(outline: &[[f64; 2]]) -> Vec<[u32; 3]> {
    let mut left: Vec<usize> = (0..outline.len()).collect();
    let mut cut = Vec::new();
    while left.len() > 3 {
        let n = left.len();
        let ear = (0..n).find(|&i| {
            let [a, b, c] = [left[(i + n - 1) % n], left[i], left[(i + 1) % n]];
            let [p, q, r] = [a, b, c].map(|v| outline[v]);
            turn(p, q, r) > 0.0
                && left.iter().filter(|v| ![a, b, c].contains(v)).all(|&v| {
                    let s = outline[v];
                    turn(p, q, s) < 0.0 || turn(q, r, s) < 0.0 || turn(r, p, s) < 0.0
                })
        });
        let i = ear.expect("every simple outline has an ear");
        cut.push([left[(i + n - 1) % n], left[i], left[(i + 1) % n]].map(|v| v as u32));
        left.remove(i);
    }
    cut.push([left[0], left[1], left[2]].map(|v| v as u32));
    cut
}

fn raised(outline: &[[f64; 2]], length: f64) -> Mesh {
    let n = outline.len() as u32;
    let level = |z: f64| outline.iter().map(move |&[x, y]| [x, y, z]);
    let mut mesh = Mesh { vertices: level(0.0).chain(level(length)).collect(), triangles: vec![] };
    for [a, b, c] in ears(outline) {
        mesh.triangles.extend([[a, c, b], [a + n, b + n, c + n]]);
    }
    for a in 0..n {
        let b = (a + 1) % n;
        mesh.triangles.extend([[a, b, b + n], [a, b + n, a + n]]);
    }
    mesh
}

fn rectangle(x: f64, y: f64) -> [[f64; 2]; 4] {
    [[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]]
}

/// The solid in flat faces, `steps` of them around what is round.
fn meshed(solid: &Solid, steps: usize) -> Mesh {
    let arc = |count: usize, whole: f64, from: f64, radius: f64, out: f64| {
        (0..count)
            .map(|i| {
                let (sin, cos) = (from + whole * i as f64 / steps as f64).sin_cos();
                [out + radius * cos, radius * sin]
            })
            .collect::<Vec<_>>()
    };
    match solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => raised(&rectangle(*length, *width), *height),
        Solid::Cylinder { diameter, length } => turned(&rectangle(diameter / 2.0, *length), steps),
        Solid::Tube { outside, inside, length } => {
            let (out, hole) = (outside / 2.0, inside / 2.0);
            turned(&[[hole, 0.0], [out, 0.0], [out, *length], [hole, *length]], steps)
        }
        Solid::Cone { bottom, top, length } => {
            let mut outline = vec![[0.0, 0.0], [bottom / 2.0, 0.0], [top / 2.0, *length]];
            if *top > 0.0 {
                outline.push([0.0, *length]);
            }
            turned(&outline, steps)
        }
        Solid::Ring { outside, section } => {
            turned(&arc(steps, TAU, 0.0, section / 2.0, (outside - section) / 2.0), steps)
        }
        Solid::Sphere { diameter } => {
            let mut outline = arc(steps, PI, -PI / 2.0, diameter / 2.0, 0.0);
            outline[0] = [0.0, -diameter / 2.0];
            outline.push([0.0, diameter / 2.0]);
            turned(&outline, steps)
        }
        Solid::Prism { section, length } => raised(&section.outline(), *length),
    }
}

fn near(one: f64, other: f64, within: f64) -> bool {
    (one - other).abs() <= within * one.abs().max(other.abs())
}

fn solids() -> impl Strategy<Value = Solid> {
    let size = || 0.005..0.5_f64;
    let part = || 0.05..0.45_f64;
    let sections = prop_oneof![
        (size(), size(), part()).prop_map(|(width, height, t)| Section::L {
            width,
            height,
            thickness: t * width.min(height)
        }),
        (size(), size(), part(), part()).prop_map(|(width, height, w, f)| Section::T {
            width,
            height,
            web: w * width,
            flange: f * height
        }),
        (size(), size(), part()).prop_map(|(width, height, t)| Section::U {
            width,
            height,
            thickness: t * width.min(height)
        }),
        (size(), size(), part(), part()).prop_map(|(width, height, w, f)| Section::I {
            width,
            height,
            web: w * width,
            flange: f * height
        }),
        proptest::collection::vec(0.01..0.1_f64, 4..14).prop_map(|reach| {
            let turn = TAU / reach.len() as f64;
            Section::Polygon(
                reach
                    .iter()
                    .enumerate()
                    .map(|(i, r)| [r * (turn * i as f64).cos(), r * (turn * i as f64).sin()])
                    .collect(),
            )
        }),
    ];
    prop_oneof![
        (size(), size(), 0.05..1.0_f64).prop_map(|(length, width, t)| Solid::Plate {
            length,
            width,
            thickness: t * length.min(width)
        }),
        (size(), size(), size()).prop_map(|(length, width, height)| Solid::Block {
            length,
            width,
            height
        }),
        (size(), size()).prop_map(|(diameter, length)| Solid::Cylinder { diameter, length }),
        (size(), 0.05..0.95_f64, size()).prop_map(|(outside, hole, length)| Solid::Tube {
            outside,
            inside: hole * outside,
            length
        }),
        (size(), prop_oneof![Just(0.0), size()], size())
            .prop_map(|(bottom, top, length)| Solid::Cone { bottom, top, length }),
        (size(), part()).prop_map(|(outside, s)| Solid::Ring { outside, section: s * outside }),
        size().prop_map(|diameter| Solid::Sphere { diameter }),
        (sections, size()).prop_map(|(section, length)| Solid::Prism { section, length }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Halving the facets quarters the error, so two meshes point at the true value.
    #[test]
    fn meshes_of_a_solid_close_in_on_its_closed_forms(solid in solids()) {
        prop_assert_eq!(solid.faults(), []);
        let [coarse, fine] = [40, 80].map(|steps| measure(&meshed(&solid, steps)));
        for found in [&coarse, &fine] {
            prop_assert!(found.watertight && found.is_sound() && found.doubts.is_empty(),
                "{:?}", found.doubts);
            prop_assert_eq!(found.bodies, 1);
        }
        for (what, at_40, at_80, truth) in [
            ("volume", coarse.volume, fine.volume, solid.volume()),
            ("surface", coarse.surface, fine.surface, solid.surface()),
        ] {
            let onward = at_80 + (at_80 - at_40) / 3.0;
            prop_assert!(near(onward, truth, 2e-5), "{}: {} against {}", what, onward, truth);
            prop_assert!((at_80 - truth).abs() <= 0.3 * (at_40 - truth).abs() + 1e-12 * truth);
        }
        let [low, high] = fine.bounds;
        for (i, extent) in solid.extents().into_iter().enumerate() {
            prop_assert!(near(high[i] - low[i], extent, 1e-9));
        }
    }

    /// The centre and size of a mesh do not hang on where it lies.
    #[test]
    fn a_far_mesh_measures_like_a_near_one(solid in solids(), off in 1.0..1000.0_f64) {
        let near_by = meshed(&solid, 24);
        let mut far = near_by.clone();
        for vertex in &mut far.vertices {
            *vertex = vertex.map(|v| v + off);
        }
        let (here, there) = (measure(&near_by), measure(&far));
        prop_assert!(near(here.volume, there.volume, 1e-7));
        for (one, other) in here.centroid.into_iter().zip(there.centroid) {
            prop_assert!((one + off - other).abs() < 1e-7);
        }
    }
}

#[test]
fn the_plan_of_a_solid_is_what_it_covers() {
    let cases = [
        (Solid::Cylinder { diameter: 0.1, length: 0.02 }, PI / 4.0 * 0.01, true),
        (Solid::Tube { outside: 0.1, inside: 0.06, length: 0.02 }, PI / 4.0 * 0.0064, true),
        (Solid::Ring { outside: 0.1, section: 0.02 }, PI / 4.0 * (0.01 - 0.0036), true),
        (Solid::Sphere { diameter: 0.1 }, PI / 4.0 * 0.01, true),
        (Solid::Cone { bottom: 0.02, top: 0.1, length: 0.05 }, PI / 4.0 * 0.01, true),
    ];
    for (solid, truth, exact) in cases {
        let found = measure(&meshed(&solid, 256));
        assert_eq!(found.plan_exact, exact, "{solid:?}");
        assert!(near(found.plan_area, truth, 2e-4), "{solid:?}: {} {truth}", found.plan_area);
    }
    // A lying I has flange over flange: half the sum of its faces would count the lower again.
    let section = Section::I { width: 0.05, height: 0.1, web: 0.01, flange: 0.01 };
    let mut lying = meshed(&Solid::Prism { section, length: 0.2 }, 8);
    for vertex in &mut lying.vertices {
        let [x, y, z] = *vertex;
        *vertex = [z, x, y];
    }
    let found = measure(&lying);
    assert!(!found.plan_exact && found.is_sound());
    assert!(near(found.plan_area, 0.05 * 0.2, 5e-3), "{}", found.plan_area);
}

#[test]
fn closed_forms_give_the_figures_worked_by_hand() {
    let cases = [
        (Solid::Block { length: 0.04, width: 0.03, height: 0.02 }, 24e-6, 5200e-6),
        (Solid::Cylinder { diameter: 0.02, length: 0.05 }, 15_707.963_27e-9, 3_769.911_18e-6),
        (Solid::Cone { bottom: 0.03, top: 0.0, length: 0.04 }, 9_424.777_96e-9, 2_719.991_80e-6),
        (Solid::Sphere { diameter: 0.05 }, 65_449.846_95e-9, 7_853.981_63e-6),
        (
            Solid::Tube { outside: 0.04, inside: 0.02, length: 0.015 },
            14_137.166_94e-9,
            4_712.388_98e-6,
        ),
        (
            Solid::Prism {
                section: Section::L { width: 0.06, height: 0.04, thickness: 0.01 },
                length: 0.02,
            },
            18e-6,
            5800e-6,
        ),
        (
            Solid::Prism {
                section: Section::Polygon(vec![[0.0, 0.0], [0.0, 0.04], [0.03, 0.0]]),
                length: 0.1,
            },
            60e-6,
            13_200e-6,
        ),
    ];
    for (solid, volume, surface) in cases {
        assert!(near(solid.volume(), volume, 1e-9), "{solid:?}: {}", solid.volume());
        assert!(near(solid.surface(), surface, 1e-8), "{solid:?}: {}", solid.surface());
    }
}

#[test]
fn what_cannot_be_cast_is_told_by_its_field() {
    let polygon = |corners: &[[f64; 2]]| Solid::Prism {
        section: Section::Polygon(corners.to_vec()),
        length: 0.1,
    };
    let prism = |section| Solid::Prism { section, length: 0.1 };
    let (a, b, c) = (0.1, 0.05, 0.06);
    let cases = [
        (Solid::Plate { length: a, width: b, thickness: c }, "thickness"),
        (Solid::Plate { length: -a, width: b, thickness: 0.01 }, "length"),
        (Solid::Block { length: a, width: f64::NAN, height: c }, "width"),
        (Solid::Block { length: a, width: b, height: 60.0 * 1e3 }, "height"),
        (Solid::Cylinder { diameter: 0.0, length: a }, "diameter"),
        (Solid::Tube { outside: b, inside: b, length: a }, "inside"),
        (Solid::Tube { outside: b, inside: c, length: a }, "inside"),
        (Solid::Cone { bottom: 0.0, top: 0.0, length: a }, "bottom"),
        (Solid::Cone { bottom: a, top: -b, length: a }, "top"),
        (Solid::Ring { outside: a, section: c }, "section"),
        (Solid::Sphere { diameter: f64::INFINITY }, "diameter"),
        (prism(Section::L { width: a, height: b, thickness: b }), "thickness"),
        (prism(Section::U { width: a, height: a, thickness: b }), "thickness"),
        (prism(Section::T { width: b, height: a, web: b, flange: 0.01 }), "web"),
        (prism(Section::T { width: a, height: b, web: 0.01, flange: b }), "flange"),
        (prism(Section::I { width: a, height: a, web: 0.01, flange: b }), "flange"),
        (polygon(&[]), "section"),
        (polygon(&[[0.0, 0.0], [a, 0.0]]), "section"),
        (polygon(&[[0.0, 0.0], [a, 0.0], [0.0, f64::NAN]]), "section"),
        // A bow tie, a spike, a repeated corner, a closing corner, a line, a corner on a side.
        (polygon(&[[0.0, 0.0], [a, a], [a, 0.0], [0.0, a]]), "section"),
        (polygon(&[[0.0, 0.0], [a, 0.0], [b, 0.0], [b, a]]), "section"),
        (polygon(&[[0.0, 0.0], [a, 0.0], [a, 0.0], [a, a]]), "section"),
        (polygon(&[[0.0, 0.0], [a, 0.0], [a, a], [0.0, 0.0]]), "section"),
        (polygon(&[[0.0, 0.0], [b, 0.0], [a, 0.0]]), "section"),
        (polygon(&[[0.0, 0.0], [a, 0.0], [a, a], [b, 0.0], [0.0, a]]), "section"),
    ];
    for (solid, field) in cases {
        let faults = solid.faults();
        assert_eq!(faults.first().map(|f| f.field), Some(field), "{solid:?}");
        assert!(faults.iter().all(|f| !f.says.is_empty() && !f.hint.is_empty()));
    }
    let sound = [
        Solid::Ring { outside: 0.1, section: 0.05 },
        Solid::Cone { bottom: 0.0, top: a, length: b },
        Solid::Plate { length: a, width: a, thickness: a },
        polygon(&[[0.0, 0.0], [0.0, a], [b, a], [a, a], [a, 0.0]]),
    ];
    for solid in sound {
        assert_eq!(solid.faults(), [], "{solid:?}");
    }
}

#[test]
fn trimesh_measures_the_same() {
    let section = Section::U { width: 0.08, height: 0.05, thickness: 0.006 };
    let meshes: Vec<Mesh> = [
        Solid::Plate { length: 0.3, width: 0.2, thickness: 0.01 },
        Solid::Cylinder { diameter: 0.1, length: 0.02 },
        Solid::Tube { outside: 0.1, inside: 0.06, length: 0.02 },
        Solid::Cone { bottom: 0.1, top: 0.0, length: 0.2 },
        Solid::Ring { outside: 0.2, section: 0.03 },
        Solid::Sphere { diameter: 0.09 },
        Solid::Prism { section, length: 0.2 },
    ]
    .iter()
    .map(|solid| meshed(solid, 60))
    .collect();
    let asked: Vec<_> = meshes
        .iter()
        .map(|m| serde_json::json!({"vertices": m.vertices, "faces": m.triangles}))
        .collect();
    let Some(told) = common::ask("trimesh_measures_the_same", "solids", &serde_json::json!(asked))
    else {
        return;
    };
    let told = told.as_array().expect("a list").clone();
    assert_eq!(told.len(), meshes.len());
    for (mesh, told) in meshes.iter().zip(told) {
        let ours = measure(mesh);
        let theirs = |key: &str| told[key].as_f64().unwrap_or(f64::NAN);
        assert!(near(ours.volume, theirs("volume"), 1e-9), "{ours:?} {told}");
        assert!(near(ours.surface, theirs("area"), 1e-9), "{ours:?} {told}");
        assert_eq!(Some(ours.watertight), told["watertight"].as_bool());
        for (i, at) in ours.centroid.into_iter().enumerate() {
            assert!((at - told["centroid"][i].as_f64().unwrap_or(f64::NAN)).abs() < 1e-9);
        }
    }
}
