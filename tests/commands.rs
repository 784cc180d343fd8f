//! Every command on real builds: exit codes, JSON, widths, plain text, and the log round trip.

use rust_decimal::Decimal;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::{Once, OnceLock};

const BUILDS: [&str; 4] =
    ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"];
const DAY: &str = "2026-07-08";

/// A copy of a build in a folder of its own.
fn copy(build: &str) -> tempfile::TempDir {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join(build);
    let dir = tempfile::tempdir().expect("temporary folder");
    for name in ["build.yaml", "journal.yaml"] {
        if from.join(name).exists() {
            fs::copy(from.join(name), dir.path().join(name)).expect("copy");
        }
    }
    dir
}

/// A copy beside which the plan stands already, and what was reckoned of bodies: made once by the
/// commands themselves, for tests that ask what is told of it.
fn ready(build: &str) -> tempfile::TempDir {
    static MADE: [Once; BUILDS.len()] = [const { Once::new() }; BUILDS.len()];
    made(build, &MADE, ("commands", &["plan"]))
}

/// The same with the plan of `DAY`.
fn ready_on_day(build: &str) -> tempfile::TempDir {
    static MADE: [Once; BUILDS.len()] = [const { Once::new() }; BUILDS.len()];
    made(build, &MADE, ("commands-on-day", &["plan", "--today", DAY]))
}

fn made(
    build: &str,
    once: &[Once; BUILDS.len()],
    (name, planned): (&str, &[&str]),
) -> tempfile::TempDir {
    let at = BUILDS.iter().position(|b| *b == build).expect("a build of ours");
    let made = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-{at}"));
    let files = |from: &Path, to: &Path| {
        for entry in fs::read_dir(from).expect("a folder") {
            let entry = entry.expect("an entry");
            fs::copy(entry.path(), to.join(entry.file_name())).expect("a copy");
        }
    };
    once[at].call_once(|| {
        let dir = copy(build);
        good(dir.path(), planned);
        let _ = fs::remove_dir_all(&made);
        fs::create_dir_all(&made).expect("a folder");
        files(dir.path(), &made);
    });
    let dir = tempfile::tempdir().expect("temporary folder");
    files(&made, dir.path());
    dir
}

fn command(dir: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
    command.args(args).arg("--build").arg(dir).env_remove("NO_COLOR");
    command.env("LC_ALL", "C.UTF-8").stdin(Stdio::null());
    command
}

fn run(dir: &Path, args: &[&str]) -> Output {
    let out = command(dir, args).output().expect("pourwright runs");
    assert!(!text(&out.stderr).contains("panicked"), "{args:?}: {}", text(&out.stderr));
    out
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

fn good(dir: &Path, args: &[&str]) -> String {
    let out = run(dir, args);
    assert_eq!(out.status.code(), Some(0), "{args:?}: {}", text(&out.stderr));
    // Whichever command needs a plan first makes one, and says so.
    let told = text(&out.stderr);
    let made = |line: &str| line.starts_with("note: there was no plan yet");
    assert!(told.lines().all(made), "{args:?}: {told}");
    text(&out.stdout)
}

fn json(dir: &Path, args: &[&str]) -> Value {
    let mut args = args.to_vec();
    args.push("--json");
    serde_json::from_str(&good(dir, &args)).expect("JSON")
}

fn keys(value: &Value) -> Vec<&str> {
    value.as_object().expect("object").keys().map(String::as_str).collect()
}

fn list<'v>(value: &'v Value, key: &str) -> &'v Vec<Value> {
    value[key].as_array().unwrap_or_else(|| panic!("no list `{key}`"))
}

fn word<'v>(value: &'v Value, key: &str) -> &'v str {
    value[key].as_str().unwrap_or_else(|| panic!("no text `{key}` in {value}"))
}

/// A part of the build that is cast.
fn cast(dir: &Path) -> String {
    word(&list(&json(dir, &["estimate"]), "castings")[0], "id").to_owned()
}

#[test]
fn exit_codes_tell_fault_from_misuse() {
    for build in BUILDS {
        let dir = ready(build);
        let part = cast(dir.path());
        for args in [
            &["check"][..],
            &["parts"],
            &["plan"],
            &["plan", "--all"],
            &["estimate"],
            &["estimate", &part],
            &["bill"],
            &["bill", "--csv"],
            &["buy"],
            &["buy", "--sure", "--stages"],
            &["buy", "--csv"],
            &["why", &part],
            &["why", "build", "hours-left"],
            &["reckon"],
            &["reckon", "cope-lift"],
            &["reckon", "cope-lift", "area=600 cm2", "head=15 cm", "density=2.4 g/cm3"],
        ] {
            assert!(!good(dir.path(), args).is_empty(), "{args:?}");
        }
        // On the clock's day, which may come after the one that the build is looked at on: a note.
        let out = run(dir.path(), &["log", "--try-out", "note", "x"]);
        assert_eq!(out.status.code(), Some(0), "{}", text(&out.stderr));
        assert!(text(&out.stdout).contains("(not written)"));
        let report = dir.path().join("r.html");
        good(dir.path(), &["report", "--out", &report.to_string_lossy()]);
        assert!(fs::read_to_string(report).expect("report").contains("<html"));
        for args in [
            &["estimate", "no-such-part"][..],
            &["why", "no-such-part"],
            &["why", &part, "no-such-figure"],
            &["reckon", "no-such-formula"],
            &["reckon", "cope-lift", "area=600 kg", "head=15 cm", "density=2.4 g/cm3"],
            &["reckon", "cope-lift", "area"],
            &["log", "note", "--at", "yesterday", "x"],
            &["log", "rammed", "--mould", "X", "--pattern", "y", "--casting", "z"],
            &["log", "done"],
            &["buy", "--csv", "--json"],
            &["no-such-command"],
            &["parts", "--today", "soon"],
            &["new"],
        ] {
            let out = run(dir.path(), args);
            assert_eq!(out.status.code(), Some(2), "{args:?}");
            assert!(out.stdout.is_empty() && !out.stderr.is_empty(), "{args:?}");
        }
        let manifest = dir.path().join("build.yaml");
        fs::write(&manifest, "build: {}\n").expect("manifest");
        for args in [
            &["check"][..],
            &["parts"],
            &["plan"],
            &["estimate"],
            &["bill"],
            &["buy"],
            &["why", &part],
            &["log", "note", "x"],
            &["report"],
        ] {
            let out = run(dir.path(), args);
            assert_eq!(out.status.code(), Some(1), "{args:?}");
            assert!(out.stdout.is_empty(), "{args:?}");
            assert!(text(&out.stderr).contains("faults in build.yaml"), "{args:?}");
        }
        assert!(!dir.path().join("report.html").exists());
    }
}

const HEAD: [&str; 4] = ["title", "today", "pinned", "remarks"];
const FIGURE: [&str; 8] = ["name", "value", "unit", "low", "high", "shown", "span", "known"];

fn figure(value: &Value, before: &[&str]) {
    if value.is_null() {
        return;
    }
    let mut found = keys(value);
    found.retain(|k| *k != "note");
    // Only a limit has an end that is safe to go by; it stands before what is known of it.
    if let Some(at) = found.iter().position(|k| *k == "safe") {
        assert_eq!(found.get(at + 1), Some(&"known"), "{value}");
        assert!(value["safe"].as_str().is_some_and(|s| !s.is_empty()), "{value}");
        found.remove(at);
    }
    let known = found.iter().take(before.len() + FIGURE.len()).copied().collect::<Vec<_>>();
    assert_eq!(known, [before, &FIGURE[..]].concat(), "{value}");
    let number = |key: &str| value[key].as_f64().unwrap_or_else(|| panic!("{key} in {value}"));
    let slack = 1e-9 * number("value").abs();
    assert!(number("low") <= number("value") + slack && number("value") <= number("high") + slack);
}

