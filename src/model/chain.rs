//! From the finished part to the pattern: machining stock, then contraction, size by size.

use super::faces::{self, Moves};
use super::{Casting, Pattern};
use crate::figure::*;
use crate::handbook::formulas::pattern::{self, Face, Grade, Metal};
use crate::handbook::{Family, Handbook};
use crate::manifest::{ShapeGiven, SolidGiven};

/// The box around one casting on its way to the pattern, along x, y and z of its shape.
#[derive(Debug, Clone)]
pub struct Chain {
    /// Finished.
    pub finished: [Figure<Length>; 3],
    /// Whether that is all that is known of it: its solids are not placed, and the casting is no
    /// smaller than the largest of them, in an order of its own.
    pub at_least: bool,
    /// With stock on the machined sides.
    pub as_cast: [Figure<Length>; 3],
    /// As cast, with contraction.
    pub pattern: [Figure<Length>; 3],
}

/// One size of a solid on its way to the pattern.
#[derive(Debug, Clone)]
pub struct ChainSize {
    /// Of which solid, and which size.
    pub name: String,
    /// What `why` asks for it by, before `-finished`, `-as-cast` and `-pattern`.
    pub ask: String,
    /// Finished.
    pub finished: Figure<Length>,
    /// With stock on its machined faces, inward in bores, and that with contraction; none where the
    /// stock closes it, so that it is cast solid.
    pub cast: Option<[Figure<Length>; 2]>,
}

/// The largest casting that the shop table tells of, m.
const SHOP_MOST: f64 = 1.524;

fn shop_or_standard(standard: &Figure<Length>, shop: &Figure<Length>) -> Figure<Length> {
    let (a, b) = (standard.node().range(), shop.node().range());
    let range = Range { low: a.low, likely: a.likely.max(b.likely), high: a.high.max(b.high) };
    let nodes = vec![standard.node().clone(), shop.node().clone()];
    let because = Because::Chosen(
        "the larger of the standard's and a shop's; low: the least that the standard asks".into(),
        nodes,
    );
    Figure::new("machining allowance", range, because)
}

const ALONG: [&str; 3] = ["length", "width", "depth"];

impl Casting {
    /// Machining stock on each machined face, by the largest size of the finished part; none where
    /// nothing is machined. The builder's own, or at the least what ISO 8062-4 asks for hand-moulded
    /// sand castings, likely what a shop leaves on a plain face, where that is more, and at the most
    /// the larger of the standard's coarsest grade and of what a shop leaves in the cope.
    pub fn stock(&self, on: &Pattern) -> Option<Figure<Length>> {
        self.given.machined.as_ref()?;
        if let Some(own) = &self.given.allowance {
            return Some(own.clone());
        }
        let largest = self.largest(on)?;
        let source = Source {
            citation: "ISO 8062-4:2017 annex C: F to H for hand-moulded copper, zinc and light metal castings".into(),
            known: Known::Published,
        };
        let grade = Figure::new(
            "grade",
            Range { low: Grade::F.si(), likely: Grade::G.si(), high: Grade::H.si() },
            Because::Handbook(source.into()),
        );
        let standard = pattern::machining_allowance::figure(&largest, &grade);
        Some(match largest.si() <= SHOP_MOST {
            true => shop_or_standard(&standard, &self.shop_stock(&largest)),
            false => standard,
        })
    }

    fn shop_stock(&self, largest: &Figure<Length>) -> Figure<Length> {
        let metal = match self.alloy.family {
            Family::Iron => Metal::Iron,
            Family::Aluminium | Family::Zinc | Family::Copper => Metal::NonFerrous,
        };
        let metal = Figure::<Metal>::counted("metal", metal.si(), "of the alloy's family");
        let face = Figure::new(
            "face",
            Range { low: Face::Surface.si(), likely: Face::Surface.si(), high: Face::Cope.si() },
            Because::Counted("a plain face; high: one in the cope".into()),
        );
        pattern::machining_shop::figure(largest, &face, &metal)
    }

