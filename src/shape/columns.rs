//! A body as upright columns in even rows: from where to where each runs through metal.

use super::body::Body;
use super::lines::{Lines, runs};

/// How far the columns stand off their even places, in steps, so that faces drawn in round figures
/// do not run through them.
const NUDGE: [f64; 2] = [3.1e-7, 5.3e-7];

/// Columns over the box around a body, metres.
#[derive(Debug, Clone)]
pub struct Columns {
    first: [f64; 2],
    step: [f64; 2],
    count: [usize; 2],
    /// Where the spans of each column begin, and one more for the end of the last.
    starts: Vec<u32>,
    spans: Vec<[f64; 2]>,
}

/// One column that runs through metal.
#[derive(Debug, Clone, Copy)]
pub struct Column<'a> {
    /// Which along x and y.
    pub cell: [usize; 2],
    /// Its middle, m.
    pub at: [f64; 2],
    /// From where to where it runs through metal, upward, m.
    pub spans: &'a [[f64; 2]],
}

impl Column<'_> {
    /// The lowest and the highest metal, m.
    pub fn ends(&self) -> [f64; 2] {
        [self.spans[0][0], self.spans[self.spans.len() - 1][1]]
    }
}

impl Columns {
    /// With so many along the longer side of the plan.
    pub fn of(body: &Body, along: usize) -> Self {
        let ([low, _], size) = (body.bounds(), body.extents());
        let edge = size[0].max(size[1]) / along.max(1) as f64;
        let count = [0, 1].map(|i| ((size[i] / edge - 1e-9).ceil() as usize).max(1));
        let step = [0, 1].map(|i| size[i] / count[i] as f64);
        let first = [0, 1].map(|i| low[i] + (0.5 + NUDGE[i]) * step[i]);
        let lines = Lines { first, step, count };
        let crossings = lines.crossings(body.mesh());
        let (mut starts, mut spans) = (vec![0_u32], Vec::<[f64; 2]>::new());
        for (line, run) in runs(&crossings, 0..count[0] * count[1]) {
            starts.resize(line + 1, spans.len() as u32);
            // What lies within what is filled already adds nothing.
            let more = (starts[line] as usize) < spans.len();
            match spans.last_mut() {
                Some([_, to]) if more && run[0] <= *to => *to = to.max(run[1]),
                _ => spans.push(run),
            }
        }
        starts.resize(count[0] * count[1] + 1, spans.len() as u32);
        Self { first, step, count, starts, spans }
    }

    /// The same body so many times as large, counted from another place, m.
    pub fn scaled(&self, times: f64, [x, y, z]: [f64; 3]) -> Self {
        let span = |span: &[f64; 2]| span.map(|at| (at - z) * times);
        Self {
            first: [(self.first[0] - x) * times, (self.first[1] - y) * times],
            step: self.step.map(|step| step * times),
            count: self.count,
            starts: self.starts.clone(),
            spans: self.spans.iter().map(span).collect(),
        }
    }

    /// Every column that meets metal, rows along y first.
    pub fn full(&self) -> impl Iterator<Item = Column<'_>> {
        (0..self.count[0]).flat_map(move |x| {
            (0..self.count[1]).filter_map(move |y| {
                let spans = self.spans(x, y);
                let at = self.middle([x, y]);
                (!spans.is_empty()).then_some(Column { cell: [x, y], at, spans })
            })
        })
    }

    /// How many there are along x and y.
    pub fn count(&self) -> [usize; 2] {
        self.count
    }

    /// What one stands on, m2.
    pub fn area(&self) -> f64 {
        self.step[0] * self.step[1]
    }

    /// From one to the next along x and y, m.
    pub fn step(&self) -> [f64; 2] {
        self.step
    }

    /// The metal over a place of the plan, m; nothing outside the box.
    pub fn over(&self, [x, y]: [f64; 2]) -> &[[f64; 2]] {
        let cell = |i: usize, at: f64| ((at - self.first[i]) / self.step[i]).round();
        let (x, y) = (cell(0, x), cell(1, y));
        let within = |i: usize, at: f64| at >= 0.0 && at < self.count[i] as f64;
        match within(0, x) && within(1, y) {
            true => self.spans(x as usize, y as usize),
            false => &[],
        }
    }

    fn middle(&self, cell: [usize; 2]) -> [f64; 2] {
        [0, 1].map(|i| self.first[i] + cell[i] as f64 * self.step[i])
    }

    fn spans(&self, x: usize, y: usize) -> &[[f64; 2]] {
        let line = x * self.count[1] + y;
        &self.spans[self.starts[line] as usize..self.starts[line + 1] as usize]
    }
}
