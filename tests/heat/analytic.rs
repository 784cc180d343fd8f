//! Closed solutions of freezing in one dimension, and fine one-dimensional grids where there is none.

use crate::bodies::{A356, CHILL, SAND};
use pourwright::heatflow::{Face, Inert, Melt, Scene, Substance, Until, march};

/// A row of cells: melt, then the inert substance; closed all round.
fn row(melt: &Melt, inert: &Inert, edge: f64, melt_cells: usize, inert_cells: usize) -> Scene {
    let count = melt_cells + inert_cells;
    let part = |i: usize| u8::from(i >= melt_cells);
    Scene {
        size: [count, 1, 1],
        cell: edge,
        corner: [0.0; 3],
        cells: (0..count).map(part).collect(),
        fill: (0..count).map(|i| if i < melt_cells { 1.0 } else { 0.0 }).collect(),
        parts: vec![Substance::Melt, Substance::Inert(0)],
        melt: melt.clone(),
        inerts: vec![inert.clone()],
        faces: [[Face::Closed; 2]; 3],
        surroundings: 20.0,
    }
}

const NEVER: Until<'static> = Until { below: &[], limit: 1e6 };

/// Half a plate of this thickness (mm) in this sand: times to solid, to the critical fraction at its
/// middle, and below each temperature.
fn plate(thickness: f64, melt: &Melt, inert: &Inert, below: &[f64]) -> (f64, f64, Vec<f64>) {
    let cells = 20;
    let edge = thickness / 2e3 / cells as f64;
    let scene = row(melt, inert, edge, cells, 16 * cells);
    let field = march(&scene, Until { below, ..NEVER });
    assert!(field.done && field.balance.unaccounted() < 1e-9);
    let below = field.below.iter().map(|t| t.expect("it cools")).collect();
    (field.time(), field.critical.iter().copied().fold(0.0, f64::max), below)
}

fn near(what: &str, got: f64, want: f64, within: f64) {
    println!("{what:40} {got:9.3} for {want:9.3} {:+.2} %", 100.0 * (got / want - 1.0));
    assert!((got / want - 1.0).abs() < within, "{what}: {got}, not {want}");
}

/// Neumann's solution (Carslaw and Jaeger, Conduction of Heat in Solids, ch. XI): a pure metal on a
/// half space of sand, both conductivities counted. Shell thickness over the root of time.
#[test]
fn a_shell_grows_with_the_root_of_time() {
    let silicon = Melt {
        solidus: 578.0,
        liquidus: 578.0,
        latent: 540e3,
        conductivity: [150.0, 70.0],
        start: 578.0,
        ..A356
    };
    let bronze = Melt {
        density: 6800.0,
        solidus: 1033.0,
        liquidus: 1033.0,
        latent: 230e3,
        heat: [460.0, 480.0],
        conductivity: [75.0, 40.0],
        start: 1053.0,
        ..A356
    };
    let hotter = Melt { start: 588.0, ..silicon.clone() };
    // Roots of the transcendental equation, mm per root of a second.
    for (what, melt, rate) in [
        ("no superheat", &silicon, 0.607_599),
        ("10 K of superheat", &hotter, 0.480_688),
        ("bronze, 20 K of superheat", &bronze, 0.722_314),
    ] {
        let scene = row(melt, &SAND, 0.25e-3, 400, 800);
        let field = march(&scene, Until { limit: 200.0, ..NEVER });
        // A cell is solid when the face of the shell leaves it.
        for reached in [3.0, 5.0] {
            let cells = (reached / 0.25) as usize;
            let time = field.solid[400 - cells];
            near(what, reached / time.sqrt(), rate, 0.01);
        }
    }
}

/// Two half spaces, the melt within its freezing range: the contact temperature is that of the two
/// heat absorptions, 598.63 C, and the solid fraction at the face stays at 0.2712.
#[test]
fn mush_on_sand_has_one_contact_temperature() {
    let mush = Melt { start: 613.0, conductivity: [112.5, 112.5], critical: 0.2712, ..A356 };
    for (critical, passes) in [(0.262, true), (0.28, false)] {
        let melt = Melt { critical, ..mush.clone() };
        let scene = row(&melt, &SAND, 0.25e-3, 400, 800);
        let field = march(&scene, Until { limit: 20.0, ..NEVER });
        assert_eq!(field.critical[399].is_finite(), passes, "at {critical}");
    }
}

