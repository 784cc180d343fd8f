//! The sections of a casting: what each is as thick as, and the faces by which it cools.

mod faces;
mod place;

pub(super) use faces::cooling_surface;
pub(super) use place::thickest_place;

use crate::figure::*;
use crate::handbook::formulas::cooling::{self, Body};
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::model::Casting;
use faces::{hollowed, host, joined, largest, less_joint};
use place::{over_joint, place_of_mesh, place_of_solid};
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
                let through = place.unwrap_or_else(|| cooling::thickness_of_modulus::figure(&mean));
                let parts = (volume.clone(), mean, through);
                out.push(Section::new("whole", parts, Body::Plate, longest, constant));
            }
            out
        }
        (_, Some(wall), Some(volume)) => vec![of_wall(volume, wall, constant)],
        _ => Vec::new(),
    }
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
