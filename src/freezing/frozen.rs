//! What heat flow says of a casting.

use super::mould::{CASTING, FEEDER, Foot, Mould, NECK};
use super::setup::{Feeders, Run, Setup};
use crate::heatflow::{self, Field, Refined, Scene, Until, march, pockets, refined, slopes};
use serde::{Deserialize, Serialize};

/// A place that freezes late.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Spot {
    /// m, as the body is drawn.
    pub place: [f64; 3],
    /// When it stops feeding, s.
    pub feeds_until: f64,
}

/// Metal that no feeder reaches while it still shrinks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pocket {
    /// m, as the body is drawn.
    pub place: [f64; 3],
    /// m3.
    pub volume: f64,
    /// When the last way to it closed, s.
    pub cut_off: f64,
    /// When it stopped flowing itself, s.
    pub last: f64,
}

/// How the advised feeders do.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Feeding {
    /// How many are advised.
    pub advised: usize,
    /// Where each foot stands, m.
    pub feet: Vec<[f64; 3]>,
    /// Metal in feeders and necks, m3.
    pub metal: f64,
    /// Share of the casting and its necks cut off in the fast, likely and slow run.
    pub cut_off: [f64; 3],
    /// The pockets of the likely run, the largest first.
    pub pockets: Vec<Pocket>,
    /// When the casting, the necks and the feeders stop feeding in the likely run, s.
    pub closes: [f64; 3],
}

impl Feeding {
    /// A pocket below this share of the casting is grain of the cells.
    pub const MARGIN: f64 = 0.005;

    /// Whether all three runs say that it feeds, none does, or that depends on the sand.
    pub fn verdict(&self) -> &'static str {
        let fed = self.cut_off.iter().filter(|share| **share <= Self::MARGIN).count();
        match fed {
            3 => "fed",
            0 => "cut off",
            _ => "depends on the sand",
        }
    }
}

/// A section across an axis: when each cell is solid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Slice {
    /// 0, 1 or 2: across x, y or z.
    pub across: usize,
    /// Where, m.
    pub at: f64,
    /// Cells along the two other axes, in the order x, y, z.
    pub size: [usize; 2],
    /// The low corner, m.
    pub corner: [f64; 2],
    /// Edge of a cell, m.
    pub cell: f64,
    /// s, the first axis running quickest; none where there is no metal.
    pub times: Vec<Option<f32>>,
}

/// What heat flow says of a casting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frozen {
    /// Edge of a cell, m.
    pub cell: f64,
    /// Cells in all and of metal.
    pub cells: [usize; 2],
    /// The ruling wall: twice volume over surface, m.
    pub ruling: f64,
    /// Until the casting is solid in the fast, likely and slow run, s.
    pub solid: [f64; 3],
    /// What the size of the cells may be off by in the likely run, s.
    pub cells_off: f64,
    /// Until the hottest metal is cool enough to shake out, s; feeders too.
    pub shake_out: [Option<f64>; 3],
    /// The casting's last place to be solid, m.
    pub last: [f64; 3],
    /// Places that freeze later than the ways to them, the last first.
    pub places: Vec<Spot>,
    /// How the advised feeders do.
    pub feeding: Option<Feeding>,
    /// Niyama criterion over the casting: tenth, middle and ninetieth of a hundred, (K s)^1/2 per m.
    pub niyama: Option<[f64; 3]>,
    /// Heat not accounted for, over what was given off.
    pub unaccounted: f64,
    /// Sections through the last place.
    pub sections: [Slice; 3],
}

/// Longest that a casting is followed, s.
const LIMIT: f64 = 400_000.0;

/// Reckons the freezing of a casting. None where the setup lacks a property, or the casting is so thin
/// for its width that it wants more cells than there is room for.
pub fn freeze(setup: &Setup) -> Option<Frozen> {
    let mould = Mould::new(setup)?;
    let bare = mould.scene(Run::Likely, 2.0 * mould.cell, &[]);
    let field = march(&bare, Until { below: &[], limit: LIMIT });
    let feet = setup.feeders.map_or(Vec::new(), |f| feet(&bare, &field, &f));
    let [fast, likely, slow] = Run::ALL.map(|run| over(&mould, setup, run, &feet));
    let all = [&fast, &likely, &slow];
    let solid = all.map(|r| r.solid(CASTING).map_or(0.0, |t| t.value));
    let (scene, field) = (&likely.scene, &likely.field);
    let last = field.last(scene, CASTING)?;
    let spot = |p: heatflow::Pocket| Spot { place: p.place, feeds_until: p.last };
    Some(Frozen {
        cell: mould.cell,
        cells: [scene.cells.len(), field.cells.len()],
        ruling: mould.ruling,
        solid,
        cells_off: likely.solid(CASTING).map_or(0.0, |t| t.error),
        shake_out: all.map(|r| r.below().first().copied().flatten().map(|t| t.value)),
        last: last.place,
        places: heatflow::places(scene, field).into_iter().map(spot).collect(),
        feeding: setup.feeders.filter(|_| !feet.is_empty()).map(|f| feeding(f, &feet, all)),
        niyama: niyama(scene, field),
        unaccounted: all.map(|r| r.field.balance.unaccounted()).into_iter().fold(0.0, f64::max),
        sections: [0, 1, 2].map(|axis| slice(scene, field, axis, last.place)),
    })
}

