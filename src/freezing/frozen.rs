//! What heat flow says of a casting.

use super::mould::{CASTING, FEEDER, Mould, NECK, RUNNER, WAYS, cell_at};
use super::setup::{Fed, Feeders, Foot, Room, Run, Setup, Ways};
use super::tried::{Tried, standing, tried};
use crate::figure::{Kind, System, show};
use crate::heatflow::{self, Field, Refined, Scene, Until, closes, pockets, refined, slopes};
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

/// How a casting is fed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Feeding {
    /// The feeders that were found by trying.
    pub feeders: Feeders,
    /// Those of the rule of thumb, as many as found a place to stand on.
    pub rule: Feeders,
    /// Share of the casting and its necks that the rule's leave cut off.
    pub rule_cut_off: f64,
    /// Sets of feeders that were tried.
    pub tries: usize,
    /// Where each stands.
    pub feet: Vec<Foot>,
    /// Share of the casting and its necks cut off in the fast, likely and slow run.
    pub cut_off: [f64; 3],
    /// The pockets of the run that cuts most off, the largest first.
    pub pockets: Vec<Pocket>,
    /// When the casting, the necks and the feeders stop feeding in the likely run, s.
    pub closes: [f64; 3],
}

impl Feeding {
    /// What feeds it, and where that stands.
    pub fn fed(&self) -> Fed {
        Fed { feeders: self.feeders, feet: self.feet.clone() }
    }

    /// A pocket below this share of the casting is grain of the cells.
    pub const MARGIN: f64 = 0.005;

    /// The run that cuts most off: the one to go by.
    pub fn worst(&self) -> Run {
        worst(self.cut_off)
    }

    /// The share that is cut off in that run.
    pub fn most_cut_off(&self) -> f64 {
        self.cut_off[self.worst() as usize]
    }

    /// The same with the share of each run, in words.
    pub fn unfed(&self, system: System) -> String {
        let share = |share| show(Kind::Ratio, share, system);
        let [fast, likely, slow] = self.cut_off.map(share);
        match self.most_cut_off() {
            most if most > 0.0 => format!(
                "up to {} ({fast} in the fast run, {likely} in the likely one, {slow} in the slow one)",
                share(most)
            ),
            _ => "nothing".to_owned(),
        }
    }

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

/// The run of which this share is the largest; the likely one of equals.
fn worst(share: [f64; 3]) -> Run {
    let larger = |a: Run, b: Run| if share[b as usize] > share[a as usize] { b } else { a };
    [Run::Fast, Run::Slow].into_iter().fold(Run::Likely, larger)
}

/// The way in, as it was laid out when this was reckoned.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WayIn {
    /// A name for all of it, to know it again.
    pub of: String,
    /// When its ingates close; none where no metal runs from them to the casting, on cells as fine as
    /// those were.
    pub ingates: Option<Ingates>,
}

/// When the ingates close, and the casting.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Ingates {
    /// When the last of them stops flowing in the fast, likely and slow run, s.
    pub closes: [f64; 3],
    /// When the casting itself does.
    pub casting: [f64; 3],
}

impl Ingates {
    /// Whether they close before the casting does in all three runs, in none, or in some.
    pub fn verdict(&self) -> &'static str {
        match self.closes.iter().zip(&self.casting).filter(|(gate, casting)| gate < casting).count()
        {
            3 => "before the casting",
            0 => "after the casting",
            _ => "before or after the casting, by the sand",
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
    /// What the last of all took, s.
    pub last: f64,
    /// Time over that in steps of 250, the first axis running quickest; nought where there is no
    /// metal.
    #[serde(with = "packed")]
    times: Vec<u8>,
}

impl Slice {
    const STEPS: f64 = 250.0;

    /// When a cell is solid, s; none where there is no metal.
    pub fn time(&self, u: usize, v: usize) -> Option<f64> {
        let step = *self.times.get(u + self.size[0] * v).filter(|step| **step > 0)?;
        Some(f64::from(step) / Self::STEPS * self.last)
    }
}

impl Frozen {
    /// When its ingates close, where some bring metal to it.
    pub fn ingates(&self) -> Option<&Ingates> {
        self.way_in.as_ref()?.ingates.as_ref()
    }

