//! What speaks against a mesh: judged from its edges and its bodies.

use super::super::lines::{Lines, depths};
use super::Mesh;
use super::vector::{across, dot, minus};
use rayon::prelude::*;
use std::collections::HashMap;
use std::fmt;

/// Something that speaks against a mesh.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Doubt {
    /// Triangles with a corner that is no number, or not there; they are left out.
    NotFinite {
        /// How many.
        triangles: usize,
    },
    /// Triangles without area.
    Degenerate {
        /// How many.
        triangles: usize,
    },
    /// Edges with a face on one side only: there is a hole.
    OpenEdges {
        /// How many.
        edges: usize,
    },
    /// Edges that meet shorter ones of the neighbour; the surface is closed all the same.
    StepsInSeam {
        /// How many.
        edges: usize,
    },
    /// Faces that look the other way than their neighbours.
    Flipped {
        /// Fewest that would have to be turned.
        faces: usize,
    },
    /// The same face more than once.
    Doubled {
        /// Faces too many.
        faces: usize,
    },
    /// Edges with more than two faces that do not pair off.
    Crowded {
        /// How many.
        edges: usize,
    },
    /// Edges along which the surface touches itself; inside and outside are still told apart.
    Touching {
        /// How many.
        edges: usize,
    },
    /// Every face looks inward.
    InsideOut,
    /// Bodies that look inward and lie in no other: not hollows.
    BodyInsideOut {
        /// How many.
        bodies: usize,
    },
    /// Room that lies within the surface more than once, or within it turned inside out.
    Overlap {
        /// How much of all that it holds, in thousandths.
        thousandths: usize,
    },
    /// Bodies that do not touch each other: no single casting.
    Apart {
        /// How many.
        bodies: usize,
    },
    /// Faces lie on each other: there is no room between them.
    Flat,
}

impl Doubt {
    /// Whether the volume is not to be believed.
    pub const fn spoils_volume(self) -> bool {
        match self {
            Self::NotFinite { .. }
            | Self::OpenEdges { .. }
            | Self::Flipped { .. }
            | Self::Doubled { .. }
            | Self::Crowded { .. }
            | Self::BodyInsideOut { .. }
            | Self::Flat => true,
            // What is counted twice is less than the sizes are known to.
            Self::Overlap { thousandths } => thousandths >= 5,
            Self::Degenerate { .. }
            | Self::StepsInSeam { .. }
            | Self::Touching { .. }
            | Self::InsideOut
            | Self::Apart { .. } => false,
        }
    }

    /// What to do about it.
    pub const fn hint(self) -> &'static str {
        match self {
            Self::NotFinite { .. } => "write the file out again from the drawing",
            Self::Degenerate { .. } => "no harm to volume or surface",
            Self::OpenEdges { .. } => "close the hole in the drawing and write the file out again",
            Self::StepsInSeam { .. } => "no harm to volume or surface",
            Self::Flipped { .. } | Self::BodyInsideOut { .. } => {
                "turn these faces in the drawing so that all look outward"
            }
            Self::Doubled { .. } | Self::Crowded { .. } => {
                "take the faces out that are doubled or lie within the body"
            }
            Self::Touching { .. } => "see whether two bodies should be one",
            Self::InsideOut => "the volume is given as if every face were turned",
            Self::Overlap { .. } => "join what runs into each other into one body in the drawing",
            Self::Apart { .. } => "give each body a file and a part of its own, or join them",
            Self::Flat => "write out a solid body; a sheet without thickness cannot be cast",
        }
    }
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let many = |n: usize, one: &str, more: &str| match n {
            1 => format!("1 {one}"),
            _ => format!("{n} {more}"),
        };
        let edges = |n| many(n, "edge", "edges");
        let faces = |n| many(n, "face", "faces");
        let bodies = |n| many(n, "body", "bodies");
        let triangles = |n| many(n, "triangle", "triangles");
        match *self {
            Self::NotFinite { triangles: n } => {
                write!(f, "{} left out: a corner is not a number or not there", triangles(n))
            }
            Self::Degenerate { triangles: n } => write!(f, "{} without area", triangles(n)),
            Self::OpenEdges { edges: n } => {
                write!(f, "not closed: {} with a face on one side only", edges(n))
            }
            Self::StepsInSeam { edges: n } => {
                write!(f, "{} that meet shorter ones of a neighbour, without a gap", edges(n))
            }
            Self::Flipped { faces: n } => {
                write!(f, "flipped: {} against the neighbours", faces(n))
            }
            Self::Doubled { faces: n } => write!(f, "doubled: {} too many", faces(n)),
            Self::Crowded { edges: n } => {
                write!(f, "{} with more than two faces that do not pair off", edges(n))
            }
            Self::Touching { edges: n } => {
                write!(f, "the surface touches itself along {}", edges(n))
            }
            Self::InsideOut => f.write_str("inside out: every face looks inward"),
            Self::BodyInsideOut { bodies: n } => {
                write!(f, "inside out: {} within no other", bodies(n))
            }
            Self::Overlap { thousandths: n } => {
                write!(f, "it runs into itself: {} % of it would count twice", n as f64 / 10.0)
            }
            Self::Apart { bodies: n } => write!(f, "{} that do not touch", bodies(n)),
            Self::Flat => f.write_str("this mesh is flat: it holds no volume"),
        }
    }
}

