//! What no plan can beat: never above what a plan does, and near it.

use super::builds::{random, read, schedule};
use pourwright::plan::Aim;

#[test]
fn bounds_are_kept_and_near() {
    let (mut proven, mut gaps) = (0, Vec::new());
    for seed in 1..=59 {
        let build = read(&random(seed), "");
        let [soon, few] = [Aim::Finish, Aim::Heats].map(|aim| schedule(&build, aim, 60));
        for (found, other) in [(&soon, &few), (&few, &soon)] {
            let heats = found.heats.len();
            assert!(found.least_heats <= heats, "seed {seed}: {} of {heats}", found.least_heats);
            // Where something cannot be made, both speak of the end of the rest.
            let end = other.finish.or(other.rest);
            assert_eq!(found.bound.is_some(), end.is_some(), "seed {seed}");
            assert!(found.bound <= end, "seed {seed}: bound {:?}, a plan {end:?}", found.bound);
            assert!(found.gap_days().is_none_or(|gap| gap >= 0), "seed {seed}");
        }
        proven += usize::from(few.heats.len() == few.least_heats);
        gaps.extend(soon.gap_days());
        println!(
            "seed {seed}: finish within {:?} days, heats {} of at least {}",
            soon.gap_days(),
            few.heats.len(),
            few.least_heats
        );
    }
    gaps.sort_unstable();
    let median = gaps[gaps.len() / 2];
    println!("fewest heats proven in {proven} of 59; median gap of the finish {median} days");
    assert!(proven >= 29, "{proven} proven, {median} days");
}