    /// The largest size of the finished part; of the pattern, where its shape tells none.
    fn largest(&self, on: &Pattern) -> Option<Figure<Length>> {
        let by_size = |a: &Figure<Length>, b: &Figure<Length>| a.si().total_cmp(&b.si());
        if let Some((finished, _)) = self.finished() {
            let largest = finished.into_iter().max_by(by_size);
            return largest.map(|size| size.named("largest size of the finished part"));
        }
        let given = &on.given;
        let sizes = [&given.length, &given.width, &given.depth].into_iter().flatten().cloned();
        sizes.max_by(by_size).map(|size| size.named("largest size of the pattern"))
    }

    /// The box around the finished part, and whether it is only known to be no smaller than that.
    fn finished(&self) -> Option<([Figure<Length>; 3], bool)> {
        let figures =
            |sizes: [f64; 3], because: &'static str, nodes: &dyn Fn(usize) -> Vec<Node>| {
                [0, 1, 2].map(|i| {
                    let because = Because::Closed(because, nodes(i));
                    Figure::<Length>::new(
                        format!("{} of the finished part", ALONG[i]),
                        Range::exact(sizes[i]),
                        because,
                    )
                })
            };
        match (&self.given.shape, &self.given.body) {
            (ShapeGiven::Solids(solids), Some(body)) => {
                let nodes: Vec<Node> = solids.iter().flat_map(|s| s.sizes.clone()).collect();
                let all = |_| nodes.clone();
                Some((
                    figures(body.extents(), "over all of its solids where they stand", &all),
                    false,
                ))
            }
            (ShapeGiven::Solids(solids), None) => {
                let added: Vec<&SolidGiven> = solids.iter().filter(|s| !s.less).collect();
                let largest = |i: usize| {
                    let size = |s: &&&SolidGiven| descending(s.solid.extents())[i];
                    added.iter().max_by(|a, b| size(a).total_cmp(&size(b))).copied()
                };
                largest(0)?;
                let sizes =
                    [0, 1, 2].map(|i| largest(i).map_or(0.0, |s| descending(s.solid.extents())[i]));
                let nodes = |i| largest(i).map_or(Vec::new(), |s: &SolidGiven| s.sizes.clone());
                Some((figures(sizes, "no less than its largest solid", &nodes), true))
            }
            (ShapeGiven::Mesh(mesh), Some(body)) if !mesh.of_pattern => {
                let nodes = |_| vec![mesh.volume.node().clone()];
                Some((figures(body.extents(), "over all of the mesh", &nodes), false))
            }
            _ => None,
        }
    }

    /// The sizes of one casting from the finished part to the pattern; none where its shape tells
    /// no sizes, or the contraction of its alloy is not known.
    pub fn chain(&self, on: &Pattern) -> Option<Chain> {
        let (finished, at_least) = self.finished()?;
        let contraction = self.alloy.contraction.as_ref()?;
        let stock = self.stock(on);
        let sides = self.stocks_on(on, &finished, at_least);
        let as_cast = [0, 1, 2].map(|i| {
            match &stock {
                Some(stock) if sides[i] > 0.0 => with_stock(&finished[i], stock, sides[i]),
                _ => finished[i].clone(),
            }
            .named(format!("{} of the rough casting", ALONG[i]))
        });
        let pattern = [0, 1, 2].map(|i| {
            pattern::pattern_size::figure(&as_cast[i], contraction)
                .named(format!("{} of the pattern for it", ALONG[i]))
        });
        Some(Chain { finished, at_least, as_cast, pattern })
    }

    /// How many stocks the box around it grows by along x, y and z: as the body that comes out of the
    /// sand does, where that is known; else one for each side that is machined.
    fn stocks_on(&self, on: &Pattern, finished: &[Figure<Length>; 3], at_least: bool) -> [f64; 3] {
        let stock = self.stock(on).map_or(0.0, |stock| stock.si());
        if let Some(cast) = self.as_cast(on).filter(|_| stock > 0.0) {
            let grown = cast.extents();
            // Whole stocks, but for what is turned; to a hundredth, where faces are flat pieces.
            return [0, 1, 2].map(|i| ((grown[i] - finished[i].si()) / stock * 1e2).round() / 1e2);
        }
        let sides = self.given.machined_sides.map(|ends| ends.map(u8::from).iter().sum::<u8>());
        // Of sizes in an order of their own the sides have no direction: the fewest count.
        let least = sides.into_iter().min().unwrap_or(0);
        sides.map(|sides| f64::from(if at_least { least } else { sides }))
    }

    /// Every size of its solids from the finished part to the pattern.
    pub fn sizes(&self, on: &Pattern) -> Vec<ChainSize> {
        let (ShapeGiven::Solids(solids), Some(contraction)) =
            (&self.given.shape, &self.alloy.contraction)
        else {
            return Vec::new();
        };
        let stock = self.stock(on);
        let mut out: Vec<ChainSize> = Vec::new();
        for solid in solids {
            let moves = self.most_moves(solid);
            for node in solid.sizes.iter().filter(|n| n.kind() == Kind::Length) {
                let finished = Figure::<Length>::typed(node.clone());
                let as_cast = match &stock {
                    Some(stock) => sized(solid, &moves, node, stock),
                    None => Some(finished.clone()),
                };
                let name = format!("{}, {}", solid.name(), node.name());
                let cast = as_cast.map(|as_cast| {
                    let pattern = pattern::pattern_size::figure(&as_cast, contraction);
                    [as_cast, pattern].map(|size| size.named(name.clone()))
                });
                let ask = asked_by(&out, &name);
                out.push(ChainSize { name, ask, finished, cast });
            }
        }
        out
    }
}