/// Solid, mush and liquid on an iron chill: three regions, their faces at 2.87389 and 5.94744 mm
/// per root of a second (solved from the three conditions at the two faces and the contact).
#[test]
fn three_regions_grow_on_a_chill() {
    let melt = Melt { start: 673.0, mushy: Some(112.5), critical: 1e-6, ..A356 };
    let scene = row(&melt, &CHILL, 0.25e-3, 400, 800);
    let field = march(&scene, Until { limit: 9.0, ..NEVER });
    for reached in [5.0, 8.0] {
        let cells = (reached / 0.25) as usize;
        // A cell is solid when the solidus is at its middle.
        let middle = reached - 0.125;
        near("solid", middle / field.solid[400 - cells].sqrt(), 2.873_89, 0.01);
    }
    for reached in [8.0, 12.0] {
        let cells = (reached / 0.25) as usize;
        let middle = reached - 0.125;
        near("begun", middle / field.critical[400 - cells].sqrt(), 5.947_44, 0.01);
    }
}

/// Infinite plates on fine one-dimensional grids (two of them agree to 0.1 %).
#[test]
fn plates_freeze_and_cool_on_time() {
    let (solid, critical, below) = plate(10.0, &A356, &SAND, &[500.0, 250.0]);
    near("10 mm plate", solid, 90.15, 0.01);
    near("10 mm plate, critical", critical, 50.0, 0.01);
    near("10 mm plate below 500", below[0], 118.7, 0.01);
    near("10 mm plate below 250", below[1], 668.7, 0.01);
    let (solid, ..) = plate(20.0, &A356, &SAND, &[]);
    near("20 mm plate", solid, 360.6, 0.01);
    let touching = |h: f64| Inert { contact: Some(h), ..SAND };
    for (thickness, h, want) in [
        (10.0, 400.0, 138.2),
        (20.0, 400.0, 458.2),
        (10.0, 1500.0, 103.3),
        (20.0, 1500.0, 386.9),
        (10.0, 1e6, 90.15),
    ] {
        near("with a contact", plate(thickness, &A356, &touching(h), &[]).0, want, 0.01);
    }
    near("moist sand", plate(20.0, &A356, &Inert { water: 0.035, ..SAND }, &[]).0, 297.1, 0.01);
}

/// Time goes with size squared, to the last digit but the rounding.
#[test]
fn four_times_as_long_at_twice_the_size() {
    let (one, ..) = plate(10.0, &A356, &SAND, &[]);
    let (two, ..) = plate(20.0, &A356, &SAND, &[]);
    let (four, ..) = plate(40.0, &A356, &SAND, &[]);
    near("20 to 10 mm", two / one, 4.0, 1e-6);
    near("40 to 10 mm", four / one, 16.0, 1e-6);
}

/// A layer of one temperature on a half space of sand: (T - T0)/(Ti - T0) = exp(z2) erfc z with
/// z = b root t / (rho c M).
#[test]
fn a_thin_plate_cools_as_the_half_space_takes_its_heat() {
    let melt = Melt { start: 559.999, conductivity: [500.0; 2], ..A356 };
    let scene = row(&melt, &SAND, 1e-3, 10, 450);
    let marks = [346.11, 265.45, 180.88, 120.74];
    let field = march(&scene, Until { below: &marks, limit: 4000.0 });
    for (at, want) in field.below.iter().zip([100.0, 300.0, 1000.0, 3000.0]) {
        near("cooling plate", at.expect("it cools"), want, 0.01);
    }
}

/// A lump with a coefficient to the surroundings: its time constant is rho c M / h, 2400 s.
#[test]
fn a_lump_cools_by_its_time_constant() {
    let melt = Melt { start: 559.999, conductivity: [500.0; 2], ..A356 };
    let mut scene = row(&melt, &SAND, 1e-3, 10, 0);
    scene.faces[0][1] = Face::Open(10.0);
    let at = |time: f64| 20.0 + 540.0 * (-time / 2400.0_f64).exp();
    let field = march(&scene, Until { below: &[at(1200.0), at(4800.0)], limit: 1e4 });
    for (got, want) in field.below.iter().zip([1200.0, 4800.0]) {
        near("cooling lump", got.expect("it cools"), want, 0.01);
    }
    assert!(field.balance.gone > 0.0 && field.balance.unaccounted() < 1e-9);
}