#[test]
fn json_names_are_stable() {
    for build in BUILDS {
        let dir = ready(build);
        let dir = dir.path();
        let parts = json(dir, &["parts"]);
        assert_eq!(keys(&parts), [&HEAD[..], &["parts", "finished"]].concat());
        for row in list(&parts, "parts") {
            let want = [
                "id", "name", "making", "alloy", "standing", "wanted", "good", "scrapped",
                "attempts", "casting", "charge", "flask", "crucible",
            ];
            assert_eq!(keys(row), want);
            figure(&row["casting"], &[]);
            figure(&row["charge"], &[]);
        }
        let estimate = json(dir, &["estimate"]);
        assert_eq!(keys(&estimate), [&HEAD[..], &["castings", "together"]].concat());
        for row in list(&estimate, "castings") {
            let want = [
                "id", "name", "alloy", "wanted", "cavities", "moulds", "flask", "crucible",
                "lacks", "warnings", "notes", "figures", "chain", "sections",
            ];
            assert_eq!(keys(row), want);
            list(row, "figures").iter().for_each(|f| figure(f, &["ask"]));
            for section in list(row, "sections") {
                figure(&section["modulus"], &[]);
                figure(&section["thickest_place"], &[]);
            }
        }
        let one = json(dir, &["estimate", &cast(dir)]);
        assert!(!list(&list(&one, "castings")[0], "cautions").is_empty());
        let plan = json(dir, &["plan"]);
        let want = [
            "work",
            "now",
            "longest_chain",
            "chain_length",
            "hours_left",
            "worked_off",
            "untimed",
            "schedule",
        ];
        assert_eq!(keys(&plan), [&HEAD[..], &want].concat());
        let want = [
            "finish",
            "bound",
            "gap_days",
            "aim",
            "least_heats",
            "tried",
            "kept",
            "missing",
            "short_of_people",
            "sessions",
            "heats",
            "jobs",
            "chain",
        ];
        // Told only where there is something to tell.
        let mut told = keys(&plan["schedule"]);
        told.retain(|key| {
            !["too_heavy", "firsts", "brimming", "slow", "supply", "overlong", "little_sand"]
                .contains(key)
        });
        assert_eq!(told, want);
        for row in list(&plan, "work") {
            assert_eq!(keys(row), ["on", "step", "hands_on", "wait", "done", "level", "after"]);
            figure(&row["hands_on"], &[]);
            figure(&row["wait"], &[]);
        }
        figure(&plan["hours_left"], &[]);
        let bill = json(dir, &["bill"]);
        let want = [
            "metal",
            "sand",
            "consumables",
            "crucibles",
            "bought",
            "made",
            "left_out",
            "to_pay",
            "currency",
        ];
        assert_eq!(keys(&bill), [&HEAD[..], &want].concat());
        for group in ["metal", "sand", "consumables"] {
            for row in list(&bill, group) {
                let want = [
                    "id", "title", "in_all", "used", "left", "stock", "on_order", "buy", "summed",
                    "sure", "by", "note",
                ];
                assert_eq!(keys(row), want);
                ["in_all", "used", "left", "stock", "buy", "summed"]
                    .iter()
                    .for_each(|k| figure(&row[*k], &[]));
            }
        }
        for row in list(&bill, "crucibles") {
            let want =
                ["id", "heats_so_far", "heats_to_come", "lasts", "lasts_between", "known", "spent"];
            assert_eq!(keys(row), want);
        }
        for row in list(&bill, "bought") {
            assert_eq!(
                keys(row),
                ["id", "name", "quantity", "price", "here", "on_order", "expected"]
            );
        }
        buy_keys(&json(dir, &["buy"]));
        why_keys(&json(dir, &["why", "build", "hours-left"]));
    }
    let dir = ready("demo");
    let args = ["reckon", "cope-lift", "area=600 cm2", "head=15 cm", "density=2.4 g/cm3"];
    let reckon = json(dir.path(), &args);
    let want = [
        "name", "gives", "value", "unit", "low", "high", "formula", "source", "known", "holds",
        "inputs", "warnings",
    ];
    assert_eq!(keys(&reckon), want);
    // What the demo's journal has of odd entries is told; no fault is.
    let check = json(dir.path(), &["check"]);
    let rows = check.as_array().expect("a list");
    assert!(!rows.is_empty() && rows.iter().all(|row| row["code"] == "note"), "{check}");
}

fn buy_keys(buy: &Value) {
    let want = [
        "purchases",
        "total",
        "parts",
        "with_parts",
        "unpriced",
        "left_out",
        "currency",
        "suppliers",
    ];
    assert_eq!(keys(buy), [&HEAD[..], &want].concat());
    for purchase in list(buy, "purchases") {
        assert_eq!(keys(purchase), ["orders", "covers", "total", "proven", "gap", "haste"]);
        for order in list(purchase, "orders") {
            let want = [
                "supplier",
                "name",
                "order_by",
                "days_late",
                "lines",
                "parts",
                "delivery",
                "tax",
                "total",
                "unpriced",
                "below",
            ];
            assert_eq!(keys(order), want);
            for line in list(order, "lines") {
                assert_eq!(keys(line), ["of", "packs", "size", "sold_as", "each", "total"]);
                figure(&line["size"], &[]);
            }
            for part in list(order, "parts") {
                assert_eq!(keys(part), ["id", "name", "quantity", "by", "order_by", "price"]);
            }
        }
        for cover in list(purchase, "covers") {
            let want = [
                "of",
                "by",
                "unit",
                "needed_value",
                "needed",
                "most_value",
                "most",
                "bought_value",
                "bought",
                "left_over_value",
                "left_over",
                "missing_value",
                "missing",
            ];
            assert_eq!(keys(cover), want);
            let kg = |key: &str| cover[key].as_f64().expect("a number");
            let balance = kg("needed_value") + kg("left_over_value")
                - kg("bought_value")
                - kg("missing_value");
            assert!(balance.abs() < 2e-6, "{cover}");
        }
    }
}

/// A plan that is kept is found again without a search, each piece of work where it was.
#[test]
fn a_kept_plan_is_found_again_as_it_was() {
    for build in BUILDS {
        let dir = copy(build);
        let plan = || {
            let mut plan = json(dir.path(), &["plan"]);
            let schedule = plan["schedule"].as_object_mut().expect("a schedule");
            let tried = schedule.remove("tried").and_then(|n| n.as_u64()).expect("a number");
            schedule.remove("kept");
            (plan, tried)
        };
        let ((made, tried), (found, again)) = (plan(), plan());
        assert!(tried > 1 && again == 1, "{build}: {tried} {again}");
        assert_eq!(made, found, "{build}");
    }
}

/// The order list adds up, to the penny, in text that a spreadsheet reads as numbers.
#[test]
fn the_order_list_adds_up() {
    for build in BUILDS {
        let dir = ready(build);
        let buy = json(dir.path(), &["buy"]);
        let money = |text: &str| text.parse::<Decimal>().expect("a plain number");
        // Parts of nobody in particular are in the grand total alone.
        let total = money(word(&buy, "with_parts"));
        let loose = list(&buy, "parts").iter().filter_map(|p| p["price"].as_str()).map(money);
        assert_eq!(money(word(&buy, "total")) + loose.sum::<Decimal>(), total);
        let text = good(dir.path(), &["buy", "--csv"]);
        assert_eq!(text.matches("\r\n").count(), text.matches('\n').count());
        let mut sum = Decimal::ZERO;
        for row in csv::Reader::from_reader(text.as_bytes()).records() {
            let row = row.expect("as many as the headings");
            assert_eq!(row.len(), 10);
            sum += if row[8].is_empty() { Decimal::ZERO } else { money(&row[8]) };
        }
        assert!(total > Decimal::ZERO && sum == total, "{sum} {total}");
        // Each column adds up as it is printed.
        for order in list(&list(&buy, "purchases")[0], "orders") {
            let lines = list(order, "lines").iter().filter_map(|l| l["total"].as_str());
            let parts = list(order, "parts").iter().filter_map(|l| l["price"].as_str());
            let rest = [word(order, "delivery"), word(order, "tax")];
            let sum: Decimal = lines.chain(parts).chain(rest).map(money).sum();
            assert_eq!(sum, money(word(order, "total")), "{order}");
        }
    }
}

/// A shop with a heel of 300 g in each of two pots, and two furnaces that are lit together.
const TWINS: &str = "\
build: {title: T, begun: 2026-01-10}
shop:
  people: {me: {hours: {sat: 9:00..17:00}}, you: {hours: {sat: 9:00..17:00}}}
  furnaces:
    f1: {fuel: propane, efficiency: 10 %, heats-per-session: 1}
    f2: {fuel: propane, efficiency: 10 %, heats-per-session: 1}
  crucibles:
    p1: {holds: 1.2 L, working-fill: 80 %, family: aluminium, mass: 1 kg, heel: 300 g}
    p2: {holds: 1.2 L, working-fill: 80 %, family: aluminium, mass: 1 kg, heel: 300 g}
  flasks: {big: {inside: 600 x 500 mm, cope: 150 mm, drag: 150 mm, count: 6}}
  sand: {kind: green-sand, on-hand: 1500 kg}
  stock: {A356: 2.2 kg}
patterns:
  base: {size: 300 x 200 x 60 mm}
  cap: {size: 300 x 200 x 60 mm}
parts:
  base: {casting: {pattern: base, alloy: A356, wall: 12 mm, mass: 0.7 kg}}
  cap: {casting: {pattern: cap, alloy: A356, wall: 12 mm, mass: 0.7 kg}}
metals:
  ingot: {stock: A356, composition: {Si: 7.1 %, Mg: 0.35 %}, balance: Al, price: 5.00, per: 1 kg}
";

/// One thing has one unit, and one wording, whether the bill or the order list shows it.
#[test]
fn bill_and_buy_show_an_amount_alike() {
    let unit =
        |shown: &str| shown.rsplit_once(' ').map(|(_, unit)| unit.replace("pieces", "piece"));
    for build in BUILDS {
        let dir = ready_on_day(build);
        let bill = json(dir.path(), &["bill", "--today", DAY]);
        let buy = json(dir.path(), &["buy", "--today", DAY]);
        let rows = ["metal", "sand", "consumables"].map(|group| list(&bill, group).clone());
        let covers = list(&list(&buy, "purchases")[0], "covers");
        assert!(!covers.is_empty(), "{build}");
        for cover in covers {
            let row = rows.iter().flatten().find(|row| row["id"] == cover["of"]).expect("billed");
            assert_eq!(cover["needed"], row["buy"]["shown"], "{build}: {cover}");
            let most = row["buy"]["high"].as_f64().expect("a number");
            assert!((cover["most_value"].as_f64().expect("a number") - most).abs() < 1e-9);
            for other in ["most", "bought", "left_over", "missing"].map(|key| word(cover, key)) {
                let same = other == "-" || unit(other) == unit(word(cover, "needed"));
                assert!(same, "{build}: {cover}");
            }
        }
    }
}

