//! How bulky a body is around a place: volume over surface of what lies within a ball.

use super::body::{Body, Cells};
use super::memo;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// Cells across the ball.
const CELLS: usize = 24;
/// A piece of a face this small against the ball lies inside or outside as its middle does.
const PIECE: f64 = 1.0 / 16.0;

/// What lies around a place of a body.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Around {
    /// Volume over surface within the two balls, m. Of a boss on a plate the near one tells more,
    /// of a bar that is wider than it is high the far one.
    pub moduli: [f64; 2],
    /// Share of the whole body that lies within the far ball, 0 to 1.
    pub share: f64,
}

/// The two balls that are looked into, over the radius. Where such a ball cuts through metal, the
/// cut counts as so much bare surface: so a wide plate comes out as half its thickness r, by
/// 12.04 r3 / (7.85 r2 + 0.222 x 18.85 r2) and by 23.04 r3 / (18.85 r2 + 0.167 x 25.13 r2).
const BALLS: [(f64, f64); 2] = [(1.5, 0.222), (2.0, 0.167)];
/// Places on the ball that are looked at.
const LOOKS: usize = 1_000;

/// What lies within a ball.
#[derive(Clone, Copy)]
struct Within {
    /// m3.
    volume: f64,
    /// Bare, m2.
    surface: f64,
    /// Where the ball cuts through metal, m2.
    cut: f64,
}

impl Body {
    /// Volume over surface of what lies within two balls about `centre` (m), 1.5 times and twice as
    /// large as `radius` (m). A cube, a ball, a round bar and a wide plate come out within 11 % of
    /// their closed forms. None where no surface lies within.
    pub fn around(&self, centre: [f64; 3], radius: f64) -> Option<Around> {
        memo::answer(&[], &("around", self.name(), centre, radius), || {
            let balls = BALLS.map(|(times, _)| self.within(centre, times * radius));
            let modulus = |at: usize| {
                let Within { volume, surface, cut } = balls[at];
                (volume / (surface + BALLS[at].1 * cut)).min(radius)
            };
            let share = (balls[1].volume / self.volume()).min(1.0);
            let around = Around { moduli: [0, 1].map(modulus), share };
            balls.iter().all(|ball| ball.surface > 0.0).then_some(around)
        })
    }

    fn within(&self, centre: [f64; 3], radius: f64) -> Within {
        let edge = 2.0 * radius / CELLS as f64;
        let low = centre.map(|x| x - radius);
        let shares = self.filled(&Cells { low, edge: [edge; 3], count: [CELLS; 3] });
        let middle = |i: usize, at: usize| low[i] + (at as f64 + 0.5) * edge;
        let inside = |at: usize| {
            let [x, y, z] = [at / (CELLS * CELLS), at / CELLS % CELLS, at % CELLS];
            apart([middle(0, x), middle(1, y), middle(2, z)], centre) <= radius
        };
        let full = shares.iter().enumerate().filter(|(at, _)| inside(*at));
        let volume = full.map(|(_, share)| f64::from(*share)).sum::<f64>() * edge.powi(3);
        let mesh = self.mesh();
        let faces = mesh.triangles.iter().map(|t| t.map(|at| mesh.vertices[at as usize]));
        let surface = faces.map(|face| area_within(face, centre, radius)).sum();
        let share_at = |way: [f64; 3]| {
            let cell = way.map(|x| (((1.0 + x) * radius / edge) as usize).min(CELLS - 1));
            f64::from(shares[(cell[0] * CELLS + cell[1]) * CELLS + cell[2]])
        };
        let met: f64 = ways().map(share_at).sum();
        let cut = 4.0 * PI * radius * radius * met / LOOKS as f64;
        Within { volume, surface, cut }
    }
}

/// Directions spread evenly over a ball, turn by turn of the golden angle.
fn ways() -> impl Iterator<Item = [f64; 3]> {
    let golden = PI * (3.0 - 5.0_f64.sqrt());
    (0..LOOKS).map(move |i| {
        let z = 1.0 - (2.0 * i as f64 + 1.0) / LOOKS as f64;
        let (sin, cos) = (golden * i as f64).sin_cos();
        let out = (1.0 - z * z).sqrt();
        [out * cos, out * sin, z]
    })
}

