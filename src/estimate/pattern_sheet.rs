//! The pattern maker's figures: oversize, draft, fillets, least wall.

use super::{listed, rule};
use crate::figure::*;
use crate::handbook::Family;
use crate::handbook::formulas::pattern::{self, DraftMethod};
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::model::{Build, Casting, Chain, Pattern};
use crate::shape::Solid;

/// Figures for making one pattern.
#[derive(Debug, Clone, Default)]
pub struct PatternSheet {
    /// The box around the finished part, the rough casting and the pattern that it asks for.
    pub chain: Option<Chain>,
    /// The casting as it comes off this pattern.
    pub casting_length: Option<Figure<Length>>,
    /// The casting as it comes off this pattern.
    pub casting_width: Option<Figure<Length>>,
    /// The casting as it comes off this pattern.
    pub casting_depth: Option<Figure<Length>>,
    /// Oversize of the pattern on 100 mm of casting.
    pub oversize: Option<Figure<Length>>,
    /// The largest named size, and with it all of them, on the pattern.
    pub largest: Option<Figure<Length>>,
    /// The same on a master from which a metal pattern is cast.
    pub master: Option<Figure<Length>>,
    /// In the cope.
    pub draft_cope: Option<Figure<Angle>>,
    /// In the drag.
    pub draft_drag: Option<Figure<Angle>>,
    /// Between walls.
    pub fillet: Option<Figure<Length>>,
    /// Thinnest wall that runs full.
    pub least_wall: Option<Figure<Length>>,
    /// Every size of every solid.
    pub sizes: Vec<PatternSize>,
    /// In plain words.
    pub warnings: Vec<String>,
}

/// One size of a solid, from the finished part to the pattern.
#[derive(Debug, Clone)]
pub struct PatternSize {
    /// Of which solid, and which size.
    pub name: String,
    /// On the finished part.
    pub finished: Figure<Length>,
    /// On the pattern, where its faces stay as they are cast.
    pub as_cast: Figure<Length>,
    /// On the pattern, where both its faces are machined: outward on what is added, inward on what
    /// is cut out; nothing where no stock is asked for.
    pub machined: Option<Machined>,
}

/// A size with machining stock on both its faces.
#[derive(Debug, Clone)]
pub enum Machined {
    /// On the pattern.
    Size(Figure<Length>),
    /// The stock closes the bore: it is cast solid and drilled.
    Solid,
}

impl PatternSheet {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        let mut out: Vec<(&'static str, Node)> = Vec::new();
        if let Some(chain) = &self.chain {
            let names = [
                ["finished-length", "finished-width", "finished-depth"],
                ["as-cast-length", "as-cast-width", "as-cast-depth"],
                ["pattern-length", "pattern-width", "pattern-depth"],
            ];
            for (names, sizes) in
                names.into_iter().zip([&chain.finished, &chain.as_cast, &chain.pattern])
            {
                out.extend(names.into_iter().zip(sizes).map(|(name, f)| (name, f.node().clone())));
            }
        }
        let more: Vec<(&'static str, Node)> = listed!(self:
            casting_length = "casting-length", casting_width = "casting-width",
            casting_depth = "casting-depth", oversize = "pattern-oversize",
            largest = "pattern-sizes", master = "master-size", draft_cope = "draft-cope",
            draft_drag = "draft-drag", fillet = "fillet", least_wall = "least-wall");
        out.extend(more);
        out
    }
}

pub(super) fn estimate(build: &Build, casting: &Casting) -> PatternSheet {
    let given = &build.patterns[casting.pattern].given;
    let on = &build.patterns[casting.pattern];
    let mut out = PatternSheet { chain: casting.chain(on), ..PatternSheet::default() };
    out.warnings.extend(unfit(casting, on, out.chain.as_ref(), build.header.units));
    let contraction = casting.alloy.contraction.as_ref();
    // Only a single casting is as long as its pattern: with several, the arrangement counts too.
    let comes_out = |size: &Option<Figure<Length>>| {
        let one = given.cavities == 1;
        one.then(|| Some(pattern::casting_size::figure(size.as_ref()?, contraction?)))
            .flatten()
            .map(|f| {
                f.noting(
                    "what the pattern as given casts; core prints and loose pieces count in it",
                )
            })
    };
    out.casting_length =
        comes_out(&given.length).map(|f| f.named("length that this pattern casts"));
    out.casting_width = comes_out(&given.width).map(|f| f.named("width that this pattern casts"));
    out.casting_depth = comes_out(&given.depth).map(|f| f.named("depth that this pattern casts"));
    if let Some(c) = contraction {
        out.oversize = Some(pattern::oversize::figure(c));
        sizes(&mut out, casting, c, casting.stock(on).as_ref());
        largest(&mut out, given.made_of.as_deref() == Some("metal"));
    }
    let draft = |height: Option<Figure<Length>>, name| {
        let height = height.filter(|h| h.si() > 0.0 && h.high() <= 1.6)?;
        let method = Figure::<DraftMethod>::counted("method", DraftMethod::Hand.si(), "by hand");
        Some(pattern::draft::figure(&height, &method).named(name))
    };
    out.draft_cope = draft(given.in_cope.clone(), "draft in the cope");
    out.draft_drag = draft(
        given.depth.as_ref().map(|d| {
            let taken: Vec<_> = given.in_cope.iter().cloned().collect();
            d.less("depth in the drag", &taken)
        }),
        "draft in the drag",
    );
    let least = least_wall(casting.alloy.family);
    if let Some(wall) = &casting.given.wall {
        out.fillet = Some(
            pattern::fillet::figure(wall, wall)
                .noting("half to the whole wall serves; over 1.5 walls makes a hot spot, under 2 mm tears (3 mm in bronze and iron)"),
        );
        if wall.si() < least.si() {
            let s = |v| show(Kind::Length, v, build.header.units);
            out.warnings.push(format!(
                "the wall of {} is thinner than the {} that {} usually runs full in sand: thicken it, or pour hot and fast with several ingates",
                s(wall.si()),
                s(least.si()),
                casting.alloy.family.word()
            ));
        }
    }
    out.least_wall = Some(least);
    out
}