/// What is told of a material stays as it is where more is asked for, and that is told in its unit.
#[test]
fn a_bill_tells_each_material_alike_with_castings_made_again_and_without() {
    let unit = |figure: &Value| {
        let shown = figure["shown"].as_str().expect("words");
        shown.rsplit_once(' ').map(|(_, unit)| unit.replace("pieces", "piece"))
    };
    for build in BUILDS {
        let dir = ready_on_day(build);
        let [bill, sure] = [&["bill"][..], &["bill", "--sure"]].map(|asked| {
            let out = json(dir.path(), &[asked, &["--today", DAY]].concat());
            ["metal", "sand", "consumables"].map(|group| list(&out, group).clone()).concat()
        });
        assert_eq!(bill.len(), sure.len(), "{build}");
        let mut told = 0;
        for (row, sure) in bill.iter().zip(&sure) {
            for key in ["left", "stock", "on_order", "buy"] {
                assert_eq!(row[key], sure[key], "{build}: {}", row["id"]);
            }
            let nothing = |figure: &Value| figure["value"].as_f64().is_none_or(|v| v <= 0.0);
            if !nothing(&sure["sure"]) && !nothing(&row["left"]) {
                assert_eq!(unit(&sure["sure"]), unit(&row["left"]), "{build}: {sure}");
                told += 1;
            }
        }
        assert!(told > 3, "{build}");
    }
}

#[test]
fn a_heel_is_charged_once_and_a_shelf_is_emptied_once() {
    let dir = tempfile::tempdir().expect("temporary folder");
    fs::write(dir.path().join("build.yaml"), TWINS).expect("written");
    let at = |args: &[&str]| json(dir.path(), &[args, &["--today", "2026-01-10"]].concat());
    let heats = at(&["heats"]);
    let names: Vec<&str> = list(&heats, "heats").iter().map(|h| word(h, "heat")).collect();
    assert_eq!(names.len(), 2);
    let charge = at(&["charge", names[0]]);
    let notes = list(&charge, "notes").iter().map(|n| n.to_string()).collect::<String>();
    assert!(notes.contains("holds it below its working fill"), "{notes}");
    assert!(notes.contains("and the heel are in it"), "{notes}");
    let sheets: Vec<Value> = names.iter().map(|n| at(&["sheet", "heat", n])).collect();
    let shelf = |sheet: &Value| sheet["in_shop"]["shown"].as_str().expect("words").to_owned();
    let lit: Vec<&Value> = sheets.iter().map(|s| &s["lit"]).collect();
    if lit[0] == lit[1] && sheets[0]["day"] == sheets[1]["day"] {
        assert_ne!(shelf(&sheets[0]), shelf(&sheets[1]));
    }
    assert!(sheets[1]["short"].is_object(), "2.2 kg are not enough for both");
    // What the first takes is gone when the second is made up.
    let missing = list(&at(&["charge", names[1]]), "in_the_way").clone();
    assert!(
        missing.iter().any(|way| way.as_str().is_some_and(|w| w.contains("of metal is missing")))
    );
}

/// Charge and pour sheet of a heat tell one shortage, and the charge once it is bought.
#[test]
fn what_a_heat_is_short_of_is_told_once() {
    let dir = ready("demo");
    let dir = dir.path();
    let heats = json(dir, &["heats"]);
    let mut short = 0;
    for heat in list(&heats, "heats").iter().map(|h| word(h, "heat")) {
        let sheet = json(dir, &["sheet", "heat", heat, "--force"]);
        let charge = json(dir, &["charge", heat]);
        let plain = |text: &str| text.replace('\u{a0}', " ");
        // What the sheet says to put in is what the charge says.
        let of = |view: &Value, key: &str, id: &str| -> Vec<(String, String)> {
            let all = list(view, key).iter();
            all.map(|m| (word(m, id).to_owned(), plain(word(m, "mass")))).collect()
        };
        assert_eq!(of(&charge, "metals", "id"), of(&sheet, "made_up", "metal"), "{heat}");
        if charge["possible"] == true {
            assert_eq!(sheet["short"], Value::Null, "{heat}");
            continue;
        }
        short += 1;
        let shown = plain(word(&sheet["short"], "shown"));
        let ways = list(&charge, "in_the_way");
        assert_eq!(ways, &[serde_json::json!(format!("{shown} of metal is missing"))]);
        assert_eq!(charge["once_bought"], true);
    }
    assert!(short >= 2, "{heats}");
}

/// Scrap that makes up a charge leaves nothing short, though there is too little ingot for it.
#[test]
fn a_charge_made_up_of_scrap_lacks_nothing() {
    let dir = copy("demo");
    let [manifest, journal] = ["build.yaml", "journal.yaml"].map(|name| dir.path().join(name));
    let (given, mut log) = (fs::read_to_string(&manifest), fs::read_to_string(&journal));
    let log = log.as_mut().expect("a journal");
    log.push_str(
        "---\nid: 20260706-0900-a1\nat: 2026-07-06 09:00\ncounted: {stock: A356, mass: 0.1 kg}\n",
    );
    fs::write(&journal, log).expect("written");
    let given = given.expect("a build");
    let first = |manifest_text: &str| {
        fs::write(&manifest, manifest_text).expect("written");
        let heats = json(dir.path(), &["heats", "--today", DAY]);
        let heat = list(&heats, "heats").iter().find(|h| word(h, "alloy") == "A356");
        let heat = word(heat.expect("a heat"), "heat").to_owned();
        let sheet = json(dir.path(), &["sheet", "heat", &heat, "--force", "--today", DAY]);
        (sheet["short"] != Value::Null, sheet["made_up"].to_string())
    };
    let without = given.replace("    amount: 15 kg\n", "    amount: 0 kg\n");
    assert_ne!(without, given);
    assert!(first(&without).0);
    let (short, made_up) = first(&given.replace("amount: 15 kg", "amount: 60 kg"));
    assert!(!short && made_up.contains("wheel-scrap"), "{made_up}");
}

/// Where no metal of the shop is of the alloy, that is told, and not that metal on the shelf is missing.
#[test]
fn a_charge_of_an_alloy_that_no_metal_is_of_says_so() {
    let dir = ready("demo");
    let manifest = dir.path().join("build.yaml");
    let text = fs::read_to_string(&manifest).expect("a build");
    let lines = text.lines().filter(|l| !l.starts_with("  ostrel-bronze:"));
    fs::write(&manifest, lines.map(|l| format!("{l}\n")).collect::<String>()).expect("written");
    let charge = json(dir.path(), &["charge", "C905", "2kg"]);
    let ways = list(&charge, "in_the_way");
    assert_eq!(ways.len(), 1, "{charge}");
    let way = ways[0].as_str().expect("words");
    assert!(way.starts_with("no entry of `metals:` is of C905, so none of it counts"), "{way}");
    // Where metals are of it and there is too little, that is what is missing.
    let charge = json(dir.path(), &["charge", "ZA-12", "50kg"]);
    assert!(list(&charge, "in_the_way")[0].as_str().is_some_and(|w| w.contains("is missing")));
}

/// Where the last day to order lies behind, the list says by how much.
#[test]
fn an_order_whose_day_is_over_says_so() {
    let dir = ready("demo");
    let manifest = dir.path().join("build.yaml");
    let given = fs::read_to_string(&manifest).expect("read");
    // Heats wait for what they take; sand is shaken out whether its clay is there or not.
    let pit =
        "  clay-pit: {delivery: 2..60 d, packs: [{of: bentonite, size: 5 kg, price: 9.00}]}\n";
    let sold = given.lines().filter(|line| !line.contains("{of: bentonite"));
    let sold = sold.map(|line| format!("{line}\n")).collect::<String>();
    let (before, behind) = sold.split_once("  village-gas:").expect("a seller");
    fs::write(&manifest, format!("{before}{pit}  village-gas:{behind}")).expect("written");
    let buy = json(dir.path(), &["buy", "--today", DAY]);
    let day = |value: &Value| -> chrono::NaiveDate {
        value.as_str().expect("a day").parse().expect("a day")
    };
    let mut late = 0;
    for order in list(&list(&buy, "purchases")[0], "orders") {
        let since = (day(&Value::from(DAY)) - day(&order["order_by"])).num_days();
        assert_eq!(order["days_late"].as_i64(), (since > 0).then_some(since));
        late += i64::from(since > 0) * since;
    }
    assert!(late > 0);
    let text = good(dir.path(), &["buy", "--today", DAY]);
    assert!(text.contains(&format!(": {late} days late, order at once")), "{text}");
}

