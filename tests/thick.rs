//! The thickest place against exact geometry, and the distance field against scipy.ndimage.

mod common;
#[path = "common/dice.rs"]
mod dice;

use dice::Dice;
use pourwright::shape::mesh::Mesh;
use pourwright::shape::{
    Looked, Section, Solid, Thickest, squared_distances, thickest, thickest_default,
};
use proptest::prelude::*;
use serde_json::{Value, json};
use std::f64::consts::SQRT_2;

const MM: f64 = 1e-3;
/// Half the diagonal of a cell, in cells, rounded up.
const HALF: f64 = 0.8661;

/// How far above the exact radius, in cells.
fn off(found: Thickest, exact: f64) -> f64 {
    (found.radius - exact) / found.voxel
}

/// A mesh of the section pulled up; its two ends are split from corner `hub`, which must see all
/// others.
fn pulled(section: &Section, length: f64, hub: usize) -> Mesh {
    let outline = section.outline();
    let count = outline.len();
    let at = |z: f64| outline.iter().map(move |&[x, y]| [x, y, z]);
    let mut mesh = Mesh { vertices: at(0.0).chain(at(length)).collect(), triangles: Vec::new() };
    let corner = |i: usize, up: usize| ((hub + i) % count + up * count) as u32;
    for i in 1..count - 1 {
        mesh.triangles.push([corner(0, 0), corner(i + 1, 0), corner(i, 0)]);
        mesh.triangles.push([corner(0, 1), corner(i, 1), corner(i + 1, 1)]);
    }
    for i in 0..count {
        mesh.triangles.push([corner(i, 0), corner(i + 1, 0), corner(i + 1, 1)]);
        mesh.triangles.push([corner(i, 0), corner(i + 1, 1), corner(i, 1)]);
    }
    mesh
}

fn block(low: [f64; 3], high: [f64; 3]) -> Mesh {
    let [x, y] = [0, 1].map(|axis| high[axis] - low[axis]);
    let section = Section::Polygon(vec![[0.0, 0.0], [x, 0.0], [x, y], [0.0, y]]);
    moved(pulled(&section, high[2] - low[2], 0), |p| [0, 1, 2].map(|i| p[i] + low[i]))
}

fn moved(mut mesh: Mesh, to: impl Fn([f64; 3]) -> [f64; 3]) -> Mesh {
    for vertex in &mut mesh.vertices {
        *vertex = to(*vertex);
    }
    mesh
}

fn both(one: Mesh, other: &Mesh) -> Mesh {
    let mut all = one;
    let before = all.vertices.len() as u32;
    all.vertices.extend(&other.vertices);
    all.triangles.extend(other.triangles.iter().map(|t| t.map(|v| v + before)));
    all
}

fn inside_out(mut mesh: Mesh) -> Mesh {
    mesh.triangles.iter_mut().for_each(|t| t.swap(1, 2));
    mesh
}

fn turned(mesh: Mesh, about_z: f64, about_x: f64) -> Mesh {
    let ((sz, cz), (sx, cx)) = (about_z.sin_cos(), about_x.sin_cos());
    moved(mesh, |[x, y, z]| {
        let (x, y) = (cz * x - sz * y, sz * x + cz * y);
        [x, cx * y - sx * z, sx * y + cx * z]
    })
}

/// Exact geometry: the sphere in a corner of two walls touches both outer faces and the inner
/// edge, r = sqrt(2) (t - r).
fn in_corner(wall: f64) -> f64 {
    wall * SQRT_2 / (1.0 + SQRT_2)
}

/// Exact geometry: the sphere at the root of a rib touches the far face of the plate and both
/// inner edges, r^2 = (rib / 2)^2 + (plate - r)^2; for a rib not wider than twice the plate.
fn at_rib(plate: f64, rib: f64) -> f64 {
    (rib * rib / 4.0 + plate * plate) / (2.0 * plate)
}

fn l(width: f64, height: f64, thickness: f64) -> Section {
    Section::L { width: width * MM, height: height * MM, thickness: thickness * MM }
}

fn t(width: f64, height: f64, web: f64, flange: f64) -> Section {
    Section::T { width: width * MM, height: height * MM, web: web * MM, flange: flange * MM }
}