    /// Whether what was read from a file can be of a casting: nobody's file makes others draw or
    /// reckon without end.
    pub(super) fn is_sound(&self) -> bool {
        const MOST_FEEDERS: usize = 100;
        let times = self.solid.iter().chain(self.shake_out.iter().flatten().flatten());
        let ingates =
            self.ingates().into_iter().flat_map(|own| own.closes.iter().chain(&own.casting));
        let times = times.chain(ingates);
        let size = |x: f64| x > 0.0 && x < 10.0;
        let feeders = self.feeding.iter().flat_map(|f| [&f.feeders, &f.rule]);
        self.sections.iter().all(|s| s.size[0].checked_mul(s.size[1]) == Some(s.times.len()))
            && self.sections.iter().all(|s| s.across < 3 && size(s.cell))
            && times.into_iter().all(|t| *t > 0.0 && *t < LIMIT)
            && feeders.into_iter().all(|f| {
                f.number <= MOST_FEEDERS
                    && [f.diameter, f.height, f.neck, f.neck_length].into_iter().all(size)
            })
    }
}

/// Bytes as text.
mod packed {
    use base64::{Engine, engine::general_purpose::STANDARD};
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    pub(super) fn serialize<S: Serializer>(bytes: &[u8], to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&STANDARD.encode(bytes))
    }

    pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<u8>, D::Error> {
        STANDARD.decode(String::deserialize(from)?).map_err(D::Error::custom)
    }
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
    /// Until the hottest metal is cool enough to shake out, s; feeders too: at the highest, the
    /// likely and the lowest temperature that is told for it, in the fast, likely and slow run.
    pub shake_out: Option<[[f64; 3]; 3]>,
    /// The sand of the likely run when the hottest metal is at the likely temperature for it: the
    /// hottest of it and its mean, C.
    pub sand: Option<[f64; 2]>,
    /// The casting's last place to be solid, m.
    pub last: [f64; 3],
    /// Places that freeze later than the ways to them, the last first.
    pub places: Vec<Spot>,
    /// Its feeders, where it wants some.
    pub feeding: Option<Feeding>,
    /// Its ingates; none where the mould could not be laid out.
    pub way_in: Option<WayIn>,
    /// Niyama criterion over the casting: tenth, middle and ninetieth of a hundred, (K s)^1/2 per m.
    pub niyama: Option<[f64; 3]>,
    /// Heat not accounted for, over what was given off.
    pub unaccounted: f64,
    /// Sections through the last place.
    pub sections: [Slice; 3],
}

/// Longest that a casting is followed, s.
pub(super) const LIMIT: f64 = 400_000.0;
/// Feeders on the cells that count, in the three runs.
struct Checked {
    fed: Option<Fed>,
    ways: Option<Ways>,
    runs: [Refined; 3],
    /// Share that is cut off, in the worst of the runs.
    cut_off: f64,
}

impl Checked {
    fn of(mould: &Mould<'_>, setup: &Setup, fed: Option<Fed>) -> Self {
        let runs = Run::ALL.map(|run| over(mould, setup, run, fed.as_ref()));
        let cut_off = runs.iter().map(cut_off).fold(0.0, f64::max);
        Self { fed, ways: mould.ways.clone(), runs, cut_off }
    }
}

