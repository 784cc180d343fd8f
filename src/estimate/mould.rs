//! One mould, of one pattern or of several side by side: flask, sand, the charge that fills it and the
//! crucible that holds it.

use super::pot::held;
use super::{Takes, for_mould, listed, takes};
use crate::figure::*;
use crate::handbook::Alloy;
use crate::handbook::formulas::{heat, metal, pattern as pattern_formulas};
use crate::manifest::{Crucible, Flask, Furnace, Id};
use crate::model::{Build, Casting, Equipment};

/// The flask for a mould.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum FlaskFit {
    /// This one takes it.
    Fits(Id),
    /// None does: what one would need, in words.
    Lacking(String),
    /// Cannot be told: why.
    Unknown(&'static str),
}

/// The crucible for a mould.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum CrucibleFit {
    /// This one holds the charge below its working fill.
    Fits(Id),
    /// None does: what is missing, in words.
    Lacking(String),
    /// Cannot be told: why.
    Unknown(&'static str),
}

/// The figures of one mould.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct MouldEstimate {
    /// Castings in it.
    pub cavities: u32,
    /// The flask.
    pub flask: FlaskFit,
    /// Inside of cope and drag.
    pub flask_volume: Option<Figure<Volume>>,
    /// Sand rammed into it.
    pub sand: Option<Figure<Mass>>,
    /// Sand of its cores.
    pub core_sand: Option<Figure<Mass>>,
    /// What it takes, fuel left out: that goes by the furnace.
    pub takes: Vec<Takes>,
    /// Metal poured into it.
    pub poured: Option<Figure<Mass>>,
    /// Metal charged for it.
    pub charge: Option<Figure<Mass>>,
    /// The crucible.
    pub crucible: CrucibleFit,
    /// What that crucible takes at its working fill.
    pub crucible_holds: Option<Figure<Mass>>,
    /// Full crucible: pot and metal, without tongs.
    pub crucible_full: Option<Figure<Mass>>,
    /// Heat to bring the charge to pouring.
    pub melt_heat: Option<Figure<Energy>>,
    /// Fuel for it in the first furnace of the shop, warm-up not counted.
    pub fuel: Option<Figure<Mass>>,
    /// The same in an electric furnace.
    pub electricity: Option<Figure<Energy>>,
    /// Cylinders of gas that the fuel comes to.
    pub cylinders: Option<Figure<Number>>,
    /// Time to melt in a warm furnace of known power.
    pub melt_time: Option<Figure<Time>>,
    /// Habits that go with it, in plain words.
    pub notes: Vec<String>,
    /// In plain words.
    pub warnings: Vec<String>,
}

impl MouldEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            poured = "mould-poured", charge = "mould-charge", flask_volume = "flask-volume",
            sand = "sand", core_sand = "core-sand", crucible_holds = "crucible-holds",
            crucible_full = "crucible-full", melt_heat = "melt-heat", fuel = "fuel",
            electricity = "electricity", cylinders = "cylinders", melt_time = "melt-time")
    }
}

/// One casting of a pattern that lies in a mould, as often as the pattern has it.
#[derive(Clone, Copy)]
pub(super) struct Cast<'a> {
    pub casting: &'a Casting,
    /// Metal of the mould within its flask.
    pub held: Option<&'a Figure<Volume>>,
    pub surface: Option<&'a Figure<Area>>,
    /// Of the cores that are made for it.
    pub cores: Option<&'a Figure<Volume>>,
    pub poured: Option<&'a Figure<Mass>>,
}

/// All that is cast in one mould: one casting of each of its patterns.
struct InMould<'a> {
    build: &'a Build,
    casts: Vec<Cast<'a>>,
}

