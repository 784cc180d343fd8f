//! Melt that is cut off while it still could flow, and the places that freeze last.
//!
//! Cells are taken in falling order of the time at which they stop flowing, and joined into groups.
//! Where two groups meet, the ways between their last places close.

use super::field::Field;
use super::scene::{Scene, Substance};

/// Lives below this share of the whole time are grain of the cells.
const POCKET: f64 = 0.005;
/// The same for places that freeze last.
const PLACE: f64 = 0.01;

/// Melt that froze by itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pocket {
    /// How much was cut off, m3.
    pub volume: f64,
    /// When the last way to it closed, s.
    pub cut_off: f64,
    /// When the last of it that counts stopped flowing itself, s.
    pub last: f64,
    /// Where that is, m.
    pub place: [f64; 3],
}

#[derive(Clone, Copy)]
struct Group {
    fed: bool,
    volume: f64,
    last: u32,
    /// The last of what counts; none where nothing does.
    counted: Option<u32>,
}

struct Meeting {
    group: Group,
    at: f64,
}

/// The groups without any cell of `sources` that met one with such a cell: what they held of other
/// parts than those `aside`, the largest first.
pub fn pockets(scene: &Scene, field: &Field, sources: &[u8], aside: &[u8]) -> Vec<Pocket> {
    let whole = field.time();
    let mut found: Vec<Pocket> = meetings(scene, field, (sources, aside), |a, b| a.fed != b.fed)
        .into_iter()
        .filter(|m| m.group.volume > 0.0)
        .map(|m| m.told(scene, field))
        .filter(|p| p.last - p.cut_off >= POCKET * whole)
        .collect();
    found.sort_by(|a, b| b.volume.total_cmp(&a.volume));
    found
}

/// When the last way through melt from one part to another stops flowing, s; none where there is
/// none.
pub fn closes(scene: &Scene, field: &Field, from: u8, to: u8) -> Option<f64> {
    // A group that is fed by both has a way between them: the first to be so is the last to close.
    let order = falling(field);
    let has = |part: u8| -> Vec<bool> {
        field.cells.iter().map(|cell| scene.cells[*cell as usize] == part).collect()
    };
    let mut reaches = [has(from), has(to)];
    let mut at = None;
    // Each union is told with its two last cells; what a group reaches is kept by its last cell.
    joined(scene, field, &order, (&[], &[]), |one, two, own| {
        let both = [one.last as usize, two.last as usize];
        let now = [0, 1].map(|part| both.iter().any(|cell| reaches[part][*cell]));
        both.iter().for_each(|cell| (0..2).for_each(|part| reaches[part][*cell] = now[part]));
        if now == [true, true] && at.is_none() {
            at = Some(field.critical[own as usize]);
        }
    });
    at
}

/// The places that freeze last: the last of all first, then each that outlived its way to a later
/// one, by when it stopped flowing.
pub fn places(scene: &Scene, field: &Field) -> Vec<Pocket> {
    let whole = field.time();
    let mut found: Vec<Pocket> = meetings(scene, field, (&[], &[]), |_, _| true)
        .into_iter()
        .map(|m| m.told(scene, field))
        .filter(|p| p.last - p.cut_off >= PLACE * whole)
        .collect();
    let order = falling(field);
    // Each body of melt that touches no other has a last place that never meets a later one.
    for root in bodies(scene, field, &order) {
        found.push(Meeting { group: root, at: 0.0 }.told(scene, field));
    }
    found.sort_by(|a, b| b.last.total_cmp(&a.last));
    found
}

impl Meeting {
    fn told(&self, scene: &Scene, field: &Field) -> Pocket {
        let last = self.group.counted.unwrap_or(self.group.last) as usize;
        Pocket {
            volume: self.group.volume,
            cut_off: self.at,
            last: field.critical[last],
            place: scene.middle(field.cells[last] as usize),
        }
    }
}

