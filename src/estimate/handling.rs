//! What has to be lifted, and by how many.

use super::loads::LoadEstimate;
use super::mould::{CrucibleFit, MouldEstimate};
use super::{listed, rule};
use crate::figure::*;
use crate::handbook::formulas::lifting::{self, Coupling, Team};
use crate::manifest::{Crucible, Flask};
use crate::model::Build;

/// Lifts of one mould.
#[derive(Debug, Clone, Default)]
#[non_exhaustive]
pub struct HandlingEstimate {
    /// Pot, metal and tongs.
    pub crucible: Option<Figure<Mass>>,
    /// What the tongs ask of the hands when held level.
    pub moment: Option<Figure<Moment>>,
    /// What one person may lift so.
    pub crucible_limit: Option<Figure<Mass>>,
    /// Load over limit.
    pub crucible_index: Option<Figure<Number>>,
    /// How many it takes by hand; none where no team may.
    pub crucible_people: Option<Figure<Number>>,
    /// How it is to be lifted, going by the high end of its index.
    pub crucible_carry: Option<Carry>,
    /// What one person may lift so.
    pub cope_limit: Option<Figure<Mass>>,
    /// Load over limit.
    pub cope_index: Option<Figure<Number>>,
    /// Cope, drag and metal.
    pub mould_mass: Option<Figure<Mass>>,
    /// Of the crucible, in plain words.
    pub pot_warnings: Vec<String>,
    /// Of the mould, in plain words.
    pub warnings: Vec<String>,
}

impl HandlingEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            crucible = "crucible-lift", moment = "moment-at-hands",
            crucible_limit = "crucible-limit", crucible_index = "crucible-index",
            crucible_people = "crucible-people", cope_limit = "cope-limit",
            cope_index = "cope-index", mould_mass = "mould-mass")
    }
}

/// How a load may be lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Carry {
    /// By hand, by so many.
    Hands(u32),
    /// With a lifting device, a shank and bogie, or in smaller lots: by no team.
    Device,
}

impl Carry {
    /// Of a load by its share of what one may lift.
    pub fn of(index: f64) -> Self {
        match lifting::people_to_lift(Number(index)).0 {
            people if people.is_finite() => Self::Hands(people as u32),
            _ => Self::Device,
        }
    }

    /// Of a full pot, by its share of what one may lift at the worst: with its device, if it has one.
    pub fn of_pot(device: bool, index: f64) -> Self {
        if device { Self::Device } else { Self::of(index) }
    }

    /// The most that so many may lift together, as a share of what one may lift.
    pub(super) fn most(people: u32) -> f64 {
        let team = match people {
            0 => return 0.0,
            1 => Team::One,
            2 => Team::Two,
            _ => Team::Three,
        };
        lifting::team_limit(Mass::from_si(1.0), team).si()
    }

    /// How many work at it: a lifting device too has one at the load and one at the lift (common
    /// practice).
    pub fn people(self) -> u32 {
        match self {
            Self::Hands(people) => people,
            Self::Device => 2,
        }
    }

    /// In words, to be printed large.
    pub fn words(self) -> &'static str {
        match self {
            Self::Hands(1) => "1 person",
            Self::Hands(2) => "2 people together",
            Self::Hands(_) => "3 people together",
            Self::Device => "not by hand",
        }
    }
}

/// Said beside each limit that hangs on the lifting equation and is used for hot metal.
pub const NOT_FOR_HOT_METAL: &str = "the lifting equation is for cold loads without tongs and does not cover molten metal: allow less";

pub(super) fn estimate(
    build: &Build,
    mould: &MouldEstimate,
    loads: &LoadEstimate,
    flask: Option<&Flask>,
) -> HandlingEstimate {
    let mut out = HandlingEstimate::default();
    let system = build.header.units;
    if let (Some(full), CrucibleFit::Fits(id)) = (&mould.crucible_full, &mould.crucible) {
        crucible(&mut out, full, build.shop.crucibles.get(id), system);
    }
    if let (Some(cope), Some(flask)) = (&loads.cope_mass, flask) {
        cope_lift(&mut out, cope, flask, system);
    }
    let parts = [loads.cope_mass.clone(), loads.drag_mass.clone(), mould.poured.clone()];
    if let [Some(a), Some(b), Some(c)] = parts {
        out.mould_mass = Figure::sum("whole mould, poured", &[a, b, c])
            .map(|f| f.noting("sand that the metal takes the place of is counted too"));
    }
    out
}

