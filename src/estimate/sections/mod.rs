//! The sections of a casting: what each is as thick as, and the faces by which it cools.

use super::rule;
use crate::build::Casting;
use crate::figure::*;
use crate::handbook::formulas::cooling::{self, Body};
use crate::manifest::{MeshGiven, ShapeGiven, SolidGiven};
use crate::shape::{Body as Looked, Section as Outline, Solid, thickest, thickest_default};
use std::f64::consts::PI;

/// One section of a casting: a solid of its shape, or its wall where no shape is given.
#[derive(Debug, Clone)]
pub struct Section {
    /// What the builder calls it, or its solid's name.
    pub name: String,
    /// How many of it.
    pub count: u32,
    /// Volume over surface of one, the face by which it is joined left out; low: as if it stood free.
    pub modulus: Figure<Length>,
    /// Diameter of the largest ball that fits inside.
    pub place: Figure<Length>,
    /// The plain body that it cools like.
    pub body: Body,
    /// Volume of all of them.
    pub volume: Figure<Volume>,
    /// How long one takes to freeze.
    pub time: Option<Figure<Time>>,
    /// The longest size of one, m.
    pub longest: f64,
}

impl Section {
    /// Its body in a word.
    pub fn body_word(&self) -> &'static str {
        Body::WORDS[self.body as usize]
    }

    fn new(
        name: &str,
        (volume, modulus, place): (Figure<Volume>, Figure<Length>, Figure<Length>),
        body: Body,
        longest: f64,
        constant: Option<&Figure<TimePerArea>>,
    ) -> Self {
        let time = constant.map(|constant| {
            let body = Figure::<Body>::counted("body", body.si(), "by the sizes of the solid");
            let time = cooling::section_freezing_time::figure(&modulus, constant, &body);
            time.named(format!("freezing time, {name}"))
        });
        Self { name: name.to_owned(), count: 1, modulus, place, body, volume, time, longest }
    }
}

pub(super) fn sections(
    casting: &Casting,
    volume: Option<&Figure<Volume>>,
    surface: Option<&Figure<Area>>,
    constant: Option<&Figure<TimePerArea>>,
) -> Vec<Section> {
    match (&casting.given.shape, &casting.given.wall, volume) {
        (ShapeGiven::Solids(solids), _, _) => of_solids(solids, constant),
        (ShapeGiven::Mesh(mesh), wall, Some(volume)) => {
            let Some(surface) = surface else { return Vec::new() };
            let mut out = Vec::new();
            if let Some(wall) = wall {
                out.push(of_wall(volume, wall, constant));
            }
            let place = place_of_mesh(mesh, casting);
            let mean = cooling::modulus::figure(volume, surface).named("modulus of the whole");
            if let Some(place) = &place {
                let known = wall.as_ref().map_or(mean.si() * 2.0, Figure::si);
                // No thicker than the wall but for its corners: then there is no such place.
                if wall.is_none() || place.si() > 1.3 * known {
                    out.push(thick_place(place, &mean, volume, constant));
                }
            }
            if wall.is_none() {
                let longest = (volume.si() / (2.0 * mean.si())).sqrt();
                let through = place.unwrap_or_else(|| twice(&mean));
                let parts = (volume.clone(), mean, through);
                out.push(Section::new("whole", parts, Body::Plate, longest, constant));
            }
            out
        }
        (_, Some(wall), Some(volume)) => vec![of_wall(volume, wall, constant)],
        _ => Vec::new(),
    }
}

fn twice(modulus: &Figure<Length>) -> Figure<Length> {
    let range = modulus.node().range().map(|m| 2.0 * m);
    let because = Because::Closed("2 x modulus", vec![modulus.node().clone()]);
    Figure::new("thickness", range, because)
}

