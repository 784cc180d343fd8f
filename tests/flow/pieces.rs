//! What is counted in pieces: for each mould, each heat and the whole build, and crucibles whose life
//! ends; bought parts and what parts are made of in the order of who sells them.

use super::*;
use pourwright::supply::{Wish, purchases, stock, sure};

const PIECES: &str = "\
consumables:
  vent-wire: {title: Vent wire, of-mould: 1..3 pieces, for: [green-sand]}
  tip: {of-heat: 1 piece}
  salt: {of-heat: 40 g}
  bronze-tip: {of-heat: 1 piece, for: [copper]}
  board: {of-build: 3 pieces, before: pattern}
  shield: {of-build: 1 piece}
";

fn with(more: &str) -> String {
    SMALL.replace("sands:", &format!("{PIECES}{more}sands:"))
}

fn buys(bill: &Bill, id: &str) -> String {
    let figure = line(bill, id).buy.as_ref().expect("to buy");
    let range = figure.node().range();
    format!("{} {} {} {}", range.low, range.likely, range.high, figure.node().kind().symbol())
}

#[test]
fn moulds_heats_and_the_build_take_pieces() {
    let mut plan = two_heats();
    // Both moulds in one heat, and a second heat of nothing.
    plan.heats[0].moulds = vec![0, 1];
    plan.heats[1].moulds = Vec::new();
    plan.heats.truncate(1);
    let build = read(&with(""));
    let told = bill(&build, &estimate(&build), &plan);
    assert_eq!(buys(&told, "vent-wire"), "2 4 6 pieces");
    // One heat, whatever is poured of it.
    assert_eq!(buys(&told, "tip"), "1 1 1 pieces");
    near(line(&told, "salt").buy.as_ref().expect("to buy").si(), 0.04);
    assert_eq!(buys(&told, "board"), "3 3 3 pieces");
    assert!(told.lines().all(|l| *l.id != *"bronze-tip"), "aluminium takes none");
    assert_eq!(line(&told, "vent-wire").by, Some(day(5)));
    let two = bill(&build, &estimate(&build), &two_heats());
    assert_eq!(buys(&two, "tip"), "2 2 2 pieces");
}

#[test]
fn pieces_are_received_counted_and_used_up() {
    let events = [
        "received: {stock: vent-wire, pieces: 10, price: 3.00}",
        "received: {stock: board, pieces: 2, price: 41.00}",
        "ordered: {stock: tip, pieces: 5}",
        "ordered: {stock: shield, pieces: 1}",
        "rammed: {mould: M1, pattern: block-pattern, castings: {block: 1}}",
        "poured: {heat: H1, alloy: A356, charge: {ingot: 10 kg}, fuel: 2 kg, moulds: [M1]}",
        // The boards are cut up; no more of them is wanted than before.
        "counted: {stock: board, pieces: 0}",
    ];
    let build = read_with(&with(""), &events.map(str::to_owned));
    let estimates = estimate(&build);
    let mut plan = two_heats();
    plan.moulds.remove(0);
    plan.heats.remove(0);
    plan.heats[0].moulds = vec![0];
    plan.moulds[0].heat = 0;
    let told = bill(&build, &estimates, &plan);
    let there = |id: &str| line(&told, id).stock.as_ref().expect("there").node().range();
    // 10 less 1 to 3 in the mould that was rammed; the one to come takes as much.
    assert_eq!((there("vent-wire").low, there("vent-wire").likely), (7.0, 8.0));
    assert_eq!(buys(&told, "vent-wire"), "0 0 0 pieces");
    assert_eq!(buys(&told, "tip"), "0 0 0 pieces");
    assert_eq!(buys(&told, "board"), "1 1 1 pieces");
    let kept = stock(&build, &estimates);
    // What was never there and is on its way stands among what is kept.
    let shield = kept.iter().find(|h| *h.id == *"shield").expect("on order");
    assert!(shield.there.is_none() && shield.on_order.len() == 1);
    let wire = kept.into_iter().find(|h| *h.id == *"vent-wire").expect("some");
    assert!(
        wire.unaccounted().abs() < 1e-9
            && wire.there.expect("there").node().kind().symbol() == "pieces"
    );
}