/// A charge keeps the limits, and what cannot be asked is said before anything is made up.
#[test]
fn a_charge_is_made_up_within_the_limits() {
    let dir = ready("demo");
    let sold = |of: &str| json(dir.path(), &["charge", of, "8kg", "--count", "sold"]);
    let charge = sold("A356");
    let want = [
        "heat",
        "alloy",
        "standard",
        "source",
        "mass_kg",
        "mass",
        "possible",
        "in_the_way",
        "short_kg",
        "once_bought",
        "metals",
        "elements",
        "binding",
        "cost",
        "currency",
        "proven",
        "gap",
        "unpriced",
        "unlimited",
        "left_out",
        "notes",
        "cautions",
    ];
    assert_eq!(keys(&charge), [&HEAD[..], &want].concat());
    assert_eq!((&charge["possible"], &charge["proven"]), (&true.into(), &true.into()));
    let sum: f64 = list(&charge, "metals").iter().map(|m| m["mass_kg"].as_f64().expect("kg")).sum();
    // To the gram, as the scale shows it, and never less than was asked for.
    assert!((8.0 - 1e-9..8.02).contains(&sum), "{sum}");
    for row in list(&charge, "elements") {
        assert_eq!(
            keys(row),
            ["element", "least", "most", "low", "likely", "high", "limits", "shown", "span"]
        );
        let of = |key: &str| row[key].as_f64().expect("a share");
        assert!(of("least") - 1e-6 <= of("low") && of("high") <= of("most") + 1e-6, "{row}");
    }
    // Aluminium of 7 % silicon makes no alloy of 11 to 13 %.
    let eutectic = sold("413");
    assert_eq!(eutectic["possible"], false);
    let ways: Vec<&str> =
        list(&eutectic, "in_the_way").iter().map(|w| w.as_str().expect("words")).collect();
    assert!(ways[0].contains("Si"), "{ways:?}");
    // There is too much magnesium in the ingot. What stays out, like zinc and bronze, is no help.
    assert!(ways.iter().any(|way| way.starts_with("Mg")), "{ways:?}");
    for out in list(&eutectic, "left_out") {
        assert!(ways.iter().all(|way| !way.contains(out.as_str().expect("an id"))), "{ways:?}");
    }
    // Aluminium returns and scrap hold what has no limit in zinc: they stay out of it.
    let zinc = sold("ZA-12");
    assert_eq!(zinc["possible"], true);
    let metals: Vec<&str> = list(&zinc, "metals").iter().map(|m| word(m, "id")).collect();
    assert_eq!(metals, ["ostrel-za12", "own-za12-returns"]);
    // Zinc returns have a limit for each of their elements in A356, cost nothing, and stay out of it too.
    assert!(list(&charge, "left_out").contains(&"own-za12-returns".into()), "{charge}");
    let out = list(&zinc, "left_out");
    assert!(
        ["ostrel-ingot", "own-returns", "wheel-scrap"].iter().all(|m| out.contains(&(*m).into()))
    );
    let plain = good(dir.path(), &["charge", "A356", "8kg"]);
    assert!(plain.lines().all(|l| !too_long(l)), "{plain}");
    for args in [["charge", "A355", "8kg"], ["charge", "A356", "8mm"], ["charge", "A356", "0 kg"]] {
        assert_eq!(run(dir.path(), &args).status.code(), Some(2), "{args:?}");
    }
}

#[test]
fn a_planned_heat_is_told_and_charged() {
    let dir = ready("demo");
    let dir = dir.path();
    let heats = json(dir, &["heats"]);
    // The second of a day finds the furnace hot.
    for (name, says) in [("H12", "setting up and melting"), ("H13", "melting; the furnace is hot")]
    {
        let told = good(dir, &["heats", name]);
        assert!(told.lines().any(|l| l.contains("to first pour") && l.contains(says)), "{told}");
        assert_eq!(json(dir, &["heats", name])["hot"], name == "H13");
    }
    for heat in list(&heats, "heats") {
        let name = word(heat, "heat");
        let one = json(dir, &["heats", name]);
        let want = [
            "heat",
            "alloy",
            "furnace",
            "crucibles",
            "lit",
            "pour",
            "over",
            "hot",
            "before_pour",
            "clear_up",
            "charge",
            "poured",
            "fill",
            "lift",
            "temperature",
            "moulds",
        ];
        assert_eq!(keys(&one), [&HEAD[..], &want].concat());
        assert_eq!(one["charge"]["value"], heat["charge"]["value"], "{name}");
        let order = |v: &Value| -> Vec<String> {
            list(v, "moulds").iter().map(|m| word(m, "part").to_owned()).collect()
        };
        assert_eq!(order(&one), order(heat), "{name}: the order to pour them");
        let metal: f64 =
            list(&one, "moulds").iter().map(|m| m["poured"]["value"].as_f64().expect("kg")).sum();
        assert!((metal - one["poured"]["value"].as_f64().expect("kg")).abs() < 1e-9);
        if let Some(fill) = one["fill"]["value"].as_f64() {
            assert!(fill > 0.0 && fill <= 1.0 + 1e-9, "{name}: filled to {fill}");
        }
        for line in good(dir, &["heats", name]).lines() {
            assert!(!too_long(line), "{line}");
        }
    }
    let aluminium = list(&heats, "heats").iter().find(|h| h["alloy"] == "A356").expect("a heat");
    let name = word(aluminium, "heat");
    let charge = json(dir, &["charge", name, "--count", "sold"]);
    assert_eq!(charge["heat"], *name);
    // By the most that its moulds may take.
    assert_eq!(charge["mass_kg"], aluminium["charge"]["high"]);
    assert_ne!(charge["mass_kg"], aluminium["charge"]["value"]);
    let sum: f64 = list(&charge, "metals").iter().map(|m| m["mass_kg"].as_f64().expect("kg")).sum();
    let over = sum - charge["mass_kg"].as_f64().expect("kg");
    assert!((-1e-9..0.02).contains(&over), "{over}");
    let sheet = json(dir, &["sheet", "heat", name]);
    assert_eq!(list(&sheet, "made_up").len(), list(&charge, "metals").len());
    for (args, says) in [
        (&["charge", "A356"][..], "how much?"),
        (&["charge", "H99"], "no heat H99 is planned"),
        (&["heats", "H99"], "no heat H99 is planned"),
        (&["heats", "H1"], "was poured on"),
    ] {
        let out = run(dir, args);
        assert_eq!(out.status.code(), Some(2), "{args:?}");
        assert!(text(&out.stderr).contains(says), "{}", text(&out.stderr));
    }
}

#[test]
fn the_sessions_open_in_a_spreadsheet() {
    let dir = copy("demo");
    let dir = dir.path();
    let file = dir.join("shop.csv");
    let path = file.to_str().expect("a path");
    good(dir, &["plan", "--tries", "1", "--csv", path]);
    let mut reader = csv::Reader::from_path(&file).expect("a table");
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    let plan = json(dir, &["plan", "--tries", "1"])["schedule"].clone();
    let sessions = list(&plan, "sessions");
    let blocks: usize = sessions.iter().map(|s| list(s, "blocks").len()).sum();
    assert_eq!(rows.len(), blocks);
    assert_eq!(&rows[0][0], word(&sessions[0], "day"));
    let heats: std::collections::BTreeSet<&str> =
        rows.iter().map(|r| &r[7]).filter(|h| !h.is_empty()).collect();
    assert_eq!(heats.len(), list(&plan, "heats").len());
}

#[test]
fn what_to_buy_to_be_sure_can_be_asked() {
    let dir = ready("demo");
    let dir = dir.path();
    let bill = json(dir, &["bill", "--sure"]);
    let mut seen = 0;
    for row in ["metal", "sand", "consumables"].iter().flat_map(|g| list(&bill, g)) {
        figure(&row["sure"], &[]);
        let Some(sure) = row["sure"]["value"].as_f64() else { continue };
        seen += 1;
        assert!(sure >= row["buy"]["value"].as_f64().expect("kg") - 1e-9, "{}", row["id"]);
        let why = json(dir, &["why", word(row, "id"), "sure"]);
        assert_eq!(why["value"], row["sure"]["value"], "{}", row["id"]);
    }
    assert!(seen >= 4, "three alloys and the fuel at least, {seen}");
    let plain = good(dir, &["bill", "--sure"]);
    assert!(plain.contains("at P90") && plain.lines().all(|l| !too_long(l)), "{plain}");
}

fn why_keys(view: &Value) {
    figure(view, &[]);
    for key in keys(view) {
        let known = ["note", "formula", "reckon", "from", "inputs"];
        assert!(FIGURE.contains(&key) || known.contains(&key), "{key}");
    }
    assert!(view["from"].is_string());
    view["inputs"].as_array().into_iter().flatten().for_each(why_keys);
}

/// Whether a line is too long only for one word in it, such as an id or a path of keys.
fn too_long(line: &str) -> bool {
    let words = line.trim().trim_start_matches(['[', '(', '=']).split_whitespace().count();
    line.chars().count() > 80 && words > 1
}

