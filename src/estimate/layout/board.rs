//! The castings of one pattern side by side, as they lie on their board.

use super::feeders;
use super::plane::{Rect, Turn};
use crate::model::{Lying, Pattern};

/// One casting.
#[derive(Debug, Clone)]
pub(super) struct Cavity {
    pub rect: Rect,
    /// Its outline from above; none where its body is not known.
    outline: Vec<Vec<[f64; 2]>>,
}

impl Cavity {
    /// Where its outline ends at this place along x: before the far side, or behind the near one.
    pub fn edge(&self, x: f64, far: bool) -> f64 {
        let ways = self.outline.iter().flat_map(|way| {
            way.iter().zip(way.iter().cycle().skip(1)).filter_map(move |(a, b)| {
                let met = (a[0] <= x) != (b[0] <= x);
                met.then(|| a[1] + (x - a[0]) / (b[0] - a[0]) * (b[1] - a[1]))
            })
        });
        let met = match far {
            true => ways.fold(f64::NEG_INFINITY, f64::max),
            false => ways.fold(f64::INFINITY, f64::min),
        };
        match (met.is_finite(), far) {
            (true, _) => met,
            (false, true) => self.rect.high[1],
            (false, false) => self.rect.low[1],
        }
    }
}

/// A feeder over the middle of the board's castings, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Feeder {
    /// Its middle.
    pub at: [f64; 2],
    /// The metal under its neck, over the parting.
    pub root: f64,
    /// Across it, and its height.
    pub size: [f64; 2],
    /// Across its neck, and its length.
    pub neck: [f64; 2],
}

impl Feeder {
    /// Its top over the parting, m.
    pub fn top(&self) -> f64 {
        self.root + self.neck[1] + self.size[1]
    }
}

/// Sizes of the feeders of one casting, m.
#[derive(Debug, Clone, Copy)]
pub(super) struct FeederSizes<'a> {
    pub number: usize,
    /// Where they stand in the measures of its shape, where heat flow found that.
    pub feet: Option<&'a [[f64; 3]]>,
    pub size: [f64; 2],
    pub neck: [f64; 2],
}

/// A pattern about its own middle, m.
#[derive(Debug, Clone)]
pub(super) struct Board {
    /// Its length and width.
    pub size: [f64; 2],
    pub cavities: Vec<Cavity>,
    /// The boxes around the cores of each casting, prints and all.
    pub prints: Vec<Rect>,
    /// How far the prints come down and up, over the parting.
    pub upright: [f64; 2],
    /// Its lowest and highest place over the parting.
    pub ends: [f64; 2],
    /// Middle of each feeder and how wide it is.
    pub feeders: Vec<([f64; 2], f64)>,
    /// The same with all that is known of them.
    pub standing: Vec<Feeder>,
    /// Feeders of one casting that find no room on it.
    pub no_room: usize,
}

impl Board {
    pub fn new(on: &Pattern, lying: Option<&Lying>, fed: Option<FeederSizes<'_>>) -> Option<Self> {
        let given = [on.given.length.as_ref()?.si(), on.given.width.as_ref()?.si()];
        let in_cope = on.given.in_cope.as_ref().map_or(0.0, |f| f.si());
        let mut board = match lying {
            Some(lying) => Self::of_bodies(on, lying),
            None => Self::of_boxes(given, on.given.cavities),
        };
        board.size = [0, 1].map(|i| board.size[i].max(given[i]));
        if lying.is_none() {
            board.ends = [in_cope - on.given.depth.as_ref().map_or(0.0, |f| f.si()), in_cope];
        }
        let Some(fed) = fed else { return Some(board) };
        let places = match lying {
            Some(lying) if fed.feet.is_some() => {
                let feet = fed.feet.into_iter().flatten().map(|foot| lying.lies(*foot));
                feet.map(|[x, y, top]| feeders::Place { at: [x, y], top }).collect()
            }
            Some(lying) => feeders::places(lying, fed.number, fed.size[0], fed.neck[0]),
            None => along(&board, fed.number, in_cope),
        };
        board.no_room = fed.number.saturating_sub(places.len());
        let middles: Vec<[f64; 2]> = board.cavities.iter().map(|c| c.rect.middle()).collect();
        for middle in middles {
            board.standing.extend(places.iter().map(|place| Feeder {
                at: [0, 1].map(|i| middle[i] + place.at[i]),
                root: place.top,
                size: fed.size,
                neck: fed.neck,
            }));
        }
        board.feeders = board.standing.iter().map(|f| (f.at, f.size[0])).collect();
        Some(board)
    }