/// Reckons the freezing of a casting, and its feeders by trying. None where the setup lacks a
/// property, or the casting is so thin for its width that it wants more cells than there is room for.
pub fn freeze(setup: &Setup, room: &dyn Room) -> Option<Frozen> {
    let mut mould = Mould::new(setup, room)?;
    mould.ways = room.way_in(None);
    let tried = match &setup.standing {
        Some(of) => Some(standing(&mould, of)),
        None => setup.advice.as_ref().and_then(|advice| tried(&mould, advice)),
    };
    let sets = tried.as_ref().map_or(vec![None], |t| t.sets.iter().cloned().map(Some).collect());
    let mut checks = 0;
    let mut best: Option<Checked> = None;
    for fed in sets {
        mould.ways = room.way_in(fed.as_ref());
        let checked = Checked::of(&mould, setup, fed);
        checks += 1;
        if best.as_ref().is_none_or(|best| checked.cut_off < best.cut_off) {
            best = Some(checked);
        }
        if best.as_ref().is_some_and(|best| best.cut_off <= Feeding::MARGIN) {
            break;
        }
    }
    let Checked { fed, ways, runs: [fast, likely, slow], .. } = best?;
    let all = [&fast, &likely, &slow];
    let solid = all.map(|r| r.solid(CASTING).map_or(0.0, |t| t.value));
    let (scene, field) = (&likely.scene, &likely.field);
    let last = field.last(scene, CASTING)?;
    let own = |p: &heatflow::Pocket| {
        cell_at(scene, p.place).is_some_and(|cell| !WAYS.contains(&scene.cells[cell]))
    };
    let spot = |p: heatflow::Pocket| Spot { place: p.place, feeds_until: p.last };
    Some(Frozen {
        cell: mould.cell,
        cells: [scene.cells.len(), field.cells.len()],
        ruling: mould.ruling,
        solid,
        cells_off: likely.solid(CASTING).map_or(0.0, |t| t.error),
        shake_out: shake_out(all),
        sand: likely.coarse.inert.get(1).copied().flatten(),
        last: last.place,
        places: heatflow::places(scene, field).into_iter().filter(own).map(spot).collect(),
        feeding: tried.zip(fed).map(|(t, fed)| feeding(&t, checks - 1, fed, all)),
        way_in: ways.as_ref().map(|ways| WayIn { of: ways.name(), ingates: ingates(all) }),
        niyama: niyama(scene, field),
        unaccounted: all.map(|r| r.field.balance.unaccounted()).into_iter().fold(0.0, f64::max),
        sections: [0, 1, 2].map(|axis| slice(scene, field, axis, last.place)),
    })
}

fn shake_out(all: [&Refined; 3]) -> Option<[[f64; 3]; 3]> {
    let below = all.map(Refined::below);
    let at = |mark: usize, run: usize| below[run].get(mark).copied().flatten().map(|t| t.value);
    let mut out = [[0.0; 3]; 3];
    for (mark, row) in out.iter_mut().enumerate() {
        for (run, time) in row.iter_mut().enumerate() {
            *time = at(mark, run)?;
        }
    }
    Some(out)
}

fn over(mould: &Mould<'_>, setup: &Setup, run: Run, fed: Option<&Fed>) -> Refined {
    let marks = setup.shake_out().map_or(Vec::new(), |marks| marks.to_vec());
    let until = Until { below: &marks, limit: LIMIT };
    refined(|cell| mould.scene(run, cell, fed), mould.cell, until)
}

/// When the ingates close and the casting does, in all three runs or not at all.
fn ingates(all: [&Refined; 3]) -> Option<Ingates> {
    let gates = all.map(|r| closes(&r.scene, &r.field, CASTING, RUNNER));
    let castings = all.map(|r| Some(r.critical(CASTING)?.value));
    let whole = |[fast, likely, slow]: [Option<f64>; 3]| Some([fast?, likely?, slow?]);
    Some(Ingates { closes: whole(gates)?, casting: whole(castings)? })
}

/// Share of the casting and its necks that no feeder reaches.
fn cut_off(run: &Refined) -> f64 {
    let rest = run.scene.volume(CASTING) + run.scene.volume(NECK);
    let cut = pockets(&run.scene, &run.field, &[FEEDER], &WAYS);
    cut.iter().map(|p| p.volume).sum::<f64>() / rest
}

fn feeding(tried: &Tried, more: usize, fed: Fed, all: [&Refined; 3]) -> Feeding {
    let likely = all[1];
    let closes = [CASTING, NECK, FEEDER].map(|part| likely.critical(part).map_or(0.0, |t| t.value));
    let cut_off = all.map(cut_off);
    let worst = all[worst(cut_off) as usize];
    let pocket = |p: heatflow::Pocket| Pocket {
        place: p.place,
        volume: p.volume,
        cut_off: p.cut_off,
        last: p.last,
    };
    Feeding {
        feeders: fed.feeders,
        rule: tried.rule.fed.feeders,
        rule_cut_off: tried.rule.cut_off,
        tries: tried.tries + more,
        feet: fed.feet,
        cut_off,
        pockets: pockets(&worst.scene, &worst.field, &[FEEDER], &WAYS)
            .into_iter()
            .map(pocket)
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
    let last = field.time();
    let mut solid = vec![0; scene.cells.len()];
    for (cell, time) in field.cells.iter().zip(&field.solid) {
        solid[*cell as usize] = (time / last * Slice::STEPS).round().clamp(1.0, Slice::STEPS) as u8;
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
        last,
        times,
    }
}
