//! What a mould takes: metal, sand, binder, clay, flux, parting, wash. Fuel goes by the furnace. The
//! bill sums it up, the walk follows it through the plan, and the risk replays it.

use crate::figure::{Amount, Area, Figure, Mass, Ratio, Volume};
use crate::handbook::formulas::{loads, metal};
use crate::handbook::{Alloy, Family, Rate, Sand};
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

/// What is done with a material that a mould takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Use {
    /// It is the metal that is charged.
    Metal,
    /// It is packed into the mould or its cores, and shaken out.
    Sand,
    /// It is used up.
    UsedUp,
}

/// An amount of a material, by what becomes of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Gone {
    /// Metal that is charged.
    Charged,
    /// Of that, what melting takes.
    MeltLost,
    /// Sand that does not come back.
    SandLost,
    /// Fuel, with what warms the furnaces.
    Burnt,
    /// Fuel, where nobody knows what warms a furnace.
    BurntWarm,
    /// All else.
    UsedUp,
}

impl Gone {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Charged => "metal charged",
            Self::MeltLost => "metal lost in melting",
            Self::SandLost => "sand lost",
            Self::Burnt => "fuel, warm-ups counted",
            Self::BurntWarm => "fuel, warm-up not counted",
            Self::UsedUp => "used up",
        }
    }
}

/// A material that a mould takes.
#[derive(Debug, Clone)]
pub struct Takes {
    /// Name of the stock.
    pub of: Id,
    /// What it is.
    pub title: Id,
    /// What is done with it.
    pub what: Use,
    /// The share of it that is lost: in melting, or at shaking out.
    pub lost: Option<Figure<Ratio>>,
    /// At which work.
    pub at: At,
    /// The share of the metal charged, where it goes by that.
    pub of_metal: Option<Figure<Ratio>>,
    /// How much for a heat, where it goes by that, however many moulds are poured of it.
    pub of_heat: Option<Figure<Amount>>,
    /// How much for the mould, melted by itself, or why nobody knows.
    pub amount: Result<Figure<Amount>, &'static str>,
}

impl Takes {
    /// What becomes of it in the end, each with the share of its likely mass; metal and sand of
    /// which nobody knows the loss are not told to be lost.
    pub fn gone(&self) -> Vec<(Gone, f64)> {
        let lost = |gone| self.lost.as_ref().map(|lost| (gone, lost.si()));
        match self.what {
            Use::Metal => [(Gone::Charged, 1.0)].into_iter().chain(lost(Gone::MeltLost)).collect(),
            Use::Sand => lost(Gone::SandLost).into_iter().collect(),
            Use::UsedUp => vec![(Gone::UsedUp, 1.0)],
        }
    }

    /// Something that is used up.
    fn used_up(of: Id, title: Id, at: At, amount: Result<Figure<Amount>, &'static str>) -> Self {
        let (lost, of_metal, of_heat) = (None, None, None);
        Self { of, title, what: Use::UsedUp, lost, at, of_metal, of_heat, amount }
    }

    /// Sand that is packed at this work.
    fn sand(build: &Build, sand: &Sand, at: At, mass: &Figure<Mass>) -> Self {
        let (of, title) = (build.sand_stock(sand), sand.title.clone());
        let lost = sand.loss.clone();
        let (of_metal, of_heat) = (None, None);
        let amount = Ok(mass.amount());
        Self { of, title, what: Use::Sand, lost, at, of_metal, of_heat, amount }
    }
}

/// Sand of the cores of one mould, kg: their volume times the density of the rammed sand.
pub(super) fn core_sand(build: &Build, cores: Option<&Figure<Volume>>) -> Option<Figure<Mass>> {
    let density = build.core_sand.as_ref()?.rammed_density.as_ref()?;
    Some(metal::part_mass::figure(cores?, density).named("sand of the cores"))
}

/// What one mould knows of itself when it is asked what it takes.
pub(super) struct Mould<'a> {
    pub flask: Option<&'a Flask>,
    pub sand: Option<&'a Figure<Mass>>,
    pub core_sand: Option<&'a Figure<Mass>>,
    pub charge: Option<&'a Figure<Mass>>,
    pub surface: Option<&'a Figure<Area>>,
}

