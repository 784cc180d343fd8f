//! Where the feeders of a casting stand: over its thickest places, on metal, never over a bore.

use super::plane::{Away, far};
use crate::model::Lying;
use crate::shape::{Outline, memo, squared_distances};
use serde::{Deserialize, Serialize};

/// Sand between two feeders, m (common practice, from memory).
const BETWEEN: f64 = 0.010;
/// Shares of the thickest place that still count as thick, tried in turn.
const THICK: [f64; 4] = [0.9, 0.75, 0.5, 0.0];
/// Under a neck the top may lie so much of the neck's width lower, no more: else it is no top but a hole.
const UNEVEN: f64 = 0.5;

/// How thick the metal is, is looked for on cells so many times as wide as the columns.
const COARSE: f64 = 2.0;

/// A place for a feeder.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Place {
    /// Its middle, from that of the casting, m.
    pub at: [f64; 2],
    /// The top of the metal under its neck, over the parting, m.
    pub top: f64,
}

/// A column over which a neck may stand.
struct Spot {
    place: Place,
    /// How deep its deepest place lies in metal, m.
    thick: f64,
}

/// The code that the places come from, but for that of the shapes.
const CODE: [&str; 3] =
    [include_str!("feeders.rs"), include_str!("plane.rs"), include_str!("../../model/lies.rs")];

/// Places for so many feeders of this diameter on necks of that; fewer where there is no room.
pub(super) fn places(lying: &Lying, number: usize, across: f64, neck: f64) -> Vec<Place> {
    let asked = ("feeders", lying.name(), number, across, neck);
    memo::answer(&CODE, &asked, || looked_for(lying, number, across, neck))
}

/// The place nearest to this top where a neck can stand, with sand between its feeder and the others:
/// with all of its foot on metal of that height where that is no farther than a feeder is wide, else
/// with the middle of it, as on a narrow rim; none where there is no room.
pub(super) fn nearest(
    lying: &Lying,
    [x, y, top]: [f64; 3],
    [across, neck]: [f64; 2],
    others: &[[f64; 2]],
) -> Option<Place> {
    let near = [x, y];
    let ground = Ground::of(lying, neck);
    let clear = |at| others.iter().all(|other| far(*other, at) >= across + BETWEEN);
    // The place itself before the columns around it.
    let own = (near, lying.columns().over(near));
    let all = std::iter::once(own).chain(lying.columns().full().map(|c| (c.at, c.spans)));
    let mut tops: Vec<Place> = tops(lying, all).filter(|place| clear(place.at)).collect();
    tops.sort_by(|a, b| far(a.at, near).total_cmp(&far(b.at, near)));
    let level = |place: &Place| (place.top - top).abs() <= UNEVEN * neck;
    let whole = tops.iter().take_while(|place| far(place.at, near) <= across);
    let whole = whole.copied().find(|place| level(place) && ground.holds(place));
    whole.or_else(|| tops.into_iter().find(|place| ground.bears(place)))
}

