//! Paper: what a sheet says agrees with the figures, with what `log` asks for, and with the PDF
//! that a browser prints of it.

use chrono::{NaiveDate, NaiveDateTime};
use pourwright::estimate::{CastingEstimate, Estimates};
use pourwright::figure::Figure;
use pourwright::job;
use pourwright::model::Build;
use pourwright::plan::{Heel, Plan, PlannedHeat, PlannedMould, Pour};
use pourwright::supply::Bill;
use pourwright::supply::{Wish, purchases};
use pourwright::view::sheet::{BuildSheet, HeatSheet, MouldCards, OrderSheet, Paper, PatternPaper};
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Mutex;

#[derive(Clone)]
struct Made {
    build: Build,
    estimates: Estimates,
    plan: Plan,
    bill: Bill,
}

/// A build of ours, made once for all tests.
fn folder(name: &str) -> Made {
    static MADE: Mutex<BTreeMap<String, Made>> = Mutex::new(BTreeMap::new());
    let mut all = MADE.lock().expect("no test failed in it");
    let make = || {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
        let manifest = fs::read(folder.join(pourwright::MANIFEST)).expect("a manifest");
        made(manifest, fs::read(folder.join(pourwright::JOURNAL)).unwrap_or_default())
    };
    all.entry(name.to_owned()).or_insert_with(make).clone()
}

fn made(manifest: Vec<u8>, journal: Vec<u8>) -> Made {
    let clock = NaiveDate::from_ymd_opt(2026, 11, 2).expect("a day");
    let today = pourwright::Today { asked: None, clock };
    let build = pourwright::read(manifest, journal, today).expect("a sound build");
    let estimates = pourwright::estimate::estimate(&build);
    let plan = pourwright::plan::plan(&build, &estimates);
    let bill = pourwright::supply::bill(&build, &estimates, &plan.schedule);
    Made { build, estimates, plan, bill }
}

impl Made {
    fn part(&self, id: &str) -> usize {
        self.build.part(id).expect("a part")
    }

    fn castings(&self) -> Vec<usize> {
        (0..self.build.parts.len()).filter(|i| self.build.parts[*i].casting.is_some()).collect()
    }

    fn cards(&self, parts: &[usize], paper: Paper) -> MouldCards {
        MouldCards::new(&self.build, &self.estimates, parts, paper)
    }

    fn picked(&self, parts: &[&str]) -> HeatSheet {
        let parts: Vec<usize> = parts.iter().map(|id| self.part(id)).collect();
        let pour = Pour::picked(&self.build, &self.estimates, &parts).expect("one alloy");
        HeatSheet::new(&self.build, &self.estimates, &pour, Paper::A4)
    }
}

fn run(arguments: &[&str]) -> Output {
    let out = Command::new(env!("CARGO_BIN_EXE_pourwright")).args(arguments).output();
    out.expect("pourwright runs")
}

/// The PDF that a browser makes of a page.
fn pdf_of(test: &str, html: &str, folder: &Path) -> Option<PathBuf> {
    let Some(browser) = std::env::var_os("POURWRIGHT_CHROMIUM") else {
        eprintln!("left out: {test}: POURWRIGHT_CHROMIUM is not set");
        return None;
    };
    if Command::new("pdftotext").arg("-v").output().is_err() {
        eprintln!("left out: {test}: there is no pdftotext");
        return None;
    }
    let (page, pdf) = (folder.join("sheet.html"), folder.join("sheet.pdf"));
    fs::write(&page, html).expect("a page");
    let done = Command::new(browser)
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run"])
        .args(["--disable-background-networking", "--disable-component-update", "--disable-sync"])
        .arg("--no-pdf-header-footer")
        .arg(format!("--user-data-dir={}", folder.join("profile").display()))
        .arg(format!("--print-to-pdf={}", pdf.display()))
        .arg(format!("file://{}", page.display()))
        .output()
        .expect("the browser runs");
    assert!(pdf.exists(), "{}", String::from_utf8_lossy(&done.stderr));
    Some(pdf)
}

/// What a tool of poppler says of a PDF.
fn poppler(tool: &str, arguments: &[&str], pdf: &Path) -> String {
    let mut command = Command::new(tool);
    command.args(arguments).arg(pdf);
    if tool == "pdftotext" {
        command.arg("-");
    }
    String::from_utf8_lossy(&command.output().expect("poppler runs").stdout).into_owned()
}

/// Pages, page size in points and text of the PDF that a browser makes of a page.
fn printed(test: &str, html: &str) -> Option<(usize, (f64, f64), Vec<String>)> {
    let folder = tempfile::tempdir().expect("a folder");
    let pdf = pdf_of(test, html, folder.path())?;
    let info = poppler("pdfinfo", &[], &pdf);
    let line = |name: &str| {
        let line = info.lines().find_map(|l| l.strip_prefix(name));
        line.unwrap_or_else(|| panic!("{name} in {info}")).trim().to_owned()
    };
    let pages: usize = line("Pages:").parse().expect("a number");
    let size: Vec<f64> =
        line("Page size:").split(' ').filter_map(|word| word.parse().ok()).collect();
    let texts = poppler("pdftotext", &["-layout"], &pdf);
    let texts = texts.split('\u{c}').map(str::to_owned).collect();
    Some((pages, (size[0], size[1]), texts))
}