/// Melt cells by when they stop flowing, the last first.
fn falling(field: &Field) -> Vec<u32> {
    let mut order: Vec<u32> = (0..field.cells.len() as u32).collect();
    order.sort_by(|a, b| {
        field.critical[*b as usize].total_cmp(&field.critical[*a as usize]).then(a.cmp(b))
    });
    order
}

struct Joined {
    parent: Vec<u32>,
    groups: Vec<Group>,
}

impl Joined {
    fn root(&mut self, mut cell: u32) -> u32 {
        while self.parent[cell as usize] != cell {
            let up = self.parent[self.parent[cell as usize] as usize];
            self.parent[cell as usize] = up;
            cell = up;
        }
        cell
    }
}

const NONE: u32 = u32::MAX;

fn joined(
    scene: &Scene,
    field: &Field,
    order: &[u32],
    (sources, aside): (&[u8], &[u8]),
    mut meet: impl FnMut(Group, Group, u32),
) -> Joined {
    let mut number = vec![NONE; scene.cells.len()];
    for (i, cell) in field.cells.iter().enumerate() {
        number[*cell as usize] = i as u32;
    }
    let volume = scene.cell.powi(3);
    let group = |i: u32| {
        let cell = field.cells[i as usize] as usize;
        let fed = sources.contains(&scene.cells[cell]);
        let counts = !aside.contains(&scene.cells[cell]);
        let volume = if counts { volume * f64::from(scene.fill[cell]) } else { 0.0 };
        Group { fed, volume, last: i, counted: counts.then_some(i) }
    };
    let mut joined = Joined {
        parent: vec![NONE; field.cells.len()],
        groups: (0..field.cells.len() as u32).map(group).collect(),
    };
    for &own in order {
        joined.parent[own as usize] = own;
        let cell = field.cells[own as usize] as usize;
        for (_, _, other) in scene.around(cell) {
            let Some(other) = other.filter(|o| scene.substance(*o) == Substance::Melt) else {
                continue;
            };
            let other = number[other];
            if joined.parent[other as usize] == NONE {
                continue;
            }
            let (a, b) = (joined.root(own), joined.root(other));
            if a == b {
                continue;
            }
            let (one, two) = (joined.groups[a as usize], joined.groups[b as usize]);
            meet(one, two, own);
            joined.parent[b as usize] = a;
            joined.groups[a as usize] = together(field, one, two);
        }
    }
    joined
}

fn together(field: &Field, one: Group, two: Group) -> Group {
    let later = |a: u32, b: u32| {
        if field.critical[b as usize] > field.critical[a as usize] { b } else { a }
    };
    let counted = match (one.counted, two.counted) {
        (Some(a), Some(b)) => Some(later(a, b)),
        (a, b) => a.or(b),
    };
    Group {
        fed: one.fed || two.fed,
        volume: one.volume + two.volume,
        last: later(one.last, two.last),
        counted,
    }
}

fn meetings(
    scene: &Scene,
    field: &Field,
    parts: (&[u8], &[u8]),
    counts: impl Fn(Group, Group) -> bool,
) -> Vec<Meeting> {
    let order = falling(field);
    let mut met = Vec::new();
    joined(scene, field, &order, parts, |one, two, own| {
        if counts(one, two) {
            let at = |g: Group| field.critical[g.last as usize];
            let lesser = if one.fed != two.fed {
                if one.fed { two } else { one }
            } else if at(one) < at(two) {
                one
            } else {
                two
            };
            met.push(Meeting { group: lesser, at: field.critical[own as usize] });
        }
    });
    met
}

fn bodies(scene: &Scene, field: &Field, order: &[u32]) -> Vec<Group> {
    let mut joined = joined(scene, field, order, (&[], &[]), |_, _, _| {});
    let mut roots: Vec<u32> = order.iter().map(|i| joined.root(*i)).collect();
    roots.sort_unstable();
    roots.dedup();
    roots.into_iter().map(|r| joined.groups[r as usize]).collect()
}
