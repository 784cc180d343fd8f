//! How a casting lies in its mould: as it is drawn, its z upward, and where the mould parts.

use super::faces::corners;
use super::{Casting, Hole, Pattern};
use crate::figure::{Because, Figure, Range};
use crate::manifest::ShapeGiven;
use crate::shape::{Body, Columns, Outline, Placed};
use std::fmt::Debug;
use std::sync::{Arc, OnceLock};

/// Columns along the longer side of a casting.
const ALONG: usize = 64;
/// Places closer than this are one, m.
const NEAR: f64 = 1e-6;

/// The body that comes out of the sand, in the measures of its shape, m.
#[derive(Debug, Clone)]
struct Cast {
    /// The likely stock on its machined faces, m.
    stock: f64,
    body: Body,
    plan: Outline,
    columns: Columns,
}

/// What was found of a casting's body once, kept with it.
#[derive(Debug, Clone, Default)]
pub struct CastOnce(Arc<OnceLock<Option<Arc<Cast>>>>);

/// The cavity of one casting: places are counted from the middle of its plan and from the parting,
/// m, as large as the pattern makes it.
#[derive(Debug, Clone)]
pub struct Lying {
    cast: Arc<Cast>,
    columns: Columns,
    times: f64,
    middle: [f64; 2],
    parting: f64,
    /// Its cores with their prints, in the measures of the shape.
    cores: Vec<Placed>,
    /// Whether it is a mesh of the whole pattern, all cavities in it.
    pub whole: bool,
}

impl Casting {
    /// How it lies; none where its body is not known.
    pub fn lying(&self, on: &Pattern) -> Option<Lying> {
        let cast = self.cast(on)?;
        let of_pattern = matches!(&self.given.shape, ShapeGiven::Mesh(mesh) if mesh.of_pattern);
        let contraction = self.alloy.contraction.as_ref().filter(|_| !of_pattern);
        let times = 1.0 + contraction.map_or(0.0, Figure::si);
        let [low, high] = cast.body.bounds();
        let in_cope = on.given.in_cope.as_ref().map_or(0.0, Figure::si);
        let cores = self.openings(on).into_iter().filter(|o| o.how == Hole::Core).map(|o| {
            let (solid, frames) = o.core();
            Placed { solid, frames, less: false, of: None }
        });
        let middle = [0, 1].map(|i| f64::midpoint(low[i], high[i]));
        let parting = high[2] - in_cope / times;
        Some(Lying {
            columns: cast.columns.scaled(times, [middle[0], middle[1], parting]),
            times,
            whole: of_pattern,
            middle,
            parting,
            cores: cores.collect(),
            cast,
        })
    }

    /// The body that comes out of the sand: the finished one with the likely stock on every machined
    /// face; none where its solids are not placed.
    pub fn as_cast(&self, on: &Pattern) -> Option<Body> {
        let solids = matches!(self.given.shape, ShapeGiven::Solids(_));
        solids.then(|| Some(self.cast(on)?.body.clone()))?
    }

    fn cast(&self, on: &Pattern) -> Option<Arc<Cast>> {
        let stock = self.stock(on).map_or(0.0, |stock| stock.si());
        let kept = self.once.0.get_or_init(|| self.cast_with(stock).map(Arc::new)).clone()?;
        match kept.stock.to_bits() == stock.to_bits() {
            true => Some(kept),
            false => self.cast_with(stock).map(Arc::new),
        }
    }

    fn cast_with(&self, stock: f64) -> Option<Cast> {
        let given = self.given.body.as_ref()?;
        let grown = || {
            let placed: Vec<Placed> = self.with_stock(stock)?.into_iter().map(|(_, p)| p).collect();
            Body::of_solids(&placed).0
        };
        let grown = if stock > 0.0 { grown() } else { None };
        let body = grown.unwrap_or_else(|| (**given).clone());
        let plan = body.silhouette(2);
        let columns = Columns::of(&body, ALONG);
        Some(Cast { stock, body, plan, columns })
    }
}

