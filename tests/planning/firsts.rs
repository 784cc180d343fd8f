//! The first heat of a shop, an alloy or a sand is one easy, light mould, where that costs no more
//! than a week.

use super::builds::{keeping, random, read, told};
use super::checker::{Check, broken};
use super::told::{Heat, Mould};
use pourwright::model::Build;
use pourwright::plan::{Aim, Kept};
use serde_json::{Value, json};
use std::collections::BTreeMap;

impl Check<'_> {
    /// What nobody has poured here yet, with its moulds.
    fn new_here(&self) -> BTreeMap<String, Vec<Mould>> {
        let history = &self.build.history;
        let poured = || history.attempts.values().filter(|a| a.poured.is_some());
        let parts = poured().flat_map(|a| a.castings.iter().map(|c| c.0));
        let mut known: Vec<String> = parts.flat_map(|p| self.told.kinds[p].clone()).collect();
        let given = &self.build.shop.poured_before;
        known.extend(given.iter().map(|g| g.value.to_string()));
        if !known.is_empty() || !history.heats.is_empty() {
            known.push("this shop".into());
        }
        let mut new: BTreeMap<String, Vec<Mould>> = BTreeMap::new();
        for m in &self.told.moulds {
            let kinds = self.told.kinds[m.part].iter().cloned().chain(["this shop".into()]);
            for kind in kinds.filter(|kind| !known.contains(kind)) {
                new.entry(kind).or_default().push(m.clone());
            }
        }
        new
    }

    /// A first heat that is told is the first of its kind and alone; what is new begins with one, or
    /// the plan says that it would cost too much.
    pub fn firsts(&mut self) {
        let told = self.told.firsts.clone();
        let heats = self.told.heats.clone();
        let lit = |h: &usize| heats[*h].lit;
        let new = self.new_here();
        for (heat, of) in &told {
            let Some(heat) = heat else { continue };
            let at = heats.iter().position(|h: &Heat| h.name == *heat);
            for kind in of {
                let mine = new.get(kind).into_iter().flatten().map(|m| m.heat);
                let first = mine.min_by_key(lit);
                self.must(first.is_some() && first == at, || {
                    format!("first: {heat} is not the first of {kind}")
                });
            }
            let alone = at.is_some_and(|h| heats[h].moulds.len() == 1);
            let standing = |m: &Mould| m.standing.is_some();
            let ready = self.told.moulds.iter().filter(|m| Some(m.heat) == at).all(standing);
            self.must(alone || ready, || format!("first: {heat} pours several moulds"));
        }
        let named: Vec<_> = told.iter().filter_map(|(heat, _)| heat.as_ref()).collect();
        let once = |heat| named.iter().filter(|name| **name == heat).count() == 1;
        self.must(named.iter().all(|heat| once(*heat)), || "first: a heat is told twice".into());
        let dear = told.iter().any(|(heat, _)| heat.is_none());
        for (kind, moulds) in &new {
            let named = told.iter().any(|(_, of)| of.contains(kind));
            // One mould, or moulds that are all promised for one heat, are first of themselves.
            let one_heat = moulds.iter().all(|m| m.heat == moulds[0].heat);
            self.must(named || dear || one_heat || told.is_empty(), || {
                format!("first: nothing is told of {kind}")
            });
        }
    }
}

/// Three castings of one alloy: one hard, one easy and heavy, one easy and light.
const BUILD: &str = "
build: {title: Firsts, begun: 2026-01-10}
shop:
  people: {ann: {hours: {sat: 8 h, sun: 8 h}}}
  furnaces: {drum: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none}}
  crucibles: {grey: {holds: 6 L, working-fill: 80 %, family: aluminium}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 4}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  arm: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
  nut: {made-of: wood, size: 120 x 80 x 40 mm, in-cope: 20 mm}
parts:
  bed: {casting: {pattern: bed, alloy: A356, mass: 200 g, difficulty: hard}, steps: {pattern: 1 h}}
  arm: {casting: {pattern: arm, alloy: A356, mass: 900 g, difficulty: easy}, steps: {pattern: 1 h}}
  nut: {casting: {pattern: nut, alloy: A356, mass: 300 g, difficulty: easy}, steps: {pattern: 1 h}}
";

fn planned(from: &str, to: &str) -> (Build, Value) {
    let text = BUILD.replace(from, to);
    let build = read(&text, "");
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{to}");
    (build, plan)
}