/// What the edges of a mesh tell.
#[derive(Debug, Default)]
pub(super) struct Edges {
    /// From and to, of each that has no counterpart.
    pub open: Vec<(u32, u32)>,
    pub same_way: usize,
    pub crowded: usize,
    pub touching: usize,
}

impl Edges {
    pub(super) fn is_closed(&self) -> bool {
        self.faulty() == 0
    }

    fn faulty(&self) -> usize {
        self.open.len() + self.same_way + self.crowded + self.touching
    }

    /// Judges the edges; each thread takes those whose lesser corner is in its span.
    pub(super) fn of(triangles: &[[u32; 3]], corners: usize) -> Self {
        let shares = rayon::current_num_threads().clamp(1, 8);
        let span = corners.div_ceil(shares).max(1);
        let parts: Vec<Self> = (0..shares)
            .into_par_iter()
            .map(|i| Self::within(triangles, i * span, ((i + 1) * span).min(corners)))
            .collect();
        parts.into_iter().fold(Self::default(), |mut all, part| {
            all.open.extend(part.open);
            all.same_way += part.same_way;
            all.crowded += part.crowded;
            all.touching += part.touching;
            all
        })
    }

    fn within(triangles: &[[u32; 3]], from: usize, to: usize) -> Self {
        let mut edges = Self::default();
        if from >= to {
            return edges;
        }
        let span = from as u32..to as u32;
        let each = |take: &mut dyn FnMut(usize, u32)| {
            for &[a, b, c] in triangles {
                for (a, b) in [(a, b), (b, c), (c, a)] {
                    let least = a.min(b);
                    if span.contains(&least) && a != b {
                        take((least - span.start) as usize, a.max(b) << 1 | u32::from(a > b));
                    }
                }
            }
        };
        let mut ends = vec![0_u32; to - from + 1];
        each(&mut |least, _| ends[least + 1] += 1);
        for i in 1..ends.len() {
            ends[i] += ends[i - 1];
        }
        let mut halves = vec![0_u32; ends.last().map_or(0, |&n| n as usize)];
        each(&mut |least, half| {
            halves[ends[least] as usize] = half;
            ends[least] += 1;
        });
        let mut start = 0;
        for (least, &end) in ends[..to - from].iter().enumerate() {
            let bucket = &mut halves[start..end as usize];
            start = end as usize;
            bucket.sort_unstable();
            for uses in bucket.chunk_by(|a, b| a >> 1 == b >> 1) {
                let back = uses.iter().filter(|&&half| half & 1 == 1).count();
                let (low, high) = (span.start + least as u32, uses[0] >> 1);
                match (uses.len() - back, back) {
                    (1, 1) => {}
                    (1, 0) => edges.open.push((low, high)),
                    (0, 1) => edges.open.push((high, low)),
                    (2, 0) | (0, 2) => edges.same_way += 1,
                    (one, other) if one == other => edges.touching += 1,
                    _ => edges.crowded += 1,
                }
            }
        }
        edges
    }
}

