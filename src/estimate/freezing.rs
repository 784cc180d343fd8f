//! How long a casting and its sections take to freeze, and in which order.

use super::{listed, rule, settled};
use crate::build::{Build, Casting};
use crate::figure::*;
use crate::handbook::formulas::cooling::{self, Body};
use crate::manifest::{ShapeGiven, SolidGiven};
use crate::shape::{Section as Outline, Solid};

/// One section of a casting: a solid of its shape, or its wall where no shape is given.
#[derive(Debug, Clone)]
pub struct Section {
    /// What the builder calls it, or its solid's name.
    pub name: String,
    /// How many of it.
    pub count: u32,
    /// Volume over surface of one, as if it stood free.
    pub modulus: Figure<Length>,
    /// Volume of all of them.
    pub volume: Figure<Volume>,
    /// How long one takes to freeze.
    pub time: Option<Figure<Time>>,
    /// The longest size of one, m.
    pub longest: f64,
}

/// Cooling and freezing of one casting.
#[derive(Debug, Clone, Default)]
pub struct FreezingEstimate {
    /// Surface that gives off heat.
    pub cooling_surface: Option<Figure<Area>>,
    /// Volume over cooling surface of the whole.
    pub modulus: Option<Figure<Length>>,
    /// Modulus of the thickest section.
    pub thickest: Option<Figure<Length>>,
    /// Heat given off until frozen, superheat with it.
    pub heat_to_freeze: Option<Figure<LatentHeat>>,
    /// Mould constant of a plate in this metal and sand.
    pub mould_constant: Option<Figure<TimePerArea>>,
    /// Of the whole by the plain rule.
    pub freezing_time: Option<Figure<Time>>,
    /// Of the section that freezes first.
    pub freezes_first: Option<Figure<Time>>,
    /// Of the section that freezes last.
    pub freezes_last: Option<Figure<Time>>,
    /// Time in the mould until shake-out.
    pub shake_out_after: Option<Figure<Time>>,
    /// Sections, the first to freeze first.
    pub sections: Vec<Section>,
}

impl FreezingEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            cooling_surface = "cooling-surface", modulus = "modulus",
            thickest = "thickest-modulus", heat_to_freeze = "heat-to-freeze",
            mould_constant = "mould-constant", freezing_time = "freezing-time",
            freezes_first = "freezes-first", freezes_last = "freezes-last",
            shake_out_after = "shake-out-after")
    }

    /// What the order of freezing asks for, in words.
    pub(super) fn warnings(&self) -> Option<String> {
        let thin = self.sections.first()?;
        let thick = self.sections.last()?;
        let wants_feeding = 2.0 * thick.modulus.si() >= super::feeding::THIN;
        (wants_feeding && thin.modulus.si() < CUTS_OFF * thick.modulus.si()).then(|| {
            format!(
                "first to freeze: {}; last: {}. A thin section may cut a thick one off, so give each thick place its own feeder or a chill",
                thin.name, thick.name
            )
        })
    }
}

/// A section of less than this share of another's modulus may cut it off.
const CUTS_OFF: f64 = 0.8;

