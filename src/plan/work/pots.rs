//! Which crucibles may melt for a mould, and for several at once.

use super::items::{InPot, Mould, Work};
use super::limits::Limits;
use crate::model::{Build, Casting};

/// Where the least crucible that holds a charge is in another heat, a larger one is taken only if
/// the charge is this share of what it takes: little metal in a large pot chills
/// soon, and the pot must be heated too. Common practice, no source; the share from memory.
const FAIR_FILL: f64 = 0.25;

/// Crucibles that may melt the alloy of a casting, and what they take of it beside their heel, kg.
pub(crate) fn may_melt(build: &Build, casting: &Casting) -> Vec<(usize, f64)> {
    let Some(density) = casting.alloy.liquid_density.as_ref() else { return Vec::new() };
    let named = casting.given.crucible.as_ref();
    let pots = build.shop.crucibles.iter().enumerate().filter(|(_, (id, c))| {
        c.family.is_none_or(|f| f == casting.alloy.family) && named.is_none_or(|n| n.value == **id)
    });
    let mut pots: Vec<(usize, f64)> =
        pots.map(|(i, (_, c))| (i, c.room(density))).filter(|(_, room)| *room > 0.0).collect();
    pots.sort_by(|a, b| a.1.total_cmp(&b.1));
    pots
}

/// What is in each of the pots that moulds are melted for in: what the moulds may take, and no more
/// than the pots hold; two are filled as they hold.
pub fn in_pots(moulds: &[&Mould], pots: &[usize]) -> Vec<InPot> {
    let [likely, most] = [|m: &&Mould| m.charge, |m: &&Mould| m.charge_most]
        .map(|of| moulds.iter().map(of).sum::<f64>());
    let holds = |pot: &usize| {
        let of = |m: &&Mould| m.pots.iter().find(|p| p.0 == *pot).map(|p| p.1);
        moulds.iter().find_map(of).unwrap_or(1.0)
    };
    let all: f64 = pots.iter().map(holds).sum();
    let most = most.min(all.max(likely));
    pots.iter().map(|pot| InPot { pot: *pot, most: most * holds(pot) / all }).collect()
}

impl Work {
    /// The crucibles that may melt for these moulds of one alloy, least first: each that holds
    /// them all, that the people may lift so, and that is filled to a fair share by them, the least
    /// of all in any case; or each two that together hold a single mould, where the shop pours from
    /// two and no one pot will do. A single mould that makes every pot too heavy is melted in what
    /// holds it all the same, and that is told.
    pub fn pots_for(&self, moulds: &[&Mould], limits: &Limits) -> Vec<Vec<usize>> {
        const SLACK: f64 = 1e-9;
        let from_two = limits.from_two && moulds.len() == 1;
        let lifted = |pots: &[usize]| limits.may_lift(&in_pots(moulds, pots));
        let Some(first) = moulds.first() else { return Vec::new() };
        let charge: f64 = moulds.iter().map(|m| m.charge).sum();
        let may = |pot: usize| moulds.iter().all(|m| m.pots.iter().any(|p| p.0 == pot));
        let pots: Vec<(usize, f64)> = first.pots.iter().copied().filter(|p| may(p.0)).collect();
        let mut holding: Vec<(f64, Vec<usize>)> = pots
            .iter()
            .filter(|p| p.1 + SLACK >= charge)
            .map(|(pot, holds)| (*holds, vec![*pot]))
            .collect();
        let mut enough: Vec<_> = holding.iter().filter(|e| lifted(&e.1)).cloned().collect();
        if enough.is_empty() && from_two {
            let pairs =
                pots.iter().enumerate().flat_map(|(i, a)| pots[..i].iter().map(move |b| (b, a)));
            let pairs = pairs.map(|(a, b)| (a.1 + b.1, vec![a.0, b.0]));
            let mut pairs: Vec<_> = pairs.filter(|(holds, _)| holds + SLACK >= charge).collect();
            pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
            enough.extend(pairs.iter().filter(|e| lifted(&e.1)).cloned());
            if holding.is_empty() {
                holding = pairs;
            }
        }
        if enough.is_empty() && moulds.len() == 1 {
            enough = holding;
        }
        let least = enough.first().map_or(0.0, |e| e.0);
        let fair = |holds: f64| holds <= least + SLACK || charge >= FAIR_FILL * holds;
        enough.into_iter().filter(|e| fair(e.0)).map(|(_, pots)| pots).collect()
    }
}
