//! What must be safe is told once and the same by all who tell it: limits at their safe end, lifts by
//! hand, the time before which no mould is opened, cautions; and how far each figure is known.

use pourwright::estimate::{Carry, CrucibleFit, Estimates, Lift, NOT_FOR_HOT_METAL, step_time};
use pourwright::figure::{Because, Figure, Known, Node};
use pourwright::handbook::{Handbook, Work};
use pourwright::manifest::Step;
use pourwright::model::Build;
use pourwright::plan::Pour;
use pourwright::view::estimate::EstimateView;
use pourwright::view::page::Unfilled;
use pourwright::view::report::ReportView;
use pourwright::view::sheet::{HeatSheet, MouldCards, Paper};
use pourwright::view::why::Askable;
use pourwright::{Today, job};
use std::collections::HashMap;
use std::path::Path;

fn today() -> Today {
    Today { asked: None, clock: chrono::NaiveDate::from_ymd_opt(2026, 7, 8).expect("a day") }
}

fn of(manifest: &str, journal: &str) -> (Build, Estimates) {
    let build = pourwright::read(manifest.into(), journal.into(), today());
    let build =
        build.unwrap_or_else(|f| panic!("{:?}", f.iter().map(|f| &f.list).collect::<Vec<_>>()));
    let estimates = pourwright::estimate::estimate(&build);
    (build, estimates)
}

/// The weakest knowledge anywhere under a figure, walked by hand.
fn weakest(node: &Node, seen: &mut HashMap<*const Because, Option<Known>>) -> Option<Known> {
    let key = std::ptr::from_ref(node.because());
    if let Some(known) = seen.get(&key) {
        return *known;
    }
    let mut under = |nodes: &[Node]| nodes.iter().filter_map(|n| weakest(n, seen)).max();
    let known = match node.because() {
        Because::Given(_) | Because::Measured { .. } | Because::Counted(_) => None,
        Because::Handbook(source) => Some(source.known),
        Because::Worked(formula, nodes) => under(nodes).max(Some(formula.known)),
        Because::Closed(_, nodes) | Because::Sum(nodes) | Because::Chosen(_, nodes) => {
            under(nodes).max(Some(Known::Derived))
        }
        Because::Reference(_, node) => under(std::slice::from_ref(node)),
    };
    seen.insert(key, known);
    known
}

/// The four shipped builds.
fn shipped() -> impl Iterator<Item = (&'static str, Build)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folders =
        ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"];
    folders.into_iter().map(move |name| {
        let folder = root.join(name);
        let read = |name: &str| std::fs::read(folder.join(name));
        let journal = read("journal.yaml").unwrap_or_default();
        let manifest = read("build.yaml").expect("a manifest");
        (name, pourwright::read_beside(manifest, journal, today(), &read).expect("a sound build"))
    })
}

/// Every figure of the four shipped builds tells the weakest source under it, and only what the
/// builder gave is "as given".
#[test]
fn each_figure_says_how_far_it_is_known() {
    let (mut all, mut from_memory) = (0, 0);
    for (_, build) in shipped() {
        let made = job::plan(job::estimate(build), None, None, &mut |_, _| true);
        let bill = job::supply(&made);
        let ask = Askable::new(&made.build, &made.estimates, &made.plan, &bill);
        let mut seen = HashMap::new();
        for (of, name, node) in ask.all() {
            all += 1;
            assert_eq!(node.known(), weakest(node, &mut seen), "{of} {name}");
            let given = matches!(node.because(), Because::Given(_));
            assert_eq!(node.trust() == "as given", given, "{of} {name}: {:?}", node.because());
            if ["crucible-index", "casting-yield", "ingate-speed"].contains(&name) {
                assert_eq!(node.known(), Some(Known::FromMemory), "{of} {name}");
                from_memory += 1;
            }
        }
    }
    assert!(all > 5000 && from_memory > 250, "{all} figures, {from_memory} asked for");
}

/// HSE L23, paragraph 120: two lift two thirds, three one half of the sum of what each could alone.
#[test]
fn no_more_lift_by_hand_than_published_guidance_allows() {
    let by_hand = |index: f64| match Carry::of(index) {
        Carry::Hands(people) => Some(people),
        Carry::Device => None,
    };
    for (index, people) in [
        (0.5, Some(1)),
        (1.0, Some(1)),
        (1.001, Some(2)),
        (4.0 / 3.0, Some(2)),
        (1.34, Some(3)),
        (1.5, Some(3)),
        (1.501, None),
        (2.0, None),
        (f64::INFINITY, None),
    ] {
        assert_eq!(by_hand(index), people, "{index}");
    }
    assert!(Carry::Device.words().contains("not by hand"));
}

