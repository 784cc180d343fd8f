//! Patterns with their ways in beside each other, and the least flask around them.

use super::board::Board;
use super::plane::Rect;
use super::ways::{self, WaySizes, WaysLaid};
use crate::shape::{Lies, Spread, spreads};

/// Sand between ways and the wall of the flask, and between the ways of one pattern and anything of
/// another, m (common practice, from memory).
pub(super) const WAY_SAND: f64 = 0.020;
/// Sand between a print or a feeder and the wall, m (common practice, from memory).
const PRINT_SAND: f64 = 0.010;
/// Sizes are compared to a tenth of a millimetre: wooden boxes are no finer.
const SLACK: f64 = 1e-4;

/// A pattern and the ways in which the metal can come to it.
pub(super) struct Pattern {
    pub board: Board,
    options: Vec<Option<WaysLaid>>,
}

/// All patterns of a mould and the sand that they ask for.
pub(super) struct Packing {
    pub patterns: Vec<Pattern>,
    /// To the wall, m.
    side: f64,
    spreads: Vec<Spread>,
}

/// Where everything lies, from the corner of the box around it.
#[derive(Clone)]
pub(super) struct Packed {
    pub size: [f64; 2],
    pub lies: Vec<Lies>,
    pub turned: Vec<bool>,
    pub ways: Vec<Option<WaysLaid>>,
    /// The middle of the patterns.
    pub middle: [f64; 2],
}

impl Packing {
    /// None where a pattern's castings leave its ways no room among them.
    pub fn new(boards: Vec<Board>, sizes: &[Option<WaySizes>], side: f64) -> Option<Self> {
        let pattern = |(board, sizes): (Board, &Option<WaySizes>)| {
            let options = match sizes {
                Some(sizes) => ways::all(&board, *sizes).into_iter().map(Some).collect(),
                None => vec![None],
            };
            (!options.is_empty()).then_some(Pattern { board, options })
        };
        let patterns: Vec<Pattern> =
            boards.into_iter().zip(sizes).map(pattern).collect::<Option<_>>()?;
        let outlines: Vec<(f64, f64)> =
            patterns.iter().map(|p| (p.board.size[0], p.board.size[1])).collect();
        let mut all = spreads(&outlines, side);
        if patterns.len() > 1 {
            // With room for the ways of one between them, and of both.
            let beside = |s: &WaySizes| s.runner + s.ingate[1] + 2.0 * WAY_SAND;
            let wide = sizes.iter().flatten().map(beside).fold(0.0, f64::max);
            for apart in [wide, 2.0 * wide] {
                all.extend(spreads(&outlines, apart.max(side)));
            }
        }
        Some(Self { patterns, side, spreads: all })
    }

    /// Without the ways: what a flask must hold of the patterns alone.
    pub fn bare(boards: Vec<Board>, side: f64) -> Option<Self> {
        let none = vec![None; boards.len()];
        Self::new(boards, &none, side)
    }

    /// The first way to lie that a flask of this length and width takes.
    pub fn within(&self, flask: [f64; 2]) -> Option<Packed> {
        self.spreads.iter().find_map(|spread| {
            let mut found = None;
            self.search(spread, &mut Vec::new(), &mut |packed: Packed| {
                let fits = (0..2).all(|i| packed.size[i] <= flask[i] + SLACK);
                fits.then(|| found = Some(packed)).is_some()
            });
            found
        })
    }

    /// The way to lie that takes the least flask.
    pub fn least(&self) -> Option<Packed> {
        let area = |p: &Packed| p.size[0] * p.size[1];
        let mut best: Option<Packed> = None;
        for spread in &self.spreads {
            self.search(spread, &mut Vec::new(), &mut |packed: Packed| {
                if best.as_ref().is_none_or(|b| area(&packed) < area(b) - 1e-9) {
                    best = Some(packed);
                }
                false
            });
        }
        best
    }

    /// Tries every choice of ways for the patterns as they are spread; `take` says whether to stop.
    fn search(
        &self,
        spread: &Spread,
        chosen: &mut Vec<Lying>,
        take: &mut dyn FnMut(Packed) -> bool,
    ) -> bool {
        let at = chosen.len();
        if at == self.patterns.len() {
            return take(self.packed(spread, chosen));
        }
        for option in &self.patterns[at].options {
            let lying = Lying::new(&self.patterns[at].board, option.as_ref(), spread.places[at]);
            if chosen.iter().all(|other| lying.free_of(other)) {
                chosen.push(lying);
                let stop = self.search(spread, chosen, take);
                chosen.pop();
                if stop {
                    return true;
                }
            }
        }
        false
    }