/// Every SVG of a page, read as XML by a library.
fn drawings(html: &str) -> Vec<String> {
    let found: Vec<String> = html
        .split("<svg")
        .skip(1)
        .map(|rest| format!("<svg{}</svg>", rest.split("</svg>").next().unwrap_or_default()))
        .collect();
    for svg in &found {
        let mut reader = quick_xml::Reader::from_str(svg);
        loop {
            match reader.read_event() {
                Ok(quick_xml::events::Event::Eof) => break,
                Ok(_) => {}
                Err(error) => panic!("{error} in {svg}"),
            }
        }
    }
    found
}

/// The numbers in the path of a mark.
fn numbers(path: &str) -> Vec<f64> {
    let split = path.split(|c: char| !c.is_ascii_digit() && c != '.' && c != '-');
    split.filter_map(|word| word.parse().ok()).collect()
}

/// Two patterns that share a flask of 300 x 250 mm.
const PAIR: &str = "
build: {title: Pair, begun: 2026-01-10}
shop:
  people: {me: {hours: {sat: 7 h}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, heats-per-session: 2}}
  crucibles: {grey: {holds: 3 L, working-fill: 80 %, family: aluminium}}
  flasks: {small: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 2}}
  sand: {kind: green-sand}
patterns:
  gib: {size: 180 x 60 x 30 mm, in-cope: 10 mm, beside: [clapper]}
  clapper: {size: 90 x 80 x 40 mm, in-cope: 20 mm}
parts:
  gib: {casting: {pattern: gib, alloy: A356, volume: 0.2 L}}
  clapper: {casting: {pattern: clapper, alloy: A356, volume: 0.1 L}}
";

#[test]
fn patterns_side_by_side_are_drawn_to_scale() {
    for clapper in ["cap", "clapper-of-the-tool-slide"] {
        let text = PAIR.replace("clapper", clapper);
        let made = made(text.into_bytes(), Vec::new());
        let cards = made.cards(&made.castings(), Paper::A4);
        let shared = made.estimates.shared(&made.build, [0, 1]).expect("a mould of both");
        for (n, card) in cards.cards.iter().enumerate() {
            let flask = card.shared.as_ref().expect("a shared flask");
            let sketch = card.sketch.as_ref().expect("a drawing");
            let (scale, inside) = (f64::from(sketch.scale), numbers(&sketch.marks[0].path));
            let close = |paper: f64, mm: f64| {
                assert!((paper * scale - mm).abs() < 0.02 * scale, "{paper} at {scale} is {mm}");
            };
            close(inside[2] - inside[0], 300.0);
            close(inside[5] - inside[3], 250.0);
            let drawn = sketch.marks.iter().filter(|m| m.of == "pattern");
            for (mark, lies) in drawn.zip(&shared.places()) {
                let at = numbers(&mark.path);
                close(at[0] - inside[0], lies.x * 1e3);
                // The drawing has its second axis up.
                close(at[1] - inside[1], 250.0 - (lies.y + lies.width) * 1e3);
                close(at[2] - at[0], lies.length * 1e3);
                close(at[5] - at[3], lies.width * 1e3);
                for pair in at.chunks(2) {
                    assert!(pair[0] < sketch.width && pair[1] < sketch.height, "{mark:?}");
                }
            }
            // Both are named, or both have a number, in the drawing and in the list.
            let words: Vec<&str> = sketch.labels.iter().map(|l| &*l.text).collect();
            let short = clapper == "cap";
            let expected = if short { ["gib", "cap"] } else { ["1", "2"] };
            assert_eq!(words[..2], expected);
            let list: Vec<_> = flask.places.iter().map(|p| (&*p.pattern, p.number)).collect();
            let number = |n| (!short).then_some(n);
            assert_eq!(list, [("gib", number(1)), (clapper, number(2))]);
            assert!(flask.says.contains("25 mm of sand between and to the wall"), "{}", flask.says);
            // What is laid on the cope and lifted is the whole mould's, in the warnings too.
            let told = |w: &String| card.warnings.contains(w);
            assert!(!shared.loads.warnings.is_empty() && shared.loads.warnings.iter().all(told));
            let alone = made.estimates.castings[n].as_ref().expect("an estimate");
            assert!(!alone.loads.warnings.iter().any(told), "{:?}", card.warnings);
            // The letters are of its own pattern, as it is poured in this mould: the runner that is
            // lettered lies nearer to it than to the other.
            let letter = |text: &str| {
                let found = sketch.labels.iter().find(|l| l.letter && l.text == text);
                found.map(|l| l.x).expect("a letter")
            };
            let lies = |at: usize| {
                let lies = shared.places()[at];
                inside[0] + (lies.x + lies.length / 2.0) * 1e3 / scale
            };
            let away = |at: usize| (letter("C") - lies(at)).abs();
            assert!(away(n) < away(1 - n), "{} {} {}", letter("C"), lies(0), lies(1));
            let own = shared.each[n].gating.as_ref().expect("a way in");
            let says = &card.sizes[0].says;
            assert!((numbers(says)[0] - own.sprue.base.si() * 1e3).abs() < 0.06, "{says}");
        }
        let html = cards.html().expect("a page");
        // Of each card the mould and the bar of 100 mm.
        assert_eq!(drawings(&html).len(), 4);
        let Some((pages, ..)) = printed("cards of a shared flask as PDF", &html) else { continue };
        assert!(pages <= 4, "a card is one sheet: {pages}");
    }
}

