//! Making up a charge: which of the metals at hand give an alloy within its limits for the least
//! money.
//!
//! The shares of a charge are chosen by a linear programme; where an ingot cannot be cut its
//! number is whole. A composition and a recovery that are only known as ranges count at their worse
//! end for each limit: the element is at its least (or most) and all else at its most (or least),
//! within what adds up to the whole metal, so that the charge holds whatever the truth is. What the
//! shop's scale cannot show is left out or raised to what it can, and every amount is one that it
//! shows.

use super::linear::{Answer, Bound, Model, NoAnswer, Terms};
use crate::figure::Range;

/// A metal that can be charged.
#[derive(Debug, Clone)]
pub struct Source {
    /// Price of 1 kg.
    pub price: f64,
    /// The least that goes in, kg.
    pub at_least: f64,
    /// How much there is, kg.
    pub at_most: f64,
    /// Mass of one piece that is not cut, kg.
    pub piece: Option<f64>,
    /// Whether it is returns, of which a charge bears only a share.
    pub returns: bool,
    /// Share of each element in it, in the order of [`Blend::recovery`]; together they are all of it.
    pub content: Vec<Range>,
}

/// What is to be made.
#[derive(Debug, Clone)]
pub struct Blend {
    /// What must go into the crucible, kg.
    pub mass: f64,
    /// The most that goes into it, kg.
    pub at_most: f64,
    /// Least and most of the first elements, as a share of the melt; those after them have no limit.
    pub limits: Vec<(f64, f64)>,
    /// Share of each element that stays in the melt.
    pub recovery: Vec<Range>,
    /// Most returns, as a share of the charge.
    pub most_returns: f64,
    /// What the scale of the shop shows, kg; 0 where amounts need not be weighed.
    pub scale: f64,
    /// What is at hand.
    pub sources: Vec<Source>,
}

/// A limit of a charge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Limit {
    /// The least of an element.
    Least(usize),
    /// The most of an element.
    Most(usize),
    /// The share of returns.
    Returns,
    /// How much there is of a source.
    Stock(usize),
    /// All that is at hand together.
    Mass,
    /// What the crucible takes.
    Pot,
}

/// A charge within all limits.
#[derive(Debug, Clone)]
pub struct MadeUp {
    /// How much of each source, kg.
    pub amounts: Vec<f64>,
    /// What it costs.
    pub cost: f64,
    /// Each element that has a limit, as a share of the melt.
    pub content: Vec<Range>,
    /// The limits that hold it where it is.
    pub binding: Vec<Limit>,
    /// Share of the cost by which a cheaper charge could be cheaper; 0 where none is.
    pub gap: f64,
}

/// What comes of it.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Outcome {
    /// It can be made.
    Possible(MadeUp),
    /// It cannot. Of all charges this one breaks the limits least, and these are the limits it
    /// breaks with by how much: shares of the melt, and kg for [`Limit::Mass`].
    Impossible(MadeUp, Vec<(Limit, f64)>),
    /// The solver found no answer.
    GaveUp,
}

/// Rows of a blend are scaled to a charge of 1 kg: this much of a share is no breach.
const SLACK: f64 = 1e-6;

/// The least that is weighed, in divisions of the scale. OIML R 76-1, table 3: the minimum capacity
/// of an instrument of ordinary accuracy (IIII) is 10 e.
const LEAST_WEIGHED: f64 = 10.0;

/// How much worse it is to break a limit of an element by some share than to lack as much metal.
const WORSE: f64 = 10.0;

/// Crumbs that are tried with and without; of more, the rest is raised to what is weighed.
const MOST_CRUMBS: usize = 5;

/// What a limit asks of 1 kg of a metal with the composition that is worst for it: each share times
/// its weight, at the least of all compositions that add up to the whole.
fn least_of(content: &[Range], weights: &[f64]) -> f64 {
    let mut order: Vec<usize> = (0..content.len()).collect();
    order.sort_by(|a, b| weights[*a].total_cmp(&weights[*b]));
    let mut left = 1.0 - content.iter().map(|r| r.low).sum::<f64>();
    let mut sum: f64 = content.iter().zip(weights).map(|(r, w)| r.low * w).sum();
    for i in order {
        let more = (content[i].high - content[i].low).min(left).max(0.0);
        sum += more * weights[i];
        left -= more;
    }
    sum
}

