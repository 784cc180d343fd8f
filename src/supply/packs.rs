//! The cheapest packs that cover what is needed, over suppliers that charge for delivery.
//!
//! Of all ways to cover the needs the cheapest is taken; of those the one that leaves least over;
//! of those the one with the fewest packs. Money is reckoned in whole smallest units of the
//! currency and mass in whole milligrams, so sums are exact.

use super::cover::{Best, Choice, cover};
use super::money;
use crate::manifest::{Id, Supplier};
use chrono::NaiveDate;
use indexmap::IndexMap;
use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use std::collections::{BTreeMap, HashMap};

/// How much of a stock is to be bought.
#[derive(Debug, Clone, PartialEq)]
pub struct Need {
    /// Name of the stock.
    pub of: Id,
    /// How much, kg.
    pub mass: f64,
    /// The day it must be there.
    pub by: Option<NaiveDate>,
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
pub struct Order {
    /// Id of the supplier.
    pub supplier: Id,
    /// The lines, in the order of the manifest.
    pub lines: Vec<OrderLine>,
    /// Charge for the delivery, with carriage by mass.
    pub charge: Decimal,
    /// Tax on lines and delivery.
    pub tax: Decimal,
    /// Lines, delivery and tax together.
    pub total: Decimal,
    /// The last day to order, where a need has a day.
    pub order_by: Option<NaiveDate>,
}

impl Order {
    /// Lines of which no price is known: they are not in the total.
    pub fn unpriced(&self) -> usize {
        self.lines.iter().filter(|l| l.total.is_none()).count()
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
    /// Bought for it, kg.
    pub bought: f64,
    /// More than needed, kg.
    pub left_over: f64,
    /// What nobody has to sell, kg.
    pub missing: f64,
}

/// What is bought at one time.
#[derive(Debug, Clone, PartialEq)]
pub struct Purchase {
    /// By supplier, in the order of the manifest.
    pub orders: Vec<Order>,
    /// The needs, in the order they were given.
    pub covers: Vec<Cover>,
    /// All orders together.
    pub total: Decimal,
    /// How far below `total` the cheapest way could lie at most, as a share of it; 0 where this is
    /// proven to be the cheapest.
    pub gap: f64,
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

/// A pack that could be bought.
struct Offer {
    supplier: usize,
    index: usize,
    need: usize,
    choice: Choice,
}

/// Buys what is needed in one go. Packs of which earlier orders took some are given in `taken`,
/// by supplier and index of the pack. A manifest has no more suppliers than are asked.
pub fn buy(
    suppliers: &IndexMap<Id, Supplier>,
    needs: &[Need],
    taken: &BTreeMap<(usize, usize), u32>,
) -> Purchase {
    let taxed = suppliers.values().any(|s| !s.tax.is_zero() || !s.by_mass.is_zero());
    let scale = suppliers.values().flat_map(scales).max().unwrap_or(0).max(2);
    let scale = if taxed { WITH_TAX } else { scale };
    let unit =
        |price: Decimal| (price * Decimal::from(10_i64.pow(scale))).round().to_i64().unwrap_or(0);
    let offers = offers(suppliers, needs, taken, &unit);
    let charges: Vec<i64> = suppliers.values().map(|s| unit(with_tax(s, s.charge))).collect();
    let targets = needs.iter().enumerate().map(|(n, need)| {
        let had = offers.iter().filter(|o| o.need == n);
        let had: i64 = had.map(|o| o.choice.size * i64::from(o.choice.most)).sum();
        milligrams(need.mass).min(had)
    });
    let mut market = Market {
        offers: &offers,
        charges: &charges,
        targets: targets.collect(),
        found: HashMap::new(),
    };
    let (counts, gap) = market.cheapest();
    purchase(suppliers, needs, &offers, &counts, gap)
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

/// Suppliers that deliver, one bit each.
type Open = u128;

/// Choices of suppliers that are looked at; what is left then bounds the answer.
const MOST_LOOKS: usize = 4_000;

/// What is sold and what is wanted. Once it is settled which suppliers deliver, each stock is
/// covered on its own.
struct Market<'a> {
    offers: &'a [Offer],
    charges: &'a [i64],
    targets: Vec<i64>,
    found: HashMap<(usize, Open), Option<Best>>,
}

/// Covers of all needs from some suppliers.
#[derive(Clone)]
struct Covers {
    counts: Vec<u32>,
    /// Cost, mass in mg and packs: less is better, in this order.
    worth: (i64, i64, u32),
    /// No cover from these suppliers costs less.
    floor: i64,
    used: Open,
}

impl Market<'_> {
    /// Covers every need from the suppliers that are open, deliveries not counted.
    fn covers(&mut self, open: Open) -> Option<Covers> {
        let mut all =
            Covers { counts: vec![0; self.offers.len()], worth: (0, 0, 0), floor: 0, used: 0 };
        for (need, &target) in self.targets.iter().enumerate().filter(|(_, t)| **t > 0) {
            let own: Vec<usize> = (0..self.offers.len())
                .filter(|i| self.offers[*i].need == need)
                .filter(|i| open >> self.offers[*i].supplier & 1 == 1)
                .collect();
            let sellers = own.iter().fold(0, |set, i| set | 1 << self.offers[*i].supplier);
            let offers = self.offers;
            let best = self.found.entry((need, sellers)).or_insert_with(|| {
                let choices: Vec<&Choice> = own.iter().map(|i| &offers[*i].choice).collect();
                cover(target, &choices)
            });
            let best = best.as_ref()?;
            for (i, count) in own.iter().zip(&best.counts) {
                all.counts[*i] = *count;
                if *count > 0 {
                    all.used |= 1 << offers[*i].supplier;
                }
            }
            let (cost, mass, packs) = all.worth;
            all.worth = (cost + best.cost, mass + best.mass, packs + best.packs);
            all.floor += best.floor;
        }
        Some(all)
    }