#[test]
fn text_is_plain_and_fits() {
    for build in BUILDS {
        let dir = ready(build);
        let part = cast(dir.path());
        let mut asked: Vec<Vec<String>> = [
            "check",
            "parts",
            "plan",
            "plan --all",
            "estimate",
            "bill",
            "buy",
            "buy --sure --stages",
            "why sand buy",
            "why build",
            "why build hours-left",
            "reckon",
            "reckon cope-lift",
        ]
        .iter()
        .map(|a| a.split(' ').map(str::to_owned).collect())
        .collect();
        asked.push(vec!["estimate".into(), part.clone()]);
        asked.push(vec!["why".into(), part.clone()]);
        asked.push(vec!["why".into(), part.clone(), "charge".into()]);
        let mut wide = String::new();
        for args in asked {
            let args: Vec<&str> = args.iter().map(String::as_str).collect();
            let plain = good(dir.path(), &args);
            assert!(!plain.contains('\x1b'), "{args:?}");
            for line in plain.lines() {
                assert_eq!(line.trim_end(), line, "{args:?}");
                if too_long(line) {
                    wide += &format!("{build} {args:?}: {line}\n");
                }
            }
            // What the surroundings ask for is the same whatever the build.
            if build != BUILDS[0] {
                continue;
            }
            let out = command(dir.path(), &args).env("NO_COLOR", "1").output().expect("run");
            assert!(!text(&out.stdout).contains('\x1b'), "{args:?}");
            let mut ascii = command(dir.path(), &args);
            let out = ascii.env_remove("LC_ALL").env_remove("LC_CTYPE").env("LANG", "C").output();
            // Names and notes of the builder may hold any letter; these builds are in English.
            let ascii = text(&out.expect("run").stdout);
            let sign = ascii.chars().find(|c| !c.is_ascii());
            let own = fs::read_to_string(dir.path().join("build.yaml")).expect("manifest");
            assert!(sign.is_none_or(|c| own.contains(c)), "{build} {args:?}: {sign:?}");
        }
        assert!(wide.is_empty(), "wider than 80 columns:\n{wide}");
    }
}

#[test]
fn every_figure_that_is_shown_can_be_asked() {
    use pourwright::view::why::{Askable, WhyView};
    let (planned, _) = by_the_library();
    let bill = pourwright::job::supply(planned);
    let ask = Askable::new(&planned.build, &planned.estimates, &planned.plan, &bill);
    let asked = |of: &str, name: &str| {
        let node = ask.figure(of, name).expect("a figure that is shown can be asked");
        // As text, as the commands tell it.
        let told = serde_json::to_string(&WhyView::new(node, &planned.build)).expect("JSON");
        serde_json::from_str::<Value>(&told).expect("JSON")
    };
    let dir = ready("demo");
    let dir = dir.path();
    let castings = json(dir, &["estimate"]);
    for row in list(&castings, "castings") {
        for f in list(row, "figures") {
            let (of, name) = (word(row, "id"), word(f, "ask"));
            assert_eq!(asked(of, name)["value"], f["value"], "{of} {name}");
        }
    }
    let bill = json(dir, &["bill"]);
    for row in ["metal", "sand", "consumables"].iter().flat_map(|g| list(&bill, g)) {
        for (key, name) in [
            ("in_all", "in-all"),
            ("used", "used"),
            ("left", "left"),
            ("stock", "stock"),
            ("buy", "buy"),
        ] {
            if !row[key].is_null() {
                let why = asked(word(row, "id"), name);
                assert_eq!(why["value"], row[key]["value"], "{} {name}", row["id"]);
            }
        }
    }
    let plan = json(dir, &["plan"]);
    for (key, name) in [("hours_left", "hours-left"), ("chain_length", "chain-length")] {
        if !plan[key].is_null() {
            assert_eq!(asked("build", name)["value"], plan[key]["value"]);
        }
    }
    // The command lists and answers what the library knows, on one casting.
    let row = &list(&castings, "castings")[0];
    let of = word(row, "id");
    let names = good(dir, &["why", of, "--width", "160"]);
    // A line that begins with a space goes on with the one above it.
    let rows = names.lines().skip(2).filter(|line| !line.starts_with(' '));
    let listed: Vec<&str> = rows.filter_map(|line| line.split_whitespace().next()).collect();
    let known: Vec<&str> = ask.names(of).expect("names").iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(listed, known);
    for f in list(row, "figures").iter().take(5) {
        let name = word(f, "ask");
        assert_eq!(json(dir, &["why", of, name])["value"], f["value"], "{of} {name}");
    }
}

#[test]
fn new_starts_a_build_once() {
    let dir = tempfile::tempdir().expect("temporary folder");
    let folder = dir.path().join("a").join("lathe");
    let named = folder.to_string_lossy().into_owned();
    assert!(good(dir.path(), &["new", &named]).contains("pourwright check"));
    let first = fs::read(folder.join("build.yaml")).expect("manifest");
    assert!(good(&folder, &["check"]).starts_with("no faults: "));
    for args in ["parts", "plan", "estimate", "bill"] {
        good(&folder, &[args]);
    }
    let out = run(dir.path(), &["new", &named]);
    assert_eq!(out.status.code(), Some(1));
    assert!(text(&out.stderr).contains("exists already"));
    assert_eq!(fs::read(folder.join("build.yaml")).expect("manifest"), first);
}

fn started() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().expect("temporary folder");
    let folder = dir.path().join("b");
    good(dir.path(), &["new", &folder.to_string_lossy()]);
    (dir, folder)
}

fn log(dir: &Path, at: &str, args: &[&str]) -> String {
    good(dir, &[&["log"], args, &["--at", at, "--today", DAY]].concat())
}

fn standing(dir: &Path, part: &str) -> String {
    let parts = json(dir, &["parts", "--today", DAY]);
    let row = list(&parts, "parts").iter().find(|r| r["id"] == part).expect("part").clone();
    word(&row, "standing").to_owned()
}

#[test]
fn a_casting_is_scrapped_cast_again_accepted_and_voided() {
    let (_keep, dir) = started();
    assert_eq!(standing(&dir, "base"), "waiting");
    let cast = |day: &str, n: &str| {
        let at = |hour: &str| format!("{day} {hour}:00");
        let (m, h) = (format!("M{n}"), format!("H{n}"));
        log(
            &dir,
            &at("10"),
            &[
                "rammed",
                "--mould",
                &m,
                "--pattern",
                "base-pattern",
                "--flask",
                "large-box",
                "--casting",
                "base=1",
                "--hours",
                "1.5 h",
            ],
        );
        log(
            &dir,
            &at("12"),
            &[
                "poured",
                "--heat",
                &h,
                "--alloy",
                "A356",
                "--mould",
                &m,
                "--charge",
                "ingot=4.1 kg",
                "--charge",
                "returns=1 kg",
                "--temperature",
                "715 C",
                "--weather",
                "dry: 9 C, no wind",
            ],
        );
        log(&dir, &at("14"), &["shaken-out", "--mould", &m, "--after", "2 h"]);
    };
    cast("2026-02-01", "1");
    assert_eq!(standing(&dir, "base"), "in-hand");
    log(
        &dir,
        "2026-02-02 10:00",
        &[
            "inspected",
            "--mould",
            "M1",
            "--part",
            "base",
            "--disposition",
            "scrap",
            "--blemish",
            "B200=at the boss",
            "--says",
            "a hole",
        ],
    );
    assert_eq!(standing(&dir, "base"), "redo");
    assert!(good(&dir, &["parts", "--today", DAY]).contains("cast again"));
    cast("2026-02-08", "2");
    log(
        &dir,
        "2026-02-09 10:00",
        &[
            "inspected",
            "--mould",
            "M2",
            "--part",
            "base",
            "--disposition",
            "accept",
            "--mass",
            "2.4 kg",
        ],
    );
    assert_eq!(standing(&dir, "base"), "cast");
    let journal = fs::read_to_string(dir.join("journal.yaml")).expect("journal");
    let id = journal.lines().rev().find_map(|l| l.strip_prefix("id: ")).expect("id").to_owned();
    log(&dir, "2026-02-10 10:00", &["void", "--entry", &id, "--why", "it was another"]);
    assert_ne!(standing(&dir, "base"), "cast");
    log(
        &dir,
        "2026-02-10 11:00",
        &["inspected", "--mould", "M2", "--part", "base", "--disposition", "concession"],
    );
    assert_eq!(standing(&dir, "base"), "cast");
}

#[test]
fn a_wrong_entry_writes_nothing() {
    let (_keep, dir) = started();
    log(&dir, "2026-02-01 10:00", &["note", "first"]);
    let path = dir.join("journal.yaml");
    let before = fs::read(&path).expect("journal");
    for (args, says) in [
        (
            &["rammed", "--mould", "M1", "--pattern", "bass-pattern", "--casting", "base=1"][..],
            "base-pattern",
        ),
        (
            &["rammed", "--mould", "M1", "--pattern", "base-pattern", "--casting", "base=0"],
            "whole number",
        ),
        (&["rammed", "--mould", "M1", "--pattern", "base-pattern", "--casting", "bass=1"], "base"),
        (&["shaken-out", "--mould", "M9"], "M9"),
        (&["poured", "--heat", "H1", "--alloy", "A356", "--mould", "M9"], "M9"),
        (&["counted", "--stock", "A356", "--mass", "3 m"], "mass"),
        (&["done", "--part", "base", "--step", "machining"], "machine"),
        (&["received", "--part", "moter"], "motor"),
        (&["void", "--entry", "nothing", "--why", "x"], "nothing"),
        (&["note", "x", "--at", "2025-01-01 10:00"], "only begins"),
    ] {
        let out = run(&dir, &[&["log"], args].concat());
        assert_eq!(out.status.code(), Some(1), "{args:?}: {}", text(&out.stderr));
        let error = text(&out.stderr);
        assert!(error.contains("nothing was written") && error.contains(says), "{args:?}: {error}");
        assert_eq!(fs::read(&path).expect("journal"), before, "{args:?}");
    }
    good(&dir, &["log", "note", "not this one", "--try-out"]);
    assert_eq!(fs::read(&path).expect("journal"), before);
}