const PLATE: &str = r#"
build: {title: One plate, begun: 2026-01-10}
shop:
  people: {me: {hours: {sat: 9:00..17:00}}}
  furnaces: {gas: {fuel: propane}}
  crucibles: {pot: {holds: 1.7 L, mass: 4 kg}}
  flasks: {box: {inside: 300 x 250 mm, cope: 100 mm, drag: 120 mm}}
alloys:
  my-brass: {like: C857}
  odd-bronze: {family: copper, density: 8.8 g/cm3}
patterns: {plate-pattern: {size: 206 x 156 x 90 mm, in-cope: 20 mm, sand: green-sand}}
parts:
  plate:
    casting: {alloy: ALLOY, pattern: plate-pattern, shape: {add: [{plate: {length: 200 mm, width: 150 mm, thickness: 20 mm}}]}}
"#;

/// The dangers of one casting by id, as `estimate`, the mould card, the pour sheet and the report tell them.
fn told(alloy: &str) -> [Vec<String>; 4] {
    let (build, estimates) = of(&PLATE.replace("ALLOY", alloy), "");
    let view = EstimateView::new(&build, &estimates, Some(0));
    let estimate = view.castings[0].cautions.iter().map(|c| c.title.to_string()).collect();
    let cards = MouldCards::new(&build, &estimates, &[0], Paper::A4);
    let card = cards.cards[0].warnings.clone();
    let pour = Pour::picked(&build, &estimates, &[0]).expect("one alloy");
    let sheet = HeatSheet::new(&build, &estimates, &pour, Paper::A4);
    let sheet = [sheet.before, sheet.pouring, sheet.after].concat();
    let sheet = sheet.iter().map(|c| c.title.clone()).collect();
    let plan = pourwright::plan::plan(&build, &estimates);
    let bill = pourwright::supply::bill(&build, &estimates, &plan.schedule);
    let report = ReportView::new(&build, &estimates, &plan, &bill);
    let report =
        report.cautions.iter().map(|c| c.title.clone()).chain(report.castings[0].caution.clone());
    [estimate, card, sheet, report.collect()]
}

/// One rule for all views, by what the alloy may hold and by the mould.
#[test]
fn every_view_tells_the_same_dangers() {
    const LEAD: &str = "Lead in brass and bronze";
    const ZINC: &str = "Zinc fume";
    const DRAG: &str = "Sinks on the drag side";
    const FALL: &str = "A long fall into the drag";
    const DAMP: &str = "Water in the sand";
    for (alloy, has, has_not) in [
        // A brass made after C857 holds its lead and zinc; of a bronze that says nothing both are feared.
        ("my-brass", &[LEAD, ZINC, FALL, DAMP][..], &[DRAG][..]),
        ("odd-bronze", &[LEAD, ZINC, DAMP], &[DRAG]),
        ("C954", &[FALL, DAMP], &[LEAD, ZINC, DRAG]),
        ("ZA-12", &[DRAG, ZINC, FALL, DAMP], &[LEAD]),
        ("ZA-27", &[DRAG, ZINC], &[LEAD]),
        ("Zamak-3", &[ZINC], &[DRAG, LEAD]),
        ("A356", &[FALL, DAMP], &[ZINC, DRAG, LEAD]),
    ] {
        for (view, says) in ["estimate", "card", "pour sheet", "report"].iter().zip(told(alloy)) {
            let all = says.join("\n");
            for title in has {
                assert!(all.contains(title), "{view} of {alloy} does not tell {title}: {all}");
            }
            for title in has_not {
                assert!(!all.contains(title), "{view} of {alloy} tells {title}: {all}");
            }
        }
    }
}

