//! Nothing is poured or rammed from what cannot be there by then: plans with deliveries, against a
//! ledger of the test's own and by hand.

use super::breaks::figure;
use super::builds::{Dice, random, read, read_on};
use super::checker::{Check, broken, least};
use super::told::Mould;
use chrono::{Datelike, Days, NaiveDate};
use pourwright::job::{self, Planned, Search};
use pourwright::manifest::ShapeGiven;
use pourwright::model::{Build, Casting};
use pourwright::plan::{Kept, Waited};
use pourwright::supply::Wish;
use pourwright::view::estimate::EstimateView;
use pourwright::view::plan::PlanView;
use serde_json::Value;

impl Check<'_> {
    /// The day on which a material is there for the asking, ordered today: the first open day of a
    /// seller, its longest delivery, and a day more. None where nobody sells it in a known time.
    fn sold_from(&self, of: &str) -> Option<NaiveDate> {
        let sellers = self.build.suppliers.values();
        let sellers = sellers.filter(|s| s.packs.iter().any(|p| *p.of == *of));
        let days = sellers.filter_map(|s| {
            let takes = (s.delivery.as_ref()?.node().range().high / 86_400.0).ceil() as u64 + 1;
            let open = |d: &NaiveDate| !s.closed[d.weekday().num_days_from_monday() as usize];
            self.build.today.iter_days().find(open)?.checked_add_days(Days::new(takes))
        });
        days.min()
    }

    /// What is charged for a mould and is not in its castings, at the most: of a casting that the
    /// manifest gives the mass of, kg.
    fn gates(&self, mould: &Mould) -> f64 {
        let lots = mould.lots();
        let mass = |part: usize| match self.build.parts[part].casting.as_ref() {
            Some(Casting { given, .. }) => match &given.shape {
                ShapeGiven::Mass(mass) => least(mass),
                _ => 0.0,
            },
            None => 0.0,
        };
        let castings: f64 = lots.iter().map(|(part, n)| f64::from(*n) * mass(*part)).sum();
        let shared = self.told.shared(&lots).map(|s| s.charge_most);
        shared.unwrap_or_else(|| self.told.charge_most[&mould.part]) - castings
    }

    /// What is on order of a material, by the minute from which it is here, kg.
    fn ordered(&self, of: &str) -> Vec<(i64, f64)> {
        let minute =
            |day: NaiveDate| self.told.today + (day - self.build.today).num_days() * 24 * 60;
        let orders = self.build.history.on_order.iter().filter(|o| *o.of == *of);
        orders.map(|o| (o.expected.map_or(i64::MIN, minute), o.mass)).collect()
    }

    /// Nothing is taken of a material before it is there, where it is known when it will be: what is
    /// taken up to a moment is what lay there, what has come, and what has come back, at the most.
    pub fn supply(&mut self) {
        let mut takes: Vec<(String, i64, f64)> = Vec::new();
        for alloy in self.told.heats.iter().map(|h| h.alloy.clone()).collect::<Vec<_>>() {
            if takes.iter().any(|t| t.0 == alloy) || !self.build.history.heats.is_empty() {
                continue;
            }
            let share = self.build.handbook.alloys[&*alloy].returns_share.as_ref();
            let share = share.map_or(0.0, |s| s.node().range().high);
            let mut used = 0.0;
            let mut heats: Vec<_> = self.told.heats.iter().filter(|h| h.alloy == alloy).collect();
            heats.sort_by_key(|h| h.lit);
            for heat in heats {
                // What was charged and shaken out before comes back at the most, but for the castings.
                let back =
                    self.told.moulds.iter().filter(|m| {
                        m.shaken_out <= heat.lit && self.told.heats[m.heat].alloy == alloy
                    });
                let back: f64 = back.map(|m| self.gates(m)).sum();
                let again = (heat.charge * share).min((back - used).max(0.0));
                used += again;
                takes.push((alloy.clone(), heat.lit, heat.charge - again));
            }
        }
        for mould in self.told.moulds.iter().filter(|m| m.standing.is_none()) {
            let lots = mould.lots();
            let part = &self.build.parts[mould.part];
            let pattern = part.casting.as_ref().map(|c| &self.build.patterns[c.pattern]);
            let heap = self.build.shop.sand.as_ref().map(|s| s.kind.value.clone());
            if pattern.and_then(|p| p.sand.as_ref()).map(|s| &s.id) != heap.as_ref() {
                continue;
            }
            let shared = self.told.shared(&lots).map(|s| s.sand);
            let sand = shared.unwrap_or_else(|| self.told.sand[&mould.part]);
            takes.push(("sand".into(), mould.rammed, sand));
            takes.push(("sand".into(), mould.shaken_out, -sand));
        }
        let mut names: Vec<String> = takes.iter().map(|t| t.0.clone()).collect();
        names.sort();
        names.dedup();
        for of in names {
            let (orders, sold) = (self.ordered(&of), self.sold_from(&of));
            let there = self.build.history.stock.get(&*of).copied().unwrap_or(0.0);
            let asking = sold.map_or(i64::MAX, |day| {
                self.told.today + (day - self.build.today).num_days() * 24 * 60
            });
            let last = orders.iter().map(|o| o.0).max();
            let moments = takes.iter().filter(|t| t.0 == of && t.2 > 0.0).map(|t| t.1);
            for at in moments.collect::<Vec<_>>() {
                // Of what is neither on its way nor sold nobody knows a day to wait for.
                let may_wait = asking < i64::MAX || last.is_some_and(|last| last > at);
                let here: f64 = orders.iter().filter(|o| o.0 <= at).map(|o| o.1).sum();
                let mine = takes.iter().filter(|t| t.0 == of && t.1 <= at);
                let taken: f64 = mine.map(|t| t.2).sum();
                self.must(!may_wait || at >= asking || taken <= there + here + 1e-6, || {
                    format!(
                        "supply: {taken:.3} kg of {of} are taken, {:.3} are there",
                        there + here
                    )
                });
            }
        }
    }
}

