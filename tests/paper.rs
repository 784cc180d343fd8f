//! Every sheet of the four shipped builds on both papers, as the PDF that a browser prints: sizes of
//! type, edges, what stands together, and the one time before which a mould is opened.

use pourwright::job::{self, Planned};
use pourwright::plan::Pour;
use pourwright::supply::Wish;
use pourwright::view::page::Unfilled;
use pourwright::view::sheet::{BuildSheet, HeatSheet, MouldCards, OrderSheet, Paper};
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const BUILDS: [&str; 4] =
    ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"];

fn planned(name: &str) -> Planned {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(name);
    let read = |name: &str| fs::read(folder.join(name));
    let clock = chrono::NaiveDate::from_ymd_opt(2026, 11, 2).expect("a day");
    let today = pourwright::Today { asked: None, clock };
    let (manifest, journal) = (read("build.yaml").expect("one"), read("journal.yaml"));
    let build = pourwright::read_beside(manifest, journal.unwrap_or_default(), today, &read);
    job::plan(job::estimate(build.expect("a sound build")), None, None, &mut |_, _| true)
}

/// The pour sheets of all heats of the plan.
fn heats(of: &Planned, paper: Paper) -> Vec<HeatSheet> {
    let heats = of.plan.schedule.heats.iter();
    heats
        .map(|heat| {
            let pour = Pour::planned(&of.build, &of.plan.schedule, &heat.name).expect("a heat");
            HeatSheet::new(&of.build, &of.estimates, &pour, paper)
        })
        .collect()
}

fn between<'a>(text: &'a str, from: &str, to: &str) -> Vec<&'a str> {
    text.split(from).skip(1).map(|rest| rest.split(to).next().unwrap_or_default()).collect()
}

/// Pages of one style as one page.
fn together(pages: &[String]) -> String {
    let first = &pages[0];
    let head = first.split("<article").next().unwrap_or_default();
    let articles = pages.iter().flat_map(|page| between(page, "<article", "</article>"));
    let articles: String = articles.map(|a| format!("<article{a}</article>\n")).collect();
    format!("{head}{articles}</main></body></html>")
}

/// A run of text: its size, its edges (left, top, right, bottom), points.
#[derive(Debug)]
struct Run {
    size: f64,
    edges: [f64; 4],
    text: String,
}

/// A page: width, height, runs of text.
type Page = ([f64; 2], Vec<Run>);

/// The pages of a PDF.
fn read(pdf: &Path) -> Vec<Page> {
    let mut command = Command::new("pdftohtml");
    let out = command.args(["-xml", "-stdout", "-zoom", "1", "-i"]).arg(pdf).output();
    let xml = String::from_utf8_lossy(&out.expect("poppler runs").stdout).into_owned();
    let value = |line: &str, name: &str| -> Option<f64> {
        let rest = line.split_once(&format!(" {name}=\""))?.1;
        rest.split('"').next()?.parse().ok()
    };
    let (mut pages, mut fonts) = (Vec::new(), HashMap::new());
    for line in xml.lines().map(str::trim) {
        let at = |name: &str| value(line, name).unwrap_or_else(|| panic!("{name} in {line}"));
        if line.starts_with("<page") {
            pages.push(([at("width"), at("height")], Vec::new()));
        } else if line.starts_with("<fontspec") {
            fonts.insert(at("id") as usize, at("size"));
        } else if line.starts_with("<text") {
            let (left, top) = (at("left"), at("top"));
            let edges = [left, top, left + at("width"), top + at("height")];
            let text = line.split_once('>').map_or("", |(_, text)| text);
            let size = fonts[&(at("font") as usize)];
            if let Some((_, runs)) = pages.last_mut() {
                runs.push(Run { size, edges, text: unmarked(text) });
            }
        }
    }
    pages
}