/// What a pattern that is taken as it was found leaves missing, or one that is much too large.
fn unfit(casting: &Casting, on: &Pattern, chain: Option<&Chain>, units: System) -> Option<String> {
    let chain = chain?;
    let s = |v| show(Kind::Length, v, units);
    if let Some(short) = chain.short(on) {
        return Some(format!(
            "the pattern is {} too small for the least stock: look before you pour whether the casting can be machined all over",
            s(short)
        ));
    }
    let over = chain.much_larger(on).filter(|_| casting.given.cores.is_none())?;
    Some(format!(
        "the pattern is {} larger than this casting asks for: is it the right one?",
        s(over)
    ))
}

/// Every size of the solids as it stands on the pattern.
fn sizes(
    out: &mut PatternSheet,
    casting: &Casting,
    contraction: &Figure<Ratio>,
    stock: Option<&Figure<Length>>,
) {
    let ShapeGiven::Solids(solids) = &casting.given.shape else { return };
    for solid in solids {
        let called = solid.called.as_deref().unwrap_or(solid.solid.name());
        for node in solid.sizes.iter().filter(|n| n.kind() == Kind::Length) {
            let finished = Figure::<Length>::typed(node.clone());
            let name = format!("{called}, {}", node.name());
            let on_pattern = |size: &Figure<Length>| {
                pattern::pattern_size::figure(size, contraction).named(name.clone())
            };
            let as_cast = on_pattern(&finished);
            let machined = stock.map(|stock| match with_stock(solid, &finished, stock) {
                Some(size) => Machined::Size(on_pattern(&size)),
                None => Machined::Solid,
            });
            out.sizes.push(PatternSize { name: name.clone(), finished, as_cast, machined });
        }
    }
}

/// A size with stock on both its faces; none where a bore is closed by it. The way through a
/// cut-out has no faces of its own.
fn with_stock(
    solid: &SolidGiven,
    size: &Figure<Length>,
    stock: &Figure<Length>,
) -> Option<Figure<Length>> {
    let name = size.node().name();
    let inward = solid.less || name == "inside";
    let way = match solid.solid {
        Solid::Plate { .. } => "thickness",
        Solid::Block { .. } => "height",
        _ => "length",
    };
    if solid.less && name == way {
        return Some(size.clone());
    }
    let (a, b) = (size.node().range(), stock.node().range());
    let (range, because) = match inward {
        false => (
            Range {
                low: a.low + 2.0 * b.low,
                likely: a.likely + 2.0 * b.likely,
                high: a.high + 2.0 * b.high,
            },
            "size + stock on both sides",
        ),
        true => (
            Range {
                low: a.low - 2.0 * b.high,
                likely: a.likely - 2.0 * b.likely,
                high: a.high - 2.0 * b.low,
            },
            "size - stock on both sides",
        ),
    };
    let nodes = vec![size.node().clone(), stock.node().clone()];
    (range.low > 0.0)
        .then(|| Figure::new("size with stock", range, Because::Closed(because, nodes)))
}

/// The largest size on the pattern, and on the master of a metal one.
fn largest(out: &mut PatternSheet, metal: bool) {
    let with = |size: &PatternSize| match &size.machined {
        Some(Machined::Size(size)) => size.clone(),
        _ => size.as_cast.clone(),
    };
    let largest = out.sizes.iter().max_by(|a, b| with(a).si().total_cmp(&with(b).si()));
    let Some(size) = largest else { return };
    let nodes = out.sizes.iter().map(|size| with(size).node().clone()).collect();
    let range = with(size).node().range();
    if metal {
        let second: Figure<Ratio> = rule(
            "contraction of the pattern's metal",
            [0.0125, 0.013, 0.0182],
            Known::Published,
            "an aluminium pattern: makeitfrom 1.3 %, Westermann 1.25, Dooley 7/32 in/ft",
        );
        out.master = Some(
            pattern::pattern_size::figure(&with(size), &second).named("largest size on the master"),
        );
    }
    out.largest = Some(
        Figure::new(
            "largest size on the pattern",
            range,
            Because::Chosen(
                "of all sizes, the finished part's with stock where it is machined and contraction"
                    .into(),
                nodes,
            ),
        )
        .noting("draft comes on top"),
    );
}

fn least_wall(family: Family) -> Figure<Length> {
    let (mm, known, citation) = match family {
        Family::Aluminium => (
            [3.0, 4.0, 6.0],
            Known::Published,
            "rotocastmold.com: 3 mm least, 3 to 5 usual, 5 to 6 and more where large",
        ),
        Family::Zinc => {
            ([2.5, 3.0, 3.5], Known::FromMemory, "ZA-8 and ZA-12 2.5 to 3 mm, ZA-27 3 to 3.5")
        }
        Family::Copper => (
            [2.5, 4.0, 5.0],
            Known::FromMemory,
            "tin bronze 3 to 5 mm, aluminium bronze 3.5 to 5, silicon bronze and brass 2.5 to 4",
        ),
        Family::Iron => {
            ([3.0, 4.6, 5.0], Known::Published, "Waupaca 0.180 in; small work 3 mm from memory")
        }
    };
    rule("least wall in sand", mm.map(|v| v * 1e-3), known, citation)
}
