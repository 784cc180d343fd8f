//! Mesh files, sound and broken, each built here: what is read, refused and doubted.

mod common;

use pourwright::shape::mesh::{Doubt, Format, Measures, Mesh, Refusal, measure, read, read_bytes};
use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;

type Triangle = [[f32; 3]; 3];

/// A box of these sizes with its low corner here, millimetres.
fn block(low: [f32; 3], size: [f32; 3]) -> Vec<Triangle> {
    const FACES: [[usize; 3]; 12] = [
        [0, 2, 1],
        [1, 2, 3],
        [4, 5, 6],
        [5, 7, 6],
        [0, 1, 4],
        [1, 5, 4],
        [2, 6, 3],
        [3, 6, 7],
        [0, 4, 2],
        [2, 4, 6],
        [1, 3, 5],
        [3, 7, 5],
    ];
    let corner = |i: usize| [0, 1, 2].map(|axis| low[axis] + (i >> axis & 1) as f32 * size[axis]);
    FACES.iter().map(|face| face.map(corner)).collect()
}

fn sound() -> Vec<Triangle> {
    block([10.0; 3], [40.0, 30.0, 20.0])
}

fn turned(triangles: Vec<Triangle>) -> Vec<Triangle> {
    triangles.into_iter().map(|[a, b, c]| [a, c, b]).collect()
}

fn binary_saying(triangles: &[Triangle], says: u32, header: &[u8]) -> Vec<u8> {
    let mut bytes = header.to_vec();
    bytes.resize(80, b' ');
    bytes.extend(says.to_le_bytes());
    for triangle in triangles {
        bytes.extend([0; 12]);
        for value in triangle.iter().flatten() {
            bytes.extend(value.to_le_bytes());
        }
        bytes.extend([0; 2]);
    }
    bytes
}

fn binary(triangles: &[Triangle]) -> Vec<u8> {
    binary_saying(triangles, triangles.len() as u32, b"box")
}

fn text(triangles: &[Triangle], name: &str) -> String {
    let mut text = format!("solid {name}\n");
    for triangle in triangles {
        text += " facet normal 0 0 0\n  outer loop\n";
        for [x, y, z] in triangle {
            text += &format!("   vertex {x:?} {y:?} {z:?}\n");
        }
        text += "  endloop\n endfacet\n";
    }
    text + "endsolid " + name + "\n"
}

fn stl(bytes: &[u8]) -> Result<Mesh, Refusal> {
    read_bytes(bytes, Format::Stl, None)
}

fn measured(triangles: &[Triangle]) -> Measures {
    measure(&stl(&binary(triangles)).expect("a sound file"))
}

fn is_the_box(found: &Measures) -> bool {
    let near = |one: f64, other: f64| (one / other - 1.0).abs() < 1e-6;
    found.doubts.is_empty()
        && found.watertight
        && found.plan_exact
        && near(found.volume, 24e-6)
        && near(found.surface, 5200e-6)
        && near(found.plan_area, 1200e-6)
        && found.centroid.iter().zip([0.03, 0.025, 0.02]).all(|(at, want)| near(*at, want))
}

#[test]
fn a_sound_box_is_read_from_every_way_of_writing_it() {
    let plain = text(&sound(), "box");
    let scientific = plain.replace("50.0", "5.0e+01").replace("10.0", "1E1");
    let ways = [
        ("binary", binary(&sound())),
        ("binary that begins with solid", binary_saying(&sound(), 12, b"solid box")),
        ("text", plain.clone().into_bytes()),
        ("text with CRLF", plain.replace('\n', "\r\n").into_bytes()),
        ("upper case", plain.to_uppercase().into_bytes()),
        ("scientific", scientific.into_bytes()),
        ("byte order mark", [b"\xef\xbb\xbf", plain.as_bytes()].concat()),
        ("unnamed", text(&sound(), "").into_bytes()),
    ];
    for (way, bytes) in ways {
        let mesh = stl(&bytes).unwrap_or_else(|why| panic!("{way}: {why}"));
        assert_eq!((mesh.vertices.len(), mesh.triangles.len()), (8, 12), "{way}");
        assert!(is_the_box(&measure(&mesh)), "{way}: {:?}", measure(&mesh));
    }
    let mut two = text(&sound(), "one");
    two += &text(&block([100.0; 3], [40.0, 30.0, 20.0]), "two");
    let found = measure(&stl(two.as_bytes()).expect("two solids"));
    assert!(found.watertight && found.doubts == [Doubt::Apart { bodies: 2 }]);
    assert!((found.volume - 48e-6).abs() < 1e-11);
}

