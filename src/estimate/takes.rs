//! What a mould uses up beside metal, sand and fuel: binder, clay, flux, parting, wash.

use super::settled;
use crate::figure::{Area, Because, Figure, Mass, Quantity, Range, Ratio, Volume};
use crate::handbook::{Rate, Sand};
use crate::manifest::{Flask, Id};
use crate::model::{Build, Casting};

/// The work at which something is used up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum At {
    /// Making the cores.
    Coring,
    /// Ramming the mould.
    Ramming,
    /// Melting the metal.
    Melting,
    /// Shaking out: the sand that is lost is made up again.
    ShakingOut,
}

/// Something that a mould uses up.
#[derive(Debug, Clone)]
pub struct Takes {
    /// Name of the stock.
    pub of: Id,
    /// What it is.
    pub title: Id,
    /// At which work.
    pub at: At,
    /// The share of the metal charged, where it goes by that.
    pub of_metal: Option<Figure<Ratio>>,
    /// How much for the mould, or why nobody knows.
    pub mass: Result<Figure<Mass>, &'static str>,
}

/// One quantity for each of another.
fn each<A: Quantity, B: Quantity>(
    says: &'static str,
    of: &Figure<A>,
    rate: &Figure<B>,
) -> Figure<Mass> {
    let (m, r) = (of.node().range(), rate.node().range());
    let range = Range { low: m.low * r.low, likely: m.likely * r.likely, high: m.high * r.high };
    let nodes = vec![of.node().clone(), rate.node().clone()];
    Figure::new("taken by the mould", range, Because::Closed(says, nodes))
}

/// Sand of the cores of one mould, kg: their volume times the density of the rammed sand.
pub(super) fn core_sand(build: &Build, cores: Option<&Figure<Volume>>) -> Option<Figure<Mass>> {
    let density = build.core_sand.as_ref()?.rammed_density.as_ref()?;
    Some(each("volume of the cores x rammed density", cores?, density).named("sand of the cores"))
}

/// What one mould knows of itself when it is asked what it takes.
pub(super) struct Mould<'a> {
    pub flask: Option<&'a Flask>,
    pub sand: Option<&'a Figure<Mass>>,
    pub core_sand: Option<&'a Figure<Mass>>,
    pub charge: Option<&'a Figure<Mass>>,
    pub surface: Option<&'a Figure<Area>>,
}

/// Everything that a mould uses up beside metal, sand and fuel.
pub(super) fn takes(build: &Build, casting: &Casting, mould: &Mould<'_>) -> Vec<Takes> {
    let mut out = Vec::new();
    let sand = build.patterns[casting.pattern].sand.as_ref();
    if let Some(sand) = sand {
        let rammed = mould.sand.map(|m| settled(m, "sand"));
        mixed(&mut out, sand, rammed.as_ref(), (At::Ramming, "the sand of the mould is not known"));
    }
    if let (Some(sand), Some(cores)) = (build.core_sand.as_ref(), mould.core_sand) {
        let cores = settled(cores, "core-sand");
        mixed(&mut out, sand, Some(&cores), (At::Coring, "the sand of the cores is not known"));
    }
    let name = sand.map(|s| &*s.id);
    let takers = build.handbook.consumables.values();
    for c in takers.filter(|c| c.goes_with(&casting.alloy, name)) {
        let (at, of_metal, mass) = match &c.rate {
            Rate::OfMetal(share) => {
                let charge = mould.charge.map(|m| settled(m, "mould-charge"));
                let mass = charge.map(|m| each("metal charged x share", &m, share));
                (At::Melting, Some(share.clone()), mass.ok_or("the charge is not known"))
            }
            Rate::OfJoint(rate) => {
                let joint = mould.flask.map(joint);
                let mass = joint.map(|a| each("joint of the flask x powder on it", &a, rate));
                (At::Ramming, None, mass.ok_or("the flask is not known"))
            }
            Rate::OfSurface(rate) => {
                let mass =
                    mould.surface.map(|a| each("surface of the castings x wash on it", a, rate));
                (At::Ramming, None, mass.ok_or("no `shape:` tells the surface of the castings"))
            }
        };
        out.push(Takes { of: c.id.clone(), title: c.title.clone(), at, of_metal, mass });
    }
    out
}

/// Inside of a flask at the parting.
fn joint(flask: &Flask) -> Figure<Area> {
    let (l, w) = (&flask.length, &flask.width);
    let nodes = vec![l.node().clone(), w.node().clone()];
    let range = Range::exact(l.si() * w.si());
    Figure::new("joint of the flask", range, Because::Closed("length x width", nodes))
}

/// What is mixed into a sand: into all of it where it sets, else into what is lost.
fn mixed(
    out: &mut Vec<Takes>,
    sand: &Sand,
    used: Option<&Figure<Mass>>,
    (at, unknown): (At, &'static str),
) {
    for (name, share) in sand.additions.iter().filter(|(name, _)| **name != *"water") {
        let (at, mass) = match (used, &sand.loss) {
            (None, _) => (at, Err(unknown)),
            (Some(used), _) if sand.sets => {
                (at, Ok(each("sand that is bonded x share", used, share)))
            }
            (Some(_), None) => (At::ShakingOut, Err("how much of the sand is lost is not known")),
            (Some(used), Some(loss)) => {
                let lost = each("sand x share lost", used, loss).named("sand lost");
                (At::ShakingOut, Ok(each("sand made up again x share", &lost, share)))
            }
        };
        out.push(Takes { of: name.clone(), title: name.clone(), at, of_metal: None, mass });
    }
}