fn of_wall(
    volume: &Figure<Volume>,
    wall: &Figure<Length>,
    constant: Option<&Figure<TimePerArea>>,
) -> Section {
    let (v, w) = (volume.node().range(), wall.node().range());
    // A square plate of this wall: two faces and four edges.
    let plate = |v: f64, w: f64| v / (2.0 * v / w + 4.0 * (v / w).sqrt() * w);
    let modulus = Figure::new(
        "modulus of the wall",
        Range { low: plate(v.low, w.low), likely: plate(v.likely, w.likely), high: w.high / 2.0 },
        Because::Closed(
            "as a square plate of that wall, edges cooling; high: wall / 2, as of a closed box",
            vec![volume.node().clone(), wall.node().clone()],
        ),
    );
    let longest = (volume.si() / wall.si()).sqrt();
    let parts = (volume.clone(), modulus, wall.clone());
    Section::new("wall", parts, Body::Plate, longest, constant)
}

/// The largest ball in a mesh; a mesh of the pattern is larger by the contraction.
fn place_of_mesh(mesh: &MeshGiven, casting: &Casting) -> Option<Figure<Length>> {
    let found = thickest_default(&Looked::Mesh(&mesh.mesh))?;
    let shrunk = casting.alloy.contraction.as_ref().filter(|_| mesh.of_pattern);
    let shrunk = 1.0 + shrunk.map_or(0.0, Figure::si);
    Some(ball(found.radius / shrunk, found.voxel / shrunk, vec![mesh.volume.node().clone()]))
}

/// A ball found on cells: how far it may be off is known.
fn ball(radius: f64, cell: f64, nodes: Vec<Node>) -> Figure<Length> {
    let half_diagonal = 0.75_f64.sqrt() * cell;
    Figure::new(
        "thickest place",
        Range {
            low: 2.0 * (radius - cell).max(0.0),
            likely: 2.0 * radius,
            high: 2.0 * (radius + half_diagonal),
        },
        Because::Closed("diameter of the largest ball inside, found on cubic cells", nodes),
    )
    .noting(format!("on cells of {}", show(Kind::Length, cell, System::Metric)))
}

/// The part of a mesh around its largest ball.
fn thick_place(
    place: &Figure<Length>,
    mean: &Figure<Length>,
    whole: &Figure<Volume>,
    constant: Option<&Figure<TimePerArea>>,
) -> Section {
    let d = place.node().range();
    let mean_si = mean.si();
    let modulus = Figure::<Length>::new(
        "modulus of the thickest place",
        Range {
            low: d.low / 6.0,
            likely: (d.likely / 4.0).clamp(mean_si.min(d.likely / 2.0), d.likely / 2.0),
            high: d.high / 2.0,
        },
        Because::Closed(
            "diameter / 4, as of a long bar, and no less than that of the whole; low: diameter / 6, as of a ball; high: diameter / 2, as of a plate",
            vec![place.node().clone(), mean.node().clone()],
        ),
    );
    let cube = |d: f64| d.powi(3).min(whole.si());
    let volume = Figure::<Volume>::new(
        "metal around the thickest place",
        Range {
            low: (PI / 6.0 * d.low.powi(3)).min(whole.si()),
            likely: cube(d.likely),
            high: cube(1.5 * d.high),
        },
        Because::Closed(
            "the cube around the ball, no more than the whole; low: the ball; high: a cube half as large again",
            vec![place.node().clone(), whole.node().clone()],
        ),
    );
    let parts = (volume, modulus, place.clone());
    Section::new("thickest place", parts, Body::Bar, d.likely, constant)
}