/// In a deeper flask the sprue is longer: card and pour sheet go by the mould that the pattern lies in.
#[test]
fn a_casting_is_told_as_it_lies_in_the_shared_flask() {
    let text = PAIR.replace(
        "  flasks: {",
        "  flasks: {low: {inside: 260 x 190 mm, cope: 60 mm, drag: 60 mm, count: 2}, ",
    );
    let text = text.replace("250 mm, cope: 90 mm", "250 mm, cope: 150 mm");
    let made = made(text.into_bytes(), Vec::new());
    let base = |e: Option<&CastingEstimate>| {
        e.and_then(|e| Some(e.gating.as_ref()?.sprue.base.si())).expect("a sprue")
    };
    let cards = made.cards(&made.castings(), Paper::A4).cards;
    for part in [0, 1] {
        let together = base(made.estimates.in_mould(&made.build, [0, 1], part));
        let alone = base(made.estimates.in_mould(&made.build, [part], part));
        assert!(together < 0.95 * alone, "{together} and {alone}");
        let card = numbers(&cards[part].sizes[0].says)[0];
        assert!((card - together * 1e3).abs() < 0.06, "{card} and {together}");
    }
}

#[test]
fn a_sketch_is_to_scale() {
    let made = folder("demo");
    let base = made.part("base");
    let cards = made.cards(&[base], Paper::A4);
    let sketch = cards.cards[0].sketch.as_ref().expect("a drawing");
    // The first mark is the flask: 580 x 380 mm inside, by the manifest of the demo.
    let flask = numbers(&sketch.marks[0].path);
    let scale = f64::from(sketch.scale);
    assert!(((flask[2] - flask[0]) * scale - 580.0).abs() < 0.1 * scale);
    assert!(((flask[5] - flask[3]) * scale - 380.0).abs() < 0.1 * scale);
    let pattern = sketch.marks.iter().find(|m| m.of == "pattern").expect("a pattern");
    let pattern = numbers(&pattern.path);
    let over = |from: usize| {
        let all = pattern.iter().skip(from).step_by(2);
        all.fold((f64::INFINITY, 0.0_f64), |(low, high), v| (low.min(*v), high.max(*v)))
    };
    let ((left, right), (top, foot)) = (over(0), over(1));
    // 420 x 220 mm cast without stock on these sides, at 1.3 % of contraction.
    assert!(((right - left) * scale - 420.0 * 1.013).abs() < 0.1 * scale, "{left} to {right}");
    assert!(((foot - top) * scale - 220.0 * 1.013).abs() < 0.1 * scale, "{top} to {foot}");
    // The runner is as long as its figure says, and all ingates touch it and the pattern.
    let estimate = made.estimates.castings[base].as_ref().expect("an estimate");
    let long = estimate.gating.as_ref().expect("a runner").ways.runner_length.si() * 1e3;
    let ways = sketch.marks.iter().filter(|m| m.of == "way" && !m.path.contains('a'));
    let ways: Vec<Vec<f64>> = ways.map(|m| numbers(&m.path)).collect();
    let runner = ways.iter().map(|w| w[2] - w[0]).fold(0.0, f64::max);
    assert!((runner * scale - long).abs() < 0.1 * scale, "{} and {long}", runner * scale);
    let meets = |w: &&Vec<f64>| (w[1] - foot).abs() < 0.02 || (w[5] - top).abs() < 0.02;
    let gates = ways.iter().filter(meets).count();
    assert_eq!(gates as f64, estimate.gating.as_ref().expect("ingates").ways.ingates.si());
    let inside = |x: f64, y: f64| x >= 0.0 && y >= 0.0 && x <= sketch.width && y <= sketch.height;
    for mark in sketch.marks.iter().filter(|m| !m.path.contains('a')) {
        for pair in numbers(&mark.path).chunks(2) {
            assert!(inside(pair[0], pair[1]), "{mark:?} leaves the paper");
        }
    }
}

/// The views of a pattern are no larger than the 184 x 126 mm that are kept for them, to the 2 mm of a
/// line: 40 and 62 mm high beside each other would be too high at full size, 100 and 68 mm too wide.
#[test]
fn the_views_of_a_pattern_fit_on_their_sheet() {
    for (size, scale) in [("90 60 40", "1 : 1.5"), ("100 20 68", "1 : 1.5"), ("90 40 40", "1 : 1")]
    {
        let [l, w, d] = size.split(' ').collect::<Vec<_>>()[..] else { panic!("{size}") };
        let block = format!("block: {{length: {l} mm, width: {w} mm, height: {d} mm}}");
        let text = format!(
            "build: {{title: One block, begun: 2026-01-10}}
patterns: {{p: {{made-of: wood, in-cope: 0 mm}}}}
parts: {{a: {{casting: {{pattern: p, alloy: A356, shape: {{add: [{{{block}, at: [0, 0, 0]}}]}}}}}}}}
"
        );
        let made = made(text.into_bytes(), Vec::new());
        let casting = made.build.parts[0].casting.as_ref().expect("a casting");
        let estimate = made.estimates.castings[0].as_ref().expect("an estimate");
        let sheet = PatternPaper::new(&made.build, 0, (casting, estimate), Paper::A4);
        let drawing = sheet.drawing.expect("a drawing");
        assert_eq!(drawing.scale, scale, "{size}");
        assert!(drawing.width <= 186.0 && drawing.height <= 126.0, "{size}: {drawing:?}");
    }
}