#[test]
fn castings_made_again_take_their_pieces() {
    let text = with("").replace("mass: 5 kg}", "mass: 2 kg, scrap: 40 %}").replace(
        "shop:\n",
        "shop:\n  people: {one: {hours: {sat: 8 h, sun: 8 h}}}\n  crucibles: {pot: {holds: 4 L}}\n",
    );
    let text = text.replace("on-hand: 20 kg", "on-hand: 300 kg");
    let build = read(&text);
    let estimates = estimate(&build);
    let budget = Budget { tries: 1, seed: 1, stop: &mut |_, _| false };
    let options = SearchOptions::new(budget);
    let (plan, _) = pourwright::plan::schedule(&build, &estimates, options);
    let risk =
        pourwright::risk::risk(&build, &estimates, &plan, (2000, 1), &|_| {}).expect("a plan");
    let again = f64::from(risk.attempts[0].allow[1]) - 2.0;
    assert!(again >= 1.0);
    let mut told = bill(&build, &estimates, &plan);
    sure(&build, &risk, &mut told);
    // Each mould made again is a heat of its own.
    let tips = line(&told, "tip").sure.as_ref().expect("P90");
    near(tips.si(), line(&told, "tip").buy.as_ref().expect("to buy").si() + again);
    assert_eq!(tips.node().kind().symbol(), "pieces");
    assert!(line(&told, "board").note.is_none(), "what is for the build is no matter of luck");
}

#[test]
fn a_crucible_that_does_not_last_is_bought_by_its_last_heat() {
    let text = with(
        "suppliers: {stores: {delivery: 3 d, closed: [], packs: [{of: pot, size: 1 piece, price: 30.00}]}}\n",
    );
    let text =
        text.replace("  stock:", "  crucibles: {pot: {holds: 6 L, family: copper}}\n  stock:");
    let plan = |build: &Build| {
        let mut plan = Schedule::default();
        for n in 0..40 {
            let mut melt = heat(n, "A356", n as u64, Vec::new(), 5.0);
            melt.crucibles = vec!["pot".into()];
            plan.heats.push(melt);
        }
        bill(build, &estimate(build), &plan)
    };
    // 30 heats are likely for copper alloys, and 40 are to come.
    let build = read(&text);
    let told = plan(&build);
    near(line(&told, "pot").buy.as_ref().expect("to buy").si(), 1.0);
    assert_eq!(line(&told, "pot").by, Some(day(29)));
    let bought = purchases(&build, &told, Wish::default());
    let order = bought[0].orders.iter().find(|o| *o.supplier == *"stores").expect("an order");
    assert_eq!((order.lines[0].count, order.order_by), (1, Some(day(25))));
    // A new one that came lasts as long again.
    let build = read_with(&text, &["received: {stock: pot, pieces: 1, price: 30.00}".into()]);
    let told = plan(&build);
    assert!(told.lines().all(|l| *l.id != *"pot"));
    assert_eq!(told.crucibles[0].spent, None);
}

