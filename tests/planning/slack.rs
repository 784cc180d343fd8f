//! How much later a job may end without moving the finish leaves those after it their time.

use super::builds::{drying, read, schedule, told};
use super::checker::minutes;
use super::told::Told;
use chrono::TimeDelta;
use pourwright::plan::{Aim, Job};

/// A job that ends as late as its slack allows is dry, and its casting cold, before the next one begins,
/// which may itself be as late as it can: its end and slack, less its minutes at the bench.
#[test]
fn what_dries_and_cools_has_its_time_within_the_slack() {
    let (mut dries, mut cools, mut last) = (0, 0, 0);
    for seed in 0..12 {
        let build = read(&drying(seed), "");
        let schedule = schedule(&build, Aim::Finish, 1);
        let (plan, estimate) = told(&build, Aim::Finish, 1);
        let told = Told::read(&build, &plan, &estimate).expect("what is told");
        assert_eq!(told.jobs.len(), schedule.jobs.len());
        let cooling = |part: usize| {
            let id = build.parts[part].id();
            let row = told.work.iter().find(|r| r.on == **id && r.step == "shake-out");
            row.map_or(0, |r| minutes(r.wait))
        };
        // With its slack and what it takes to dry, nothing is over after the finish.
        let over = |job: &Job| job.ready + TimeDelta::minutes(job.slack);
        let finish = schedule.finish.or(schedule.rest).expect("an end");
        assert!(schedule.jobs.iter().all(|job| over(job) <= finish), "seed {seed}");
        let dry = schedule.jobs.iter().filter(|job| job.ready > job.end);
        last += dry.filter(|job| over(job) == finish).count();
        for (later, waits) in told.jobs.iter().zip(&schedule.jobs) {
            for first in waits.after.iter().map(|n| &told.jobs[*n]).filter(|j| j.slack > 0) {
                let mould = told.moulds.iter().find(|m| m.shake == Some(later.n));
                let own = mould.filter(|m| m.pour == Some(first.n));
                let cool = own.map_or(0, |m| {
                    m.lots().into_iter().map(|(part, _)| cooling(part)).max().unwrap_or(0)
                });
                let dry = first.ready - first.end;
                let begins = later.end + later.slack - later.minutes;
                assert!(
                    first.end + first.slack + dry + cool <= begins,
                    "seed {seed}: {} {} with {} min of slack, then {dry} to dry and {cool} to cool; \
                     {} {} begins no later than {begins} of {}",
                    first.on,
                    first.step,
                    first.slack,
                    later.on,
                    later.step,
                    first.end
                );
                dries += usize::from(dry > 0);
                cools += usize::from(cool > 0);
            }
        }
    }
    println!("{dries} that dry and {cools} that cool have slack, {last} are dry at the finish");
    assert!(dries > 20 && cools > 20, "{dries} dry, {cools} cool");
}