fn looked_for(lying: &Lying, number: usize, across: f64, neck: f64) -> Vec<Place> {
    let spots = spots(lying);
    let ground = Ground::of(lying, neck);
    // Asked where it is thick alone: a neck is held to many places.
    let mut held: Vec<Option<bool>> = vec![None; spots.len()];
    let mut holds = |n: usize| *held[n].get_or_insert_with(|| ground.holds(&spots[n].place));
    let mut thickest: Vec<usize> = (0..spots.len()).collect();
    thickest.sort_by(|a, b| spots[*b].thick.total_cmp(&spots[*a].thick));
    let Some(first) = thickest.into_iter().find(|n| holds(*n)) else { return Vec::new() };
    let mut best = Vec::new();
    for share in THICK {
        let least = share * spots[first].thick - 1e-9;
        let thick = (0..spots.len()).filter(|n| spots[*n].thick >= least && holds(*n));
        let thick: Vec<Place> = thick.map(|n| spots[n].place).collect();
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
fn shared_out(places: &[Place], number: usize, apart: f64) -> Vec<Place> {
    let n = places.len() as f64;
    let middle = [0, 1].map(|i| places.iter().map(|p| p.at[i]).sum::<f64>() / n);
    // Of several the first stands at an end, so that they come to lie even.
    let first = |place: &&Place| match number {
        1 => -far(place.at, middle),
        _ => far(place.at, middle),
    };
    let Some(start) = places.iter().max_by(|a, b| first(a).total_cmp(&first(b))) else {
        return Vec::new();
    };
    let all: Vec<[f64; 2]> = places.iter().map(|place| place.at).collect();
    let mut away = Away::from(&all, &[start.at]);
    let mut out = vec![*start];
    while out.len() < number {
        let Some((n, _)) = away.farthest().filter(|(_, free)| *free >= apart) else { break };
        away.and_from(&all, all[n]);
        out.push(places[n]);
    }
    out
}

/// What a neck would stand on.
struct Ground<'a> {
    lying: &'a Lying,
    neck: f64,
    /// The casting from above.
    plan: Outline,
    /// Places under its rim, from its middle, m.
    rim: Vec<[f64; 2]>,
}

impl<'a> Ground<'a> {
    fn of(lying: &'a Lying, neck: f64) -> Self {
        let angles = (0..12).map(|n| f64::from(n) * std::f64::consts::TAU / 12.0);
        let rim = angles.map(|angle| [angle.cos() * neck / 2.0, angle.sin() * neck / 2.0]);
        Self { lying, neck, plan: lying.plan(), rim: rim.collect() }
    }

    /// Whether it stands on metal all round.
    fn holds(&self, place: &Place) -> bool {
        self.middle(place) && self.under(place, 1.0).all(|at| self.on(place, at))
    }

    /// Whether the middle of it does, and no part of it lies over a bore.
    fn bears(&self, place: &Place) -> bool {
        self.middle(place) && self.under(place, 1.0).all(|at| !self.over_bore(at))
    }

    /// Whether it stands on metal half way to its rim.
    fn middle(&self, place: &Place) -> bool {
        self.under(place, 0.5).all(|at| self.on(place, at))
    }

    /// The places at this share of the way to its rim.
    fn under(&self, place: &Place, share: f64) -> impl Iterator<Item = [f64; 2]> {
        let at = place.at;
        self.rim.iter().map(move |off| [0, 1].map(|i| at[i] + share * off[i]))
    }

    /// Whether the top of the metal there is no hole beside the middle.
    fn on(&self, place: &Place, at: [f64; 2]) -> bool {
        let under = self.lying.columns().over(at);
        under.last().is_some_and(|span| (place.top - span[1]).abs() <= UNEVEN * self.neck)
    }

    /// Whether there is no metal at a place that lies within the outline of the casting.
    fn over_bore(&self, at: [f64; 2]) -> bool {
        self.lying.columns().over(at).is_empty() && self.plan.surrounds(at)
    }
}

/// The tops of the columns of metal with no hollow and no core under them: over a bore or a hollow a
/// neck would stand on a roof.
fn tops<'a>(
    lying: &Lying,
    of: impl Iterator<Item = ([f64; 2], &'a [[f64; 2]])>,
) -> impl Iterator<Item = Place> {
    let cores = lying.under_cores();
    of.filter_map(move |(at, spans)| {
        let [[_, top]] = spans else { return None };
        let core = cores.as_ref().and_then(|reach| reach(at));
        core.is_none_or(|core| core <= *top).then_some(Place { at, top: *top })
    })
}

/// The same with how thick the metal is there.
fn spots(lying: &Lying) -> Vec<Spot> {
    let columns = lying.columns();
    let step = COARSE * columns.step()[0];
    let [low, high] = lying.ends();
    let [length, width, _] = lying.size();
    let count = [length, width, high - low].map(|size| (size / step).ceil() as usize + 2);
    let first = [-length / 2.0, -width / 2.0, low].map(|v| v - step / 2.0);
    let mut filled = vec![false; count.iter().product()];
    let cell = |i: usize, at: f64| ((at - first[i]) / step).round().max(0.0) as usize;
    let row = |at: [f64; 2]| (cell(0, at[0]) * count[1] + cell(1, at[1])) * count[2];
    for column in columns.full() {
        let row = row(column.at);
        for z in 1..count[2] - 1 {
            let at = first[2] + z as f64 * step;
            let metal = column.spans.iter().any(|[from, to]| *from <= at && at < *to);
            if let Some(cell) = filled.get_mut(row + z).filter(|_| metal) {
                *cell = true;
            }
        }
    }
    let Some(field) = squared_distances(count, &filled) else { return Vec::new() };
    let spot = |place: Place| {
        let row = row(place.at);
        let deepest = field.get(row..row + count[2])?.iter().copied().max()?;
        Some(Spot { place, thick: f64::from(deepest).sqrt() * step })
    };
    tops(lying, columns.full().map(|c| (c.at, c.spans))).filter_map(spot).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How a disc with a rim, or a ring, lies in its mould.
    fn lying(shape: &str) -> Lying {
        let text = format!(
            "build: {{title: Rings, begun: 2026-01-01}}\nshop: {{sand: {{kind: green-sand}}}}\npatterns: {{p: {{}}}}\nparts: {{ring: {{casting: {{pattern: p, alloy: A356, shape: {{{shape}}}}}}}}}\n"
        );
        let clock = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).expect("a day");
        let build = crate::read(text.into_bytes(), Vec::new(), crate::Today { asked: None, clock });
        let build = build.unwrap_or_else(|faults| panic!("{}", faults[0]));
        let casting = build.parts[0].casting.as_ref().expect("a casting");
        casting.lying(&build.patterns[0]).expect("its body is known")
    }

    /// A rim of 12 mm around a bore of 76 mm.
    const RING: &str =
        "add: [{tube: {outside: 100 mm, inside: 76 mm, length: 20 mm}, at: [0, 0, 0]}]";
    /// The same around a web.
    const WHEEL: &str = "add: [{tube: {outside: 100 mm, inside: 76 mm, length: 20 mm}, at: [0, 0, 0]}, {cylinder: {diameter: 78 mm, length: 6 mm}, at: [0, 0, 0]}]";

    #[test]
    fn a_neck_stands_on_metal_and_over_no_bore() {
        let from_middle = |place: Place| place.at[0].hypot(place.at[1]);
        let at = |shape: &str, neck: f64, others: &[[f64; 2]]| {
            let lying = lying(shape);
            nearest(&lying, [0.044, 0.0, lying.ends()[1]], [0.030, neck], others)
        };
        // One that the rim takes whole stands where it is wanted.
        let whole = at(RING, 0.008, &[]).expect("room");
        assert!(far(whole.at, [0.044, 0.0]) < 1e-9, "{whole:?}");
        // A wider one hangs over outward, never over the bore; one wider still finds no room.
        let outward = at(RING, 0.014, &[]).expect("room");
        assert!(from_middle(outward) > 0.038 + 0.007 - 0.002, "{outward:?}");
        assert!(at(RING, 0.024, &[]).is_none());
        // Over a web is no bore: it stands on the rim that it is to feed, not on the web beside it.
        let over_web = at(WHEEL, 0.016, &[]).expect("room");
        assert!(far(over_web.at, [0.044, 0.0]) < 1e-9, "{over_web:?}");
        // With sand between two feeders.
        let beside = at(RING, 0.008, &[[0.044, 0.0]]).expect("room");
        assert!(far(beside.at, [0.044, 0.0]) >= 0.030 + BETWEEN, "{beside:?}");
    }
}
