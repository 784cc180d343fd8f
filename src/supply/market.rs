//! Which suppliers deliver, and on which of their terms: branch and bound over both.
//!
//! Once it is settled who delivers and who carries for nothing, each stock is covered on its own
//! (`cover.rs`); where an order must be worth so much, all stocks together (`topped.rs`).

use super::cover::{Best, Choice, cover, priced};
use super::topped::{MOST_FLOORS, Topping, topped};
use std::collections::HashMap;

/// Suppliers, one bit each.
pub(super) type Open = u128;

/// Choices of suppliers and terms that are looked at; what is left then bounds the answer.
const MOST_LOOKS: usize = 4_000;

/// Sums of packs that are compared where orders must be worth so much; what is left then bounds the
/// answer.
const MOST_WORK: u64 = 12_000_000;

/// A pack that could be bought.
#[derive(Clone)]
pub(super) struct Offer {
    /// Index of the supplier.
    pub supplier: usize,
    /// Index of the pack with its supplier.
    pub index: usize,
    /// Index of the need.
    pub need: usize,
    /// With its carriage by mass, where there is some; with tax.
    pub paid: Choice,
    /// Carried for nothing; with tax.
    pub free: Choice,
    /// Price of one from so many on, without carriage and tax: what the order's worth goes by.
    pub net: Vec<(u32, i64)>,
}

/// On what a supplier delivers.
pub(super) struct Terms {
    /// Charge for a delivery, with tax.
    pub charge: i64,
    /// The least that an order is worth.
    pub minimum: i64,
    /// What an order is worth from which on it is carried for nothing.
    pub free_from: Option<i64>,
    /// Worth of the parts that come from there; none where no part does.
    pub parts: Option<i64>,
}

/// What is sold and what is wanted.
pub(super) struct Market<'a> {
    offers: &'a [Offer],
    terms: &'a [Terms],
    targets: &'a [i64],
    found: HashMap<(usize, Open, Open), Option<Best>>,
    work: u64,
}

/// Covers of all needs from some suppliers.
#[derive(Clone)]
struct Covers {
    counts: Vec<u32>,
    /// Cost, mass in mg and packs: less is better, in this order.
    worth: (i64, i64, u32),
    /// No cover from these suppliers costs less.
    floor: i64,
}

/// What is settled. Where it is not, a delivery costs nothing and its carriage neither.
#[derive(Clone, Copy)]
struct Node {
    /// May deliver.
    allowed: Open,
    /// Delivers.
    settled: Open,
    /// Is paid for carriage, though it carries large orders free.
    paid: Open,
    /// Carries free: the order is large enough.
    free: Open,
    /// Must have an order that is worth so much.
    floors: Open,
    /// No purchase of this sort costs less.
    at_least: i64,
}

fn has(set: Open, supplier: usize) -> bool {
    set >> supplier & 1 == 1
}

impl<'a> Market<'a> {
    pub fn new(offers: &'a [Offer], terms: &'a [Terms], targets: &'a [i64]) -> Self {
        Self {
            offers,
            terms: &terms[..terms.len().min(Open::BITS as usize)],
            targets,
            found: HashMap::new(),
            work: MOST_WORK,
        }
    }

    /// Suppliers of which something holds.
    fn which(&self, holds: impl Fn(&Terms) -> bool) -> Open {
        let all = self.terms.iter().enumerate().filter(|(_, t)| holds(t));
        all.fold(0, |set, (s, _)| set | 1 << s)
    }

    /// What an order is worth by the counts, parts and all.
    fn goods(&self, counts: &[u32], supplier: usize) -> i64 {
        let own = self.offers.iter().zip(counts).filter(|(o, _)| o.supplier == supplier);
        let packs: i64 = own.map(|(o, n)| priced(&o.net, *n)).sum();
        packs + self.terms[supplier].parts.unwrap_or(0)
    }

    fn used(&self, counts: &[u32]) -> Open {
        let taken = self.offers.iter().zip(counts).filter(|(_, n)| **n > 0);
        taken.fold(self.which(|t| t.parts.is_some()), |set, (o, _)| set | 1 << o.supplier)
    }

    /// Whether carriage by mass is paid.
    fn carried(&self, node: &Node, supplier: usize) -> bool {
        self.terms[supplier].free_from.is_none() || has(node.paid, supplier)
    }

