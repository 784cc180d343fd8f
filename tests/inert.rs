//! Names that no builder would choose: on every page they are text and nothing else.

#[path = "common/browser.rs"]
mod browser;

use pourwright::Today;
use pourwright::estimate::{CastingEstimate, Estimates};
use pourwright::model::{Build, Casting};
use pourwright::plan::Pour;
use pourwright::risk::{Attempts, Percentile, Risk, Spread};
use pourwright::supply::Wish;
use pourwright::view::page::Unfilled;
use pourwright::view::report::{Extras, report_with};
use pourwright::view::sheet::{BuildSheet, HeatSheet, MouldCards, OrderSheet, Paper, PatternPaper};
use std::path::Path;
use std::process::Command;
use std::sync::OnceLock;

const NAMES: [(&str, &str); 7] = [
    ("tags", "<script>alert(1)</script><img src=x onerror=alert(2)><svg onload=alert(3)>"),
    ("quotes", "\"'`--></title></style><style>*{display:none}</style>&amp;{{ 7*7 }}{% raw %}"),
    (
        "rtl",
        "\u{202e}evil\u{202c} \u{5d2}\u{5dc}\u{5d2}\u{5dc} \u{645}\u{631}\u{62d}\u{628}\u{627}",
    ),
    ("emoji", "\u{1f525}\u{1f468}\u{200d}\u{1f3ed} crank \u{0} \u{7}]]>"),
    ("formula", "=HYPERLINK(\"http://evil.example\",\"+cmd|' /C calc'!A0\")"),
    ("address", "javascript:alert(1) url(http://evil.example/x) @import 'http://evil.example'"),
    ("long", "W"),
];

/// The first part's casting and its estimate.
fn first<'a>(build: &'a Build, estimates: &'a Estimates) -> (&'a Casting, &'a CastingEstimate) {
    let casting = build.parts[0].casting.as_ref().expect("it is cast");
    (casting, estimates.castings[0].as_ref().expect("an estimate"))
}

fn quoted(text: &str) -> String {
    serde_json::to_string(&text.replace(['\u{0}', '\u{7}'], "")).expect("JSON is YAML")
}

fn name(text: &str) -> String {
    if text == "W" { "W".repeat(300) } else { text.to_owned() }
}

fn hostile() -> Build {
    let mut parts = String::new();
    let mut patterns = String::new();
    for (id, text) in NAMES {
        let text = quoted(&name(text));
        parts += &format!(
            "  {id}:\n    name: {text}\n    notes: {text}\n    casting: {{pattern: p-{id}, alloy: C932, wall: 12 mm, shape: {{add: [{{plate: {{length: 110 mm, width: 80 mm, thickness: 24 mm}}, as: {text}}}]}}, machined: 40 cm2}}\n"
        );
        patterns += &format!("  p-{id}: {{size: 120 x 90 x 30 mm, in-cope: 0 mm}}\n");
    }
    let tags = quoted(NAMES[0].1);
    let manifest = format!(
        "build: {{title: {tags}, notes: {tags}, begun: 2026-01-01, currency: {tags}}}\nshop:\n  people:\n    me: {{hours: {{sat: 6 h}}}}\n  furnaces:\n    drum: {{fuel: propane, efficiency: 8..15 %}}\n  crucibles:\n    pot: {{holds: 1 L, working-fill: 75 %, family: copper, mass: 1.4 kg}}\n  flasks:\n    box: {{inside: 320 x 260 mm, cope: 100 mm, drag: 100 mm}}\n  sand: {{kind: green-sand}}\npatterns:\n{patterns}parts:\n{parts}  bolts: {{name: {tags}, bought: {{price: 4.20, supplier: {tags}, delivery: 9 d}}, needs: [tags, quotes, long]}}\n"
    );
    let (mould, heat) = (quoted("<M1>"), quoted("\"H1'"));
    let quotes = quoted(NAMES[1].1);
    let journal = format!(
        "---\nid: a\nat: 2026-02-01 10:00\nrammed: {{mould: {mould}, pattern: p-tags, castings: {{tags: 1}}}}\n---\nid: b\nat: 2026-02-01 12:00\npoured: {{heat: {heat}, alloy: C932, charge: {{ingot: 3 kg}}, moulds: [{mould}], weather: {tags}}}\n---\nid: c\nat: 2026-02-01 14:00\nshaken-out: {{mould: {mould}}}\n---\nid: d\nat: 2026-02-01 15:00\ninspected: {{mould: {mould}, part: tags, pieces: 1, disposition: scrap, blemishes: [{{class: B100, where: {tags}}}], says: {quotes}}}\n---\nid: e\nat: 2026-02-02 15:00\nnote: {{says: {tags}}}\n---\nid: f\nat: 2026-02-03 15:00\nrammed: {{mould: {quotes}, pattern: p-quotes, castings: {{quotes: 1}}}}\n"
    );
    let clock = "2026-11-02".parse().expect("a day");
    pourwright::read(manifest.into_bytes(), journal.into_bytes(), Today { asked: None, clock })
        .unwrap_or_else(|faults| panic!("{faults:#?}"))
}