#[test]
fn every_broken_file_is_refused_in_its_own_words() {
    let whole = binary(&sound());
    let words = text(&sound(), "box");
    let quad = words.replacen("  endloop", "   vertex 1 2 3\n  endloop", 1);
    let line_of = |text: &str, word: &str| text[..text.find(word).unwrap_or(0)].lines().count();
    let cases: Vec<(Vec<u8>, Refusal)> = vec![
        (vec![], Refusal::Empty),
        (whole[..60].to_vec(), Refusal::NotAMesh("some other text")),
        (binary_saying(&sound(), 12, b"\x01")[..60].to_vec(), Refusal::HeaderCut { bytes: 60 }),
        (whole[..84].to_vec(), Refusal::Cut { says: 12, holds: 0 }),
        (whole[..84 + 7 * 50 + 20].to_vec(), Refusal::Cut { says: 12, holds: 7 }),
        (whole[..84 + 7 * 50].to_vec(), Refusal::Cut { says: 12, holds: 7 }),
        (binary_saying(&sound(), u32::MAX, b"box"), Refusal::Cut { says: u32::MAX, holds: 12 }),
        (binary_saying(&sound(), 11, b"box"), Refusal::Surplus { says: 11, bytes: 50 }),
        (binary(&[]), Refusal::NoTriangles),
        (b"solid nothing\nendsolid nothing\n".to_vec(), Refusal::NoTriangles),
        (b"some words that are no mesh\n".to_vec(), Refusal::NotAMesh("some other text")),
        (
            b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR and then some more bytes, over eighty-four of them, \
              so that a header would fit"
                .to_vec(),
            Refusal::NotAMesh("a PNG picture"),
        ),
        (
            words.replace("endsolid box\n", "").into_bytes(),
            Refusal::NoEnd { line: words.lines().count() - 1 },
        ),
        (
            words.replace("50.0", "50,0").into_bytes(),
            Refusal::DecimalComma { line: line_of(&words, "50.0") },
        ),
        (quad.into_bytes(), Refusal::FourCorners { line: 7 }),
        (
            words.replacen("vertex", "vortex", 1).into_bytes(),
            Refusal::Word { line: 4, wanted: "vertex", found: "vortex".into() },
        ),
        (
            words.replacen("10.0", "ten", 1).into_bytes(),
            Refusal::Word { line: 4, wanted: "a number", found: "ten".into() },
        ),
    ];
    let mut said: Vec<String> = Vec::new();
    for (bytes, refusal) in cases {
        assert_eq!(stl(&bytes), Err(refusal.clone()));
        assert!(!refusal.hint().is_empty());
        said.push(refusal.to_string());
    }
    assert!(said.iter().all(|words| !words.is_empty()));
    assert_eq!(read(std::path::Path::new("box.step"), None), Err(Refusal::Ending));
    let missing = read(std::path::Path::new("no such place/box.stl"), None);
    assert!(matches!(missing, Err(Refusal::Unreadable(_))));
}

