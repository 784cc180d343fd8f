//! What is fed: every reader of what comes from outside.

use pourwright::figure::{Kind, read, read_sizes};
use pourwright::handbook::Handbook;
use pourwright::journal;
use pourwright::plan::{Awaited, Kept, PromisedHeat, PromisedJob, PromisedMould};
use pourwright::shape::mesh::{Format, measure, read_bytes};
use pourwright::yaml::Faults;
use pourwright::{Today, job};
use std::io::Write;
use std::sync::LazyLock;

/// A reader, what it is first fed, and words that mean something to it.
pub struct Target {
    pub name: &'static str,
    pub run: fn(&[u8]),
    pub seeds: fn() -> Vec<Vec<u8>>,
    pub words: &'static [&'static [u8]],
}

pub const TARGETS: [Target; 8] = [
    Target { name: "manifest", run: manifest, seeds: manifests, words: KEYS },
    Target { name: "journal", run: a_journal, seeds: journals, words: KEYS },
    Target { name: "quantity", run: quantity, seeds: quantities, words: UNITS },
    Target { name: "stl", run: |b| mesh(b, Format::Stl), seeds: stls, words: MESH },
    Target { name: "obj", run: |b| mesh(b, Format::Obj), seeds: objs, words: MESH },
    Target { name: "threemf", run: threemf, seeds: models, words: MESH },
    Target {
        name: "plan",
        run: plan,
        seeds: plans,
        words: &[b"\"order\"", b"\"heats\"", b"bed/1", b"bed/1 ram"],
    },
    Target { name: "arguments", run: arguments, seeds: calls, words: KEYS },
];

const KEYS: &[&[u8]] = &[
    b"casting: ",
    b"pattern: ",
    b"alloy: A356",
    b"mass: 3 kg",
    b"quantity: 100000",
    b"cavities: 9",
    b"parts:\n",
    b"shop:\n",
    b"needs: ",
    b"shape: ",
    b"add: ",
    b"less: ",
    b"block: ",
    b"cylinder: ",
    b"size: 1 x 2 x 3 mm",
    b"composition: ",
    b"rammed: ",
    b"poured: ",
    b"inspected: ",
    b"void: ",
    b"counted: ",
    b"700 C",
    b"12 %",
    b"2'-1\"",
    b"8..10 kg",
    b"9 kg +/- 5 %",
    b"--mould",
    b"--charge",
    b"=",
    b"M1",
];
const UNITS: &[&[u8]] = &[
    b"kg",
    b"in",
    b"'",
    b"\"",
    b"..",
    b"...",
    b" to ",
    b"-",
    b"+/-",
    b"\xc2\xb1",
    b"%",
    b"C",
    b"F",
    b"/",
    b"1/2",
    b"\xc2\xbd",
    b"\xc2\xb2",
    b"(",
    b")",
    b" x ",
    b"Btu/lb/F",
    b"W/(m K)",
    b"1e308",
    b".",
    b",",
    b"lb",
    b"oz",
];
const MESH: &[&[u8]] = &[
    b"solid ",
    b"endsolid",
    b"facet normal",
    b"outer loop",
    b"vertex 0 0 0",
    b"endloop",
    b"endfacet",
    b"v 1 2 3\n",
    b"f 1 2 3\n",
    b"f -1 -2 -3\n",
    b"<vertex x=\"1\" y=\"2\" z=\"3\"/>",
    b"<triangle v1=\"0\" v2=\"1\" v3=\"2\"/>",
    b"<component objectid=\"1\"/>",
    b"<item objectid=\"1\"/>",
    b"<!ENTITY a \"aaaaaaaaaa\">",
    b"&a;",
    b"nan",
    b"inf",
    b"-1e39",
];

static BOOK: LazyLock<Handbook> = LazyLock::new(Handbook::embedded);

fn today() -> Today {
    Today { asked: None, clock: "2026-07-08".parse().expect("a day") }
}

