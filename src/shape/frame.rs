//! Where a solid stands: how it is turned, and where its own origin comes to lie.

/// A way to lie in space: turned or mirrored, then moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Where the own x, y and z axes point.
    pub axes: [[f64; 3]; 3],
    /// Where the own origin lies, m.
    pub at: [f64; 3],
}

impl Frame {
    /// Not turned and not moved.
    pub const HOME: Self =
        Self { axes: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]], at: [0.0; 3] };

    /// Turned about x, then about y, then about z (rad, counter-clockwise seen from the tip of the
    /// axis), all through its own origin, which then lies at `at` (m).
    pub fn new(at: [f64; 3], turns: [f64; 3]) -> Self {
        let mut frame = Self::HOME;
        for (axis, angle) in turns.into_iter().enumerate() {
            frame = frame.turned(axis, angle);
        }
        Self { at, ..frame }
    }

    /// Turned about x, y or z (0, 1, 2) through the origin of space, by an angle in rad.
    pub fn turned(self, axis: usize, angle: f64) -> Self {
        let (sin, cos) = quarters(angle);
        let (one, other) = ((axis + 1) % 3, (axis + 2) % 3);
        self.mapped(|mut v| {
            (v[one], v[other]) = (cos * v[one] - sin * v[other], sin * v[one] + cos * v[other]);
            v
        })
    }

    /// Moved by so much, m.
    pub fn moved(self, by: [f64; 3]) -> Self {
        Self { at: [0, 1, 2].map(|i| self.at[i] + by[i]), ..self }
    }

    /// Mirrored in the plane through the origin of space across x, y or z (0, 1, 2).
    pub fn mirrored(self, axis: usize) -> Self {
        self.mapped(|mut v| {
            v[axis] = -v[axis];
            v
        })
    }

    /// Where a point of the own measures lies.
    pub fn place(&self, point: [f64; 3]) -> [f64; 3] {
        [0, 1, 2]
            .map(|i| self.at[i] + (0..3).map(|own| self.axes[own][i] * point[own]).sum::<f64>())
    }

    /// Where a point of space lies in the own measures.
    pub fn own(&self, point: [f64; 3]) -> [f64; 3] {
        self.axes.map(|axis| (0..3).map(|i| axis[i] * (point[i] - self.at[i])).sum())
    }

    fn mapped(self, map: impl Fn([f64; 3]) -> [f64; 3]) -> Self {
        Self { axes: self.axes.map(&map), at: map(self.at) }
    }
}

/// Sine and cosine, exact at quarter turns.
fn quarters(angle: f64) -> (f64, f64) {
    let quarter = (angle / std::f64::consts::FRAC_PI_2).round();
    if (angle - quarter * std::f64::consts::FRAC_PI_2).abs() > 1e-12 {
        return angle.sin_cos();
    }
    match quarter.rem_euclid(4.0) as u8 {
        0 => (0.0, 1.0),
        1 => (1.0, 0.0),
        2 => (0.0, -1.0),
        _ => (-1.0, 0.0),
    }
}
