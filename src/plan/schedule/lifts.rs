//! What the pots of a heat ask of those who lift them, and what is too heavy for the shop.

use super::record::{HeatLift, PlannedHeat, PlannedMould};
use crate::estimate::Carry;
use crate::figure::{Kind, show};
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::work::{InPot, Limits};

/// So many heats are named of a pot, the heaviest first.
const NAMED: usize = 4;

/// The lift of each pot whose mass is known, and how many people the pour takes.
pub(super) fn lifts(limits: &Limits, pots: &[InPot], names: &[Id]) -> (Vec<HeatLift>, Option<u32>) {
    let too_heavy = !limits.may_lift(pots);
    let lift = |(pot, name): (&InPot, &Id)| {
        let lift = limits.lift(pot.pot)?;
        let (load, index) = (lift.empty + pot.most, lift.index(pot.most));
        let crucible = name.clone();
        Some(HeatLift { crucible, load, index, carry: lift.carry(pot.most), too_heavy })
    };
    let lifts: Vec<HeatLift> = pots.iter().zip(names).filter_map(lift).collect();
    let people = (!lifts.is_empty() || pots.len() > 1).then(|| limits.people(pots));
    (lifts, people)
}

/// Heats that are too heavy for the people of the shop, pot by pot, and what would do.
pub(super) fn too_heavy(
    build: &Build,
    limits: &Limits,
    moulds: &[PlannedMould],
    heats: &[PlannedHeat],
) -> Vec<String> {
    let mass = |kg| show(Kind::Mass, kg, build.header.units);
    let heavy = |pot: &Id| -> Vec<(&PlannedHeat, &HeatLift)> {
        let lifts = heats.iter().flat_map(|h| h.lifts.iter().map(move |l| (h, l)));
        let mut heavy: Vec<_> = lifts.filter(|(_, l)| l.too_heavy && l.crucible == *pot).collect();
        heavy.sort_by(|a, b| b.1.load.total_cmp(&a.1.load));
        heavy
    };
    let words = |pot: &Id| {
        let heavy = heavy(pot);
        let most = heavy.first()?.1.load;
        let each = heavy.iter().take(NAMED).map(|(heat, lift)| {
            let parts = heat.moulds.iter().flat_map(|m| moulds[*m].lots());
            let parts: Vec<&str> = parts.map(|(part, _)| &**build.parts[part].id()).collect();
            let (name, parts) = (&heat.name, parts.join(" + "));
            format!("{name} {parts} {} (index {:.2})", mass(lift.load), lift.index)
        });
        let mut each: Vec<String> = each.collect();
        each.extend((heavy.len() > NAMED).then(|| format!("and {} more", heavy.len() - NAMED)));
        let by_team = heavy.iter().all(|(_, l)| matches!(l.carry, Carry::Hands(_)));
        let more = if by_team { ", more people in the shop at that time" } else { "" };
        let may = match limits.together() {
            0 | 1 => "one person alone may lift (index 1)",
            2 => "two together may lift (index 1.33)",
            _ => "three together may lift (index 1.5)",
        };
        Some(format!(
            "{pot}, its metal and tongs are more than {may}, even with one mould to a heat: {}. \
             Options: a lifting device marked for {} or more (`lifted-by: device` under \
             the crucible){more}, a lighter pot, or the casting split",
            each.join("; "),
            mass(most)
        ))
    };
    build.shop.crucibles.keys().filter_map(words).collect()
}
