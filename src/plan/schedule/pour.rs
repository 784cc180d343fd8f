//! One melt and the moulds it fills, whether it comes from the schedule or was picked by hand.

use super::charge::{room, to_charge};
use super::record::{Heel, PlannedHeat, Schedule};
use super::stale::too_old;
use crate::estimate::{At, CrucibleFit, Estimates, FlaskFit, Pot, Use, clear_up, melt_time, pot};
use crate::figure::{Amount, Because, Figure, Kind, Mass, Node, Ratio, SafeEnd, Time, show};
use crate::handbook::Alloy;
use crate::manifest::Id;
use crate::model::{Attempt, Build};
use crate::plan::work::before_pour;
use crate::yaml::Refused;
use chrono::NaiveDateTime;
use indexmap::IndexMap;
use std::sync::Arc;

/// A melt and what is poured from it.
#[derive(Debug, Clone)]
pub struct Pour {
    /// Its name; none where it was picked by hand.
    pub name: Option<Id>,
    /// The alloy.
    pub alloy: Arc<Alloy>,
    /// The crucibles.
    pub crucibles: Vec<Id>,
    /// Which pot holds the whole charge, and what it is to lift.
    pub pot: Pot,
    /// The furnace.
    pub furnace: Option<Id>,
    /// Whether the furnace is hot from the heat before.
    pub hot: bool,
    /// When it is lit, when pouring begins, when it is over.
    pub times: Option<[NaiveDateTime; 3]>,
    /// The moulds, in the order to pour them.
    pub moulds: Vec<PourMould>,
    /// Metal poured, all moulds together; none unless it is known of each.
    pub poured: Option<Figure<Mass>>,
    /// Metal to be charged for all moulds together and heels, to go by at its high end; none unless it
    /// is known of each.
    pub charge: Option<Figure<Mass>>,
    /// Metal that is left in the pots.
    pub heels: Vec<Heel>,
    /// People that the full pot, or two of them at once, ask for; none where it is not planned.
    pub people: Option<u32>,
}

/// A mould of a melt.
#[derive(Debug, Clone)]
pub struct PourMould {
    /// Index of the part.
    pub part: usize,
    /// Castings in it.
    pub castings: u32,
    /// Castings of other parts in it.
    pub others: Vec<(usize, u32)>,
    /// The flask.
    pub flask: Option<Id>,
    /// Its name in the journal, if it is rammed already.
    pub standing: Option<Id>,
    /// Whether that one stands too long, and is rammed again before it is poured.
    pub again: bool,
    /// Metal poured into it.
    pub poured: Option<Figure<Mass>>,
    /// Metal charged for it.
    pub charge: Option<Figure<Mass>>,
    /// When the plan shakes it out.
    pub shaken_out: Option<NaiveDateTime>,
}

/// Heats whose metal may come to more than their pot takes, in words.
pub(crate) fn brimming(build: &Build, schedule: &Schedule) -> Option<String> {
    let brims = |heat: &PlannedHeat| Pour::planned(build, schedule, &heat.name)?.brims();
    let over: Vec<_> = schedule.heats.iter().filter_map(|h| Some((&*h.name, brims(h)?))).collect();
    let most = over.iter().map(|(_, [most, holds])| most / holds).reduce(f64::max)?;
    let names: Vec<&str> = over.iter().map(|(name, _)| *name).collect();
    Some(format!(
        "{} may come to more metal than the pot holds at its working fill, up to {} of it: {}",
        names.join(", "),
        show(Kind::Ratio, most, build.header.units),
        Pour::BRIMMING
    ))
}

/// The sum, where every mould has its figure.
fn all(name: &'static str, of: impl Iterator<Item = Option<Figure<Mass>>>) -> Option<Figure<Mass>> {
    Figure::sum(name, &of.collect::<Option<Vec<_>>>()?)
}

impl Pour {
    /// A heat of the schedule, by its name; none if there is none of that name.
    pub fn planned(build: &Build, schedule: &Schedule, name: &str) -> Option<Self> {
        let heat = schedule.heats.iter().find(|h| &*h.name == name)?;
        let moulds = heat.moulds.iter().map(|m| {
            let mould = &schedule.moulds[*m];
            PourMould {
                part: mould.part,
                castings: mould.castings,
                others: mould.others.clone(),
                flask: mould.flask.clone(),
                standing: mould.standing.clone(),
                again: mould.again,
                poured: mould.poured.clone(),
                charge: mould.charge.clone(),
                shaken_out: Some(mould.shaken_out),
            }
        });
        let moulds: Vec<PourMould> = moulds.collect();
        let casting = build.parts[moulds.first()?.part].casting.as_ref()?;
        let charges: Vec<_> = moulds.iter().filter_map(|m| m.charge.clone()).collect();
        let metal = Figure::sum("charge of the heat", &charges);
        Some(Self {
            name: Some(heat.name.clone()),
            alloy: casting.alloy.clone(),
            crucibles: heat.crucibles.clone(),
            pot: pot(build, casting, &heat.crucibles, metal.as_ref()),
            furnace: Some(heat.furnace.clone()),
            hot: heat.hot,
            times: Some([heat.lit, heat.pour, heat.over]),
            poured: all("metal poured", moulds.iter().map(|m| m.poured.clone())),
            charge: heat.charge.clone(),
            heels: heat.heels.clone(),
            people: heat.people,
            moulds,
        })
    }