/// Process and mass: no fuel gas where nothing is burnt, no word of lifting where all is light.
#[test]
fn dangers_go_by_process_and_mass() {
    let book = Handbook::embedded();
    let has = |work: &Work<'_>, id: &str| book.cautions_for(work).iter().any(|c| &*c.id == id);
    assert!(
        has(&Work::default(), "fuel-gas") && has(&Work::default(), "lifting"),
        "what is not known is feared"
    );
    assert!(!has(&Work { burning: Some(false), ..Work::default() }, "fuel-gas"));
    assert!(has(&Work { burning: Some(true), ..Work::default() }, "fuel-gas"));
    assert!(!has(&Work { lifts: Some(5.9), ..Work::default() }, "lifting"));
    assert!(has(&Work { lifts: Some(6.0), ..Work::default() }, "lifting"));
    assert!(!has(&Work { falls: 0.049, ..Work::default() }, "deep-drag"));
    assert!(has(&Work { falls: 0.05, ..Work::default() }, "deep-drag"));
    for id in ["molten-metal", "moisture", "silica"] {
        assert!(
            has(&Work { burning: Some(false), lifts: Some(0.0), ..Work::default() }, id),
            "{id}"
        );
    }
}

/// The plan waits, and card and sheet print, the one time before which the mould is not opened; it is
/// no shorter than the longest time reckoned nor than what is usual for the metal.
#[test]
fn one_time_before_which_no_mould_is_opened() {
    let (build, estimates) = of(&PLATE.replace("ALLOY", "ZA-12"), "");
    let estimate = estimates.castings[0].as_ref().expect("cast");
    let not_before = estimate.not_before.as_ref().expect("a time");
    let reckoned = estimate.freezing.shake_out_after.as_ref().expect("a time").high();
    let usual = build.handbook.time("cool/zinc").expect("a time").si();
    assert_eq!(not_before.si(), reckoned.max(usual));
    assert_eq!(not_before.node().safe(), Some(not_before.si()));
    let wait = step_time(&build, &build.parts[0], Some(estimate), Step::ShakeOut).wait;
    assert_eq!(wait.as_ref().map(Figure::si), Some(not_before.si()));
    let card = MouldCards::new(&build, &estimates, &[0], Paper::A4).cards.remove(0);
    let pour = Pour::picked(&build, &estimates, &[0]).expect("one alloy");
    let sheet = HeatSheet::new(&build, &estimates, &pour, Paper::A4);
    let shown = card.not_before.expect("told");
    assert_eq!(sheet.moulds[0].not_before.as_ref(), Some(&shown));
}

/// A mould that was opened sooner is pointed out.
#[test]
fn a_mould_opened_too_soon_is_doubted() {
    let journal = |opened: &str| {
        format!(
            "---\nid: a1\nat: 2026-02-07 09:00\nrammed: {{mould: M1, pattern: plate-pattern, flask: box, castings: {{plate: 1}}}}\n\
             ---\nid: a2\nat: 2026-02-07 11:00\npoured: {{heat: H1, alloy: ZA-12, moulds: [M1], charge: {{ingot: 5 kg}}}}\n\
             ---\nid: a3\nat: 2026-02-07 {opened}\nshaken-out: {{mould: M1}}\n"
        )
    };
    let doubts = |opened: &str| {
        let (build, estimates) = of(&PLATE.replace("ALLOY", "ZA-12"), &journal(opened));
        let far = pourwright::learn::far(&build, &estimates);
        far.into_iter().filter(|r| r.says.contains("was opened")).count()
    };
    assert_eq!((doubts("11:10"), doubts("18:00")), (1, 0));
}

/// Limits are shown at the end that is safe, and hot metal is said to be no matter of the equation.
#[test]
fn limits_are_told_at_their_safe_end() {
    let (build, estimates) = of(&PLATE.replace("ALLOY", "ZA-12"), "");
    let e = estimates.castings[0].as_ref().expect("cast");
    let weights = e.loads.weights.as_ref().expect("weights").node();
    assert_eq!(weights.safe(), Some(weights.range().high));
    let holds = e.mould.crucible_holds.as_ref().expect("a pot").node();
    assert_eq!(holds.safe(), Some(holds.range().low));
    let (limit, index) = (&e.handling.crucible_limit, &e.handling.crucible_index);
    let limit = limit.as_ref().expect("a limit").node();
    assert_eq!((limit.safe(), limit.note()), (Some(limit.range().low), Some(NOT_FOR_HOT_METAL)));
    let index = index.as_ref().expect("an index").node();
    assert_eq!(index.safe(), Some(index.range().high));
    assert_eq!(e.handling.crucible_carry, Some(Carry::of(index.range().high)));
    let words = e.handling.pot_warnings.join(" ");
    for part in ["does not cover molten metal", "lifting device", "two pots", "split"] {
        assert!(words.contains(part), "{part}: {words}");
    }
    let view = EstimateView::new(&build, &estimates, Some(0));
    let shown =
        view.castings[0].figures.iter().find(|f| f.ask == "weights-on-cope").expect("weights");
    assert!(shown.figure.safe.is_some());
}