    fn choice(&self, node: &Node, offer: usize) -> &'a Choice {
        let offer = &self.offers[offer];
        if self.carried(node, offer.supplier) { &offer.paid } else { &offer.free }
    }

    /// The cheapest cover of one need from the suppliers that are allowed.
    fn cover(&mut self, node: &Node, need: usize) -> Option<(Vec<usize>, Best)> {
        let own: Vec<usize> = (0..self.offers.len())
            .filter(|i| self.offers[*i].need == need && has(node.allowed, self.offers[*i].supplier))
            .collect();
        let sellers = own.iter().fold(0, |set, i| set | 1 << self.offers[*i].supplier);
        let key = (need, sellers, node.paid & sellers);
        if !self.found.contains_key(&key) {
            let choices: Vec<&Choice> = own.iter().map(|i| self.choice(node, *i)).collect();
            self.found.insert(key, cover(self.targets[need], &choices));
        }
        Some((own, self.found[&key].clone()?))
    }

    /// Covers every need, deliveries not counted.
    fn covers(&mut self, node: &Node, ceiling: i64) -> Option<Covers> {
        let mut all = Covers { counts: vec![0; self.offers.len()], worth: (0, 0, 0), floor: 0 };
        let mut each = vec![0; self.targets.len()];
        for need in (0..self.targets.len()).filter(|n| self.targets[*n] > 0).collect::<Vec<_>>() {
            let (own, best) = self.cover(node, need)?;
            for (i, count) in own.iter().zip(&best.counts) {
                all.counts[*i] = *count;
            }
            let (cost, mass, packs) = all.worth;
            all.worth = (cost + best.cost, mass + best.mass, packs + best.packs);
            all.floor += best.floor;
            each[need] = best.floor;
        }
        if node.floors == 0 {
            return Some(all);
        }
        self.worth_enough(node, &each, ceiling)
    }

    /// Covers every need with orders that are worth what they must be.
    fn worth_enough(&mut self, node: &Node, each: &[i64], ceiling: i64) -> Option<Covers> {
        let held: Vec<usize> = (0..self.terms.len()).filter(|s| has(node.floors, *s)).collect();
        let floors: Vec<i64> = held
            .iter()
            .map(|s| (self.least(node, *s) - self.terms[*s].parts.unwrap_or(0)).max(0))
            .collect();
        let mut own: Vec<usize> = (0..self.offers.len())
            .filter(|i| has(node.allowed, self.offers[*i].supplier))
            .filter(|i| self.targets[self.offers[*i].need] > 0)
            .collect();
        own.sort_by_key(|i| self.offers[*i].need);
        let toppings: Vec<Topping<'_>> = own
            .iter()
            .map(|i| {
                let offer = &self.offers[*i];
                let floor = held.iter().position(|s| *s == offer.supplier);
                Topping { need: offer.need, choice: self.choice(node, *i), net: &offer.net, floor }
            })
            .collect();
        let best = topped(self.targets, &toppings, &floors, each, (ceiling, &mut self.work))?;
        let mut counts = vec![0; self.offers.len()];
        for (i, count) in own.iter().zip(&best.counts) {
            counts[*i] = *count;
        }
        Some(Covers { counts, worth: (best.cost, best.mass, best.packs), floor: best.floor })
    }

    /// What the order of a supplier must be worth.
    fn least(&self, node: &Node, supplier: usize) -> i64 {
        let Terms { minimum, free_from, .. } = &self.terms[supplier];
        let free = free_from.filter(|_| has(node.free, supplier));
        free.unwrap_or(0).max(*minimum)
    }

    /// Charges that are settled.
    fn charged(&self, node: &Node) -> i64 {
        let all = self.terms.iter().enumerate();
        let paid = all.filter(|(s, _)| has(node.settled, *s) && self.carried(node, *s));
        paid.map(|(_, t)| t.charge).sum()
    }

    /// A purchase as it stands, with all that is paid for it; none where an order is too small.
    fn whole(&self, covers: &Covers) -> Option<Covers> {
        let used = self.used(&covers.counts);
        let mut cost = 0;
        let mut carried = 0;
        for (s, terms) in self.terms.iter().enumerate().filter(|(s, _)| has(used, *s)) {
            let goods = self.goods(&covers.counts, s);
            if goods < terms.minimum {
                return None;
            }
            if terms.free_from.is_none_or(|from| goods < from) {
                carried |= 1 << s;
                cost += terms.charge;
            }
        }
        for (offer, count) in self.offers.iter().zip(&covers.counts) {
            let choice = if has(carried, offer.supplier) { &offer.paid } else { &offer.free };
            cost += choice.price(*count);
        }
        Some(Covers { worth: (cost, covers.worth.1, covers.worth.2), ..covers.clone() })
    }

    /// What is to be settled next, both ways; nothing where all is.
    fn branches(&self, node: &Node, counts: &[u32]) -> Vec<Node> {
        let used = self.used(counts);
        let unsettled = used & !node.settled;
        if unsettled != 0 {
            let next: Open = 1 << unsettled.trailing_zeros();
            let without = Node { allowed: node.allowed & !next, ..*node };
            return vec![without, Node { settled: node.settled | next, ..*node }];
        }
        let settled: Vec<usize> = (0..self.terms.len())
            .filter(|s| has(node.settled & used, *s) || self.is_held(node, *s))
            .collect();
        for &s in &settled {
            let Some(from) = self.terms[s].free_from else { continue };
            if !has(node.paid | node.free, s) && self.goods(counts, s) < from {
                let next: Open = 1 << s;
                let free = Node { free: node.free | next, ..*node };
                return vec![free, Node { paid: node.paid | next, ..*node }];
            }
        }
        let short = settled.iter().find(|s| self.goods(counts, **s) < self.least(node, **s));
        let next = short.map(|s| Node { floors: node.floors | 1 << s, ..*node });
        next.filter(|n| n.floors != node.floors).into_iter().collect()
    }

    /// Whether a supplier was settled to deliver, and has terms for it.
    fn is_held(&self, node: &Node, supplier: usize) -> bool {
        let terms = &self.terms[supplier];
        has(node.settled, supplier) && (terms.minimum > 0 || terms.free_from.is_some())
    }

    /// Counts of the offers that cost least, and the share by which less could be possible; none where
    /// no purchase keeps to the terms.
    ///
    /// What is settled of a purchase bounds what it can cost. Where the cheapest by that uses a
    /// supplier that is not settled, it is once settled to deliver and once left out; where its order
    /// is too small to be carried free, it is once paid for and once made large enough.
    pub fn cheapest(&mut self) -> Option<(Vec<u32>, f64)> {
        let offered = self.offers.iter().fold(0, |set, o| set | 1 << o.supplier);
        let parts = self.which(|t| t.parts.is_some());
        let plain = self.which(|t| t.charge == 0 && t.minimum == 0 && t.free_from.is_none());
        let all = offered | parts;
        let start = Node {
            allowed: all,
            settled: (plain | parts) & all,
            paid: 0,
            free: 0,
            floors: 0,
            at_least: 0,
        };
        let mut best: Option<Covers> = None;
        let (mut floor, mut looks) = (i64::MAX, 0);
        let mut open = vec![start];
        while let Some(node) = open.pop() {
            if self.work == 0 && node.floors != 0 && best.is_some() {
                floor = floor.min(node.at_least);
                continue;
            }
            let charged = self.charged(&node);
            let ceiling = best.as_ref().map_or(i64::MAX, |b| b.worth.0.saturating_sub(charged));
            let Some(mut covers) = self.covers(&node, ceiling) else { continue };
            covers.worth.0 += charged;
            covers.floor += charged;
            if best.as_ref().is_some_and(|b| covers.worth >= b.worth) {
                floor = floor.min(covers.floor);
                continue;
            }
            let whole = self.whole(&covers);
            if let Some(whole) = whole.filter(|w| best.as_ref().is_none_or(|b| w.worth < b.worth)) {
                best = Some(whole);
            }
            let next = self.branches(&node, &covers.counts);
            looks += 1;
            let too_many = next.iter().any(|n| n.floors.count_ones() as usize > MOST_FLOORS);
            if next.is_empty() || looks >= MOST_LOOKS || too_many {
                floor = floor.min(covers.floor);
                continue;
            }
            let at_least = covers.floor;
            open.extend(next.into_iter().map(|node| Node { at_least, ..node }));
        }
        let best = best?;
        let cost = best.worth.0;
        let gap = if cost > 0 { (cost - floor.min(cost)) as f64 / cost as f64 } else { 0.0 };
        Some((best.counts, gap))
    }
}
