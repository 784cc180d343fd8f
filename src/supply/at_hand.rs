//! The metals at hand as what a charge of an alloy can be made of.

use super::charge::{Blend, Source};
use crate::estimate::{CrucibleFit, crucible_for_all};
use crate::figure::{Figure, Mass, Quantity, Range};
use crate::handbook::{Alloy, Composition, Family};
use crate::manifest::{Id, MadeOf, Metal};
use crate::model::Build;
use rust_decimal::prelude::ToPrimitive;
use std::sync::Arc;

/// A blend with the names of what is in it.
#[derive(Debug, Clone)]
pub struct AtHand {
    /// The alloy.
    pub alloy: Arc<Alloy>,
    /// Its limits.
    pub composition: Arc<Composition>,
    /// The elements, in the order of the blend's limits; the balance is the last.
    pub elements: Vec<Id>,
    /// The metals, in the order of the blend's sources.
    pub metals: Vec<Id>,
    /// Elements in the metals for which the alloy has no limit.
    pub unlimited: Vec<Id>,
    /// Metals of another base that hold elements for which the alloy has no limit: they stay out.
    pub left_out: Vec<Id>,
    /// Metals so rich in magnesium that they may burn as they are added.
    pub burning: Vec<Id>,
    /// The crucible for it.
    pub pot: CrucibleFit,
    /// The question itself.
    pub blend: Blend,
}

/// A metal with more magnesium than this may burn as it is added: from memory, castings of a few
/// per cent do not take fire as they are charged, hardeners of a tenth and more can.
const BURNS: f64 = 0.10;

/// Sets up a charge of so much of an alloy from the metals of the manifest. Where `likely`, every
/// composition and recovery counts at its middle instead of its worse end.
///
/// # Errors
/// What is missing, in words.
pub fn at_hand(build: &Build, alloy: &str, mass: Mass, likely: bool) -> Result<AtHand, String> {
    let book = &build.handbook;
    let alloy = book.alloys.get(alloy).ok_or_else(|| {
        match crate::yaml::nearest(alloy, book.alloys.keys().map(|k| &**k)) {
            Some(near) => format!("no alloy is called `{alloy}`; did you mean `{near}`?"),
            None => format!("no alloy is called `{alloy}`; `handbook` lists them"),
        }
    })?;
    let limits = alloy.composition.clone().ok_or_else(|| {
        format!("`{}` has no `composition:` with limits; give it one under `alloys:`", alloy.id)
    })?;
    if build.metals.is_empty() {
        return Err("the manifest lists no `metals:` to make a charge of; `new` shows how".into());
    }
    let mut elements: Vec<Id> = limits.limits.iter().map(|(e, _)| e.clone()).collect();
    elements.push(limits.balance.clone());
    let kept = |element: &Id| kept(build, alloy.family, element, likely);
    let mut sources = Vec::new();
    let mut unlimited = Vec::new();
    let mut burning = Vec::new();
    let mut left_out = Vec::new();
    for (id, metal) in &build.metals {
        let made_of = made_of(build, id, metal)?;
        if made_of.iter().any(|(e, share)| **e == *"Mg" && share.high >= BURNS) {
            burning.push(id.clone());
        }
        let middle = |r: Range| if likely { Range::exact(r.likely) } else { r };
        let content = elements.iter().map(|element| {
            let share = made_of.iter().find(|(e, _)| e == element);
            let (share, kept) =
                (share.map_or(Range::exact(0.0), |(_, r)| middle(*r)), kept(element));
            Range {
                low: share.low * kept.low,
                likely: share.likely * kept.likely,
                high: share.high * kept.high,
            }
        });
        let others = made_of.iter().filter(|(e, r)| !elements.contains(e) && r.high > 0.0);
        let others: Vec<Id> = others.map(|(e, _)| e.clone()).collect();
        let strange = !others.is_empty() && base(&made_of) != Some(&limits.balance);
        match strange {
            true => left_out.push(id.clone()),
            false => unlimited.extend(others),
        }
        sources.push(Source {
            price: metal.price.to_f64().unwrap_or(0.0) / metal.per.si(),
            at_least: 0.0,
            at_most: match strange {
                true => 0.0,
                false => metal.amount.as_ref().map_or(f64::INFINITY, |a| a.si()),
            },
            piece: metal.piece.as_ref().map(|p| p.si()),
            returns: metal.returns,
            kept: made_of.iter().map(|(e, r)| r.likely * kept(e).likely).sum(),
            content: content.collect(),
        });
    }
    unlimited.sort();
    unlimited.dedup();
    let mut bounds: Vec<(f64, f64)> = limits.limits.iter().map(|(_, r)| (r.low, r.high)).collect();
    bounds.push(limits.balance_limit.map_or((0.0, 1.0), |r| (r.low, r.high)));
    let blend = Blend {
        mass: mass.si(),
        limits: bounds,
        most_returns: alloy.returns_share.as_ref().map_or(1.0, |s| s.si()),
        sources,
    };
    let metals = build.metals.keys().cloned().collect();
    let composition = limits;
    let charge = Figure::counted("charge", mass.si(), "asked for");
    let pot = crucible_for_all(build, alloy, &charge);
    let alloy = alloy.clone();
    Ok(AtHand { alloy, composition, elements, metals, unlimited, left_out, burning, pot, blend })
}

/// The element of which a metal has most.
fn base(made_of: &[(Id, Range)]) -> Option<&Id> {
    let most = made_of.iter().max_by(|a, b| a.1.likely.total_cmp(&b.1.likely));
    most.map(|(element, _)| element)
}

/// Share of an element that stays in the melt.
fn kept(build: &Build, family: Family, element: &Id, likely: bool) -> Range {
    let kept = build.handbook.recovery.get(&(family, element.clone()));
    let range = kept.map_or(Range::exact(1.0), |f| f.node().range());
    if likely { Range::exact(range.likely) } else { range }
}

/// Every element of a metal, what makes up the rest included.
fn made_of(build: &Build, id: &Id, metal: &Metal) -> Result<Vec<(Id, Range)>, String> {
    let (mut shares, balance) = match &metal.made_of {
        MadeOf::Shares(shares, balance) => (shares.clone(), balance),
        MadeOf::Alloy(alloy) => {
            let known = build.handbook.alloys.get(alloy).and_then(|a| a.composition.as_ref());
            let known = known.ok_or_else(|| {
                format!("metal `{id}`: `{alloy}` has no composition; give the metal its own")
            })?;
            (known.limits.clone(), &known.balance)
        }
    };
    let sum = |end: fn(&Range) -> f64| shares.iter().map(|(_, r)| end(r)).sum::<f64>();
    let rest = Range {
        low: (1.0 - sum(|r| r.high)).max(0.0),
        likely: (1.0 - sum(|r| r.likely)).max(0.0),
        high: (1.0 - sum(|r| r.low)).max(0.0),
    };
    match shares.iter_mut().find(|(e, _)| e == balance) {
        // A base metal with a share of its own: what is missing to the whole is not told.
        Some(_) => {}
        None => shares.push((balance.clone(), rest)),
    }
    Ok(shares)
}