#[test]
fn strange_words_read_back_as_they_were() {
    use pourwright::journal::Event;
    let (_keep, dir) = started();
    let says = [
        "\"quoted\" and 'single'",
        "Grüße, 雨, 🔥",
        "two\nlines\r\nand a\ttab",
        "--leading dashes",
        "- a list",
        "key: value",
        "---",
        "# no remark",
        "{a: [b]}",
        "yes",
        "null",
        "~",
        "1_000",
        "0x1f",
        "12:30",
        "1e3",
        "007",
        ".5",
        "*alias",
        "&anchor",
        "!tag",
        "%dir",
        "back\\slash",
        " spaces around ",
        "",
        "\u{feff}mark",
        "\u{2028}",
        "\u{85}next",
        "\u{7f}",
    ];
    for text in says {
        let out =
            run(&dir, &["log", "note", "--at", "2026-02-01 10:00", "--part", "base", "--", text]);
        // Options after `--` are words too, so the folder is named before it here.
        assert_ne!(out.status.code(), Some(0));
        let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
        command.arg("--build").arg(&dir);
        command.args(["log", "note", "--at", "2026-02-01 10:00", "--part", "base", "--", text]);
        let out = command.output().expect("run");
        assert!(out.status.success(), "{text:?}: {}", String::from_utf8_lossy(&out.stderr));
    }
    let book = pourwright::handbook::Handbook::embedded();
    let bytes = fs::read(dir.join("journal.yaml")).expect("journal");
    let journal = pourwright::journal::read("journal.yaml", bytes, &book).expect("journal");
    let read: Vec<String> = journal
        .entries
        .iter()
        .map(|e| match &e.event {
            Event::Note(_) => e.says.as_ref().expect("words").to_string(),
            other => panic!("{other:?}"),
        })
        .collect();
    assert_eq!(read, says);
}

#[test]
fn two_dozen_writers_at_once_all_land() {
    let (_keep, dir) = started();
    let words: Vec<String> = (0..24).map(|i| format!("writer {i} was here")).collect();
    let children: Vec<_> = words
        .iter()
        .map(|w| {
            let mut command = command(&dir, &["log", "note", w]);
            command.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().expect("run")
        })
        .collect();
    for child in children {
        let out = child.wait_with_output().expect("ended");
        assert!(out.status.success(), "{}", text(&out.stderr));
    }
    let journal = fs::read_to_string(dir.join("journal.yaml")).expect("journal");
    for w in &words {
        assert_eq!(journal.matches(w.as_str()).count(), 1, "{w}");
    }
    assert!(good(&dir, &["check"]).contains("24 journal entries"));
}

#[test]
fn history_narrows_down() {
    let dir = ready("demo");
    let ids = |args: &[&str]| -> Vec<String> {
        let mut all = vec!["history"];
        all.extend(args);
        let view = json(dir.path(), &all);
        list(&view, "entries").iter().map(|e| e["id"].as_str().expect("id").to_owned()).collect()
    };
    let journal = fs::read_to_string(dir.path().join("journal.yaml")).expect("journal");
    // One entry of the demo is voided, by another; neither counts.
    assert_eq!(ids(&[]).len(), journal.matches("\nid: ").count() - 2);
    // From pattern to fit, with both attempts.
    let view = json(dir.path(), &["history", "--part", "base"]);
    let events: Vec<&str> =
        list(&view, "entries").iter().map(|e| e["event"].as_str().expect("event")).collect();
    let attempt = ["rammed", "poured", "shaken-out"];
    let story = [
        &["done"][..],
        &attempt,
        &["inspected", "note"],
        &attempt,
        &["done", "inspected", "done", "done"],
    ];
    assert_eq!(events, story.concat());
    assert_eq!(ids(&["--mould", "M3"]).len(), 4);
    let heat = json(dir.path(), &["history", "--heat", "H2"]);
    assert_eq!(heat["heat"]["charged"], 10.4);
    assert_eq!(heat["heat"]["castings"], 4.8);
    // Column cheek M6 was put right and weighed again: 2.2 and 2.25 kg.
    let heat = json(dir.path(), &["history", "--heat", "H4"]);
    assert!((heat["heat"]["castings"].as_f64().expect("kg") - 4.45).abs() < 1e-9);
    assert_eq!(
        ids(&["--kind", "inspected", "--from", "2026-06-20", "--to", "2026-06-30"]),
        ["20260621-1100-a1", "20260627-1400-a1"]
    );
    // In words, what somebody said stands in quotes.
    let told = good(dir.path(), &["history", "--part", "base"]);
    assert!(told.contains("\"Next time two ingates"), "{told}");
    for (args, says) in [
        (["--part", "bse"], "did you mean `base`?"),
        (["--mould", "M99"], "no mould"),
        (["--heat", "X1"], "no heat"),
        (["--kind", "pourd"], "did you mean `poured`?"),
    ] {
        let out = run(dir.path(), &["history", args[0], args[1]]);
        assert_eq!(out.status.code(), Some(2));
        assert!(text(&out.stderr).contains(says), "{}", text(&out.stderr));
    }
}

#[test]
fn the_new_views_fit_eighty_columns() {
    let dir = ready("demo");
    for args in [
        &["history"][..],
        &["learned"],
        &["redo", "base"],
        &["redo", "bull-gear-bush"],
        &["redo", "motor-plate"],
    ] {
        for line in good(dir.path(), args).lines() {
            assert!(line.chars().count() <= 80, "{args:?}: {line}");
        }
        json(dir.path(), args);
    }
    // A concession that is cast again puts the finish off, or takes nothing; never nothing known.
    let plate = json(dir.path(), &["redo", "motor-plate"]);
    assert!(plate["later"]["value"].as_f64().expect("days") >= 0.0);
    assert_eq!(json(dir.path(), &["redo", "base"])["later"], Value::Null, "cast again since");
    for (part, says) in
        [("handwheel", "nothing to decide"), ("motor", "not cast"), ("bse", "did you mean")]
    {
        let out = run(dir.path(), &["redo", part]);
        assert_eq!(out.status.code(), Some(2));
        assert!(text(&out.stderr).contains(says), "{}", text(&out.stderr));
    }
}

#[test]
fn estimates_are_marked_where_the_journal_knows_better() {
    let dir = copy("demo");
    assert!(good(dir.path(), &["estimate", "base", "--all"]).contains("`learn: yes`"));
    let path = dir.path().join("build.yaml");
    let manifest = fs::read_to_string(&path).expect("manifest");
    fs::write(&path, manifest.replace("  units: metric\n", "  units: metric\n  learn: yes\n"))
        .expect("manifest");
    assert!(!good(dir.path(), &["estimate", "base", "--all"]).contains("`learn: yes`"));
    // A figure that was learned names the entries it is from.
    let why = good(dir.path(), &["why", "base", "fuel"]);
    assert!(why.contains("journal entry 20260321-1520-a1"), "{why}");
    assert!(good(dir.path(), &["learned"]).contains("used"));
}

/// Every command and what it is called with, down to the last option that prints something else.
const CALLS: [&[&str]; 39] = [
    &["check"],
    &["parts"],
    &["estimate"],
    &["estimate", "base"],
    &["why", "base"],
    &["why", "base", "charge"],
    &["reckon"],
    &["reckon", "cope-lift"],
    &["reckon", "cope-lift", "area=600 cm2", "head=15 cm", "density=2.4 g/cm3"],
    &["handbook"],
    &["handbook", "--html"],
    &["plan"],
    &["plan", "--all"],
    &["plan", "--why", "table.ram"],
    &["plan", "--csv", "OUT"],
    &["plan", "--calendar", "OUT"],
    &["heats"],
    &["risk"],
    &["suppose", "--person"],
    &["suppose"],
    &["bill"],
    &["bill", "--sure"],
    &["bill", "--csv"],
    &["buy"],
    &["buy", "--csv"],
    &["charge", "A356", "8 kg"],
    &["stock"],
    &["stock", "A356"],
    &["log", "note", "x", "--try-out"],
    &["log", "note", "x"],
    &["log"],
    &["history"],
    &["learned"],
    &["redo", "base"],
    &["report"],
    &["report", "--watch"],
    &["sheet", "mould", "base"],
    &["sheet", "order"],
    &["new", "OUT"],
];

#[test]
fn json_is_given_or_refused_never_ignored() {
    let dir = ready("demo");
    for (n, call) in CALLS.iter().enumerate() {
        let out = dir.path().join(format!("out-{n}")).to_string_lossy().into_owned();
        let mut args: Vec<&str> =
            call.iter().map(|a| if *a == "OUT" { out.as_str() } else { a }).collect();
        args.push("--json");
        let done = run(dir.path(), &args);
        match done.status.code() {
            Some(0) => {
                let told: Result<Value, _> = serde_json::from_slice(&done.stdout);
                assert!(told.is_ok(), "{call:?}: {}", text(&done.stdout));
            }
            Some(2) => {
                let says = text(&done.stderr);
                assert!(done.stdout.is_empty() && says.contains(['J', 'j']), "{call:?}: {says}");
                assert!(says.to_lowercase().contains("json"), "{call:?}: {says}");
            }
            other => panic!("{call:?}: {other:?}, {}", text(&done.stderr)),
        }
    }
    let written = json(dir.path(), &["report"]);
    assert!(Path::new(word(&written, "written")).is_file());
    let why = json(dir.path(), &["plan", "--why", "table.ram"]);
    assert_eq!((&why[0]["on"], &why[0]["step"]), (&"table".into(), &"ram".into()));
    assert!(why.as_array().expect("rows").iter().all(|r| !word(r, "because").is_empty()));
}

