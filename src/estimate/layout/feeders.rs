//! Where the feeders of a casting stand: over its thickest places, on metal, never over a bore.

use crate::model::Lying;
use crate::shape::squared_distances;

/// Sand between two feeders, m (common practice, from memory).
const BETWEEN: f64 = 0.010;
/// Shares of the thickest place that still count as thick, tried in turn.
const THICK: [f64; 4] = [0.9, 0.75, 0.5, 0.0];
/// Under a neck the top may lie so much of the neck's width lower, no more: else it is no top but a hole.
const UNEVEN: f64 = 0.5;

/// How thick the metal is, is looked for on cells so many times as wide as the columns.
const COARSE: f64 = 2.0;

/// A place for a feeder.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// Its middle, from that of the casting, m.
    pub at: [f64; 2],
    /// The top of the metal under its neck, over the parting, m.
    pub top: f64,
}

/// A column on which a neck would stand on metal all round.
struct Spot {
    place: Place,
    /// How deep its deepest place lies in metal, m.
    thick: f64,
}

/// Places for so many feeders of this diameter on necks of that; fewer where there is no room.
pub(super) fn places(lying: &Lying, number: usize, across: f64, neck: f64) -> Vec<Place> {
    let spots = spots(lying, neck);
    let most = spots.iter().map(|s| s.thick).fold(0.0, f64::max);
    let mut best = Vec::new();
    for share in THICK {
        let thick: Vec<&Spot> = spots.iter().filter(|s| s.thick >= share * most - 1e-9).collect();
        let found = shared_out(&thick, number, across + BETWEEN);
        if found.len() > best.len() {
            best = found;
        }
        if best.len() == number {
            break;
        }
    }
    best
}

/// The first over the middle of what is thick, each further one as far from the others as can be.
fn shared_out(spots: &[&Spot], number: usize, apart: f64) -> Vec<Place> {
    let far = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let mut out: Vec<Place> = Vec::new();
    if spots.is_empty() {
        return out;
    }
    let n = spots.len() as f64;
    let middle = [0, 1].map(|i| spots.iter().map(|s| s.place.at[i]).sum::<f64>() / n);
    // Of several the first stands at an end, so that they come to lie even.
    let first = |s: &&&Spot| match number {
        1 => -far(s.place.at, middle),
        _ => far(s.place.at, middle),
    };
    let start = spots.iter().max_by(|a, b| first(a).total_cmp(&first(b)));
    out.extend(start.map(|s| s.place));
    while out.len() < number {
        let free =
            |s: &&&Spot| out.iter().map(|p| far(p.at, s.place.at)).fold(f64::INFINITY, f64::min);
        let next = spots.iter().max_by(|a, b| free(a).total_cmp(&free(b)));
        match next.filter(|s| free(s) >= apart) {
            Some(spot) => out.push(spot.place),
            None => break,
        }
    }
    out
}

/// The columns on which a neck of this width stands on metal, with how thick the metal is there.
fn spots(lying: &Lying, neck: f64) -> Vec<Spot> {
    let (_, [step, _]) = lying.lattice();
    let step = COARSE * step;
    let [low, high] = lying.ends();
    let [length, width, _] = lying.size();
    let count = [length, width, high - low].map(|size| (size / step).ceil() as usize + 2);
    let first = [-length / 2.0, -width / 2.0, low].map(|v| v - step / 2.0);
    let mut filled = vec![false; count.iter().product()];
    let cell = |i: usize, at: f64| ((at - first[i]) / step).round().max(0.0) as usize;
    let uprights: Vec<_> = lying.columns().collect();
    for column in &uprights {
        let row = (cell(0, column.at[0]) * count[1] + cell(1, column.at[1])) * count[2];
        for z in 1..count[2] - 1 {
            let at = first[2] + z as f64 * step;
            let metal = column.spans.iter().any(|[from, to]| *from <= at && at < *to);
            if let Some(cell) = filled.get_mut(row + z).filter(|_| metal) {
                *cell = true;
            }
        }
    }
    let Some(field) = squared_distances(count, &filled) else { return Vec::new() };
    let ring: Vec<[f64; 2]> = (0..12)
        .map(|n| f64::from(n) * std::f64::consts::TAU / 12.0)
        .flat_map(|angle| [0.5, 0.25].map(|r| [angle.cos() * r * neck, angle.sin() * r * neck]))
        .collect();
    let cores = lying.under_cores();
    let cored = |at: [f64; 2], top: f64| {
        cores.as_ref().and_then(|reach| reach(at)).is_some_and(|core| core > top)
    };
    let spot = |column: &crate::model::Upright| {
        let top = column.spans.last()?[1];
        if cored(column.at, top) {
            return None;
        }
        let stands = ring.iter().all(|off| {
            let under = lying.over([0, 1].map(|i| column.at[i] + off[i]));
            under.last().is_some_and(|span| (top - span[1]).abs() <= UNEVEN * neck)
        });
        // Over a bore or a hollow the neck would stand on a roof.
        if !stands || column.spans.len() > 1 {
            return None;
        }
        let row = (cell(0, column.at[0]) * count[1] + cell(1, column.at[1])) * count[2];
        let deepest = field.get(row..row + count[2])?.iter().copied().max()?;
        let place = Place { at: column.at, top };
        Some(Spot { place, thick: f64::from(deepest).sqrt() * step })
    };
    uprights.iter().filter_map(spot).collect()
}
