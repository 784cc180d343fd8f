//! The section of a prism: its outline, area and perimeter, and what cannot be so.

use super::fault::{Fault, SPAN};
use std::borrow::Cow;

/// The section of a prism; every size is in metres.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Section {
    /// Corners in order, either way round, the last joined to the first.
    Polygon(Vec<[f64; 2]>),
    /// Two legs of one thickness at a right angle.
    L {
        /// Of the lying leg, over all.
        width: f64,
        /// Of the standing leg, over all.
        height: f64,
        /// Of both legs.
        thickness: f64,
    },
    /// A flange on a web.
    T {
        /// Of the flange.
        width: f64,
        /// Over all.
        height: f64,
        /// Thickness of the web.
        web: f64,
        /// Thickness of the flange.
        flange: f64,
    },
    /// A trough: a floor and two walls of one thickness.
    U {
        /// Over all.
        width: f64,
        /// Over all.
        height: f64,
        /// Of floor and walls.
        thickness: f64,
    },
    /// A web between two like flanges.
    I {
        /// Of the flanges.
        width: f64,
        /// Over all.
        height: f64,
        /// Thickness of the web.
        web: f64,
        /// Thickness of each flange.
        flange: f64,
    },
}

impl Section {
    /// What the section is called.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Polygon(_) => "polygon",
            Self::L { .. } => "L",
            Self::T { .. } => "T",
            Self::U { .. } => "U",
            Self::I { .. } => "I",
        }
    }

    pub(super) fn sizes(&self) -> Vec<(&'static str, f64)> {
        match *self {
            Self::Polygon(_) => Vec::new(),
            Self::L { width, height, thickness } | Self::U { width, height, thickness } => {
                vec![("width", width), ("height", height), ("thickness", thickness)]
            }
            Self::T { width, height, web, flange } | Self::I { width, height, web, flange } => {
                vec![("width", width), ("height", height), ("web", web), ("flange", flange)]
            }
        }
    }

    /// Its corners in order; counter-clockwise, but a polygon's as they were given.
    pub fn outline(&self) -> Cow<'_, [[f64; 2]]> {
        match *self {
            Self::Polygon(ref corners) => Cow::Borrowed(corners),
            Self::L { width: w, height: h, thickness: t } => {
                Cow::Owned(vec![[0.0, 0.0], [w, 0.0], [w, t], [t, t], [t, h], [0.0, h]])
            }
            Self::T { width: w, height: h, web, flange } => {
                let (left, right, under) = ((w - web) / 2.0, (w + web) / 2.0, h - flange);
                Cow::Owned(vec![
                    [left, 0.0],
                    [right, 0.0],
                    [right, under],
                    [w, under],
                    [w, h],
                    [0.0, h],
                    [0.0, under],
                    [left, under],
                ])
            }
            Self::U { width: w, height: h, thickness: t } => Cow::Owned(vec![
                [0.0, 0.0],
                [w, 0.0],
                [w, h],
                [w - t, h],
                [w - t, t],
                [t, t],
                [t, h],
                [0.0, h],
            ]),
            Self::I { width: w, height: h, web, flange } => {
                let (left, right, under) = ((w - web) / 2.0, (w + web) / 2.0, h - flange);
                Cow::Owned(vec![
                    [0.0, 0.0],
                    [w, 0.0],
                    [w, flange],
                    [right, flange],
                    [right, under],
                    [w, under],
                    [w, h],
                    [0.0, h],
                    [0.0, under],
                    [left, under],
                    [left, flange],
                    [0.0, flange],
                ])
            }
        }
    }

    /// Area, m2.
    pub fn area(&self) -> f64 {
        match *self {
            Self::Polygon(ref corners) => signed_area(corners).abs(),
            Self::L { width, height, thickness } => thickness * (width + height - thickness),
            Self::T { width, height, web, flange } => width * flange + (height - flange) * web,
            Self::U { width, height, thickness } => {
                thickness * (width + 2.0 * (height - thickness))
            }
            Self::I { width, height, web, flange } => {
                2.0 * width * flange + (height - 2.0 * flange) * web
            }
        }
    }

    /// Length of the outline, m.
    pub fn perimeter(&self) -> f64 {
        match *self {
            Self::Polygon(ref corners) => {
                edges(corners).map(|(a, b)| (b[0] - a[0]).hypot(b[1] - a[1])).sum()
            }
            Self::L { width, height, .. } | Self::T { width, height, .. } => 2.0 * (width + height),
            Self::U { width, height, thickness } => 2.0 * (width + 2.0 * height - thickness),
            Self::I { width, height, web, .. } => 2.0 * (2.0 * width + height - web),
        }
    }

    pub(super) fn extents(&self) -> [f64; 2] {
        match *self {
            Self::Polygon(ref corners) => [0, 1].map(|axis| {
                let along = || corners.iter().map(|c| c[axis]);
                let (low, high) = (
                    along().fold(f64::INFINITY, f64::min),
                    along().fold(f64::NEG_INFINITY, f64::max),
                );
                (high - low).max(0.0)
            }),
            Self::L { width, height, .. }
            | Self::T { width, height, .. }
            | Self::U { width, height, .. }
            | Self::I { width, height, .. } => [width, height],
        }
    }

    pub(super) fn faults(&self) -> Vec<Fault> {
        let mut faults = Vec::new();
        let mut too_thick = |field, size: f64, limit: f64, says: &'static str, hint| {
            if size >= limit {
                faults.push(Fault::new(field, says, hint));
            }
        };
        match *self {
            Self::Polygon(_) => {}
            Self::L { width, height, thickness } => too_thick(
                "thickness",
                thickness,
                width.min(height),
                "the thickness is not less than the width and the height, so no legs are left",
                "width and height are measured over all; for a full section write a block",
            ),
            Self::U { width, height, thickness } => too_thick(
                "thickness",
                thickness,
                height.min(width / 2.0),
                "the walls or the floor fill the trough",
                "the thickness must be less than the height and less than half the width",
            ),
            Self::T { width, height, web, flange } | Self::I { width, height, web, flange } => {
                too_thick(
                    "web",
                    web,
                    width,
                    "the web is not thinner than the flange is wide",
                    "the web is the standing part; its thickness must be less than the width",
                );
                let flanges = if matches!(self, Self::I { .. }) { 2.0 } else { 1.0 };
                too_thick(
                    "flange",
                    flange,
                    height / flanges,
                    "the flanges take the whole height, so no web is left",
                    "the flange is the lying part; the height is measured over all",
                );
            }
        }
        faults
    }
}