    fn of_bodies(on: &Pattern, lying: &Lying) -> Self {
        let [length, width, _] = lying.size();
        let plan = lying.plan();
        let spots = lying.spots(on);
        let cavity = |at: &[f64; 2]| Cavity {
            rect: Rect::around(*at, [length / 2.0, width / 2.0]),
            outline: (plan.loops.iter())
                .map(|way| way.iter().map(|c| [0, 1].map(|i| c[i] + at[i])).collect())
                .collect(),
        };
        let cavities: Vec<Cavity> = spots.iter().map(cavity).collect();
        let all = cavities.iter().map(|c| c.rect).reduce(|a, b| a.with(&b));
        let prints = lying.prints();
        let print = |at: &[f64; 2]| {
            prints.map(|[low, high]| {
                Rect { low: [low[0], low[1]], high: [high[0], high[1]] }.moved(*at)
            })
        };
        Self {
            size: all.map_or([0.0; 2], |all| all.size()),
            prints: spots.iter().filter_map(print).collect(),
            upright: prints.map_or([0.0; 2], |[low, high]| [low[2].min(0.0), high[2].max(0.0)]),
            ends: lying.ends(),
            cavities,
            feeders: Vec::new(),
            standing: Vec::new(),
            no_room: 0,
        }
    }

    /// Castings of unknown bodies: boxes in a row along the longer side.
    fn of_boxes(size: [f64; 2], count: u32) -> Self {
        let long = usize::from(size[1] > size[0]);
        let mut half = size.map(|side| side / 2.0);
        half[long] /= f64::from(count);
        let middle = |n: u32| {
            let mut at = [0.0; 2];
            at[long] = (f64::from(2 * n + 1) - f64::from(count)) * half[long];
            at
        };
        let rect = |n| Rect::around(middle(n), half);
        Self {
            size,
            cavities: (0..count).map(|n| Cavity { rect: rect(n), outline: Vec::new() }).collect(),
            prints: Vec::new(),
            upright: [0.0; 2],
            ends: [0.0; 2],
            feeders: Vec::new(),
            standing: Vec::new(),
            no_room: 0,
        }
    }

    /// The castings by rows, those of least y first.
    pub fn rows(&self) -> Vec<Vec<&Cavity>> {
        let mut rows: Vec<Vec<&Cavity>> = Vec::new();
        for cavity in &self.cavities {
            let y = cavity.rect.middle()[1];
            let same = |row: &&mut Vec<&Cavity>| (row[0].rect.middle()[1] - y).abs() < 1e-3;
            match rows.iter_mut().find(same) {
                Some(row) => row.push(cavity),
                None => rows.push(vec![cavity]),
            }
        }
        rows.sort_by(|a, b| a[0].rect.middle()[1].total_cmp(&b[0].rect.middle()[1]));
        rows
    }

    /// All of it turned about its middle.
    pub fn turned(&self, turn: Turn) -> Self {
        let to = |at: [f64; 2]| turn.to(at);
        let cavity = |c: &Cavity| Cavity {
            rect: c.rect.mapped(to),
            outline: c.outline.iter().map(|way| way.iter().map(|p| to(*p)).collect()).collect(),
        };
        Self {
            size: if turn.swap { [self.size[1], self.size[0]] } else { self.size },
            cavities: self.cavities.iter().map(cavity).collect(),
            prints: self.prints.iter().map(|r| r.mapped(to)).collect(),
            upright: self.upright,
            ends: self.ends,
            feeders: self.feeders.iter().map(|(at, across)| (to(*at), *across)).collect(),
            standing: Vec::new(),
            no_room: self.no_room,
        }
    }
}

/// Places shared out along the longer side of a box, where nothing is known of what is thick.
fn along(board: &Board, number: usize, top: f64) -> Vec<feeders::Place> {
    let size = board.cavities[0].rect.size();
    let long = usize::from(size[1] > size[0]);
    let place = |n: usize| {
        let mut at = [0.0; 2];
        at[long] = ((n as f64 + 0.5) / number as f64 - 0.5) * size[long];
        feeders::Place { at, top }
    };
    (0..number).map(place).collect()
}