/// As every command finds it, with so many tries.
fn planned(build: &Build, kept: Option<&Kept>, tries: usize) -> Planned {
    let search = Search { tries: Some(tries), ..Search::default() };
    job::plan(job::estimate(build.clone()), kept, Some(search), &mut |_, _| false)
}

/// What `plan --json` and `estimate --json` print of it.
fn json(of: &Planned) -> (Value, Value) {
    let plan = serde_json::to_value(PlanView::new(&of.build, &of.plan)).expect("JSON");
    let estimate = EstimateView::new(&of.build, &of.estimates, None);
    (plan, serde_json::to_value(estimate).expect("JSON"))
}

/// Two castings of aluminium and one of bronze; hours every day; 3 kg of aluminium and all of the
/// bronze are there.
const TWO_METALS: &str = "
build: {title: Two metals, begun: 2026-01-01}
shop:
  people: {me: {hours: {mon: 7 h, tue: 7 h, wed: 7 h, thu: 7 h, fri: 7 h, sat: 7 h, sun: 7 h}}}
  poured-before: [A356, C905, green-sand]
  furnaces: {drum: {fuel: charcoal, efficiency: 10 %, set-up: none, clear-up: none, heats-per-session: 2}}
  crucibles:
    grey: {holds: 2 L, working-fill: 80 %, family: aluminium}
    brown: {holds: 1 L, working-fill: 80 %, family: copper}
  flasks: {box: {inside: 320 x 260 mm, cope: 100 mm, drag: 100 mm, count: 3}}
  sand: {kind: green-sand, on-hand: 90 kg}
  stock: {A356: 3 kg, C905: 9 kg}
patterns:
  arm: {made-of: wood, size: 180 x 120 x 50 mm, in-cope: 20 mm}
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  nut: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 20 mm}
parts:
  arm: {casting: {pattern: arm, alloy: A356, mass: 1 kg}, steps: {pattern: 30 min}}
  bed: {casting: {pattern: bed, alloy: A356, mass: 2 kg}, steps: {pattern: 30 min}}
  nut: {casting: {pattern: nut, alloy: C905, mass: 600 g}, steps: {pattern: 30 min}}
";

const SELLS: &str =
    "suppliers: {metals: {delivery: 9 d, packs: [{of: A356, size: 5 kg, price: 40}]}}\n";

fn order(mass: &str, expected: &str) -> String {
    format!(
        "---\nid: o-{expected}\nat: 2026-01-05 08:00\nordered: {{stock: A356, mass: {mass}, expected: {expected}}}\n"
    )
}

fn on(n: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2026, 1, n).expect("a day")
}