/// Every page of the hostile build, made once for all tests.
fn pages() -> &'static [(&'static str, String)] {
    static MADE: OnceLock<Vec<(&str, String)>> = OnceLock::new();
    MADE.get_or_init(made)
}

fn made() -> Vec<(&'static str, String)> {
    let build = hostile();
    let estimates = pourwright::estimate::estimate(&build);
    let plan = pourwright::plan::plan(&build, &estimates);
    let bill = pourwright::supply::bill(&build, &estimates, &plan.schedule);
    let all: Vec<usize> = (0..NAMES.len()).collect();
    let pour = Pour::picked(&build, &estimates, &all).expect("one alloy");
    let day = |d: u32| chrono::NaiveDate::from_ymd_opt(2026, 11, d).expect("a day");
    let by = |share: f64, d: u32| Percentile { share, value: day(d), low: day(d), high: day(d) };
    let amount = |share: f64| Percentile { share, value: 9.0, low: 8.0, high: 10.0 };
    let risk = Risk {
        replays: 64,
        seed: 1,
        finish: vec![by(0.1, 4), by(0.5, 9), by(0.8, 12), by(0.9, 17)],
        amounts: vec![Spread {
            of: NAMES[0].1.into(),
            what: pourwright::estimate::Gone::Charged,
            kind: pourwright::figure::Kind::Mass,
            planned: 7.0,
            told: [0.1, 0.5, 0.8, 0.9].map(amount).into(),
        }],
        drivers: Vec::new(),
        attempts: (0..NAMES.len())
            .map(|part| Attempts { part, moulds: 1.5, least: 1, allow: [1, 2], lost: 0.5 })
            .collect(),
        weeks: vec![(day(2), 30), (day(9), 34)],
        classes: Vec::new(),
        lost: 3.5,
    };
    let learned = pourwright::learn::learn(&build, &estimates);
    let purchases = pourwright::supply::purchases(&build, &bill, Wish::default());
    let extras =
        Extras { risk: Some(risk), learned, purchases: purchases.clone(), ..Extras::default() };
    let made = |html: Result<String, Unfilled>| html.expect("the template takes the view");
    vec![
        ("report", made(report_with(&build, &estimates, &plan, &bill, &extras))),
        ("mould", made(MouldCards::new(&build, &estimates, &all, Paper::A4).html())),
        (
            "pattern",
            made(PatternPaper::new(&build, 0, first(&build, &estimates), Paper::A4).html()),
        ),
        ("heat", made(HeatSheet::new(&build, &estimates, &pour, Paper::Letter).html())),
        ("order", made(OrderSheet::new(&build, &bill, &purchases, Paper::A4).html())),
        ("build", made(BuildSheet::new(&build, &plan, &bill, Paper::A4).html())),
    ]
}

