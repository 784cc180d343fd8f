//! The thickest place: the largest ball that fits inside a mesh, a solid, a casting.

use super::Section;
use super::faces::{MOST_CUT, WALLS, share_cut};
use crate::estimate::rough::Rough;
use crate::figure::*;
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::model::Casting;
use crate::shape::{Frame, Looked, Solid, Thickest, thickest, thickest_default};

/// The largest ball in a body, and what the cells tell with it, in the body's own measures.
pub(super) fn largest_ball(
    casting: &Casting,
    rough: &Rough,
    volume: &Figure<Volume>,
) -> Option<(Figure<Length>, Thickest)> {
    let found = thickest_default(&Looked::Body(&rough.body))?;
    if is_plain(casting) {
        let size = rough.body.extents().into_iter().fold(f64::INFINITY, f64::min);
        let because = Because::Closed("the largest ball inside", vec![volume.node().clone()]);
        return Some((Figure::new("thickest place", Range::exact(size), because), found));
    }
    let [radius, cell] = [found.radius, found.voxel].map(|size| size / rough.oversize);
    Some((ball(radius, cell, vec![volume.node().clone()]), found))
}

/// Whether a casting is one plain solid, whose least extent is the largest ball.
fn is_plain(casting: &Casting) -> bool {
    let ShapeGiven::Solids(solids) = &casting.given.shape else { return false };
    let [only] = solids.as_slice() else { return false };
    let one = only.frames.as_ref().map_or(only.count, |frames| frames.len() as u32) == 1;
    let plain = matches!(
        only.solid,
        Solid::Plate { .. } | Solid::Block { .. } | Solid::Cylinder { .. } | Solid::Sphere { .. }
    );
    one && plain && only.frames.as_ref().is_none_or(|frames| frames[0].axes == Frame::HOME.axes)
}

/// A ball found on cells: how far it may be off is known.
fn ball(radius: f64, cell: f64, nodes: Vec<Node>) -> Figure<Length> {
    let half_diagonal = 0.75_f64.sqrt() * cell;
    Figure::new(
        "thickest place",
        Range {
            low: 2.0 * (radius - cell).max(0.0),
            likely: 2.0 * radius,
            high: 2.0 * (radius + half_diagonal),
        },
        Because::Closed("diameter of the largest ball inside, found on cubic cells", nodes),
    )
    .noting(format!("on cells of {}", show(Kind::Length, cell, System::Metric)))
}

/// The largest ball in a solid with its cut-outs.
pub(super) fn place_of_solid(
    solid: &SolidGiven,
    cuts: &[&SolidGiven],
    volume: &Figure<Volume>,
    modulus: &Figure<Length>,
) -> Figure<Length> {
    let whole = inscribed(solid);
    let share = share_cut(solid, cuts);
    if cuts.is_empty() || share > MOST_CUT {
        return whole;
    }
    let (m, most) = (modulus.si(), whole.high());
    let high = if share > WALLS { (4.0 * m).min(most) } else { most };
    Figure::new(
        "thickest place",
        Range { low: (2.0 * m).min(high), likely: (2.5 * m).min(high), high },
        Because::Closed(
            "2.5 x modulus, as where two equal walls meet; low: 2 x modulus; high: as without cut-outs, or 4 x modulus where they leave but walls",
            vec![modulus.node().clone(), volume.node().clone(), whole.node().clone()],
        ),
    )
}

/// Cells along the longest side of a prism or cone: its doubt, a cell or so, is told with it.
const CELLS: usize = 40;

/// A section that lies on another is thicker with it: no ball is less than twice the modulus.
pub(super) fn over_joint(place: Figure<Length>, modulus: &Figure<Length>) -> Figure<Length> {
    let (p, m) = (place.node().range(), modulus.node().range());
    if p.likely >= 2.0 * m.likely {
        return place;
    }
    Figure::new(
        "thickest place",
        Range { low: p.low, likely: 2.0 * m.likely, high: p.high.max(2.0 * m.high) },
        Because::Chosen(
            "2 x modulus, for it lies with its face on another; low: by itself".into(),
            vec![modulus.node().clone(), place.node().clone()],
        ),
    )
}

/// The largest ball in one solid: by its sizes, or found on cells.
fn inscribed(solid: &SolidGiven) -> Figure<Length> {
    let exact = |d: f64| {
        let because = Because::Closed("the largest ball inside", solid.sizes.clone());
        Figure::<Length>::new("thickest place", Range::exact(d), because)
    };
    match solid.solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => exact(length.min(width).min(height)),
        Solid::Cylinder { diameter, length } => exact(diameter.min(length)),
        Solid::Tube { outside, inside, length } => exact(((outside - inside) / 2.0).min(length)),
        Solid::Ring { section, .. } => exact(section),
        Solid::Sphere { diameter } => exact(diameter),
        Solid::Prism { .. } | Solid::Cone { .. } => {
            let [x, y, z] = solid.solid.extents();
            // No ball is longer than its section is wide, so no more of the length is looked into.
            let shown = match &solid.solid {
                Solid::Prism { section, length } => {
                    Solid::Prism { section: section.clone(), length: length.min(x.min(y)) }
                }
                other => other.clone(),
            };
            match thickest(&Looked::Solid(&shown), CELLS) {
                Some(found) => ball(found.radius, found.voxel, solid.sizes.clone()),
                None => exact(x.min(y).min(z)),
            }
        }
    }
}

/// What the place is called, and the section that stands for it.
pub(super) const THICKEST: &str = "thickest place";

/// The thickest place of the casting: the largest of its sections', and at most where the two
/// thickest of them meet as a T.
pub(in crate::estimate) fn thickest_place(sections: &[Section]) -> Option<Figure<Length>> {
    let mut by_size: Vec<&Section> = sections.iter().collect();
    by_size.sort_by(|a, b| b.place.si().total_cmp(&a.place.si()));
    let first = *by_size.first()?;
    // A section that is the thickest place of a solid says so itself.
    let name = match first.name.starts_with(THICKEST) {
        true => first.name.clone(),
        false => format!("{THICKEST}: {}", first.name),
    };
    if sections.len() == 1 && first.count == 1 {
        return Some(first.place.named(name));
    }
    let second = if first.count > 1 { first } else { by_size[1] };
    let range = first.place.node().range();
    // A rib of thickness b on a plate of thickness a: the ball touches the far face of the plate
    // and the two inner corners.
    let (a, b) = (range.high, second.place.node().range().high.min(range.high));
    Some(Figure::new(
        name,
        Range { high: a + b * b / (4.0 * a), ..range },
        Because::Closed(
            "the largest of the sections'; high: where it meets the next thickest as a T, a + b^2 / (4 a)",
            vec![first.place.node().clone(), second.place.node().clone()],
        ),
    ))
}