/// The day of January on which each part is poured, in the order of the manifest.
fn pours(of: &Planned) -> Vec<u32> {
    let schedule = &of.plan.schedule;
    let day = |part: usize| {
        let mould = schedule.moulds.iter().find(|m| m.part == part).expect("a mould");
        schedule.heats[mould.heat].pour.day()
    };
    (0..3).map(day).collect()
}

#[test]
fn what_has_its_metal_goes_before_what_waits() {
    let text = format!("{TWO_METALS}{SELLS}");
    let free = planned(&read_on(TWO_METALS, "", on(5)), None, 200);
    assert!(pours(&free).iter().all(|day| *day < 8), "{:?}", pours(&free));
    assert_eq!(free.plan.schedule.supply, [""; 0]);
    // Ordered on the 5th: nine days and one of slack. The arm and the nut have what they take.
    let build = read_on(&text, "", on(5));
    let of = planned(&build, None, 200);
    let [arm, bed, nut] = pours(&of)[..] else { panic!("three") };
    assert!(arm < 8 && nut < 8 && bed == 15, "{arm} {bed} {nut}");
    let schedule = &of.plan.schedule;
    let [says] = &*schedule.supply else { panic!("{:?}", schedule.supply) };
    assert!(says.contains("of Aluminium A356. Ordered by 2026-01-05 at the latest"), "{says}");
    assert!(says.ends_with("it is there by 2026-01-15"), "{says}");
    let (plan, estimate) = json(&of);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    // It holds up the heat of the bed, and with it the finish.
    let jobs = &schedule.jobs;
    let pour = jobs.iter().position(|j| j.name == "bed/1 pour").expect("a pour");
    assert_eq!(jobs[pour].waited, Waited::Material(pour));
    assert_eq!(jobs[pour].awaits, Some(("A356".into(), on(15))));
    assert_eq!(schedule.chain.first(), Some(&pour));
    // Another plan might give the metal to another heat: the bound does not know who waits.
    assert_eq!(schedule.bound, free.plan.schedule.bound);
    // The replays wait for it too.
    let risk = job::risk(&of, (256, 1), &|_| {}).expect("a plan");
    assert!(risk.finish.iter().all(|p| p.value >= on(15)), "{:?}", risk.finish);
    // Ordered, it comes as it was promised to.
    let build = read_on(&text, &order("10 kg", "2026-01-11"), on(5));
    let of = planned(&build, None, 200);
    assert_eq!(pours(&of)[1], 11);
    assert!(of.plan.schedule.supply[0].ends_with("As ordered, it is there by 2026-01-11"));
    // What nobody sells and nobody has ordered is as it was.
    assert_eq!(pours(&planned(&read_on(TWO_METALS, "", on(5)), None, 200)), pours(&free));
}

#[test]
fn the_first_sand_of_a_shop_is_waited_for() {
    let text = TWO_METALS.replace(", on-hand: 90 kg", "");
    let build = read_on(&text, "", on(5));
    assert!(pours(&planned(&build, None, 50)).iter().all(|day| *day < 9));
    let sells = "suppliers: {pit: {delivery: 4 d, packs: [{of: sand, size: 25 kg, price: 9}]}}\n";
    let build = read_on(&(text + sells), "", on(5));
    let of = planned(&build, None, 50);
    let rams = of.plan.schedule.moulds.iter().map(|m| m.rammed.day());
    assert!(rams.clone().all(|day| day >= 10) && rams.min() == Some(10));
    let patterns = of.plan.schedule.jobs.iter().filter(|j| j.name.ends_with(" pattern"));
    assert!(patterns.map(|j| j.start.day()).min() == Some(5));
    let says = &of.plan.schedule.supply;
    assert!(says.len() == 1 && says[0].contains(" ram"), "{says:?}");
}

#[test]
fn fuel_and_what_is_used_up_are_waited_for_too() {
    for (of, step, least) in [("charcoal", "pour", 15), ("parting-powder", "ram", 15)] {
        let sells = SELLS.replace("A356", of).replace("5 kg", "50 kg");
        let build = read_on(&format!("{TWO_METALS}{sells}"), "", on(5));
        let planned = planned(&build, None, 50);
        let jobs = planned.plan.schedule.jobs.iter();
        let mut mine = jobs.filter(|j| j.name.ends_with(&format!(" {step}")));
        assert!(mine.clone().count() == 3, "{of}");
        assert!(mine.all(|j| j.start.day() >= least), "{of}");
    }
}