#[test]
fn parts_and_their_bar_go_with_their_supplier() {
    let text = SMALL.replace("sands:", "suppliers:\n  stores:\n    name: The Stores\n    delivery-charge: 9.00\n    delivery: 2..4 d\n    closed: [sun]\n    packs: [{of: degasser, size: 1 kg, price: 8.00}]\nsands:");
    let text = text
        + "  motor: {name: Motor, bought: {price: 60.00, supplier: the stores, delivery: 10 d}}\n"
        + "  belt: {bought: {supplier: Nearby}}\n"
        + "  shaft: {quantity: 2, made: {from: bar 20 mm, price: 4.125, supplier: stores, hours: 1 h}}\n"
        + "  pin: {made: {from: wire}}\n";
    let build = read(&text);
    let part = |id: &str| build.part(id).expect("a part");
    let job = |subject, step, on: u64, after: Vec<usize>| Job {
        subject: Subject::Part(subject),
        step,
        after,
        ..fettling(0, on)
    };
    let mut plan = two_heats();
    plan.jobs.push(job(part("motor"), Step::Receive, 0, Vec::new()));
    plan.jobs.push(job(part("motor"), Step::Fit, 25, vec![2]));
    plan.jobs.push(job(part("shaft"), Step::Make, 20, Vec::new()));
    let told = bill(&build, &estimate(&build), &plan);
    // As a table too, one line a part: 60.00 for the motor, 2 x 4.125 for the bars.
    let table = pourwright::view::bill::BillView::new(&build, &told).csv();
    for row in ["bought in,motor,Motor,", "bar and sheet,shaft,bar 20 mm,"] {
        let of =
            table.lines().find(|line| line.starts_with(row)).unwrap_or_else(|| panic!("{table}"));
        let price = if row.contains("motor") { ",1,60.00," } else { ",2,8.25," };
        assert!(of.contains(price) && of.trim_end().ends_with(",no"), "{of}");
    }
    let bought = purchases(&build, &told, Wish::default());
    let [purchase] = bought.as_slice() else { panic!("one") };
    let order = purchase.orders.iter().find(|o| *o.supplier == *"stores").expect("an order");
    let names: Vec<&str> = order.parts.iter().map(|p| &*p.name).collect();
    assert_eq!((names, order.lines.len()), (vec!["Motor", "bar 20 mm"], 1));
    // 8.00 + 60.00 + 2 x 4.125 rounded + one delivery.
    assert_eq!(order.total.to_string(), "85.25");
    // The motor on day 25: ten days and one of slack before is day 14, a Sunday. The bar four and one
    // before day 20.
    assert_eq!(order.parts[0].order_by, Some(day(13)));
    assert_eq!(order.parts[1].order_by, Some(day(15)));
    // The tablets are needed first: on day 5, so on day 0, which is a Sunday: the Saturday before.
    assert_eq!(order.order_by, Some(day(0) - Days::new(1)));
    let nearby = purchase.orders.iter().find(|o| *o.supplier == *"Nearby").expect("an order");
    assert_eq!((nearby.unpriced(), nearby.total.is_zero()), (1, true));
    assert_eq!(purchase.loose.len(), 1);
    // What is on order, or here, is not ordered again.
    let events = ["ordered: {part: motor}", "received: {part: shaft}"].map(str::to_owned);
    let build = read_with(&text, &events);
    let told = bill(&build, &estimate(&build), &two_heats());
    assert!(stock(&build, &estimate(&build)).iter().all(|h| *h.id != *"motor"), "no stock");
    let bought = purchases(&build, &told, Wish::default());
    assert!(bought[0].orders.iter().all(|o| o.parts.iter().all(|p| *p.id == *"belt")));
}

#[test]
fn packs_by_volume_and_energy_are_masses() {
    let text = SMALL.replace("sands:", "suppliers:\n  stores:\n    packs:\n      - {of: propane, size: 139 kWh, price: 20.00}\n      - {of: degasser, size: 2 L, density: 1.5 kg/L, price: 8.00}\nsands:");
    let build = read(&text);
    let packs = &build.suppliers["stores"].packs;
    // 139 kWh are 500.4 MJ, at 50.05 MJ/kg.
    near(packs[0].size.si(), 500.4 / 50.05);
    near(packs[1].size.si(), 3.0);
    near(packs[1].weighs(), 3.0);
    assert_eq!(packs[0].sold.as_ref().expect("as sold").kind().symbol(), "J");
}