impl Lying {
    /// What tells it from every other cavity.
    pub fn name(&self) -> impl Debug + '_ {
        (self.cast.body.name(), self.times, self.middle, self.parting, &self.cores)
    }

    /// A place of the shape as it lies: from the middle of the plan and from the parting, m.
    pub fn lies(&self, at: [f64; 3]) -> [f64; 3] {
        let off = [self.middle[0], self.middle[1], self.parting];
        [0, 1, 2].map(|i| (at[i] - off[i]) * self.times)
    }

    /// The same the other way round.
    pub fn in_shape(&self, at: [f64; 3]) -> [f64; 3] {
        let off = [self.middle[0], self.middle[1], self.parting];
        [0, 1, 2].map(|i| at[i] / self.times + off[i])
    }

    /// Length, width and depth, m.
    pub fn size(&self) -> [f64; 3] {
        self.cast.body.extents().map(|size| size * self.times)
    }

    /// Its lowest and its highest place over the parting, m.
    pub fn ends(&self) -> [f64; 2] {
        let [low, high] = self.cast.body.bounds();
        [low[2], high[2]].map(|z| (z - self.parting) * self.times)
    }

    /// What it covers from above, m; what goes right through it is left out.
    pub fn plan(&self) -> Outline {
        self.drawn(&self.cast.plan, self.middle)
    }

    /// The same in m2.
    pub fn plan_area(&self) -> f64 {
        self.cast.plan.area() * self.times * self.times
    }

    /// What shows of it in the plane across x or y (0, 1) at this place; in the plane the other of
    /// the two, then the height over the parting.
    pub fn section(&self, across: usize, at: f64) -> Outline {
        self.cut(&self.cast.body, across, at)
    }

    /// What shows of it at this height over the parting, from above.
    pub fn section_at(&self, height: f64) -> Outline {
        let outline = self.cast.body.section(2, height / self.times + self.parting);
        self.drawn(&outline, self.middle)
    }

    /// Its cores with their prints; none where it has none.
    pub fn cores(&self) -> Option<Cores<'_>> {
        if self.cores.is_empty() {
            return None;
        }
        Some(Cores { body: Body::of_solids(&self.cores).0?, of: self })
    }

    /// The box around its cores with their prints: from where to where along x, y and z, m.
    pub fn prints(&self) -> Option<[[f64; 3]; 2]> {
        let mut out: Option<[[f64; 3]; 2]> = None;
        for at in self.cores.iter().flat_map(corners).flatten().map(|corner| self.lies(corner)) {
            let [low, high] = out.get_or_insert([at, at]);
            for i in 0..3 {
                low[i] = low[i].min(at[i]);
                high[i] = high[i].max(at[i]);
            }
        }
        out
    }

    /// Its columns, with the metal in each: places from the middle of the plan, heights over the
    /// parting, m.
    pub fn columns(&self) -> &Columns {
        &self.columns
    }

    /// Where its cores reach over the places of a plan, over the parting, m: nothing where it has none.
    pub fn under_cores(&self) -> Option<impl Fn([f64; 2]) -> Option<f64>> {
        let body = Body::of_solids(&self.cores).0?;
        let from = [self.middle[0], self.middle[1], self.parting];
        let columns = Columns::of(&body, ALONG).scaled(self.times, from);
        Some(move |at: [f64; 2]| Some(columns.over(at).last()?[1]))
    }

    fn cut(&self, body: &Body, across: usize, at: f64) -> Outline {
        let outline = body.section(across, at / self.times + self.middle[across]);
        self.drawn(&outline, [self.middle[1 - across], self.parting])
    }

    fn drawn(&self, outline: &Outline, from: [f64; 2]) -> Outline {
        let corner = |c: &[f64; 2]| [0, 1].map(|i| (c[i] - from[i]) * self.times);
        Outline {
            loops: outline.loops.iter().map(|way| way.iter().map(corner).collect()).collect(),
        }
    }
}