/// A pot is filled by what it surely takes: no planned heat charges more, heel included, and the pour
/// sheet tells that number.
#[test]
fn no_heat_charges_more_than_its_pot_surely_takes() {
    let least = |f: &Node| f.range().low;
    let mut nearly_full = 0;
    for (folder, build) in shipped() {
        let search = job::Search { tries: Some(40), ..job::Search::default() };
        let planned = job::plan(job::estimate(build), None, Some(search), &mut |_, _| false);
        let (build, schedule) = (&planned.build, &planned.plan.schedule);
        assert!(!schedule.heats.is_empty(), "{folder}");
        for heat in &schedule.heats {
            let pour = Pour::planned(build, schedule, &heat.name).expect("a heat");
            let density = pour.alloy.liquid_density.as_ref().expect("a density").node();
            let pots = heat.crucibles.iter().map(|id| &build.shop.crucibles[id]);
            let takes: f64 = pots
                .map(|c| least(c.holds.node()) * least(c.working_fill.node()) * least(density))
                .sum();
            let metal = pour.pot.metal.as_ref().expect("metal").si();
            assert!(metal <= takes + 1e-9, "{folder} {}: {metal} in {takes} kg", heat.name);
            nearly_full += usize::from(metal > 0.95 * takes);
            if heat.crucibles.len() == 1 {
                let holds = pour.pot.holds.as_ref().expect("told").node();
                assert!((holds.safe().expect("a limit") - takes).abs() < 1e-9, "{folder}");
                let fill = pour.fill().expect("a share").si();
                assert!((fill - metal / takes).abs() < 1e-9, "{folder}: {fill}");
                let sheet = HeatSheet::new(build, &planned.estimates, &pour, Paper::A4);
                assert!(sheet.holds.is_some_and(|h| h.safe.is_some()), "{folder}");
            }
        }
    }
    assert!(nearly_full > 0, "where no pot is nearly full, this holds of itself");
}

/// The caution that matters for a ZA-12 casting stands in the same words on estimate, card, pour
/// sheet and report of it.
#[test]
fn a_za_12_casting_has_one_caution_everywhere() {
    let (build, estimates) = of(&PLATE.replace("ALLOY", "ZA-12"), "");
    let told = build.handbook.cautions.iter().find(|c| &*c.id == "drag-side").expect("one");
    let plan = pourwright::plan::plan(&build, &estimates);
    let bill = pourwright::supply::bill(&build, &estimates, &plan.schedule);
    let pour = Pour::picked(&build, &estimates, &[0]).expect("one alloy");
    let html = |page: Result<String, Unfilled>| page.expect("a page");
    let estimate = EstimateView::new(&build, &estimates, Some(0));
    let estimate = serde_json::to_string(&estimate).expect("JSON");
    let card = html(MouldCards::new(&build, &estimates, &[0], Paper::A4).html());
    let sheet = html(HeatSheet::new(&build, &estimates, &pour, Paper::A4).html());
    let report = html(pourwright::view::report::report(&build, &estimates, &plan, &bill));
    for (view, text) in
        [("estimate", estimate), ("card", card), ("pour sheet", sheet), ("report", report)]
    {
        for words in [&told.title, &told.habit] {
            assert!(text.contains(&**words), "{view} does not say `{words}`");
        }
    }
    let view = ReportView::new(&build, &estimates, &plan, &bill);
    let own = view.castings[0].caution.as_deref().unwrap_or_default();
    assert!(own.contains(&*told.title), "the casting itself: {own}");
}