/// Open edges beyond which seams are not looked into.
const SEAM_LIMIT: usize = 2_000;

/// Whether open edges, cut where corners lie on them, all find their counterpart.
fn steps_only(open: &[(u32, u32)], vertices: &[[f64; 3]]) -> bool {
    if open.len() > SEAM_LIMIT {
        return false;
    }
    let mut corners: Vec<u32> = open.iter().flat_map(|&(a, b)| [a, b]).collect();
    corners.sort_unstable();
    corners.dedup();
    let mut balance: HashMap<(u32, u32), i32> = HashMap::new();
    for &(a, b) in open {
        let start = vertices[a as usize];
        let along = minus(vertices[b as usize], start);
        let length2 = dot(along, along);
        let mut stops: Vec<(f64, u32)> = corners
            .iter()
            .filter_map(|&c| {
                let to = minus(vertices[c as usize], start);
                let at = dot(to, along) / length2;
                let off = across(to, along);
                let near = dot(off, off) <= 1e-12 * length2 * length2;
                (c != a && c != b && near && at > 0.0 && at < 1.0).then_some((at, c))
            })
            .collect();
        stops.sort_by(|x, y| x.0.total_cmp(&y.0));
        let mut from = a;
        for to in stops.into_iter().map(|(_, c)| c).chain([b]) {
            *balance.entry((from.min(to), from.max(to))).or_default() +=
                if from < to { 1 } else { -1 };
            from = to;
        }
    }
    balance.values().all(|&n| n == 0)
}

/// A forest of sets; each member knows whether it is turned against its root.
struct Sets {
    parent: Vec<u32>,
    turned: Vec<bool>,
}

impl Sets {
    fn root(&mut self, member: u32) -> (u32, bool) {
        let (mut root, mut turned) = (member, false);
        while self.parent[root as usize] != root {
            turned ^= self.turned[root as usize];
            root = self.parent[root as usize];
        }
        let (mut at, mut left) = (member, turned);
        while self.parent[at as usize] != root && at != root {
            let (next, step) = (self.parent[at as usize], self.turned[at as usize]);
            self.parent[at as usize] = root;
            self.turned[at as usize] = left;
            left ^= step;
            at = next;
        }
        (root, turned)
    }
}

/// Fewest faces to turn until neighbours agree.
fn flipped(triangles: &[[u32; 3]]) -> usize {
    let mut halves: Vec<(u32, u32, u32, bool)> = Vec::with_capacity(3 * triangles.len());
    for (face, &[a, b, c]) in (0_u32..).zip(triangles) {
        for (a, b) in [(a, b), (b, c), (c, a)] {
            halves.push((a.min(b), a.max(b), face, a > b));
        }
    }
    halves.par_sort_unstable();
    let count = triangles.len();
    let mut sets = Sets { parent: (0..count as u32).collect(), turned: vec![false; count] };
    for pair in halves.chunk_by(|x, y| (x.0, x.1) == (y.0, y.1)).filter(|uses| uses.len() == 2) {
        let (one, other) = (sets.root(pair[0].2), sets.root(pair[1].2));
        if one.0 != other.0 {
            sets.parent[one.0 as usize] = other.0;
            sets.turned[one.0 as usize] = one.1 ^ other.1 ^ (pair[0].3 == pair[1].3);
        }
    }
    let mut tally = vec![[0_usize; 2]; count];
    for face in 0..count as u32 {
        let (root, turned) = sets.root(face);
        tally[root as usize][usize::from(turned)] += 1;
    }
    tally.into_iter().map(|[one, other]| one.min(other)).sum()
}

/// Faces that repeat another, wound the same way.
fn doubled(triangles: &[[u32; 3]]) -> usize {
    let mut keys: Vec<[u32; 3]> = triangles
        .iter()
        .map(|&[a, b, c]| match a.min(b).min(c) {
            least if least == a => [a, b, c],
            least if least == b => [b, c, a],
            _ => [c, a, b],
        })
        .collect();
    keys.par_sort_unstable();
    keys.windows(2).filter(|pair| pair[0] == pair[1]).count()
}

