//! Heats that there is too little sand for together, in words.

use super::record::PlannedHeat;
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::plan::calendar::Calendar;
use crate::plan::work::{Limits, Scarce, Work, may_share};

/// So many pairs of heats are named.
const NAMED: usize = 3;

/// Heats that follow each other, of one alloy, and could be one if there were more sand in the heap.
pub(super) fn little_sand(
    build: &Build,
    (work, limits, calendar): (&Work, &Limits, &Calendar),
    heats: &[PlannedHeat],
) -> Option<String> {
    let heap = limits.sand?;
    let (plenty, longest) = (limits.plenty(Scarce::Sand), calendar.longest_pour());
    let split = |pair: &[&PlannedHeat]| {
        let [a, b] = pair else { return None };
        let both = [&*a.moulds, &*b.moulds].concat();
        let but_for_sand = work.batches.may_join(&both)
            && !may_share(work, limits, &both, longest)
            && may_share(work, &plenty, &both, longest);
        let takes: f64 = both.iter().map(|m| work.moulds[*m].sand).sum();
        but_for_sand.then(|| (format!("{} and {}", a.name, b.name), takes))
    };
    let of = |alloy: &str| heats.iter().filter(|h| *h.alloy == *alloy).collect::<Vec<_>>();
    let pairs: Vec<(String, f64)> = work
        .alloys
        .iter()
        .flat_map(|alloy| of(alloy).windows(2).filter_map(split).collect::<Vec<_>>())
        .collect();
    let most = pairs.iter().map(|(_, takes)| *takes).reduce(f64::max)?;
    let mut names: Vec<String> = pairs.iter().take(NAMED).map(|(name, _)| name.clone()).collect();
    names.extend((pairs.len() > NAMED).then(|| format!("{} more", pairs.len() - NAMED)));
    let mass = |kg| show(Kind::Mass, kg, build.header.units);
    Some(format!(
        "{} could be one heat but for sand: such moulds take up to {} together, and the heap has {}; \
         `suppose --sand {}` tries more",
        names.join(", "),
        mass(most),
        mass(heap),
        mass((most - heap).max(0.0)).replace(' ', "")
    ))
}