/// The lowest temperature and the lowest level to pour by, on the pour sheet as in the estimate.
#[test]
fn the_lowest_temperature_and_level_are_told() {
    for (alloy, lowest) in [("A356", 680.0), ("ZA-12", 460.0)] {
        let (build, estimates) = of(&PLATE.replace("ALLOY", alloy), "");
        let e = estimates.castings[0].as_ref().expect("cast");
        let coldest = e.coldest.as_ref().expect("a temperature");
        // The low end of what is usual, above the liquidus.
        assert!((coldest.si() - 273.15 - lowest).abs() < 0.01, "{}", coldest.si());
        assert_eq!(coldest.node().safe(), Some(coldest.si()));
        assert!(e.figures().iter().any(|(name, _)| *name == "pour-no-colder"));
        let basin = e.gating.as_ref().expect("a basin").sprue.basin_depth.node();
        assert_eq!(basin.safe(), Some(basin.range().high));
        let pour = Pour::picked(&build, &estimates, &[0]).expect("one alloy");
        let sheet = HeatSheet::new(&build, &estimates, &pour, Paper::A4);
        let level = format!("{:.0}\u{a0}mm", basin.range().high * 1e3);
        assert_eq!(sheet.moulds[0].levels, std::slice::from_ref(&level));
        let html = sheet.html().expect("a page");
        let never = format!("never below <strong>{lowest:.0}\u{a0}°C</strong>");
        assert!(html.contains(&never) && html.contains(&format!("<strong>{level}</strong>")));
    }
    // What is usual may begin where not all is molten: never there.
    let book = Handbook::embedded();
    for (id, alloy) in &book.alloys {
        let (Some(least), Some(molten)) = (pourwright::estimate::coldest(alloy), &alloy.liquidus)
        else {
            continue;
        };
        assert!(least.si() >= molten.high(), "{id}");
    }
}

/// A pot with a lifting device is lifted by that; without one it is offered, with what it must bear.
#[test]
fn a_lifting_device_is_gone_by_where_there_is_one() {
    let told = |more: &str| {
        let text =
            PLATE.replace("ALLOY", "ZA-12").replace("mass: 4 kg", &format!("mass: 4 kg{more}"));
        let (build, estimates) = of(&text, "");
        let handling = estimates.castings[0].as_ref().expect("cast").handling.clone();
        let pour = Pour::picked(&build, &estimates, &[0]).expect("one alloy");
        let html = HeatSheet::new(&build, &estimates, &pour, Paper::A4).html().expect("a page");
        (handling.pot_warnings.join(" "), handling.crucible_carry, html)
    };
    let (by_hand, carry, html) = told("");
    assert!(by_hand.contains("marked for") && by_hand.contains("lifted-by: device"), "{by_hand}");
    assert_eq!(carry, Some(Carry::Device));
    assert!(html.contains("not by hand: a lifting device"), "no number of people is enough");
    let (device, carry, html) = told(", lifted-by: device");
    assert!(device.contains("lift it with its device") && !device.contains("two pots"), "{device}");
    assert_eq!(carry, Some(Carry::Device));
    assert!(html.contains("2 people and a lifting device for the pot"));
    assert_eq!(told(", lifted-by: hand").0, by_hand);
}

/// The card of a casting in the terminal has room for three lines of warnings: where each takes one, what
/// is left over is counted, be it but one.
#[test]
fn warnings_that_find_no_room_are_counted() {
    let look = pourwright::view::text::Look { width: 2000, colour: false, unicode: false };
    let mut one = 0;
    for folder in
        ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"]
    {
        let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
        let text = std::fs::read_to_string(dir.join("build.yaml")).expect("a manifest");
        let journal = std::fs::read_to_string(dir.join("journal.yaml")).unwrap_or_default();
        let (build, estimates) = of(&text, &journal);
        for part in 0..build.parts.len() {
            if build.parts[part].casting.is_none() {
                continue;
            }
            let view = EstimateView::new(&build, &estimates, Some(part));
            let warnings = view.castings[0].warnings.len();
            let card = view.brief(&look);
            let told = card.lines().find(|line| line.starts_with("also: "));
            let more = told.and_then(|line| line.rsplit([' ', ';']).nth(1)?.parse::<usize>().ok());
            let more = more.filter(|_| told.is_some_and(|line| line.ends_with(" more")));
            let left = warnings.saturating_sub(3);
            assert_eq!(more.unwrap_or(0), left, "{folder} {}: {card}", build.parts[part].id());
            one += usize::from(left == 1);
        }
    }
    assert!(one >= 3, "{one} castings with one more");
}