impl Lying {
    /// Where the middle of each casting on its pattern lies, from the middle of all of them, m.
    pub fn spots(&self, on: &Pattern) -> Vec<[f64; 2]> {
        if self.whole {
            return vec![[0.0; 2]];
        }
        let [x, y, _] = self.size();
        let prints = self.prints().unwrap_or([[0.0; 3]; 2]);
        let whole = [x, y].map(|size| size / 2.0);
        let whole = [0, 1].map(|i| prints[1][i].max(whole[i]) - prints[0][i].min(-whole[i]));
        let spots = super::printed::spots(on, [x, y], whole);
        let over = |i: usize| spots.iter().map(move |s| s[i]).fold(0.0, f64::max) / 2.0;
        let middle = [over(0), over(1)];
        spots.iter().map(|s| [0, 1].map(|i| s[i] - middle[i])).collect()
    }
}

/// Cores of a casting with their prints.
pub struct Cores<'a> {
    body: Body,
    of: &'a Lying,
}

impl Cores<'_> {
    /// What they cover from above, m.
    pub fn plan(&self) -> Outline {
        self.of.drawn(&self.body.silhouette(2), self.of.middle)
    }

    /// What shows of them, as [`Lying::section`].
    pub fn section(&self, across: usize, at: f64) -> Outline {
        self.of.cut(&self.body, across, at)
    }
}

/// Lets a mould part where nothing is said of it: where the pattern draws best, there where it is
/// largest, and of equals as high as can be.
pub(super) fn propose(pattern: &mut Pattern, castings: &[&Casting]) {
    let Some((casting, finished)) =
        castings.iter().find_map(|c| Some((*c, c.given.body.as_ref()?)))
    else {
        return;
    };
    let cast = casting.as_cast(pattern);
    let body = cast.as_ref().unwrap_or(finished);
    let Some(parting) = parts_best(&Columns::of(body, ALONG / 2)) else { return };
    let top = body.bounds()[1][2];
    let of_pattern = matches!(&casting.given.shape, ShapeGiven::Mesh(mesh) if mesh.of_pattern);
    let contraction = casting.alloy.contraction.as_ref().filter(|_| !of_pattern);
    let times = 1.0 + contraction.map_or(0.0, Figure::si);
    // A mesh of the part is drawn without its stock; of the pattern, with it.
    let stock = casting.stock(pattern).filter(|_| cast.is_none() && !of_pattern);
    let stock = stock.filter(|_| casting.given.machined_sides[2][1]);
    let above = match top - parting > NEAR {
        true => top - parting + stock.map_or(0.0, |stock| stock.si()),
        false => 0.0,
    };
    let because = Because::Chosen(
        "proposed: where the pattern draws from both halves and is largest; of equals as high as can be".into(),
        Vec::new(),
    );
    let range = Range::exact(above * times);
    pattern.given.in_cope = Some(Figure::new("pattern depth in the cope", range, because));
    pattern.parting_proposed = true;
}

/// The height at which most of the columns meet a flat parting, or lie nearest to it.
fn parts_best(columns: &Columns) -> Option<f64> {
    let ends: Vec<[f64; 2]> = columns.full().map(|column| column.ends()).collect();
    let all = |pick: fn(&[f64; 2]) -> f64| ends.iter().map(pick);
    let mut heights: Vec<f64> =
        all(|e| e[0]).chain(all(|e| e[1])).chain(all(|e| f64::midpoint(e[0], e[1]))).collect();
    heights.sort_by(f64::total_cmp);
    heights.dedup_by(|a, b| (*a - *b).abs() < NEAR);
    let every = heights.len().div_ceil(64).max(1);
    let last = heights.last().copied();
    let tried = heights.into_iter().step_by(every).chain(last);
    let off = |z: f64| -> f64 {
        ends.iter().map(|[low, high]| (z - high).max(0.0) + (low - z).max(0.0)).sum()
    };
    let met = |z: f64| ends.iter().filter(|[l, h]| l - NEAR <= z && z <= h + NEAR).count();
    let slack = NEAR * ends.len() as f64;
    tried
        .fold(None, |best: Option<(f64, f64, usize)>, z| {
            let (far, many) = (off(z), met(z));
            match best {
                Some((_, least, most))
                    if far > least + slack || (far > least - slack && many < most) =>
                {
                    best
                }
                _ => Some((z, far, many)),
            }
        })
        .map(|(z, ..)| z)
}