fn of_solids(solids: &[SolidGiven], constant: Option<&Figure<TimePerArea>>) -> Vec<Section> {
    let added: Vec<&SolidGiven> = solids.iter().filter(|s| !s.less).collect();
    let main = largest(&added);
    let section = |(at, solid): (usize, &&SolidGiven)| {
        let cuts: Vec<&SolidGiven> =
            solids.iter().filter(|c| c.less && host(&added, c) == Some(at)).collect();
        let (volume, free, body) = hollowed(solid, &cuts);
        let surface = match Some(at) == main {
            true => free,
            false => less_joint(&free, joined(solid, &cuts, main.map(|m| added[m]))[1]),
        };
        let modulus =
            cooling::modulus::figure(&volume, &surface).named(format!("modulus, {}", solid.name()));
        let place = over_joint(place_of_solid(solid, &cuts, &volume, &modulus), &modulus);
        let longest = solid.solid.extents().into_iter().fold(0.0, f64::max);
        let parts = (volume, modulus, place);
        let section = Section::new(solid.name(), parts, body, longest, constant);
        Section { count: solid.count, ..section }
    };
    added.iter().enumerate().map(section).collect()
}

/// The faces of a section without the one by which it is joined to the rest; at most all of them.
fn less_joint(free: &Figure<Area>, joint: f64) -> Figure<Area> {
    if joint <= 0.0 {
        return free.clone();
    }
    let all = free.node().range();
    let cools = (all.likely - joint).max(all.likely / 3.0);
    Figure::new(
        "faces that cool",
        Range { low: cools.min(all.low), likely: cools, high: all.high },
        Because::Closed(
            "all faces less the one by which it is taken to be joined: a plate's long edge, a block's widest face, an end; high: all",
            vec![free.node().clone()],
        ),
    )
}

/// Which of the added solids one is cut out of: the named one, or else the largest.
fn host(added: &[&SolidGiven], cut: &SolidGiven) -> Option<usize> {
    match &cut.of {
        Some(of) => added.iter().position(|s| s.name() == &*of.value),
        None => largest(added),
    }
}

fn largest(added: &[&SolidGiven]) -> Option<usize> {
    let whole = |at: &usize| added[*at].solid.volume() * f64::from(added[*at].count);
    (0..added.len()).max_by(|a, b| whole(a).total_cmp(&whole(b)))
}

/// What is hollowed out beyond this share is all walls.
const WALLS: f64 = 0.3;
/// Cut-outs that take more than this share cannot all be in the solid that they are given to.
const MOST_CUT: f64 = 0.95;

/// Share of a solid that is cut out of it.
fn share_cut(solid: &SolidGiven, cuts: &[&SolidGiven]) -> f64 {
    cuts.iter().map(|c| c.volume().si()).sum::<f64>() / solid.volume().si()
}

/// Volume, surface and body of a solid with its cut-outs taken from it; as it is where it could
/// not hold all of them.
fn hollowed(solid: &SolidGiven, cuts: &[&SolidGiven]) -> (Figure<Volume>, Figure<Area>, Body) {
    let (volume, surface) = (solid.volume(), solid.surface());
    let share = share_cut(solid, cuts);
    if cuts.is_empty() || share > MOST_CUT {
        return (volume, surface, body(&solid.solid));
    }
    let gained: f64 = cuts.iter().map(|c| gained(c, solid)).sum();
    let nodes = std::iter::once(surface.node().clone())
        .chain(cuts.iter().map(|c| c.surface().node().clone()));
    let surface = Figure::new(
        "faces inside and out",
        Range::exact((surface.si() + gained).max(surface.si() / 3.0)),
        Because::Closed(
            "all faces, and those of each cut-out less twice its mouth, or less twice both mouths where it goes through",
            nodes.collect(),
        ),
    );
    let taken: Vec<_> = cuts.iter().map(|c| c.volume()).collect();
    let body = if share > WALLS { Body::Plate } else { body(&solid.solid) };
    (super::less("solid less cut-outs", &volume, &taken), surface, body)
}

/// Surface that cut-outs add to the solid they are in, m2; less than nought for a hole that takes
/// away more of its two faces than it has wall.
fn gained(cut: &SolidGiven, host: &SolidGiven) -> f64 {
    let (mouth, depth) = mouth(&cut.solid);
    let mouths = if goes_through(depth, host) { 2.0 } else { 1.0 };
    (cut.solid.surface() - 2.0 * mouths * mouth) * f64::from(cut.count)
}