/// A name, its triangles, the doubts and whether the volume is to be believed.
fn doubtful() -> Vec<(&'static str, Vec<Triangle>, Vec<Doubt>, bool)> {
    let changed = |change: &dyn Fn(&mut Vec<Triangle>)| {
        let mut triangles = sound();
        change(&mut triangles);
        triangles
    };
    let cube = |low: [f32; 3]| block(low, [10.0; 3]);
    let both = |one: Vec<Triangle>, other: Vec<Triangle>| [one, other].concat();
    let inner = |low| turned(block(low, [30.0; 3]));
    let large = || block([-25.0; 3], [50.0; 3]);
    let middle = |a: [f32; 3], b: [f32; 3]| [0, 1, 2].map(|i| (a[i] + b[i]) / 2.0);
    let [a, b, c] = sound()[0];
    vec![
        (
            "hole",
            changed(&|t| {
                t.remove(0);
            }),
            vec![Doubt::OpenEdges { edges: 3 }],
            false,
        ),
        (
            "flipped face",
            changed(&|t| t[4] = [t[4][0], t[4][2], t[4][1]]),
            vec![Doubt::Flipped { faces: 1 }],
            false,
        ),
        ("all flipped", turned(sound()), vec![Doubt::InsideOut], true),
        ("doubled face", changed(&|t| t.push(t[0])), vec![Doubt::Doubled { faces: 1 }], false),
        (
            "face to a point",
            changed(&|t| t.push([a, b, b])),
            vec![Doubt::Degenerate { triangles: 1 }],
            true,
        ),
        (
            "face to a line",
            changed(&|t| t.push([a, middle(a, b), b])),
            vec![Doubt::Degenerate { triangles: 1 }],
            true,
        ),
        (
            "not a number",
            changed(&|t| t[3][1][2] = f32::NAN),
            vec![Doubt::NotFinite { triangles: 1 }],
            false,
        ),
        (
            "infinite",
            changed(&|t| t[3][1][2] = f32::INFINITY),
            vec![Doubt::NotFinite { triangles: 1 }],
            false,
        ),
        (
            "touching along an edge",
            both(cube([0.0; 3]), cube([10.0, 10.0, 0.0])),
            vec![Doubt::Touching { edges: 1 }],
            true,
        ),
        (
            "overlapping cubes",
            both(cube([0.0; 3]), cube([5.0, 0.0, 0.0])),
            vec![Doubt::Overlap { thousandths: 333 }],
            false,
        ),
        (
            "a cube within a cube, both full",
            both(large(), cube([-5.0; 3])),
            vec![Doubt::Overlap { thousandths: 8 }],
            false,
        ),
        (
            "every face twice",
            both(sound(), sound()),
            vec![Doubt::Doubled { faces: sound().len() }],
            false,
        ),
        (
            "two cubes apart",
            both(cube([0.0; 3]), cube([10.5, 0.0, 0.0])),
            vec![Doubt::Apart { bodies: 2 }],
            true,
        ),
        (
            "corner on a neighbour's edge",
            changed(&|t| {
                t[0] = [a, b, middle(b, c)];
                t.push([a, middle(b, c), c]);
            }),
            vec![Doubt::StepsInSeam { edges: 3 }],
            true,
        ),
        ("hollow", both(large(), inner([-15.0; 3])), vec![], true),
        (
            "hollow, inside out",
            turned(both(large(), inner([-15.0; 3]))),
            vec![Doubt::InsideOut],
            true,
        ),
        (
            "one of two bodies inside out",
            both(large(), inner([100.0; 3])),
            vec![Doubt::BodyInsideOut { bodies: 1 }],
            false,
        ),
    ]
}

#[test]
fn each_way_of_being_doubtful_is_told_apart() {
    // The reference library has no volume for what has none.
    let [a, b, c] = sound()[0];
    let flat = [("back to back", vec![[a, b, c], [a, c, b]], vec![Doubt::Flat], false)];
    for (name, triangles, doubts, believed) in doubtful().into_iter().chain(flat) {
        let found = measured(&triangles);
        assert_eq!(found.doubts, doubts, "{name}");
        assert_eq!(found.is_sound(), believed, "{name}");
        for doubt in doubts {
            assert!(!doubt.to_string().is_empty() && !doubt.hint().is_empty());
        }
    }
    let volume = |name: &str| {
        let case = doubtful().into_iter().find(|case| case.0 == name).expect("a case");
        (measured(&case.1).volume * 1e9).round()
    };
    assert_eq!(volume("all flipped"), 24_000.0);
    assert_eq!(volume("face to a line"), 24_000.0);
    assert_eq!(volume("corner on a neighbour's edge"), 24_000.0);
    assert_eq!(volume("overlapping cubes"), 2_000.0);
    assert_eq!(volume("hollow"), 98_000.0);
    assert_eq!(volume("hollow, inside out"), 98_000.0);
}