/// Everything that a mould takes but fuel.
pub(super) fn takes(build: &Build, casting: &Casting, mould: &Mould<'_>) -> Vec<Takes> {
    let sand = build.patterns[casting.pattern].sand.as_ref();
    let metal = &casting.alloy;
    let mut out = vec![Takes {
        of: metal.id.clone(),
        title: metal.title.clone(),
        what: Use::Metal,
        lost: metal.melt_loss.clone(),
        at: At::Melting,
        of_metal: None,
        of_heat: None,
        amount: mould.charge.map(Figure::amount).ok_or("the charge is not known"),
    }];
    out.extend(sand.zip(mould.sand).map(|(s, m)| Takes::sand(build, s, At::Ramming, m)));
    let cores = build.core_sand.as_ref().zip(mould.core_sand);
    out.extend(cores.map(|(s, m)| Takes::sand(build, s, At::Coring, m)));
    if let Some(sand) = sand {
        let rammed = mould.sand.map(|m| m.reference("sand"));
        mixed(
            &mut out,
            metal,
            sand,
            rammed.as_ref(),
            (At::Ramming, "the sand of the mould is not known"),
        );
    }
    if let (Some(sand), Some(cores)) = (build.core_sand.as_ref(), mould.core_sand) {
        let cores = cores.reference("core-sand");
        mixed(
            &mut out,
            metal,
            sand,
            Some(&cores),
            (At::Coring, "the sand of the cores is not known"),
        );
    }
    let name = sand.map(|s| &*s.id);
    let takers = build.handbook.consumables.values();
    for c in takers.filter(|c| c.goes_with(&casting.alloy, name)) {
        let (at, amount) = match &c.rate {
            Rate::OfMetal(share) => {
                let charge = mould.charge.map(|m| m.reference("mould-charge"));
                let mass = charge.map(|m| metal::taken_by_mass::figure(&m, share).amount());
                (At::Melting, mass.ok_or("the charge is not known"))
            }
            Rate::OfJoint(rate) => {
                let joint = mould.flask.map(joint);
                let mass = joint.map(|a| metal::taken_by_area::figure(&a, rate).amount());
                (At::Ramming, mass.ok_or("the flask is not known"))
            }
            Rate::OfSurface(rate) => {
                let mass = mould.surface.map(|a| metal::taken_by_area::figure(a, rate).amount());
                (At::Ramming, mass.ok_or("no `shape:` tells the surface of the castings"))
            }
            Rate::OfMould(each) => (At::Ramming, Ok(each.clone())),
            Rate::OfHeat(each) => (At::Melting, Ok(each.clone())),
            Rate::OfBuild(_) => continue,
        };
        let of_metal = if let Rate::OfMetal(share) = &c.rate { Some(share.clone()) } else { None };
        let of_heat = if let Rate::OfHeat(each) = &c.rate { Some(each.clone()) } else { None };
        let used = Takes::used_up(c.id.clone(), c.title.clone(), at, amount);
        out.push(Takes { of_metal, of_heat, ..used });
    }
    out
}

/// Inside of a flask at the parting.
fn joint(flask: &Flask) -> Figure<Area> {
    loads::rectangle::figure(&flask.length, &flask.width).named("joint of the flask")
}

/// What is mixed into a sand: into all of it where it sets, else into what is lost.
fn mixed(
    out: &mut Vec<Takes>,
    metal: &Alloy,
    sand: &Sand,
    used: Option<&Figure<Mass>>,
    (at, unknown): (At, &'static str),
) {
    // Common practice, no source: aluminium and zinc are poured too cold for it.
    let burns_off = !matches!(metal.family, Family::Aluminium | Family::Zinc);
    let needed = |name: &str| name != "water" && (burns_off || name != "sea-coal");
    for (name, share) in sand.additions.iter().filter(|(name, _)| needed(name)) {
        let (at, amount) = match (used, &sand.loss) {
            (None, _) => (at, Err(unknown)),
            (Some(used), _) if sand.sets => {
                (at, Ok(metal::taken_by_mass::figure(used, share).amount()))
            }
            (Some(_), None) => (At::ShakingOut, Err("how much of the sand is lost is not known")),
            (Some(used), Some(loss)) => {
                let lost = metal::taken_by_mass::figure(used, loss).named("sand lost");
                (At::ShakingOut, Ok(metal::taken_by_mass::figure(&lost, share).amount()))
            }
        };
        out.push(Takes::used_up(name.clone(), name.clone(), at, amount));
    }
}