/// A new pot that was given away lasts for no heat.
#[test]
fn a_crucible_that_is_given_away_does_not_count() {
    let text =
        with("").replace("  stock:", "  crucibles: {pot: {holds: 6 L, family: copper}}\n  stock:");
    let new = |events: &[&str]| {
        let build = read_with(&text, &events.iter().map(|e| (*e).to_owned()).collect::<Vec<_>>());
        let mut melt = heat(0, "A356", 0, Vec::new(), 5.0);
        melt.crucibles = vec!["pot".into()];
        let plan = Schedule { heats: vec![melt], ..Schedule::default() };
        bill(&build, &estimate(&build), &plan).crucibles[0].new
    };
    let came = "received: {stock: pot, pieces: 2, price: 60.00}";
    assert_eq!([new(&[came]), new(&[came, "given-away: {stock: pot, pieces: 1}"])], [2, 1]);
}

/// What lies there came last: 10 kg for 50 and then 10 kg for 80, of which 12 kg are left, are worth
/// 80 and a fifth of 50.
#[test]
fn a_stock_is_worth_what_was_paid_last() {
    let events = [
        "counted: {stock: A356, mass: 0 kg}",
        "received: {stock: A356, mass: 10 kg, price: 50.00}",
        "received: {stock: A356, mass: 10 kg, price: 80.00}",
        "given-away: {stock: A356, mass: 8 kg}",
    ];
    let build = read_with(SMALL, &events.map(str::to_owned));
    let held = stock(&build, &estimate(&build));
    let metal = held.iter().find(|h| &*h.id == "A356").expect("metal");
    assert_eq!(metal.worth, Some(90.into()));
}

/// The bill as a table for other programs: to buy, at the least and at the most, under their headings.
#[test]
fn the_table_of_the_bill_has_each_end_under_its_heading() {
    let build = read(&with(""));
    let told = bill(&build, &estimate(&build), &two_heats());
    assert_eq!(buys(&told, "vent-wire"), "2 4 6 pieces");
    let csv = pourwright::view::bill::BillView::new(&build, &told).csv();
    let mut lines = csv.lines().map(|line| line.split(',').collect::<Vec<_>>());
    let heads = lines.next().expect("headings");
    let wire = lines.find(|cells| cells[1] == "vent-wire").expect("a row");
    let cell = |head: &str| wire[heads.iter().position(|h| *h == head).expect("a column")];
    assert_eq!(["to buy", "to buy low", "to buy high"].map(cell), ["4", "2", "6"]);
}

/// What has no price is named, for it is in no total: a pack and a part.
#[test]
fn what_has_no_price_is_named() {
    let text = with("suppliers: {stores: {packs: [{of: A356, size: 5 kg}]}}\n")
        + "  screw: {bought: {supplier: stores}}\n";
    let build = read(&text);
    let told = bill(&build, &estimate(&build), &two_heats());
    let bought = purchases(&build, &told, Wish::default());
    let view = pourwright::view::buy::BuyView::new(&build, &told, &bought);
    assert_eq!(view.unpriced, ["A356", "screw"]);
}

/// Of two orders the one that comes first is the day to look out for; a part that came is on order no more.
#[test]
fn the_next_of_what_is_on_order_is_told_until_it_came() {
    let text = with("") + "  screw: {bought: {price: 2.00}}\n";
    let mut events = [
        "ordered: {stock: A356, mass: 3 kg, expected: 2026-03-20}",
        "ordered: {stock: A356, mass: 5 kg, expected: 2026-03-08}",
        "ordered: {part: screw, expected: 2026-03-08}",
    ]
    .map(str::to_owned)
    .to_vec();
    let build = read_with(&text, &events);
    let held = stock(&build, &estimate(&build));
    let view = pourwright::view::stock::StockView::new(&build, &held, None).expect("all of it");
    let metal = view.stocks.iter().find(|row| row.id == "A356").expect("metal");
    assert_eq!((metal.on_order, metal.expected.as_deref()), (8.0, Some("2026-03-08")));
    let open =
        |build: &Build| build.history.on_order.iter().map(|o| o.of.to_string()).collect::<Vec<_>>();
    assert_eq!(open(&build), ["A356", "A356", "screw"]);
    events.push("received: {part: screw, price: 2.00}".into());
    assert_eq!(open(&read_with(&text, &events)), ["A356", "A356"]);
}

