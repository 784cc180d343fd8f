//! Rectangles laid out side by side, none turned but by a quarter: every way that takes no more room
//! than it must.
//!
//! A rectangle that can be pushed towards the corner at zero is pushed until it touches. So each
//! lies at zero or at the far edge of another, in length and in width, and trying those places for
//! every order and turn misses no smallest layout. That is exact, and quick for four.

/// Where one rectangle lies: the corner nearest zero, and its size as it lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lies {
    /// Along the length.
    pub x: f64,
    /// Along the width.
    pub y: f64,
    /// Size along the length.
    pub length: f64,
    /// Size along the width.
    pub width: f64,
}

/// A layout and the rectangle around it.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Length of all.
    pub length: f64,
    /// Width of all.
    pub width: f64,
    /// Where each lies, in the order in which they were given.
    pub places: Vec<Lies>,
}

/// Sizes closer than this (m) are the same.
const SAME: f64 = 1e-9;

/// Every smallest layout of rectangles of these lengths and widths with at least `apart` between
/// any two, along the length or along the width: none of them is both shorter and narrower than
/// another. The shortest first.
pub fn spreads(sizes: &[(f64, f64)], apart: f64) -> Vec<Spread> {
    let mut search = Search { sizes, apart, lying: vec![None; sizes.len()], found: Vec::new() };
    search.next(0.0, 0.0);
    search.found.sort_by(|a, b| a.length.total_cmp(&b.length));
    search.found
}

struct Search<'a> {
    sizes: &'a [(f64, f64)],
    apart: f64,
    lying: Vec<Option<Lies>>,
    found: Vec<Spread>,
}

impl Search<'_> {
    fn next(&mut self, length: f64, width: f64) {
        let beaten = |s: &Spread| s.length <= length + SAME && s.width <= width + SAME;
        if self.found.iter().any(beaten) {
            return;
        }
        if let Some(places) = self.lying.iter().copied().collect::<Option<Vec<Lies>>>() {
            self.found.retain(|s| s.length + SAME < length || s.width + SAME < width);
            self.found.push(Spread { length, width, places });
            return;
        }
        let edges = |far: fn(&Lies) -> f64| {
            let far = self.lying.iter().flatten().map(|l| far(l) + self.apart);
            std::iter::once(0.0).chain(far).collect::<Vec<f64>>()
        };
        let (across, along) = (edges(|l| l.x + l.length), edges(|l| l.y + l.width));
        for i in 0..self.sizes.len() {
            if self.lying[i].is_some() {
                continue;
            }
            let (a, b) = self.sizes[i];
            let square = (a - b).abs() <= SAME;
            for (length_of, width_of) in [(a, b), (b, a)].into_iter().take(2 - usize::from(square))
            {
                for (x, y) in across.iter().flat_map(|x| along.iter().map(move |y| (*x, *y))) {
                    let lies = Lies { x, y, length: length_of, width: width_of };
                    if self.lying.iter().flatten().any(|o| near(o, &lies, self.apart)) {
                        continue;
                    }
                    self.lying[i] = Some(lies);
                    self.next(length.max(x + length_of), width.max(y + width_of));
                    self.lying[i] = None;
                }
            }
        }
    }
}

/// Whether two lie nearer than they may, both ways.
fn near(a: &Lies, b: &Lies, apart: f64) -> bool {
    let free = apart - SAME;
    a.x < b.x + b.length + free
        && b.x < a.x + a.length + free
        && a.y < b.y + b.width + free
        && b.y < a.y + a.width + free
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether whole-number rectangles fit a box, by trying every place on the grid.
    fn by_grid(
        sizes: &[(i64, i64)],
        apart: i64,
        (l, w): (i64, i64),
        lying: &mut Vec<[i64; 4]>,
    ) -> bool {
        let Some(&(a, b)) = sizes.get(lying.len()) else { return true };
        for (length, width) in [(a, b), (b, a)] {
            for x in 0..=(l - length) {
                for y in 0..=(w - width) {
                    let clear = lying.iter().all(|[ox, oy, ol, ow]| {
                        x >= ox + ol + apart
                            || *ox >= x + length + apart
                            || y >= oy + ow + apart
                            || *oy >= y + width + apart
                    });
                    if clear {
                        lying.push([x, y, length, width]);
                        let fits = by_grid(sizes, apart, (l, w), lying);
                        lying.pop();
                        if fits {
                            return true;
                        }
                    }
                }
            }
        }
        false
    }

    #[test]
    fn every_box_is_told_as_a_search_of_every_place_does() {
        // A small generator of our own, for test inputs only.
        let mut state = 7_u64;
        let mut roll = |sides: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            ((state >> 33) % sides) as i64
        };
        let (mut fit, mut not) = (0, 0);
        for _ in 0..60 {
            let many = 2 + roll(3) as usize;
            let sizes: Vec<(i64, i64)> = (0..many).map(|_| (1 + roll(4), 1 + roll(4))).collect();
            let apart = roll(2);
            let real: Vec<_> = sizes.iter().map(|(a, b)| (*a as f64, *b as f64)).collect();
            let found = spreads(&real, apart as f64);
            for (l, w) in (1..10).flat_map(|l| (1..10).map(move |w| (l, w))) {
                let fits = found.iter().any(|s| s.length <= l as f64 && s.width <= w as f64);
                let told = by_grid(&sizes, apart, (l, w), &mut Vec::new());
                assert_eq!(fits, told, "{sizes:?}, {apart} apart, in {l} x {w}");
                *(if fits { &mut fit } else { &mut not }) += 1;
            }
            for s in &found {
                for (i, a) in s.places.iter().enumerate() {
                    assert!(a.x + a.length <= s.length && a.y + a.width <= s.width);
                    assert!(s.places[..i].iter().all(|b| !near(a, b, apart as f64)), "{s:?}");
                }
            }
        }
        assert!(fit > 500 && not > 500, "{fit} fit, {not} do not");
    }
}