fn i(width: f64, height: f64, web: f64, flange: f64) -> Section {
    Section::I { width: width * MM, height: height * MM, web: web * MM, flange: flange * MM }
}

/// Radii by exact geometry, mm, with the longest side.
fn table() -> Vec<(Solid, f64, f64)> {
    let [l, t, bell] = [l(60.0, 40.0, 10.0), t(60.0, 40.0, 10.0, 10.0), i(20.0, 50.0, 4.0, 20.0)];
    let block =
        |x: f64, y: f64, z: f64| Solid::Block { length: x * MM, width: y * MM, height: z * MM };
    vec![
        (block(40.0, 30.0, 20.0), 10.0, 40.0),
        (Solid::Cylinder { diameter: 20.0 * MM, length: 50.0 * MM }, 10.0, 50.0),
        (Solid::Sphere { diameter: 24.0 * MM }, 12.0, 24.0),
        (Solid::Prism { section: l, length: 20.0 * MM }, in_corner(10.0), 60.0),
        (Solid::Prism { section: t, length: 30.0 * MM }, at_rib(10.0, 10.0), 60.0),
        (Solid::Tube { outside: 40.0 * MM, inside: 20.0 * MM, length: 15.0 * MM }, 5.0, 40.0),
        (Solid::Prism { section: bell, length: 20.0 * MM }, 10.0, 50.0),
        (Solid::Plate { length: 60.0 * MM, width: 60.0 * MM, thickness: 3.0 * MM }, 1.5, 60.0),
        // A ring is as thick as its section; a cone holds the sphere about which its triangle
        // stands: r = area / half the way round.
        (Solid::Ring { outside: 70.0 * MM, section: 14.0 * MM }, 7.0, 70.0),
        (
            Solid::Cone { bottom: 60.0 * MM, top: 0.0, length: 40.0 * MM },
            30.0 * 40.0 / (30.0 + 50.0),
            60.0,
        ),
        (
            Solid::Cone { bottom: 0.0, top: 60.0 * MM, length: 40.0 * MM },
            30.0 * 40.0 / (30.0 + 50.0),
            60.0,
        ),
    ]
}

#[test]
fn radii_are_exact_within_half_the_diagonal_of_a_cell() {
    for (solid, exact, longest) in table() {
        for voxel in [2.0, 1.0, 0.5] {
            let cells = (longest / voxel) as usize;
            let found = thickest(&Looked::Solid(&solid), cells).expect("something inside");
            assert!((found.voxel / (voxel * MM) - 1.0).abs() < 1e-9);
            let off = off(found, exact * MM);
            println!("{:9} {voxel} mm: {exact:.4} mm {off:+.3} cells", solid.name());
            assert!(off.abs() <= HALF, "{solid:?} {voxel}: {off}");
        }
        let found = thickest_default(&Looked::Solid(&solid)).expect("something inside");
        let off = off(found, exact * MM);
        assert!(off.abs() <= HALF && found.radius >= 4.0 * found.voxel, "{solid:?}: {off}");
    }
}

#[test]
fn a_thin_plate_is_told_with_more_cells() {
    let size = 600.0 * MM;
    let plate = Solid::Plate { length: size, width: size, thickness: 6.0 * MM };
    assert_eq!(thickest(&Looked::Solid(&plate), 64), None);
    let found = thickest_default(&Looked::Solid(&plate)).expect("finer cells");
    // As fine as four million cells go: within half a cell.
    assert!((found.voxel - size / 512.0).abs() < 1e-9);
    assert!((found.radius - 3.0 * MM).abs() <= 0.5 * found.voxel, "{found:?}");
}

#[test]
fn a_mesh_tells_what_the_solid_tells() {
    for (section, length, hub) in
        [(l(60.0, 40.0, 10.0), 20.0, 3), (t(60.0, 40.0, 10.0, 10.0), 30.0, 2)]
    {
        let mesh = pulled(&section, length * MM, hub);
        let solid = Solid::Prism { section, length: length * MM };
        for cells in [30, 60, 64, 77, 120] {
            let [one, other] = [Looked::Solid(&solid), Looked::Mesh(&mesh)]
                .map(|body| thickest(&body, cells).expect("something inside"));
            assert!((one.radius - other.radius).abs() < 1e-9, "{cells}: {one:?} {other:?}");
            for axis in 0..3 {
                assert!((one.centre[axis] - other.centre[axis]).abs() < 1e-9);
            }
        }
    }
}