#[test]
fn a_card_is_one_sheet_of_paper() {
    let made = folder("demo");
    let castings = made.castings();
    let html = made.cards(&castings, Paper::Letter).html().expect("a page");
    let Some((pages, ..)) = printed("mould cards as PDF on Letter", &html) else { return };
    assert!(pages <= 2 * castings.len(), "Letter: {pages}");
    let html = made.cards(&castings, Paper::A4).html().expect("a page");
    assert!(drawings(&html).len() >= castings.len());
    let Some((pages, size, texts)) = printed("mould cards as PDF", &html) else { return };
    assert!(pages <= 2 * castings.len(), "A4: {pages}");
    let texts: Vec<String> = texts.into_iter().filter(|t| t.contains("Mould card")).collect();
    assert_eq!(texts.len(), castings.len());
    // ISO 216 A4: 210 x 297 mm.
    assert!((size.0 - 595.3).abs() < 1.0 && (size.1 - 841.9).abs() < 1.0, "{size:?}");
    for (text, part) in texts.iter().zip(&castings) {
        let part = &made.build.parts[*part].given;
        assert!(text.contains(&*part.name), "{}: {text}", part.id);
        // What is rammed and written by is on the front.
        assert!(text.contains("Sprue") && text.contains("hours"), "{}: {text}", part.id);
    }
    let base = &texts[0];
    for words in ["large-box", "715", "Sprue", "1 : "] {
        assert!(base.contains(words), "{words} in {base}");
    }
}

/// What to lay on the cope is the most that may be needed, wherever the estimate has a number, else
/// a reason; the likely one by hand here: 1.5 x lift / g less the cope (the rule is cited by
/// `reckon mould-weight`).
#[test]
fn weights_are_told_in_numbers_at_their_safe_end() {
    use pourwright::figure::{Figure, Force};
    let made = folder("demo");
    let (mut held, mut laid) = (0, 0);
    for card in made.cards(&made.castings(), Paper::A4).cards {
        let estimate = made.estimates.castings[made.part(&card.id)].as_ref().expect("an estimate");
        // Of a flask that it shares the whole mould's.
        let part = made.part(&card.id);
        let mut shared = made.estimates.together.iter();
        let shared = shared.find(|t| t.fits() && t.parts.contains(&part));
        let loads = shared.map_or(&estimate.loads, |t| &t.loads);
        let of = |f: &Option<Figure<Force>>| f.as_ref().map_or(0.0, |f| f.si());
        let lift = of(&loads.cope_lift) + of(&loads.core_lift);
        let likely = 1.5 * lift / 9.80665 - loads.cope_mass.as_ref().map_or(0.0, |m| m.si());
        let weights = loads.weights.as_ref().expect("every mould of the demo can be reckoned");
        assert!((weights.si() - likely.max(0.0)).abs() < 0.01 * likely.abs() + 0.01, "{}", card.id);
        let (shown, says) = (card.weights.shown.expect("weights"), card.weights.says);
        if weights.high() <= 0.0 {
            held += 1;
            assert_eq!(shown, "none needed", "{}", card.id);
            assert!(says.contains("at least"), "{says}");
            continue;
        }
        laid += 1;
        let (number, unit) = shown.split_once('\u{a0}').expect("a number and its unit");
        let number: f64 = number.parse().expect("a number");
        let kg = if unit == "g" { number / 1e3 } else { number };
        assert!((kg - weights.high()).abs() < 0.01 * kg + 0.01, "{}: {shown}", card.id);
        assert!(says.contains("likely") || weights.high() == weights.si(), "{says}");
    }
    assert!(held + laid > 5 && laid > 0, "{held} {laid}");
}

#[test]
fn weights_that_cannot_be_reckoned_say_why() {
    let manifest = b"build:
  title: a bracket
  begun: 2026-01-05
patterns:
  bracket-pattern: {made-of: wood}
parts:
  bracket:
    casting: {pattern: bracket-pattern, alloy: A356, mass: 1 kg}
";
    let clock = NaiveDate::from_ymd_opt(2026, 11, 2).expect("a day");
    let today = pourwright::Today { asked: None, clock };
    let build = pourwright::read(manifest.to_vec(), Vec::new(), today).expect("a sound build");
    let estimates = pourwright::estimate::estimate(&build);
    let cards = MouldCards::new(&build, &estimates, &[0], Paper::A4);
    assert_eq!(cards.cards[0].weights.shown, None);
    assert_eq!(cards.cards[0].weights.says, "the pattern has no `size`");
    let html = cards.html().expect("a page");
    assert!(html.contains("the pattern has no <code>size</code>"), "told on the card");
}

#[test]
fn letter_is_the_paper_of_a_build_in_inches() {
    let made = folder("projects/filing-machine");
    let paper = Paper::of(made.build.header.units);
    assert_eq!(paper, Paper::Letter);
    let bought = purchases(&made.build, &made.bill, Wish::default());
    let html = OrderSheet::new(&made.build, &made.bill, &bought, paper).html().expect("a page");
    let Some((pages, size, texts)) = printed("order list as PDF", &html) else { return };
    assert_eq!(pages, 1);
    // ANSI/ASME Y14.1 size A: 8.5 x 11 in of 72 points.
    assert!((size.0 - 612.0).abs() < 1.0 && (size.1 - 792.0).abs() < 1.0, "{size:?}");
    assert!(texts[0].contains("lb") && !texts[0].contains(" kg"), "{}", texts[0]);
}

/// The options of `log poured`, by its own help.
fn asked() -> Vec<String> {
    let help = run(&["log", "poured", "--help"]);
    let text = String::from_utf8_lossy(&help.stdout).into_owned();
    let of_all = ["build", "today", "json", "width", "help", "version", "try-out"];
    let aside = ["says", "photo"];
    let words = text.lines().filter_map(|l| l.trim_start().strip_prefix("--"));
    let options = words.map(|l| l.split([' ', '=']).next().unwrap_or_default().to_owned());
    options.filter(|o| ![&of_all[..], &aside].concat().contains(&o.as_str())).collect()
}