pub(super) fn crucible(
    out: &mut HandlingEstimate,
    full: &Figure<Mass>,
    given: Option<&Crucible>,
    system: System,
) {
    let tongs = given.and_then(|c| c.tongs.clone()).unwrap_or_else(|| {
        rule("tongs", [2.0, 3.0, 4.0], Known::FromMemory, "lifting tongs for pots of this kind")
    });
    let arm = given.and_then(|c| c.tong_length.clone()).unwrap_or_else(|| {
        rule("tong length", [0.6, 0.9, 1.2], Known::FromMemory, "hands to the middle of the pot")
    });
    out.moment = Some(lifting::tong_moment::figure(&full.reference("crucible-full"), &tongs, &arm));
    let reach = rule(
        "hands in front of the ankles",
        [0.45, 0.5, 0.6],
        Known::CommonPractice,
        "arms reached out, away from the heat",
    );
    let limit = limit(&reach, [0.3, 0.5, 0.7], [0.0, 30.0, 60.0])
        .named("lifting limit of the pot")
        .noting(NOT_FOR_HOT_METAL);
    let Some(load) = Figure::sum("pot, metal and tongs", &[full.clone(), tongs.clone()]) else {
        return;
    };
    let (load, limit) = (load.safe_at(SafeEnd::High), limit.safe_at(SafeEnd::Low));
    let index = index(&load.reference("crucible-lift"), &limit.reference("crucible-limit"))
        .named("lifting index of the pot");
    let by_device = given.is_some_and(|c| c.device);
    let carry = Carry::of_pot(by_device, index.high());
    let pot = given
        .and_then(|c| c.mass.as_ref())
        .map(|pot| [pot.si() + tongs.high(), full.high() - pot.si()]);
    out.pot_warnings.extend(match by_device {
        true => Some(device_words(&load, system)),
        false => pot_words(&load, &limit, &index, pot, system),
    });
    out.crucible_people = matches!(Carry::of(index.si()), Carry::Hands(_)).then(|| people(&index));
    out.crucible_carry = Some(carry);
    out.crucible_index = Some(index);
    out.crucible_limit = Some(limit);
    out.crucible = Some(load);
}

/// How many by hand; at its worst no more than a team may be, with a word where that is too few.
fn people(index: &Figure<Number>) -> Figure<Number> {
    let range = index.node().range().map(|i| lifting::people_to_lift(Number(i)).0);
    let nodes = vec![index.node().clone()];
    let because = Because::Worked(&lifting::people_to_lift::FORMULA, nodes);
    let figure = |range| Figure::<Number>::new("people for the crucible", range, because.clone());
    match range.high.is_finite() {
        true => figure(range).safe_at(SafeEnd::High),
        false => figure(Range { high: 3.0, ..range })
            .noting("at its worst no team may lift it: a lifting device, or less metal"),
    }
}

/// How a pot is lifted that has a device for it.
fn device_words(load: &Figure<Mass>, system: System) -> String {
    format!(
        "the full crucible with tongs is up to {}: lift it with its device, which must be marked for that or more; one at the load, one at the lift. Rehearse it cold",
        show(Kind::Mass, load.high(), system)
    )
}