impl Blend {
    /// What 1 kg of a source adds to the excess of an element over a share of the melt, at the least.
    pub(super) fn below(&self, source: &Source, element: usize, share: f64) -> f64 {
        least_of(&source.content, &self.weights(element, share, |r| r.low, |r| r.high))
    }

    /// The same at the most.
    pub(super) fn above(&self, source: &Source, element: usize, share: f64) -> f64 {
        let weights = self.weights(element, share, |r| r.high, |r| r.low);
        -least_of(&source.content, &weights.iter().map(|w| -w).collect::<Vec<_>>())
    }

    fn weights(
        &self,
        element: usize,
        share: f64,
        own: fn(&Range) -> f64,
        other: fn(&Range) -> f64,
    ) -> Vec<f64> {
        let weight = |(f, kept): (usize, &Range)| match f == element {
            true => own(kept) * (1.0 - share),
            false => -other(kept) * share,
        };
        self.recovery.iter().enumerate().map(weight).collect()
    }

    /// Half of what the scale shows, as a share of the charge, for each source that is weighed.
    fn off(&self, source: &Source) -> f64 {
        if source.piece.is_none() { self.scale / 2.0 / self.mass } else { 0.0 }
    }

    /// The model: for each source the share of the charge (or its number of pieces), then how far
    /// each limit may be broken where `elastic`. Where `weighed`, every limit holds though each
    /// amount is rounded to what the scale shows.
    fn model(&self, elastic: bool, weighed: bool) -> (Model, Terms, Vec<(Limit, usize)>) {
        let mut model = Model::default();
        let mut breaches = Vec::new();
        // Quantity and what one of it adds to the charge, as a share.
        let quantity = |s: &Source| match s.piece {
            Some(piece) => {
                let most = (s.at_most / piece + 1e-9).floor();
                let least = (s.at_least / piece - 1e-9).ceil().max(0.0);
                (model.quantity(least, most.max(least), true), piece / self.mass)
            }
            None => {
                let (least, most) = (s.at_least / self.mass, s.at_most / self.mass);
                (model.quantity(least, most.max(least), false), 1.0)
            }
        };
        let shares: Terms = self.sources.iter().map(quantity).collect();
        let off = |of: &dyn Fn(&Source) -> f64| -> f64 {
            let there = self.sources.iter().filter(|s| weighed && s.at_most > 0.0);
            there.map(|s| of(s).abs() * self.off(s)).sum()
        };
        let mut limit = |which, of: &dyn Fn(&Source) -> f64, bound, value: f64, holds: bool| {
            let each = self.sources.iter().zip(&shares);
            let mut terms: Terms = each.map(|(s, (q, share))| (*q, share * of(s))).collect();
            if elastic && !holds {
                let breach = model.quantity(0.0, f64::INFINITY, false);
                breaches.push((which, breach));
                terms.push((breach, if bound == Bound::AtLeast { 1.0 } else { -1.0 }));
            }
            let value = if bound == Bound::AtLeast { value + off(of) } else { value - off(of) };
            model.limit(terms, bound, value);
        };
        limit(Limit::Mass, &|_| 1.0, Bound::AtLeast, 1.0, false);
        if self.at_most.is_finite() {
            limit(Limit::Pot, &|_| 1.0, Bound::AtMost, self.at_most / self.mass, true);
        }
        for (e, (least, most)) in self.limits.iter().enumerate() {
            if *least > 0.0 {
                let of = |s: &Source| self.below(s, e, *least);
                limit(Limit::Least(e), &of, Bound::AtLeast, 0.0, false);
            }
            if *most < 1.0 {
                let of = |s: &Source| self.above(s, e, *most);
                limit(Limit::Most(e), &of, Bound::AtMost, 0.0, false);
            }
        }
        if self.most_returns < 1.0 && self.sources.iter().any(|s| s.returns) {
            let of = |s: &Source| f64::from(u8::from(s.returns)) - self.most_returns;
            limit(Limit::Returns, &of, Bound::AtMost, 0.0, false);
        }
        (model, shares, breaches)
    }