#[test]
fn the_first_pour_waits_for_what_has_to_be_there_before() {
    let text = format!(
        "{TWO_METALS}consumables: {{gloves: {{title: Gloves, of-build: 1 piece}}}}\n{}",
        SELLS.replace("of: A356, size: 5 kg", "of: gloves, size: 1 piece")
    );
    let first = |journal: &str| {
        let of = planned(&read_on(&text, journal, on(5)), None, 50);
        (*pours(&of).iter().min().expect("a pour"), of.plan.schedule.supply)
    };
    let (day, says) = first("");
    assert_eq!(day, 15);
    assert!(says.len() == 1 && says[0].contains(" for Gloves. Ordered by 2026-01-05"), "{says:?}");
    let event = |event: &str| format!("---\nid: e\nat: 2026-01-05 08:00\n{event}\n");
    assert_eq!(first(&event("ordered: {stock: gloves, pieces: 1, expected: 2026-01-12}")).0, 12);
    assert!(first(&event("received: {stock: gloves, pieces: 1}")).0 < 8);
}

#[test]
fn parts_are_fitted_and_bars_turned_once_they_are_there() {
    let hours = "{mon: 7 h, tue: 7 h, wed: 7 h, thu: 7 h, fri: 7 h, sat: 7 h, sun: 7 h}";
    let text = format!(
        "
build: {{title: Parts, begun: 2026-01-01}}
shop: {{people: {{me: {{hours: {hours}}}}}}}
parts:
  motor: {{bought: {{delivery: 8..10 d}}}}
  belt: {{bought: {{supplier: metals}}}}
  pin: {{made: {{from: bar, supplier: metals, hours: 1 h}}}}
  key: {{made: {{hours: 1 h}}}}
  guard: {{made: {{hours: 1 h}}, needs: [{{part: motor, step: receive, before: make}}]}}
{SELLS}"
    );
    let starts = |journal: &str, kept: Option<&Kept>| {
        let of = planned(&read_on(&text, journal, on(5)), kept, 20);
        let job = |name: &str| {
            let job = of.plan.schedule.jobs.iter().find(|job| job.name == name);
            job.expect("a job").start.day()
        };
        let mut held = of.plan.schedule.jobs.iter().filter(|job| job.awaits.is_some());
        assert!(held.any(|job| matches!(job.waited, Waited::Material(_))));
        let jobs = ["motor fit", "guard make", "belt fit", "pin make", "key make"].map(job);
        let bill = job::supply(&of);
        for purchase in job::purchases(&of, &bill, Wish { sure: false, stages: false }) {
            let parts = purchase.orders.iter().flat_map(|order| &order.parts);
            assert!(parts.chain(&purchase.loose).all(|part| part.order_by >= Some(on(5))));
        }
        (jobs, of)
    };
    // The longest delivery and a day of slack; that of the seller where the part has none.
    let (days, first) = starts("", None);
    let says = &first.plan.schedule.supply;
    assert_eq!(days, [16, 16, 15, 15, 5]);
    assert_eq!(says.len(), 2);
    assert!(says[0].starts_with("belt fit, pin make wait for belt; bar. "), "{says:?}");
    assert_eq!(
        says[1],
        "motor fit, guard make wait for motor. Ordered by 2026-01-05 at the latest, it is there by \
         2026-01-16"
    );
    let order = "---\nid: o\nat: 2026-01-05 08:00\nordered: {part: pin, expected: 2026-01-08}\n";
    assert_eq!(starts(order, None).0, [16, 16, 15, 8, 5]);
    let here = "---\nid: o\nat: 2026-01-05 08:00\ndone: {part: motor, step: receive}\n";
    for kept in [None, first.kept.as_ref()] {
        assert!(starts(here, kept).0[0] < 7);
    }
}

