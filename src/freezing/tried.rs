//! Feeders sized by trying: set where metal freezes last, made larger, wider in the neck or more of
//! them while something is cut off, smaller while nothing is.

use super::mould::{CASTING, FEEDER, Mould, NECK, WAYS, cell_at};
use super::setup::{Advice, Fed, Feeders, Foot, Run};
use super::{Feeding, LIMIT};
use crate::heatflow::{self, Field, Scene, Until, march, pockets};

/// Most sets of feeders that are tried.
const TRIES: usize = 10;
/// Most sets that are checked on small cells.
const CHECKS: usize = 3;
/// Most feeders beyond those of the rule.
const MORE: usize = 4;
/// A feeder grows and shrinks by so much at a time.
const GROWS: f64 = 1.15;
const SHRINKS: f64 = 0.9;
/// A neck grows by so much at a time, to this share of its feeder.
const WIDENS: f64 = 1.3;
const WIDEST: f64 = 0.75;
/// No more metal in feeders than this, over that of the casting or of the rule's feeders; our choice.
const MOST_METAL: f64 = 1.5;
/// Where nothing feeds it all: metal in feeders, over the casting's, that is worth so much of the
/// casting being fed; our choice.
const WORTH: f64 = 0.1;

/// Feeders that were tried.
#[derive(Debug, Clone)]
pub(super) struct Trial {
    pub(super) fed: Fed,
    /// Share of casting and necks that is cut off, in the worst of the runs.
    pub(super) cut_off: f64,
    /// Where most is cut off, the top of the metal over it, m.
    over: Option<Foot>,
    /// Whether the neck closed before that froze.
    neck_closed: bool,
}

impl Trial {
    fn feeds(&self) -> bool {
        self.cut_off <= Feeding::MARGIN
    }

    fn metal(&self) -> f64 {
        self.fed.feeders.volume()
    }
}

/// The feeders that may do, those of the rule, and how many sets were tried.
pub(super) struct Tried {
    /// Those that fed on large cells, the least metal first, and a larger set where they are few;
    /// else the one that is worth most.
    pub(super) sets: Vec<Fed>,
    pub(super) rule: Trial,
    pub(super) tries: usize,
}

/// Feeders that stand, tried as they are.
pub(super) fn standing(mould: &Mould<'_>, of: &Fed) -> Tried {
    Tried { sets: vec![of.clone()], rule: trial(mould, of.clone()), tries: 1 }
}

/// Tries feeders from those of the rule on; none where no place is left to stand on.
pub(super) fn tried(mould: &Mould<'_>, advice: &Advice) -> Option<Tried> {
    let bare = mould.scene(Run::Likely, 2.0 * mould.cell, None);
    let field = march(&bare, Until { below: &[], limit: LIMIT });
    let first = placed(mould, advice.feeders, &feet(&bare, &field, &advice.feeders));
    if first.feet.is_empty() {
        return None;
    }
    let casting = bare.volume(CASTING);
    let rule = trial(mould, first);
    let mut all = vec![rule.clone()];
    while advice.tries && all.len() < TRIES {
        let last = &all[all.len() - 1];
        let next =
            if last.feeds() { smaller(mould, last, advice) } else { larger(mould, last, advice) };
        // Back at what was tried, or too much metal: that is all there is to find.
        let most = MOST_METAL * casting.max(rule.metal());
        let Some(next) = next.filter(|next| {
            let metal = next.feeders.volume();
            metal <= most && next.feeders.number > 0 && all.iter().all(|t| t.fed != *next)
        }) else {
            break;
        };
        all.push(trial(mould, next));
    }
    let worse = |t: &Trial| t.cut_off + WORTH * t.metal() / casting;
    let mut fed: Vec<&Trial> = all.iter().filter(|t| t.feeds()).collect();
    fed.sort_by(|a, b| a.metal().total_cmp(&b.metal()));
    let mut sets: Vec<Fed> = fed.into_iter().take(CHECKS).map(|t| t.fed.clone()).collect();
    if sets.is_empty() {
        let best = all.iter().min_by(|a, b| worse(a).total_cmp(&worse(b)));
        sets.extend(best.map(|t| t.fed.clone()));
    } else if advice.tries && sets.len() < CHECKS {
        let last = &sets[sets.len() - 1];
        let larger = placed(mould, sized(&last.feeders, GROWS, advice), &last.feet);
        sets.extend((larger.feet.len() == last.feet.len()).then_some(larger));
    }
    Some(Tried { sets, rule, tries: all.len() })
}

/// Such feeders as near to these places as they can stand; fewer where there is no room for all.
fn placed(mould: &Mould<'_>, feeders: Feeders, near: &[Foot]) -> Fed {
    let mut feet: Vec<Foot> = Vec::new();
    for near in near {
        feet.extend(mould.room.foot(*near, &feeders, &feet));
    }
    Fed { feeders: Feeders { number: feet.len(), ..feeders }, feet }
}

/// The likely run on large cells, and the fast and the slow one while all is fed: the worst of them.
fn trial(mould: &Mould<'_>, fed: Fed) -> Trial {
    let mut worst = marched(mould, Run::Likely, fed);
    for run in [Run::Fast, Run::Slow] {
        if worst.feeds() {
            let other = marched(mould, run, worst.fed.clone());
            worst = if other.cut_off > worst.cut_off { other } else { worst };
        }
    }
    worst
}

