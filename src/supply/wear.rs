//! Crucibles wear out: heats so far and to come against the life that the trade tells.

use super::in_shop::InShop;
use super::line::{StockLine, Wear};
use crate::figure::{Amount, Because, Figure, Kind, Range};
use crate::manifest::{Id, Step};
use crate::model::{Build, Equipment};
use crate::plan::Schedule;

/// Every crucible of the shop that has a heat, so far or to come. One that was retired took its heats
/// with it: what is left of life is that of those that are there.
pub(super) fn wear(build: &Build, schedule: &Schedule, shop: &InShop<'_>) -> Vec<Wear> {
    let mut out = Vec::new();
    for (id, crucible) in &build.shop.crucibles {
        let last = build.history.gone(Equipment::Crucible, id).next_back().map(|gone| gone.at);
        let logged = build.history.heats.values();
        let logged = logged.filter(|h| h.poured.crucible.as_ref().is_some_and(|c| c.value == *id));
        let logged = logged.filter(|h| last.is_none_or(|last| h.at > last));
        let planned: Vec<_> = schedule.heats.iter().filter(|h| h.crucibles.contains(id)).collect();
        let mut alloys =
            planned.iter().map(|h| &h.alloy).chain(logged.clone().map(|h| &h.poured.alloy.value));
        let melted = || build.handbook.alloys.get(alloys.next()?).map(|alloy| alloy.family);
        let Some(family) = crucible.family.or_else(melted) else { continue };
        let Some(life) = build.handbook.crucible_life.get(&family) else { continue };
        let so_far = logged.count() as u32;
        let to_come = planned.len() as u32;
        if so_far + to_come == 0 {
            continue;
        }
        let new = spare(build, shop, id).map_or(0.0, |f| f.si());
        let left = (life.si() * (1.0 + new) - f64::from(so_far)).max(1.0) as usize;
        out.push(Wear {
            crucible: id.clone(),
            so_far,
            to_come,
            life: life.clone(),
            new: new as u32,
            spent: planned.get(left - 1).map(|h| h.lit.date()),
        });
    }
    out
}

/// Crucibles of a sort beside the one that is used: those that came, less those that took the place of
/// one that is gone.
fn spare(build: &Build, shop: &InShop<'_>, id: &Id) -> Option<Figure<Amount>> {
    let came = shop.came(id)?;
    let gone = build.history.retired(Equipment::Crucible, id);
    if gone == 0 {
        return Some(came);
    }
    let left = (came.si() - f64::from(gone)).max(0.0);
    let because = Because::Closed("come so far - retired", vec![came.node().clone()]);
    Some(Figure::new("spare", Range::exact(left), because).in_kind(Kind::Pieces))
}

/// A line for each crucible that does not last as long as the plan.
pub(super) fn worn_out(build: &Build, all: &[Wear], shop: &InShop<'_>) -> Vec<StockLine> {
    let line = |wear: &Wear| {
        let heats = f64::from(wear.so_far + wear.to_come);
        let pots = |life: f64| ((heats / life.max(1.0)).ceil() - 1.0).max(0.0);
        let life = wear.life.node().range();
        let range = Range { low: pots(life.high), likely: pots(life.likely), high: pots(life.low) };
        let says = "heats so far and to come / what one lasts, rounded up; less the first";
        let because = Because::Closed(says, vec![wear.life.node().clone()]);
        let in_all = Figure::<Amount>::new("needed in all", range, because).in_kind(Kind::Pieces);
        let came = spare(build, shop, &wear.crucible);
        let left = in_all.less("still needed", came.as_slice());
        let ordered = shop.ordered(&wear.crucible);
        let buy = left.less("to buy", ordered.as_slice());
        let title = format!("Crucible {}", wear.crucible).into();
        (left.si() > 0.0).then(|| StockLine {
            in_all: Some(in_all),
            left: Some(left),
            stock: came,
            ordered,
            buy: Some(buy),
            by: wear.spent,
            before: Some(Step::Pour),
            ..StockLine::new(wear.crucible.clone(), title)
        })
    };
    all.iter().filter_map(line).collect()
}