/// A minute before the time that is told as safe is too soon, and a minute after it is not.
#[test]
fn a_mould_is_opened_too_soon_until_the_time_that_is_told() {
    let text = PLATE.replace("ALLOY", "ZA-12");
    let (_, estimates) = of(&text, "");
    let wanted = estimates.castings[0].as_ref().and_then(|e| e.not_before.clone());
    let wanted = (wanted.expect("a time").high() / 60.0) as i64;
    for (minutes, doubts) in [(wanted - 1, 1), (wanted + 1, 0)] {
        let poured = today().clock.and_hms_opt(8, 0, 0).expect("a moment");
        let out = poured + chrono::TimeDelta::minutes(minutes);
        let journal = format!(
            "---\nid: a1\nat: {0} 07:00\nrammed: {{mould: M1, pattern: plate-pattern, flask: box, castings: {{plate: 1}}}}\n\
             ---\nid: a2\nat: {0} 08:00\npoured: {{heat: H1, alloy: ZA-12, moulds: [M1], charge: {{ingot: 5 kg}}}}\n\
             ---\nid: a3\nat: {1}\nshaken-out: {{mould: M1}}\n",
            today().clock,
            out.format("%Y-%m-%d %H:%M")
        );
        let (build, estimates) = of(&text, &journal);
        let far = pourwright::learn::far(&build, &estimates);
        let told = far.iter().filter(|r| r.says.contains("was opened")).count();
        assert_eq!(told, doubts, "{minutes} min of {wanted}");
    }
}

/// Where one team is likely enough for a pot and none at its worst, both are told.
#[test]
fn a_pot_is_told_by_its_likely_and_by_its_worst_end() {
    let mut seen = 0;
    for quarters in 4..40 {
        let mass = format!("mass: {} kg", f64::from(quarters) / 4.0);
        let text = PLATE.replace("ALLOY", "ZA-12").replace("mass: 4 kg", &mass);
        let (_, estimates) = of(&text, "");
        let handling = &estimates.castings[0].as_ref().expect("cast").handling;
        let range = handling.crucible_index.as_ref().expect("an index").node().range();
        let [low, likely, high] = [range.low, range.likely, range.high].map(Carry::of);
        if high == Carry::Device && likely != high && likely != low {
            let says = format!("{}, at the worst {}", likely.words(), high.words());
            let told = handling.pot_warnings.join(" ");
            assert!(told.contains(&says), "{mass}: {told}");
            seen += 1;
        }
    }
    assert!(seen > 0, "no pot of these is doubtful so");
}

/// A thin knob in a small flask beside the plate of the other tests, over a gas and an electric furnace.
fn knob_and_plate(pot: &str, furnaces: &str) -> (Build, Estimates) {
    let text = PLATE
        .replace("ALLOY", "A356")
        .replace("mass: 4 kg", pot)
        .replace("furnaces: {gas: {fuel: propane}}", furnaces)
        .replace("flasks: {", "flasks: {tiny: {inside: 160 x 120 mm, cope: 60 mm, drag: 60 mm}, ")
        .replace("patterns: {", "patterns: {knob-pattern: {size: 42 x 32 x 22 mm, in-cope: 10 mm, sand: green-sand}, ")
        .replace("parts:\n", "parts:\n  knob: {casting: {alloy: A356, pattern: knob-pattern, shape: {add: [{plate: {length: 40 mm, width: 30 mm, thickness: 20 mm}}]}}}\n");
    of(&text, "")
}

/// The dangers of a build are those of its worst part, pot and furnace, whichever comes first.
#[test]
fn the_heaviest_lift_the_deepest_fall_and_any_flame_are_feared() {
    const GAS: &str = "furnaces: {gas: {fuel: propane}}";
    let feared = |(build, estimates): (Build, Estimates), parts: &[usize], id: &str| {
        let all = pourwright::estimate::cautions(&build, &estimates, parts.iter().copied());
        all.iter().any(|c| &*c.id == id)
    };
    // A rammed cope of 160 x 120 x 60 mm is 2 to 4 kg. A pot of 1 kg with 200 g of metal and tongs of at most
    // 4 kg is under 6 kg, one of 4 kg is over.
    assert!(!feared(knob_and_plate("mass: 1 kg", GAS), &[0], "lifting"));
    assert!(feared(knob_and_plate("mass: 4 kg", GAS), &[0], "lifting"));
    // 12 mm of the knob lie in the drag, 70 mm of the plate.
    assert!(!feared(knob_and_plate("mass: 1 kg", GAS), &[0], "deep-drag"));
    for parts in [[0, 1], [1, 0]] {
        assert!(feared(knob_and_plate("mass: 1 kg", GAS), &parts, "deep-drag"), "{parts:?}");
    }
    let flame = |furnaces: &str| feared(knob_and_plate("mass: 1 kg", furnaces), &[0], "fuel-gas");
    assert!(!flame("furnaces: {oven: {fuel: electricity}}"));
    assert!(flame("furnaces: {oven: {fuel: electricity}, gas: {fuel: propane}}"));
    assert!(flame("furnaces: {gas: {fuel: propane}, oven: {fuel: electricity}}"));
}