/// Which body each corner belongs to; bodies are numbered by their first triangle.
pub(super) fn bodies(mesh: &Mesh) -> (Vec<u32>, usize) {
    fn root(parent: &mut [u32], mut at: u32) -> u32 {
        while parent[at as usize] != at {
            let up = parent[parent[at as usize] as usize];
            parent[at as usize] = up;
            at = up;
        }
        at
    }
    let mut parent: Vec<u32> = (0..mesh.vertices.len() as u32).collect();
    for &[a, b, c] in &mesh.triangles {
        let mut joined = root(&mut parent, a);
        for other in [b, c] {
            let other = root(&mut parent, other);
            // The lesser becomes the root: files list neighbours near each other.
            let (low, high) = (joined.min(other), joined.max(other));
            parent[high as usize] = low;
            joined = low;
        }
    }
    const NONE: u32 = u32::MAX;
    let mut number = vec![NONE; parent.len()];
    let mut count = 0;
    for &[a, ..] in &mesh.triangles {
        let root = root(&mut parent, a) as usize;
        if number[root] == NONE {
            number[root] = count;
            count += 1;
        }
    }
    let of = (0..parent.len() as u32).map(|v| number[root(&mut parent, v) as usize]).collect();
    (of, count as usize)
}

/// A shell's signed volume and box, metres.
#[derive(Debug, Clone, Copy)]
pub struct Piece {
    /// Less than nought for a hollow.
    pub volume: f64,
    /// Least corner of the box around it.
    pub low: [f64; 3],
    /// Greatest corner.
    pub high: [f64; 3],
}

impl Piece {
    fn holds(&self, other: &Self) -> bool {
        (0..3).all(|i| self.low[i] <= other.low[i] && other.high[i] <= self.high[i])
    }

    /// Whether the boxes share room or touch, but for rounding.
    fn meets(&self, other: &Self) -> bool {
        (0..3).all(|i| {
            let shared = self.high[i].min(other.high[i]) - self.low[i].max(other.low[i]);
            shared > -1e-6 * (self.high[i] - self.low[i]).min(other.high[i] - other.low[i])
        })
    }
}

/// The shells of a mesh that share no corner.
pub(in crate::shape) fn pieces(mesh: &Mesh) -> Vec<Piece> {
    let (of, count) = bodies(mesh);
    measured(mesh, &of, count, [0.0; 3])
}

fn measured(mesh: &Mesh, of: &[u32], count: usize, centre: [f64; 3]) -> Vec<Piece> {
    let none = Piece { volume: 0.0, low: [f64::INFINITY; 3], high: [f64::NEG_INFINITY; 3] };
    let mut bodies = vec![none; count];
    for &[a, b, c] in &mesh.triangles {
        let body = &mut bodies[of[a as usize] as usize];
        let corners = [a, b, c].map(|v| mesh.vertices[v as usize]);
        for corner in corners {
            for (i, at) in corner.into_iter().enumerate() {
                body.low[i] = body.low[i].min(at);
                body.high[i] = body.high[i].max(at);
            }
        }
        let [a, b, c] = corners.map(|v| minus(v, centre));
        body.volume += dot(a, across(b, c)) / 6.0;
    }
    bodies
}

/// How many groups there are of bodies whose boxes meet; they are in the order of their low x.
fn groups(bodies: &[&Piece]) -> usize {
    fn root(of: &[usize], mut at: usize) -> usize {
        while of[at] != at {
            at = of[at];
        }
        at
    }
    let mut of: Vec<usize> = (0..bodies.len()).collect();
    for (i, body) in bodies.iter().enumerate() {
        let near = bodies.iter().enumerate().skip(i + 1);
        let slack = 1e-6 * (body.high[0] - body.low[0]);
        for (j, other) in near.take_while(|(_, o)| o.low[0] <= body.high[0] + slack) {
            if body.meets(other) {
                let (one, two) = (root(&of, i), root(&of, j));
                of[one.max(two)] = one.min(two);
            }
        }
    }
    of.iter().enumerate().filter(|(at, of)| at == *of).count()
}

