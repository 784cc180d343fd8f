//! The cheapest packs that cover what is needed, over suppliers that charge for delivery.
//!
//! Of all ways to cover the needs the cheapest is taken; of those the one that leaves least over;
//! of those the one with the fewest packs. Money is reckoned in whole smallest units of the
//! currency and mass in whole milligrams, so sums are exact.

use super::cover::Choice;
use super::market::{Market, Offer, Open, Terms};
use super::money;
use super::sellers::{Needed, in_time};
use crate::manifest::{Id, Supplier};
use chrono::NaiveDate;
use indexmap::IndexMap;
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use std::collections::BTreeMap;

/// How much of a stock is to be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// Name of the stock.
    pub of: Id,
    /// How much, kg; pieces of what is counted.
    pub mass: f64,
    /// How much that may come to, kg or pieces: at the high end of every doubt.
    pub most: f64,
    /// The day it must be there.
    pub by: Option<NaiveDate>,
}

/// A bought part that is to be ordered, or what a part is made of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartNeed {
    /// Id of the part.
    pub id: Id,
    /// What is ordered.
    pub name: Id,
    /// How many.
    pub quantity: u32,
    /// Who sells it: the id of a supplier, else as the manifest names him; none where it does not.
    pub from: Option<Id>,
    /// Price of all, if it is known.
    pub price: Option<Decimal>,
    /// The day it must be there, where the plan tells.
    pub by: Option<NaiveDate>,
    /// The last day to order it.
    pub order_by: Option<NaiveDate>,
}

/// Some packs of one kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OrderLine {
    /// Index of the pack with its supplier.
    pub pack: usize,
    /// How many.
    pub count: u32,
    /// Price of one at this count, if it is known.
    pub each: Option<Decimal>,
    /// Price of all, if it is known.
    pub total: Option<Decimal>,
}

/// What is ordered from one supplier at a time.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Order {
    /// Id of the supplier.
    pub supplier: Id,
    /// The lines, in the order of the manifest.
    pub lines: Vec<OrderLine>,
    /// Bought parts, and what parts are made of.
    pub parts: Vec<PartNeed>,
    /// Charge for the delivery, with carriage by mass; nothing where the order is carried free.
    pub charge: Decimal,
    /// Tax on lines, parts and delivery.
    pub tax: Decimal,
    /// Lines, parts, delivery and tax together.
    pub total: Decimal,
    /// The last day to order, where a need has a day.
    pub order_by: Option<NaiveDate>,
    /// The least that the supplier takes an order for, where this one is below it.
    pub below: Option<Decimal>,
}

impl Order {
    /// Lines of which no price is known: they are not in the total.
    pub fn unpriced(&self) -> usize {
        let lines = self.lines.iter().filter(|l| l.total.is_none()).count();
        lines + self.parts.iter().filter(|p| p.price.is_none()).count()
    }

    /// Days by which the last day to order is over on `today`; none where it is not.
    pub fn days_late(&self, today: NaiveDate) -> Option<i64> {
        let late = (today - self.order_by?).num_days();
        (late > 0).then_some(late)
    }
}

/// What a need comes to.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover {
    /// The need.
    pub need: Need,
    /// Bought for it, kg or pieces.
    pub bought: f64,
    /// More than needed, kg or pieces.
    pub left_over: f64,
    /// What nobody has to sell, kg or pieces.
    pub missing: f64,
}

/// What is bought at one time.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Purchase {
    /// By supplier, in the order of the manifest; then those who sell parts alone.
    pub orders: Vec<Order>,
    /// The needs, in the order they were given.
    pub covers: Vec<Cover>,
    /// Parts of which nobody is named who sells them.
    pub loose: Vec<PartNeed>,
    /// All orders together.
    pub total: Decimal,
    /// How far below `total` the cheapest way could lie at most, as a share of it; 0 where this is
    /// proven to be the cheapest.
    pub gap: f64,
    /// What is paid to have it in time; none where nothing cheaper comes too late.
    pub haste: Option<Haste>,
}

/// What is paid beyond a cheaper way that comes too late.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub struct Haste {
    /// How much more this purchase costs.
    pub more: Decimal,
    /// What would come too late that way.
    pub slow: Vec<Slow>,
}

/// A stock of somebody from whom it would come too late.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Slow {
    /// Name of the stock.
    pub of: Id,
    /// Id of the supplier.
    pub from: Id,
    /// The first day on which it could be there; none where nobody knows.
    pub soonest: Option<NaiveDate>,
}

