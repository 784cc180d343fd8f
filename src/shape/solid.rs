//! Plain solids: volume, surface and size by closed forms, and what cannot be so.

use std::borrow::Cow;
use std::f64::consts::PI;

/// A plain solid; every size is in metres.
#[derive(Debug, Clone, PartialEq)]
pub enum Solid {
    /// Flat and thin.
    Plate {
        /// Along x.
        length: f64,
        /// Along y.
        width: f64,
        /// Along z, the least of the three.
        thickness: f64,
    },
    /// Six right-angled faces.
    Block {
        /// Along x.
        length: f64,
        /// Along y.
        width: f64,
        /// Along z.
        height: f64,
    },
    /// A round bar or disc, standing along z.
    Cylinder {
        /// Across.
        diameter: f64,
        /// Along the axis.
        length: f64,
    },
    /// A round bar with a round hole through it, standing along z.
    Tube {
        /// Diameter over all.
        outside: f64,
        /// Diameter of the hole.
        inside: f64,
        /// Along the axis.
        length: f64,
    },
    /// A cone, cut off square or pointed, standing along z.
    Cone {
        /// Diameter at the bottom.
        bottom: f64,
        /// Diameter at the top; nought for a point.
        top: f64,
        /// Along the axis.
        length: f64,
    },
    /// A ring of round section, lying flat.
    Ring {
        /// Diameter over all.
        outside: f64,
        /// Diameter of the round section.
        section: f64,
    },
    /// A ball.
    Sphere {
        /// Across.
        diameter: f64,
    },
    /// One section all along its length, standing along z.
    Prism {
        /// What a square cut shows.
        section: Section,
        /// Along the axis.
        length: f64,
    },
}

/// The section of a [`Solid::Prism`]; every size is in metres.
#[derive(Debug, Clone, PartialEq)]
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

/// Why a solid cannot be as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The size at fault, as the manifest names it.
    pub field: &'static str,
    /// What is wrong.
    pub says: Cow<'static, str>,
    /// What would put it right.
    pub hint: Cow<'static, str>,
}

impl Fault {
    fn new(
        field: &'static str,
        says: impl Into<Cow<'static, str>>,
        hint: impl Into<Cow<'static, str>>,
    ) -> Self {
        Self { field, says: says.into(), hint: hint.into() }
    }
}

