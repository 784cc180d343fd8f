//! Making up a charge: which of the metals at hand give an alloy within its limits for the least
//! money.
//!
//! The shares of a charge are chosen by a linear programme; where an ingot cannot be cut its
//! number is whole. A composition that is only known as a range counts at its worse end for each
//! limit, and so does the recovery of an element, so that the charge holds whatever the truth is.

use super::linear::{Bound, Model, NoAnswer, Terms};
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
    /// Share of it that stays in the melt when single elements burn off.
    pub kept: f64,
    /// What stays of each element, as a share of the source; in the order of [`Blend::limits`].
    pub content: Vec<Range>,
}

/// What is to be made.
#[derive(Debug, Clone)]
pub struct Blend {
    /// What must go into the crucible, kg.
    pub mass: f64,
    /// Least and most of each element, as a share of the melt.
    pub limits: Vec<(f64, f64)>,
    /// Most returns, as a share of the charge.
    pub most_returns: f64,
    /// What is at hand.
    pub sources: Vec<Source>,
}

/// A limit of a charge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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
}

/// A charge within all limits.
#[derive(Debug, Clone)]
pub struct MadeUp {
    /// How much of each source, kg.
    pub amounts: Vec<f64>,
    /// What it costs.
    pub cost: f64,
    /// Each element, as a share of the melt.
    pub content: Vec<Range>,
    /// The limits that hold it where it is.
    pub binding: Vec<Limit>,
    /// Whether no cheaper charge exists.
    pub proven: bool,
}

/// What comes of it.
#[derive(Debug, Clone)]
pub enum Outcome {
    /// It can be made.
    Possible(MadeUp),
    /// It cannot. Of all charges this one breaks the limits least, and these are the limits it
    /// breaks with by how much: shares of the charge, and kg for [`Limit::Mass`].
    Impossible(MadeUp, Vec<(Limit, f64)>),
    /// The solver found no answer.
    GaveUp,
}

/// Rows of a blend are scaled to a charge of 1 kg: this much of a share is no breach.
const SLACK: f64 = 1e-6;

impl Blend {
    /// The model: for each source the share of the charge (or its number of pieces), then how far
    /// each limit may be broken where `elastic`.
    fn model(&self, elastic: bool) -> (Model, Terms, Vec<(Limit, usize)>) {
        let mut model = Model::default();
        let mut breaches = Vec::new();
        // Quantity and what one of it adds to the charge, as a share.
        let shares: Terms = self
            .sources
            .iter()
            .map(|s| match s.piece {
                Some(piece) => {
                    let pieces = |mass: f64| mass / piece;
                    let most = (pieces(s.at_most) + 1e-9).floor();
                    let least = (pieces(s.at_least) - 1e-9).ceil().max(0.0);
                    (model.quantity(least, most.max(least), true), piece / self.mass)
                }
                None => (model.quantity(s.at_least / self.mass, s.at_most / self.mass, false), 1.0),
            })
            .collect();
        let mut limit = |model: &mut Model, which, terms: Terms, bound, value| {
            let mut terms = terms;
            if elastic {
                let breach = model.quantity(0.0, f64::INFINITY, false);
                breaches.push((which, breach));
                terms.push((breach, if bound == Bound::AtLeast { 1.0 } else { -1.0 }));
            }
            model.limit(terms, bound, value);
        };
        limit(&mut model, Limit::Mass, shares.clone(), Bound::AtLeast, 1.0);
        for (e, (least, most)) in self.limits.iter().enumerate() {
            let terms = |of: &dyn Fn(&Source) -> f64| -> Terms {
                let each = self.sources.iter().zip(&shares);
                each.map(|(s, (q, share))| (*q, share * of(s))).collect()
            };
            if *least > 0.0 {
                let low = terms(&|s| s.content[e].low - least * s.kept);
                limit(&mut model, Limit::Least(e), low, Bound::AtLeast, 0.0);
            }
            if *most < 1.0 {
                let high = terms(&|s| s.content[e].high - most * s.kept);
                limit(&mut model, Limit::Most(e), high, Bound::AtMost, 0.0);
            }
        }
        if self.most_returns < 1.0 && self.sources.iter().any(|s| s.returns) {
            let each = self.sources.iter().zip(&shares);
            let part = |s: &Source| f64::from(u8::from(s.returns)) - self.most_returns;
            let terms = each.map(|(s, (q, share))| (*q, share * part(s))).collect();
            limit(&mut model, Limit::Returns, terms, Bound::AtMost, 0.0);
        }
        (model, shares, breaches)
    }