/// Whether a cut-out goes through what it is in.
fn goes_through(depth: f64, host: &SolidGiven) -> bool {
    depth >= 0.98 * host.solid.extents().into_iter().fold(f64::INFINITY, f64::min)
}

/// The least, likely and largest face by which all of these together may be joined to the main
/// solid, m2: without the mouths of what goes through them, and no more than the section of a main
/// solid that is a prism.
fn joined(solid: &SolidGiven, cuts: &[&SolidGiven], main: Option<&SolidGiven>) -> [f64; 3] {
    let count = f64::from(solid.count);
    let mouths: f64 = cuts
        .iter()
        .map(|c| (mouth(&c.solid), f64::from(c.count)))
        .filter(|((_, depth), _)| goes_through(*depth, solid))
        .map(|((area, _), times)| area * times)
        .sum();
    let most = match main.map(|m| &m.solid) {
        Some(Solid::Prism { section, .. }) => section.area(),
        _ => f64::INFINITY,
    };
    joint(&solid.solid).map(|face| (face.min(most) * count - mouths).max(0.0))
}

/// The face by which a cut-out opens, m2, and how deep it goes, m.
fn mouth(solid: &Solid) -> (f64, f64) {
    match *solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => {
            let least = length.min(width).min(height);
            (length * width * height / least, least)
        }
        Solid::Cylinder { length, .. }
        | Solid::Tube { length, .. }
        | Solid::Cone { length, .. }
        | Solid::Prism { length, .. } => (joint(solid)[1], length),
        Solid::Ring { .. } | Solid::Sphere { .. } => (0.0, 0.0),
    }
}

/// The largest ball in a solid with its cut-outs.
fn place_of_solid(
    solid: &SolidGiven,
    cuts: &[&SolidGiven],
    volume: &Figure<Volume>,
    modulus: &Figure<Length>,
) -> Figure<Length> {
    let whole = inscribed(solid);
    let share = share_cut(solid, cuts);
    if cuts.is_empty() || share > MOST_CUT {
        return whole;
    }
    let (m, most) = (modulus.si(), whole.high());
    let high = if share > WALLS { (4.0 * m).min(most) } else { most };
    Figure::new(
        "thickest place",
        Range { low: (2.0 * m).min(high), likely: (2.5 * m).min(high), high },
        Because::Closed(
            "2.5 x modulus, as where two equal walls meet; low: 2 x modulus; high: as without cut-outs, or 4 x modulus where they leave but walls",
            vec![modulus.node().clone(), volume.node().clone(), whole.node().clone()],
        ),
    )
}

/// Cells along the longest side of a prism or cone: its doubt, a cell or so, is told with it.
const CELLS: usize = 40;

/// A section that lies on another is thicker with it: no ball is less than twice the modulus.
fn over_joint(place: Figure<Length>, modulus: &Figure<Length>) -> Figure<Length> {
    let (p, m) = (place.node().range(), modulus.node().range());
    if p.likely >= 2.0 * m.likely {
        return place;
    }
    Figure::new(
        "thickest place",
        Range { low: p.low, likely: 2.0 * m.likely, high: p.high.max(2.0 * m.high) },
        Because::Chosen(
            "2 x modulus, for it lies with its face on another; low: by itself".into(),
            vec![modulus.node().clone(), place.node().clone()],
        ),
    )
}