/// A text without its marks and blanks: a browser breaks lines where it likes.
fn unmarked(text: &str) -> String {
    let mut out = String::new();
    let mut inside = false;
    for sign in text.chars() {
        match sign {
            '<' => inside = true,
            '>' => inside = false,
            _ if !inside => out.push(sign),
            _ => {}
        }
    }
    // Letters that a font joins are one sign in a PDF.
    let joined = [("\u{fb00}", "ff"), ("\u{fb01}", "fi"), ("\u{fb02}", "fl"), ("\u{fb03}", "ffi")];
    let coded = [
        ("&nbsp;", " "),
        ("&amp;", "&"),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&#x27;", "'"),
        ("&quot;", "\""),
    ];
    for (code, sign) in joined.into_iter().chain(coded) {
        out = out.replace(code, sign);
    }
    out.retain(|c| !c.is_whitespace());
    out
}

/// Prints pages by one browser, and reads them.
fn printed(pages: &[(String, String)]) -> Option<Vec<Vec<Page>>> {
    let named = |name: &str| std::env::var_os(name);
    let (Some(packages), Some(_)) = (named("POURWRIGHT_PAGE"), named("POURWRIGHT_CHROMIUM")) else {
        eprintln!("left out: sheets as PDF: POURWRIGHT_PAGE and POURWRIGHT_CHROMIUM are not set");
        return None;
    };
    if Command::new("pdftohtml").arg("-v").output().is_err() {
        eprintln!("left out: sheets as PDF: there is no pdftohtml");
        return None;
    }
    let own = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/page/print.mjs");
    let script = Path::new(&packages).join("print.mjs");
    fs::copy(own, &script).expect("a copy");
    let folder = tempfile::tempdir().expect("a folder");
    let to = named("POURWRIGHT_SHOTS").map_or(folder.path().to_owned(), PathBuf::from);
    fs::create_dir_all(&to).expect("a folder");
    let files: Vec<PathBuf> =
        pages.iter().map(|(name, _)| to.join(format!("{name}.html"))).collect();
    for (file, (_, html)) in files.iter().zip(pages) {
        fs::write(file, html).expect("a page");
    }
    let out = Command::new("node").arg(script).args(&files).output().expect("node runs");
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    Some(files.iter().map(|file| read(&file.with_extension("pdf"))).collect())
}

/// Nothing is too small or off the paper.
fn legible(name: &str, (size, runs): &Page, letters: f64) {
    for run in runs {
        assert!(run.size >= letters, "{name}: {run:?}");
        let [left, top, right, bottom] = run.edges;
        let inside =
            left >= 20.0 && top >= 15.0 && right <= size[0] - 20.0 && bottom <= size[1] - 15.0;
        assert!(inside, "{name}: {run:?} on {size:?}");
    }
}

/// What stands in a list of boxes to tick stands on one page.
fn lists_hold_together(name: &str, html: &str, pages: &[String]) {
    for list in between(html, "<ul class=\"ticks", "</ul>") {
        let lines: Vec<String> = between(list, "<li>", "</li>").into_iter().map(unmarked).collect();
        let whole = |page: &&String| lines.iter().all(|line| page.contains(line.as_str()));
        assert!(pages.iter().any(|page| whole(&page)), "{name} is broken: {lines:?}");
    }
}