#[test]
fn a_text_with_a_nan_is_read_and_doubted() {
    let words = text(&sound(), "box").replacen("10.0", "nan", 1);
    let found = measure(&stl(words.as_bytes()).expect("it is text"));
    assert_eq!(found.doubts, [Doubt::NotFinite { triangles: 1 }]);
    let stray = Mesh { vertices: vec![[0.0; 3]; 3], triangles: vec![[0, 1, 9]] };
    assert_eq!(measure(&stray).doubts, [Doubt::NotFinite { triangles: 1 }]);
    assert!(!measure(&stray).is_sound());
    assert!(measure(&Mesh::default()).volume == 0.0);
}

#[test]
fn a_box_far_from_the_origin_keeps_its_volume() {
    let found = measured(&block([1e5; 3], [40.0, 30.0, 20.0]));
    assert!(found.watertight && (found.volume / 24e-6 - 1.0).abs() < 1e-9, "{found:?}");
}

#[test]
fn the_unit_is_the_callers() {
    let inches = read_bytes(&binary(&sound()), Format::Stl, Some(0.0254)).expect("sound");
    let volume = measure(&inches).volume;
    assert!((volume / (24_000.0 * 0.0254_f64.powi(3)) - 1.0).abs() < 1e-6);
}

fn obj(text: &str) -> Result<Mesh, Refusal> {
    read_bytes(text.as_bytes(), Format::Obj, None)
}

const OBJ_BOX: &str = "# box\nmtllib none.mtl\no box\nv 10 10 10\nv 50 10 10\nv 10 40 10\n\
    v 50 40 10\nv 10 10 30\nv 50 10 30\nv 10 40 30\nv 50 40 30\nvn 0 0 1\n\
    f 1//1 3//1 4//1 2//1\nf 5 6 8 7\nf 1 2 6 5\ng side\nf 3 7 8 4\nf -8 -4 -2 -6\nf 2 4 8 6\n";

#[test]
fn obj_is_read_with_squares_groups_and_counts_from_the_end() {
    let mesh = obj(OBJ_BOX).expect("sound");
    assert_eq!((mesh.vertices.len(), mesh.triangles.len()), (8, 12));
    assert!(is_the_box(&measure(&mesh)), "{:?}", measure(&mesh));
    let refused = |text: &str| obj(text).expect_err("it is broken");
    assert!(matches!(refused(&OBJ_BOX.replace("f 2 4 8 6", "f 2 4 8 60")), Refusal::Obj(_)));
    assert!(matches!(refused(&OBJ_BOX.replace("v 50 10 10", "v 50 ten 10")), Refusal::Obj(_)));
    assert_eq!(refused("v 0 0 0\nv 1 0 0\nv 0 1 0\n"), Refusal::NoTriangles);
    assert_eq!(refused("no mesh at all\n"), Refusal::NotAMesh("some other text"));
    assert_eq!(refused(""), Refusal::Empty);
    assert_eq!(refused("\0\u{1}\u{2}"), Refusal::NotAMesh("no text"));
}

fn archive(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        zip.start_file(*name, SimpleFileOptions::default()).expect("a part");
        zip.write_all(content.as_bytes()).expect("room");
    }
    zip.finish().expect("an end").into_inner()
}

fn model(unit: &str, build: &str) -> String {
    let mut text = format!(
        "<?xml version=\"1.0\"?><model unit=\"{unit}\" \
         xmlns=\"http://schemas.microsoft.com/3dmanufacturing/core/2015/02\"><resources>\
         <object id=\"1\" type=\"model\"><mesh><vertices>"
    );
    for i in 0..8 {
        let at = [10 + 40 * (i & 1), 10 + 30 * (i >> 1 & 1), 10 + 20 * (i >> 2)];
        text += &format!("<vertex x=\"{}\" y=\"{}\" z=\"{}\"/>", at[0], at[1], at[2]);
    }
    text += "</vertices><triangles>";
    for [a, b, c] in stl(&binary(&sound())).expect("sound").triangles.iter().map(|t| {
        let mesh = stl(&binary(&sound())).expect("sound");
        t.map(|v| {
            let at = mesh.vertices[v as usize];
            u8::from(at[0] > 0.03) + 2 * u8::from(at[1] > 0.02) + 4 * u8::from(at[2] > 0.02)
        })
    }) {
        text += &format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>");
    }
    text + "</triangles></mesh></object><object id=\"2\"><components>\
            <component objectid=\"1\" transform=\"-1 0 0 0 1 0 0 0 1 60 0 0\"/></components></object>\
            </resources><build>"
        + build
        + "</build></model>"
}

