//! What holds for any scene: mirror, rotation, size squared, nothing lost, one answer on any number
//! of threads; and an independent solver on bodies that no rule fits.

use crate::bodies::{A356, CHILL, Form, Mould, SAND, SLEEVE};
use crate::common::ask;
use pourwright::heatflow::{
    Face, Field, Melt, Scene, Substance, Until, march, places, pockets, slopes,
};
use serde_json::{Value, json};

const ALL: Until<'static> = Until { below: &[300.0], limit: 1e5 };

/// Two arms of unlike thickness on a round foot, no plane of symmetry but one.
fn crooked() -> Mould {
    let forms = [
        Form::Box([0.0, 0.0, 0.0], [60.0, 10.0, 20.0]),
        Form::Box([0.0, 0.0, 0.0], [20.0, 40.0, 30.0]),
        Form::Rod { along: 2, centre: [50.0, 5.0], radius: 12.0, ends: [20.0, 50.0] },
    ];
    Mould::of(&forms, [[-30.0, -30.0, -30.0], [90.0, 70.0, 80.0]], [0.0; 3])
}

fn turned(form: &Form) -> Form {
    let turn = |p: [f64; 3]| [p[2], p[0], p[1]];
    match form {
        Form::Box(low, high) => Form::Box(turn(*low), turn(*high)),
        Form::Ball(centre, radius) => Form::Ball(turn(*centre), *radius),
        Form::Rod { along, centre: [a, b], radius, ends } => {
            // Along z over (x, y) becomes along x over (y, z).
            assert_eq!(*along, 2);
            Form::Rod { along: 0, centre: [*a, *b], radius: *radius, ends: *ends }
        }
    }
}

#[test]
fn a_turned_scene_freezes_alike() {
    let mould = crooked();
    let turn = |p: [f64; 3]| [p[2], p[0], p[1]];
    let other = Mould {
        solids: mould.solids.iter().map(|(p, f)| (*p, turned(f))).collect(),
        within: mould.within.map(turn),
        ..mould.clone()
    };
    let (one, two) = (mould.scene(5e-3), other.scene(5e-3));
    let (a, b) = (march(&one, ALL), march(&two, ALL));
    assert!((a.time() / b.time() - 1.0).abs() < 1e-9, "{} {}", a.time(), b.time());
    for (i, cell) in a.cells.iter().enumerate() {
        let [x, y, z] = one.place(*cell as usize);
        let there = two.at([z, x, y]) as u32;
        let j = b.cells.binary_search(&there).expect("melt there too");
        assert!((a.solid[i] / b.solid[j] - 1.0).abs() < 1e-9);
    }
}

/// A scene that is its own mirror image is marched by halves; one far cell of another part makes it
/// march whole, and both must say the same.
#[test]
fn halves_say_what_the_whole_says() {
    let forms = [Form::Box([-20.0, -10.0, -10.0], [20.0, 10.0, 10.0])];
    let box_ = [[-50.0; 3], [50.0; 3]];
    let scene = Mould::of(&forms, box_, [-20.0, -10.0, -10.0]).scene(5e-3);
    let mut odd = scene.clone();
    odd.parts.push(Substance::Inert(0));
    odd.cells[0] = 2;
    let (half, whole) = (march(&scene, ALL), march(&odd, ALL));
    assert!(half.cost.cells * 8 == whole.cost.cells);
    assert_eq!(half.cells, whole.cells);
    for (a, b) in half.solid.iter().zip(&whole.solid) {
        assert!((a / b - 1.0).abs() < 1e-9);
    }
    assert!((half.balance.given / whole.balance.given - 1.0).abs() < 1e-9);
}

#[test]
fn twice_the_size_takes_four_times_as_long() {
    let mould = crooked();
    let closed = |m: &Mould| Mould { face: Face::Closed, ..m.clone() };
    let one = march(&closed(&mould).scene(5e-3), ALL);
    let mut large = closed(&mould).scene(5e-3);
    large.cell *= 2.0;
    let two = march(&large, ALL);
    assert!((two.time() / one.time() / 4.0 - 1.0).abs() < 1e-6);
}