/// The largest ball in one solid: by its sizes, or found on cells.
fn inscribed(solid: &SolidGiven) -> Figure<Length> {
    let exact = |d: f64| {
        let because = Because::Closed("the largest ball inside", solid.sizes.clone());
        Figure::<Length>::new("thickest place", Range::exact(d), because)
    };
    match solid.solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => exact(length.min(width).min(height)),
        Solid::Cylinder { diameter, length } => exact(diameter.min(length)),
        Solid::Tube { outside, inside, length } => exact(((outside - inside) / 2.0).min(length)),
        Solid::Ring { section, .. } => exact(section),
        Solid::Sphere { diameter } => exact(diameter),
        Solid::Prism { .. } | Solid::Cone { .. } => {
            let [x, y, z] = solid.solid.extents();
            // No ball is longer than its section is wide, so no more of the length is looked into.
            let shown = match &solid.solid {
                Solid::Prism { section, length } => {
                    Solid::Prism { section: section.clone(), length: length.min(x.min(y)) }
                }
                other => other.clone(),
            };
            match thickest(&Looked::Solid(&shown), CELLS) {
                Some(found) => ball(found.radius, found.voxel, solid.sizes.clone()),
                None => exact(x.min(y).min(z)),
            }
        }
    }
}

/// The thickest place of the casting: the largest of its sections', and at most where the two
/// thickest of them meet as a T.
pub(super) fn thickest_place(sections: &[Section]) -> Option<Figure<Length>> {
    let mut by_size: Vec<&Section> = sections.iter().collect();
    by_size.sort_by(|a, b| b.place.si().total_cmp(&a.place.si()));
    let first = *by_size.first()?;
    if sections.len() == 1 && first.count == 1 {
        return Some(first.place.named(format!("thickest place: {}", first.name)));
    }
    let second = if first.count > 1 { first } else { by_size[1] };
    let range = first.place.node().range();
    // A rib of thickness b on a plate of thickness a: the ball touches the far face of the plate
    // and the two inner corners.
    let (a, b) = (range.high, second.place.node().range().high.min(range.high));
    Some(Figure::new(
        format!("thickest place: {}", first.name),
        Range { high: a + b * b / (4.0 * a), ..range },
        Because::Closed(
            "the largest of the sections'; high: where it meets the next thickest as a T, a + b^2 / (4 a)",
            vec![first.place.node().clone(), second.place.node().clone()],
        ),
    ))
}

/// The plain body that a solid cools like.
fn body(solid: &Solid) -> Body {
    match *solid {
        Solid::Plate { .. } => Body::Plate,
        Solid::Block { length, width, height } => {
            let mut sizes = [length, width, height];
            sizes.sort_by(f64::total_cmp);
            match sizes[0] / sizes[1] {
                flat if flat < 0.4 => Body::Plate,
                flat if flat < 0.8 => Body::Bar,
                _ => Body::SquareBar,
            }
        }
        Solid::Cylinder { diameter, length } if length < 0.4 * diameter => Body::Plate,
        Solid::Tube { outside, inside, .. } if outside - inside < inside => Body::Plate,
        Solid::Tube { .. } => Body::Bar,
        Solid::Prism { section: Outline::Polygon(_), .. } => Body::SquareBar,
        Solid::Prism { .. } => Body::Bar,
        Solid::Sphere { .. } => Body::Ball,
        _ => Body::Round,
    }
}

/// The least, likely and largest face by which one of these may be joined to its neighbour.
fn joint(solid: &Solid) -> [f64; 3] {
    match *solid {
        Solid::Plate { length, width, thickness: height }
        | Solid::Block { length, width, height } => {
            let mut s = [length, width, height];
            s.sort_by(f64::total_cmp);
            let (end, edge, flat) = (s[0] * s[1], s[0] * s[2], s[1] * s[2]);
            let likely = if matches!(solid, Solid::Plate { .. }) { edge } else { flat };
            [end, likely, flat]
        }
        Solid::Cylinder { diameter, .. } => [PI / 4.0 * diameter * diameter; 3],
        Solid::Cone { bottom, .. } => [PI / 4.0 * bottom * bottom; 3],
        Solid::Tube { outside, inside, length } => {
            let end = PI / 4.0 * (outside * outside - inside * inside);
            // A rim hangs on a web of about a third of its width, a bush stands on its end.
            let rim = PI * inside * length / 3.0;
            let likely = if length < inside / 2.0 { end.min(rim) } else { end };
            [end.min(rim), likely, end.max(likely)]
        }
        Solid::Prism { ref section, .. } => [section.area(); 3],
        Solid::Ring { .. } | Solid::Sphere { .. } => [0.0; 3],
    }
}