pub(super) fn estimate(
    build: &Build,
    casting: &Casting,
    volume: Option<&Figure<Volume>>,
    surface: Option<&Figure<Area>>,
) -> FreezingEstimate {
    let alloy = &casting.alloy;
    let heat_to_freeze = (|| {
        Some(cooling::heat_to_freeze::figure(
            alloy.latent_heat.as_ref()?,
            alloy.liquid_heat.as_ref()?,
            alloy.pours.as_ref()?,
            alloy.liquidus.as_ref()?,
        ))
    })();
    let mould_constant = alloy.mould_constant.clone().or_else(|| {
        let sand = build.patterns[casting.pattern].sand.as_ref()?;
        let shop = rule(
            "temperature of the sand",
            [283.15, 293.15, 308.15],
            Known::CommonPractice,
            "a shop at 10 to 35 C",
        );
        let constant = cooling::mould_constant_derived::figure(
            alloy.liquidus.as_ref()?,
            &settled(heat_to_freeze.as_ref()?, "heat-to-freeze"),
            alloy.liquid_density.as_ref()?,
            &shop,
            sand.conductivity.as_ref()?,
            sand.rammed_density.as_ref()?,
            sand.heat.as_ref()?,
        );
        Some(constant.noting("from the properties of metal and sand, +/- 50 %; textbooks print 2 to 16 min/cm2: time a casting of your own"))
    });
    let constant = mould_constant.as_ref().map(|c| settled(c, "mould-constant"));
    let mut sections = sections(casting, volume, surface, constant.as_ref());
    let key = |s: &Section| s.time.as_ref().map_or(s.modulus.si(), Figure::si);
    sections.sort_by(|a, b| key(a).total_cmp(&key(b)));
    let cooling_surface = match &casting.given.shape {
        ShapeGiven::Solids(solids) => Some(cooling_surface(solids)),
        ShapeGiven::Mesh(_) => surface.map(|a| a.named("cooling surface")),
        _ => None,
    };
    let modulus = volume.zip(cooling_surface.as_ref()).map(|(v, a)| cooling::modulus::figure(v, a));
    let freezing_time = (|| {
        let exponent = Figure::<Number>::counted("exponent", 2.0, "2 in the plain rule");
        let time = cooling::freezing_time::figure(
            volume?,
            cooling_surface.as_ref()?,
            constant.as_ref()?,
            &exponent,
        );
        Some(time.noting("the casting as one lump; the section that freezes last decides"))
    })();
    let times: Vec<_> = sections.iter().filter_map(|s| s.time.clone()).collect();
    let order = |says: &'static str, at: Option<&Figure<Time>>| {
        let nodes = times.iter().map(|t| t.node().clone()).collect();
        at.map(|t| Figure::new(says, t.node().range(), Because::Chosen(SECTIONS.into(), nodes)))
    };
    let freezes_first = order("time of the section that freezes first", times.first());
    let freezes_last = order("time of the section that freezes last", times.last());
    let shake_out_after = freezes_last
        .as_ref()
        .map(|t| shake_out(t, "freezes-last"))
        .or_else(|| Some(shake_out(freezing_time.as_ref()?, "freezing-time")));
    let thickest = sections
        .iter()
        .max_by(|a, b| a.modulus.si().total_cmp(&b.modulus.si()))
        .map(|s| s.modulus.clone());
    FreezingEstimate {
        cooling_surface,
        modulus,
        thickest,
        heat_to_freeze,
        mould_constant,
        freezing_time,
        freezes_first,
        freezes_last,
        shake_out_after,
        sections,
    }
}

const SECTIONS: &str =
    "all sections in the order in which they freeze, each as if it stood free in the sand";

fn sections(
    casting: &Casting,
    volume: Option<&Figure<Volume>>,
    surface: Option<&Figure<Area>>,
    constant: Option<&Figure<TimePerArea>>,
) -> Vec<Section> {
    let time = |name: &str, modulus: &Figure<Length>, body: Body| {
        let body = Figure::<Body>::counted("body", body.si(), "by the sizes of the solid");
        let time = cooling::section_freezing_time::figure(modulus, constant?, &body);
        Some(time.named(format!("freezing time, {name}")))
    };
    match (&casting.given.shape, &casting.given.wall, volume) {
        (ShapeGiven::Solids(solids), _, _) => {
            let (cuts, added): (Vec<_>, Vec<_>) = solids.iter().partition(|s| s.less);
            let whole = |s: &SolidGiven| s.volume().si();
            let main = (0..added.len())
                .max_by(|a, b| whole(added[*a]).total_cmp(&whole(added[*b])))
                .unwrap_or(0);
            let section = |(at, solid): (usize, &&SolidGiven)| {
                let name = solid.called.as_deref().unwrap_or(solid.solid.name()).to_owned();
                let (volume, surface, body) = match at == main {
                    true => hollowed(solid, &cuts),
                    false => (solid.volume(), solid.surface(), body(&solid.solid)),
                };
                let modulus =
                    cooling::modulus::figure(&volume, &surface).named(format!("modulus, {name}"));
                Section {
                    time: time(&name, &modulus, body),
                    count: solid.count,
                    longest: solid.solid.extents().into_iter().fold(0.0, f64::max),
                    name,
                    modulus,
                    volume,
                }
            };
            added.iter().enumerate().map(section).collect()
        }
        (_, Some(wall), Some(volume)) => {
            let (v, w) = (volume.node().range(), wall.node().range());
            // A square plate of this wall: two faces and four edges.
            let plate = |v: f64, w: f64| v / (2.0 * v / w + 4.0 * (v / w).sqrt() * w);
            let likely = plate(v.likely, w.likely);
            let modulus = Figure::new(
                "modulus of the wall",
                Range { low: plate(v.low, w.low), likely, high: w.high / 2.0 },
                Because::Closed(
                    "as a square plate of that wall, edges cooling; high: wall / 2, as of a closed box",
                    vec![volume.node().clone(), wall.node().clone()],
                ),
            );
            let time = time("wall", &modulus, Body::Plate);
            let longest = (volume.si() / wall.si()).sqrt();
            vec![Section {
                name: "wall".into(),
                count: 1,
                modulus,
                volume: volume.clone(),
                time,
                longest,
            }]
        }
        (ShapeGiven::Mesh(_), None, Some(volume)) => {
            let Some(surface) = surface else { return Vec::new() };
            let modulus = cooling::modulus::figure(volume, surface)
                .named("modulus of the whole")
                .noting("a mean: thick places are thicker than this; give `wall:` or solids");
            vec![Section {
                name: "whole".into(),
                count: 1,
                time: time("whole", &modulus, Body::Plate),
                longest: (volume.si() / (2.0 * modulus.si())).sqrt(),
                modulus,
                volume: volume.clone(),
            }]
        }
        _ => Vec::new(),
    }
}