#[test]
fn the_blanks_are_what_the_journal_asks() {
    let sheet = folder("demo").picked(&["ram-gib"]);
    let mut blanks: Vec<&str> = sheet.asks.iter().map(|a| a.option).collect();
    let mut asked = asked();
    assert!(asked.len() > 8, "{asked:?}");
    blanks.sort_unstable();
    asked.sort_unstable();
    asked.dedup();
    assert_eq!(blanks, asked);
}

#[test]
fn the_command_of_a_sheet_is_taken() {
    let dir = tempfile::tempdir().expect("a folder");
    for file in ["build.yaml", "journal.yaml"] {
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo").join(file);
        fs::copy(from, dir.path().join(file)).expect("a copy");
    }
    let build = dir.path().to_str().expect("text");
    let rammed = ["log", "rammed", "--mould", "M90", "--pattern", "rocker-pattern"];
    let rest = ["--casting", "rocker=1", "--at", "2026-07-08 09:00", "--build", build];
    let out = run(&[&rammed[..], &rest[..]].concat());
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let out = run(&["sheet", "heat", "--parts", "rocker", "--json", "--build", build]);
    let sheet: serde_json::Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let command = sheet["command"].as_str().expect("a command");
    assert!(command.contains("--mould M90") && command.contains("--alloy ZA-12"), "{command}");
    let mut filled = Vec::new();
    let mut option = "";
    for word in command.split(' ').skip(1) {
        let value = match option {
            "--at" => "2026-07-08 15:00",
            "--heat" => "H90",
            "--weather" => "dry, 20 C",
            "--charge" => "2 kg",
            "--temperature" => "510 C",
            "--melt-time" => "40 min",
            "--filled" => "5 s",
            _ => "1 kg",
        };
        filled.push(word.replace("____", value));
        option = if word.starts_with("--") { word } else { "" };
    }
    filled.extend(["--try-out", "--build", build].map(str::to_owned));
    let filled: Vec<&str> = filled.iter().map(String::as_str).collect();
    let out = run(&filled);
    assert!(out.status.success(), "{filled:?}: {}", String::from_utf8_lossy(&out.stderr));
    assert!(String::from_utf8_lossy(&out.stdout).contains("returns: 2 kg"));
}

#[test]
fn a_pour_sheet_adds_up_and_warns() {
    let made = folder("demo");
    let sheet = made.picked(&["base", "shaft-bracket"]);
    let kg = |id: &str| {
        let estimate = made.estimates.castings[made.part(id)].as_ref().expect("an estimate");
        estimate.mould.charge.as_ref().expect("a charge").si()
    };
    let shown = &sheet.charge.as_ref().expect("a charge").shown;
    let value: f64 = shown.split('\u{a0}').next().and_then(|v| v.parse().ok()).expect("kg");
    assert!((value - kg("base") - kg("shaft-bracket")).abs() < 0.06, "{shown}");
    assert_eq!(sheet.crucibles, ["aluminium-large"]);
    assert!(sheet.warnings.iter().any(|w| w.contains("crucible with tongs")));
    let html = sheet.html().expect("a page");
    for words in ["Water near metal", "Fuel and flame", "Molten metal", "Lifting", "Silica dust"] {
        assert!(html.contains(words), "{words}");
    }
    assert!(!html.contains("Zinc fume"), "nothing in A356 gives off zinc");
    let bronze = made.picked(&["crank-block"]).html().expect("a page");
    assert!(bronze.contains("Zinc fume"));
    let Some((pages, _, texts)) = printed("pour sheet as PDF", &html) else { return };
    assert!(pages <= 4, "two sheets, both sides: {pages}");
    let text = texts.join("\n");
    let charge = shown.split('\u{a0}').next().unwrap_or_default();
    for words in [charge, "aluminium-large", "1 × Base", "Countershaft", "--melt-time"] {
        assert!(text.contains(words), "{words} in {text}");
    }
}

/// What the pot takes is one number on the sheet, the safe one: in its head and where the charge may
/// be more.
#[test]
fn a_pot_that_may_be_too_small_is_told_by_its_safe_end() {
    let made = folder("demo");
    let sheet = made.picked(&["bull-gear", "rocker", "clapper-box"]);
    let safe = sheet.holds.as_ref().and_then(|h| h.safe.clone()).expect("a safe end");
    let told = sheet.warnings.iter().find(|w| w.contains("at its working fill"));
    let told = told.expect("a word on the charge").replace('\u{a0}', " ");
    let safe = safe.replace('\u{a0}', " ");
    assert!(told.contains(&format!("holds {safe}")), "{told} for {safe}");
}

#[test]
fn one_melt_is_of_one_alloy() {
    let made = folder("demo");
    let parts = [made.part("base"), made.part("ram")];
    let says =
        Pour::picked(&made.build, &made.estimates, &parts).expect_err("two alloys").to_string();
    assert!(says.contains("A356") && says.contains("ZA-12"), "{says}");
    for (arguments, says) in [
        (["heat", "--parts", "base,ram"], "one melt is of one alloy"),
        (["heat", "--parts", "motor"], "not cast"),
        (["mould", "baes", "--json"], "did you mean `base`?"),
        (["heat", "H1", "--json"], "was poured on 2026-03-07"),
        (["heat", "H99", "--json"], "no heat H99 is planned"),
    ] {
        let out = run(&[&["sheet", "--build", "demo"], &arguments[..]].concat());
        let told = String::from_utf8_lossy(&out.stderr);
        assert_eq!(out.status.code(), Some(2), "{told}");
        assert!(told.contains(says), "{told}");
    }
}