fn three_mf(parts: &[(&str, &str)]) -> Result<Mesh, Refusal> {
    read_bytes(&archive(parts), Format::ThreeMf, None)
}

/// A plate of this outline, 5 mm thick, as an OBJ with its two large faces in one piece.
fn plate(outline: &[[f64; 2]]) -> String {
    let n = outline.len();
    let level = |z: f64| outline.iter().map(move |c| format!("v {} {} {z}\n", c[0], c[1]));
    let mut text: String = level(0.0).chain(level(5.0)).collect();
    let face = |corners: &mut dyn Iterator<Item = usize>| {
        let words: Vec<String> = corners.map(|c| c.to_string()).collect();
        format!("f {}\n", words.join(" "))
    };
    text += &face(&mut (1..=n).rev());
    text += &face(&mut (n + 1..=2 * n));
    for a in 0..n {
        let b = (a + 1) % n;
        text += &face(&mut [a + 1, b + 1, n + b + 1, n + a + 1].into_iter());
    }
    text
}

#[test]
fn faces_of_an_obj_that_bulge_inward_are_split_rightly_and_bow_ties_refused() {
    // An L of 40 x 30 with legs of 8, a U and a star of 5 points; areas by hand.
    let star: Vec<[f64; 2]> = (0..10)
        .map(|i| {
            let (sin, cos) = (std::f64::consts::PI * f64::from(i) / 5.0).sin_cos();
            let r = if i % 2 == 0 { 20.0 } else { 6.0 };
            [r * cos, r * sin]
        })
        .collect();
    let points = 10.0 * 0.5 * 20.0 * 6.0 * (std::f64::consts::PI / 5.0).sin();
    let l = vec![[0.0, 0.0], [40.0, 0.0], [40.0, 8.0], [8.0, 8.0], [8.0, 30.0], [0.0, 30.0]];
    let u = vec![
        [5.0, 40.0],
        [0.0, 40.0],
        [0.0, 0.0],
        [30.0, 0.0],
        [30.0, 40.0],
        [25.0, 40.0],
        [25.0, 5.0],
        [5.0, 5.0],
    ];
    for (name, outline, area) in
        [("L", l, 320.0 + 176.0), ("U", u, 150.0 + 2.0 * 175.0), ("star", star, points)]
    {
        let mesh = read_bytes(plate(&outline).as_bytes(), Format::Obj, None).expect("a mesh");
        let found = measure(&mesh);
        assert_eq!(found.doubts, [], "{name}");
        assert!((found.volume * 1e9 / (5.0 * area) - 1.0).abs() < 1e-9, "{name}");
    }
    let bow = [[0.0, 0.0], [40.0, 30.0], [40.0, 0.0], [0.0, 30.0]];
    let refused = read_bytes(plate(&bow).as_bytes(), Format::Obj, None).expect_err("a bow-tie");
    assert_eq!(refused.to_string(), "face 1 crosses itself: its sides 1 and 3 meet");
}