    fn packed(&self, spread: &Spread, chosen: &[Lying]) -> Packed {
        let around = chosen.iter().map(|lying| lying.around(self.side));
        let around = around.reduce(|a, b| a.with(&b)).unwrap_or(Rect::around([0.0; 2], [0.0; 2]));
        let by = around.low.map(|v| -v);
        let moved = |l: &Lies| Lies { x: l.x + by[0], y: l.y + by[1], ..*l };
        Packed {
            size: around.size(),
            lies: spread.places.iter().map(moved).collect(),
            turned: chosen.iter().map(|lying| lying.turned).collect(),
            ways: (chosen.iter())
                .map(|lying| Some(lying.ways.as_ref()?.mapped(|p| [p[0] + by[0], p[1] + by[1]])))
                .collect(),
            middle: [spread.length / 2.0 + by[0], spread.width / 2.0 + by[1]],
        }
    }
}

/// A pattern as it lies in a spread, with one choice of ways.
struct Lying {
    turned: bool,
    castings: Vec<Rect>,
    box_: Rect,
    others: Vec<Rect>,
    ways: Option<WaysLaid>,
}

impl Lying {
    fn new(board: &Board, option: Option<&WaysLaid>, lies: Lies) -> Self {
        let turned = (lies.length - board.size[0]).abs() > 1e-9;
        let middle = [lies.x + lies.length / 2.0, lies.y + lies.width / 2.0];
        let put = |p: [f64; 2]| put(p, turned, middle);
        let feeder = |(at, across): &([f64; 2], f64)| Rect::around(*at, [across / 2.0; 2]);
        let prints = board.prints.iter().copied();
        Self {
            turned,
            castings: board.cavities.iter().map(|c| c.rect.mapped(put)).collect(),
            box_: Rect::around(middle, [lies.length / 2.0, lies.width / 2.0]),
            others: prints.chain(board.feeders.iter().map(feeder)).map(|r| r.mapped(put)).collect(),
            ways: option.map(|ways| ways.mapped(put)),
        }
    }

    /// All that the wall must keep away from, with the sand that each asks for.
    fn around(&self, side: f64) -> Rect {
        let mut out = self.box_.grown(side);
        for rect in &self.others {
            out = out.with(&rect.grown(PRINT_SAND));
        }
        if let Some(ways) = &self.ways {
            out = out.with(&ways.runner.grown(WAY_SAND)).with(&ways.sprue_rect().grown(WAY_SAND));
            out = out.with(&ways.basin_rect());
        }
        out
    }

    fn in_sand(&self) -> impl Iterator<Item = Rect> {
        let ways = self.ways.iter().flat_map(|w| [w.runner, w.sprue_rect()]);
        self.castings.iter().chain(&self.others).copied().chain(ways)
    }

    fn ways_in_sand(&self) -> impl Iterator<Item = Rect> {
        self.ways.iter().flat_map(|w| [w.runner, w.sprue_rect()])
    }

    fn free_of(&self, other: &Self) -> bool {
        let basins = self.ways.iter().zip(&other.ways);
        let basins_free =
            |(a, b): (&WaysLaid, &WaysLaid)| a.basin_rect().apart(&b.basin_rect()) > 0.0;
        let far = |a: &Self, b: &Self| {
            a.ways_in_sand().all(|way| b.in_sand().all(|r| way.apart(&r) >= WAY_SAND))
        };
        let prints = self.others.iter().all(|a| other.others.iter().all(|b| a.apart(b) > 0.0));
        prints && far(self, other) && far(other, self) && basins.into_iter().all(basins_free)
    }
}

/// A place of a board where it lies about this middle, a quarter turned or not.
pub(super) fn put([x, y]: [f64; 2], turned: bool, middle: [f64; 2]) -> [f64; 2] {
    let [x, y] = if turned { [-y, x] } else { [x, y] };
    [middle[0] + x, middle[1] + y]
}
