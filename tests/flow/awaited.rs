//! What the plan takes before it can be there, against two heats that are reckoned by hand: 10 kg of
//! ingot on 6 March and 5.63 kg on the 13th, 4 kg in the shop, today the 1st.

use super::{SMALL, at, day, job, line, read_with, two_heats};
use pourwright::estimate::estimate;
use pourwright::figure::{Kind, System, show};
use pourwright::manifest::Step;
use pourwright::model::Build;
use pourwright::plan::{Awaited, Kept, PromisedHeat, Schedule};
use pourwright::supply::{bill, overdue, short, still, waits};

fn sold(delivery: &str, events: &[&str]) -> Build {
    let sells = format!(
        "suppliers:\n  metals:\n    packs: [{{of: A356, size: 5 kg, price: 40}}]\n{delivery}"
    );
    let events: Vec<String> = events.iter().map(|e| (*e).to_owned()).collect();
    read_with(&format!("{SMALL}{sells}"), &events)
}

/// The two heats, with the jobs that ram and pour them.
fn plan() -> Schedule {
    let mut plan = two_heats();
    for (mould, on) in [(0, 5), (1, 12)] {
        for step in [Step::Ram, Step::Pour] {
            let name = format!("block/{} {}", mould + 1, step.word());
            plan.jobs.push(pourwright::plan::Job { name, mould: Some(mould), ..job(step, on) });
        }
    }
    plan
}

/// Each piece of work that waits for metal, and until which day of March.
fn waiting(build: &Build, promised: Option<&Kept>) -> Vec<(String, u32)> {
    use chrono::Datelike;
    let plan = plan();
    let all = short(build, &bill(build, &estimate(build), &plan), &plan, promised);
    all.into_iter().filter(|a| *a.of == *"A356").map(|a| (a.job, a.until.day())).collect()
}

fn told(delivery: &str, events: &[&str]) -> Vec<(String, u32)> {
    waiting(&sold(delivery, events), None)
}

fn pours(days: [(u32, u32); 2]) -> Vec<(String, u32)> {
    days.iter().map(|(n, day)| (format!("block/{n} pour"), *day)).collect()
}

#[test]
fn a_heat_whose_metal_cannot_be_there_in_time_waits_for_it() {
    // No order on a Sunday: on the 2nd, three days and one of slack, there on the day itself.
    assert_eq!(told("    delivery: 3 d\n", &[]), []);
    assert_eq!(told("    delivery: 2..4 d\n", &[]), [("block/1 pour".to_owned(), 7)]);
    // Of one that takes orders on Sundays it comes a day sooner.
    assert_eq!(told("    delivery: 4 d\n    closed: []\n", &[]), []);
    // After the second heat: both lack it.
    assert_eq!(told("    delivery: 20 d\n", &[]), pours([(1, 23), (2, 23)]));
    // Who says nothing of the delivery may have it on the shelf.
    assert_eq!(told("", &[]), []);
}

#[test]
fn what_is_on_order_counts_from_the_day_it_is_there() {
    let order = |more: &str| format!("ordered: {{stock: A356, mass: 12 kg{more}}}");
    let long = "    delivery: 20 d\n";
    assert_eq!(told(long, &[&order(", expected: 2026-03-06")]), []);
    assert_eq!(told(long, &[&order(", expected: 2026-03-08")]), [("block/1 pour".to_owned(), 8)]);
    // Ordered on Sunday 11 January: from the 12th, twenty days and one of slack. It is overdue.
    let late = order(", from: metals");
    assert_eq!(told(long, &[&late]), []);
    let late = overdue(&sold(long, &[&late]));
    assert!(late.len() == 1 && late[0].contains("should have been here by 2026-02-02"), "{late:?}");
    assert_eq!(told(long, &[&order(", expected: 2026-03-01")]), []);
    // Less than both heats take: the second lacks what is ordered today.
    let some = "ordered: {stock: A356, mass: 7 kg, expected: 2026-03-02}";
    assert_eq!(told(long, &[some]), [("block/2 pour".to_owned(), 23)]);
    // Enough for the second heat alone, which has what the first has to wait for: 10 kg are not there
    // before both orders are, 5.63 kg are.
    let some = "ordered: {stock: A356, mass: 2 kg, expected: 2026-03-09}";
    let rest = "ordered: {stock: A356, mass: 20 kg, expected: 2026-03-20}";
    assert_eq!(told(long, &[some, rest]), [("block/1 pour".to_owned(), 20)]);
}