/// A size with the stock on its faces; none where it is closed by it.
fn sized(
    solid: &SolidGiven,
    moves: &Moves,
    node: &Node,
    stock: &Figure<Length>,
) -> Option<Figure<Length>> {
    let with = |stock: f64| {
        let (solid, _) = faces::grown(&solid.solid, moves, stock)?;
        solid.sizes().into_iter().find(|(name, _)| *name == node.name()).map(|(_, size)| size)
    };
    let range = stock.node().range();
    let likely = with(range.likely)?;
    let finished = node.range().likely;
    if (likely - finished).abs() < 1e-9 {
        return Some(Figure::typed(node.clone()));
    }
    let ends = [range.low, range.high].map(|stock| with(stock).unwrap_or(0.0));
    let range = Range { low: ends[0].min(ends[1]), likely, high: ends[0].max(ends[1]) };
    let faces = ((likely - finished).abs() / range_of(stock)).round();
    let because = match (likely > finished, faces as u32) {
        (true, 1) => "size + stock on one face",
        (true, _) => "size + stock on both faces",
        (false, 1) => "size - stock on one face",
        (false, _) => "size - stock on both faces",
    };
    let nodes = vec![node.clone(), stock.node().clone()];
    Some(Figure::new("size with stock", range, Because::Closed(because, nodes)))
}

fn range_of(stock: &Figure<Length>) -> f64 {
    stock.si().max(f64::MIN_POSITIVE)
}

/// A name that `why` takes, unlike those there are.
fn asked_by(taken: &[ChainSize], name: &str) -> String {
    let word = |c: char| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { ' ' };
    let plain: String = name.chars().map(word).collect();
    let plain = plain.split_whitespace().collect::<Vec<_>>().join("-");
    let free = |ask: &String| taken.iter().all(|size| size.ask != *ask);
    let more = (2..).map(|n| format!("{plain}-{n}"));
    std::iter::once(plain.clone()).chain(more).find(free).unwrap_or(plain)
}