/// A cheaper seller takes three weeks longer than the one whose day the plan waits for: it is bought from
/// that one, and told what the haste costs; where the plan can wait, from the cheaper.
#[test]
fn what_the_plan_waits_for_is_bought_from_who_brings_it_by_then() {
    let slow = "  cheap: {delivery: 30 d, packs: [{of: A356, size: 5 kg, price: 20}]}\n";
    let sells =
        SELLS.replace("suppliers: {metals:", "suppliers:\n  metals:").replace("}]}}", "}]}");
    for (delivery, from) in [("9 d", "metals"), ("30 d", "cheap")] {
        let text = format!("{TWO_METALS}{}{slow}", sells.replace("9 d", delivery));
        let of = planned(&read_on(&text, "", on(5)), None, 50);
        let bill = job::supply(&of);
        let purchases = job::purchases(&of, &bill, Wish { sure: false, stages: false });
        let orders: Vec<_> = purchases.iter().flat_map(|p| &p.orders).collect();
        assert_eq!(orders.iter().map(|o| &*o.supplier).collect::<Vec<_>>(), [from]);
        assert!(orders.iter().all(|o| o.days_late(of.build.today).is_none()), "{orders:?}");
        let haste = purchases.iter().find_map(|p| p.haste.as_ref()).map(|h| &*h.slow[0].from);
        assert_eq!(haste, (from == "metals").then_some("cheap"));
    }
}

#[test]
fn cores_wait_for_their_sand_and_a_heat_for_what_comes_last() {
    let cored = TWO_METALS
        .replace("stock: {A356", "core-sand: {kind: baked-sand}\n  stock: {A356")
        .replace("mass: 2 kg}", "mass: 2 kg, cores: {volume: 20 cm3}}");
    let sand = SELLS.replace("A356", "baked-sand").replace("9 d", "25 d");
    let of = planned(&read_on(&format!("{cored}{sand}"), "", on(5)), None, 20);
    let core = of.plan.schedule.jobs.iter().find(|j| j.name == "bed core").expect("a core");
    assert_eq!(
        core.start.format("%m-%d %H:%M").to_string(),
        "01-31 09:00",
        "the first thing that day"
    );
    let waits = of.plan.schedule.jobs.iter().filter(|j| j.awaits.is_some());
    assert_eq!(waits.map(|j| &*j.name).collect::<Vec<_>>(), ["bed core"], "and nothing else");
    // The metal of the bed comes on the 15th, and no charcoal before the 26th.
    let fuel =
        "suppliers:\n  burner: {delivery: 20 d, packs: [{of: charcoal, size: 50 kg}]}\n  metals:";
    let both = SELLS.replace("suppliers: {metals:", fuel).replace("}]}}", "}]}");
    let of = planned(&read_on(&format!("{TWO_METALS}{both}"), "", on(5)), None, 20);
    assert!(pours(&of).iter().all(|day| *day >= 26), "{:?}", pours(&of));
}

#[test]
fn a_plan_that_waits_is_found_again_as_it_was() {
    for (journal, tries) in [(String::new(), 200), (order("10 kg", "2026-01-11"), 30)] {
        let build = read_on(&format!("{TWO_METALS}{SELLS}"), &journal, on(5));
        let first = planned(&build, None, tries);
        let kept = first.kept.clone().expect("a plan");
        assert!(!kept.awaited.is_empty());
        let again = job::plan(job::estimate(build), Some(&kept), None, &mut |_, _| false);
        assert_eq!(again.kept.as_ref(), Some(&kept));
        assert_eq!((again.plan.schedule.tried, &*again.plan.schedule.moved), (1, &[][..]));
        assert_eq!(again.plan.schedule.supply, first.plan.schedule.supply);
    }
}

#[test]
fn a_delivery_that_slips_moves_the_heat_and_is_its_cause() {
    let text = format!("{TWO_METALS}{SELLS}");
    let at = |journal: &str, day| read_on(&text, journal, on(day));
    let early = order("10 kg", "2026-01-11");
    let first = planned(&at(&early, 5), None, 100);
    let kept = first.kept.as_ref();
    assert_eq!(pours(&first)[1], 11);
    let heat = first.plan.schedule.heats.iter().find(|h| h.pour.day() == 11).expect("a heat");
    // It stands as it was promised, days later too, while nothing of it is done.
    let later = planned(&at(&early, 6), kept, 100);
    assert_eq!(pours(&later)[1], 11);
    // Some of it slips by a week.
    let slips = order("100 g", "2026-01-11") + &order("9.9 kg", "2026-01-18");
    let then = planned(&at(&slips, 5), kept, 100);
    let [arm, bed, nut] = pours(&then)[..] else { panic!("three") };
    assert_eq!([arm, nut], [pours(&first)[0], pours(&first)[2]]);
    assert_eq!(bed, 18);
    let moved = &then.plan.schedule.moved;
    let says = format!(
        "{} is poured on 2026-01-18, not on 2026-01-11: bed/1 pour waits for A356, which can be \
         there by 2026-01-18",
        heat.name
    );
    assert!(moved.contains(&says), "{moved:?}");
    // It comes before its day.
    let here = "---\nid: r\nat: 2026-01-05 09:00\nreceived: {stock: A356, mass: 10 kg}\n";
    let then = planned(&at(&(early + here), 5), kept, 100);
    assert!(pours(&then)[1] < 9, "{:?}", pours(&then));
    assert_eq!(then.plan.schedule.supply, [""; 0]);
    let moved = &then.plan.schedule.moved;
    assert!(moved[0].ends_with(": A356 can be there sooner than was known"), "{moved:?}");
}