#[test]
fn meshes_that_lie_askew() {
    let mut worst = [0.0_f64; 2];
    for step in 0..40 {
        let (about_z, about_x) = (0.37 * f64::from(step), 0.23 * f64::from(step));
        for (section, length, hub, exact) in [
            (l(60.0, 40.0, 10.0), 20.0, 3, in_corner(10.0)),
            (t(60.0, 40.0, 10.0, 10.0), 30.0, 2, at_rib(10.0, 10.0)),
        ] {
            let mesh = turned(pulled(&section, length * MM, hub), about_z, about_x);
            let found = thickest(&Looked::Mesh(&mesh), 64).expect("something inside");
            let off = off(found, exact * MM);
            worst = [worst[0].min(off), worst[1].max(off)];
            assert!((-HALF..=1.0).contains(&off), "turned {about_z} {about_x}: {off}");
        }
    }
    println!("off by {worst:.3?} cells");
}

#[test]
fn hollows_overlaps_and_faults_of_meshes() {
    // Walls of 10 mm: the sphere in a corner touches three faces and the hollow's corner,
    // r = sqrt(3) (10 - r).
    let hollow = block([10.0 * MM; 3], [30.0 * MM; 3]);
    let shell = both(block([0.0; 3], [40.0 * MM; 3]), &inside_out(hollow));
    let exact = 10.0 * 3_f64.sqrt() / (1.0 + 3_f64.sqrt());
    for mesh in [&shell, &inside_out(shell.clone())] {
        let found = thickest(&Looked::Mesh(mesh), 80).expect("something inside");
        assert!(off(found, exact * MM).abs() <= HALF, "{found:?}");
    }

    let one = block([0.0; 3], [25.0 * MM, 20.0 * MM, 20.0 * MM]);
    let other = block([15.0 * MM, 0.0, 0.0], [40.0 * MM, 20.0 * MM, 20.0 * MM]);
    // Bodies that run into each other are no sound mesh: the check refuses them.
    assert_eq!(thickest(&Looked::Mesh(&both(one.clone(), &other)), 80), None);

    let mut open = one.clone();
    open.triangles.pop();
    assert_eq!(thickest(&Looked::Mesh(&open), 64), None);
    assert_eq!(thickest_default(&Looked::Mesh(&Mesh::default())), None);
    assert_eq!(thickest(&Looked::Mesh(&one), 0), None);
    assert_eq!(thickest(&Looked::Mesh(&one), usize::MAX), None);
    assert_eq!(thickest(&Looked::Mesh(&one), 2_000), None);
    let not_so = Solid::Tube { outside: 0.02, inside: 0.03, length: 0.1 };
    assert_eq!(thickest(&Looked::Solid(&not_so), 64), None);
}

#[test]
fn a_polygon_tells_its_place_in_its_own_measures() {
    let corners = [[0.5, -0.2], [0.56, -0.2], [0.56, -0.16], [0.5, -0.16]];
    let solid = Solid::Prism { section: Section::Polygon(corners.to_vec()), length: 0.08 };
    let found = thickest(&Looked::Solid(&solid), 64).expect("something inside");
    assert!(off(found, 0.02).abs() <= HALF);
    for (at, middle) in found.centre.into_iter().zip([0.53, -0.18, 0.04]) {
        assert!((at - middle).abs() <= 0.5001 * found.voxel, "{found:?}");
    }
}

#[test]
fn the_number_of_threads_does_not_matter() {
    let mesh = turned(pulled(&t(60.0, 40.0, 10.0, 10.0), 30.0 * MM, 2), 0.4, 1.1);
    let solid = Solid::Cylinder { diameter: 0.03, length: 0.2 };
    let told = [1, 2, 3, 7].map(|threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| [Looked::Mesh(&mesh), Looked::Solid(&solid)].map(|b| thickest(&b, 96)))
    });
    assert!(told[0].iter().all(Option::is_some));
    assert!(told.iter().all(|it| *it == told[0]), "{told:?}");
}