pub(super) fn edges(corners: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> {
    corners.iter().zip(corners.iter().cycle().skip(1)).map(|(a, b)| (*a, *b))
}

/// Area of a polygon about its first corner; positive counter-clockwise.
pub(super) fn signed_area(corners: &[[f64; 2]]) -> f64 {
    let Some(first) = corners.first() else { return 0.0 };
    corners.windows(2).map(|pair| turn(*first, pair[0], pair[1])).sum::<f64>() / 2.0
}

/// Twice the area of a triangle: positive where it turns left, nought on one line.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// What is wrong with the corners of a polygon.
pub(super) fn crooked(corners: &[[f64; 2]]) -> Option<Fault> {
    let fault = |says: String, hint: &'static str| Some(Fault::new("section", says, hint));
    if let Some(at) = corners.iter().position(|c| c.iter().any(|v| v.is_nan() || v.abs() > SPAN.1))
    {
        return fault(
            format!("corner {} of the polygon is not a point within 100 m", at + 1),
            "each corner is two lengths, across and up",
        );
    }
    if corners.len() < 3 {
        return fault(
            format!("a polygon of {} corners encloses nothing", corners.len()),
            "give three corners or more",
        );
    }
    let count = corners.len();
    if let Some(at) = edges(corners).position(|(a, b)| a == b) {
        return if at + 1 == count {
            fault(
                "the last corner of the polygon repeats the first".into(),
                "leave the last out; the outline closes by itself",
            )
        } else {
            fault(
                format!("corners {} and {} of the polygon are one point", at + 1, at + 2),
                "leave one of them out",
            )
        };
    }
    let sides: Vec<_> = edges(corners).collect();
    for (one, &(a, b)) in sides.iter().enumerate() {
        for (other, &(c, d)) in sides.iter().enumerate().skip(one + 1) {
            let meets = if other == one + 1 {
                folds_back(a, b, d)
            } else if one == 0 && other + 1 == count {
                folds_back(c, a, b)
            } else {
                meet(a, b, c, d)
            };
            if meets {
                return fault(
                    format!("sides {} and {} of the polygon cross or touch", one + 1, other + 1),
                    "give the corners in order around the outline",
                );
            }
        }
    }
    (signed_area(corners).abs() < SPAN.0 * SPAN.0).then(|| {
        Fault::new(
            "section",
            "the polygon encloses no area",
            "give corners that do not all lie on one line",
        )
    })
}

/// The first two sides of an outline that cross each other, from 1.
pub(super) fn crossed(corners: &[[f64; 2]]) -> Option<(usize, usize)> {
    let sides: Vec<_> = edges(corners).collect();
    let cross = |(a, b): ([f64; 2], [f64; 2]), (c, d): ([f64; 2], [f64; 2])| {
        turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
    };
    let pairs = (0..sides.len()).flat_map(|i| (i + 2..sides.len()).map(move |j| (i, j)));
    let found = pairs.into_iter().find(|&(i, j)| cross(sides[i], sides[j]));
    found.map(|(i, j)| (i + 1, j + 1))
}

/// Whether the way from `a` over `b` to `c` turns straight back on itself.
fn folds_back(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> bool {
    let ahead = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1]);
    turn(a, b, c) == 0.0 && ahead < 0.0
}