/// Kilograms as whole milligrams, so that 25 lb needed is covered by 25 lb sold.
fn milligrams(mass: f64) -> i64 {
    (mass * 1e6).round() as i64
}

/// Price of one pack when `count` are taken.
fn price_at(pack: &crate::manifest::Pack, count: u32) -> Option<Decimal> {
    let reached = pack.breaks.iter().rev().find(|(from, _)| *from <= count);
    reached.map(|(_, price)| *price).or(pack.price)
}

/// Buys what is needed in one go, with the parts that come from the same suppliers, ordered `today`.
/// Packs of which earlier orders took some are given in `taken`, by supplier and index of the pack. A
/// manifest has no more suppliers than are asked.
///
/// What is needed on a day is bought from those who are known to bring it by then; what a cheaper way
/// that comes too late would save is told. Where no purchase keeps to every supplier's least order,
/// those that are below it are told.
pub fn buy(
    suppliers: &IndexMap<Id, Supplier>,
    needs: &[Need],
    parts: &[PartNeed],
    taken: &BTreeMap<(usize, usize), u32>,
    today: NaiveDate,
) -> Purchase {
    let fine = |s: &Supplier| !s.tax.is_zero() || !s.by_mass.is_zero();
    let scale = suppliers.values().flat_map(scales).max().unwrap_or(0).max(2);
    let scale = if suppliers.values().any(fine) { WITH_TAX } else { scale };
    let unit =
        |price: Decimal| (price * Decimal::from(10_i64.pow(scale))).round().to_i64().unwrap_or(0);
    let all = offers(suppliers, needs, taken, &unit);
    let needed: Vec<Needed> = needs.iter().map(|n| (n.by, milligrams(n.mass))).collect();
    let soon = in_time(suppliers, &needed, today, &all);
    let found = |offers: &[Offer]| cheapest(suppliers, (needs, parts), offers, &unit);
    let in_time = |o: &Offer| soon[o.need][o.supplier];
    if all.iter().all(|(_, offer)| in_time(offer)) {
        return found(&with_a_price(all, needs));
    }
    let (now, late): (Vec<_>, Vec<_>) = all.into_iter().partition(|(_, offer)| in_time(offer));
    let bought = found(&with_a_price(now.clone(), needs));
    let anyhow = found(&with_a_price(now.into_iter().chain(late).collect(), needs));
    let more = bought.total - anyhow.total;
    let slow = || {
        let lines = anyhow.orders.iter().flat_map(|o| o.lines.iter().map(move |l| (o, l)));
        let slow = lines.filter_map(|(order, line)| {
            let (s, _, seller) = suppliers.get_full(&order.supplier)?;
            let of = &seller.packs[line.pack].of;
            let need = needs.iter().position(|n| n.of == *of).filter(|n| !soon[*n][s])?;
            let (of, from) = (needs[need].of.clone(), order.supplier.clone());
            Some(Slow { of, from, soonest: seller.soonest(today) })
        });
        let mut all: Vec<Slow> = slow.collect();
        all.dedup();
        all
    };
    let haste = (more > Decimal::ZERO).then(|| Haste { more, slow: slow() });
    Purchase { haste, ..bought }
}

/// The cheapest way to cover the needs with these offers.
fn cheapest(
    suppliers: &IndexMap<Id, Supplier>,
    (needs, parts): (&[Need], &[PartNeed]),
    offers: &[Offer],
    unit: &impl Fn(Decimal) -> i64,
) -> Purchase {
    let targets = needs.iter().enumerate().map(|(n, need)| {
        let had = offers.iter().filter(|o| o.need == n);
        let had: i64 = had.map(|o| o.free.size.saturating_mul(i64::from(o.free.most))).sum();
        milligrams(need.mass).min(had)
    });
    let targets: Vec<i64> = targets.collect();
    let terms = |keeps: bool| suppliers.iter().map(move |(id, s)| terms(id, s, parts, keeps, unit));
    let cheapest =
        |keeps| Market::new(offers, &terms(keeps).collect::<Vec<_>>(), &targets).cheapest();
    let found = cheapest(true).or_else(|| cheapest(false));
    let (counts, gap) = found.unwrap_or_else(|| (vec![0; offers.len()], 0.0));
    purchase(suppliers, (needs, parts), offers, &counts, gap)
}

/// Digits behind the point of what a pack costs with its carriage and tax.
const WITH_TAX: u32 = 6;