/// Lines across the longer side of the lattice on which bodies are looked for that overlap.
const LINES: f64 = 96.0;

/// Whether some room lies more than once within the surface, by upright lines; `sign` is less than
/// nought where all faces look inward.
pub(super) fn overlap(mesh: &Mesh, [low, high]: [[f64; 3]; 2], sign: i32) -> Option<Doubt> {
    let size = [0, 1].map(|i| high[i] - low[i]);
    let step = size[0].max(size[1]) / LINES;
    if !(step > 0.0 && step.is_finite()) {
        return None;
    }
    // Off by odd parts of a step, so that no drawing's own grid falls on the lines.
    let lines = Lines {
        first: [low[0] + 0.4142 * step, low[1] + 0.3173 * step],
        step: [step; 2],
        count: size.map(|s| (s / step).ceil() as usize + 1),
    };
    let (mut all, mut wrong) = (0.0, 0.0);
    for (depth, length) in depths(&lines.crossings(mesh)) {
        all += length;
        if depth * sign != 1 {
            wrong += length;
        }
    }
    let thousandths = (1e3_f64 * wrong / all).round();
    (thousandths >= 1.0).then_some(Doubt::Overlap { thousandths: thousandths as usize })
}

/// Doubts about bodies: those turned inward outside all others, and those that lie apart.
pub(super) fn bodies_doubts(mesh: &Mesh, of: &[u32], count: usize, centre: [f64; 3]) -> Vec<Doubt> {
    let mut bodies = measured(mesh, of, count, centre);
    bodies.sort_by(|a, b| a.low[0].total_cmp(&b.low[0]));
    let full: Vec<&Piece> = bodies.iter().filter(|b| b.volume > 0.0).collect();
    let hollow = |body: &Piece| full.iter().any(|b| b.holds(body));
    let inward = bodies.iter().filter(|b| b.volume < 0.0 && !hollow(b)).count();
    let mut doubts = Vec::new();
    if inward > 0 {
        doubts.push(Doubt::BodyInsideOut { bodies: inward });
    }
    let apart = groups(&full);
    if apart > 1 {
        doubts.push(Doubt::Apart { bodies: apart });
    }
    doubts
}

/// Doubts that the edges raise, and whether the mesh is watertight.
pub(super) fn edge_doubts(mesh: &Mesh, flat: &[usize], mut edges: Edges) -> (Vec<Doubt>, bool) {
    let mut doubts = Vec::new();
    let watertight = edges.is_closed();
    if watertight {
        return (doubts, true);
    }
    let mut triangles = std::borrow::Cow::Borrowed(&mesh.triangles);
    if !flat.is_empty() {
        // A flat triangle may close a seam, or be what disturbs it.
        let mut kept = mesh.triangles.clone();
        for &at in flat.iter().rev() {
            kept.swap_remove(at);
        }
        let without = Edges::of(&kept, mesh.vertices.len());
        if without.faulty() < edges.faulty() {
            edges = without;
            triangles = std::borrow::Cow::Owned(kept);
        }
    }
    if !edges.open.is_empty() {
        let count = edges.open.len();
        doubts.push(if steps_only(&edges.open, &mesh.vertices) {
            Doubt::StepsInSeam { edges: count }
        } else {
            Doubt::OpenEdges { edges: count }
        });
    }
    if edges.same_way > 0 {
        doubts.push(Doubt::Flipped { faces: flipped(&triangles) });
    }
    if edges.crowded > 0 {
        doubts.push(match doubled(&triangles) {
            0 => Doubt::Crowded { edges: edges.crowded },
            faces => Doubt::Doubled { faces },
        });
    }
    if edges.touching > 0 && !doubts.iter().any(|d| matches!(d, Doubt::Doubled { .. })) {
        doubts.push(match doubled(&triangles) {
            0 => Doubt::Touching { edges: edges.touching },
            faces => Doubt::Doubled { faces },
        });
    }
    (doubts, false)
}
