//! The same shapes as placed solids and as meshes: both answer alike, but where it is told.

use pourwright::estimate::{CastingEstimate, estimate};
use pourwright::model::Build;
use pourwright::{Today, read_beside};

const SHAPES: [(&str, &str); 8] = [
    ("cube", "add: [{block: {length: 60 mm, width: 60 mm, height: 60 mm}}]"),
    ("ball", "add: [{sphere: {diameter: 80 mm}}]"),
    ("plate", "add: [{plate: {length: 200 mm, width: 120 mm, thickness: 12 mm}}]"),
    ("tube", "add: [{tube: {outside: 80 mm, inside: 40 mm, length: 60 mm}}]"),
    (
        "L",
        "add: [{prism: {section: {L: {width: 80 mm, height: 60 mm, thickness: 15 mm}}, length: 120 mm}}]",
    ),
    (
        "T",
        "add: [{block: {length: 120 mm, width: 80 mm, height: 15 mm}, at: [0, 0, 0]}, {block: {length: 120 mm, width: 15 mm, height: 50 mm}, at: [0, 0, 15 mm]}]",
    ),
    (
        "pad on plate",
        "add: [{plate: {length: 200 mm, width: 120 mm, thickness: 12 mm}, at: [0, 0, 0]}, {block: {length: 60 mm, width: 60 mm, height: 40 mm}, at: [0, 0, 12 mm]}]",
    ),
    (
        "cored box",
        "add: [{block: {length: 120 mm, width: 100 mm, height: 80 mm}, at: [0, 0, 0]}]\n        less: [{block: {length: 96 mm, width: 76 mm, height: 68 mm}, at: [0, 0, 12 mm]}]",
    ),
];

fn build(shape: &str, stl: &[u8]) -> Build {
    let text = format!(
        "build: {{title: Agree, begun: 2026-01-10}}
patterns: {{p: {{in-cope: 0 mm}}}}
parts:
  one:
    casting:
      pattern: p
      alloy: A356
      {shape}
"
    );
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day");
    let beside = |_: &str| Ok(stl.to_vec());
    let today = Today { asked: None, clock };
    read_beside(text.into_bytes(), Vec::new(), today, &beside)
        .unwrap_or_else(|f| panic!("{}", f[0]))
}

fn casting(build: &Build) -> CastingEstimate {
    estimate(build).castings.remove(0).expect("an estimate")
}

#[test]
fn placed_solids_and_meshes_answer_alike() {
    let row = |cells: [String; 8]| println!("{}", cells.map(|c| format!("{c:>20}")).concat());
    let heads = [
        "",
        "volume, cm3",
        "surface, cm2",
        "length, mm",
        "plan, cm2",
        "thickest, mm",
        "cooling, cm2",
        "feeder, mm",
    ];
    row(heads.map(str::to_owned));
    let mut off = Vec::new();
    for (name, solids) in SHAPES {
        let placed = build(&format!("shape:\n        {solids}"), &[]);
        let given = |b: &Build| b.parts[0].casting.as_ref().expect("cast").given.body.clone();
        let body = given(&placed).expect("placed");
        let meshed = build("mesh: {file: one.stl, unit: 1 mm}", &body.mesh().stl("one"));
        let told = [&placed, &meshed].map(|build| {
            let (c, body) = (casting(build), given(build).expect("known"));
            let figures = c.figures();
            let ask = |name: &str| {
                let found = figures.iter().find(|(ask, _)| *ask == name);
                found.map_or(0.0, |(_, node)| node.range().likely)
            };
            [
                ask("volume") * 1e6,
                ask("surface") * 1e4,
                body.extents()[0] * 1e3,
                body.silhouette(2).area() * 1e4,
                ask("thickest-place") * 1e3,
                ask("cooling-surface") * 1e4,
                ask("feeder-diameter") * 1e3,
            ]
        });
        let pair = |i: usize| format!("{:.1} / {:.1}", told[0][i], told[1][i]);
        row([name.to_owned(), pair(0), pair(1), pair(2), pair(3), pair(4), pair(5), pair(6)]);
        for (i, head) in heads.iter().skip(1).enumerate() {
            let [a, b] = [told[0][i], told[1][i]];
            // The thickest place is found on cells, 32 or more along the body.
            let near =
                if i == 4 { (body.extents()[0] * 1e3 / 32.0).max(0.02 * a) } else { 0.02 * a };
            if (a - b).abs() > near {
                off.push(format!("{name}: {head}: {a:.2} of solids, {b:.2} of the mesh"));
            }
        }
    }
    println!("{off:#?}");
    assert!(off.is_empty(), "{off:#?}");
}