/// Whether two closed segments have a point in common.
fn meet(a: [f64; 2], b: [f64; 2], c: [f64; 2], d: [f64; 2]) -> bool {
    let within = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
        (0..2).all(|i| p[i].min(q[i]) <= r[i] && r[i] <= p[i].max(q[i]))
    };
    let (to_c, to_d, to_a, to_b) = (turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b));
    (to_c * to_d < 0.0 && to_a * to_b < 0.0)
        || (to_c == 0.0 && within(a, b, c))
        || (to_d == 0.0 && within(a, b, d))
        || (to_a == 0.0 && within(c, d, a))
        || (to_b == 0.0 && within(c, d, b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::Solid;

    #[test]
    fn closed_forms_of_sections_agree_with_their_outlines() {
        for section in [
            Section::L { width: 0.06, height: 0.04, thickness: 0.01 },
            Section::T { width: 0.09, height: 0.07, web: 0.012, flange: 0.015 },
            Section::U { width: 0.08, height: 0.05, thickness: 0.006 },
            Section::I { width: 0.05, height: 0.1, web: 0.007, flange: 0.009 },
        ] {
            let corners = Section::Polygon(section.outline().into_owned());
            assert!((section.area() / corners.area() - 1.0).abs() < 1e-12, "{section:?}");
            assert!((section.perimeter() / corners.perimeter() - 1.0).abs() < 1e-12, "{section:?}");
            for (one, other) in section.extents().into_iter().zip(corners.extents()) {
                assert!((one - other).abs() < 1e-15, "{section:?}");
            }
            assert!(signed_area(&section.outline()) > 0.0, "{section:?}");
            for section in [section, corners] {
                assert_eq!(Solid::Prism { section, length: 0.2 }.faults(), []);
            }
        }
    }
}