#[test]
fn any_number_of_threads_gives_the_same_bytes() {
    // Enough cells that both kinds are cut into pieces.
    let forms = [Form::Box([0.0; 3], [64.0, 44.0, 32.0])];
    let mould = Mould::of(&forms, [[-24.0; 3], [96.0, 76.0, 60.0]], [0.0; 3]);
    let scene = mould.scene(2e-3);
    let until = Until { below: &[], limit: 30.0 };
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool");
        pool.install(|| march(&scene, until))
    };
    let one = on(1);
    assert!(one.cost.quick > 10_000 && one.critical.iter().any(|t| t.is_finite()));
    assert!(one == on(2) && one == on(5));
}

/// Chill, sleeve, moist sand, an open top, a contact: nothing is lost, and each does what it must.
#[test]
fn what_lies_around_does_its_part() {
    let base = crooked();
    let with = |inert: pourwright::heatflow::Inert, form: Form| Mould {
        inerts: vec![SAND, inert],
        parts: vec![Substance::Inert(0), Substance::Melt, Substance::Inert(1)],
        solids: [(2, form)].into_iter().chain(base.solids.iter().cloned()).collect(),
        ..base.clone()
    };
    let run = |mould: &Mould| {
        let field = march(&mould.scene(5e-3), ALL);
        assert!(field.done && field.balance.unaccounted() < 1e-9);
        field.time()
    };
    let plain = run(&base);
    let beside = Form::Box([-20.0, -20.0, 0.0], [20.0, 40.0, 40.0]);
    let chilled = run(&with(CHILL, beside.clone()));
    let gap =
        run(&with(pourwright::heatflow::Inert { contact: Some(200.0), ..CHILL }, beside.clone()));
    let sleeved = run(&with(SLEEVE, beside));
    assert!(chilled < gap && gap < plain && plain < sleeved, "{chilled} {gap} {plain} {sleeved}");
    let moist = pourwright::heatflow::Inert { water: 0.035, ..SAND };
    let damp = run(&Mould { inerts: vec![moist], ..base.clone() });
    assert!((0.75..0.95).contains(&(damp / plain)), "{damp} {plain}");
    let mut open = base.clone();
    open.within[1][2] = 50.0;
    let mut scene = open.scene(5e-3);
    scene.faces[2][1] = Face::Open(500.0);
    let bare = march(&scene, ALL);
    assert!(bare.done && bare.balance.unaccounted() < 1e-9 && bare.balance.gone > 0.0);
}

/// Melt that fills cells in part: the volume is right wherever the grid lies. A wall of four cells whose
/// faces halve cells froze 36 % late in the reference, where such cells are full or empty; here they
/// keep their heat, but are cooled on whole faces, so that it is a third of that, and early.
#[test]
fn where_the_grid_lies_matters_little() {
    let forms = [Form::Box([0.0; 3], [60.0, 60.0, 20.0])];
    let within = [[-40.0; 3], [100.0, 100.0, 60.0]];
    let at = |shift: f64| {
        let scene = Mould::of(&forms, within, [shift; 3]).scene(5e-3);
        let volume = scene.volume(1) * 1e6;
        assert!((volume / 72.0 - 1.0).abs() < 0.03, "{volume} cm3 moved by {shift} mm");
        march(&scene, ALL).time()
    };
    let aligned = at(0.0);
    for shift in [1.25, 2.5, 3.75] {
        let off = at(shift) / aligned - 1.0;
        println!("{off:+.3} moved by {shift} mm");
        let most = if shift == 2.5 { 0.12 } else { 0.015 };
        assert!(off.abs() < most, "{off:+.3} moved by {shift} mm");
    }
}