#[test]
fn names_are_text_on_every_page() {
    for (page, html) in pages() {
        for raw in ["<script>alert", "<img", "<svg onload", "<M1>", "<style>*", "\u{202e}", "-->"] {
            assert!(!html.contains(raw), "{page}: {raw} stands raw in the page");
        }
        assert!(html.contains("&lt;script&gt;alert(1)"), "{page}: the name is shown all the same");
        assert!(!html.contains("49{%"), "{page}: what looks like a template is text");
        assert_eq!(html.matches("<style>").count(), 1, "{page}");
        let scripts = if *page == "report" { 1 } else { 0 };
        assert_eq!(html.matches("<script").count(), scripts, "{page}");
    }
}

/// What a page may load and run is told before anything else of it (CSP level 3): nothing from
/// elsewhere, and on a sheet no script at all.
#[test]
fn every_page_has_a_policy_and_sheets_run_nothing() {
    for (page, html) in pages() {
        let policies: Vec<&str> =
            html.split("<meta http-equiv=\"Content-Security-Policy\" content=\"").collect();
        assert_eq!(policies.len(), 2, "{page}");
        assert!(!policies[0].contains("<style") && !policies[0].contains("<script"), "{page}");
        let policy = policies[1].split('"').next().unwrap_or_default();
        assert!(
            policy.starts_with("default-src 'none'; img-src data:; style-src"),
            "{page}: {policy}"
        );
        assert_eq!(policy.contains("script-src"), *page == "report", "{page}: {policy}");
        assert!(!policy.contains("http") && !policy.contains('*'), "{page}: {policy}");
    }
}

#[test]
fn every_drawing_is_xml() {
    for (page, html) in pages() {
        let mut seen = 0;
        for rest in html.split("<svg").skip(1) {
            let svg = format!("<svg{}</svg>", rest.split("</svg>").next().unwrap_or_default());
            let mut reader = quick_xml::Reader::from_str(&svg);
            reader.config_mut().check_end_names = true;
            loop {
                match reader.read_event() {
                    Ok(quick_xml::events::Event::Eof) => break,
                    Ok(
                        quick_xml::events::Event::Start(tag) | quick_xml::events::Event::Empty(tag),
                    ) => {
                        for attribute in tag.attributes() {
                            let attribute =
                                attribute.unwrap_or_else(|e| panic!("{page}: {e}: {svg}"));
                            let key: &str = attribute.key.as_ref();
                            assert!(!key.starts_with("on"), "{page}: {key}");
                        }
                    }
                    Ok(_) => {}
                    Err(error) => panic!("{page}: {error}: {svg}"),
                }
            }
            seen += 1;
        }
        assert!(seen > 0 || ["heat", "order"].contains(page), "{page} has no drawing");
    }
}

#[test]
fn a_browser_finds_nothing_on_the_sheets() {
    let named = |name: &str| std::env::var_os(name);
    let (Some(checks), Some(_)) = (named("POURWRIGHT_PAGE"), named("POURWRIGHT_CHROMIUM")) else {
        eprintln!(
            "left out: hostile pages in a browser: POURWRIGHT_PAGE and POURWRIGHT_CHROMIUM are not set"
        );
        return;
    };
    let folder = tempfile::tempdir().expect("a folder");
    let mut command = Command::new("node");
    command.arg(Path::new(&checks).join("check.mjs"));
    if let Some(shots) = named("POURWRIGHT_SHOTS") {
        command.arg("--shot").arg(shots);
    }
    // The report of a hostile build stands before the browser in tests/report.rs.
    let pages: Vec<_> = pages().iter().filter(|(name, _)| *name != "report").collect();
    for (name, html) in &pages {
        let file = folder.path().join(format!("hostile-{name}.html"));
        std::fs::write(&file, html).expect("a page");
        command.arg(file);
    }
    browser::finds_nothing(command, pages.len() * 6);
}