impl Solid {
    /// What the shape is called.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Plate { .. } => "plate",
            Self::Block { .. } => "block",
            Self::Cylinder { .. } => "cylinder",
            Self::Tube { .. } => "tube",
            Self::Cone { .. } => "cone",
            Self::Ring { .. } => "ring",
            Self::Sphere { .. } => "sphere",
            Self::Prism { .. } => "prism",
        }
    }

    /// How [`Solid::volume`] is reckoned, in words.
    pub const fn volume_formula(&self) -> &'static str {
        match self {
            Self::Plate { .. } => "length x width x thickness",
            Self::Block { .. } => "length x width x height",
            Self::Cylinder { .. } => "pi / 4 x diameter^2 x length",
            Self::Tube { .. } => "pi / 4 x (outside^2 - inside^2) x length",
            Self::Cone { .. } => "pi / 12 x (bottom^2 + bottom x top + top^2) x length",
            Self::Ring { .. } => "pi^2 / 4 x (outside - section) x section^2",
            Self::Sphere { .. } => "pi / 6 x diameter^3",
            Self::Prism { .. } => "area of the section x length",
        }
    }

    /// Every size by its name, in metres; the corners of a polygon are not among them.
    pub fn sizes(&self) -> Vec<(&'static str, f64)> {
        match *self {
            Self::Plate { length, width, thickness } => {
                vec![("length", length), ("width", width), ("thickness", thickness)]
            }
            Self::Block { length, width, height } => {
                vec![("length", length), ("width", width), ("height", height)]
            }
            Self::Cylinder { diameter, length } => vec![("diameter", diameter), ("length", length)],
            Self::Tube { outside, inside, length } => {
                vec![("outside", outside), ("inside", inside), ("length", length)]
            }
            Self::Cone { bottom, top, length } => {
                vec![("bottom", bottom), ("top", top), ("length", length)]
            }
            Self::Ring { outside, section } => vec![("outside", outside), ("section", section)],
            Self::Sphere { diameter } => vec![("diameter", diameter)],
            Self::Prism { ref section, length } => {
                let mut sizes = section.sizes();
                sizes.push(("length", length));
                sizes
            }
        }
    }

    /// Volume, m3.
    pub fn volume(&self) -> f64 {
        match *self {
            Self::Plate { length, width, thickness: height }
            | Self::Block { length, width, height } => length * width * height,
            Self::Cylinder { diameter, length } => disc(diameter) * length,
            Self::Tube { outside, inside, length } => annulus(outside, inside) * length,
            Self::Cone { bottom, top, length } => {
                PI / 12.0 * (bottom * bottom + bottom * top + top * top) * length
            }
            Self::Ring { outside, section } => {
                PI * PI / 4.0 * (outside - section) * section * section
            }
            Self::Sphere { diameter } => PI / 6.0 * diameter.powi(3),
            Self::Prism { ref section, length } => section.area() * length,
        }
    }

    /// Surface all round, m2.
    pub fn surface(&self) -> f64 {
        match *self {
            Self::Plate { length, width, thickness: height }
            | Self::Block { length, width, height } => {
                2.0 * (length * width + length * height + width * height)
            }
            Self::Cylinder { diameter, length } => PI * diameter * length + 2.0 * disc(diameter),
            Self::Tube { outside, inside, length } => {
                PI * (outside + inside) * length + 2.0 * annulus(outside, inside)
            }
            Self::Cone { bottom, top, length } => {
                let slant = length.hypot((bottom - top) / 2.0);
                PI / 2.0 * (bottom + top) * slant + disc(bottom) + disc(top)
            }
            Self::Ring { outside, section } => PI * PI * (outside - section) * section,
            Self::Sphere { diameter } => PI * diameter * diameter,
            Self::Prism { ref section, length } => {
                2.0 * section.area() + section.perimeter() * length
            }
        }
    }

    /// Lengths of the box around it along x, y and z, m.
    pub fn extents(&self) -> [f64; 3] {
        match *self {
            Self::Plate { length, width, thickness: height }
            | Self::Block { length, width, height } => [length, width, height],
            Self::Cylinder { diameter: across, length }
            | Self::Tube { outside: across, length, .. } => [across, across, length],
            Self::Cone { bottom, top, length } => [bottom.max(top), bottom.max(top), length],
            Self::Ring { outside, section } => [outside, outside, section],
            Self::Sphere { diameter } => [diameter; 3],
            Self::Prism { ref section, length } => {
                let [x, y] = section.extents();
                [x, y, length]
            }
        }
    }

    /// What cannot be so; empty for a solid that can be cast.
    pub fn faults(&self) -> Vec<Fault> {
        let pointed = matches!(self, Self::Cone { .. });
        let mut faults: Vec<Fault> = self
            .sizes()
            .into_iter()
            .filter_map(|(field, size)| not_a_size(field, size, pointed && field != "length"))
            .collect();
        if let Self::Prism { section: Section::Polygon(corners), .. } = self {
            faults.extend(crooked(corners));
        }
        if !faults.is_empty() {
            return faults;
        }
        match *self {
            Self::Plate { length, width, thickness } if thickness > width.min(length) => {
                faults.push(Fault::new(
                    "thickness",
                    "the thickness is more than the width or the length",
                    "give the least of the three as the thickness, or write it as a block",
                ));
            }
            Self::Tube { outside, inside, .. } if inside >= outside => faults.push(Fault::new(
                "inside",
                "the inside is not less than the outside, so no wall is left",
                "both are diameters; the inside must be the lesser",
            )),
            Self::Cone { bottom, top, .. } if bottom == 0.0 && top == 0.0 => {
                faults.push(Fault::new(
                    "bottom",
                    "bottom and top are both nought",
                    "only one end of a cone can be a point",
                ));
            }
            Self::Ring { outside, section } if section > outside / 2.0 => faults.push(Fault::new(
                "section",
                "the section is more than half the outside, so the ring runs into itself",
                "the outside is measured over all and the section across the round bar",
            )),
            Self::Prism { ref section, .. } => faults.extend(section.faults()),
            _ => {}
        }
        faults
    }
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

    fn sizes(&self) -> Vec<(&'static str, f64)> {
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

    fn extents(&self) -> [f64; 2] {
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

    fn faults(&self) -> Vec<Fault> {
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

fn disc(diameter: f64) -> f64 {
    PI / 4.0 * diameter * diameter
}

fn annulus(outside: f64, inside: f64) -> f64 {
    PI / 4.0 * (outside - inside) * (outside + inside)
}

fn edges(corners: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> {
    corners.iter().zip(corners.iter().cycle().skip(1)).map(|(a, b)| (*a, *b))
}

/// Area of a polygon about its first corner; positive counter-clockwise.
fn signed_area(corners: &[[f64; 2]]) -> f64 {
    let Some(first) = corners.first() else { return 0.0 };
    corners.windows(2).map(|pair| turn(*first, pair[0], pair[1])).sum::<f64>() / 2.0
}

/// Twice the area of a triangle: positive where it turns left, nought on one line.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Least and most that a length may be, m: a thousandth of a millimetre and a hundred metres.
const SPAN: (f64, f64) = (1e-6, 100.0);

fn not_a_size(field: &'static str, size: f64, may_be_nought: bool) -> Option<Fault> {
    if (SPAN.0..=SPAN.1).contains(&size) || (may_be_nought && size == 0.0) {
        return None;
    }
    Some(if !size.is_finite() {
        Fault::new(field, format!("{field} is not a number"), "write a length, such as 180 mm")
    } else if size <= 0.0 {
        Fault::new(
            field,
            format!("{field} is not more than nought"),
            "every size of a solid must be more than nought",
        )
    } else {
        Fault::new(
            field,
            format!("{field} is {}", if size < SPAN.0 { "under 0.001 mm" } else { "over 100 m" }),
            "look at the unit",
        )
    })
}

/// What is wrong with the corners of a polygon.
fn crooked(corners: &[[f64; 2]]) -> Option<Fault> {
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