/// Parts of each heat.
fn heats(plan: &Value) -> Vec<Vec<String>> {
    let part = |m: &Value| m["part"].as_str().expect("a part").to_owned();
    let heats = plan["schedule"]["heats"].as_array().expect("heats").iter();
    heats.map(|h| h["moulds"].as_array().expect("moulds").iter().map(part).collect()).collect()
}

#[test]
fn a_heat_that_is_the_first_of_several_things_is_told_once() {
    let bronze = "  cap: {casting: {pattern: cap, alloy: C905, mass: 900 g, difficulty: hard}}
  lid: {casting: {pattern: lid, alloy: C905, mass: 950 g, difficulty: hard}}\n";
    let pots = "grey: {holds: 6 L, working-fill: 80 %, family: aluminium}";
    let text = BUILD
        .replace(pots, &format!("{pots}, brown: {{holds: 6 L, family: copper}}"))
        .replace("parts:\n", "  cap: {made-of: wood, size: 120 x 80 x 40 mm}\n  lid: {made-of: wood, size: 120 x 80 x 40 mm}\nparts:\n");
    let build = read(&(text + bronze), "");
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    let firsts = plan["schedule"]["firsts"].as_array().expect("firsts");
    let of: Vec<&Value> = firsts.iter().map(|first| &first["of"]).collect();
    assert_eq!(of, [&json!(["this shop", "A356", "green-sand"]), &json!(["C905"])]);
}

#[test]
fn the_first_heat_of_a_new_shop_is_the_easiest_and_lightest_mould() {
    let (_, plan) = planned("", "");
    assert_eq!(heats(&plan)[0], ["nut"]);
    assert_eq!(heats(&plan).len(), 2);
    let first = &plan["schedule"]["firsts"][0];
    assert_eq!(first["heat"], "H1");
    assert_eq!(first["of"], json!(["this shop", "A356", "green-sand"]));
    // Where it was poured before, all is one heat.
    let (_, plan) = planned("  sand:", "  poured-before: [A356, green-sand]\n  sand:");
    assert_eq!(heats(&plan).len(), 1);
    assert!(plan["schedule"]["firsts"].is_null());
    // An alloy alone is new too.
    let (_, plan) = planned("  sand:", "  poured-before: [C905, green-sand]\n  sand:");
    assert_eq!(heats(&plan)[0], ["nut"]);
    assert_eq!(plan["schedule"]["firsts"][0]["of"], json!(["A356"]));
}

#[test]
fn a_first_heat_that_costs_more_than_a_week_is_left_out() {
    // The small one waits for a part that takes three weeks to come.
    let late = BUILD.replace(
        "difficulty: easy}, steps: {pattern: 1 h}}\n  nut: {",
        "difficulty: easy}, steps: {pattern: 1 h}}\n  stamp: {bought: {delivery: 21 d}}\n  nut: \
         {needs: [{part: stamp, step: receive, before: ram}], ",
    );
    assert_ne!(late, BUILD);
    let text = late.replace(
        "bed, alloy: A356, mass: 200 g, difficulty: hard}, steps: {",
        "bed, alloy: A356, mass: 200 g, difficulty: hard}, steps: {machine: 60 h, ",
    );
    let build = read(&text, "");
    let (plan, estimate) = told(&build, Aim::Finish, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0]);
    let firsts = &plan["schedule"]["firsts"];
    assert_eq!(firsts[0]["heat"], Value::Null, "{firsts}");
    assert!(firsts[0]["says"].as_str().is_some_and(|s| s.contains("more than a week")));
    assert_ne!(heats(&plan)[0], ["nut"]);
    // Found again as the plan in force it tells the same.
    let (first, kept) = keeping(&build, Aim::Finish, 200, None);
    let (again, _) = keeping(&build, Aim::Finish, 200, Some(&kept));
    assert!(again.kept && again.firsts[0].heat.is_none());
    assert_eq!(first.firsts, again.firsts);
}

#[test]
fn a_plan_with_first_heats_is_found_again() {
    for seed in 0..6 {
        let build = read(&random(seed), "");
        let (first, kept) = keeping(&build, Aim::Finish, 60, None);
        let (again, twice) = keeping(&build, Aim::Finish, 60, Some(&kept));
        assert!(again.kept || first.heats.is_empty(), "{seed}");
        // Nothing was looked for again, and no job moved.
        assert!(again.tried <= 1, "{seed}");
        let days = |k: &Kept| k.heats.iter().map(|h| (h.pour, h.moulds.len())).collect::<Vec<_>>();
        assert_eq!((days(&kept), kept.finish), (days(&twice), twice.finish), "{seed}");
        assert_eq!(first.firsts, again.firsts, "{seed}");
    }
}