#[test]
fn every_sheet_is_whole_and_legible() {
    let mut pages = Vec::new();
    let mut told = Vec::new();
    for build in BUILDS {
        let of = planned(build);
        let castings: Vec<usize> =
            (0..of.build.parts.len()).filter(|i| of.estimates.castings[*i].is_some()).collect();
        let bill = job::supply(&of);
        let bought = job::purchases(&of, &bill, Wish::default());
        for (paper, word) in [(Paper::A4, "a4"), (Paper::Letter, "letter")] {
            let name =
                |kind: &str| format!("{}-{word}-{kind}", build.rsplit('/').next().unwrap_or(build));
            let sheets = heats(&of, paper);
            let html = |sheet: Result<String, Unfilled>| sheet.expect("a page");
            let heat: Vec<String> = sheets.iter().map(|sheet| html(sheet.html())).collect();
            let cards = MouldCards::new(&of.build, &of.estimates, &castings, paper);
            let order = OrderSheet::new(&of.build, &bill, &bought, paper);
            let wall = BuildSheet::new(&of.build, &of.plan, &bill, paper);
            pages.push((name("heat"), together(&heat)));
            pages.push((name("mould"), html(cards.html())));
            pages.push((name("order"), html(order.html())));
            pages.push((name("build"), html(wall.html())));
            let times = |sheet: &HeatSheet| {
                let times = sheet.moulds.iter().filter_map(|m| m.not_before.clone());
                times.map(|t| unmarked(&format!("not before {t} after"))).collect::<Vec<_>>()
            };
            let on_cards: Vec<_> =
                cards.cards.iter().filter_map(|c| c.not_before.clone()).collect();
            told.push((heat, sheets.iter().map(times).collect::<Vec<_>>(), on_cards));
        }
    }
    let Some(read) = printed(&pages) else { return };
    for ((name, _), pages) in pages.iter().zip(&read) {
        // ISO 216 A4 is 210 x 297 mm, ANSI/ASME Y14.1 size A 8.5 x 11 in.
        let [wide, high] = if name.contains("-a4-") { [595.0, 842.0] } else { [612.0, 792.0] };
        let letters = if name.ends_with("mould") { 8.0 } else { 10.0 };
        for page in pages {
            assert!(
                (page.0[0] - wide).abs() <= 1.0 && (page.0[1] - high).abs() <= 1.0,
                "{name} {:?}",
                page.0
            );
            legible(name, page, letters);
        }
        if name.ends_with("build") {
            assert_eq!(pages.len(), 1, "{name}");
        }
    }
    for ((heat, times, on_cards), read) in told.iter().zip(read.chunks(4)) {
        let text = |page: &Page| page.1.iter().map(|r| &*r.text).collect::<String>();
        let mut sheets: Vec<Vec<String>> = Vec::new();
        for page in read[0].iter().map(text) {
            match sheets.last_mut() {
                Some(sheet) if !(page.contains("Poursheet") && page.contains("asof")) => {
                    sheet.push(page)
                }
                _ => sheets.push(vec![page]),
            }
        }
        assert_eq!(sheets.len(), heat.len());
        for ((html, times), pages) in heat.iter().zip(times).zip(&sheets) {
            let name = &pages[0][..60.min(pages[0].len())];
            assert!(pages.len() <= 4, "{name}: two sheets, both sides, not {}", pages.len());
            lists_hold_together(name, html, pages);
            let all = pages.concat();
            for time in times {
                assert!(all.contains(time), "{name} does not say {time}");
            }
        }
        let cards: String = read[1].iter().map(text).collect();
        for time in on_cards {
            let time = unmarked(&format!("Open not before {time}"));
            assert!(cards.contains(&time) || cards.contains(&unmarked(&time)), "{time}");
        }
    }
}

/// One time, in the estimate, on card and sheet, in the plan and in the doubts about the journal.
#[test]
fn no_mould_of_any_build_is_opened_before_its_one_time() {
    let mut seen = 0;
    for build in BUILDS {
        let of = planned(build);
        let schedule = &of.plan.schedule;
        for mould in &schedule.moulds {
            let heat = &schedule.heats[mould.heat];
            let held = || mould.lots().into_iter().map(|(part, _)| part);
            let Some(wait) = of.estimates.opened_not_before(held()) else { continue };
            let waited = (mould.shaken_out - heat.pour).num_seconds() as f64;
            assert!(waited >= wait.high(), "{build} {}: {waited} s, {} s", heat.name, wait.high());
            let each = held().filter_map(|p| of.estimates.castings[p].as_ref());
            let most = each.filter_map(|e| Some(e.not_before.as_ref()?.high())).fold(0.0, f64::max);
            assert_eq!(wait.high(), most);
            seen += 1;
        }
        for (heat, sheet) in schedule.heats.iter().zip(heats(&of, Paper::A4)) {
            for (mould, line) in heat.moulds.iter().zip(&sheet.moulds) {
                let mould = &schedule.moulds[*mould];
                let [(part, _)] = mould.lots()[..] else { continue };
                let card = MouldCards::new(&of.build, &of.estimates, &[part], Paper::A4);
                assert_eq!(card.cards[0].not_before, line.not_before, "{build} {}", heat.name);
            }
        }
    }
    assert!(seen > 60, "{seen}");
}