#[test]
fn what_was_promised_first_has_the_metal_first() {
    let build =
        sold("    delivery: 20 d\n", &["ordered: {stock: A356, mass: 7 kg, expected: 2026-03-02}"]);
    let heat = |heat: &str, on| PromisedHeat {
        lit: None,
        heat: heat.into(),
        pour: at(on, 11),
        crucibles: Vec::new(),
        moulds: vec![],
    };
    let promised = |heats| Kept { heats, ..Kept::default() };
    let first = promised(vec![heat("H1", 5), heat("H2", 12)]);
    assert_eq!(waiting(&build, Some(&first)), [("block/2 pour".to_owned(), 23)]);
    let second = promised(vec![heat("H1", 12), heat("H2", 5)]);
    assert_eq!(waiting(&build, Some(&second)), [("block/1 pour".to_owned(), 23)]);
}

#[test]
fn a_wait_stands_while_nothing_else_is_known_of_the_material() {
    let long = "    delivery: 20 d\n";
    let order = "ordered: {stock: A356, mass: 12 kg, expected: 2026-03-08}";
    let waits_of = |build: &Build| {
        let plan = plan();
        short(build, &bill(build, &estimate(build), &plan), &plan, None)
    };
    let build = sold(long, &[order]);
    let waits = waits_of(&build);
    assert_eq!(waits.len(), 1);
    assert_eq!(still(&build, waits.clone()), waits);
    // A day later it still comes on that day; what nobody has ordered comes a day later too.
    let next = |mut build: Build| {
        build.today = day(2);
        build
    };
    assert_eq!(still(&next(build), waits.clone()), waits);
    let build = sold(long, &[]);
    let anew = waits_of(&build);
    assert_eq!(anew[0].until, day(22));
    assert_eq!(still(&next(build), anew)[0].until, day(23));
    // It slips, it comes, some of it comes, more is found.
    for more in [
        "ordered: {stock: A356, mass: 1 kg, expected: 2026-03-20}",
        "received: {stock: A356, mass: 12 kg}",
        "received: {stock: A356, mass: 3 kg}",
        "counted: {stock: A356, mass: 9 kg}",
    ] {
        assert_eq!(still(&sold(long, &[order, more]), waits.clone()), [], "{more}");
    }
}

#[test]
fn what_waits_is_told_with_what_is_lacking_and_the_last_day_to_order() {
    let say = |build: &Build, on: u64, jobs: &[usize]| {
        let plan = plan();
        let wait = |n: &usize| Awaited {
            job: plan.jobs[*n].name.clone(),
            of: "A356".into(),
            until: day(on),
            known: String::new(),
        };
        let awaited: Vec<Awaited> = jobs.iter().map(wait).collect();
        waits(build, &bill(build, &estimate(build), &plan), &plan, &awaited)
    };
    let build = sold("    delivery: 2..4 d\n", &[]);
    // Jobs: two of fettling, then ramming and pouring of either mould.
    assert_eq!(
        say(&build, 6, &[3]),
        ["H1 waits for 6 kg of Aluminium A356. Ordered by 2026-03-02 at the latest, it is there \
          by 2026-03-07"]
    );
    // What need not be there before the 6th is ordered for that day, as what is to be bought is.
    let quick = sold("    delivery: 1 d\n", &[]);
    assert_eq!(
        say(&quick, 2, &[3]),
        ["H1 waits for 6 kg of Aluminium A356. Ordered by 2026-03-04 at the latest, it is there \
          by 2026-03-06"]
    );
    let build = sold("", &["ordered: {stock: A356, mass: 12 kg, expected: 2026-03-08}"]);
    // Without the order, at the most as much as the walk that uses most lacks by the second heat.
    let bill = bill(&build, &estimate(&build), &plan());
    let most = bill.flow.as_ref().expect("a walk").most.stocks["A356"].short(None);
    let [second] = &*say(&build, 7, &[4, 5]) else { panic!("one line") };
    let much = format!("up to {} (likely 11.6 kg)", show(Kind::Mass, most, System::Metric));
    assert!(most > 11.7, "{most}");
    assert!(second.starts_with(&format!("block ram, H2 wait for {much}")), "{second}");
    // Of several that wait, what all of them lack.
    let [both] = &*say(&build, 7, &[3, 5]) else { panic!("one line") };
    let much = format!("{much} of Aluminium A356. As ordered");
    assert!(both.starts_with(&format!("H1, H2 wait for {much}")), "{both}");
    // Shaking out waits for nothing; what the sand is made up with then is told all the same.
    let clay = SMALL.to_owned()
        + "suppliers: {pit: {delivery: 9 d, packs: [{of: bentonite, size: 5 kg}]}}\n";
    let build = read_with(&clay, &[]);
    let [clay] = &*say(&build, 6, &[]) else { panic!("one line") };
    assert!(clay.starts_with("the sand of block when it is shaken out waits for "), "{clay}");
    assert!(clay.ends_with("Ordered by 2026-03-02 at the latest, it is there by 2026-03-12"));
    let kept =
        short(&build, &pourwright::supply::bill(&build, &estimate(&build), &plan()), &plan(), None);
    assert!(kept.iter().all(|a| *a.of != *"bentonite"), "{kept:?}");
}