    /// The cheapest charge; of equally cheap ones the one with the least metal.
    pub fn make_up(&self) -> Outcome {
        let (mut model, shares, _) = self.model(false);
        let cost: Terms =
            self.sources.iter().zip(&shares).map(|(s, (q, share))| (*q, share * s.price)).collect();
        match model.least(&cost) {
            Ok(answer) => {
                let slack = 1e-9 * answer.objective.abs().max(1e-3);
                model.limit(cost, Bound::AtMost, answer.objective + slack);
                let lean =
                    model.least(&shares).map_or_else(|_| answer.values.clone(), |a| a.values);
                Outcome::Possible(self.made_up(&lean, &shares, answer.proven))
            }
            Err(NoAnswer::GaveUp) => Outcome::GaveUp,
            Err(NoAnswer::Impossible) => self.nearest(),
        }
    }

    /// The charge that breaks the limits least.
    fn nearest(&self) -> Outcome {
        let (model, shares, breaches) = self.model(true);
        let sum: Terms = breaches.iter().map(|(_, q)| (*q, 1.0)).collect();
        let Ok(answer) = model.least(&sum) else { return Outcome::GaveUp };
        let broken = breaches
            .iter()
            .map(|(which, q)| (*which, answer.values[*q]))
            .filter(|(_, by)| *by > SLACK)
            .map(|(which, by)| (which, if which == Limit::Mass { by * self.mass } else { by }));
        Outcome::Impossible(self.made_up(&answer.values, &shares, answer.proven), broken.collect())
    }

    fn made_up(&self, values: &[f64], shares: &[(usize, f64)], proven: bool) -> MadeUp {
        // What is below a breach that counts is nothing.
        let share = |(q, share): &(usize, f64)| Some(values[*q] * share).filter(|s| *s > SLACK);
        let amounts: Vec<f64> =
            shares.iter().map(|s| share(s).unwrap_or(0.0) * self.mass).collect();
        let all: f64 = amounts.iter().sum();
        let of = |part: &dyn Fn(&Source) -> f64| -> f64 {
            let sum: f64 = self.sources.iter().zip(&amounts).map(|(s, a)| part(s) * a).sum();
            if all > 0.0 { sum / all } else { 0.0 }
        };
        let kept = of(&|s| s.kept);
        let in_melt =
            |part: &dyn Fn(&Source) -> f64| if kept > 0.0 { of(part) / kept } else { 0.0 };
        let content: Vec<Range> = (0..self.limits.len())
            .map(|e| Range {
                low: in_melt(&|s| s.content[e].low),
                likely: in_melt(&|s| s.content[e].likely),
                high: in_melt(&|s| s.content[e].high),
            })
            .collect();
        let mut binding = Vec::new();
        for (e, (least, most)) in self.limits.iter().enumerate() {
            if *least > 0.0 && content[e].low <= least + SLACK {
                binding.push(Limit::Least(e));
            }
            if *most < 1.0 && *most > 0.0 && content[e].high >= most - SLACK {
                binding.push(Limit::Most(e));
            }
        }
        let returns = of(&|s| f64::from(u8::from(s.returns)));
        if returns > SLACK && returns >= self.most_returns - SLACK {
            binding.push(Limit::Returns);
        }
        for (i, (s, amount)) in self.sources.iter().zip(&amounts).enumerate() {
            // A little more, or one more piece, is not there.
            let more = s.piece.unwrap_or(2.0 * SLACK * self.mass);
            if *amount > 0.0 && amount + more > s.at_most + SLACK * self.mass {
                binding.push(Limit::Stock(i));
            }
        }
        let cost = self.sources.iter().zip(&amounts).map(|(s, a)| s.price * a).sum();
        MadeUp { amounts, cost, content, binding, proven }
    }
}