    /// The charge, and the heel that is in the pot before it, as a share of what its crucible takes at
    /// the safe end: to go by at the high end. None where it is not poured from one crucible that is
    /// known.
    pub fn fill(&self) -> Option<Figure<Ratio>> {
        let (charge, holds) = (self.charge.as_ref()?, self.pot.holds.as_ref()?);
        if !matches!(self.pot.crucible, CrucibleFit::Fits(_)) || holds.low() <= 0.0 {
            return None;
        }
        let inside = self.heels.iter().filter(|heel| heel.from.is_some()).map(|h| h.left.clone());
        let metal =
            Figure::sum("metal in it", &inside.chain([charge.clone()]).collect::<Vec<_>>())?;
        let range = metal.node().range().map(|kg| kg / holds.low());
        let nodes = vec![metal.node().clone(), holds.node().clone()];
        const SAYS: &str = "charge / the least that the crucible takes at its working fill";
        let filled = Figure::new("filled", range, Because::Closed(SAYS, nodes));
        Some(filled.safe_at(SafeEnd::High))
    }

    /// Metal that its pots take together beside a heel that is in them, kg: at the safe end; none
    /// where that is not known of every pot.
    pub fn room(&self, build: &Build) -> Option<f64> {
        room(build, &self.alloy, &self.crucibles, &self.heels)
    }

    /// What to do where it brims.
    pub const BRIMMING: &str =
        "charge no more than that, and leave the last mould empty rather than half poured";

    /// The most metal that its moulds may take, and the least that its pot takes of it at its working
    /// fill, kg; none where the pot takes it all, or it is not poured from one that is known.
    pub fn brims(&self) -> Option<[f64; 2]> {
        let (metal, holds) = (self.pot.asked.as_ref()?, self.pot.holds.as_ref()?);
        let ends = [metal.high(), holds.low()];
        (self.crucibles.len() == 1 && ends[0] > ends[1]).then_some(ends)
    }

    /// What the charge falls short of, with so much metal there, kg; none where it is enough.
    pub fn short_of(&self, there: f64) -> Option<Figure<Mass>> {
        let kg = self.charge.as_ref()?.safe() - there;
        (kg > 0.0).then(|| Figure::counted("short", kg, "charge less metal in the shop"))
    }

    /// How long its metal takes to melt by the power of its furnace, once that is warm; none where that
    /// is not known of every mould.
    pub fn melts(&self, build: &Build, estimates: &Estimates) -> Option<Figure<Time>> {
        let furnace = build.shop.furnaces.get(self.furnace.as_ref()?)?;
        let melts = |m: &PourMould| {
            let lots = [&[(m.part, m.castings)], &*m.others].concat();
            melt_time(build, furnace, estimates.mould(build, &lots)?.melt_heat.as_ref()?)
        };
        let times = self.moulds.iter().map(melts);
        Figure::sum("time to melt", &times.collect::<Option<Vec<_>>>()?)
    }

    /// How long it takes one person at the furnace until the first pour; none where the furnace is not known.
    /// The plan takes its likely value.
    pub fn before_pour(&self, build: &Build, estimates: &Estimates) -> Option<Figure<Time>> {
        let furnace = build.shop.furnaces.get(self.furnace.as_ref()?)?;
        Some(before_pour(build, furnace, self.melts(build, estimates).as_ref(), self.hot))
    }

    /// Clearing up after it, at the end of its session; none where that takes nothing.
    pub fn clear_up(&self, build: &Build) -> Option<Figure<Time>> {
        let furnace = build.shop.furnaces.get(self.furnace.as_ref()?)?;
        clear_up(build, furnace).filter(|time| time.high() > 0.0).map(|f| f.named("clearing up"))
    }

