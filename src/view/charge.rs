//! A charge made up from the metals at hand.

use super::Head;
use super::cautions::{CautionView, DEFERS, caution};
use super::text::{Look, Side, finished};
use crate::estimate::CrucibleFit;
use crate::figure::{Kind, Range, show};
use crate::model::Build;
use crate::plan::Pour;
use crate::supply::{AtHand, Limit, MadeUp, Outcome};
use serde::Serialize;

/// A charge.
#[derive(Debug, Clone, Serialize)]
pub struct ChargeView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// The planned heat it is for, if it was asked by that.
    pub heat: Option<String>,
    /// Id of the alloy.
    pub alloy: String,
    /// The standard whose limits it keeps.
    pub standard: String,
    /// Where the limits were read.
    pub source: Option<String>,
    /// Asked for, kg.
    pub mass_kg: f64,
    /// The same in the units of the build.
    pub mass: String,
    /// Whether the metals at hand can make it.
    pub possible: bool,
    /// What stands in the way, in words; empty where it is possible.
    pub in_the_way: Vec<String>,
    /// What goes in; where it is not possible, the charge that comes nearest.
    pub metals: Vec<MetalRow>,
    /// The elements against their limits.
    pub elements: Vec<ElementRow>,
    /// The limits that keep it from being cheaper, in words.
    pub binding: Vec<String>,
    /// Price of the charge.
    pub cost: String,
    /// Currency of every price.
    pub currency: String,
    /// Whether no cheaper charge exists.
    pub proven: bool,
    /// Elements in the metals for which the standard's limits, as known here, say nothing.
    pub unlimited: Vec<String>,
    /// Metals that stay out: of another base, with elements for which the alloy has no limit.
    pub left_out: Vec<String>,
    /// The crucible for it, and what of it is lost or left, in words.
    pub notes: Vec<String>,
    /// Dangers of what goes in.
    pub cautions: Vec<CautionView>,
}

/// A metal of the charge.
#[derive(Debug, Clone, Serialize)]
pub struct MetalRow {
    /// Its id.
    pub id: String,
    /// How many pieces, where it is not cut.
    pub pieces: Option<u32>,
    /// How much, kg.
    pub mass_kg: f64,
    /// How much, in the units of the build.
    pub mass: String,
    /// Share of the charge.
    pub share: f64,
    /// Share of the charge as a percentage.
    pub percent: String,
    /// Price of it.
    pub price: String,
}

/// An element in the melt; shares of the mass.
#[derive(Debug, Clone, Serialize)]
pub struct ElementRow {
    /// Its symbol.
    pub element: String,
    /// The least it may be.
    pub least: f64,
    /// The most it may be.
    pub most: f64,
    /// The least it could be.
    pub low: f64,
    /// What it is likely to be.
    pub likely: f64,
    /// The most it could be.
    pub high: f64,
    /// The limits as text.
    pub limits: String,
    /// Its likely share as text.
    pub shown: String,
    /// Its span as text.
    pub span: String,
}

