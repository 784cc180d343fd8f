//! The metals at hand as what a charge of an alloy can be made of, and the pots that take it.

use super::charge::{Blend, Limit, Outcome, Source};
use super::flow::End;
use super::lighting::AtLighting;
use super::past::Past;
use super::taking::Taking;
use crate::estimate::{CrucibleFit, Estimates, crucible_for_all};
use crate::figure::{Figure, Mass, Quantity, Range};
use crate::handbook::{Alloy, Composition, Family};
use crate::manifest::{Id, MadeOf, Metal};
use crate::model::{Build, returns_of};
use crate::plan::Pour;
use crate::yaml::Refused;
use rust_decimal::prelude::ToPrimitive;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A blend with the names of what is in it.
#[derive(Debug, Clone)]
pub struct AtHand {
    /// The alloy.
    pub alloy: Arc<Alloy>,
    /// Its limits.
    pub composition: Arc<Composition>,
    /// The elements that have limits, in the order of the blend's; the balance is the last.
    pub elements: Vec<Id>,
    /// The metals, in the order of the blend's sources.
    pub metals: Vec<Id>,
    /// Elements in the metals for which the alloy has no limit.
    pub unlimited: Vec<Id>,
    /// Metals of another base that are returns, or hold elements for which the alloy has no limit:
    /// they stay out.
    pub left_out: Vec<Id>,
    /// Whether any metal is of the alloy: made of it, or taken from its stock.
    pub has_own: bool,
    /// Metals so rich in magnesium that they may burn as they are added.
    pub burning: Vec<Id>,
    /// Metals, returns left out, of which no price is known: they count as nothing.
    pub unpriced: Vec<Id>,
    /// The crucible for it.
    pub pot: CrucibleFit,
    /// Crucibles that take it, and how much of it at the safe end, kg; the smallest first.
    pub rooms: Vec<(String, f64)>,
    /// Which metal counts.
    pub count: Count,
    /// Metal of the alloy that there is when the heat is lit, where that is what counts.
    pub lighting: Option<AtLighting>,
    /// What the plan has short of the charge when the heat is lit, kg, where it has not enough.
    pub short: Option<f64>,
    /// What of that is on order, kg.
    pub on_order: f64,
    /// The question itself.
    pub blend: Blend,
}

/// Which metal counts as being there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum Count {
    /// What lies in the shop; for a heat of the plan, what the heats before it leave there.
    #[default]
    There,
    /// That, and what is on order.
    OnOrder,
    /// That, and whatever a supplier sells.
    Sold,
}

/// A charge that is asked for.
#[derive(Debug, Clone)]
pub struct Ask<'a> {
    /// Id of the alloy.
    pub alloy: &'a str,
    /// What goes into the crucible.
    pub mass: Mass,
    /// The heat of the plan that it is for: its own pots take it.
    pub pour: Option<&'a Pour>,
    /// Metal of its alloy that there is when it is lit.
    pub lighting: Option<AtLighting>,
    /// Every composition and recovery counts at its middle instead of its worse end.
    pub likely: bool,
    /// Which metal counts as being there.
    pub count: Count,
    /// Metals of which so much must go in, kg.
    pub use_up: BTreeMap<Id, f64>,
}

/// A metal with more magnesium than this may burn as it is added: from memory, castings of a few
/// per cent do not take fire as they are charged, hardeners of a tenth and more can.
const BURNS: f64 = 0.10;

/// Two masses that differ by less than this share are one: what a pot holds, and a charge that the
/// plan has put into it.
const SAME: f64 = 1e-9;