/// A schedule as a planner would give it: one heat of two moulds.
fn scheduled(made: &mut Made) {
    let at = |hour| -> NaiveDateTime {
        let day = NaiveDate::from_ymd_opt(2026, 7, 11).expect("a day");
        day.and_hms_opt(hour, 0, 0).expect("an hour")
    };
    let mould = |part: usize| {
        let estimate = made.estimates.castings[part].as_ref().expect("an estimate");
        PlannedMould {
            part,
            nth: 1,
            castings: estimate.mould.cavities,
            flask: Some("small-box".into()),
            poured: estimate.mould.poured.clone(),
            charge: estimate.mould.charge.clone(),
            sand: estimate.mould.sand.clone(),
            rammed: at(9),
            shaken_out: at(18),
            heat: 0,
            others: Vec::new(),
            standing: None,
            again: false,
        }
    };
    let moulds = vec![mould(made.part("tool-swivel")), mould(made.part("tool-slide"))];
    let charges: Vec<_> = moulds.iter().filter_map(|m| m.charge.clone()).collect();
    made.plan.schedule.heats = vec![PlannedHeat {
        hands: 1,
        hot: false,
        lifts: Vec::new(),
        name: "H12".into(),
        alloy: "ZA-12".into(),
        crucibles: vec!["zinc-pot".into()],
        furnace: "drum-furnace".into(),
        lit: at(13),
        pour: at(15),
        over: at(16),
        moulds: vec![1, 0],
        charge: Figure::sum("charge", &charges),
        heels: Vec::new(),
        people: None,
    }];
    made.plan.schedule.moulds = moulds;
    made.plan.schedule.finish = Some(at(20));
}

#[test]
fn a_planned_heat_has_its_sheet() {
    let mut made = folder("demo");
    scheduled(&mut made);
    let pour = Pour::planned(&made.build, &made.plan.schedule, "H12").expect("a heat");
    let sheet = HeatSheet::new(&made.build, &made.estimates, &pour, Paper::A4);
    assert_eq!(sheet.heat.as_deref(), Some("H12"));
    assert_eq!(sheet.day.as_deref(), Some("2026-07-11"));
    assert_eq!(sheet.pour.as_deref(), Some("15:00"));
    let names: Vec<&str> = sheet.moulds.iter().map(|m| &*m.name).collect();
    let of = |id: &str| &*made.build.parts[made.part(id)].given.name;
    assert_eq!(names, [of("tool-slide"), of("tool-swivel")], "in the order of the plan");
    assert!(sheet.command.contains("--heat H12 --alloy ZA-12 --crucible zinc-pot"));
    let Made { build, plan, bill, .. } = &made;
    let wall = BuildSheet::new(build, plan, bill, Paper::A4).html().expect("a page");
    assert!(wall.contains("H12") && wall.contains("2026-07-11"));
    let Some((pages, _, _)) = printed("the build on one page as PDF", &wall) else { return };
    assert_eq!(pages, 1);
}

#[test]
fn the_heel_is_told_where_it_is_left_and_where_it_is_charged() {
    let mut made = folder("demo");
    scheduled(&mut made);
    let estimate = made.estimates.castings[made.part("tool-slide")].as_ref();
    let left = estimate.and_then(|e| e.size.rough_mass.clone()).expect("any mass");
    let kept = |from: Option<&str>, to: Option<&str>| Heel {
        crucible: "zinc-pot".into(),
        left: left.clone(),
        from: from.map(Into::into),
        to: to.map(Into::into),
    };
    let after =
        ["Gas stays on, fire watched, for <bdi>H13</bdi>", "Gas shut at the bottle, pot empty"];
    for (heel, words, [after, never], asks) in [
        (
            kept(None, Some("H13")),
            ["of the charge is heel", "on the fire, molten, for <bdi>H13</bdi>"],
            after,
            "left in the pot",
        ),
        (
            kept(Some("H11"), None),
            [
                "molten from <bdi>H11</bdi>: write it down with the returns",
                "pigged while it is hot",
            ],
            [after[1], after[0]],
            "left in the pot, pigged",
        ),
    ] {
        made.plan.schedule.heats[0].heels = vec![heel];
        let pour = Pour::planned(&made.build, &made.plan.schedule, "H12").expect("a heat");
        let sheet = HeatSheet::new(&made.build, &made.estimates, &pour, Paper::A4);
        let ask = sheet.asks.iter().find(|a| a.option == "heel").expect("a blank");
        let told = pourwright::view::heat::HeatDetail::new(&made.build, &made.estimates, &pour);
        let at = |heat: &Option<pourwright::manifest::Id>| heat.as_ref().map(ToString::to_string);
        let heel = (&told.heels[0].from, &told.heels[0].to);
        assert_eq!(heel, (&at(&pour.heels[0].from), &at(&pour.heels[0].to)));
        assert_eq!(ask.says, asks);
        let html = sheet.html().expect("a page");
        for word in words.into_iter().chain([after]) {
            assert!(html.contains(word), "`{word}`");
        }
        assert!(!html.contains(never), "`{never}`");
        let name = "a pour sheet with a heel as PDF";
        let Some((pages, _, texts)) = printed(name, &html) else { continue };
        assert!(pages <= 4, "two sheets, both sides: {pages}");
        assert!(texts.concat().contains("of heel"), "{texts:?}");
    }
}