/// Grids from a line to a cube, from nearly empty to one empty cell.
fn grids() -> Vec<([usize; 3], Vec<bool>)> {
    let mut dice = Dice(11);
    let mut grids = Vec::new();
    for case in 0..120 {
        let mut shape = [0; 3].map(|_| 1 + dice.roll(22) as usize);
        if case % 5 == 0 {
            shape[case / 5 % 3] = 1;
        }
        let count: usize = shape.iter().product();
        let emptiness = [2, 10, 100, 1_000, 1_000_000][case % 5];
        let mut filled: Vec<bool> = (0..count).map(|_| dice.roll(emptiness) > 0).collect();
        filled[dice.roll(count as u64) as usize] = false;
        grids.push((shape, filled));
    }
    grids
}

#[test]
fn scipy_agrees_on_120_random_fields() {
    let grids = grids();
    let fields: Vec<Value> = grids
        .iter()
        .map(|(shape, filled)| {
            let filled: Vec<u8> = filled.iter().map(|&full| full.into()).collect();
            json!({ "shape": shape, "filled": filled })
        })
        .collect();
    let question = json!({ "fields": fields });
    let Some(told) = common::ask("scipy_agrees_on_120_random_fields", "distance", &question) else {
        return;
    };
    let told = told["fields"].as_array().expect("fields");
    assert_eq!(told.len(), grids.len());
    for ((shape, filled), told) in grids.iter().zip(told) {
        let squares = squared_distances(*shape, filled).expect("a field");
        let told = told["distance"].as_array().expect("distances");
        assert_eq!(told.len(), squares.len());
        for (square, told) in squares.into_iter().zip(told) {
            let told = told.as_f64().expect("a number");
            assert!((f64::from(square).sqrt() - told).abs() < 1e-12, "{shape:?}");
            assert_eq!(f64::from(square), (told * told).round(), "{shape:?}");
        }
    }
}

#[test]
fn fields_that_are_none() {
    assert_eq!(squared_distances([2, 2, 2], &[true; 7]), None);
    assert_eq!(squared_distances([usize::MAX, 2, 2], &[]), None);
    assert_eq!(squared_distances([16_385, 1, 1], &[true; 16_385]), None);
    assert_eq!(squared_distances([0, 5, 5], &[]), Some(vec![]));
    assert_eq!(squared_distances([2, 1, 2], &[true; 4]), Some(vec![u32::MAX; 4]));
    let mut line = vec![true; 16_384];
    line[0] = false;
    for shape in [[16_384, 1, 1], [1, 16_384, 1], [1, 1, 16_384]] {
        let field = squared_distances(shape, &line).expect("a field");
        assert_eq!(field[16_383], 16_383 * 16_383);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn distances_by_trying_every_empty_cell(
        shape in prop::array::uniform3(1_usize..7),
        bits in prop::collection::vec(prop::bool::weighted(0.8), 216),
    ) {
        let filled = &bits[..shape.iter().product()];
        let place = |at: usize| [at / shape[2] / shape[1], at / shape[2] % shape[1], at % shape[2]];
        let field = squared_distances(shape, filled).expect("a field");
        for (at, square) in field.into_iter().enumerate() {
            let empty = (0..filled.len()).filter(|&other| !filled[other]);
            let tried = empty.map(|other| {
                let (a, b) = (place(at), place(other));
                (0..3).map(|axis| a[axis].abs_diff(b[axis]).pow(2) as u32).sum()
            });
            prop_assert_eq!(square, tried.min().unwrap_or(u32::MAX));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24, failure_persistence: None, ..ProptestConfig::default()
    })]

    #[test]
    fn corners_and_ribs_of_any_thickness(
        wall in 6.0..14.0_f64, rib in 0.5..1.5_f64, cells in 40_usize..100,
    ) {
        for (section, exact) in [
            (l(60.0, 45.0, wall), in_corner(wall)),
            (t(60.0, 45.0, rib * wall, wall), at_rib(wall, rib * wall)),
        ] {
            let solid = Solid::Prism { section, length: 40.0 * MM };
            let found = thickest(&Looked::Solid(&solid), cells).expect("something inside");
            let off = off(found, exact * MM);
            // The first empty centre beyond a corner that juts in is less than a cell away in
            // each of two directions.
            prop_assert!((-HALF..=std::f64::consts::SQRT_2).contains(&off), "{:?} {}", solid, off);
        }
    }
}
