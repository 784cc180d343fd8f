//! The sections of a casting: what each is as thick as, and the faces by which it cools.

mod faces;
mod place;

pub(super) use faces::cooling_surface;
pub(super) use place::thickest_place;

use super::rough::Rough;
use crate::figure::*;
use crate::handbook::formulas::cooling::{self, Body};
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::model::Casting;
use crate::shape::Around;
use faces::{hollowed, host, joined, largest, less_joint};
use place::{THICKEST, largest_ball, over_joint, place_of_solid};
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

/// What freezes: the rough casting.
#[derive(Clone, Copy)]
pub(super) struct Whole<'a> {
    pub volume: Option<&'a Figure<Volume>>,
    pub surface: Option<&'a Figure<Area>>,
    pub body: Option<&'a Rough>,
}

pub(super) fn sections(
    casting: &Casting,
    whole: Whole<'_>,
    constant: Option<&Figure<TimePerArea>>,
) -> Vec<Section> {
    let wall = &casting.given.wall;
    if let Whole { volume: Some(volume), surface: Some(surface), body: Some(rough) } = whole {
        return of_body(casting, (volume, surface, rough), constant);
    }
    match (&casting.given.shape, wall, whole.volume) {
        (ShapeGiven::Solids(solids), _, _) => of_solids(solids, constant),
        (_, Some(wall), Some(volume)) => vec![of_wall(volume, wall, constant)],
        _ => Vec::new(),
    }
}

/// How much more the modulus of a thick place may be than what lies around it says.
const DOUBT: f64 = 1.15;
/// A casting is as thick throughout, without a place that is thicker than the rest, where balls
/// nearly as large as its largest reach so much of it.
const EVEN: f64 = 0.6;
/// A place so many times as thick as the wall, or as twice the modulus of the whole, is a thick one.
const THICKER: f64 = 1.3;

/// The wall and the thickest place of a body, or the whole where no wall is given.
fn of_body(
    casting: &Casting,
    (volume, surface, rough): (&Figure<Volume>, &Figure<Area>, &Rough),
    constant: Option<&Figure<TimePerArea>>,
) -> Vec<Section> {
    let mean = cooling::modulus::figure(volume, surface).named("modulus of the whole");
    let found = largest_ball(casting, rough, volume);
    let even = found.as_ref().is_some_and(|(_, ball)| ball.even > EVEN);
    // What is as thick throughout has no other wall, and none is thicker than the largest ball.
    let fits = |wall: &&Figure<Length>| found.as_ref().is_none_or(|(d, _)| wall.si() <= d.high());
    let wall = casting.given.wall.as_ref().filter(|wall| !even && fits(wall));
    let mut out: Vec<Section> =
        wall.map(|wall| of_wall(volume, wall, constant)).into_iter().collect();
    if let Some((place, ball)) = found.as_ref().filter(|_| !even) {
        let known = wall.map_or(2.0 * mean.si(), Figure::si);
        if place.si() > THICKER * known {
            let name = match casting.solid_at(ball.centre) {
                Some(solid) => format!("{THICKEST}: {}", solid.name()),
                None => THICKEST.to_owned(),
            };
            let around = rough.around(ball.centre, place);
            out.push(thick_place(&name, (place, around), &mean, volume, constant));
        }
    }
    if wall.is_none() {
        let longest = (volume.si() / (2.0 * mean.si())).sqrt();
        let through = found.map(|(place, _)| place);
        let through = through.unwrap_or_else(|| cooling::thickness_of_modulus::figure(&mean));
        let body = if even { cools_like(volume, surface, &through) } else { Body::Plate };
        let parts = (volume.clone(), mean, through);
        out.push(Section::new("the whole casting", parts, body, longest, constant));
    }
    out
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

/// The plain body that one of even thickness cools like: by its thickness over that of a plate of
/// its modulus (1 for a plate, 2 for a long bar, 3 for a cube or a ball), and by how round it is: the
/// surface of a ball of its volume over its own, low for what is made of walls.
fn cools_like(volume: &Figure<Volume>, surface: &Figure<Area>, place: &Figure<Length>) -> Body {
    let bulk = place.si() * surface.si() / (2.0 * volume.si());
    let round = (36.0 * PI * volume.si().powi(2)).cbrt() / surface.si();
    match bulk {
        b if b < 1.35 || round < 0.55 => Body::Plate,
        b if b < 1.85 => Body::Bar,
        b if b < 2.5 => Body::SquareBar,
        _ if round > 0.95 => Body::Ball,
        _ if round > 0.84 => Body::Round,
        _ => Body::SquareBar,
    }
}

/// The part of a body around its largest ball.
fn thick_place(
    name: &str,
    (place, around): (&Figure<Length>, Option<Around>),
    mean: &Figure<Length>,
    whole: &Figure<Volume>,
    constant: Option<&Figure<TimePerArea>>,
) -> Section {
    let d = place.node().range();
    let [least, most] = [d.low / 6.0, d.high / 2.0];
    let [around, whole_share] = around.map_or([d.likely / 4.0, 0.0], |around| {
        let [near, far] = around.moduli;
        [f64::midpoint(near, far), around.share]
    });
    let mean_si = mean.si().min(most);
    let mixed = whole_share * mean_si + (1.0 - whole_share) * around;
    let likely = mixed.clamp(least.max(mean_si), most);
    let high = (DOUBT * around.max(likely)).min(most);
    let modulus = Figure::<Length>::new(
        "modulus of the thickest place",
        Range { low: least.min(likely), likely, high: high.max(likely) },
        Because::Closed(
            "volume over surface within balls 1.5 and 2 times as large about it, halfway, drawn to that of the whole by the share of it that lies within; no less than that of the whole; low: diameter / 6, as of a ball; high: 15 % more than within the balls",
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
    Section::new(name, parts, Body::Bar, d.likely, constant)
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