#[test]
fn files_are_written_where_they_are_expected() {
    let dir = tempfile::tempdir().expect("a folder");
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("projects/filing-machine/build.yaml");
    fs::copy(from, dir.path().join("build.yaml")).expect("a copy");
    let build = dir.path().to_str().expect("text");
    for (arguments, file) in [
        (vec!["sheet", "order"], "sheet-order.html"),
        (vec!["sheet", "build"], "sheet-build.html"),
        (vec!["sheet", "mould", "base"], "sheet-mould-base.html"),
        (vec!["sheet", "pattern", "base"], "sheet-pattern-base.html"),
        (vec!["sheet", "heat", "--parts", "base"], "sheet-heat-base.html"),
    ] {
        let out = run(&[&arguments[..], &["--build", build]].concat());
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        let path: PathBuf = dir.path().join(file);
        let html = fs::read_to_string(&path).expect(file);
        assert!(html.contains("size:letter"), "{file}");
        // No address of any scheme, and the browser is told to fetch none.
        assert!(!html.contains("://") && html.contains("default-src 'none'"), "{file}");
        assert!(!html.contains("<script"), "{file}");
    }
}

/// A run of text on a printed page: its size, its left and right edge, points.
#[derive(Debug)]
struct Run {
    size: f64,
    edges: [f64; 2],
    text: String,
}

/// The runs of text of each page, as poppler reads the PDF that a browser prints.
fn runs(test: &str, html: &str) -> Option<Vec<Vec<Run>>> {
    let folder = tempfile::tempdir().expect("a folder");
    let pdf = pdf_of(test, html, folder.path())?;
    let xml = poppler("pdftohtml", &["-xml", "-stdout", "-zoom", "1", "-i"], &pdf);
    let value = |line: &str, name: &str| -> Option<f64> {
        let rest = line.split_once(&format!(" {name}=\""))?.1;
        rest.split('"').next()?.parse().ok()
    };
    let (mut pages, mut fonts) = (Vec::new(), std::collections::HashMap::new());
    for line in xml.lines().map(str::trim) {
        if line.starts_with("<page") {
            pages.push(Vec::new());
        } else if line.starts_with("<fontspec") {
            let id = value(line, "id").expect("an id") as usize;
            fonts.insert(id, value(line, "size").expect("a size"));
        } else if let (Some(font), Some(page)) = (value(line, "font"), pages.last_mut()) {
            let (left, width) = (value(line, "left"), value(line, "width"));
            let (left, width) = (left.expect("an edge"), width.expect("a width"));
            let text = line.split_once('>').map_or("", |(_, text)| text);
            let size = fonts[&(font as usize)];
            page.push(Run { size, edges: [left, left + width], text: text.to_owned() });
        }
    }
    Some(pages)
}

/// What is read beside the furnace is large: 14 points what the hands work by, 12 a caution, 10
/// all else but the letters of a drawing; nothing lies outside the paper.
#[test]
fn sheets_are_read_at_arms_length() {
    for build in ["demo", "projects/filing-machine"] {
        let made = folder(build);
        let paper = Paper::of(made.build.header.units);
        let width = if paper == Paper::A4 { 595.0 } else { 612.0 };
        let parts = made.castings();
        let pour = Pour::picked(&made.build, &made.estimates, &parts[..1]).expect("one alloy");
        let heat = HeatSheet::new(&made.build, &made.estimates, &pour, paper).html();
        let cards = made.cards(&parts[..2], paper).html();
        for (sheet, html) in [("heat", heat), ("mould", cards)] {
            let html = html.expect("a page");
            let Some(pages) = runs("type sizes of printed sheets", &html) else { return };
            for run in pages.iter().flatten() {
                let drawn = sheet == "mould" && run.size >= 8.0;
                assert!(run.size >= 10.0 || drawn, "{build} {sheet}: {run:?}");
                assert!(run.edges[0] >= 20.0 && run.edges[1] <= width - 20.0, "{sheet}: {run:?}");
            }
            let sized = |words: &str| {
                let found = pages.iter().flatten().find(|r| r.text.contains(words));
                found.unwrap_or_else(|| panic!("{build} {sheet}: no `{words}`")).size
            };
            if sheet == "heat" {
                for words in ["Face shield", "Skimmed", "not before", "Pot without cracks"] {
                    assert!(sized(words) >= 14.0, "{words}: {}", sized(words));
                }
                assert!(sized("Molten metal") >= 12.0);
            }
        }
    }
}

/// One time before which a mould is not opened, on card, pour sheet and in the estimate: its
/// longest, so that nobody opens it by the likely one.
#[test]
fn a_mould_has_one_time_before_which_it_is_not_opened() {
    let mut shared = 0;
    for build in ["demo", "projects/bench-shaper", "projects/filing-machine"] {
        let made = folder(build);
        for part in made.castings() {
            let estimate = made.estimates.castings[part].as_ref().expect("an estimate");
            let Some(time) = &estimate.not_before else { continue };
            let frozen = estimate.freezing.shake_out_after.as_ref();
            assert!(frozen.is_none_or(|t| t.high() <= time.si()));
            let card = &made.cards(&[part], Paper::A4).cards[0];
            let on_card = card.not_before.clone();
            // The card of a shared mould tells the time of the casting that takes longest.
            let own = [part];
            let together = made.estimates.together.iter().find(|t| t.parts.contains(&part));
            let held = together.map_or(&own[..], |t| &t.parts);
            let time = |i: &usize| {
                let estimate = made.estimates.castings[*i].as_ref();
                estimate.and_then(|e| e.not_before.as_ref()).map_or(0.0, |t| t.high())
            };
            let longest = held.iter().max_by(|a, b| time(a).total_cmp(&time(b)));
            shared += usize::from(longest != Some(&part));
            let longest = [*longest.expect("a casting")];
            let pour = Pour::picked(&made.build, &made.estimates, &longest).expect("one alloy");
            let sheet = HeatSheet::new(&made.build, &made.estimates, &pour, Paper::A4);
            let on_sheet = sheet.moulds[0].not_before.clone();
            assert!(on_card.is_some(), "{build} {}", card.id);
            assert_eq!(on_card, on_sheet, "{build} {}", card.id);
            let html = sheet.html().expect("a page");
            let told = format!("not before <strong>{}</strong>", on_card.unwrap_or_default());
            assert!(html.contains(&told), "{build} {}: {told}", card.id);
        }
    }
    assert!(shared > 0, "no casting lies beside one that takes longer");
}

