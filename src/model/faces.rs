//! Machined faces of a casting's solids: which of them take stock, and the solids that do.
//!
//! A face of an added solid takes stock where it forms a machined side of the whole casting; a
//! round one that forms part of such a side, all round. So does every bare face of a solid that says
//! it is machined. A round cut-out is machined, and so is any other that says so: its faces move
//! inward, but an end that comes out at a side moves with it.

use super::Casting;
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::shape::{Body, Frame, Placed, Section, Solid};

/// Two places closer than this are one, m.
const NEAR: f64 = 1e-6;
/// So far beyond a face lies what it touches, m.
const BEYOND: f64 = 1e-5;

/// How many stocks each face of a solid moves out of it: at the low and the high end along its own
/// axes, and of the bore of a tube.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Moves {
    pub ends: [[i8; 2]; 3],
    pub bore: i8,
}

impl Moves {
    fn many(&self) -> i32 {
        self.ends.iter().flatten().chain([&self.bore]).map(|n| i32::from(n.abs())).sum()
    }
}

const fn round(solid: &Solid) -> bool {
    matches!(
        solid,
        Solid::Cylinder { .. } | Solid::Tube { .. } | Solid::Cone { .. } | Solid::Ring { .. }
    )
}

/// The box around a solid in its own measures, m.
pub(super) fn own_box(solid: &Solid) -> [[f64; 3]; 2] {
    let [x, y, z] = solid.extents();
    if let Solid::Prism { section: Section::Polygon(corners), .. } = solid {
        let over = |i: usize, start: f64, pick: fn(f64, f64) -> f64| {
            corners.iter().map(|c| c[i]).fold(start, pick)
        };
        let low = [0, 1].map(|i| over(i, f64::INFINITY, f64::min));
        let high = [0, 1].map(|i| over(i, f64::NEG_INFINITY, f64::max));
        return [[low[0], low[1], 0.0], [high[0], high[1], z]];
    }
    [[-x / 2.0, -y / 2.0, 0.0], [x / 2.0, y / 2.0, z]]
}

/// The corners of the box around a solid in its own measures, in each place where it stands, m.
pub(super) fn corners(placed: &Placed) -> impl Iterator<Item = [[f64; 3]; 8]> {
    let own = own_box(&placed.solid);
    let corner = move |n: usize| [0, 1, 2].map(|i| own[n >> i & 1][i]);
    placed.frames.iter().map(move |frame| std::array::from_fn(|n| frame.place(corner(n))))
}

impl Casting {
    /// Whether the faces of a cut-out, or of the bore of a tube, are machined.
    pub(super) fn cuts_machined(&self, solid: &SolidGiven) -> bool {
        let usual = self.given.machined.is_some() && round(&solid.solid);
        solid.machined.unwrap_or(usual)
    }

    /// How the faces of a solid move where it stands; as told of the whole where it is not placed.
    pub(super) fn moves(&self, solid: &SolidGiven, frame: Option<&Frame>) -> Moves {
        let mut moves = match (&self.given.body, frame, solid.less) {
            (Some(body), Some(frame), false) => self.outward(body, solid, frame),
            (Some(body), Some(frame), true) => self.inward(body, solid, frame),
            (.., false) => {
                let most = self.given.machined_sides.map(|ends| ends.map(i8::from));
                let least = most.into_iter().min_by_key(|ends| ends[0] + ends[1]);
                Moves { ends: [least.unwrap_or_default(); 3], bore: 0 }
            }
            (.., true) => {
                let in_ = -i8::from(self.cuts_machined(solid));
                Moves { ends: [[in_; 2], [in_; 2], [0; 2]], bore: 0 }
            }
        };
        if matches!(solid.solid, Solid::Tube { .. }) && self.cuts_machined(solid) {
            moves.bore = if solid.less { 1 } else { -1 };
        }
        moves
    }

    /// Whether a face that looks along a world axis at this place forms a machined side.
    fn on_side(&self, body: &Body, axis: usize, up: bool, at: f64) -> bool {
        let side = usize::from(up);
        self.given.machined_sides[axis][side] && (at - body.bounds()[side][axis]).abs() < NEAR
    }

    fn outward(&self, body: &Body, given: &SolidGiven, frame: &Frame) -> Moves {
        let solid = &given.solid;
        let own = own_box(solid);
        let mut moves = Moves::default();
        if given.machined == Some(false) {
            return moves;
        }
        let machined = given.machined == Some(true) && self.given.machined.is_some();
        for axis in 0..3 {
            let Some((world, sign)) = along(frame, axis) else { continue };
            if round(solid) && axis < 2 {
                continue;
            }
            for end in 0..2 {
                let at = frame.place(end_of(&own, axis, end))[world];
                let side = self.on_side(body, world, (end == 1) == (sign > 0.0), at);
                moves.ends[axis][end] =
                    (side || machined && bare(body, solid, &own, frame, (axis, end))).into();
            }
        }
        if let (true, Some((way, _))) = (round(solid), along(frame, 2)) {
            let radius = own[1][0];
            let touches = (0..3).filter(|axis| *axis != way).any(|axis| {
                let middle = frame.at[axis];
                self.on_side(body, axis, true, middle + radius)
                    || self.on_side(body, axis, false, middle - radius)
            });
            let out = i8::from(touches || machined);
            (moves.ends[0], moves.ends[1]) = ([out; 2], [out; 2]);
        }
        moves
    }

