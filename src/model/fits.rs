//! Patterns against the castings that come off them.

use super::chain::descending;
use super::{Casting, Chain, Pattern};
use crate::figure::{Because, Kind, System, show};
use crate::manifest::{MeshGiven, ShapeGiven};
use crate::yaml::{Code, Fault};

/// Sizes are compared to a tenth of a millimetre: no pattern is finer.
const SLACK: f64 = 1e-4;

impl Chain {
    /// By how much a pattern is short of what one casting asks for at the least, m; none where its
    /// `cavities` lie in it side by side, any way round. Measured on the pattern.
    pub fn short(&self, on: &Pattern) -> Option<f64> {
        let have = size(on)?;
        let asked = self.least();
        let cavities = on.given.cavities as usize;
        let ways = (0..3).flat_map(|deep| {
            let (a, b) = ((deep + 1) % 3, (deep + 2) % 3);
            (1..=cavities).flat_map(move |rows| {
                let columns = cavities.div_ceil(rows) as f64;
                [(a, b), (b, a)].map(|(l, w)| {
                    let over = [
                        asked[l] * columns - have[0],
                        asked[w] * rows as f64 - have[1],
                        asked[deep] - have[2],
                    ];
                    over.into_iter().fold(f64::NEG_INFINITY, f64::max)
                })
            })
        });
        let least = ways.fold(f64::INFINITY, f64::min);
        (least > SLACK).then_some(least)
    }

    /// By how much a pattern of one casting is larger than the most that the casting asks for, m,
    /// where that is more than draft and a makeshift board explain.
    pub fn much_larger(&self, on: &Pattern) -> Option<f64> {
        if self.at_least || on.given.cavities > 1 {
            return None;
        }
        let have = descending(size(on)?);
        let asked = descending(self.pattern.each_ref().map(|size| size.node().range().high));
        let over = [0, 1, 2].map(|i| have[i] - asked[i]);
        let much = (0..3).any(|i| over[i] > 0.010 && over[i] > 0.15 * asked[i]);
        much.then(|| over.into_iter().fold(0.0, f64::max))
    }

    /// The least pattern: the least stock, at the contraction that is likely, m.
    fn least(&self) -> [f64; 3] {
        [0, 1, 2].map(|i| {
            let grown = self.pattern[i].si() / self.as_cast[i].si();
            self.as_cast[i].node().range().low * grown
        })
    }
}

/// A mesh that does not go with its pattern, and a casting that its pattern is too small for.
pub(super) fn check(casting: &Casting, on: &Pattern, units: System, faults: &mut Vec<Fault>) {
    if let ShapeGiven::Mesh(mesh) = &casting.given.shape
        && let Some(fault) = unlike(mesh, on, units)
    {
        faults.push(fault);
        return;
    }
    if on.given.as_found {
        return;
    }
    let Some(chain) = casting.chain(on) else { return };
    let Some(short) = chain.short(on) else { return };
    let s = |v: f64| show(Kind::Length, v, units);
    let sizes = |v: [f64; 3]| format!("{} x {} x {}", s(v[0]), s(v[1]), s(v[2]));
    let finished = chain.finished.each_ref().map(|f| f.si());
    let least = chain.least();
    let given = &on.given;
    let cavities = match given.cavities {
        1 => String::new(),
        n => format!("{n} castings of "),
    };
    let whole = if chain.at_least { "at least " } else { "" };
    let says = format!(
        "the pattern is {}, and {cavities}a part that is {whole}{} finished asks for {whole}{}: {} short, {}",
        sizes(size(on).unwrap_or_default()),
        sizes(ordered(finished, chain.at_least)),
        sizes(least.map(|v| up(v, units))),
        s(short),
        left(&chain, short, units),
    );
    let hint = match chain.at_least {
        false => "make the pattern larger, or leave `size` out; `as-found: yes` takes it as it is",
        true => "make the pattern larger; `as-found: yes` takes it as it is",
    };
    let route = match given.length.as_ref().map(|size| size.node().because()) {
        Some(Because::Given(route)) => route,
        _ => &given.route,
    };
    faults.push(Fault::value(Code::Size, route.clone(), format!("`{}`: {says}", on.id), hint));
}

/// A size rounded up to what is marked out: whole millimetres, or tenths of an inch.
fn up(size: f64, units: System) -> f64 {
    let step = match units {
        System::Metric => 1e-3,
        System::Us => 0.1 * 0.0254,
    };
    (size / step - 1e-6).ceil() * step
}

/// Units in which drawings are written out, m.
const UNITS: [(&str, f64); 4] = [("1 mm", 1e-3), ("1 cm", 1e-2), ("1 in", 0.0254), ("1 m", 1.0)];

/// A mesh that is as large as its pattern in another unit, or one of the pattern that is not as
/// large as it.
fn unlike(mesh: &MeshGiven, on: &Pattern, units: System) -> Option<Fault> {
    let have = descending(size(on)?);
    let drawn = descending(mesh.body.extents());
    let times = [0, 1, 2].map(|i| have[i] / drawn[i]);
    let like = |factor: f64, slack: f64| {
        times.iter().all(|t| (factor / slack..=factor * slack).contains(t))
    };
    let other = mesh.unit.and_then(|unit| {
        let like =
            |(_, other): &&(&str, f64)| (other / unit - 1.0).abs() > 0.5 && like(other / unit, 1.4);
        UNITS.iter().find(like)
    });
    let s = |v: [f64; 3]| {
        let [a, b, c] = v.map(|v| show(Kind::Length, v, units));
        format!("{a} x {b} x {c}")
    };
    let (says, hint) = match other {
        Some((unit, _)) => (
            format!("the mesh is {}, and its pattern `{}` {}", s(drawn), on.id, s(have)),
            format!("one unit of the file is likely {unit}: add `unit: {unit}`"),
        ),
        None if mesh.of_pattern && !like(1.0, 1.02) => (
            format!("the mesh of the pattern is {}, and `{}` {}", s(drawn), on.id, s(have)),
            "leave `size` out: the mesh tells it".to_owned(),
        ),
        None => return None,
    };
    Some(Fault::value(Code::Size, mesh.file.route.clone(), says, hint))
}

/// The sizes of a pattern as given, m.
fn size(on: &Pattern) -> Option<[f64; 3]> {
    let given = &on.given;
    let sizes = [given.length.as_ref()?, given.width.as_ref()?, given.depth.as_ref()?];
    Some(sizes.map(|size| size.si()))
}

/// What would be left to machine.
fn left(chain: &Chain, short: f64, units: System) -> String {
    let stock = (0..3)
        .map(|i| chain.as_cast[i].node().range().low - chain.finished[i].si())
        .fold(0.0, f64::max);
    match stock - short {
        left if stock <= 0.0 || left <= 0.0 => "so the casting is too small".to_owned(),
        left => format!(
            "which leaves {} of {} to machine",
            show(Kind::Length, left, units),
            show(Kind::Length, stock, units)
        ),
    }
}

fn ordered(sizes: [f64; 3], any: bool) -> [f64; 3] {
    if any { descending(sizes) } else { sizes }
}
