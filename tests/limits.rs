//! What must be safe is told once and the same by all who tell it: limits at their safe end, lifts by
//! hand, the time before which no mould is opened, cautions; and how far each figure is known.

use pourwright::estimate::{Carry, Estimates, NOT_FOR_HOT_METAL, step_time};
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