#[test]
fn a_3mf_is_read_with_its_unit_and_its_placings() {
    const PART: &str = "3D/3dmodel.model";
    let plain = model("millimeter", "<item objectid=\"1\"/>");
    let mesh = three_mf(&[(PART, &plain)]).expect("sound");
    assert!(is_the_box(&measure(&mesh)), "{:?}", measure(&mesh));
    // Mirrored about its own middle, and so the same box with every face still outward.
    let mirrored = three_mf(&[(PART, &model("millimeter", "<item objectid=\"2\"/>"))]);
    assert!(is_the_box(&measure(&mirrored.expect("sound"))));
    let two = "<item objectid=\"1\"/><item objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 0 0 99\"/>";
    let found = measure(&three_mf(&[(PART, &model("inch", two))]).expect("sound"));
    assert!(found.doubts == [Doubt::Apart { bodies: 2 }] && !found.plan_exact);
    assert!((found.volume / (48_000.0 * 0.0254_f64.powi(3)) - 1.0).abs() < 1e-9);
    let rels = "<Relationships><Relationship Id=\"r\" Target=\"/3D/other.model\" \
                Type=\"http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel\"/>\
                </Relationships>";
    let elsewhere = three_mf(&[("_rels/.rels", rels), ("3D/other.model", &plain)]);
    assert_eq!(elsewhere, Ok(mesh));

    let refused = |text: &str| three_mf(&[(PART, text)]).expect_err("it is broken");
    assert!(matches!(
        refused(&plain.replace("v1=\"0\"", "v1=\"8\"")),
        Refusal::NoSuchCorner { .. }
    ));
    for broken in [
        plain.replace("objectid=\"1\"", "objectid=\"7\""),
        plain.replace("millimeter", "furlong"),
        plain.replace("x=\"10\"", "x=\"ten\""),
        plain.replace("y=\"10\"", ""),
        plain.replace("<item objectid=\"1\"/>", "<item objectid=\"1\" transform=\"1 0 0\"/>"),
        plain[..plain.len() / 2].to_owned(),
        plain.replace("</mesh>", "</mess>"),
        "<other/>".to_owned(),
        // An object within itself.
        model("millimeter", "<item objectid=\"2\"/>")
            .replace("<component objectid=\"1\"", "<component objectid=\"2\""),
    ] {
        assert!(matches!(refused(&broken), Refusal::Model(_)), "{:?}", refused(&broken));
    }
    assert_eq!(refused(&model("millimeter", "")), Refusal::NoTriangles);
    // Each object holds the one before it twice: few words, without end.
    let mut nest = plain[..plain.find("<object id=\"2\"").expect("an object")].to_owned();
    for id in 2..33 {
        let inner = format!("<component objectid=\"{}\"/>", id - 1);
        nest += &format!("<object id=\"{id}\"><components>{inner}{inner}</components></object>");
    }
    nest += "</resources><build><item objectid=\"32\"/></build></model>";
    assert_eq!(refused(&nest), Refusal::TooBig);
    assert!(matches!(three_mf(&[("readme.txt", "x")]), Err(Refusal::Archive(_))));
    let whole = archive(&[(PART, &plain)]);
    let cut = read_bytes(&whole[..whole.len() / 2], Format::ThreeMf, None);
    assert!(matches!(cut, Err(Refusal::Archive(_))));
    let other = read_bytes(OBJ_BOX.as_bytes(), Format::ThreeMf, None);
    assert_eq!(other, Err(Refusal::NotAMesh("no zip archive")));
}

#[test]
fn trimesh_finds_the_same_meshes_closed() {
    // Corners that are no number cannot be told in JSON.
    let cases: Vec<_> = doubtful()
        .into_iter()
        .filter(|case| case.1.iter().flatten().flatten().all(|v| v.is_finite()))
        .map(|case| (case.0, stl(&binary(&case.1)).expect("sound")))
        .collect();
    let asked: Vec<_> = cases
        .iter()
        .map(|(_, m)| serde_json::json!({"vertices": m.vertices, "faces": m.triangles}))
        .collect();
    let Some(told) =
        common::ask("trimesh_finds_the_same_meshes_closed", "solids", &serde_json::json!(asked))
    else {
        return;
    };
    let told = told.as_array().expect("a list").clone();
    assert_eq!(told.len(), cases.len());
    for ((name, mesh), told) in cases.iter().zip(told) {
        let ours = measure(mesh);
        let closed = told["watertight"] == true && told["winding_consistent"] == true;
        assert_eq!(ours.watertight, closed, "{name}: {told}");
        let area = told["area"].as_f64().unwrap_or(f64::NAN);
        assert!((ours.surface / area - 1.0).abs() < 1e-9, "{name}: {told}");
        if closed {
            let volume = told["volume"].as_f64().unwrap_or(f64::NAN).abs();
            assert!((ours.volume / volume - 1.0).abs() < 1e-9, "{name}: {told}");
        }
    }
}