/// With the supplier's tax.
fn with_tax(supplier: &Supplier, price: Decimal) -> Decimal {
    price * (Decimal::ONE + supplier.tax)
}

/// What carriage by mass comes to.
fn carriage(supplier: &Supplier, mass: f64) -> Decimal {
    supplier.by_mass * Decimal::from_f64(mass).unwrap_or_default()
}

/// On what a supplier delivers; its least order is left out where it is not to be kept to.
fn terms(
    id: &Id,
    supplier: &Supplier,
    parts: &[PartNeed],
    keeps: bool,
    unit: &impl Fn(Decimal) -> i64,
) -> Terms {
    let own = || parts.iter().filter(|p| p.from.as_ref() == Some(id));
    let minimum = supplier.minimum.filter(|_| keeps);
    Terms {
        charge: unit(with_tax(supplier, supplier.charge)),
        minimum: minimum.map_or(0, unit),
        free_from: supplier.free_from.map(unit),
        parts: own().next().map(|_| own().filter_map(|p| p.price).map(unit).sum()),
    }
}

fn scales(supplier: &Supplier) -> impl Iterator<Item = u32> + '_ {
    let prices = supplier
        .packs
        .iter()
        .flat_map(|p| p.price.iter().copied().chain(p.breaks.iter().map(|(_, price)| *price)));
    let terms = [supplier.charge].into_iter().chain(supplier.minimum).chain(supplier.free_from);
    prices.chain(terms).map(|p| p.normalize().scale())
}

/// The packs worth a look, each with whether it has a price.
fn offers(
    suppliers: &IndexMap<Id, Supplier>,
    needs: &[Need],
    taken: &BTreeMap<(usize, usize), u32>,
    unit: &impl Fn(Decimal) -> i64,
) -> Vec<(bool, Offer)> {
    let mut out: Vec<(bool, Offer)> = Vec::new();
    for (supplier, sells) in suppliers.values().take(Open::BITS as usize).enumerate() {
        let worth =
            unit(sells.minimum.into_iter().chain(sells.free_from).max().unwrap_or_default());
        for (index, pack) in sells.packs.iter().enumerate() {
            let Some(need) = needs.iter().position(|n| n.of == pack.of) else { continue };
            let size = milligrams(pack.size.si()).max(1);
            let enough = packs_for(milligrams(needs[need].mass).max(0), size);
            let gone = taken.get(&(supplier, index)).copied().unwrap_or(0);
            let left = pack.at_most.map_or(u32::MAX, |n| n.saturating_sub(gone));
            let prices = |of: &dyn Fn(Decimal) -> Decimal| -> Vec<(u32, i64)> {
                let breaks = pack.breaks.iter().map(|(from, each)| (*from, unit(of(*each))));
                let first = (1, unit(of(pack.price.unwrap_or_default())));
                std::iter::once(first).chain(breaks).collect()
            };
            let net = prices(&|price| price);
            // Beyond what is enough, the last break, and what makes the order large enough, one pack
            // fewer costs no more.
            let last_break = pack.breaks.last().map_or(0, |(from, _)| *from);
            let cheapest = net.iter().map(|p| p.1).min().unwrap_or(0);
            let large = if cheapest > 0 { packs_for(worth, cheapest) } else { 0 };
            let most = if enough == 0 { 0 } else { enough.max(last_break).max(large).min(left) };
            let carried = carriage(sells, pack.weighs());
            let choice = |carried: Decimal| Choice {
                size,
                prices: prices(&|price| with_tax(sells, price + carried)),
                most,
            };
            if most > 0 {
                let (paid, free) = (choice(carried), choice(Decimal::ZERO));
                out.push((pack.price.is_some(), Offer { supplier, index, need, paid, free, net }));
            }
        }
    }
    out
}

/// Where some packs of a stock have a price and are enough, those without one are left aside: nothing
/// tells what they would cost.
fn with_a_price(mut out: Vec<(bool, Offer)>, needs: &[Need]) -> Vec<Offer> {
    let enough: Vec<bool> = (0..needs.len())
        .map(|n| {
            let had = out.iter().filter(|(priced, o)| *priced && o.need == n);
            let had = had.map(|(_, o)| o.free.size.saturating_mul(i64::from(o.free.most)));
            had.fold(0_i64, i64::saturating_add) >= milligrams(needs[n].mass)
        })
        .collect();
    out.retain(|(priced, o)| *priced || !enough[o.need]);
    out.into_iter().map(|(_, offer)| offer).collect()
}