    /// The cheapest charge; of equally cheap ones the one with the least metal.
    pub fn make_up(&self) -> Outcome {
        if self.scale > 0.0
            && let Some(made) = self.weighed(MOST_CRUMBS)
        {
            return Outcome::Possible(made);
        }
        match self.cheapest(false) {
            Ok((amounts, gap)) => Outcome::Possible(self.made_up(amounts, gap, 0.0)),
            Err(NoAnswer::GaveUp) => Outcome::GaveUp,
            Err(NoAnswer::Impossible) => self.nearest(),
        }
    }

    /// Amounts of the cheapest charge, and how far from the cheapest it may be.
    fn cheapest(&self, weighed: bool) -> Result<(Vec<f64>, f64), NoAnswer> {
        let (mut model, shares, _) = self.model(false, weighed);
        let priced = self.sources.iter().zip(&shares);
        let cost: Terms = priced.map(|(s, (q, share))| (*q, share * s.price)).collect();
        let answer = model.least(&cost)?;
        let slack = 1e-9 * answer.objective.abs().max(1e-3);
        model.limit(cost, Bound::AtMost, answer.objective + slack);
        let lean = model.least(&shares).map_or_else(|_| answer.values.clone(), |a| a.values);
        Ok((self.amounts(&lean, &shares), answer.gap))
    }

    /// The cheapest charge of amounts that the scale shows: each crumb is left out or raised to what
    /// is weighed, and the rest rounded. None where that leaves the limits no room.
    fn weighed(&self, crumbs: usize) -> Option<MadeUp> {
        let (mut amounts, gap) = self.cheapest(true).ok()?;
        let least = self.scale * LEAST_WEIGHED;
        let crumb = (0..amounts.len()).find(|i| {
            let cut = self.sources[*i].piece.is_none();
            cut && amounts[*i] > SLACK * self.mass && amounts[*i] < least - self.scale / 2.0
        });
        let Some(crumb) = crumb else {
            for (amount, source) in amounts.iter_mut().zip(&self.sources) {
                if source.piece.is_none() {
                    *amount = (*amount / self.scale).round() * self.scale;
                }
            }
            return Some(self.made_up(amounts, gap, self.scale));
        };
        let with = |change: &dyn Fn(&mut Source)| {
            let mut changed = self.clone();
            change(&mut changed.sources[crumb]);
            // No more metal is charged for the sake of a crumb.
            let piece = self.sources.iter().filter_map(|s| s.piece).fold(0.0, f64::max);
            let rounding = self.scale * self.sources.len() as f64;
            changed.at_most = changed.at_most.min(self.mass + piece + rounding);
            changed.weighed(crumbs.saturating_sub(1))
        };
        let raised = (self.sources[crumb].at_most >= least)
            .then(|| with(&|s| s.at_least = s.at_least.max(least)))
            .flatten();
        if crumbs == 0 && raised.is_some() {
            return raised;
        }
        let without =
            (self.sources[crumb].at_least <= 0.0).then(|| with(&|s| s.at_most = 0.0)).flatten();
        raised.into_iter().chain(without).min_by(|a, b| a.cost.total_cmp(&b.cost))
    }

