//! A charge made up from the metals at hand.

use super::Head;
use super::cautions::{CautionView, DEFERS, caution};
use super::text::{Look, Side, finished};
use crate::estimate::CrucibleFit;
use crate::figure::{Kind, Range, System, show};
use crate::model::Build;
use crate::plan::Pour;
use crate::supply::{AtHand, Count, Limit, MadeUp, Outcome, Source, money};
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
    /// What is missing of the metal, for a heat of the plan when it is lit, kg.
    pub short_kg: Option<f64>,
    /// Whether what goes in is the charge once that is bought.
    pub once_bought: bool,
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
    /// Share of the cost by which a cheaper charge could be cheaper.
    pub gap: f64,
    /// Metals of which no price is known: they count as nothing.
    pub unpriced: Vec<String>,
    /// Elements in the metals for which the standard's limits, as known here, say nothing.
    pub unlimited: Vec<String>,
    /// Metals of another base that stay out: returns, and what holds elements for which the alloy has
    /// no limit.
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
        Limit::Pot => "what the crucible takes".into(),
    }
}

/// The crucible for a charge, in words.
fn pot(at: &AtHand) -> String {
    match &at.pot {
        CrucibleFit::Fits(id) if id.contains(" and ") => format!("{id} hold it together"),
        CrucibleFit::Fits(id) => format!("{id} holds it below its working fill"),
        CrucibleFit::Lacking(says) => format!("no crucible is large enough: {says}"),
        CrucibleFit::Unknown(why) => format!("no crucible can be named for it: {why}"),
    }
}

/// What breaks a limit and by how much, and what would help.
fn in_the_way(at: &AtHand, (limit, by): &(Limit, f64), shown: &dyn Fn(f64) -> String) -> String {
    let element = |e: usize| &at.elements[e];
    let (least, most) = match limit {
        Limit::Least(e) | Limit::Most(e) => at.blend.limits[*e],
        _ => (0.0, 0.0),
    };
    let (what, other) = match limit {
        Limit::Least(e) => (
            format!("{} falls {} points short", element(*e), percent(*by)),
            format!(
                "a metal with more than {} % of it, what burns off taken away,",
                percent(least)
            ),
        ),
        Limit::Most(e) => (
            format!("{} is {} points over", element(*e), percent(*by)),
            format!("a metal with less than {} % of it", percent(most)),
        ),
        Limit::Returns => {
            (format!("returns are {} points over their share", percent(*by)), "ingot".into())
        }
        _ => (missing(at, *by, shown), String::new()),
    };
    let there: Vec<String> = at.would_help(*limit).iter().map(|id| format!("`{id}`")).collect();
    match (there.is_empty(), other.is_empty()) {
        (false, _) => format!("{what} (more of {} would help)", there.join(" or ")),
        (true, false) => format!("{what} ({other} would help)"),
        (true, true) => what,
    }
}

/// How much metal is missing: for a heat of the plan what the plan has short when it is lit.
fn missing(at: &AtHand, by: f64, shown: &dyn Fn(f64) -> String) -> String {
    let says = format!("{} of metal is missing", shown(at.short.unwrap_or(by)));
    match at.short.is_some() && at.on_order > 0.0 {
        true => format!("{says}, {} of that is on order", shown(at.on_order)),
        false => says,
    }
}

/// Said where the metals of the shop tell nothing of an alloy.
fn none_of(at: &AtHand) -> String {
    let alloy = &at.alloy.id;
    format!(
        "no entry of `metals:` is of {alloy}, so none of it counts, whatever lies on the shelf: give it one with its composition and `stock: {alloy}`"
    )
}

