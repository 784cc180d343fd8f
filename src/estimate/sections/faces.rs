//! The faces of a casting: where its solids are taken to be joined, what cut-outs open, what cools.

use super::Whole;
use crate::estimate::rule;
use crate::figure::*;
use crate::handbook::formulas::cooling::Body;
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::model::Casting;
use crate::shape::{Section as Outline, Solid};
use std::f64::consts::PI;

/// Which of the added solids one is cut out of: the named one, or else the largest.
pub(super) fn host(added: &[&SolidGiven], cut: &SolidGiven) -> Option<usize> {
    match &cut.of {
        Some(of) => added.iter().position(|s| s.name() == &*of.value),
        None => largest(added),
    }
}

pub(super) fn largest(added: &[&SolidGiven]) -> Option<usize> {
    let whole = |at: &usize| added[*at].solid.volume() * f64::from(added[*at].count);
    (0..added.len()).max_by(|a, b| whole(a).total_cmp(&whole(b)))
}

/// What is hollowed out beyond this share is all walls.
pub(super) const WALLS: f64 = 0.3;
/// Cut-outs that take more than this share cannot all be in the solid that they are given to.
pub(super) const MOST_CUT: f64 = 0.95;

/// Share of a solid that is cut out of it.
pub(super) fn share_cut(solid: &SolidGiven, cuts: &[&SolidGiven]) -> f64 {
    cuts.iter().map(|c| c.volume().si()).sum::<f64>() / solid.volume().si()
}

/// Volume, surface and body of a solid with its cut-outs taken from it; as it is where it could
/// not hold all of them.
pub(super) fn hollowed(
    solid: &SolidGiven,
    cuts: &[&SolidGiven],
) -> (Figure<Volume>, Figure<Area>, Body) {
    let (volume, surface) = (solid.volume(), solid.surface());
    let share = share_cut(solid, cuts);
    if cuts.is_empty() || share > MOST_CUT {
        return (volume, surface, body(&solid.solid));
    }
    let gained: f64 = cuts.iter().map(|c| gained(c, solid)).sum();
    let nodes = std::iter::once(surface.node().clone())
        .chain(cuts.iter().map(|c| c.surface().node().clone()));
    let surface = Figure::new(
        "faces inside and out",
        Range::exact((surface.si() + gained).max(surface.si() / 3.0)),
        Because::Closed(
            "all faces, and those of each cut-out less twice its mouth, or less twice both mouths where it goes through",
            nodes.collect(),
        ),
    );
    let taken: Vec<_> = cuts.iter().map(|c| c.volume()).collect();
    let body = if share > WALLS { Body::Plate } else { body(&solid.solid) };
    (volume.less("solid less cut-outs", &taken), surface, body)
}

/// Surface that cut-outs add to the solid they are in, m2; less than nought for a hole that takes
/// away more of its two faces than it has wall.
fn gained(cut: &SolidGiven, host: &SolidGiven) -> f64 {
    let (mouth, depth) = mouth(&cut.solid);
    let mouths = if goes_through(depth, host) { 2.0 } else { 1.0 };
    (cut.solid.surface() - 2.0 * mouths * mouth) * f64::from(cut.count)
}

/// Whether a cut-out goes through what it is in.
fn goes_through(depth: f64, host: &SolidGiven) -> bool {
    depth >= 0.98 * host.solid.extents().into_iter().fold(f64::INFINITY, f64::min)
}

/// The least, likely and largest face by which all of these together may be joined to the main
/// solid, m2: without the mouths of what goes through them, and no more than the section of a main
/// solid that is a prism.
pub(super) fn joined(
    solid: &SolidGiven,
    cuts: &[&SolidGiven],
    main: Option<&SolidGiven>,
) -> [f64; 3] {
    let count = f64::from(solid.count);
    let mouths: f64 = cuts
        .iter()
        .map(|c| (mouth(&c.solid), f64::from(c.count)))
        .filter(|((_, depth), _)| goes_through(*depth, solid))
        .map(|((area, _), times)| area * times)
        .sum();
    let most = match main.map(|m| &m.solid) {
        Some(Solid::Prism { section, .. }) => section.area(),
        _ => f64::INFINITY,
    };
    joint(&solid.solid).map(|face| (face.min(most) * count - mouths).max(0.0))
}

/// The face by which a cut-out opens, m2, and how deep it goes, m.
fn mouth(solid: &Solid) -> (f64, f64) {
    match *solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => {
            let least = length.min(width).min(height);
            (length * width * height / least, least)
        }
        Solid::Cylinder { length, .. }
        | Solid::Tube { length, .. }
        | Solid::Cone { length, .. }
        | Solid::Prism { length, .. } => (joint(solid)[1], length),
        Solid::Ring { .. } | Solid::Sphere { .. } => (0.0, 0.0),
    }
}

/// The faces of a section without the one by which it is joined to the rest; at most all of them.
pub(super) fn less_joint(free: &Figure<Area>, joint: f64) -> Figure<Area> {
    if joint <= 0.0 {
        return free.clone();
    }
    let all = free.node().range();
    let cools = (all.likely - joint).max(all.likely / 3.0);
    Figure::new(
        "faces that cool",
        Range { low: cools.min(all.low), likely: cools, high: all.high },
        Because::Closed(
            "all faces less the one by which it is taken to be joined: a plate's long edge, a block's widest face, an end; high: all",
            vec![free.node().clone()],
        ),
    )
}