/// Faces that give off heat: those of the shape less joints, with the inside of cut-outs, less
/// what is insulated, and what is chilled counted for more.
pub(super) fn cooling_surface(
    casting: &Casting,
    surface: Option<&Figure<Area>>,
) -> Option<Figure<Area>> {
    let bare = match &casting.given.shape {
        ShapeGiven::Solids(solids) => of_faces(solids),
        ShapeGiven::Mesh(_) => surface?.named("cooling surface"),
        _ => return None,
    };
    let (insulated, chilled) = (&casting.given.insulated, &casting.given.chilled);
    if insulated.is_none() && chilled.is_none() {
        return Some(bare);
    }
    let factor: Figure<Number> = rule(
        "a chilled face counts",
        [1.5, 2.0, 3.0],
        Known::FromMemory,
        "a face on iron chills takes the heat of about twice its area of sand (Wlodawer)",
    );
    let (a, f) = (bare.node().range(), factor.node().range());
    let range =
        |of: &Option<Figure<Area>>| of.as_ref().map_or(Range::exact(0.0), |f| f.node().range());
    let (i, c) = (range(insulated), range(chilled));
    let left = |a: f64, i: f64, c: f64, f: f64| (a - i + (f - 1.0) * c).max(a / 20.0);
    let mut nodes = vec![bare.node().clone()];
    nodes.extend(insulated.iter().chain(chilled).map(|f| f.node().clone()));
    nodes.extend(chilled.iter().map(|_| factor.node().clone()));
    Some(
        Figure::new(
            "cooling surface",
            Range {
                low: left(a.low, i.high, c.low, f.low),
                likely: left(a.likely, i.likely, c.likely, f.likely),
                high: left(a.high, i.low, c.high, f.high),
            },
            Because::Closed("faces - insulated + (factor - 1) x chilled", nodes),
        )
        .noting("insulated and chilled faces count for the whole casting, not for one section"),
    )
}

/// Faces of the added solids less those at which they are taken to be joined, with what the
/// cut-outs open.
fn of_faces(solids: &[SolidGiven]) -> Figure<Area> {
    let added: Vec<&SolidGiven> = solids.iter().filter(|s| !s.less).collect();
    let cuts: Vec<&SolidGiven> = solids.iter().filter(|s| s.less).collect();
    let total: f64 = added.iter().map(|s| s.surface().si()).sum();
    let main = largest(&added);
    let opened = |c: &&SolidGiven| host(&added, c).map_or(0.0, |at| gained(c, added[at]));
    let opened: f64 = cuts.iter().map(opened).sum();
    let mut lost = [0.0; 3];
    for (i, s) in added.iter().enumerate() {
        let within: Vec<&SolidGiven> =
            cuts.iter().copied().filter(|c| host(&added, c) == Some(i)).collect();
        let each = if Some(i) == main { f64::from(s.count - 1) / f64::from(s.count) } else { 1.0 };
        for (sum, face) in lost.iter_mut().zip(joined(s, &within, main.map(|m| added[m]))) {
            *sum += 2.0 * face * each;
        }
    }
    // However they are joined, a third of the faces is left in any casting of walls and bosses.
    let left = |lost: f64| (total + opened - lost).max(total / 3.0);
    let range = Range { low: left(lost[2]), likely: left(lost[1]), high: left(lost[0]) };
    let nodes = added.iter().chain(&cuts).map(|s| s.surface().node().clone()).collect();
    let says = if cuts.is_empty() {
        "all faces, less twice one face of every solid but the largest"
    } else {
        "all faces, less twice one face of every solid but the largest, and the walls of cut-outs less what their mouths take away"
    };
    Figure::new("cooling surface", range, Because::Closed(says, nodes))
        .noting("how the solids join is not drawn: each is taken to stand on one face, a plate on its long edge")
}