/// Sets up a charge of an alloy from the metals of the manifest.
///
/// # Errors
/// What is missing.
pub fn at_hand(build: &Build, estimates: &Estimates, ask: &Ask<'_>) -> Result<AtHand, Refused> {
    let book = &build.handbook;
    let alloy = book.alloys.get(ask.alloy).ok_or_else(|| {
        let says = format!("no alloy is called `{}`", ask.alloy);
        let known = book.alloys.keys().map(|k| &**k);
        Refused::unknown(says, ask.alloy, known, "`handbook` lists them")
    })?;
    let limits = alloy.composition.clone().ok_or_else(|| {
        format!("`{}` has no `composition:` with limits; give it one under `alloys:`", alloy.id)
    })?;
    if build.metals.is_empty() {
        return Err("the manifest lists no `metals:` to make a charge of; `new` shows how".into());
    }
    if let Some(metal) = ask.use_up.keys().find(|m| !build.metals.contains_key(*m)) {
        let says = format!("no metal is called `{metal}`");
        let known = build.metals.keys().map(|k| &**k);
        return Err(Refused::unknown(says, metal, known, "look at the ids under `metals:`"));
    }
    let made_of = build.metals.iter().map(|(id, metal)| Contents::of(build, id, metal));
    let made_of = made_of.collect::<Result<Vec<_>, _>>()?;
    let mut elements: Vec<Id> = limits.limits.iter().map(|(e, _)| e.clone()).collect();
    elements.push(limits.balance.clone());
    // After those with limits all others, and last what nobody tells of a metal.
    let mut all = elements.clone();
    for (element, _) in made_of.iter().flat_map(|m| &m.shares) {
        if !all.contains(element) {
            all.push(element.clone());
        }
    }
    let middle = |r: Range| if ask.likely { Range::exact(r.likely) } else { r };
    let recovery = all.iter().map(|e| middle(kept(build, alloy.family, e)));
    let recovery: Vec<Range> = recovery.chain([Range::exact(1.0)]).collect();
    let shelf = Shelf::new(build, estimates, ask);
    let (mut sources, mut unlimited, mut burning) = (Vec::new(), Vec::new(), Vec::new());
    let (mut left_out, mut unpriced) = (Vec::new(), Vec::new());
    for ((id, metal), made_of) in build.metals.iter().zip(&made_of) {
        if made_of.shares.iter().any(|(e, share)| **e == *"Mg" && share.high >= BURNS) {
            burning.push(id.clone());
        }
        let others = made_of.shares.iter().filter(|(e, r)| !elements.contains(e) && r.high > 0.0);
        let others: Vec<Id> = others.map(|(e, _)| e.clone()).collect();
        let strange =
            made_of.base() != Some(&limits.balance) && (metal.returns || !others.is_empty());
        match strange {
            true => left_out.push(id.clone()),
            false => unlimited.extend(others),
        }
        let price = shelf.price(id, metal);
        if price.is_none() && !metal.returns {
            unpriced.push(id.clone());
        }
        let share = |e: &Id| {
            made_of.shares.iter().find(|(of, _)| of == e).map_or(Range::exact(0.0), |s| s.1)
        };
        let content = all.iter().map(share).chain([made_of.rest]).map(middle);
        sources.push(Source {
            price: price.unwrap_or(0.0),
            at_least: ask.use_up.get(id).copied().unwrap_or(0.0),
            at_most: if strange { 0.0 } else { shelf.there(id, metal) },
            piece: metal.piece.as_ref().map(|p| p.si()),
            returns: metal.returns,
            content: content.collect(),
        });
    }
    unlimited.sort();
    unlimited.dedup();
    let mut bounds: Vec<(f64, f64)> = limits.limits.iter().map(|(_, r)| (r.low, r.high)).collect();
    bounds.push(limits.balance_limit.map_or((0.0, 1.0), |r| (r.low, r.high)));
    let mass = ask.mass.si();
    let blend = Blend {
        mass,
        at_most: f64::INFINITY,
        limits: bounds,
        recovery,
        most_returns: alloy.returns_share.as_ref().map_or(1.0, |s| s.si()),
        scale: build.shop.scale_shows(),
        sources,
    };
    let pot = crucible_for_all(build, alloy, &Figure::counted("charge", mass, "asked for"));
    let short = ask.lighting.map(|there| match ask.count {
        Count::There => there.lacks,
        _ => there.short(),
    });
    let on_order = ask.lighting.filter(|_| ask.count == Count::There);
    Ok(AtHand {
        short: short.filter(|kg| *kg > 0.0),
        on_order: on_order.map_or(0.0, |there| there.coming.min(there.lacks)),
        rooms: rooms(build, alloy, ask),
        alloy: alloy.clone(),
        composition: limits,
        elements,
        metals: build.metals.keys().cloned().collect(),
        unlimited,
        left_out,
        has_own: build.metals.iter().any(|(id, metal)| is_of(&alloy.id, id, metal)),
        burning,
        unpriced,
        pot,
        lighting: ask.lighting.filter(|_| ask.count != Count::Sold),
        count: ask.count,
        blend,
    })
}

impl AtHand {
    /// The cheapest charge for the smallest pot that takes it as it is laid in, whole pieces and all.
    /// Where no pot is known to take so much, none limits it.
    pub fn make_up(&mut self) -> Outcome {
        let mut first = None;
        for (pot, room) in self.rooms.clone() {
            self.blend.at_most = room;
            let outcome = self.blend.make_up();
            if matches!(outcome, Outcome::Possible(_)) {
                self.pot = CrucibleFit::Fits(pot.into());
                return outcome;
            }
            first.get_or_insert((outcome, room));
        }
        let Some((outcome, room)) = first else { return self.blend.make_up() };
        self.blend.at_most = room;
        outcome
    }

    /// Metals that would bring a charge nearer to a limit that it breaks, were there more of them.
    pub fn would_help(&self, limit: Limit) -> Vec<&Id> {
        let helps = |s: &Source| match limit {
            Limit::Least(e) => self.blend.below(s, e, self.blend.limits[e].0) > 0.0,
            Limit::Most(e) => self.blend.above(s, e, self.blend.limits[e].1) < 0.0,
            Limit::Returns => !s.returns,
            _ => false,
        };
        let metals = self.metals.iter().zip(&self.blend.sources);
        let metals = metals.filter(|(id, s)| helps(s) && !self.left_out.contains(id));
        metals.map(|(id, _)| id).collect()
    }
}

