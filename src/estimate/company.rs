//! Patterns that could share a flask and are not said to.

use super::layout;
use super::mould::{self, CrucibleFit, FlaskFit};
use super::{CastingEstimate, Estimates, Lots};
use crate::figure::{Figure, Mass};
use crate::manifest::Flask;
use crate::model::{Build, Casting};
use std::collections::BTreeMap;

/// Pairs of patterns, by index, that would lie in one flask of the shop, be poured from one crucible,
/// and take a smaller volume of flasks so than each in its own, for the moulds to come: what saves
/// most comes first, and each pattern is in one pair only. Whether the plan gains by them is not
/// looked at.
pub fn company(build: &Build, estimates: &Estimates) -> Vec<[usize; 2]> {
    let to_come = estimates.moulds(build, |i| build.to_cast(i));
    // Of each pattern that lies alone: how many moulds, and what one of them is.
    let mut alone: BTreeMap<usize, (usize, Alone<'_>)> = BTreeMap::new();
    for lots in to_come.iter().filter(|lots: &&Lots| lots.len() == 1) {
        let part = lots[0].0;
        let casting = build.parts[part].casting.as_ref();
        let Some((casting, estimate)) = casting.zip(estimates.castings[part].as_ref()) else {
            continue;
        };
        alone.entry(casting.pattern).or_insert((0, Alone { casting, estimate })).0 += 1;
    }
    let mut tried = build.clone();
    let mut found: Vec<(f64, [usize; 2])> = Vec::new();
    for (&a, &(many_a, one)) in &alone {
        for (&b, &(many_b, other)) in alone.range(a + 1..) {
            let Some(less) = saved(build, [one, other]) else { continue };
            if tried.put_beside(a, b).is_ok() {
                tried.boxes.pop();
                found.push((less * many_a.min(many_b) as f64, [a, b]));
            }
        }
    }
    found.sort_by(|x, y| y.0.total_cmp(&x.0).then(x.1.cmp(&y.1)));
    let mut taken = Vec::new();
    let pairs = found.into_iter().map(|(_, pair)| pair);
    pairs
        .filter(|pair| {
            let free = pair.iter().all(|p| !taken.contains(p));
            taken.extend(pair.iter().filter(|_| free));
            free
        })
        .collect()
}

/// A pattern that lies alone, by one of its castings.
#[derive(Clone, Copy)]
struct Alone<'a> {
    casting: &'a Casting,
    estimate: &'a CastingEstimate,
}

/// Volume of flasks that one mould of both saves, m3; none where it saves none or cannot be.
fn saved(build: &Build, both: [Alone<'_>; 2]) -> Option<f64> {
    let volume = |fit: &FlaskFit| match fit {
        FlaskFit::Fits(id) => build.shop.flasks.get(id).map(layout::flask_space),
        _ => None,
    };
    let apart = volume(&both[0].estimate.mould.flask)? + volume(&both[1].estimate.mould.flask)?;
    let patterns = both.map(|one| &build.patterns[one.casting.pattern]);
    if apart - layout::least_space(build, &patterns)? <= 1e-9 {
        return None;
    }
    // Their ways in as each has them alone; feeders stand over their castings.
    let gating = both.map(|one| move |_: Option<&Flask>| one.estimate.gating.clone());
    let wanted = [0, 1].map(|n| layout::Wanted {
        pattern: both[n].casting.pattern,
        body: both[n].estimate.body(),
        feeders: None,
        alloy: &both[n].casting.alloy,
        gating: &gating[n],
    });
    let less = apart - volume(&layout::choose(build, &wanted).fit)?;
    let charges: Vec<Figure<Mass>> =
        both.iter().map(|one| one.estimate.mould.charge.clone()).collect::<Option<_>>()?;
    let casting = both[0].casting;
    let named = casting.given.crucible.as_ref().map(|named| &named.value);
    let charge = Figure::sum("charge of both", &charges);
    let (crucible, _) = mould::crucible(build, &casting.alloy, named, charge.as_ref());
    (less > 1e-9 && matches!(crucible, CrucibleFit::Fits(_))).then_some(less)
}
