//! Replays against a replay of its own in numpy, and the day-one percentiles against simulated lives.

#[path = "../../tests/common/mod.rs"]
mod common;

use super::bench::MISSED;
use super::loss::Loss;
use super::replay::SHARED;
use super::script::{Melt, OWN, Script, script};
use crate::chance::{Tables, Uncertain, replay};
use crate::job;
use crate::plan::hours;
use serde_json::{Value, json};

/// A plan of a shipped build, looked for as long as a test may.
fn planned(folder: &str) -> job::Planned {
    let file = |name: &str| std::fs::read(format!("{folder}/{name}.yaml"));
    let today = job::Today { asked: None, clock: chrono::NaiveDate::MIN };
    let journal = file("journal").unwrap_or_default();
    let beside = |path: &str| std::fs::read(format!("{folder}/{path}"));
    let build = job::read_beside(file("build").expect("a build"), journal, today, &beside);
    let search = job::Search { tries: Some(40), ..job::Search::default() };
    let mut build = build.expect("no faults");
    // One of them pours on Saturdays only.
    if folder == BUILDS[1] {
        build.shop.pours = Some([false, false, false, false, false, true, false]);
    }
    job::plan(job::estimate(build), None, Some(search), &mut |_, _| false)
}

fn three(tables: &Tables, (kind, of): &(usize, Uncertain)) -> Value {
    let [low, likely, high] = tables.three(of);
    json!([kind, low, likely, high])
}

fn told(script: &Script) -> Value {
    let tables = &script.tables;
    let list = |of: &[(usize, Uncertain)]| of.iter().map(|o| three(tables, o)).collect::<Value>();
    let melt = |m: &Melt| {
        json!({
            "alloy": m.alloy, "furnace": m.furnace, "charge": m.charge, "holds": m.holds,
            "hands": m.hands, "pours": list(&m.pours), "spare": m.spare,
            "clear_up": m.clear_up.as_ref().map(|of| three(tables, of)),
        })
    };
    let units = script.units.iter().map(|u| {
        json!({
            "minutes": list(&u.minutes), "melt": u.melt.as_ref().map(melt), "machine": u.machine,
            "wait": u.wait.as_ref().map(|w| tables.three(w)), "not_before": u.not_before,
            "before": u.before, "after": u.after,
            "decides": u.decides.as_ref().map(|d| json!({
                "moulds": d.moulds, "loss": d.loss, "melt": melt(&d.melt), "at_once": d.at_once,
                "melting": three(tables, &d.melting), "melts": d.melts, "ram": three(tables, &d.ram),
                "pour": three(tables, &d.pour), "then_wait": d.then_wait, "then": list(&d.then),
            })),
        })
    });
    let loss = |loss: &Loss| match loss {
        Loss::Believed(belief) => json!(["beta", belief.a(), belief.b()]),
        Loss::Given([low, likely, high]) => json!(["pert", low, likely, high]),
    };
    let window = |w: &crate::plan::Window| [w.from, w.to];
    json!({
        "missed": MISSED, "shared": SHARED, "machines": script.machines,
        "furnaces": script.furnaces, "pours": script.pours, "losses": script.losses.iter().map(loss).collect::<Value>(),
        "people": script.people.iter().map(|p| p.iter().map(window).collect()).collect::<Vec<Vec<_>>>(),
        "units": units.collect::<Value>(),
    })
}

/// Lives by numpy, sorted by their finish.
fn lives(script: &Script, count: usize, seed: u64, scatter: Option<[f64; 3]>) -> Option<Vec<f64>> {
    let mut question = told(script);
    question["count"] = json!(count);
    question["seed"] = json!(seed);
    question["scatter"] = json!(scatter);
    let answer = common::ask("replays against numpy", "replay", &question)?;
    let list = answer["finish"].as_array().expect("minutes").iter();
    let mut list: Vec<f64> = list.map(|m| m.as_f64().expect("a minute")).collect();
    list.sort_by(f64::total_cmp);
    Some(list)
}

const BUILDS: [&str; 4] =
    ["demo", "projects/bench-shaper", "projects/filing-machine", "projects/surface-grinder"];

#[test]
fn replays_and_simulated_lives_agree_with_numpy() {
    const LIVES: usize = 200;
    for folder in BUILDS {
        let of = planned(folder);
        let laid = of.plan.schedule.laid.as_ref().expect("a plan");
        let reach = hours(&of.build, &laid.work, super::REACH);
        let (script, _) = script(&of.build, &of.estimates, laid, &reach);
        let outcomes = replay(1_500, 1, |random| super::replay::once(&script, random));
        let mut ours: Vec<f64> = outcomes.iter().map(|o| o.finish as f64).collect();
        ours.sort_by(f64::total_cmp);
        let at = |list: &[f64], share: f64| list[(share * list.len() as f64) as usize];
        let Some(theirs) = lives(&script, LIVES, 7, None) else { return };
        // Lives whose steps take 0.7 to 1.8 times what is likely, whoever gave the hours.
        let Some(others) = lives(&script, LIVES, 8, Some(OWN)) else { return };
        for (share, name) in [(0.5, "P50"), (0.9, "P90")] {
            let day = at(&ours, share);
            let met =
                |list: &[f64]| list.iter().filter(|end| **end <= day).count() as f64 / LIVES as f64;
            println!(
                "{folder}: {name} on day {:.0}; met in {:.0} % of replays by numpy, in {:.0} % of \
                 lives at 0.7 to 1.8 times",
                day / 1440.0,
                100.0 * met(&theirs),
                100.0 * met(&others),
            );
            // Four standard errors of both samples.
            let error = (share * (1.0 - share) * (1.0 / LIVES as f64 + 1.0 / 1_500.0)).sqrt();
            assert!(
                (met(&theirs) - share).abs() < 4.0 * error,
                "{folder}: {name} {}",
                met(&theirs)
            );
        }
    }
}