impl InMould<'_> {
    /// A figure for each, as often as its pattern has it; of several patterns each is told by its own.
    fn each<Q: Quantity>(
        &self,
        name: &'static str,
        of: impl Fn(&Cast<'_>, u32) -> Option<Figure<Q>>,
    ) -> Vec<Option<Figure<Q>>> {
        let figure = |cast: &Cast<'_>| {
            let pattern = &self.build.patterns[cast.casting.pattern];
            let figure = of(cast, pattern.given.cavities)?;
            Some(match self.casts.len() {
                1 => figure.named(name),
                _ => figure.named(format!("{name}, {}", pattern.id)),
            })
        };
        self.casts.iter().map(figure).collect()
    }

    /// The sum, where it is known of all; the one itself where there is one.
    fn sum<Q: Quantity>(
        &self,
        name: &'static str,
        of: impl Fn(&Cast<'_>, u32) -> Option<Figure<Q>>,
    ) -> Option<Figure<Q>> {
        sum(name, self.each(name, of).into_iter().collect::<Option<_>>()?)
    }

    fn poured(&self) -> Option<Figure<Mass>> {
        self.sum("metal for the mould", |c, many| Some(for_mould(c.poured?, many)))
    }

    /// Metal within the flask.
    fn metal(&self) -> Option<Figure<Volume>> {
        self.sum("castings, feeders and ways in the mould", |c, _| c.held.cloned())
    }

    fn surface(&self) -> Option<Figure<Area>> {
        const NAME: &str = "surface of the castings";
        self.sum(NAME, |c, many| Some(c.surface?.times(many, NAME)))
    }

    /// Of those that have cores.
    fn cores(&self) -> Option<Figure<Volume>> {
        const NAME: &str = "cores of the mould";
        let each = self.each(NAME, |c, many| Some(c.cores?.times(many, NAME)));
        sum(NAME, each.into_iter().flatten().collect())
    }
}

/// The sum where there are several; the one itself where there is one.
fn sum<Q: Quantity>(name: &'static str, mut of: Vec<Figure<Q>>) -> Option<Figure<Q>> {
    if of.len() == 1 { of.pop() } else { Figure::sum(name, &of) }
}