/// Gives a pattern without a `size` that of the castings on it, where their bodies are known: side
/// by side in the flattest rows, with sand between them.
pub(super) fn derive(pattern: &mut Pattern, castings: &[&Casting], handbook: &Handbook) {
    let Some(sizes) = castings.iter().map(|c| sizes_of(c, pattern)).collect::<Option<Vec<_>>>()
    else {
        return;
    };
    let largest =
        |i: usize| sizes.iter().map(|s| &s[i]).max_by(|a, b| a.si().total_cmp(&b.si())).cloned();
    let [Some(length), Some(width), Some(depth)] = [0, 1, 2].map(largest) else { return };
    let whole =
        castings.iter().all(|c| matches!(&c.given.shape, ShapeGiven::Mesh(m) if m.of_pattern));
    let count = if whole { 1 } else { pattern.given.cavities };
    let side = handbook.cover_for(length.si().max(width.si())).map(|cover| cover.side.clone());
    let (columns, rows) = rows(count, length.si(), width.si());
    let over = |size: Figure<Length>, count: u32, name: &'static str| match &side {
        Some(side) if count > 1 => {
            let n = f64::from(count);
            let (a, b) = (size.node().range(), side.node().range());
            let sum = |pick: fn(Range) -> f64| n * pick(a) + (n - 1.0) * pick(b);
            let range =
                Range { low: sum(|r| r.low), likely: sum(|r| r.likely), high: sum(|r| r.high) };
            let nodes = vec![size.node().clone(), side.node().clone()];
            let because = Because::Closed("castings in a row, with sand between them", nodes);
            Figure::new(name, range, because)
        }
        _ => size.named(name),
    };
    pattern.given.length = Some(over(length, columns, "pattern length"));
    pattern.given.width = Some(over(width, rows, "pattern width"));
    pattern.given.depth = Some(depth.named("pattern depth"));
}

/// How many stand along the length and along the width, nearest to a square.
fn rows(count: u32, length: f64, width: f64) -> (u32, u32) {
    let far = |columns: u32| {
        let sides = [f64::from(columns) * length, f64::from(count.div_ceil(columns)) * width];
        sides[0].max(sides[1])
    };
    let columns = (1..=count).min_by(|a, b| far(*a).total_cmp(&far(*b))).unwrap_or(1);
    (columns, count.div_ceil(columns))
}

/// The sizes of one casting's pattern: by its chain, or as a mesh of the pattern is drawn.
fn sizes_of(casting: &Casting, on: &Pattern) -> Option<[Figure<Length>; 3]> {
    match &casting.given.shape {
        ShapeGiven::Mesh(mesh) if mesh.of_pattern => {
            let sizes = mesh.body.extents();
            Some(sizes.map(|size| {
                let because = Because::Given(mesh.file.route.clone());
                Figure::new("size of the mesh", Range::exact(size), because)
            }))
        }
        _ => casting.chain(on).filter(|chain| !chain.at_least).map(|chain| chain.pattern),
    }
}

fn with_stock(size: &Figure<Length>, stock: &Figure<Length>, count: f64) -> Figure<Length> {
    let (size_range, stock_range) = (size.node().range(), stock.node().range());
    let sum = |pick: fn(Range) -> f64| pick(size_range) + count * pick(stock_range);
    let range = Range { low: sum(|r| r.low), likely: sum(|r| r.likely), high: sum(|r| r.high) };
    let nodes = vec![size.node().clone(), stock.node().clone()];
    let because = match count {
        1.0 => "size + stock on one side",
        2.0 => "size + stock on both sides",
        _ => "size + stock on its machined faces",
    };
    Figure::new("size with stock", range, Because::Closed(because, nodes))
}

/// The largest first.
pub(super) fn descending(mut sizes: [f64; 3]) -> [f64; 3] {
    sizes.sort_by(|a, b| b.total_cmp(a));
    sizes
}