/// 1.7 L of ZA-12 are some 10 kg, of which a working fill takes three quarters at the least: 9 kg go in, and
/// are pointed out; so is aluminium in a pot that held zinc, where the pot is kept for no family.
#[test]
fn a_heat_that_fills_or_spoils_its_pot_is_pointed_out() {
    let text = PLATE.replace("ALLOY", "ZA-12");
    let odd = |heats: &[&str]| {
        let each = heats.iter().enumerate().map(|(n, heat)| {
            format!("---\nid: h{n}\nat: 2026-02-0{} 11:00\npoured: {{heat: H{n}, crucible: pot, moulds: [], {heat}}}\n", n + 1)
        });
        let (build, _) = of(&text, &each.collect::<String>());
        build.history.odd.iter().map(|r| r.says.clone()).collect::<Vec<_>>()
    };
    let zinc = |kg: u32| format!("alloy: ZA-12, charge: {{ingot: {kg} kg}}");
    assert_eq!(odd(&[&zinc(5)]), [""; 0]);
    let full = odd(&[&zinc(9)]);
    assert!(full.len() == 1 && full[0].contains("`pot` takes no more than"), "{full:?}");
    assert!(full[0].ends_with("at its working fill"), "{full:?}");
    let spoilt = odd(&[&zinc(5), "alloy: A356, charge: {ingot: 1 kg}"]);
    assert_eq!(spoilt, ["`pot` held ZA-12 in heat `H0`: one alloy family to a crucible"]);
}

/// The calendar tells the charge of a heat at its safe end, as the pour sheet does.
#[test]
fn the_calendar_tells_the_charge_that_is_safe() {
    let text = PLATE.replace("ALLOY", "ZA-12").replace("300 x 250 mm", "400 x 300 mm");
    let planned = job::plan(job::estimate(of(&text, "").0), None, None, &mut |_, _| true);
    let (build, estimates, plan) = (&planned.build, &planned.estimates, &planned.plan);
    let pour = Pour::planned(build, &plan.schedule, "H1").expect("a heat");
    let charge = pour.charge.as_ref().expect("a charge");
    assert!(charge.safe() > charge.si(), "a charge in doubt");
    let sheet = HeatSheet::new(build, estimates, &pour, Paper::A4);
    let safe = sheet.charge.and_then(|c| c.safe).expect("a safe end").replace('\u{a0}', " ");
    let calendar = pourwright::view::calendar::calendar(build, &plan.schedule);
    let calendar = calendar.replace("\r\n ", "");
    assert!(calendar.contains(&format!("pour H1 {safe} ZA-12")), "{safe}: {calendar}");
}

/// A pot is named for a charge that it surely takes: working fill and density of the liquid at their low
/// ends. Of one that takes the charge only if all is likely, or at its highest overflows, that is said.
#[test]
fn a_pot_is_named_by_what_it_surely_takes() {
    let text = PLATE.replace("ALLOY", "A356");
    let fit = |pots: &str| {
        let text = text.replace("pot: {holds: 1.7 L, mass: 4 kg}", pots);
        let mould = of(&text, "").1.castings.remove(0).expect("cast").mould;
        let pot = match &mould.crucible {
            CrucibleFit::Fits(id) => Some(id.to_string()),
            _ => None,
        };
        (pot, mould.crucible_holds.and_then(|f| f.node().note().map(str::to_owned)))
    };
    let (build, estimates) = of(&text, "");
    let charge = estimates.castings[0].as_ref().and_then(|e| e.mould.charge.clone());
    let charge = charge.expect("a charge").si();
    let book = &build.handbook;
    let density = book.alloys["A356"].liquid_density.as_ref().expect("a density");
    let [surely, likely] =
        [book.working_fill.low() * density.low(), book.working_fill.si() * density.si()];
    let litres = |share: f64, takes: f64| format!("{:.6} L", 1e3 * share * charge / takes);
    // Between what it surely and what it likely takes.
    let doubtful = (surely * likely).sqrt();
    assert!(surely < 0.97 * likely);
    let small = format!("pot: {{holds: {}, mass: 4 kg}}", litres(1.0, doubtful));
    assert_eq!(fit(&small).0, None);
    let both = format!("{small}, large: {{holds: 9 L, mass: 9 kg}}");
    assert_eq!(fit(&both).0.as_deref(), Some("large"));
    let just = format!("pot: {{holds: {}, mass: 4 kg}}", litres(1.005, surely));
    let (pot, note) = fit(&just);
    assert_eq!(pot.as_deref(), Some("pot"));
    assert!(note.is_some_and(|n| n.contains("more than this crucible's working fill")), "no word");
    let (_, note) = fit("pot: {holds: 9 L, mass: 4 kg}");
    assert!(note.is_none_or(|n| !n.contains("working fill")));
}