/// The plain body that a solid cools like.
fn body(solid: &Solid) -> Body {
    match *solid {
        Solid::Plate { .. } => Body::Plate,
        Solid::Block { length, width, height } => {
            let mut sizes = [length, width, height];
            sizes.sort_by(f64::total_cmp);
            match sizes[0] / sizes[1] {
                flat if flat < 0.2 => Body::Plate,
                flat if flat < 0.8 => Body::Bar,
                _ => Body::SquareBar,
            }
        }
        Solid::Cylinder { diameter, length } if length < 0.2 * diameter => Body::Plate,
        Solid::Cylinder { diameter, length } if length < 0.4 * diameter => Body::Bar,
        Solid::Tube { outside, inside, .. } if outside - inside < inside => Body::Plate,
        Solid::Tube { .. } => Body::Bar,
        Solid::Prism { section: Outline::Polygon(_), .. } => Body::SquareBar,
        // L, T, U and I are walls.
        Solid::Prism { .. } => Body::Plate,
        Solid::Sphere { .. } => Body::Ball,
        _ => Body::Round,
    }
}

/// The least, likely and largest face by which one of these may be joined to its neighbour.
fn joint(solid: &Solid) -> [f64; 3] {
    match *solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => {
            let mut s = [length, width, height];
            s.sort_by(f64::total_cmp);
            let (end, edge, flat) = (s[0] * s[1], s[0] * s[2], s[1] * s[2]);
            let likely = if matches!(solid, Solid::Plate { .. }) { edge } else { flat };
            [end, likely, flat]
        }
        Solid::Cylinder { diameter, .. } => [PI / 4.0 * diameter * diameter; 3],
        Solid::Cone { bottom, .. } => [PI / 4.0 * bottom * bottom; 3],
        Solid::Tube { outside, inside, length } => {
            let end = PI / 4.0 * (outside * outside - inside * inside);
            // A rim hangs on a web of about a third of its width, a bush stands on its end.
            let rim = PI * inside * length / 3.0;
            let likely = if length < inside / 2.0 { end.min(rim) } else { end };
            [end.min(rim), likely, end.max(likely)]
        }
        Solid::Prism { ref section, .. } => [section.area(); 3],
        Solid::Ring { .. } | Solid::Sphere { .. } => [0.0; 3],
    }
}

/// Faces that give off heat: those of the shape less joints, with the inside of cut-outs, less
/// what is insulated, and what is chilled counted for more.
pub(in crate::estimate) fn cooling_surface(
    casting: &Casting,
    whole: Whole<'_>,
) -> Option<Figure<Area>> {
    let bare = match &casting.given.shape {
        _ if whole.body.is_some() => whole.surface?.named("cooling surface"),
        ShapeGiven::Solids(solids) => of_faces(solids),
        _ => return None,
    };
    let (insulated, chilled) = (&casting.given.insulated, &casting.given.chilled);
    if insulated.is_none() && chilled.is_none() {
        return Some(bare);
    }
    let factor: Figure<Number> = rule(
        "a chilled face counts",
        [1.5, 2.0, 3.0],
        Known::FromMemory,
        "a face on iron chills takes the heat of about twice its area of sand (Wlodawer)",
    );
    let (a, f) = (bare.node().range(), factor.node().range());
    let range =
        |of: &Option<Figure<Area>>| of.as_ref().map_or(Range::exact(0.0), |f| f.node().range());
    let (i, c) = (range(insulated), range(chilled));
    let left = |a: f64, i: f64, c: f64, f: f64| (a - i + (f - 1.0) * c).max(a / 20.0);
    let mut nodes = vec![bare.node().clone()];
    nodes.extend(insulated.iter().chain(chilled).map(|f| f.node().clone()));
    nodes.extend(chilled.iter().map(|_| factor.node().clone()));
    Some(
        Figure::new(
            "cooling surface",
            Range {
                low: left(a.low, i.high, c.low, f.low),
                likely: left(a.likely, i.likely, c.likely, f.likely),
                high: left(a.high, i.low, c.high, f.high),
            },
            Because::Closed("faces - insulated + (factor - 1) x chilled", nodes),
        )
        .noting("insulated and chilled faces count for the whole casting, not for one section"),
    )
}

/// Faces of the added solids less those at which they are taken to be joined, with what the
/// cut-outs open.
fn of_faces(solids: &[SolidGiven]) -> Figure<Area> {
    let added: Vec<&SolidGiven> = solids.iter().filter(|s| !s.less).collect();
    let cuts: Vec<&SolidGiven> = solids.iter().filter(|s| s.less).collect();
    let total: f64 = added.iter().map(|s| s.surface().si()).sum();
    let main = largest(&added);
    let opened = |c: &&SolidGiven| host(&added, c).map_or(0.0, |at| gained(c, added[at]));
    let opened: f64 = cuts.iter().map(opened).sum();
    let mut lost = [0.0; 3];
    for (i, s) in added.iter().enumerate() {
        let within: Vec<&SolidGiven> =
            cuts.iter().copied().filter(|c| host(&added, c) == Some(i)).collect();
        let each = if Some(i) == main { f64::from(s.count - 1) / f64::from(s.count) } else { 1.0 };
        for (sum, face) in lost.iter_mut().zip(joined(s, &within, main.map(|m| added[m]))) {
            *sum += 2.0 * face * each;
        }
    }
    // However they are joined, a third of the faces is left in any casting of walls and bosses.
    let left = |lost: f64| (total + opened - lost).max(total / 3.0);
    let range = Range { low: left(lost[2]), likely: left(lost[1]), high: left(lost[0]) };
    let nodes = added.iter().chain(&cuts).map(|s| s.surface().node().clone()).collect();
    let says = if cuts.is_empty() {
        "all faces, less twice one face of every solid but the largest"
    } else {
        "all faces, less twice one face of every solid but the largest, and the walls of cut-outs less what their mouths take away"
    };
    Figure::new("cooling surface", range, Because::Closed(says, nodes))
        .noting("how the solids join is not drawn: each is taken to stand on one face, a plate on its long edge")
}