/// The area of a triangle that lies within a ball, m2.
fn area_within(face: [[f64; 3]; 3], centre: [f64; 3], radius: f64) -> f64 {
    if face.iter().all(|corner| apart(*corner, centre) <= radius) {
        return area(face);
    }
    let middle = [0, 1, 2].map(|i| (face[0][i] + face[1][i] + face[2][i]) / 3.0);
    let far = face.iter().map(|corner| apart(*corner, middle)).fold(0.0, f64::max);
    if apart(middle, centre) > radius + far {
        return 0.0;
    }
    if far < PIECE * radius {
        return if apart(middle, centre) <= radius { area(face) } else { 0.0 };
    }
    let edges = [0, 1, 2].map(|i| apart(face[i], face[(i + 1) % 3]));
    let longest = (0..3).max_by(|a, b| edges[*a].total_cmp(&edges[*b])).unwrap_or(0);
    let [a, b, c] = [0, 1, 2].map(|i| face[(longest + i) % 3]);
    let half = [0, 1, 2].map(|i| f64::midpoint(a[i], b[i]));
    area_within([a, half, c], centre, radius) + area_within([half, b, c], centre, radius)
}

fn apart(a: [f64; 3], b: [f64; 3]) -> f64 {
    (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()
}

fn area([a, b, c]: [[f64; 3]; 3]) -> f64 {
    let [u, v] = [b, c].map(|p| [0, 1, 2].map(|i| p[i] - a[i]));
    let cross = [0, 1, 2].map(|i| {
        let (j, k) = ((i + 1) % 3, (i + 2) % 3);
        u[j] * v[k] - u[k] * v[j]
    });
    cross.iter().map(|x| x * x).sum::<f64>().sqrt() / 2.0
}

#[cfg(test)]
mod tests {
    use super::super::{Frame, Placed, Solid};
    use super::*;

    fn body(solids: &[(Solid, [f64; 3])]) -> Body {
        let placed = |(solid, at): &(Solid, [f64; 3])| Placed {
            solid: solid.clone(),
            frames: vec![Frame { at: *at, ..Frame::HOME }],
            less: false,
            of: None,
        };
        let placed: Vec<Placed> = solids.iter().map(placed).collect();
        Body::of_solids(&placed).0.expect("a body")
    }

    /// Against volume over surface by closed forms, of the whole where it is plain.
    #[test]
    fn plain_bodies_are_as_bulky_as_closed_forms_say() {
        let near = |is: Option<Around>, low: f64, high: f64, what: &str| {
            let is = is.expect("a surface").moduli;
            let both = is.iter().all(|is| low <= *is && *is <= high);
            assert!(both, "{what}: {is:?}, not in {low} to {high}");
        };
        let origin = [0.0; 3];
        let cube = body(&[(Solid::Block { length: 0.06, width: 0.06, height: 0.06 }, origin)]);
        near(cube.around([0.0, 0.0, 0.03], 0.03), 0.0098, 0.0111, "a cube, edge / 6");
        let ball = body(&[(Solid::Sphere { diameter: 0.06 }, origin)]);
        let share = |body: &Body, at, radius| body.around(at, radius).map_or(0.0, |a| a.share);
        assert!(share(&cube, [0.0, 0.0, 0.03], 0.03) > 0.98);
        near(ball.around([0.0, 0.0, 0.03], 0.03), 0.0095, 0.0104, "a ball, diameter / 6");
        let bar = body(&[(Solid::Cylinder { diameter: 0.04, length: 0.4 }, origin)]);
        let here = share(&bar, [0.0, 0.0, 0.2], 0.02);
        assert!((here - 0.186).abs() < 0.01, "{here}: 3.73 pi r3 of 20 pi r3");
        near(bar.around([0.0, 0.0, 0.2], 0.02), 0.0098, 0.0107, "a round bar, diameter / 4");
        let plate = Solid::Plate { length: 0.4, width: 0.4, thickness: 0.02 };
        near(body(&[(plate, origin)]).around([0.0, 0.0, 0.01], 0.01), 0.0095, 0.01, "a plate");
        // A boss of 40 x 40 mm on a plate of 8 mm: by itself, less its foot, 50.3 / 62.8 cm.
        let plate = Solid::Plate { length: 0.3, width: 0.3, thickness: 0.008 };
        let boss = Solid::Cylinder { diameter: 0.04, length: 0.04 };
        let padded = body(&[(plate, origin), (boss, [0.0, 0.0, 0.008])]);
        near(padded.around([0.0, 0.0, 0.026], 0.02), 0.0063, 0.0086, "a boss");
    }

    #[test]
    fn nothing_lies_around_a_place_outside() {
        let cube = body(&[(Solid::Block { length: 0.06, width: 0.06, height: 0.06 }, [0.0; 3])]);
        assert_eq!(cube.around([1.0, 0.0, 0.0], 0.01), None);
    }
}