/// Packs of this size that hold a mass.
fn packs_for(mass: i64, size: i64) -> u32 {
    u32::try_from((mass + size - 1) / size).unwrap_or(u32::MAX).min(1_000_000)
}

fn purchase(
    suppliers: &IndexMap<Id, Supplier>,
    (needs, parts): (&[Need], &[PartNeed]),
    offers: &[Offer],
    counts: &[u32],
    gap: f64,
) -> Purchase {
    let mut orders = Vec::new();
    for (s, (id, supplier)) in suppliers.iter().enumerate() {
        let mut by: Option<NaiveDate> = None;
        let mut lines = Vec::new();
        for (offer, &count) in offers.iter().zip(counts).filter(|(o, n)| o.supplier == s && **n > 0)
        {
            let each = price_at(&supplier.packs[offer.index], count);
            let total = each.map(|e| money::rounded(e * Decimal::from(count)));
            lines.push(OrderLine { pack: offer.index, count, each, total });
            by = by.into_iter().chain(needs[offer.need].by).min();
        }
        let order = Order::empty(id.clone(), of_supplier(parts, Some(id)));
        let order_by = by.and_then(|day| supplier.order_by(day));
        let order =
            Order { order_by: order_by.into_iter().chain(order.order_by).min(), lines, ..order };
        orders.extend(
            (!order.lines.is_empty() || !order.parts.is_empty()).then(|| order.priced(supplier)),
        );
    }
    for seller in sellers(suppliers, parts) {
        let order = Order::empty(seller.clone(), of_supplier(parts, Some(&seller)));
        orders.push(order.priced(&Supplier::default()));
    }
    let covers = needs.iter().enumerate().map(|(n, need)| {
        let of_need = offers.iter().zip(counts).filter(|(o, _)| o.need == n);
        let bought: i64 = of_need.map(|(o, count)| o.free.size * i64::from(*count)).sum();
        let short = milligrams(need.mass) - bought;
        Cover {
            need: need.clone(),
            bought: bought as f64 / 1e6,
            left_over: (-short).max(0) as f64 / 1e6,
            missing: short.max(0) as f64 / 1e6,
        }
    });
    Purchase {
        covers: covers.collect(),
        total: orders.iter().map(|o| o.total).sum(),
        orders,
        loose: of_supplier(parts, None),
        gap,
        haste: None,
    }
}

fn of_supplier(parts: &[PartNeed], seller: Option<&Id>) -> Vec<PartNeed> {
    parts.iter().filter(|p| p.from.as_ref() == seller).cloned().collect()
}

/// Who sells a part and is not among the suppliers of the manifest, each once.
fn sellers(suppliers: &IndexMap<Id, Supplier>, parts: &[PartNeed]) -> Vec<Id> {
    let mut out: Vec<Id> = Vec::new();
    for from in parts.iter().filter_map(|p| p.from.as_ref()) {
        if !suppliers.contains_key(from) && !out.contains(from) {
            out.push(from.clone());
        }
    }
    out
}

impl Order {
    /// Parts alone, with the day by which the first of them is to be ordered.
    fn empty(supplier: Id, parts: Vec<PartNeed>) -> Self {
        let order_by = parts.iter().filter_map(|p| p.order_by).min();
        let nothing = Decimal::ZERO;
        Self {
            supplier,
            lines: Vec::new(),
            parts,
            charge: nothing,
            tax: nothing,
            total: nothing,
            order_by,
            below: None,
        }
    }

    /// With carriage, tax and total on the supplier's terms.
    fn priced(self, supplier: &Supplier) -> Self {
        let masses =
            self.lines.iter().map(|l| supplier.packs[l.pack].weighs() * f64::from(l.count));
        let goods = self.goods();
        let free = supplier.free_from.is_some_and(|from| goods >= from);
        let charge = match free {
            true => Decimal::ZERO,
            false => money::rounded(supplier.charge + carriage(supplier, masses.sum())),
        };
        let tax = money::rounded((goods + charge) * supplier.tax);
        let below = supplier.minimum.filter(|least| goods < *least);
        Self { charge, tax, total: goods + charge + tax, below, ..self }
    }

    /// Price of all that is ordered, as far as it is known.
    pub fn goods(&self) -> Decimal {
        let lines = self.lines.iter().filter_map(|l| l.total);
        lines.chain(self.parts.iter().filter_map(|p| p.price)).sum()
    }
}