/// The figures of a mould of what is cast in it, in this flask: one casting of each pattern.
pub(super) fn estimate(
    build: &Build,
    first: Cast<'_>,
    others: &[Cast<'_>],
    flask: FlaskFit,
) -> MouldEstimate {
    let casting = first.casting;
    let (pattern, alloy) = (&build.patterns[casting.pattern], &casting.alloy);
    let held = InMould { build, casts: [&[first], others].concat() };
    let poured = held.poured();
    let charge = poured
        .as_ref()
        .zip(alloy.melt_loss.as_ref())
        .map(|(p, loss)| metal::charge::figure(p, loss).named("charge for the mould"));
    let chosen = match &flask {
        FlaskFit::Fits(id) => build.shop.flasks.get(id),
        _ => None,
    };
    let flask_volume = chosen.map(flask_volume);
    let density = pattern.sand.as_ref().and_then(|s| s.rammed_density.as_ref());
    let sand =
        held.metal().zip(flask_volume.as_ref()).zip(density).map(|((metal, inside), density)| {
            pattern_formulas::mould_sand::figure(inside, &metal, density)
        });
    let core_sand = takes::core_sand(build, held.cores().as_ref());
    let takes = takes::takes(
        build,
        casting,
        &takes::Mould {
            flask: chosen,
            sand: sand.as_ref(),
            core_sand: core_sand.as_ref(),
            charge: charge.as_ref(),
            surface: held.surface().as_ref(),
        },
    );
    let named = held.casts.iter().find_map(|c| c.casting.given.crucible.as_ref());
    let (crucible, crucible_holds) =
        crucible(build, alloy, named.map(|named| &named.value), charge.as_ref());
    let melt_heat = charge.as_ref().and_then(|c| melt_heat(c, alloy));
    let melt = melt_heat.as_ref().map(|h| Melt::reckon(build, h)).unwrap_or_default();
    MouldEstimate {
        cavities: pattern.given.cavities,
        flask,
        flask_volume,
        sand,
        core_sand,
        takes,
        poured,
        crucible_full: crucible_full(build, &crucible, charge.as_ref(), crucible_holds.as_ref()),
        charge,
        warnings: crucible_words(build, &crucible),
        crucible,
        crucible_holds,
        melt_heat,
        fuel: melt.fuel,
        electricity: melt.electricity,
        cylinders: melt.cylinders,
        melt_time: melt.time,
        notes: crucible_life(build, alloy).into_iter().collect(),
    }
}

/// Pot and metal, with the heel that is in it: no more than it holds.
fn crucible_full(
    build: &Build,
    fit: &CrucibleFit,
    charge: Option<&Figure<Mass>>,
    holds: Option<&Figure<Mass>>,
) -> Option<Figure<Mass>> {
    let CrucibleFit::Fits(id) = fit else { return None };
    let crucible = build.shop.crucibles.get(id)?;
    let kept = crucible.heel.as_ref().map_or(0.0, Figure::high);
    let metal = held(charge?, holds.map(|holds| holds.low() - kept));
    let inside = [crucible.mass.clone()?, metal];
    let all = [&inside[..], crucible.heel.as_slice()].concat();
    Figure::sum("full crucible, without tongs", &all)
}

/// How many heats a crucible lasts.
fn crucible_life(build: &Build, alloy: &Alloy) -> Option<String> {
    let heats = build.handbook.crucible_life.get(&alloy.family)?.node().range();
    Some(format!(
        "a crucible lasts about {} heats of {} alloys, {} to {} by make and care (from memory): look at its wall before every heat",
        heats.likely,
        alloy.family.word(),
        heats.low,
        heats.high
    ))
}

/// What is doubtful about the crucible chosen.
fn crucible_words(build: &Build, fit: &CrucibleFit) -> Vec<String> {
    let CrucibleFit::Fits(id) = fit else { return Vec::new() };
    let Some(crucible) = build.shop.crucibles.get(id) else { return Vec::new() };
    let mut out = Vec::new();
    if crucible.by_number {
        out.push(format!(
            "what crucible {id} holds is guessed from its trade number, which is no volume and differs by shape and maker: before it is trusted with a melt, fill it with water to the brim, measure, dry it fully, and give `holds:`"
        ));
    }
    if crucible.family.is_none() {
        out.push(format!(
            "crucible {id} names no `family:`, so say which: what soaks into its wall spoils an alloy of another family"
        ));
    }
    out
}

fn flask_volume(flask: &Flask) -> Figure<Volume> {
    let depth = Figure::sum("depth of cope and drag", &[flask.cope.clone(), flask.drag.clone()])
        .unwrap_or_else(|| flask.cope.clone());
    pattern_formulas::flask_volume::figure(&flask.length, &flask.width, &depth)
}

/// The smallest crucible that holds a charge of an alloy, and its own heel besides, at its working
/// fill, where none is named; and what that one holds, or the largest that there is.
pub(super) fn crucible(
    build: &Build,
    alloy: &Alloy,
    named: Option<&Id>,
    charge: Option<&Figure<Mass>>,
) -> (CrucibleFit, Option<Figure<Mass>>) {
    fit(build, alloy, named, charge, |c| c.heel.as_ref().map_or(0.0, Figure::high))
}

/// The smallest crucible that holds all of this metal, what is to be left as heel in it.
pub fn crucible_for_all(build: &Build, alloy: &Alloy, metal: &Figure<Mass>) -> CrucibleFit {
    fit(build, alloy, None, Some(metal), |_| 0.0).0
}

fn fit(
    build: &Build,
    alloy: &Alloy,
    named: Option<&Id>,
    charge: Option<&Figure<Mass>>,
    heel_of: impl Fn(&Crucible) -> f64,
) -> (CrucibleFit, Option<Figure<Mass>>) {
    let (Some(charge), Some(density)) = (charge, alloy.liquid_density.as_ref()) else {
        return (CrucibleFit::Unknown("the charge is not known"), None);
    };
    if !build.shop.knows_crucibles() {
        return (CrucibleFit::Unknown("the shop lists no crucibles"), None);
    }
    let mut holding: Vec<(&Id, f64, Figure<Mass>)> = build
        .shop
        .crucibles
        .iter()
        .filter(|(_, c)| c.family.is_none_or(|f| f == alloy.family))
        .filter(|(id, _)| named.is_none_or(|named| *named == **id))
        .map(|(id, c)| (id, heel_of(c), c.takes(density)))
        .collect();
    // By the room that the heel leaves.
    holding.sort_by(|a, b| (a.2.low() - a.1).total_cmp(&(b.2.low() - b.1)));
    let s = |v| show(Kind::Mass, v, build.header.units);
    let Some((largest, kept, most)) = holding.last().cloned() else {
        let says = format!(
            "no crucible is kept for {}; one alloy family to a crucible",
            alloy.family.word()
        );
        let of_family = |c: &Crucible| c.family.is_none_or(|f| f == alloy.family);
        let mut gone = build.shop.gone.crucibles.iter().filter(|(id, c)| match named {
            Some(named) => named == *id,
            None => of_family(c),
        });
        let gone = gone.find_map(|(id, _)| build.says_gone(Equipment::Crucible, id));
        return (CrucibleFit::Lacking(gone.unwrap_or(says)), None);
    };
    match holding.into_iter().find(|(_, heel, holds)| holds.low() >= charge.si() + heel) {
        Some((id, heel, holds)) => {
            let holds = if charge.high() + heel > holds.low() {
                let with = if heel > 0.0 { " with the heel" } else { "" };
                holds.noting(format!(
                    "at its highest the charge is {}{with}: more than this crucible's working fill; weigh what is charged",
                    s(charge.high() + heel)
                ))
            } else {
                holds
            };
            (CrucibleFit::Fits(id.clone()), Some(holds))
        }
        None => {
            let litres = (charge.si() + kept) / density.low();
            let heel =
                if kept > 0.0 { format!(", and {} of heel", s(kept)) } else { String::new() };
            let fill = build.handbook.working_fill.low();
            let says = format!(
                "the largest, {largest}, takes no more than {} of this alloy; the charge is {}{heel}: a crucible of {} to the brim, or less at a time",
                s(most.low()),
                s(charge.si()),
                show_liquid(litres / fill, build.header.units)
            );
            (CrucibleFit::Lacking(says), Some(most))
        }
    }
}

fn melt_heat(charge: &Figure<Mass>, alloy: &Alloy) -> Option<Figure<Energy>> {
    let start = super::rule("start", [293.15; 3], Known::CommonPractice, "a shop at 20 C");
    Some(heat::melt_heat::figure(
        charge,
        alloy.solid_heat.as_ref()?,
        alloy.latent_heat.as_ref()?,
        alloy.liquid_heat.as_ref()?,
        alloy.liquidus.as_ref()?,
        &start,
        alloy.pours.as_ref()?,
    ))
}

/// Share of a furnace's heat that reaches the metal: its own, or what is usual for its fuel.
fn efficiency<'a>(build: &'a Build, furnace: &'a Furnace) -> Option<&'a Figure<Ratio>> {
    furnace.efficiency.as_ref().or(build.handbook.furnace_efficiency.get(&furnace.fuel))
}

/// Fuel that brings so much heat into the metal in a furnace, warm-up not counted; none where no
/// fuel is burnt, or its efficiency is not known.
pub fn melt_fuel(build: &Build, furnace: &str, heat: &Figure<Energy>) -> Option<Figure<Mass>> {
    let furnace = build.shop.furnaces.get(furnace)?;
    let value = build.handbook.fuels.get(&furnace.fuel)?.as_ref()?;
    Some(heat::fuel_mass::figure(heat, efficiency(build, furnace)?, value))
}

/// How long a furnace takes to bring so much heat into the metal once it is warm; none where its power
/// or its efficiency is not known.
pub fn melt_time(build: &Build, furnace: &Furnace, heat: &Figure<Energy>) -> Option<Figure<Time>> {
    let time = heat::melt_time::figure(heat, efficiency(build, furnace)?, furnace.power.as_ref()?);
    Some(time.noting("in a warm furnace; warming it up comes on top"))
}

/// Setting up a furnace before the first heat of a session: its own, or the handbook's.
pub fn set_up<'a>(build: &'a Build, furnace: &'a Furnace) -> Option<&'a Figure<Time>> {
    furnace.set_up.as_ref().or(build.handbook.time("set-up"))
}

/// Clearing up at the end of a session in which a furnace melted: its own, or the handbook's.
pub fn clear_up<'a>(build: &'a Build, furnace: &'a Furnace) -> Option<&'a Figure<Time>> {
    furnace.clear_up.as_ref().or(build.handbook.time("clear-up"))
}

/// Fuel that warms a furnace for the first heat of a day, where its burner, its time and its fuel
/// are known.
pub fn warm_up(build: &Build, furnace: &str) -> Option<Figure<Mass>> {
    let furnace = build.shop.furnaces.get(furnace)?;
    let value = build.handbook.fuels.get(&furnace.fuel)?.as_ref()?;
    Some(heat::warm_up_fuel::figure(furnace.power.as_ref()?, furnace.warm_up.as_ref()?, value))
}

/// What the first furnace of the shop takes for a melt.
#[derive(Default)]
struct Melt {
    fuel: Option<Figure<Mass>>,
    electricity: Option<Figure<Energy>>,
    cylinders: Option<Figure<Number>>,
    time: Option<Figure<Time>>,
}

impl Melt {
    fn reckon(build: &Build, heat: &Figure<Energy>) -> Self {
        let mut out = Self::default();
        let Some(furnace) = build.shop.furnaces.values().next() else { return out };
        let Some(efficiency) = efficiency(build, furnace) else { return out };
        let heat = &heat.reference("melt-heat");
        out.time = melt_time(build, furnace, heat);
        match build.handbook.fuels.get(&furnace.fuel).and_then(Option::as_ref) {
            Some(value) => {
                let fuel = heat::fuel_mass::figure(heat, efficiency, value);
                out.cylinders = furnace.cylinder.as_ref().map(|each| {
                    heat::cylinders::figure(&fuel.reference("fuel"), each)
                        .noting("a cylinder chills as it gives off gas and never empties at full flow: keep one in hand")
                });
                out.fuel = Some(fuel);
            }
            None => {
                out.electricity = Some(heat::electricity::figure(heat, efficiency));
            }
        }
        out
    }
}