/// A mistyped name is answered with the nearest one.
#[test]
fn work_that_is_not_there_is_answered_with_the_nearest() {
    let dir = ready("demo");
    let out = run(dir.path(), &["plan", "--why", "ram.machne"]);
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("did you mean `ram.machine`?"), "{}", text(&out.stderr));
    for (args, says) in [
        (&["history", "M15"][..], "`M15` is a mould; write `--mould M15`"),
        (&["history", "H11"], "`H11` is a heat; write `--heat H11`"),
        (&["history", "--from", "2026-02-30"], "2026-02 has 28 days; correct the day"),
        (&["plan", "--today", "07/05/2026"], "write 2026-07-05 or 2026-05-07, whichever is meant"),
        (&["log", "note", "x", "--at", "2026-07-05 24:30"], "`24:30` is no time of day"),
    ] {
        let out = run(dir.path(), args);
        assert_eq!(out.status.code(), Some(2), "{args:?}");
        assert!(text(&out.stderr).contains(says), "{args:?}: {}", text(&out.stderr));
    }
}

#[test]
fn help_fits_eighty_columns() {
    // Down through every command that `--help` lists.
    let mut open: Vec<Vec<String>> = vec![Vec::new()];
    let mut seen = 0;
    while let Some(path) = open.pop() {
        let mut command = Command::new(env!("CARGO_BIN_EXE_pourwright"));
        command.args(&path).arg("--help").env_remove("COLUMNS").stdin(Stdio::null());
        let help = text(&command.output().expect("pourwright runs").stdout);
        seen += 1;
        for line in help.lines() {
            assert!(line.chars().count() <= 80, "{path:?}: {line}");
        }
        let listed = help.lines().skip_while(|l| !l.starts_with("Commands:")).skip(1);
        for line in listed.take_while(|l| !l.trim().is_empty()) {
            let name = line.trim_start().split(' ').next().unwrap_or_default();
            if line.starts_with("  ") && !line.starts_with("   ") && name != "help" {
                open.push([&path[..], &[name.to_owned()]].concat());
            }
        }
    }
    assert!(seen > 30, "{seen} pages of help");
}

#[test]
fn an_odd_entry_is_told_and_written_an_impossible_one_refused() {
    let (_keep, dir) = started();
    let logged = |args: &[&str]| run(&dir, &[&["log", "--at", "2026-02-01 10:00"], args].concat());
    let path = dir.join("journal.yaml");
    let odd = logged(&["given-away", "--stock", "C905", "--mass", "1 kg", "--photo", "a.jpg"]);
    assert_eq!(odd.status.code(), Some(0), "{}", text(&odd.stderr));
    let told = text(&odd.stderr);
    assert!(told.contains("note: 1 kg of `C905`") && told.contains("no file a.jpg"), "{told}");
    let before = fs::read_to_string(&path).expect("journal");
    assert!(before.contains("given-away: {stock: C905"));
    let check = good(&dir, &["check"]);
    assert!(check.contains("note: journal.yaml:4: 1 kg of `C905`"), "{check}");
    // As JSON, the same in one object; only what is odd about this entry is told with it.
    let args = ["log", "note", "x", "--at", "2026-01-31 10:00", "--try-out", "--json"];
    let out = run(&dir, &args);
    let told: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    assert_eq!(keys(&told), ["entry", "written", "notes"]);
    assert_eq!(told["written"], false);
    let notes = list(&told, "notes");
    assert_eq!(notes.len(), 1, "{told}");
    assert!(notes[0].as_str().expect("words").contains("dated before"), "{told}");

    let mould = ["--mould", "M1", "--pattern", "base-pattern", "--casting", "base=1"];
    assert_eq!(logged(&[&["rammed"], &mould[..]].concat()).status.code(), Some(0));
    let before = fs::read_to_string(&path).expect("journal");
    let heat = ["poured", "--heat", "H1", "--alloy", "A356", "--mould", "M1"];
    let with = |more: &[&str]| logged(&[&heat[..], more].concat());
    for (more, says) in [
        (&["--temperature", "71.5 C"][..], "is not liquid"),
        (&["--temperature", "1715 C"], "400 K above"),
        (&["--charge", "ingot=2 kg", "--heel", "20 kg"], "a heel of 20 kg"),
    ] {
        let out = with(more);
        let error = text(&out.stderr);
        assert_eq!(out.status.code(), Some(1), "{more:?}: {error}");
        assert!(error.contains(says) && error.contains("nothing was written"), "{error}");
        assert_eq!(fs::read_to_string(&path).expect("journal"), before);
    }
}

#[test]
fn a_charge_tells_its_pot_its_losses_and_its_magnesium() {
    let dir = ready("demo");
    let dir = dir.path();
    let sold = |mass: &str| json(dir, &["charge", "A356", mass, "--count", "sold"]);
    let charge = sold("8 kg");
    let notes = |v: &Value| list(v, "notes").iter().map(|n| n.to_string()).collect::<String>();
    assert!(notes(&charge).contains("below its working fill"), "{charge}");
    assert!(notes(&charge).contains("melt loss of 4 %"), "{charge}");
    // Magnesium is cautioned of where it goes in as metal.
    let burns = |v: &Value| list(v, "metals").iter().any(|m| m["id"] == "magnesium");
    let much = sold("80 kg");
    for charge in [&charge, &much] {
        let told = list(charge, "cautions").iter().any(|c| c["id"] == "magnesium");
        assert_eq!(told, burns(charge), "{charge}");
        let weighed = list(charge, "metals").iter().map(|m| m["mass_kg"].as_f64().expect("kg"));
        assert!(weighed.into_iter().all(|kg| kg >= 0.01 - 1e-9), "no crumbs: {charge}");
    }
    assert!(notes(&much).contains("no crucible is large enough"), "{much}");
    let heats = json(dir, &["heats"]);
    let planned = json(dir, &["charge", word(&list(&heats, "heats")[0], "heat")]);
    assert!(notes(&planned).contains("is in it; there is no heel"), "{planned}");
}