/// What goes into the melt beside metal is that of the moulds, added up, as the bill takes it.
#[test]
fn a_pour_sheet_weighs_out_the_fluxes() {
    let made = folder("demo");
    let sheet = made.picked(&["base", "shaft-bracket"]);
    let kg = |id: &str| {
        let estimate = made.estimates.castings[made.part(id)].as_ref().expect("an estimate");
        estimate.mould.charge.as_ref().expect("a charge").si()
    };
    // 0.2 % of the charge, p-met.com and ladleadd.com.
    let grams = 2.0 * (kg("base") + kg("shaft-bracket"));
    let degas = sheet.fluxes.iter().find(|f| f.title.contains("Degassing")).expect("tablets");
    let shown: f64 = degas.mass.shown.split('\u{a0}').next().expect("g").parse().expect("g");
    assert!((shown - grams).abs() < 0.01 * grams + 0.5, "{} g, {}", grams, degas.mass.shown);
    assert!(degas.how.as_ref().is_some_and(|how| how.contains("min")));
}

#[test]
fn a_heat_without_a_name_is_the_next() {
    let dir = tempfile::tempdir().expect("a folder");
    for file in ["build.yaml", "journal.yaml"] {
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo").join(file);
        fs::copy(from, dir.path().join(file)).expect("a copy");
    }
    let build = dir.path().to_str().expect("text");
    let json = |words: &[&str]| -> serde_json::Value {
        let out = run(&[words, &["--json", "--build", build]].concat());
        serde_json::from_slice(&out.stdout).expect("JSON")
    };
    let next = json(&["heats"])["heats"][0]["heat"].clone();
    assert!(next.is_string(), "{next}");
    assert_eq!(json(&["sheet", "heat"])["heat"], next);
}

/// All that a practitioner needs to begin the surface grinder with an empty shop, by supplier, with
/// days, on one list that adds up.
#[test]
fn the_order_for_a_grinder_from_an_empty_shop_lists_all_it_takes() {
    use rust_decimal::Decimal;
    let text = fs::read_to_string("projects/surface-grinder/build.yaml").expect("a build");
    let stock =
        text.find("  stock:\n").expect("stock")..text.find("\npatterns:").expect("patterns");
    let text = (text[..stock.start].to_owned() + &text[stock.end..])
        .replace("on-hand: 420 kg", "on-hand: 0 kg");
    let day = NaiveDate::from_ymd_opt(2026, 1, 17).expect("a day");
    let today = pourwright::Today { asked: Some(day), clock: day };
    let build = pourwright::read(text.into_bytes(), Vec::new(), today).expect("a sound build");
    let of = job::plan(job::estimate(build), None, None, &mut |_, _| false);
    let bill = job::supply(&of);
    assert!(bill.left_out.is_empty(), "an empty heap stops no mould: {:?}", bill.left_out);
    let bought = job::purchases(&of, &bill, Wish::default());
    let sheet = OrderSheet::new(&of.build, &bill, &bought, Paper::A4);
    let lines = || sheet.orders.iter().flat_map(|o| &o.lines);
    for id in [
        "A356",
        "ZA-12",
        "C905",
        "C932",
        "sand",
        "bentonite",
        "propane",
        "degasser",
        "aluminium-flux",
        "zinc-flux",
        "copper-flux",
        "phosphor-copper",
        "parting-powder",
        "vent-wire",
        "thermocouple-tip",
        "pattern-board",
        "pattern-varnish",
        "face-shield",
        "foundry-gloves",
        "leather-apron",
        "spindle",
        "balancing-stand",
        "motor",
        "magnetic-chuck",
        "fasteners",
    ] {
        let line = lines().find(|l| l.id == *id).unwrap_or_else(|| panic!("no {id}"));
        assert!(line.by.is_some() && line.price.is_some(), "{id}: {line:?}");
    }
    // Every supplier has a day, the first comes first, and each order adds up as it is printed.
    let days: Vec<_> = sheet.orders.iter().filter(|o| o.supplier.is_some()).collect();
    assert!(days.len() >= 7 && days.iter().all(|o| o.order_by.is_some()));
    assert!(days.windows(2).all(|d| d[0].order_by <= d[1].order_by));
    let money = |text: &String| -> Decimal {
        text.strip_suffix(" EUR").expect("a price").parse().expect("a price")
    };
    let mut all = Decimal::ZERO;
    for order in &sheet.orders {
        let lines = order.lines.iter().filter_map(|l| l.price.as_ref());
        let sum: Decimal = lines.chain(&order.delivery).chain(&order.tax).map(money).sum();
        assert_eq!(Some(sum), order.total.as_ref().map(money), "{:?}", order.supplier);
        all += sum;
    }
    assert_eq!(sheet.total.as_ref().map(money), Some(all));
    assert!(!sheet.unpriced);
    // What there is of a pack covers what is needed: 2 x 1 L of varnish for 1.6 kg.
    let varnish = lines().find(|l| l.id == "pattern-varnish").expect("varnish");
    assert_eq!((&*varnish.amount, &*varnish.needed), ("2 × 1 L", "1.6 kg"));
}
