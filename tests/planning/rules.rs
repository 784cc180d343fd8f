//! Every schedule keeps every rule.

use super::builds::{SHIPPED, drying, random, read, schedule, shipped, told};
use super::checker::broken;
use pourwright::estimate::estimate;
use pourwright::plan::{Aim, Pour};

/// A heat is poured so long after it is lit as its own figure says, and the furnace takes to warm up
/// where it is cold.
#[test]
fn heats_take_what_their_figure_says() {
    let mut counted = [0, 0];
    for folder in SHIPPED {
        let build = shipped(folder);
        let estimates = estimate(&build);
        let schedule = schedule(&build, Aim::Finish, 40);
        for heat in &schedule.heats {
            let pour = Pour::planned(&build, &schedule, &heat.name).expect("a heat");
            let before = pour.before_pour(&build, &estimates).expect("a furnace").si() / 60.0;
            let warm_up = build.shop.furnaces[&*heat.furnace].warm_up.as_ref();
            let warm_up = warm_up.filter(|_| !heat.hot).map_or(0.0, |time| time.si() / 60.0);
            let took = (heat.pour - heat.lit).num_minutes() as f64;
            assert!((took - before.ceil() - warm_up).abs() < 1.0, "{folder} {}: {took}", heat.name);
            counted[usize::from(heat.hot)] += 1;
        }
    }
    assert!(counted[0] > 20 && counted[1] > 0, "{counted:?} heats in cold and hot furnaces");
}

#[test]
fn shipped_builds_keep_the_rules() {
    for folder in SHIPPED {
        let build = shipped(folder);
        for (aim, tries) in [(Aim::Finish, 1), (Aim::Finish, 60), (Aim::Heats, 60)] {
            let (plan, estimate) = told(&build, aim, tries);
            assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{folder} {aim:?} {tries}");
        }
    }
}

#[test]
fn a_hundred_random_builds_keep_the_rules() {
    let mut all = Vec::new();
    let (mut heats, mut sharing, mut left_out, mut beside) = (0, 0, 0, 0);
    for seed in 0..100 {
        let text = if seed % 2 == 0 { random(seed) } else { drying(seed) };
        let build = read(&text, "");
        let aim = if seed % 3 == 0 { Aim::Heats } else { Aim::Finish };
        let (plan, estimate) = told(&build, aim, 40);
        let schedule = &plan["schedule"];
        let groups = schedule["heats"].as_array().expect("heats").iter();
        let sizes: Vec<usize> =
            groups.map(|h| h["moulds"].as_array().map_or(0, Vec::len)).collect();
        heats += sizes.len();
        sharing += sizes.iter().filter(|n| **n > 1).count();
        let groups = schedule["heats"].as_array().expect("heats").iter();
        let moulds = groups.flat_map(|h| h["moulds"].as_array().expect("moulds"));
        beside += moulds.filter(|m| m["others"].is_array()).count();
        left_out += usize::from(schedule["missing"].as_array().is_some_and(|m| !m.is_empty()));
        let faults = broken(&build, &plan, &estimate);
        if !faults.is_empty() {
            all.push(format!("seed {seed}: {}\n  {}", schedule["missing"], faults.join("\n  ")));
        }
    }
    assert!(all.is_empty(), "{} faults:\n{}", all.len(), all.join("\n"));
    // The builds are worth checking: enough is poured, together and alone, and most can be planned.
    assert!(heats > 250 && sharing > 50, "{heats} heats, {sharing} of several moulds");
    assert!(beside > 30, "{beside} moulds of several patterns");
    assert!((1..60).contains(&left_out), "{left_out} builds with something left out");
}
