//! Where a solid of a shape stands: `at`, `turn`, `row`, `mirror` and `circle`.

use crate::figure::Kind;
use crate::shape::Frame;
use crate::yaml::{Code, Cursor, Fields};
use std::f64::consts::TAU;

const KEYS: [&str; 5] = ["at", "turn", "row", "mirror", "circle"];
const AXES: &[(&str, usize)] = &[("x", 0), ("y", 1), ("z", 2)];

/// Every place in which the solid stands, in order: each `at`, along the row, mirrored, round the
/// circle. None where nothing is said of it.
pub(super) fn read(fields: &mut Fields<'_>) -> Option<Vec<Frame>> {
    let said = !fields.present(&KEYS).is_empty();
    let at = fields.take("at", places);
    let turn = fields.take("turn", turns).unwrap_or_default();
    let row = fields.take("row", row);
    let mirror = fields.take("mirror", |c| {
        let axes = c.items();
        Some(axes.iter().filter_map(|axis| axis.choice(AXES)).collect::<Vec<_>>())
    });
    let circle = fields.take("circle", |c| c.count());
    if !said {
        return None;
    }
    let mut frames: Vec<Frame> =
        at.unwrap_or_else(|| vec![[0.0; 3]]).into_iter().map(|at| Frame::new(at, turn)).collect();
    if let Some((count, step)) = row {
        let along =
            |frame: Frame| (0..count).map(move |i| frame.moved(step.map(|s| s * f64::from(i))));
        frames = frames.into_iter().flat_map(along).collect();
    }
    for axis in mirror.unwrap_or_default() {
        let other: Vec<Frame> = frames.iter().map(|f| f.mirrored(axis)).collect();
        frames.extend(other);
    }
    if let Some(count) = circle {
        let round = |frame: Frame| {
            (0..count).map(move |i| frame.turned(2, TAU * f64::from(i) / f64::from(count)))
        };
        frames = frames.into_iter().flat_map(round).collect();
    }
    Some(frames)
}

/// `[10 mm, 0, 25 mm]`, or a list of such.
fn places(cursor: &Cursor<'_>) -> Option<Vec<[f64; 3]>> {
    let items = cursor.items();
    match items.first() {
        Some(first) if first.is_list() => items.iter().map(point).collect(),
        _ => Some(vec![point(cursor)?]),
    }
}

fn point(cursor: &Cursor<'_>) -> Option<[f64; 3]> {
    let items = cursor.items();
    let [x, y, z] = items.as_slice() else {
        cursor.fault(
            Code::Shape,
            "a place has three lengths, along x, y and z",
            "try [10 mm, 0 mm, 25 mm]",
        );
        return None;
    };
    let mut place = [0.0; 3];
    for (value, cursor) in place.iter_mut().zip([x, y, z]) {
        *value = length(cursor)?;
    }
    Some(place)
}

/// A length either way, within 20 m; `0` needs no unit.
fn length(cursor: &Cursor<'_>) -> Option<f64> {
    if cursor.is_zero() {
        return Some(0.0);
    }
    let range = cursor.range(Kind::Length)?;
    if !range.is_exact() {
        cursor.fault(Code::Shape, "a place is one value", "leave the doubt out");
        return None;
    }
    if range.likely.abs() > 20.0 {
        cursor.fault(
            Code::Size,
            "no part of a home-built machine is 20 m long",
            "is the unit right?",
        );
        return None;
    }
    Some(range.likely)
}

/// `{x: 90 deg}`: about x, then y, then z.
fn turns(cursor: &Cursor<'_>) -> Option<[f64; 3]> {
    let mut fields = cursor.fields()?;
    let angle = |c: &Cursor<'_>| c.range(Kind::Angle).map(|angle| angle.likely);
    let turns = ["x", "y", "z"].map(|axis| fields.take(axis, angle).unwrap_or(0.0));
    fields.done();
    Some(turns)
}

/// `{count: 4, step: [30 mm, 0, 0]}`.
fn row(cursor: &Cursor<'_>) -> Option<(u32, [f64; 3])> {
    let mut fields = cursor.fields()?;
    let count = fields.need("count", "4", |c| c.count());
    let step = fields.need("step", "[30 mm, 0 mm, 0 mm]", point);
    fields.done();
    Some((count?, step?))
}
