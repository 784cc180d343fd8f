//! What the plan takes before it can be there, against two heats that are reckoned by hand: 10 kg of
//! ingot on 6 March and 5.63 kg on the 13th, 4 kg in the shop, today the 1st.

use super::{SMALL, read_with, two_heats};
use pourwright::estimate::estimate;
use pourwright::supply::late;

fn told(delivery: &str, events: &[&str]) -> Vec<String> {
    let sells = format!(
        "suppliers:\n  metals:\n    packs: [{{of: A356, size: 5 kg, price: 40}}]\n{delivery}"
    );
    let events: Vec<String> = events.iter().map(|e| (*e).to_owned()).collect();
    let build = read_with(&format!("{SMALL}{sells}"), &events);
    late(&build, &estimate(&build), &two_heats())
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
        late.len() == 1 && late[0].contains("A356: 11.6 kg lacking from 2026-03-06"),
        "{late:?}"
    );
    assert!(late[0].contains("there by 2026-03-23"), "{late:?}");
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
    // Ordered on 11 January, twenty days and one of slack: long there, whatever comes anew.
    assert_eq!(told(long, &[&order(", from: metals")]), [""; 0]);
    // Less than both heats take: the second lacks what is ordered today.
    let late = told(long, &["ordered: {stock: A356, mass: 7 kg, expected: 2026-03-02}"]);
    assert!(
        late.len() == 1 && late[0].contains("4.63 kg lacking from 2026-03-13 (H2)"),
        "{late:?}"
    );
}