fn marched(mould: &Mould<'_>, run: Run, fed: Fed) -> Trial {
    let scene = mould.scene(run, 2.0 * mould.cell, Some(&fed));
    let field = march(&scene, Until { below: &[], limit: LIMIT });
    let found = pockets(&scene, &field, &[FEEDER], &WAYS);
    let rest = scene.volume(CASTING) + scene.volume(NECK);
    let neck = field.last(&scene, NECK).map_or(0.0, |last| last.critical);
    Trial {
        cut_off: found.iter().map(|p| p.volume).sum::<f64>() / rest,
        over: found.first().filter(|p| cast(&scene, p.place)).map(|p| foot(&scene, p.place)),
        neck_closed: found.first().is_some_and(|p| neck < p.last),
        fed,
    }
}

/// A feeder over what is cut off, where none stands there; else a wider neck where it closed first,
/// else a larger feeder.
fn larger(mould: &Mould<'_>, last: &Trial, advice: &Advice) -> Option<Fed> {
    let Fed { feeders, feet } = &last.fed;
    if let Some(over) = last.over
        && feet.len() < advice.feeders.number + MORE
        && clear(feet, over, feeders.diameter)
    {
        let feet: Vec<Foot> = feet.iter().copied().chain([over]).collect();
        let more = placed(mould, *feeders, &feet);
        if more.feet.len() == feet.len() {
            return Some(more);
        }
    }
    let widest = WIDEST * feeders.diameter;
    if last.neck_closed && feeders.neck < 0.99 * widest {
        let neck = stepped((feeders.neck * WIDENS).min(widest), advice.step);
        return Some(placed(mould, Feeders { neck, ..*feeders }, feet));
    }
    Some(placed(mould, sized(feeders, GROWS, advice), feet))
}

/// The same a size smaller, while they hold metal enough.
fn smaller(mould: &Mould<'_>, last: &Trial, advice: &Advice) -> Option<Fed> {
    let feeders = sized(&last.fed.feeders, SHRINKS, advice);
    let holds = feeders.number as f64
        * std::f64::consts::FRAC_PI_4
        * feeders.diameter.powi(2)
        * feeders.height;
    (holds >= advice.least && feeders.diameter < last.fed.feeders.diameter)
        .then(|| placed(mould, feeders, &last.fed.feet))
}

/// All sizes times this, to the next step up.
fn sized(feeders: &Feeders, by: f64, advice: &Advice) -> Feeders {
    let diameter = stepped(feeders.diameter * by, advice.step);
    let by = diameter / feeders.diameter;
    Feeders {
        diameter,
        height: feeders.height * by,
        neck: stepped(feeders.neck * by, advice.step),
        neck_length: feeders.neck_length * by,
        ..*feeders
    }
}

fn stepped(size: f64, step: f64) -> f64 {
    (size / step - 1e-6).ceil() * step
}

/// Whether a feeder has room here beside the others.
fn clear(feet: &[Foot], at: Foot, diameter: f64) -> bool {
    const APART: f64 = 1.2;
    feet.iter().all(|foot| (foot[0] - at[0]).hypot(foot[1] - at[1]) >= APART * diameter)
}

/// Where the feeders stand: on top over the places that freeze last, no two in one place.
fn feet(scene: &Scene, field: &Field, feeders: &Feeders) -> Vec<Foot> {
    let mut feet: Vec<Foot> = Vec::new();
    let places = heatflow::places(scene, field).into_iter().map(|spot| spot.place);
    // Where all of it freezes before what brings the metal in, its own last place.
    let last = field.last(scene, CASTING).map(|last| last.place);
    for place in places.filter(|place| cast(scene, *place)).chain(last) {
        let at = foot(scene, place);
        if feet.len() < feeders.number && clear(&feet, at, feeders.diameter) {
            feet.push(at);
        }
    }
    feet
}

/// Whether a place lies in the casting itself.
fn cast(scene: &Scene, place: [f64; 3]) -> bool {
    cell_at(scene, place).is_some_and(|cell| scene.cells[cell] == CASTING)
}

/// The top of the metal over a place, m.
fn foot(scene: &Scene, place: [f64; 3]) -> Foot {
    let [x, y] = [0, 1].map(|axis| centred(scene, axis, place[axis]));
    [x, y, top(scene, place)]
}

/// A place within a cell of the middle is the middle: in what is the same both ways several cells
/// share the last place.
fn centred(scene: &Scene, axis: usize, at: f64) -> f64 {
    let middle = scene.corner[axis] + 0.5 * scene.size[axis] as f64 * scene.cell;
    if (at - middle).abs() < scene.cell { middle } else { at }
}

fn top(scene: &Scene, place: [f64; 3]) -> f64 {
    let cell = |axis: usize| ((place[axis] - scene.corner[axis]) / scene.cell) as usize;
    let at = |z: usize| scene.at([cell(0), cell(1), z]);
    let full = (cell(2)..scene.size[2]).take_while(|z| scene.cells[at(*z)] == CASTING).last();
    let last = full.unwrap_or_else(|| cell(2));
    let filled = f64::from(scene.fill[at(last)].min(1.0));
    scene.corner[2] + (last as f64 + filled) * scene.cell
}
