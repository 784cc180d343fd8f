//! The pattern maker's figures: oversize, draft, fillets, least wall.

use super::{listed, rule};
use crate::figure::*;
use crate::handbook::Family;
use crate::handbook::formulas::pattern::{self, DraftMethod};
use crate::model::{Build, Casting, Chain, ChainSize, Hole, Opening, Pattern};

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
    pub sizes: Vec<ChainSize>,
    /// In plain words.
    pub warnings: Vec<String>,
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

    /// Each size of each solid on its way to the pattern, with the name that `why` answers to.
    pub fn asked(&self) -> impl Iterator<Item = (String, Node)> {
        self.sizes.iter().flat_map(|size| {
            let named =
                |step: &str, f: &Figure<Length>| (format!("{}-{step}", size.ask), f.node().clone());
            let cast = size.cast.iter();
            let cast = cast.flat_map(|[cast, on]| [named("as-cast", cast), named("pattern", on)]);
            [named("finished", &size.finished)].into_iter().chain(cast).collect::<Vec<_>>()
        })
    }
}

pub(super) fn estimate(build: &Build, casting: &Casting) -> PatternSheet {
    let given = &build.patterns[casting.pattern].given;
    let on = &build.patterns[casting.pattern];
    let mut out = PatternSheet { chain: casting.chain(on), ..PatternSheet::default() };
    out.warnings.extend(unfit(casting, on, out.chain.as_ref(), build.header.units));
    out.warnings.extend(holes(casting, on, build.header.units));
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
        out.sizes = casting.sizes(on);
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
                .noting("half the wall to the whole wall will do; over 1.5 walls makes a hot spot, under 2 mm tears (3 mm in bronze and iron)"),
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
            "the pattern is {} too small for the least stock: check before you pour that the casting can be machined all over",
            s(short)
        ));
    }
    let over = chain.much_larger(on).filter(|_| casting.given.cores.is_none())?;
    Some(format!(
        "the pattern is {} larger than this casting asks for: is it the right one?",
        s(over)
    ))
}

/// Holes that the pattern cannot leave in green sand: those to be drilled, and those that want a core
/// that nothing is said of.
fn holes(casting: &Casting, on: &Pattern, units: System) -> Vec<String> {
    let openings = casting.openings(on);
    let s = |kind, v| show(kind, v, units);
    let size = |o: &Opening| {
        let (across, deep) = (s(Kind::Length, o.across), s(Kind::Length, o.deep));
        format!("`{}`, {across} across and {deep} deep as cast", o.name)
    };
    let volume = |o: &Opening| o.sand.volume() * o.frames.len() as f64;
    let drilled = openings.iter().filter(|o| o.how == Hole::Solid).map(|o| {
        let metal = s(Kind::Volume, volume(o));
        format!(
            "{}: too small to core, so cast it solid and drill it; that adds {metal} of metal",
            size(o)
        )
    });
    let cored: Vec<&Opening> = openings.iter().filter(|o| o.how == Hole::Core).collect();
    let sum: f64 = cored.iter().map(|o| volume(o)).sum();
    let all: Vec<String> = cored.iter().map(|o| size(o)).collect();
    let wanted = (!cored.is_empty() && casting.given.cores.is_none()).then(|| {
        format!(
            "{}: it does not draw, or green sand does not stand in it: give it a dry core, `cores: {{volume: {}}}`",
            all.join("; "),
            s(Kind::Volume, sum)
        )
    });
    let given = casting.given.cores.as_ref();
    let differs = given.zip(casting.drawn_cores(on)).filter(|(given, d)| d.disagrees(given));
    let differs = differs.map(|(given, drawn)| {
        let volumes = [given.si(), drawn.in_metal, drawn.with_prints];
        let alike = Alike::of(Kind::Volume, volumes, units);
        format!(
            "`cores` gives {}, and the cores that are drawn are {} in the metal and {} with their \
             prints: correct the volume, or draw what is missing",
            alike.show(given.si()),
            alike.show(drawn.in_metal),
            alike.show(drawn.with_prints)
        )
    });
    drilled.chain(wanted).chain(differs).collect()
}

/// The largest size on the pattern, and on the master of a metal one.
fn largest(out: &mut PatternSheet, metal: bool) {
    let sizes = || out.sizes.iter().filter_map(|size| size.cast.as_ref().map(|cast| &cast[1]));
    let Some(size) = sizes().max_by(|a, b| a.si().total_cmp(&b.si())).cloned() else { return };
    let nodes = sizes().map(|size| size.node().clone()).collect();
    let range = size.node().range();
    if metal {
        let second: Figure<Ratio> = rule(
            "contraction of the pattern's metal",
            [0.0125, 0.013, 0.0182],
            Known::Published,
            "an aluminium pattern: makeitfrom 1.3 %, Westermann 1.25, Dooley 7/32 in/ft",
        );
        out.master =
            Some(pattern::pattern_size::figure(&size, &second).named("largest size on the master"));
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