    /// Its figures, by the names that they are asked by.
    pub fn figures(&self, build: &Build, estimates: &Estimates) -> Vec<(&'static str, Node)> {
        let all = [
            ("charge", self.charge.as_ref().map(|f| f.node().clone())),
            ("poured", self.poured.as_ref().map(|f| f.node().clone())),
            ("filled", self.fill().map(|f| f.node().clone())),
            ("crucible-lift", self.pot.handling.crucible.as_ref().map(|f| f.node().clone())),
            ("pour-at", self.alloy.pours.as_ref().map(|f| f.node().clone())),
            ("melt-time", self.melts(build, estimates).map(|f| f.node().clone())),
            ("before-pour", self.before_pour(build, estimates).map(|f| f.node().clone())),
            ("clear-up", self.clear_up(build).map(|f| f.node().clone())),
        ];
        all.into_iter().filter_map(|(name, node)| Some((name, node?))).collect()
    }

    /// What goes into the melt beside metal: id and mass, all moulds together.
    /// What is told for a heat is taken once.
    pub fn fluxes(&self, build: &Build, estimates: &Estimates) -> Vec<(Id, Figure<Amount>)> {
        let mut out: IndexMap<Id, Vec<Figure<Amount>>> = IndexMap::new();
        for mould in &self.moulds {
            let lots: Vec<_> =
                std::iter::once((mould.part, mould.castings)).chain(mould.others.clone()).collect();
            let takes = estimates.mould(build, &lots).map_or(&[][..], |m| &m.takes);
            for taken in takes.iter().filter(|t| t.at == At::Melting && t.what == Use::UsedUp) {
                let all = out.entry(taken.of.clone()).or_default();
                if taken.of_heat.is_none() || all.is_empty() {
                    all.extend(taken.amount.as_ref().ok().cloned());
                }
            }
        }
        let all = out.into_iter();
        all.filter_map(|(of, masses)| Some((of, Figure::sum("into the melt", &masses)?))).collect()
    }

    /// One mould of each of these parts, poured in this order.
    ///
    /// # Errors
    /// Where there is no part, one is not cast, or the alloys differ.
    pub fn picked(build: &Build, estimates: &Estimates, parts: &[usize]) -> Result<Self, Refused> {
        let castings = parts.iter().map(|i| {
            let part = &build.parts[*i];
            let casting = part.casting.as_ref().zip(estimates.castings[*i].as_ref());
            casting.ok_or_else(|| Refused::from(format!("`{}` is not cast", part.id())))
        });
        let castings = castings.collect::<Result<Vec<_>, _>>()?;
        let Some((first, _)) = castings.first() else {
            return Err("a heat needs a mould to fill".into());
        };
        if let Some(other) = castings.iter().position(|(c, _)| c.alloy.id != first.alloy.id) {
            return Err(format!(
                "one melt is of one alloy: `{}` is of {}, `{}` of {}",
                build.parts[parts[0]].id(),
                first.alloy.id,
                build.parts[parts[other]].id(),
                castings[other].0.alloy.id
            )
            .into());
        }
        let moulds = parts.iter().zip(&castings).map(|(part, (_, estimate))| PourMould {
            part: *part,
            castings: estimate.mould.cavities,
            others: Vec::new(),
            flask: match &estimate.mould.flask {
                FlaskFit::Fits(id) => Some(id.clone()),
                _ => None,
            },
            standing: standing(build, *part).map(|a| a.mould.clone()),
            again: standing(build, *part).is_some_and(|a| too_old(build, a)),
            poured: estimate.mould.poured.clone(),
            charge: estimate.mould.charge.clone(),
            shaken_out: None,
        });
        let moulds: Vec<PourMould> = moulds.collect();
        let charge = all("charge", moulds.iter().map(|m| m.charge.clone()));
        let pot = pot(build, first, &[], charge.as_ref());
        let crucibles = match &pot.crucible {
            CrucibleFit::Fits(id) => vec![id.clone()],
            _ => Vec::new(),
        };
        let heel = |id: &Id| {
            let left = build.shop.crucibles.get(id)?.heel.clone()?;
            Some(Heel { crucible: id.clone(), left, from: None, to: None })
        };
        let heels: Vec<Heel> = crucibles.iter().filter_map(heel).collect();
        let room = room(build, &first.alloy, &crucibles, &heels);
        Ok(Self {
            name: None,
            alloy: first.alloy.clone(),
            heels,
            crucibles,
            furnace: build.shop.furnaces.keys().next().cloned(),
            hot: false,
            times: None,
            poured: all("metal poured", moulds.iter().map(|m| m.poured.clone())),
            charge: pot.asked.as_ref().map(|takes| to_charge(takes, room)),
            pot,
            moulds,
            people: None,
        })
    }
}

/// The mould of a part that is rammed and waits for its heat.
fn standing(build: &Build, part: usize) -> Option<&Attempt> {
    build.history.attempts_of(part).find(|a| a.poured.is_none())
}