/// Metal that nobody priced costs what was paid for it last.
#[test]
fn a_charge_costs_what_was_paid_last() {
    use pourwright::figure::Quantity;
    use pourwright::supply::{Ask, Count, at_hand};
    let text = with("metals:\n  own: {alloy: A356, stock: A356}\n");
    let events = [
        "received: {stock: A356, mass: 10 kg, price: 50.00}",
        "received: {stock: A356, mass: 10 kg, price: 80.00}",
    ];
    let build = read_with(&text, &events.map(str::to_owned));
    let estimates = estimate(&build);
    let ask = Ask {
        alloy: "A356",
        mass: Mass::from_si(5.0),
        pour: None,
        lighting: None,
        likely: false,
        count: Count::There,
        use_up: BTreeMap::new(),
    };
    let at = at_hand(&build, &estimates, &ask).expect("metals");
    near(at.blend.sources[0].price, 8.0);
}

/// When the second heat is lit the first has taken all 4 kg that lay there and 6 kg of the 7 kg on order:
/// one is left to come. What comes after a heat is lit does not come for it.
#[test]
fn metal_on_order_counts_for_a_heat_as_far_as_it_is_there_and_left() {
    use pourwright::plan::Pour;
    use pourwright::supply::AtLighting;
    let plan = two_heats();
    let coming = |heat: &str, expected: &str| {
        let order = format!("ordered: {{stock: A356, mass: 7 kg, expected: {expected}}}");
        let build = read_with(&with(""), &[order]);
        let bill = bill(&build, &estimate(&build), &plan);
        let pour = Pour::planned(&build, &plan, heat).expect("a heat");
        let flow = bill.flow.as_ref().expect("a walk");
        AtLighting::of(&build, flow, &plan, &pour).expect("a walk of it").coming
    };
    near(coming("H1", "2026-03-05"), 7.0);
    near(coming("H2", "2026-03-05"), 1.0);
    near(coming("H1", "2026-03-20"), 0.0);
}

/// Two blocks were fettled together and are lost one after the other: both are to fettle again. One that
/// was cast since, and is lost as it comes out, was never fettled.
#[test]
fn work_is_lost_with_each_casting_that_it_was_done_on() {
    let mould = |n: u32| {
        [
            format!("rammed: {{mould: M{n}, pattern: block-pattern, castings: {{block: 1}}}}"),
            format!(
                "poured: {{heat: H{n}, alloy: A356, charge: {{ingot: 10 kg}}, moulds: [M{n}]}}"
            ),
            format!("shaken-out: {{mould: M{n}}}"),
        ]
    };
    let scrapped = |n: u32| format!("inspected: {{mould: M{n}, part: block, disposition: scrap}}");
    let fettled = "done: {part: block, step: fettle}".to_owned();
    let mut events = [&mould(1)[..], &mould(2), &[fettled]].concat();
    let again = |events: &[String]| {
        read_with(&with(""), events).history.again.get(&(0, Step::Fettle)).copied()
    };
    assert_eq!(again(&events), None);
    events.push(scrapped(1));
    assert_eq!(again(&events), Some(1));
    let recast = [&events[..], &mould(3), &[scrapped(3)]].concat();
    assert_eq!(again(&recast), Some(1));
    events.push(scrapped(2));
    assert_eq!(again(&events), Some(2));
}

/// What a heat takes once goes into the melt once, whatever it fills.
#[test]
fn a_flux_of_a_heat_is_weighed_out_once() {
    use pourwright::plan::Pour;
    let mut plan = two_heats();
    plan.heats[0].moulds = vec![0, 1];
    plan.heats.truncate(1);
    let build = read(&with(""));
    let pour = Pour::planned(&build, &plan, "H1").expect("a heat");
    let fluxes = pour.fluxes(&build, &estimate(&build));
    let of = |id: &str| fluxes.iter().find(|(of, _)| **of == *id).expect("a flux").1.si();
    near(of("salt"), 0.04);
    near(of("tip"), 1.0);
}