    fn inward(&self, body: &Body, solid: &SolidGiven, frame: &Frame) -> Moves {
        let own = own_box(&solid.solid);
        let machined = self.cuts_machined(solid);
        // Through the stock on an inner face, too.
        let grows = i8::from(matches!(&self.given.shape, ShapeGiven::Solids(all)
            if all.iter().any(|s| !s.less && s.machined == Some(true))));
        let mut moves = Moves::default();
        let bounds = body.bounds();
        for axis in 0..3 {
            for end in 0..2 {
                if round(&solid.solid) && axis < 2 {
                    moves.ends[axis][end] = -i8::from(machined);
                    continue;
                }
                let mut middle = end_of(&own, axis, end);
                if let Solid::Tube { outside, inside, .. } = solid.solid {
                    middle[0] = (outside + inside) / 4.0;
                }
                let way = frame.axes[axis].map(|v| if end == 1 { v } else { -v });
                let at = frame.place(middle);
                let out = along(frame, axis).and_then(|(world, _)| {
                    let up = way[world] > 0.0;
                    let past = way[world] * (at[world] - bounds[usize::from(up)][world]) > -NEAR;
                    past.then(|| self.given.machined_sides[world][usize::from(up)])
                });
                let beyond = [0, 1, 2].map(|i| at[i] + way[i] * BEYOND);
                moves.ends[axis][end] = match out {
                    Some(side) => side.into(),
                    None if !body.inside(beyond) => grows,
                    None if machined => -1,
                    None => 0,
                };
            }
        }
        moves
    }

    /// The solids of its shape with stock of this thickness on every machined face, where each of
    /// them stands; without a cut-out that the stock closes. None where they are not placed.
    pub(super) fn with_stock(&self, stock: f64) -> Option<Vec<(usize, Placed)>> {
        let ShapeGiven::Solids(solids) = &self.given.shape else { return None };
        self.given.body.as_ref()?;
        let mut out: Vec<(usize, Placed)> = Vec::new();
        for (at, solid) in solids.iter().enumerate() {
            let home = [Frame::HOME];
            let frames = solid.frames.as_deref().unwrap_or(&home);
            let named =
                |cut: &SolidGiven| cut.of.as_ref().is_some_and(|of| *of.value == *solid.name());
            let one = self.most_moves(solid);
            let host = !solid.less && solids.iter().any(named);
            for frame in frames {
                let moves = if host { one } else { self.moves(solid, Some(frame)) };
                let Some((grown, shift)) = grown(&solid.solid, &moves, stock) else { continue };
                let frame = Frame { at: frame.place(shift), ..*frame };
                match out.iter_mut().find(|(of, placed)| *of == at && placed.solid == grown) {
                    Some((_, placed)) => placed.frames.push(frame),
                    None => {
                        let less = solid.less;
                        out.push((
                            at,
                            Placed { solid: grown, frames: vec![frame], less, of: None },
                        ));
                    }
                }
            }
        }
        let hosts: Vec<Option<usize>> = out
            .iter()
            .map(|(at, _)| {
                let of = solids[*at].of.as_ref()?;
                out.iter().position(|(host, p)| !p.less && *solids[*host].name() == *of.value)
            })
            .collect();
        for ((_, placed), host) in out.iter_mut().zip(hosts) {
            placed.of = host;
        }
        Some(out)
    }

    /// The moves of that one of its places in which most of its faces take stock.
    pub(super) fn most_moves(&self, solid: &SolidGiven) -> Moves {
        let frames = solid.frames.as_deref().unwrap_or(&[Frame::HOME]);
        let placed = self.given.body.is_some();
        let moves = frames.iter().map(|frame| self.moves(solid, placed.then_some(frame)));
        moves.fold(Moves::default(), |a, b| if b.many() > a.many() { b } else { a })
    }
}

/// Whether the face at an end of an own axis is bare anywhere near its edge.
fn bare(
    body: &Body,
    solid: &Solid,
    own: &[[f64; 3]; 2],
    frame: &Frame,
    (axis, end): (usize, usize),
) -> bool {
    let middle = end_of(own, axis, end);
    let out = if end == 1 { BEYOND } else { -BEYOND };
    // Of a round face the corners of its box lie outside.
    let share = if round(solid) { 0.33 } else { 0.47 };
    let (one, other) = ((axis + 1) % 3, (axis + 2) % 3);
    [[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]].into_iter().any(|[a, b]| {
        let mut at = middle;
        at[one] += a * share * (own[1][one] - own[0][one]);
        at[other] += b * share * (own[1][other] - own[0][other]);
        at[axis] += out;
        !body.inside(frame.place(at))
    })
}

