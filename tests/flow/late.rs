//! What the plan takes before it can be there, against two heats that are reckoned by hand: 10 kg of
//! ingot on 6 March and 5.63 kg on the 13th, 4 kg in the shop, today the 1st.

use super::{SMALL, day, line, read_with, two_heats};
use pourwright::estimate::estimate;
use pourwright::figure::{Kind, System, show};
use pourwright::supply::{bill, late};

fn told(delivery: &str, events: &[&str]) -> Vec<String> {
    let sells = format!(
        "suppliers:\n  metals:\n    packs: [{{of: A356, size: 5 kg, price: 40}}]\n{delivery}"
    );
    let events: Vec<String> = events.iter().map(|e| (*e).to_owned()).collect();
    let build = read_with(&format!("{SMALL}{sells}"), &events);
    let (estimates, plan) = (estimate(&build), two_heats());
    late(&build, &bill(&build, &estimates, &plan), &plan)
}

#[test]
fn metal_that_cannot_be_there_in_time_is_told_with_its_day() {
    // No order on a Sunday: on the 2nd, three days and one of slack, there on the day itself.
    assert_eq!(told("    delivery: 3 d\n", &[]), [""; 0]);
    let late = told("    delivery: 2..4 d\n", &[]);
    assert_eq!(
        late,
        ["Aluminium A356: 6 kg lacking from 2026-03-06 (H1); ordered today it is there by \
          2026-03-07, and the plan does not wait for it"]
    );
    // Of one that takes orders on Sundays it comes a day sooner.
    assert_eq!(told("    delivery: 4 d\n    closed: []\n", &[]), [""; 0]);
    // After the second heat: both lack it.
    let late = told("    delivery: 20 d\n", &[]);
    assert!(
        late.len() == 1 && late[0].contains("(likely 11.6 kg) lacking from 2026-03-06"),
        "{late:?}"
    );
    assert!(late[0].contains("there by 2026-03-23"), "{late:?}");
    // At the most as much as the walk that uses most lacks.
    let build = read_with(SMALL, &[]);
    let bill = bill(&build, &estimate(&build), &two_heats());
    let most = bill.flow.as_ref().expect("a walk").most.stocks["A356"].short(None);
    let up_to = format!("up to {}", show(Kind::Mass, most, System::Metric));
    assert!(most > 11.7 && late[0].contains(&up_to), "{most}: {late:?}");
    // Who says nothing of the delivery may have it on the shelf.
    assert_eq!(told("", &[]), [""; 0]);
}

#[test]
fn what_is_on_order_counts_from_the_day_it_is_there() {
    let order = |more: &str| format!("ordered: {{stock: A356, mass: 12 kg{more}}}");
    let long = "    delivery: 20 d\n";
    assert_eq!(told(long, &[&order(", expected: 2026-03-06")]), [""; 0]);
    let late = told(long, &[&order(", expected: 2026-03-08")]);
    assert!(late.len() == 1 && late[0].contains("6 kg lacking from 2026-03-06 (H1)"), "{late:?}");
    assert!(late[0].contains("as ordered it is there by 2026-03-08"), "{late:?}");
    // Ordered on Sunday 11 January: from the 12th, twenty days and one of slack. It is overdue.
    let late = told(long, &[&order(", from: metals")]);
    assert!(late.len() == 1 && late[0].contains("should have been here by 2026-02-02"), "{late:?}");
    assert_eq!(told(long, &[&order(", expected: 2026-03-01")]), [""; 0]);
    // Less than both heats take: the second lacks what is ordered today.
    let late = told(long, &["ordered: {stock: A356, mass: 7 kg, expected: 2026-03-02}"]);
    assert!(
        late.len() == 1 && late[0].contains("(likely 4.63 kg) lacking from 2026-03-13 (H2)"),
        "{late:?}"
    );
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
        (buys, metal.by, late(&build, &bill, &two_heats()))
    };
    // 11.63 kg are lacking in all, 6 of them on the 6th: 5 kg that come after it are no help then.
    let (buys, by, told) = read("5 kg", "2026-03-20");
    assert_eq!((buys, by, told), (6.63, Some(day(5)), Vec::new()));
    // Come by then, they leave 1 kg lacking; 8 kg leave nothing before the second heat.
    assert_eq!(read("5 kg", "2026-03-06").1, Some(day(5)));
    assert_eq!(read("8 kg", "2026-03-06").1, Some(day(12)));
    // All is on order, and too late: nobody buys it twice, so that is told.
    let (buys, _, told) = read("12 kg", "2026-03-20");
    assert_eq!(buys, 0.0);
    assert!(
        told.len() == 1 && told[0].contains("as ordered it is there by 2026-03-20"),
        "{told:?}"
    );
}