/// How the full pot is lifted, and what else there is, each with its effect.
fn pot_words(
    load: &Figure<Mass>,
    limit: &Figure<Mass>,
    index: &Figure<Number>,
    pot: Option<[f64; 2]>,
    system: System,
) -> Option<String> {
    let mass = |kg| show(Kind::Mass, kg, system);
    let [likely, safe] = [index.si(), index.high()].map(Carry::of);
    if safe == Carry::Hands(1) {
        return None;
    }
    let habit = match (likely, safe) {
        (Carry::Device, _) | (_, Carry::Hands(_)) => safe.words().to_owned(),
        _ => format!("{}, at the worst {}", likely.words(), safe.words()),
    };
    let alone = limit.node().range().low;
    let offers = pot.map_or(String::new(), |[empty, metal]| {
        let takes = |team: Team| lifting::team_limit(Mass::from_si(alone), team).si() - empty;
        let least = match [Team::Two, Team::Three].map(takes) {
            [two, three] if two > 0.05 => {
                format!(
                    "smaller heats (with {} of metal two lift it, with {} three)",
                    mass(two),
                    mass(three)
                )
            }
            _ => "a lighter pot".to_owned(),
        };
        let half = empty + metal / 2.0;
        let by = Carry::of(half / alone).words();
        format!(", {least}, two pots (half of it in each: {}, {by}) or castings split", mass(half))
    });
    Some(format!(
        "the full crucible with tongs is up to {}, the limit of one person as little as {}, and the lifting equation does not cover molten metal: {habit}. Better: a lifting device (a hoist, or a shank and bogie) marked for {} or more, with two people (`lifted-by: device` under the crucible){offers}. Rehearse it cold; nobody swings it in tongs",
        mass(load.high()),
        mass(alone),
        mass(load.high()),
    ))
}

fn cope_lift(out: &mut HandlingEstimate, cope: &Figure<Mass>, flask: &Flask, system: System) {
    let width = if flask.width.si() < flask.length.si() { &flask.width } else { &flask.length };
    let reach = lifting::reach_over::figure(width);
    // Beyond 63 cm the equation gives nothing at all.
    if reach.high() <= 0.63 {
        let limit =
            limit(&reach, [0.1, 0.3, 0.5], [0.0, 0.0, 45.0]).named("lifting limit of the cope");
        let index = index(&cope.reference("cope-mass"), &limit.reference("cope-limit"));
        out.cope_index = Some(index.named("lifting index of the cope"));
        out.cope_limit = Some(limit);
    }
    let mass = |kg| show(Kind::Mass, kg, system);
    let carry = out.cope_index.as_ref().map_or(Carry::Device, |i| Carry::of(i.high()));
    let word = match carry {
        Carry::Hands(1) => return,
        Carry::Hands(2) => "two people, one at each end",
        Carry::Hands(_) => "three people, or a hoist",
        Carry::Device => "a hoist, or a smaller or lighter cope",
    };
    let against = out.cope_limit.as_ref().map_or_else(
        || "wider than one person can reach around".to_owned(),
        |l| {
            let team =
                |team| mass(lifting::team_limit(Mass::from_si(l.node().range().low), team).si());
            format!(
                "by hand one lifts {}, two {}, three {}",
                team(Team::One),
                team(Team::Two),
                team(Team::Three)
            )
        },
    );
    out.warnings.push(format!("the rammed cope is up to {}; {against}: {word}", mass(cope.high())));
}

fn limit(reach: &Figure<Length>, travel: [f64; 3], turned: [f64; 3]) -> Figure<Mass> {
    const OURS: &str = "a lift in the shop, as assumed here";
    fn ours<Q: Quantity>(name: &'static str, values: [f64; 3], says: &'static str) -> Figure<Q> {
        rule(name, values, Known::CommonPractice, says)
    }
    let height = ours("hands above the floor", [0.6, 0.75, 0.9], OURS);
    let travel = ours("up or down", travel, OURS);
    let angle = ours("turned by", turned.map(f64::to_radians), OURS);
    let often = ours("how often", [0.2 / 60.0; 3], "once in five minutes");
    let hours = ours("for how long", [3600.0; 3], "an hour or less");
    let grip = ours("grip", [Coupling::Fair.si(); 3], "fair: bars or a box edge");
    lifting::lifting_limit::figure(reach, &height, &travel, &angle, &often, &hours, &grip)
        .safe_at(SafeEnd::Low)
}

fn index(load: &Figure<Mass>, limit: &Figure<Mass>) -> Figure<Number> {
    lifting::lifting_index::figure(load, limit)
        .safe_at(SafeEnd::High)
        .noting("up to 1 is meant to be safe for nearly all (NIOSH 94-110); two people together up to 1.33, three up to 1.5 (HSE L23); above that no team")
}
