//! Plain solids: volume, surface and size by closed forms, and what cannot be so.

use super::fault::{Fault, SPAN};
use super::section::{self, Section};
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

    /// One of the same section, so long along its own z (m); what has no even section stays as it is.
    pub fn as_long_as(&self, long: f64) -> Self {
        match self.clone() {
            Self::Cylinder { diameter, .. } => Self::Cylinder { diameter, length: long },
            Self::Block { length, width, .. } | Self::Plate { length, width, .. } => {
                Self::Block { length, width, height: long }
            }
            Self::Prism { section, .. } => Self::Prism { section, length: long },
            other => other,
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
            faults.extend(section::crooked(corners));
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
                    "bottom and top are both zero",
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

fn disc(diameter: f64) -> f64 {
    PI / 4.0 * diameter * diameter
}

fn annulus(outside: f64, inside: f64) -> f64 {
    PI / 4.0 * (outside - inside) * (outside + inside)
}

fn not_a_size(field: &'static str, size: f64, may_be_nought: bool) -> Option<Fault> {
    if (SPAN.0..=SPAN.1).contains(&size) || (may_be_nought && size == 0.0) {
        return None;
    }
    Some(if !size.is_finite() {
        Fault::new(field, format!("{field} is not a number"), "write a length, such as 180 mm")
    } else if size <= 0.0 {
        Fault::new(
            field,
            format!("{field} is not more than zero"),
            "every size of a solid must be more than zero",
        )
    } else {
        Fault::new(
            field,
            format!("{field} is {}", if size < SPAN.0 { "under 0.001 mm" } else { "over 100 m" }),
            "look at the unit",
        )
    })
}