/// Faults are shown whole, each with a place in the file.
fn shown(all: &[Faults]) {
    for faults in all {
        assert!(!faults.list.is_empty());
        assert!(faults.to_string().ends_with(&faults.file));
    }
}

const SMALL: &str = "\
build: {title: Small, begun: 2026-01-10, looked-at: 2026-07-08}
shop:
  people: {me: {hours: {sat: 6 h, sun: 09:00..12:30}}}
  furnaces: {gas: {fuel: propane, power: 12 kW}}
  crucibles: {pot: {holds: 2 L, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 75 mm, drag: 75 mm}}
  stock: {A356: 12 kg}
patterns:
  bed-pattern: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 0 mm}
parts:
  bed:
    quantity: 2
    casting: {pattern: bed-pattern, alloy: A356, shape: {add: [{block: {length: 100 mm, width: 60 mm, height: 30 mm}}]}}
  bar: {made: {hours: 3 h}, needs: [bed]}
suppliers:
  stores: {delivery: 3 d, packs: [{of: A356, size: 10 kg, price: 58.00}]}
metals:
  ingot-a: {alloy: A356, price: 5.00}
";

const ENTRIES: &str = "\
---
id: a
at: 2026-02-01 10:00
received: {stock: A356, mass: 20 kg, price: 96.00}
---
id: b
at: 2026-02-02 10:00
rammed: {mould: M1, pattern: bed-pattern, flask: box, castings: {bed: 1}, hours: 1.2 h}
---
id: c
at: 2026-02-03 10:00
poured: {heat: H1, alloy: A356, crucible: pot, charge: {ingot: 2 kg}, temperature: 715 C, moulds: [M1], heel: 0.1 kg}
---
id: d
at: 2026-02-03 14:00
shaken-out: {mould: M1, after: 3 h, mass: 1.8 kg}
---
id: e
at: 2026-02-04 10:00
inspected: {mould: M1, part: bed, pieces: 1, disposition: scrap, blemishes: [{class: B200, where: \"at the boss\"}]}
---
id: f
at: 2026-02-05 10:00
void: {entry: e, why: slip}
";

fn manifests() -> Vec<Vec<u8>> {
    let file = |text: &str| text.as_bytes().to_vec();
    vec![
        file(SMALL),
        file(include_str!("../faults/solids.yaml")),
        file(include_str!("../../templates/new/build.yaml")),
    ]
}

fn manifest(bytes: &[u8]) {
    match pourwright::read(bytes.to_vec(), ENTRIES.as_bytes().to_vec(), today()) {
        // A build of many pieces is reckoned elsewhere; here each input is to be quick.
        Ok(build) if build.parts.iter().all(|p| p.given.quantity < 20) => {
            let _ = pourwright::estimate::estimate(&build);
        }
        Ok(_) => {}
        Err(all) => shown(&all),
    }
}

fn journals() -> Vec<Vec<u8>> {
    vec![
        ENTRIES.as_bytes().to_vec(),
        include_bytes!("../faults/forms.journal.yaml").to_vec(),
        ENTRIES.replace('\n', "\r\n").into_bytes(),
    ]
}

fn a_journal(bytes: &[u8]) {
    match journal::read("journal.yaml", bytes.to_vec(), &BOOK) {
        Ok(journal) => assert!(journal.entries.windows(2).all(|p| p[0].at <= p[1].at)),
        Err(faults) => shown(&[faults]),
    }
}

fn quantities() -> Vec<Vec<u8>> {
    [
        "11.4 kg",
        "3/8 in",
        "2 ft 1 in",
        "8..10 kg",
        "9 kg +/- 5%",
        "700 C",
        "2'-1\"",
        "1/4..3/8 in",
        "½ in",
        "5 lb-3 oz",
        "300 x 200 x 60 mm",
        "9 kg (8 to 10)",
        "0.6 W/(m·K)",
        "1'000 mm",
        "2,5 kg",
        "12 cm²",
        "8-10 kg",
    ]
    .map(|text| text.as_bytes().to_vec())
    .to_vec()
}

fn quantity(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for kind in Kind::ALL {
        if let Ok(range) = read(*kind, &text) {
            for value in [range.low, range.likely, range.high] {
                assert!(value.is_finite(), "{kind:?} {text}: {range:?}");
            }
            assert!(range.low <= range.likely && range.likely <= range.high, "{kind:?} {text}");
        }
    }
    for count in 1..=3 {
        if let Ok(sizes) = read_sizes(&text, count) {
            assert!(sizes.len() == count && sizes.iter().all(|s| s.is_finite()), "{text}");
        }
    }
}

/// A cube of 10 mm: its corners, and its faces in triangles.
const CORNERS: [[f32; 3]; 8] = [
    [0.0, 0.0, 0.0],
    [10.0, 0.0, 0.0],
    [10.0, 10.0, 0.0],
    [0.0, 10.0, 0.0],
    [0.0, 0.0, 10.0],
    [10.0, 0.0, 10.0],
    [10.0, 10.0, 10.0],
    [0.0, 10.0, 10.0],
];
const FACES: [[usize; 3]; 12] = [
    [0, 2, 1],
    [0, 3, 2],
    [4, 5, 6],
    [4, 6, 7],
    [0, 1, 5],
    [0, 5, 4],
    [1, 2, 6],
    [1, 6, 5],
    [2, 3, 7],
    [2, 7, 6],
    [3, 0, 4],
    [3, 4, 7],
];

fn stls() -> Vec<Vec<u8>> {
    let mut binary = vec![0; 80];
    binary.extend((FACES.len() as u32).to_le_bytes());
    let mut text = String::from("solid cube\n");
    for face in FACES {
        binary.extend([0; 12]);
        text += "facet normal 0 0 0\nouter loop\n";
        for [x, y, z] in face.map(|i| CORNERS[i]) {
            binary.extend([x, y, z].iter().flat_map(|v| v.to_le_bytes()));
            text += &format!("vertex {x} {y} {z}\n");
        }
        binary.extend([0; 2]);
        text += "endloop\nendfacet\n";
    }
    vec![binary, (text + "endsolid cube\n").into_bytes()]
}

fn objs() -> Vec<Vec<u8>> {
    let corners: String = CORNERS.iter().map(|[x, y, z]| format!("v {x} {y} {z}\n")).collect();
    let faces: String =
        FACES.iter().map(|[a, b, c]| format!("f {} {} {}\n", a + 1, b + 1, c + 1)).collect();
    let square = "v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nf 1/1/1 2/2/2 3/3/3 4/4/4\n";
    vec![format!("o cube\n{corners}{faces}").into_bytes(), square.into()]
}

fn models() -> Vec<Vec<u8>> {
    let corners: String = CORNERS
        .iter()
        .map(|[x, y, z]| format!("<vertex x=\"{x}\" y=\"{y}\" z=\"{z}\"/>"))
        .collect();
    let faces: String = FACES
        .iter()
        .map(|[a, b, c]| format!("<triangle v1=\"{a}\" v2=\"{b}\" v3=\"{c}\"/>"))
        .collect();
    let model = format!(
        "<?xml version=\"1.0\"?><model unit=\"millimeter\"><resources><object id=\"1\"><mesh><vertices>{corners}</vertices><triangles>{faces}</triangles></mesh></object><object id=\"2\"><components><component objectid=\"1\" transform=\"1 0 0 0 1 0 0 0 1 20 0 0\"/></components></object></resources><build><item objectid=\"1\"/><item objectid=\"2\"/></build></model>"
    );
    vec![model.into_bytes()]
}

/// The input is the model; it is put into an archive. Every eighth is the archive itself.
fn threemf(bytes: &[u8]) {
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    archive.start_file("3D/3dmodel.model", options).expect("a file");
    archive.write_all(bytes).expect("written");
    let mut whole = archive.finish().expect("an archive").into_inner();
    mesh(&whole, Format::ThreeMf);
    if bytes.len().is_multiple_of(8) {
        let at = bytes.iter().fold(0_usize, |sum, b| sum.wrapping_mul(31) + usize::from(*b));
        let length = whole.len();
        whole[at % length] ^= 1 << (at % 7);
        mesh(&whole, Format::ThreeMf);
    }
}

fn mesh(bytes: &[u8], format: Format) {
    match read_bytes(bytes, format, None) {
        Ok(mesh) => {
            let measures = measure(&mesh);
            if measures.is_sound() {
                assert!(
                    measures.volume.is_finite() && measures.volume > 0.0,
                    "{}",
                    measures.volume
                );
                assert!(measures.surface.is_finite());
            }
            for doubt in &measures.doubts {
                assert!(!doubt.to_string().is_empty());
            }
        }
        Err(refusal) => assert!(!refusal.to_string().is_empty() && !refusal.hint().is_empty()),
    }
}

fn small() -> &'static job::Estimated {
    static BUILD: LazyLock<job::Estimated> = LazyLock::new(|| {
        let build = pourwright::read(SMALL.as_bytes().to_vec(), Vec::new(), today());
        job::estimate(build.expect("a build"))
    });
    &BUILD
}

fn plans() -> Vec<Vec<u8>> {
    let at = today().clock.and_time(chrono::NaiveTime::MIN);
    let job = |job: &str| PromisedJob { job: job.to_owned(), minutes: 30, start: at, end: at };
    let heat = |heat: &str, mould: &str| PromisedHeat {
        lit: None,
        heat: heat.into(),
        pour: at,
        crucibles: Vec::new(),
        moulds: vec![PromisedMould {
            mould: mould.to_owned(),
            holds: "bed=1".to_owned(),
            flask: None,
        }],
    };
    let kept = Kept {
        jobs: ["bed/1 ram", "bed/2 ram", "bed-pattern pattern", "bar machine"].map(job).into(),
        heats: vec![heat("H1", "bed/1"), heat("H2", "bed/2")],
        awaited: vec![Awaited {
            job: "bed/2 pour".to_owned(),
            of: "A356".into(),
            until: today().clock,
            known: "None false []".to_owned(),
        }],
        ..Kept::default()
    };
    vec![serde_json::to_vec_pretty(&kept).expect("JSON")]
}

fn plan(bytes: &[u8]) {
    let Ok(kept) = serde_json::from_slice::<Kept>(bytes) else { return };
    let planned = job::plan(small().clone(), Some(&kept), None, &mut |_, _| true);
    // Whatever the file says, each mould is poured once.
    let mut moulds: Vec<usize> =
        planned.plan.schedule.heats.iter().flat_map(|h| h.moulds.iter().copied()).collect();
    let all = moulds.len();
    moulds.sort_unstable();
    moulds.dedup();
    assert_eq!(moulds.len(), all);
}

fn calls() -> Vec<Vec<u8>> {
    [
        "rammed\n--mould\nM1\n--pattern\nbed-pattern\n--casting\nbed=1\n--hours\n1.2 h",
        "poured\n--heat\nH1\n--alloy\nA356\n--mould\nM1\n--charge\ningot=2 kg\n--temperature\n715 C",
        "inspected\n--mould\nM1\n--part\nbed\n--disposition\nscrap\n--blemish\nB200=at the boss\n--face\ntop",
        "note\nsomething\n--part\nbed",
        "void\n--entry\na\n--why\nslip",
        "received\n--stock\nA356\n--mass\n2 kg\n--price\n9.60",
    ]
    .map(|call| call.as_bytes().to_vec())
    .to_vec()
}

/// What `log` makes of its arguments is read by the journal, or told as faults.
fn arguments(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let words: Vec<&str> = text.split('\n').collect();
    if let Ok(entry) = pourwright::cli::entry_of(&words) {
        assert!(entry.starts_with("---\nid: ") && entry.ends_with('\n'), "{entry:?}");
        a_journal(entry.as_bytes());
        let read = journal::read("journal.yaml", entry.into_bytes(), &BOOK);
        if let Ok(journal) = read {
            assert!(journal.torn.is_empty(), "{words:?}");
        }
    }
}