/// A random build whose metal and sand are partly there, partly on order, and sold.
pub fn supplied(seed: u64) -> (String, String) {
    let mut dice = Dice::new(5000 + seed);
    let mut text = random(seed);
    let stock = format!(
        "  stock: {{A356: {} kg, C905: {} kg}}\n  machines: {{lathe:",
        dice.roll(4),
        dice.roll(3)
    );
    text = text.replacen("  machines: {lathe:", &stock, 1);
    let closed = dice.one(&["", ", closed: []", ", closed: [mon, sat]"]);
    let [metal, sand] = [3 + dice.roll(25), 1 + dice.roll(20)];
    text += &format!(
        "suppliers:\n  metals: {{delivery: {metal} d{closed}, packs: [{{of: A356, size: 5 kg}}, {{of: C905, size: 2 kg}}]}}\n  pit: {{delivery: {sand} d, packs: [{{of: sand, size: 25 kg}}]}}\n"
    );
    let mut journal = String::new();
    for n in 0..dice.roll(4) {
        let of = dice.one(&["A356", "A356", "C905", "sand"]);
        let (mass, day) = (1 + dice.roll(4), 11 + dice.roll(20));
        journal += &format!(
            "---\nid: o{n}\nat: 2026-01-10 08:0{n}\nordered: {{stock: {of}, mass: {mass} kg, expected: 2026-01-{day}}}\n"
        );
    }
    (text, journal)
}

#[test]
fn no_random_plan_takes_what_cannot_be_there() {
    let (mut waiting, mut faults) = (0, Vec::new());
    for seed in 0..40 {
        let (text, journal) = supplied(seed);
        let build = read(&text, &journal);
        let of = planned(&build, None, 30);
        let (plan, estimate) = json(&of);
        faults.extend(broken(&build, &plan, &estimate).iter().map(|f| format!("{seed}: {f}")));
        waiting += usize::from(of.kept.as_ref().is_some_and(|k| !k.awaited.is_empty()));
        let again = job::plan(job::estimate(build), of.kept.as_ref(), None, &mut |_, _| false);
        if again.kept != of.kept {
            faults.push(format!("{seed}: it is not found again"));
        }
    }
    println!("{waiting} of 40 plans wait for something");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(waiting >= 20, "{waiting} are worth a test");
}

#[test]
fn the_ledger_catches_what_is_taken_too_early() {
    let text = format!("{TWO_METALS}{SELLS}");
    let build = read_on(&text, &order("10 kg", "2026-01-11"), on(5));
    let of = planned(&build, None, 50);
    let (plan, estimate) = json(&of);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    type Spoil = fn(&mut Build);
    let breaks: [Spoil; 4] = [
        |build| build.history.on_order[0].expected = Some(on(12)),
        |build| build.history.on_order[0].mass = 0.1,
        |build| {
            build.history.stock.insert("A356".into(), 0.5);
        },
        |build| {
            build.history.stock.insert("sand".into(), 1.0);
            let seller = build.suppliers.get_mut("metals").expect("a seller");
            seller.packs[0].of = "sand".into();
            seller.delivery = Some(figure(90.0 * 86_400.0));
        },
    ];
    for (n, spoil) in breaks.iter().enumerate() {
        let mut build = build.clone();
        spoil(&mut build);
        let faults = broken(&build, &plan, &estimate);
        assert!(faults.iter().any(|f| f.starts_with("supply:")), "break {n}: {faults:?}");
    }
}
