//! Heat flow: cost per cell and step from some ten thousand cells to millions, and the same cells by
//! plain explicit steps in numpy where POURWRIGHT_PYTHON names a Python that has it.

#[path = "../heat/bodies.rs"]
#[allow(dead_code)]
mod bodies;
#[path = "../common/mod.rs"]
mod common;

use bodies::{Case, Form, Mould};
use pourwright::heatflow::{Scene, Substance, Until, march};
use serde_json::json;
use std::time::Instant;

const FROZEN: Until<'static> = Until { below: &[], limit: 1e5 };

/// A shell with ribs and bosses that is its own mirror image nowhere.
fn shell() -> Mould {
    let boss =
        |x: f64, y: f64| Form::Rod { along: 2, centre: [x, y], radius: 15.0, ends: [0.0, 50.0] };
    let inside = Form::Box([10.0, 10.0, 0.0], [290.0, 190.0, 50.0]);
    let mut mould = Mould::of(
        &[
            Form::Box([0.0; 3], [300.0, 200.0, 60.0]),
            Form::Box([120.0, 10.0, 0.0], [130.0, 190.0, 50.0]),
            boss(40.0, 40.0),
            boss(40.0, 160.0),
            boss(250.0, 100.0),
        ],
        [[-45.0; 3], [345.0, 245.0, 105.0]],
        [0.0; 3],
    );
    mould.solids.insert(1, (0, inside));
    mould
}

fn report(what: &str, scene: &Scene, until: Until<'_>) -> f64 {
    let start = Instant::now();
    let field = march(scene, until);
    let took = start.elapsed().as_secs_f64();
    let cost = field.cost;
    let plain = cost.steps as f64 * f64::from(cost.stages * cost.stages + cost.stages) / 2.0;
    println!(
        "{what}: {} cells, {} of melt; solid at {:.1} s; {took:.2} s for {} steps of {} stages; \
         {:.1} ns per cell and stage; {:.2} ns per cell and plain step; {:.0e} of the heat unaccounted for",
        cost.cells,
        cost.quick,
        field.time(),
        cost.steps,
        cost.stages,
        1e9 * took / cost.updates as f64,
        1e9 * took / (plain * cost.cells as f64),
        field.balance.unaccounted(),
    );
    took
}

fn main() {
    let mould = shell();
    for (edge, limit) in [(5.0, 1e5), (3.0, 1e5), (2.5, 1e5), (1.8, 20.0), (1.5, 10.0)] {
        let scene = mould.scene(edge * 1e-3);
        report(&format!("shell on cells of {edge} mm"), &scene, Until { limit, ..FROZEN });
    }
    for case in Case::all().iter().filter(|c| (10.0..=20.0).contains(&c.wall)) {
        report(&case.name, &case.mould.scene(case.wall / 4e3), FROZEN);
    }
    let scene = mould.scene(5e-3);
    let here = report("beside numpy", &scene, FROZEN);
    let melt = scene.melt.clone();
    let is_melt = |c: usize| u8::from(scene.substance(c) == Substance::Melt);
    let [x, y, z] = scene.size;
    let question = json!({"scenes": [{
        "shape": [z, y, x], "cell": scene.cell, "fill": scene.fill,
        "melt": (0..scene.cells.len()).map(is_melt).collect::<Vec<_>>(),
        "density": melt.density, "solidus": melt.solidus, "liquidus": melt.liquidus,
        "latent": melt.latent, "heat": melt.heat, "conductivity": melt.conductivity,
        "start": melt.start, "outside": 10.0, "around": 20.0,
        "mould": {"conductivity": 0.87, "density": 1550.0, "heat": 1170.0, "start": 20.0},
    }]});
    if let Some(answer) = common::ask("the numpy solver", "heat_flow", &question) {
        let theirs = answer["scenes"][0]["took"].as_f64().unwrap_or(f64::NAN);
        println!("numpy: {theirs:.2} s, {:.0} times as long", theirs / here);
    }
}