/// Volume, surface and body of the largest solid with what is cut out of the casting taken from
/// it; as it is where it could not hold all that.
fn hollowed(solid: &SolidGiven, cuts: &[&SolidGiven]) -> (Figure<Volume>, Figure<Area>, Body) {
    let (volume, surface) = (solid.volume(), solid.surface());
    let taken: Vec<_> = cuts.iter().map(|c| c.volume()).collect();
    let share = taken.iter().map(Figure::si).sum::<f64>() / volume.si();
    if taken.is_empty() || share > 0.95 {
        return (volume, surface, body(&solid.solid));
    }
    let gained: f64 =
        cuts.iter().map(|c| c.surface().si() - 2.0 * joint(&c.solid)[1] * f64::from(c.count)).sum();
    let nodes = std::iter::once(surface.node().clone())
        .chain(cuts.iter().map(|c| c.surface().node().clone()));
    let surface = Figure::new(
        "faces inside and out",
        Range::exact(surface.si() + gained),
        Because::Closed(
            "all faces, and of each cut-out all but twice its open one",
            nodes.collect(),
        ),
    );
    // What is hollowed out that far is all walls.
    let body = if share > 0.3 { Body::Plate } else { body(&solid.solid) };
    (super::less("solid less cut-outs", &volume, &taken), surface, body)
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
    use std::f64::consts::PI;
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
        Solid::Tube { outside, inside, .. } => {
            [PI / 4.0 * (outside * outside - inside * inside); 3]
        }
        Solid::Prism { ref section, .. } => [section.area(); 3],
        Solid::Ring { .. } | Solid::Sphere { .. } => [0.0; 3],
    }
}

/// Faces of the added solids less those at which they are taken to be joined.
fn cooling_surface(solids: &[SolidGiven]) -> Figure<Area> {
    let added: Vec<&SolidGiven> = solids.iter().filter(|s| !s.less).collect();
    let faces: Vec<Figure<Area>> = added.iter().map(|s| s.surface()).collect();
    let total: f64 = faces.iter().map(Figure::si).sum();
    let main = added
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.solid.volume().total_cmp(&b.1.solid.volume()))
        .map(|(i, _)| i);
    let mut lost = [0.0; 3];
    for (i, s) in added.iter().enumerate() {
        let count = if Some(i) == main { s.count - 1 } else { s.count };
        for (sum, face) in lost.iter_mut().zip(joint(&s.solid)) {
            *sum += 2.0 * face * f64::from(count);
        }
    }
    // However they are joined, a third of the faces is left in any casting of walls and bosses.
    let left = |lost: f64| (total - lost).max(total / 3.0);
    let range = Range { low: left(lost[2]), likely: left(lost[1]), high: left(lost[0]) };
    let nodes = faces.iter().map(|f| f.node().clone()).collect();
    Figure::new(
        "cooling surface",
        range,
        Because::Closed("all faces, less twice one face of every solid but the largest", nodes),
    )
    .noting("how the solids join is not drawn: each is taken to stand on one face, a plate on its long edge, and what is cut out is left aside")
}

/// Freezing time times what the trade waits.
fn shake_out(freezing: &Figure<Time>, key: &'static str) -> Figure<Time> {
    let freezing = settled(freezing, key);
    let factor: Figure<Number> = rule(
        "time in the mould over freezing time",
        [5.0, 7.0, 10.0],
        Known::FromMemory,
        "iron in green sand until 500 C; taken for the others too",
    );
    let (t, f) = (freezing.node().range(), factor.node().range());
    let range = Range { low: t.low * f.low, likely: t.likely * f.likely, high: t.high * f.high };
    let nodes = vec![freezing.node().clone(), factor.node().clone()];
    Figure::new("time until shake-out", range, Because::Closed("freezing time x factor", nodes))
        .noting("the least to wait; longer costs nothing and lets stress out of the casting")
}