fn over(mould: &Mould<'_>, setup: &Setup, run: Run, feet: &[Foot]) -> Refined {
    let marks: Vec<f64> = setup.shake_out().into_iter().collect();
    let until = Until { below: &marks, limit: LIMIT };
    refined(|cell| mould.scene(run, cell, feet), mould.cell, until)
}

/// Where the feeders stand: on top over the places that freeze last, no two in one place.
fn feet(scene: &Scene, field: &Field, feeders: &Feeders) -> Vec<Foot> {
    let mut feet: Vec<Foot> = Vec::new();
    for spot in heatflow::places(scene, field) {
        let [x, y] = [0, 1].map(|axis| centred(scene, axis, spot.place[axis]));
        let far = |foot: &Foot| (foot[0] - x).hypot(foot[1] - y) >= 1.2 * feeders.diameter;
        if feet.len() < feeders.number && feet.iter().all(far) {
            feet.push([x, y, top(scene, spot.place)]);
        }
    }
    feet
}

/// A place within a cell of the middle is the middle: in what is the same both ways several cells
/// share the last place.
fn centred(scene: &Scene, axis: usize, at: f64) -> f64 {
    let middle = scene.corner[axis] + 0.5 * scene.size[axis] as f64 * scene.cell;
    if (at - middle).abs() < scene.cell { middle } else { at }
}

/// The top of the metal over a place, m.
fn top(scene: &Scene, place: [f64; 3]) -> f64 {
    let cell = |axis: usize| ((place[axis] - scene.corner[axis]) / scene.cell) as usize;
    let at = |z: usize| scene.at([cell(0), cell(1), z]);
    let full = (cell(2)..scene.size[2]).take_while(|z| scene.cells[at(*z)] == CASTING).last();
    let last = full.unwrap_or_else(|| cell(2));
    let filled = f64::from(scene.fill[at(last)].min(1.0));
    scene.corner[2] + (last as f64 + filled) * scene.cell
}

fn feeding(feeders: Feeders, feet: &[Foot], all: [&Refined; 3]) -> Feeding {
    let share = |run: &Refined| {
        let rest = run.scene.volume(CASTING) + run.scene.volume(NECK);
        let cut = pockets(&run.scene, &run.field, &[FEEDER]);
        cut.iter().map(|p| p.volume).sum::<f64>() / rest
    };
    let likely = all[1];
    let found = pockets(&likely.scene, &likely.field, &[FEEDER]);
    let closes = [CASTING, NECK, FEEDER].map(|part| likely.critical(part).map_or(0.0, |t| t.value));
    Feeding {
        advised: feeders.number,
        feet: feet.to_vec(),
        metal: likely.scene.volume(NECK) + likely.scene.volume(FEEDER),
        cut_off: all.map(share),
        pockets: found
            .into_iter()
            .map(|p| Pocket { place: p.place, volume: p.volume, cut_off: p.cut_off, last: p.last })
            .collect(),
        closes,
    }
}

/// Of the casting's cells: a tenth lies below the first, half below the second, a tenth above the
/// third.
fn niyama(scene: &Scene, field: &Field) -> Option<[f64; 3]> {
    let mut all: Vec<f64> = slopes(scene, field)
        .into_iter()
        .zip(&field.cells)
        .filter(|(_, cell)| scene.cells[**cell as usize] == CASTING)
        .filter_map(|(slope, _)| slope.map(|s| s.niyama()))
        .collect();
    all.sort_by(f64::total_cmp);
    let last = all.len().checked_sub(1)?;
    Some([0.1, 0.5, 0.9].map(|share| all[(share * last as f64).round() as usize]))
}

fn slice(scene: &Scene, field: &Field, across: usize, through: [f64; 3]) -> Slice {
    let mut solid = vec![None; scene.cells.len()];
    for (cell, time) in field.cells.iter().zip(&field.solid) {
        solid[*cell as usize] = Some((time * 10.0).round() as f32 / 10.0);
    }
    let (one, other) = [(1, 2), (0, 2), (0, 1)][across];
    let at = ((through[across] - scene.corner[across]) / scene.cell) as usize;
    let melt = |cell: &u32| scene.place(*cell as usize);
    let span = |axis: usize| {
        let along = || field.cells.iter().map(|c| melt(c)[axis]);
        (along().min().unwrap_or(0), along().max().unwrap_or(0) + 1)
    };
    let ((u0, u1), (v0, v1)) = (span(one), span(other));
    let mut times = Vec::with_capacity((u1 - u0) * (v1 - v0));
    for v in v0..v1 {
        for u in u0..u1 {
            let mut place = [0; 3];
            (place[across], place[one], place[other]) = (at, u, v);
            times.push(solid[scene.at(place)]);
        }
    }
    let corner = |axis: usize, from: usize| scene.corner[axis] + from as f64 * scene.cell;
    Slice {
        across,
        at: through[across],
        size: [u1 - u0, v1 - v0],
        corner: [corner(one, u0), corner(other, v0)],
        cell: scene.cell,
        times,
    }
}