/// What stays in a pot is lifted with it, and takes room of the next charge.
#[test]
fn a_heel_is_lifted_and_takes_room() {
    let text = PLATE.replace("ALLOY", "A356").replace("1.7 L", "2.5 L");
    let with = text.replace("mass: 4 kg", "mass: 4 kg, heel: 0.4..0.5 kg");
    let [none, heel] = [&text, &with].map(|text| of(text, ""));
    let empty = |(build, _): &(Build, Estimates)| {
        Lift::of(&build.shop.crucibles["pot"]).expect("a mass").empty
    };
    assert!((empty(&heel) - empty(&none) - 0.5).abs() < 1e-9);
    let (build, estimates) = &heel;
    let mut pour = Pour::picked(build, estimates, &[0]).expect("one alloy");
    let room = |pour: &Pour| pour.room(build).expect("a pot");
    let whole = room(&pour);
    pour.heels.iter_mut().for_each(|heel| heel.from = Some("H0".into()));
    assert_eq!(pour.heels.len(), 1);
    assert!((whole - room(&pour) - 0.5).abs() < 1e-9);
}

/// A mould of green sand that stands for a month is to be knocked out: its pour sheet says so.
#[test]
fn the_pour_sheet_tells_of_a_mould_that_stood_too_long() {
    let told = |rammed: &str| {
        let journal = format!(
            "---\nid: a\nat: {rammed} 07:00\nrammed: {{mould: M1, pattern: plate-pattern, flask: box, castings: {{plate: 1}}}}\n"
        );
        let (build, estimates) = of(&PLATE.replace("ALLOY", "ZA-12"), &journal);
        let pour = Pour::picked(&build, &estimates, &[0]).expect("one alloy");
        let sheet = HeatSheet::new(&build, &estimates, &pour, Paper::A4);
        sheet.warnings.iter().filter(|w| w.starts_with("M1 was rammed on")).count()
    };
    assert_eq!(told("2026-06-08"), 1);
}

/// An alloy that is poured from 600 C on and may not be all molten below 620 C is poured no colder than that.
#[test]
fn nothing_is_poured_below_where_it_surely_is_molten() {
    let own = "  my-metal: {like: A356, pours: 600..700 C, liquidus: 610..620 C}\n";
    let text = PLATE.replace("ALLOY", "my-metal").replace("alloys:\n", &format!("alloys:\n{own}"));
    let (_, estimates) = of(&text, "");
    let coldest = estimates.castings[0].as_ref().and_then(|e| e.coldest.clone());
    assert_eq!(coldest.expect("a temperature").si(), 620.0 + 273.15);
}

/// A pot that surely takes what is likely, and what the moulds may take only if all is likely, brims.
#[test]
fn a_pot_brims_by_what_it_surely_takes() {
    let text = PLATE.replace("ALLOY", "ZA-12");
    let (build, estimates) = of(&text, "");
    let charge = estimates.castings[0].as_ref().and_then(|e| e.mould.charge.clone());
    let charge = charge.expect("a charge");
    let density = build.handbook.alloys["ZA-12"].liquid_density.as_ref().expect("a density");
    let fill = &build.handbook.working_fill;
    let [surely, likely] = [fill.low() * density.low(), fill.si() * density.si()];
    let between = |share: f64| charge.si() + share * (charge.high() - charge.si());
    let brims = |takes: f64| {
        let text = text.replace("1.7 L", &format!("{:.6} L", 1e3 * takes / surely));
        let (build, estimates) = of(&text, "");
        Pour::picked(&build, &estimates, &[0]).expect("one alloy").brims()
    };
    let nearly = between(0.8);
    assert!(nearly * likely / surely > charge.high());
    let [most, holds] = brims(nearly).expect("it may brim");
    assert!((most - charge.high()).abs() < 1e-6 && (holds - nearly).abs() < 1e-4, "{most} {holds}");
    assert!(brims(1.01 * charge.high()).is_none());
}