    /// The charge that breaks the limits least.
    fn nearest(&self) -> Outcome {
        let (model, shares, breaches) = self.model(true, false);
        // Nothing is charged only to make up the mass that is more than a tenth too much of an element.
        let weight = |which: &Limit| if *which == Limit::Mass { 1.0 } else { WORSE };
        let sum: Terms = breaches.iter().map(|(which, q)| (*q, weight(which))).collect();
        let Ok(Answer { values, gap, .. }) = model.least(&sum) else { return Outcome::GaveUp };
        let made = self.made_up(self.amounts(&values, &shares), gap, 0.0);
        let by = |(which, q): &(Limit, usize)| {
            let by = match *which {
                Limit::Least(e) => self.limits[e].0 - made.content[e].low,
                Limit::Most(e) => made.content[e].high - self.limits[e].1,
                Limit::Mass => values[*q] * self.mass,
                _ => values[*q],
            };
            (values[*q] > SLACK).then_some((*which, by))
        };
        let broken = breaches.iter().filter_map(by).collect();
        Outcome::Impossible(made, broken)
    }

    fn amounts(&self, values: &[f64], shares: &[(usize, f64)]) -> Vec<f64> {
        // What is below a breach that counts is nothing.
        let share = |(q, share): &(usize, f64)| Some(values[*q] * share).filter(|s| *s > SLACK);
        shares.iter().map(|s| share(s).unwrap_or(0.0) * self.mass).collect()
    }

    /// A sum over the metals of a charge.
    fn sum(&self, amounts: &[f64], of: impl Fn(&Source) -> f64) -> f64 {
        self.sources.iter().zip(amounts).map(|(s, amount)| of(s) * amount).sum()
    }

    /// The share over which an element has just no excess, halved toward: the excess falls with it.
    fn end(&self, amounts: &[f64], excess: &dyn Fn(&Source, f64) -> f64) -> f64 {
        const ROUNDS: usize = 60;
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..ROUNDS {
            let middle = (low + high) / 2.0;
            match self.sum(amounts, |s| excess(s, middle)) >= 0.0 {
                true => low = middle,
                false => high = middle,
            }
        }
        (low + high) / 2.0
    }

    /// An element in the melt.
    fn content(&self, amounts: &[f64], element: usize) -> Range {
        if amounts.iter().sum::<f64>() <= 0.0 {
            return Range::exact(0.0);
        }
        let kept = |s: &Source, f: usize| s.content[f].likely * self.recovery[f].likely;
        let all = self.sum(amounts, |s| (0..self.recovery.len()).map(|f| kept(s, f)).sum());
        let likely = self.sum(amounts, |s| kept(s, element)) / all;
        let low = self.end(amounts, &|s, share| self.below(s, element, share));
        let high = self.end(amounts, &|s, share| self.above(s, element, share));
        Range { low: low.min(likely), likely, high: high.max(likely) }
    }

    fn made_up(&self, amounts: Vec<f64>, gap: f64, step: f64) -> MadeUp {
        let all: f64 = amounts.iter().sum();
        let content: Vec<Range> =
            (0..self.limits.len()).map(|e| self.content(&amounts, e)).collect();
        let weighed = self.sources.iter().filter(|s| s.piece.is_none() && s.at_most > 0.0).count();
        // Amounts that are rounded keep away from a limit by what rounding may take.
        let slack = SLACK + weighed as f64 * step / self.mass;
        let mut binding = Vec::new();
        for (e, (least, most)) in self.limits.iter().enumerate() {
            if *least > 0.0 && content[e].low <= least + slack {
                binding.push(Limit::Least(e));
            }
            if *most < 1.0 && *most > 0.0 && content[e].high >= most - slack {
                binding.push(Limit::Most(e));
            }
        }
        let returns = self.sum(&amounts, |s| f64::from(u8::from(s.returns))) / all.max(SLACK);
        if returns > SLACK && returns >= self.most_returns - slack {
            binding.push(Limit::Returns);
        }
        for (i, (s, amount)) in self.sources.iter().zip(&amounts).enumerate() {
            // A little more, or one more piece, is not there.
            let more = s.piece.unwrap_or(2.0 * SLACK * self.mass + step);
            if *amount > 0.0 && amount + more > s.at_most + SLACK * self.mass {
                binding.push(Limit::Stock(i));
            }
        }
        let cost = self.sum(&amounts, |s| s.price);
        MadeUp { amounts, cost, content, binding, gap }
    }
}