/// Why whole pieces do not make a charge that is missing metal, in words.
fn pieces(at: &AtHand, made: &MadeUp, shown: &dyn Fn(f64) -> String) -> Option<String> {
    let all: f64 = made.amounts.iter().sum();
    let sources = at.metals.iter().zip(&at.blend.sources).zip(&made.amounts);
    let mut more =
        sources.filter(|((_, s), amount)| **amount + s.piece.unwrap_or(f64::INFINITY) <= s.at_most);
    let over = |s: &Source| all + s.piece.unwrap_or(0.0) > at.blend.at_most;
    let ((id, source), _) = more.find(|((_, s), _)| over(s))?;
    Some(format!(
        "one more piece of `{id}`, {}, does not go in: the pot takes {}; cut a piece, or cast the rest as pigs from a larger pot",
        shown(source.piece?),
        shown(at.blend.at_most)
    ))
}

/// A mass as it is weighed out: to what the scale shows, never coarser.
fn weighed(kg: f64, scale: f64, units: System) -> String {
    let decimals = |unit: f64| (-(scale / unit).log10()).ceil().clamp(0.0, 6.0) as usize;
    match units {
        System::Us => format!("{:.*} lb", decimals(0.453_592_37), kg / 0.453_592_37),
        System::Metric if kg < 1.0 => format!("{:.*} g", decimals(1e-3), kg * 1e3),
        System::Metric => format!("{:.*} kg", decimals(1.0), kg),
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

/// The crucible, what goes into pigs, and what of the charge is lost or left, in words.
fn notes(at: &AtHand, pour: Option<&Pour>, all: f64, shown: &dyn Fn(f64) -> String) -> Vec<String> {
    let mut out = vec![pot(at)];
    let more = all - at.blend.mass;
    if more > at.blend.scale * at.blend.sources.len() as f64 {
        let more = shown(more);
        out.push(format!("{more} more than asked for, as whole pieces are: have dry, warm pig moulds ready for it"));
    }
    let counts = match at.lighting {
        Some(there) => {
            let [ingot, returns] = [there.ingot, there.returns].map(shown);
            format!(
                "when it is lit, the plan has {ingot} of ingot and {returns} of returns on the shelf"
            )
        }
        None => "what lies in the shop today is counted".into(),
    };
    let today = at.lighting.is_some() || at.count == Count::There;
    out.extend(today.then(|| format!("{counts}; `--count sold` counts what can be bought too")));
    let fresh = |pour: &Pour| pour.heels.iter().any(|h| h.from.is_none());
    let is = match pour {
        Some(pour) if fresh(pour) => "and the heel are in it",
        Some(_) => "is in it; there is no heel to add",
        // Nobody said what for: a heel, if one is left, comes off it.
        None => "and the heel, if one is left, are in it",
    };
    out.push(format!("{} {is}", loss(at).unwrap_or_else(|| "no melt loss".into())));
    out
}

impl ChargeView {
    /// Of what came of a blend, and the heat of the plan that it is for; none where the solver found no
    /// answer.
    pub fn new(build: &Build, at: &AtHand, outcome: &Outcome, pour: Option<&Pour>) -> Option<Self> {
        let (made, broken): (&MadeUp, &[(Limit, f64)]) = match outcome {
            Outcome::Possible(made) => (made, &[]),
            Outcome::Impossible(made, broken) => (made, broken),
            Outcome::GaveUp => return None,
        };
        let shown = |kg: f64| show(Kind::Mass, kg, build.header.units);
        let all: f64 = made.amounts.iter().sum();
        let lacks = broken.iter().find(|(limit, _)| *limit == Limit::Mass).map(|(_, by)| *by);
        let missing = lacks.is_some();
        let in_the_way = match missing && !at.has_own && all <= 0.0 {
            true => vec![none_of(at)],
            false => {
                let ways = broken.iter().map(|b| in_the_way(at, b, &shown));
                ways.chain(missing.then(|| pieces(at, made, &shown)).flatten()).collect()
            }
        };
        let metals = at.metals.iter().zip(&made.amounts).zip(&at.blend.sources);
        let metals = metals.filter(|((_, kg), _)| **kg > 0.0).map(|((id, kg), source)| MetalRow {
            id: id.to_string(),
            pieces: source.piece.map(|piece| (kg / piece).round() as u32),
            mass_kg: *kg,
            mass: match source.piece {
                Some(_) => shown(*kg),
                None => weighed(*kg, at.blend.scale, build.header.units),
            },
            share: kg / all,
            percent: format!("{:.1} %", kg / all * 100.0),
            price: match at.unpriced.contains(id) {
                true => "no price".into(),
                false => money::shown(money::of(kg * source.price)),
            },
        });
        let metals: Vec<MetalRow> = metals.collect();
        let priced = at.blend.sources.iter().zip(&made.amounts);
        let cost = priced.map(|(s, kg)| money::of(kg * s.price)).sum();
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
            heat: pour.and_then(|p| p.name.as_ref()).map(ToString::to_string),
            alloy: at.alloy.id.to_string(),
            standard: at.composition.standard.to_string(),
            source: source.map(ToString::to_string),
            mass_kg: at.blend.mass,
            mass: shown(at.blend.mass),
            possible: broken.is_empty(),
            in_the_way,
            short_kg: lacks.map(|by| at.short.unwrap_or(by)),
            once_bought: false,
            metals,
            elements: elements.collect(),
            binding: made.binding.iter().map(|l| words(*l, at)).collect(),
            cost: money::shown(cost),
            currency: build.header.currency.to_string(),
            proven: made.gap == 0.0,
            gap: made.gap,
            unpriced: at.unpriced.iter().map(|m| m.to_string()).collect(),
            unlimited: at.unlimited.iter().map(|e| e.to_string()).collect(),
            left_out: at.left_out.iter().map(|m| m.to_string()).collect(),
            notes: notes(at, pour, all, &shown),
            cautions: burns.then(|| caution(build, "magnesium")).flatten().into_iter().collect(),
        })
    }

    /// A charge that only lacks metal, with the one that is made once that is bought.
    pub fn once_bought(mut self, bought: Self) -> Self {
        self.in_the_way.truncate(1);
        (self.once_bought, self.metals, self.elements) = (true, bought.metals, bought.elements);
        (self.cost, self.binding, self.unpriced) = (bought.cost, bought.binding, bought.unpriced);
        (self.proven, self.gap, self.cautions) = (bought.proven, bought.gap, bought.cautions);
        self
    }

    /// What goes in, and what that makes.
    fn tables(&self, look: &Look) -> String {
        let mut out = String::new();
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
        out
    }

    /// As tables.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        let say = |out: &mut String, text: &str| *out += &(look.wrapped(text, 2) + "\n");
        out.push('\n');
        let heat = self.heat.as_ref().map_or(String::new(), |heat| format!("heat {heat}: "));
        say(&mut out, &format!("{heat}{} of {} into the crucible\n", self.mass, self.alloy));
        if !self.possible {
            let why = self.in_the_way.join("; ");
            say(&mut out, &format!("cannot be made of the metals at hand: {why}"));
            if !self.metals.is_empty() {
                let which = match self.once_bought {
                    true => "the charge once that is bought:\n",
                    false => "the charge that comes nearest:\n",
                };
                say(&mut out, which);
            }
        }
        if self.metals.is_empty() {
            say(&mut out, "none of them goes into it\n");
        } else {
            out += &self.tables(look);
        }
        let from = self.source.as_ref().map_or(String::new(), |s| format!(" ({s})"));
        say(&mut out, &format!("limits of {}{from}", self.standard));
        if self.possible && !self.binding.is_empty() {
            say(&mut out, &format!("what keeps the price up: {}", self.binding.join(", ")));
        }
        if self.possible && !self.proven {
            let percent = self.gap * 100.0;
            say(&mut out, &format!("a charge at most {percent:.1} % cheaper may exist"));
        }
        if !self.unlimited.is_empty() {
            let says = format!(
                "no limit is known here for {}; look in the standard itself",
                self.unlimited.join(", ")
            );
            say(&mut out, &says);
        }
        if !self.unpriced.is_empty() {
            let list = self.unpriced.join(", ");
            say(&mut out, &format!("no price is known of {list}: counted as nothing"));
        }
        if !self.left_out.is_empty() {
            let says = format!(
                "of another base, and left out, since they are returns or hold elements that have no limit here: {}",
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