/// Slope of a plate that freezes from one side: gradient and rate follow from the times.
#[test]
fn gradient_and_rate_point_from_the_cold_end_to_the_hot_place() {
    let forms = [Form::Box([0.0, -15.0, -15.0], [150.0, 15.0, 15.0])];
    let within = [[-40.0, -55.0, -55.0], [190.0, 55.0, 55.0]];
    let mut mould = Mould::of(&forms, within, [0.0, -15.0, -15.0]);
    mould.inerts.push(pourwright::heatflow::Inert { contact: Some(1500.0), ..CHILL });
    mould.parts.push(Substance::Inert(1));
    mould.solids.push((2, Form::Box([-30.0, -15.0, -15.0], [0.0, 15.0, 15.0])));
    let scene = mould.scene(2.5e-3);
    let field = march(&scene, ALL);
    let slopes = slopes(&scene, &field);
    let middle = |x: f64| {
        let near = |i: &usize| {
            let at = scene.middle(field.cells[*i] as usize).map(|m| 1e3 * m);
            (at[0] - x).abs() < 1.3 && at[1].abs() < 2.5 && at[2].abs() < 2.5
        };
        let i = (0..field.cells.len()).find(near).expect("a cell");
        slopes[i].expect("a slope").niyama() / 1e3
    };
    // Computed on cells of 2.5 mm: 7 at the chill, 1.5 at 40 mm, 0.13 at the hot centre.
    let (cold, way, hot) = (middle(1.25), middle(41.25), middle(103.75));
    println!("{cold:.2} at the chill, {way:.2} at 40 mm, {hot:.2} at the hot place");
    // At the chill it is solid within a step or two, too few to tell the rate by; the hot centre is a
    // point, and beside it the gradient grows with every cell.
    assert!(cold > way && (way / 1.5 - 1.0).abs() < 0.1 && hot < 0.25);
}

/// A bulb between two others, the way to one of them closed early.
#[test]
fn pockets_and_places_of_three_bulbs() {
    let bulb = |x: f64, r: f64| Form::Ball([x, 0.0, 0.0], r);
    let bar = |from: f64, to: f64, r: f64| Form::Box([from, -r, -r], [to, r, r]);
    let mould = Mould {
        parts: vec![Substance::Inert(0), Substance::Melt, Substance::Melt],
        solids: vec![
            (1, bar(-60.0, 0.0, 5.0)),
            (1, bar(0.0, 60.0, 15.0)),
            (1, bulb(-60.0, 20.0)),
            (1, bulb(0.0, 20.0)),
            (2, bulb(60.0, 30.0)),
        ],
        ..Mould::of(&[], [[-120.0, -70.0, -70.0], [130.0, 70.0, 70.0]], [0.0; 3])
    };
    let scene = mould.scene(5e-3);
    let field = march(&scene, ALL);
    let cut = pockets(&scene, &field, &[2], &[]);
    assert_eq!(cut.len(), 1, "{cut:?}");
    assert!(cut[0].place[0] < -0.05 && cut[0].cut_off < cut[0].last);
    assert!((cut[0].volume * 1e6 / 34.0 - 1.0).abs() < 0.15, "{cut:?}");
    let hot = places(&scene, &field);
    assert!(hot[0].place[0] > 0.05 && hot.len() == 2, "{hot:?}");
    // The whole is a pocket where nothing feeds.
    assert!(pockets(&scene, &field, &[], &[]).is_empty());
}

/// A pocket that hangs on what does not count is told where its own metal is last: a feeder, a thin
/// place, two cells of casting and a runner in a row, with times set by hand.
#[test]
fn a_pocket_is_told_in_the_metal_that_counts() {
    let bulb = Mould::of(&[Form::Ball([0.0; 3], 4.0)], [[-8.0; 3], [8.0; 3]], [0.0; 3]);
    let scene = bulb.scene(2e-3);
    let marched = march(&scene, ALL);
    let row = Scene {
        size: [5, 1, 1],
        corner: [0.0; 3],
        cells: vec![2, 1, 1, 1, 3],
        fill: vec![1.0; 5],
        parts: [vec![Substance::Inert(0)], vec![Substance::Melt; 3]].concat(),
        ..scene
    };
    let critical = vec![60.0, 10.0, 30.0, 25.0, 100.0];
    let field = Field { cells: (0..5).collect(), solid: critical.clone(), critical, ..marched };
    let cut = pockets(&row, &field, &[2], &[3]);
    assert_eq!(cut.len(), 1, "{cut:?}");
    let off = (cut[0].place[0] - 5e-3).abs() + (cut[0].volume - 2.0 * 8e-9).abs();
    assert!(off < 1e-12, "{cut:?}");
    assert_eq!((cut[0].cut_off, cut[0].last), (10.0, 30.0));
}