/// So much of an alloy is told in the words of a heat: how much goes in, what is missing and what is charged
/// once that is bought, and that the melt loss is in it.
#[test]
fn a_charge_of_so_much_is_told_as_that_of_a_heat_is() {
    let dir = ready("demo");
    let dir = dir.path();
    let heat = json(dir, &["charge", "H12"]);
    let mass = format!("{} kg", heat["mass_kg"]);
    let alone = json(dir, &["charge", "ZA-12", &mass]);
    for charge in [&heat, &alone] {
        assert_eq!((&charge["possible"], &charge["once_bought"]), (&false.into(), &true.into()));
        assert!(charge["short_kg"].as_f64().is_some_and(|kg| kg > 1.0), "{charge}");
    }
    // Nothing is planned to be there for it, and nobody says whether a heel is left.
    let text = |of: &[&str]| {
        let out = run(dir, &[&["charge", "--today", DAY, "--width", "400"], of].concat());
        String::from_utf8(out.stdout).expect("UTF-8")
    };
    let kept =
        |line: &&str| !line.starts_with("when it is lit") && !line.starts_with("what lies in");
    let same = |text: String| {
        let of_heat = text.replace("heat H12: ", "").replace("; there is no heel to add", "");
        let of_alloy = of_heat.replace(" and the heel, if one is left, are in it", " is in it");
        let prose = of_alloy.lines().filter(kept).filter(|line| line.split("  ").count() < 2);
        prose.filter(|line| !line.contains("missing")).map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(same(text(&["H12"])), same(text(&["ZA-12", &mass])));
}

/// No charge is more than the pot takes, whole pieces counted; and none is of metal that is not there.
#[test]
fn a_charge_goes_into_its_pot_and_is_of_metal_that_is_there() {
    let dir = ready("demo");
    let dir = dir.path();
    let manifest = dir.join("build.yaml");
    let text = fs::read_to_string(&manifest).expect("a build");
    // At 80 % of 4.25 L a pot takes 8.02 kg of A356 at the least; ingots are whole, and there is nothing else.
    let text = text
        .replace("holds: 7.0 L", "holds: 4.25 L")
        .replace("per: 5 kg}", "per: 5 kg, piece: 5 kg}")
        .replace("amount: 15 kg", "amount: 0 kg")
        .replace("returns: true\n    stock: A356-returns", "returns: true\n    amount: 0 kg");
    let other = ["  ostrel-za12:", "  ostrel-bronze:", "  magnesium:"];
    let lines = text.lines().filter(|l| !other.iter().any(|o| l.starts_with(o)));
    let text = lines.map(|l| format!("{l}\n")).collect::<String>();
    fs::write(&manifest, text).expect("a build");
    let told = json(dir, &["charge", "A356", "8kg", "--count", "sold"]);
    let sum: f64 = list(&told, "metals").iter().map(|m| m["mass_kg"].as_f64().expect("kg")).sum();
    assert!(sum < 8.07, "{told}");
    assert_eq!(told["possible"], false);
    let why = list(&told, "in_the_way").iter().map(Value::to_string).collect::<String>();
    assert!(why.contains("3 kg of metal is missing"), "{why}");
    // 4.25 L x 80 % x 2360 kg/m3, the least of what liquid A356 may weigh.
    assert!(why.contains("does not go in: the pot takes 8.02 kg;"), "{why}");
    // 400 g of ingot were counted: that is not 8 kg.
    let log = |args: &[&str]| {
        let out = run(dir, &[&["log"], args, &["--at", "2026-07-08 10:00"]].concat());
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    };
    log(&["counted", "--stock", "A356", "--mass", "400 g"]);
    let there = json(dir, &["charge", "A356", "8kg"]);
    assert_eq!(there["possible"], false, "{there}");
    // On order it counts where that is asked for.
    let order = ["ordered", "--stock", "A356", "--mass", "20 kg", "--expected", "2026-07-20"];
    log(&[&order[..], &["--price", "110.00", "--from", "ostrel"]].concat());
    let ordered = ["charge", "A356", "5kg", "--count", "on-order"];
    assert_eq!(json(dir, &ordered)["possible"], true);
    assert_eq!(json(dir, &["charge", "A356", "5kg"])["possible"], false);
    let stock = json(dir, &["stock", "A356"]);
    assert_eq!(list(&stock, "stocks")[0]["on_order"], 20.0);
    assert_eq!(run(dir, &["stock", "A355"]).status.code(), Some(2));
    assert_eq!(
        run(dir, &["charge", "A356", "5kg", "--use", "wheel-scrab=1kg"]).status.code(),
        Some(2)
    );
}

/// A pile of returns tells what it is made of, and a stock where all of it is.
#[test]
fn a_stock_and_its_returns_are_told() {
    let dir = ready("demo");
    let dir = dir.path();
    let why = good(dir, &["why", "C905-returns", "stock"]);
    assert!(why.contains("gates and feeders") && why.contains("charged again"), "{why}");
    let all = json(dir, &["stock"]);
    for row in list(&all, "stocks") {
        let balance: f64 = list(row, "balance")
            .iter()
            .filter(|b| b["what"] != "on order")
            .map(|b| {
                let kg = b["value"].as_f64().expect("so much");
                if b["what"].as_str().expect("words").starts_with('=') { -kg } else { kg }
            })
            .sum();
        assert!(balance.abs() < 1e-6, "to the gram and better: {row}");
    }
    for args in [&["stock"][..], &["stock", "A356"]] {
        assert!(good(dir, args).lines().all(|l| !too_long(l)), "{}", good(dir, args));
    }
}

/// The five calls of the library on the demo, and the bill that they end with.
fn by_the_library() -> &'static (pourwright::job::Planned, pourwright::risk::Risk) {
    use pourwright::job;
    static MADE: OnceLock<(job::Planned, pourwright::risk::Risk)> = OnceLock::new();
    MADE.get_or_init(|| {
        let bytes = |name: &str| fs::read(Path::new("demo").join(name)).expect("the demo");
        let clock = DAY.parse().expect("a day");
        let today = job::Today { asked: None, clock };
        let build = job::read(bytes("build.yaml"), bytes("journal.yaml"), today).expect("sound");
        let planned = job::plan(job::estimate(build), None, None, &mut |_, _| false);
        let risk = job::risk(&planned, job::usual_replays(&planned), &|_| {}).expect("a plan");
        (planned, risk)
    })
}

#[test]
fn the_library_says_what_the_commands_say() {
    use pourwright::view::{bill::BillView, buy::BuyView, risk::RiskView};
    use pourwright::{job, supply::Wish};
    let (planned, risk) = by_the_library();
    let dir = copy("demo");
    // Time enough, so that no clock decides which plan is found.
    good(dir.path(), &["plan", "--seconds", "3000"]);
    let bill = job::supply(planned);
    assert_eq!(BillView::new(&planned.build, &bill).csv(), good(dir.path(), &["bill", "--csv"]));
    let surely = BillView::new(&planned.build, &job::supply_surely(planned, risk)).csv();
    assert_eq!(surely, good(dir.path(), &["bill", "--csv", "--sure"]));
    let bought = job::purchases(planned, &bill, Wish::default());
    let buy = BuyView::new(&planned.build, &bill, &bought).csv();
    assert_eq!(buy, good(dir.path(), &["buy", "--csv"]));
    let replays = risk.replays.to_string();
    let view = RiskView::new(&planned.build, &planned.bill, risk, planned.plan.schedule.finish);
    let told: Value = serde_json::to_value(&view).expect("JSON");
    assert_eq!(told["finish"], json(dir.path(), &["risk", "--replays", &replays])["finish"]);
}

#[test]
fn what_is_wrong_is_told_within_the_width() {
    let dir = copy("demo");
    let long = |out: &Output| {
        let told = text(&out.stderr) + &text(&out.stdout);
        told.lines().map(|line| line.chars().count()).max().unwrap_or(0)
    };
    let out = run(dir.path(), &["why", "ram", "nonsense", "--width", "80"]);
    assert_eq!(out.status.code(), Some(2), "{}", text(&out.stderr));
    assert!(text(&out.stderr).contains("has no figure"), "{}", text(&out.stderr));
    assert!(long(&out) <= 80, "{}", text(&out.stderr));
    let bare = tempfile::tempdir().expect("a folder");
    let build = "build: {title: Bare, begun: 2026-01-10}\nparts: {pin: {made: {hours: 1 h}}}\n";
    fs::write(bare.path().join("build.yaml"), build).expect("written");
    let out = run(bare.path(), &["learned"]);
    assert!(text(&out.stdout).contains("nothing was measured yet"), "{}", text(&out.stdout));
    assert!(long(&out) <= 80, "{}", text(&out.stdout));
}

/// A mould of green sand that was rammed a month ago is told by `check`, in words and as JSON; an entry of
/// tomorrow is pointed out before it is written.
#[test]
fn what_stood_too_long_and_what_is_of_tomorrow_is_told() {
    let dir = copy("tests/golden/plate");
    let dir = dir.path();
    let mould = ["rammed", "--mould", "M1", "--pattern", "plate-pattern", "--casting", "plate=1"];
    let today = ["--today", "2026-04-10"];
    good(dir, &[&["log"], &mould[..], &["--at", "2026-03-07 10:00"], &today].concat());
    let check = good(dir, &[&["check"], &today[..]].concat());
    assert!(check.contains("stood too long: M1 was rammed on 2026-03-07 10:00"), "{check}");
    let check = json(dir, &[&["check"], &today[..]].concat());
    let rows = check.as_array().expect("a list");
    let stood = rows.iter().filter(|row| row["code"] == "stood").collect::<Vec<_>>();
    assert!(stood.len() == 1 && word(stood[0], "says").contains("M1 was rammed"), "{check}");
    let note = ["log", "note", "x", "--at", "2026-04-11 10:00", "--try-out", "--json"];
    let out = run(dir, &[&note[..], &today].concat());
    let told: Value = serde_json::from_slice(&out.stdout).expect("JSON");
    let notes = list(&told, "notes").iter().map(Value::to_string).collect::<String>();
    assert!(notes.contains("this is dated after 2026-04-10"), "{told}");
}

/// 3 kg of ingots of 1.2 kg that cannot be cut are 3.6 kg: the 600 g more want moulds.
#[test]
fn a_charge_of_whole_pieces_tells_what_is_over() {
    let dir = copy("tests/golden/plate");
    let path = dir.path().join("build.yaml");
    let text = fs::read_to_string(&path).expect("a build");
    let metals = "metals:\n  block: {stock: A356, composition: {Si: 7.1 %, Mg: 0.38 %, Fe: 0.11 %}, balance: Al, piece: 1.2 kg, price: 5.00, per: 1 kg}\n";
    fs::write(&path, text + metals).expect("a build");
    let charge = json(dir.path(), &["charge", "A356", "3kg", "--count", "sold"]);
    assert_eq!(charge["possible"], true, "{charge}");
    let notes = list(&charge, "notes").iter().map(Value::to_string).collect::<String>();
    assert!(notes.contains("600 g more than asked for, as whole pieces are"), "{charge}");
    let even = json(dir.path(), &["charge", "A356", "2.4kg", "--count", "sold"]);
    let notes = list(&even, "notes").iter().map(Value::to_string).collect::<String>();
    assert!(!notes.contains("more than asked for"), "{even}");
}

/// Ingot with 0.1 % of magnesium wants some of the metal itself, which burns: the charge says so.
#[test]
fn a_charge_with_magnesium_cautions_of_it() {
    let dir = copy("tests/golden/plate");
    let path = dir.path().join("build.yaml");
    let text = fs::read_to_string(&path).expect("a build");
    let ingot = "  block: {composition: {Si: 7.1 %, Mg: MG %, Fe: 0.11 %}, balance: Al, price: 5.00, per: 1 kg}\n  magnesium: {composition: {Mg: 99.8 %}, price: 9.00, per: 1 kg}\n";
    for (mg, burns) in [("0.10", true), ("0.38", false)] {
        fs::write(&path, format!("{text}metals:\n{}", ingot.replace("MG", mg))).expect("a build");
        let charge = json(dir.path(), &["charge", "A356", "3kg"]);
        let metals = list(&charge, "metals");
        assert_eq!(metals.iter().any(|m| m["id"] == "magnesium"), burns, "{charge}");
        let told = list(&charge, "cautions").iter().any(|c| c["id"] == "magnesium");
        assert_eq!(told, burns, "{charge}");
    }
}
