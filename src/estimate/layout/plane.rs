//! Rectangles in the plan of a mould, and the turns by which one layout serves every side of it.

/// A rectangle, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// The corner nearest zero.
    pub low: [f64; 2],
    /// The corner across.
    pub high: [f64; 2],
}

impl Rect {
    /// Around a middle, so far to each side.
    pub fn around(middle: [f64; 2], half: [f64; 2]) -> Self {
        Self { low: [0, 1].map(|i| middle[i] - half[i]), high: [0, 1].map(|i| middle[i] + half[i]) }
    }

    /// With these two corners.
    pub fn between(a: [f64; 2], b: [f64; 2]) -> Self {
        Self { low: [0, 1].map(|i| a[i].min(b[i])), high: [0, 1].map(|i| a[i].max(b[i])) }
    }

    /// Its middle.
    pub fn middle(&self) -> [f64; 2] {
        [0, 1].map(|i| f64::midpoint(self.low[i], self.high[i]))
    }

    /// Its length and its width.
    pub fn size(&self) -> [f64; 2] {
        [0, 1].map(|i| self.high[i] - self.low[i])
    }

    /// Larger by so much all round.
    pub fn grown(&self, by: f64) -> Self {
        Self { low: self.low.map(|v| v - by), high: self.high.map(|v| v + by) }
    }

    /// The least that holds both.
    pub fn with(&self, other: &Self) -> Self {
        Self {
            low: [0, 1].map(|i| self.low[i].min(other.low[i])),
            high: [0, 1].map(|i| self.high[i].max(other.high[i])),
        }
    }

    /// Between the nearest places of both, m; nought where they meet.
    pub fn apart(&self, other: &Self) -> f64 {
        let gap =
            |i: usize| (self.low[i] - other.high[i]).max(other.low[i] - self.high[i]).max(0.0);
        gap(0).hypot(gap(1))
    }

    /// Moved by so much.
    pub fn moved(&self, by: [f64; 2]) -> Self {
        Self {
            low: [0, 1].map(|i| self.low[i] + by[i]),
            high: [0, 1].map(|i| self.high[i] + by[i]),
        }
    }

    /// As a map of its corners has it.
    pub fn mapped(&self, map: impl Fn([f64; 2]) -> [f64; 2]) -> Self {
        Self::between(map(self.low), map(self.high))
    }
}

/// The two axes changed for each other, then either turned round: all about the middle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turn {
    pub swap: bool,
    pub flip: [bool; 2],
}

impl Turn {
    /// All eight, those that keep the axes first.
    pub fn all() -> impl Iterator<Item = Self> {
        (0..8_u8).map(|n| Self { swap: n >> 2 == 1, flip: [n & 1 == 1, n >> 1 & 1 == 1] })
    }

    pub fn to(self, [x, y]: [f64; 2]) -> [f64; 2] {
        let at = if self.swap { [y, x] } else { [x, y] };
        [0, 1].map(|i| if self.flip[i] { -at[i] } else { at[i] })
    }

    pub fn back(self, at: [f64; 2]) -> [f64; 2] {
        let [x, y] = [0, 1].map(|i| if self.flip[i] { -at[i] } else { at[i] });
        if self.swap { [y, x] } else { [x, y] }
    }
}

/// How far two places lie apart, m.
pub(super) fn far(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// How far each of some places lies from the nearest of others, m.
pub(super) struct Away(Vec<f64>);

impl Away {
    /// Of these places, from any of the others; as far as can be where there are none.
    pub fn from(places: &[[f64; 2]], others: &[[f64; 2]]) -> Self {
        let mut away = Self(vec![f64::INFINITY; places.len()]);
        others.iter().for_each(|other| away.and_from(places, *other));
        away
    }

    /// With one more of the others.
    pub fn and_from(&mut self, places: &[[f64; 2]], other: [f64; 2]) {
        for (free, at) in self.0.iter_mut().zip(places) {
            *free = free.min(far(*at, other));
        }
    }

    /// The place that lies farthest, and how far; the last of equals.
    pub fn farthest(&self) -> Option<(usize, f64)> {
        self.0.iter().copied().enumerate().max_by(|a, b| a.1.total_cmp(&b.1))
    }
}