    /// Charges of these suppliers.
    fn charged(&self, set: Open) -> i64 {
        let charges = self.charges.iter().take(Open::BITS as usize).enumerate();
        charges.filter(|(i, _)| set >> i & 1 == 1).map(|(_, c)| c).sum()
    }

    /// Counts of the offers that cost least, and the share by which less could be possible.
    ///
    /// Branch and bound over the suppliers: with some settled to deliver and the others free, the
    /// covers bound what is possible; where they use a supplier that is not settled, it is once
    /// settled to deliver and once left out.
    fn cheapest(&mut self) -> (Vec<u32>, f64) {
        let everyone = self.offers.iter().fold(0, |set, o| set | 1 << o.supplier);
        let free = (0..Open::BITS.min(self.charges.len() as u32))
            .filter(|i| self.charges[*i as usize] == 0)
            .fold(0, |set: Open, i| set | 1 << i);
        let mut best: Option<Covers> = None;
        let mut floor = i64::MAX;
        let mut looks = 0;
        let mut open = vec![(everyone, free & everyone)];
        while let Some((allowed, settled)) = open.pop() {
            let Some(mut covers) = self.covers(allowed) else { continue };
            let charged = self.charged(settled);
            covers.worth.0 += charged;
            covers.floor += charged;
            if best.as_ref().is_some_and(|b| covers.worth >= b.worth) {
                floor = floor.min(covers.floor);
                continue;
            }
            // As it stands, with every delivery paid, it is one way to buy.
            let mut whole = covers.clone();
            whole.worth.0 +=
                self.charged(whole.used & !settled) - self.charged(settled & !whole.used);
            if best.as_ref().is_none_or(|b| whole.worth < b.worth) {
                best = Some(whole);
            }
            let unsettled = covers.used & !settled;
            looks += 1;
            if unsettled == 0 || looks >= MOST_LOOKS {
                floor = floor.min(covers.floor);
                continue;
            }
            let next: Open = 1 << unsettled.trailing_zeros();
            open.push((allowed & !next, settled));
            open.push((allowed, settled | next));
        }
        let Some(best) = best else { return (vec![0; self.offers.len()], 0.0) };
        let cost = best.worth.0;
        let gap = if cost > 0 { (cost - floor.min(cost)) as f64 / cost as f64 } else { 0.0 };
        (best.counts, gap)
    }
}

fn scales(supplier: &Supplier) -> impl Iterator<Item = u32> + '_ {
    let prices = supplier
        .packs
        .iter()
        .flat_map(|p| p.price.iter().copied().chain(p.breaks.iter().map(|(_, price)| *price)));
    prices.chain([supplier.charge]).map(|p| p.normalize().scale())
}

/// The packs worth a look. Where some packs of a stock have a price and are enough, those without
/// one are left aside: nothing tells what they would cost.
fn offers(
    suppliers: &IndexMap<Id, Supplier>,
    needs: &[Need],
    taken: &BTreeMap<(usize, usize), u32>,
    unit: &impl Fn(Decimal) -> i64,
) -> Vec<Offer> {
    let mut out: Vec<(bool, Offer)> = Vec::new();
    for (supplier, sells) in suppliers.values().take(Open::BITS as usize).enumerate() {
        for (index, pack) in sells.packs.iter().enumerate() {
            let Some(need) = needs.iter().position(|n| n.of == pack.of) else { continue };
            let size = milligrams(pack.size.si()).max(1);
            let enough = packs_for(milligrams(needs[need].mass).max(0), size);
            // Beyond what is enough and the last break one pack fewer costs no more.
            let last_break = pack.breaks.last().map_or(0, |(from, _)| *from);
            let gone = taken.get(&(supplier, index)).copied().unwrap_or(0);
            let left = pack.at_most.map_or(u32::MAX, |n| n.saturating_sub(gone));
            let most = if enough == 0 { 0 } else { enough.max(last_break).min(left) };
            let carried = carriage(sells, pack.size.si());
            let all = |price: Decimal| unit(with_tax(sells, price + carried));
            let mut prices = vec![(1, all(pack.price.unwrap_or_default()))];
            prices.extend(pack.breaks.iter().map(|(from, each)| (*from, all(*each))));
            if most > 0 {
                let choice = Choice { size, prices, most };
                out.push((pack.price.is_some(), Offer { supplier, index, need, choice }));
            }
        }
    }
    let enough: Vec<bool> = (0..needs.len())
        .map(|n| {
            let had = out.iter().filter(|(priced, o)| *priced && o.need == n);
            let had: i64 = had.map(|(_, o)| o.choice.size * i64::from(o.choice.most)).sum();
            had >= milligrams(needs[n].mass)
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
    needs: &[Need],
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
        if lines.is_empty() {
            continue;
        }
        let mass =
            lines.iter().map(|l| supplier.packs[l.pack].size.si() * f64::from(l.count)).sum();
        let charge = money::rounded(supplier.charge + carriage(supplier, mass));
        let net = charge + lines.iter().filter_map(|l| l.total).sum::<Decimal>();
        let tax = money::rounded(net * supplier.tax);
        orders.push(Order {
            supplier: id.clone(),
            total: net + tax,
            charge,
            tax,
            lines,
            order_by: by.and_then(|day| supplier.order_by(day)),
        });
    }
    let covers = needs.iter().enumerate().map(|(n, need)| {
        let of_need = offers.iter().zip(counts).filter(|(o, _)| o.need == n);
        let bought: i64 = of_need.map(|(o, count)| o.choice.size * i64::from(*count)).sum();
        let short = milligrams(need.mass) - bought;
        Cover {
            need: need.clone(),
            bought: bought as f64 / 1e6,
            left_over: (-short).max(0) as f64 / 1e6,
            missing: short.max(0) as f64 / 1e6,
        }
    });
    Purchase { covers: covers.collect(), total: orders.iter().map(|o| o.total).sum(), orders, gap }
}