fn percent(share: f64) -> String {
    let text = format!("{:.3}", share * 100.0);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn span(range: Range) -> String {
    if range.is_exact() {
        return String::new();
    }
    format!("{} to {}", percent(range.low), percent(range.high))
}

/// Says a limit in words.
fn words(limit: Limit, at: &AtHand) -> String {
    match limit {
        Limit::Least(e) => format!("the least of {}", at.elements[e]),
        Limit::Most(e) => format!("the most of {}", at.elements[e]),
        Limit::Returns => "the share of returns".into(),
        Limit::Stock(i) => format!("how much `{}` there is", at.metals[i]),
        Limit::Mass => "how much metal there is".into(),
    }
}

/// The crucible for a charge, in words.
fn pot(at: &AtHand) -> String {
    match &at.pot {
        CrucibleFit::Fits(id) => format!("{id} holds it below its working fill"),
        CrucibleFit::Lacking(says) => format!("no crucible is large enough: {says}"),
        CrucibleFit::Unknown(why) => format!("which crucible holds it cannot be told: {why}"),
    }
}

/// What melting takes of a charge, in words.
fn loss(at: &AtHand) -> Option<String> {
    let loss = at.alloy.melt_loss.as_ref()?.node().range();
    Some(match loss.is_exact() {
        true => format!("the melt loss of {} %", percent(loss.likely)),
        false => format!("the melt loss of {} % ({})", percent(loss.likely), span(loss)),
    })
}

impl ChargeView {
    /// The same for a heat of the plan, which reckons its charge from what its moulds take.
    pub fn of_heat(mut self, pour: &Pour, at: &AtHand) -> Self {
        self.heat = pour.name.as_ref().map(ToString::to_string);
        let holds = match &pour.crucibles[..] {
            [] => pot(at),
            [one] => format!("{one} holds it below its working fill"),
            more => format!("{} hold it together", more.join(" and ")),
        };
        let loss = loss(at).unwrap_or_else(|| "no melt loss".into());
        let fresh = pour.heels.iter().any(|h| h.from.is_none());
        let is = if fresh { "and the heel are in it" } else { "is in it; there is no heel to add" };
        self.notes = vec![holds, format!("{loss} {is}")];
        self
    }

    /// Of what came of a blend; none where the solver found no answer.
    pub fn new(build: &Build, at: &AtHand, outcome: &Outcome) -> Option<Self> {
        let (made, broken): (&MadeUp, &[(Limit, f64)]) = match outcome {
            Outcome::Possible(made) => (made, &[]),
            Outcome::Impossible(made, broken) => (made, broken),
            Outcome::GaveUp => return None,
        };
        let shown = |kg: f64| show(Kind::Mass, kg, build.header.units);
        let all: f64 = made.amounts.iter().sum();
        let in_the_way = broken.iter().map(|(limit, by)| match limit {
            Limit::Least(e) => format!("{} falls {} % short", at.elements[*e], percent(*by)),
            Limit::Most(e) => format!("{} is {} % over", at.elements[*e], percent(*by)),
            Limit::Returns => format!("returns are {} % over their share", percent(*by)),
            Limit::Mass | Limit::Stock(_) => format!("{} of metal is missing", shown(*by)),
        });
        let metals = at.metals.iter().zip(&made.amounts).zip(&at.blend.sources);
        let metals = metals.filter(|((_, kg), _)| **kg > 0.0).map(|((id, kg), source)| MetalRow {
            id: id.to_string(),
            pieces: source.piece.map(|piece| (kg / piece).round() as u32),
            mass_kg: *kg,
            mass: shown(*kg),
            share: kg / all,
            percent: format!("{:.1} %", kg / all * 100.0),
            price: format!("{:.2}", kg * source.price),
        });
        let charged = at.metals.iter().zip(&made.amounts).filter(|(_, kg)| **kg > 0.0);
        let burns = charged.clone().any(|(id, _)| at.burning.contains(id));
        let elements = at.elements.iter().zip(&at.blend.limits).zip(&made.content);
        let elements = elements.map(|((element, (least, most)), content)| ElementRow {
            element: element.to_string(),
            least: *least,
            most: *most,
            low: content.low,
            likely: content.likely,
            high: content.high,
            limits: match (*least, *most) {
                (least, most) if least <= 0.0 && most >= 1.0 => "the rest".into(),
                (least, most) if least <= 0.0 => format!("up to {}", percent(most)),
                (least, most) => format!("{} to {}", percent(least), percent(most)),
            },
            shown: percent(content.likely),
            span: span(*content),
        });
        let source = at.composition.source.as_ref();
        Some(Self {
            head: Head::new(build),
            heat: None,
            alloy: at.alloy.id.to_string(),
            standard: at.composition.standard.to_string(),
            source: source.map(|s| format!("{}; {}", s.citation, s.known.words())),
            mass_kg: at.blend.mass,
            mass: shown(at.blend.mass),
            possible: broken.is_empty(),
            in_the_way: in_the_way.collect(),
            metals: metals.collect(),
            elements: elements.collect(),
            binding: made.binding.iter().map(|l| words(*l, at)).collect(),
            cost: format!("{:.2}", made.cost),
            currency: build.header.currency.to_string(),
            proven: made.proven,
            unlimited: at.unlimited.iter().map(|e| e.to_string()).collect(),
            left_out: at.left_out.iter().map(|m| m.to_string()).collect(),
            notes: vec![
                pot(at),
                format!(
                    "this is what goes into the crucible; less can be poured: {} and the heel that is left come off it",
                    loss(at).unwrap_or_else(|| "the melt loss".into())
                ),
            ],
            cautions: burns.then(|| caution(build, "magnesium")).flatten().into_iter().collect(),
        })
    }

    /// As tables.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text();
        let say = |out: &mut String, text: &str| *out += &(look.wrapped(text, 2) + "\n");
        out.push('\n');
        if let Some(heat) = &self.heat {
            let mass = &self.mass;
            say(&mut out, &format!("heat {heat}: {mass} of {} into the crucible\n", self.alloy));
        }
        if !self.possible {
            let why = self.in_the_way.join("; ");
            say(&mut out, &format!("cannot be made of the metals at hand: {why}"));
            say(&mut out, "the charge that comes nearest:");
            out.push('\n');
        }
        let mut table = look.table(&[
            ("metal", Side::Left),
            ("pieces", Side::Right),
            ("charge", Side::Right),
            ("share", Side::Right),
            (&self.currency, Side::Right),
        ]);
        for m in &self.metals {
            let pieces = m.pieces.map_or(String::new(), |n| n.to_string());
            table.add_row([&m.id, &pieces, &m.mass, &m.percent, &m.price].map(String::clone));
        }
        table.add_row(["together", "", "", "", &self.cost].map(str::to_owned));
        out += &finished(&table);
        out.push('\n');
        let mut table = look.table(&[
            ("element", Side::Left),
            ("limits, %", Side::Right),
            ("likely", Side::Right),
            ("between", Side::Left),
        ]);
        for e in &self.elements {
            table.add_row([&e.element, &e.limits, &e.shown, &e.span].map(String::clone));
        }
        out += &finished(&table);
        out.push('\n');
        let from = self.source.as_ref().map_or(String::new(), |s| format!(" ({s})"));
        say(&mut out, &format!("limits of {}{from}", self.standard));
        if self.possible && !self.binding.is_empty() {
            say(
                &mut out,
                &format!("what keeps it from being cheaper: {}", self.binding.join(", ")),
            );
        }
        if self.possible && !self.proven {
            say(&mut out, "a cheaper charge may exist: the search was cut short");
        }
        if !self.unlimited.is_empty() {
            let says = format!(
                "no limit is known here for {}; look in the standard itself",
                self.unlimited.join(", ")
            );
            say(&mut out, &says);
        }
        if !self.left_out.is_empty() {
            let says = format!(
                "of another base, with elements that have no limit here, and left out: {}",
                self.left_out.join(", ")
            );
            say(&mut out, &says);
        }
        self.notes.iter().for_each(|note| say(&mut out, note));
        say(&mut out, "charge dry, preheated metal only, and know what the scrap is");
        for c in &self.cautions {
            say(&mut out, &format!("{}: {} {} {DEFERS}", c.title.to_lowercase(), c.says, c.habit));
        }
        out
    }
}