/// The world axis that an own axis lies along, and which way it points.
fn along(frame: &Frame, axis: usize) -> Option<(usize, f64)> {
    let points = frame.axes[axis];
    (0..3).find(|i| points[*i].abs() > 1.0 - 1e-9).map(|i| (i, points[i]))
}

/// The middle of the face at an end of an own axis.
fn end_of(own: &[[f64; 3]; 2], axis: usize, end: usize) -> [f64; 3] {
    let mut middle = [0, 1, 2].map(|i| f64::midpoint(own[0][i], own[1][i]));
    middle[axis] = own[end][axis];
    middle
}

/// A solid whose faces have moved by so many stocks, and how far its own origin has; none where a
/// cut-out is closed by it.
pub(super) fn grown(solid: &Solid, moves: &Moves, stock: f64) -> Option<(Solid, [f64; 3])> {
    let sum = |axis: usize| f64::from(moves.ends[axis][0] + moves.ends[axis][1]) * stock;
    let off = |axis: usize| f64::from(moves.ends[axis][1] - moves.ends[axis][0]) / 2.0 * stock;
    let mut shift = [off(0), off(1), -f64::from(moves.ends[2][0]) * stock];
    let out = match solid.clone() {
        Solid::Plate { length, width, thickness } => Solid::Plate {
            length: length + sum(0),
            width: width + sum(1),
            thickness: thickness + sum(2),
        },
        Solid::Block { length, width, height } => {
            Solid::Block { length: length + sum(0), width: width + sum(1), height: height + sum(2) }
        }
        Solid::Cylinder { diameter, length } => {
            Solid::Cylinder { diameter: diameter + sum(0), length: length + sum(2) }
        }
        Solid::Tube { outside, inside, length } => {
            let (outside, length) = (outside + sum(0), length + sum(2));
            match inside + 2.0 * f64::from(moves.bore) * stock {
                inside if inside > NEAR => Solid::Tube { outside, inside, length },
                _ => Solid::Cylinder { diameter: outside, length },
            }
        }
        Solid::Cone { bottom, top, length } => {
            let across = |d: f64| if d > 0.0 { (d + sum(0)).max(0.0) } else { 0.0 };
            Solid::Cone { bottom: across(bottom), top: across(top), length: length + sum(2) }
        }
        Solid::Ring { outside, section } => {
            Solid::Ring { outside: outside + sum(0).max(sum(2)), section: section + sum(2) }
        }
        Solid::Sphere { diameter } => {
            let most = (0..3).map(sum).fold(0.0, f64::max);
            shift = [off(0), off(1), off(2) - most / 2.0];
            Solid::Sphere { diameter: diameter + most }
        }
        Solid::Prism { section, length } => {
            let (section, at) = widened(&section, moves, stock);
            (shift[0], shift[1]) = (at[0], at[1]);
            Solid::Prism { section, length: length + sum(2) }
        }
    };
    out.extents().iter().all(|size| *size > NEAR).then_some((out, shift))
}

/// The section of a prism whose outer faces have moved, and how far its middle has.
fn widened(section: &Section, moves: &Moves, stock: f64) -> (Section, [f64; 2]) {
    let [x, y] = [moves.ends[0], moves.ends[1]].map(|ends| ends.map(|n| f64::from(n) * stock));
    let (wide, high) = (x[0] + x[1], y[0] + y[1]);
    let middle = [(x[1] - x[0]) / 2.0, (y[1] - y[0]) / 2.0];
    match section.clone() {
        Section::Polygon(mut corners) => {
            let [low, top] = own_box(&Solid::Prism { section: section.clone(), length: 1.0 });
            for corner in &mut corners {
                for (i, ends) in [x, y].into_iter().enumerate() {
                    let share = (corner[i] - low[i]) / (top[i] - low[i]);
                    corner[i] += share * ends[1] - (1.0 - share) * ends[0];
                }
            }
            (Section::Polygon(corners), [0.0; 2])
        }
        Section::L { width, height, thickness } => {
            let thickness = thickness + x[0].max(y[0]);
            (Section::L { width: width + wide, height: height + high, thickness }, middle)
        }
        Section::U { width, height, thickness } => {
            let thickness = thickness + x[0].max(x[1]).max(y[0]);
            (Section::U { width: width + wide, height: height + high, thickness }, middle)
        }
        Section::T { width, height, web, flange } => {
            let flange = flange + y[1];
            (Section::T { width: width + wide, height: height + high, web, flange }, middle)
        }
        Section::I { width, height, web, flange } => {
            let flange = flange + y[0].max(y[1]);
            (Section::I { width: width + wide, height: height + high, web, flange }, middle)
        }
    }
}