/// The pots that take a charge: those of its heat together, else each of the shop for its alloy that
/// holds so much, the smallest first.
fn rooms(build: &Build, alloy: &Alloy, ask: &Ask<'_>) -> Vec<(String, f64)> {
    let Some(density) = &alloy.liquid_density else { return Vec::new() };
    let crucibles = build.shop.crucibles.iter();
    let of_alloy = crucibles.filter(|(_, c)| c.family.is_none_or(|f| f == alloy.family));
    let mut all: Vec<(&Id, f64)> = of_alloy.map(|(id, c)| (id, c.takes(density).low())).collect();
    all.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mass = ask.mass.si();
    let Some(pour) = ask.pour.filter(|pour| !pour.crucibles.is_empty()) else {
        let holding = all.into_iter().filter(|(_, room)| *room >= mass * (1.0 - SAME));
        return holding.map(|(id, room)| (id.to_string(), room)).collect();
    };
    let names: Vec<&str> = pour.crucibles.iter().map(|id| &**id).collect();
    vec![(names.join(" and "), pour.room(build).unwrap_or(mass).max(mass))]
}

/// Whether a metal is made of this alloy, or taken from its stock.
fn is_of(alloy: &Id, id: &Id, metal: &Metal) -> bool {
    let stock = metal.stock.as_ref().unwrap_or(id);
    let made_of = matches!(&metal.made_of, MadeOf::Alloy(of) if of == alloy);
    made_of || stock == alloy || *stock == returns_of(alloy)
}

/// What lies in the shop, and what it was bought for.
struct Shelf<'a> {
    build: &'a Build,
    past: Past<'a>,
    count: Count,
    /// What there is of a stock when a heat of the plan is lit, ingot and returns.
    lighting: Option<[(Id, f64); 2]>,
}

impl<'a> Shelf<'a> {
    fn new(build: &'a Build, estimates: &'a Estimates, ask: &Ask<'_>) -> Self {
        let past = Past::new(Taking { build, estimates, end: End::Likely }, &[]);
        let lighting = ask.lighting.map(|there| {
            let coming = if ask.count == Count::OnOrder { there.coming } else { 0.0 };
            let alloy: Id = ask.alloy.into();
            [(returns_of(&alloy), there.returns), (alloy, there.ingot + coming)]
        });
        Self { build, past, count: ask.count, lighting }
    }

    /// How much of a metal there is, kg; without end where nobody ever told.
    fn there(&self, id: &Id, metal: &Metal) -> f64 {
        let stock = metal.stock.as_ref().unwrap_or(id);
        let packs = self.build.suppliers.values().flat_map(|s| &s.packs);
        if self.count == Count::Sold && packs.into_iter().any(|pack| pack.of == *stock) {
            return f64::INFINITY;
        }
        let Some(there) = self.past.there(stock) else { return f64::INFINITY };
        let mut lighting = self.lighting.iter().flatten();
        if let Some((_, there)) = lighting.find(|(of, _)| of == stock) {
            return *there;
        }
        let ordered = self.build.history.on_order.iter().filter(|o| o.of == *stock);
        let ordered: f64 = ordered.map(|o| o.mass).sum();
        there + if self.count == Count::There { 0.0 } else { ordered }
    }

    /// Price of 1 kg: what the manifest says, else what was paid last, else the cheapest pack.
    fn price(&self, id: &Id, metal: &Metal) -> Option<f64> {
        let stock = metal.stock.as_ref().unwrap_or(id);
        let each = |price: rust_decimal::Decimal, mass: f64| Some(price.to_f64()? / mass);
        let given = || each(metal.price?, metal.per.si());
        let paid = || {
            let last = self.build.history.receipts.iter().rev();
            last.filter(|r| r.of == *stock).find_map(|r| each(r.price?, r.mass))
        };
        let sold = || {
            let packs = self.build.suppliers.values().flat_map(|s| &s.packs);
            let priced = packs.filter(|p| p.of == *stock);
            priced.filter_map(|p| each(p.price?, p.size.si())).min_by(f64::total_cmp)
        };
        given().or_else(paid).or_else(sold)
    }
}

/// Share of an element that stays in the melt.
fn kept(build: &Build, family: Family, element: &Id) -> Range {
    let kept = build.handbook.recovery.get(&(family, element.clone()));
    kept.map_or(Range::exact(1.0), |f| f.node().range())
}

/// Every element of a metal.
struct Contents {
    /// What makes up the rest is among them.
    shares: Vec<(Id, Range)>,
    /// What nobody tells.
    rest: Range,
}

impl Contents {
    fn of(build: &Build, id: &Id, metal: &Metal) -> Result<Self, Refused> {
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
        // Of a base metal with a share of its own, what is missing to the whole is not told.
        if shares.iter().any(|(e, _)| e == balance) {
            return Ok(Self { shares, rest });
        }
        shares.push((balance.clone(), rest));
        Ok(Self { shares, rest: Range::exact(0.0) })
    }

    /// The element of which it has most.
    fn base(&self) -> Option<&Id> {
        let most = self.shares.iter().max_by(|a, b| a.1.likely.total_cmp(&b.1.likely));
        most.map(|(element, _)| element)
    }
}