/// What the script in numpy is asked.
fn asked(scene: &Scene) -> Value {
    let Melt { density, solidus, liquidus, latent, heat, conductivity, start, .. } =
        scene.melt.clone();
    let melt: Vec<u8> =
        (0..scene.cells.len()).map(|c| u8::from(scene.substance(c) == Substance::Melt)).collect();
    let [x, y, z] = scene.size;
    let inert = &scene.inerts[0];
    json!({
        "shape": [z, y, x], "cell": scene.cell, "melt": melt, "fill": scene.fill,
        "density": density, "solidus": solidus, "liquidus": liquidus, "latent": latent,
        "heat": heat, "conductivity": conductivity, "start": start,
        "mould": {"conductivity": inert.conductivity, "density": inert.density,
            "heat": inert.heat, "start": inert.start},
        "outside": 10.0, "around": 20.0,
    })
}

/// Five bodies that no rule fits, cell by cell.
#[test]
fn numpy_says_the_same() {
    let around = |forms: &[Form], low: [f64; 3], high: [f64; 3]| {
        let within = [low.map(|x| x - 30.0), high.map(|x| x + 30.0)];
        Mould::of(forms, within, low).scene(5e-3)
    };
    let rod = |along, centre, radius, ends| Form::Rod { along, centre, radius, ends };
    let iron = Melt {
        density: 6900.0,
        solidus: 1140.0,
        liquidus: 1200.0,
        latent: 225e3,
        heat: [640.0, 840.0],
        conductivity: [35.0, 30.0],
        critical: 0.8,
        start: 1380.0,
        ..A356
    };
    let mut fork = around(
        &[
            Form::Box([0.0; 3], [20.0, 60.0, 20.0]),
            Form::Box([0.0; 3], [70.0, 15.0, 20.0]),
            Form::Box([0.0, 45.0, 0.0], [70.0, 60.0, 20.0]),
        ],
        [0.0; 3],
        [70.0, 60.0, 20.0],
    );
    let scenes = [
        crooked().scene(5e-3),
        around(
            &[rod(0, [0.0, 0.0], 20.0, [-30.0, 30.0]), rod(1, [0.0, 0.0], 12.0, [-50.0, 0.0])],
            [-30.0, -50.0, -20.0],
            [30.0, 20.0, 20.0],
        ),
        around(
            &[Form::Ball([0.0; 3], 24.0), Form::Box([0.0, -6.0, -10.0], [50.0, 6.0, 10.0])],
            [-24.0, -24.0, -24.0],
            [50.0, 24.0, 24.0],
        ),
        fork.clone(),
        {
            fork.melt = iron;
            fork
        },
    ];
    let question = json!({"scenes": scenes.iter().map(asked).collect::<Vec<_>>()});
    let Some(answer) = ask("heat flow in numpy", "heat_flow", &question) else { return };
    for (scene, theirs) in scenes.iter().zip(answer["scenes"].as_array().expect("a list")) {
        let field: Field = march(scene, Until { below: &[], limit: 1e5 });
        let theirs: Vec<f64> =
            theirs["solid"].as_array().expect("a list").iter().filter_map(Value::as_f64).collect();
        assert_eq!(theirs.len(), field.solid.len());
        let off = |i: usize| field.solid[i] - theirs[i];
        let all = (0..theirs.len()).map(|i| off(i).abs()).sum::<f64>() / theirs.len() as f64;
        let last = theirs.iter().copied().fold(0.0, f64::max);
        println!("numpy {last:.1} s, here {:.1} s, cells {all:.2} s apart", field.time());
        assert!((field.time() / last - 1.0).abs() < 0.01);
        assert!(all < 0.01 * last);
    }
}