#[test]
fn what_comes_late_does_not_put_off_what_is_to_be_bought() {
    let quick = "suppliers:\n  metals:\n    delivery: 1 d\n    packs: [{of: A356, size: 5 kg, price: 40}]\n";
    let read = |mass: &str, expected: &str| {
        let order =
            format!("ordered: {{stock: A356, mass: {mass}, expected: {expected}, from: metals}}");
        let build = read_with(&format!("{SMALL}{quick}"), &[order]);
        let estimates = estimate(&build);
        let bill = bill(&build, &estimates, &two_heats());
        let metal = line(&bill, "A356");
        let buys = metal.buy.as_ref().map_or(0.0, |buy| (buy.si() * 100.0).round() / 100.0);
        (buys, metal.by, waiting(&build, None))
    };
    // 11.63 kg are lacking in all, 6 of them on the 6th: 5 kg that come after it are no help then.
    let (buys, by, waits) = read("5 kg", "2026-03-20");
    assert_eq!((buys, by, waits), (6.63, Some(day(5)), Vec::new()));
    // Come by then, they leave 1 kg lacking; 8 kg leave nothing before the second heat.
    assert_eq!(read("5 kg", "2026-03-06").1, Some(day(5)));
    assert_eq!(read("8 kg", "2026-03-06").1, Some(day(12)));
    // All is on order, and too late: nobody buys it twice, and both heats wait.
    let (buys, _, waits) = read("12 kg", "2026-03-20");
    assert_eq!((buys, waits), (0.0, pours([(1, 20), (2, 20)])));
}

/// Two moulds are rammed, one of them again: each takes its parting powder, which is sold from the 23rd.
#[test]
fn a_mould_that_is_rammed_again_waits_for_what_it_uses_up() {
    let sold = "suppliers:\n  pit: {delivery: 20 d, packs: [{of: parting-powder, size: 1 kg}]}\n";
    let rammed = "rammed: {mould: M1, pattern: block-pattern, castings: {block: 1}}";
    let build = read_with(&format!("{SMALL}{sold}"), &[rammed.to_owned()]);
    let mut plan = plan();
    (plan.moulds[0].standing, plan.moulds[0].again) = (Some("M1".into()), true);
    let all = short(&build, &bill(&build, &estimate(&build), &plan), &plan, None);
    let powder = all.iter().filter(|a| *a.of == *"parting-powder");
    let powder: Vec<_> = powder.map(|a| (&*a.job, a.until)).collect();
    assert_eq!(powder, [("block/1 ram", day(22)), ("block/2 ram", day(22))]);
}

/// What is counted is told in pieces.
#[test]
fn pieces_that_are_waited_for_are_no_kilograms() {
    let wire = "consumables: {vent-wire: {title: Vent wire, of-mould: 2 pieces}}\n";
    let sold = "suppliers:\n  pit: {delivery: 20 d, packs: [{of: vent-wire, size: 10 pieces}]}\n";
    let build = read_with(&format!("{SMALL}{wire}{sold}"), &[]);
    let plan = plan();
    let bill = bill(&build, &estimate(&build), &plan);
    let waiting = short(&build, &bill, &plan, None);
    let says = waits(&build, &bill, &plan, &waiting);
    let wire = says.iter().find(|says| says.contains("Vent wire")).expect("told");
    assert!(wire.contains(" waits for 4 pieces of Vent wire. Ordered by 2026-03-02"), "{wire}");
}

/// An order that was expected yesterday is overdue, one that is expected today is not.
#[test]
fn an_order_is_overdue_from_the_day_after_it_was_expected() {
    let late = |on: &str| {
        let order = format!("ordered: {{stock: A356, mass: 7 kg, expected: {on}}}");
        overdue(&sold("", &[&order])).len()
    };
    assert_eq!([late("2026-02-28"), late("2026-03-01"), late("2026-03-02")], [1, 0, 0]);
}
