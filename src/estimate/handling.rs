//! What has to be lifted, and by how many.

use super::loads::LoadEstimate;
use super::mould::{CrucibleFit, MouldEstimate};
use super::{listed, rule, settled};
use crate::figure::*;
use crate::handbook::formulas::lifting::{self, Coupling};
use crate::manifest::{Crucible, Flask};
use crate::model::Build;

/// Lifts of one mould.
#[derive(Debug, Clone, Default)]
pub struct HandlingEstimate {
    /// Pot, metal and tongs.
    pub crucible: Option<Figure<Mass>>,
    /// What the tongs ask of the hands when held level.
    pub moment: Option<Figure<Moment>>,
    /// What one person may lift so.
    pub crucible_limit: Option<Figure<Mass>>,
    /// Load over limit.
    pub crucible_index: Option<Figure<Number>>,
    /// How many it takes.
    pub crucible_people: Option<Figure<Number>>,
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

/// From this index on, a lift is for a hoist.
const HOIST: f64 = 3.0;
const GRAVITY: f64 = 9.806_65;

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
    let (m, t, a) = (full.node().range(), tongs.node().range(), arm.node().range());
    let about = |m: f64, t: f64, a: f64| (m + t / 2.0) * a * GRAVITY;
    let moment = Figure::<Moment>::new(
        "moment at the hands",
        Range {
            low: about(m.low, t.low, a.low),
            likely: about(m.likely, t.likely, a.likely),
            high: about(m.high, t.high, a.high),
        },
        Because::Closed(
            "(pot and metal + half the tongs) x length x 9.80665 m/s2",
            vec![
                settled(full, "crucible-full").node().clone(),
                tongs.node().clone(),
                arm.node().clone(),
            ],
        ),
    );
    let load = Figure::sum("pot, metal and tongs", &[full.clone(), tongs]);
    let reach = rule(
        "hands in front of the ankles",
        [0.45, 0.5, 0.6],
        Known::CommonPractice,
        "arms reached out, away from the heat",
    );
    let limit = limit(&reach, [0.3, 0.5, 0.7], [0.0, 30.0, 60.0]);
    let Some(load) = load else { return };
    let index = index(&settled(&load, "crucible-lift"), &settled(&limit, "crucible-limit"));
    let people = f64::from(people_for(index.as_ref().map_or(f64::INFINITY, Figure::si)));
    let s = |kg| show(Kind::Mass, kg, system);
    let (kg, most) = (load.si(), limit.si());
    let habit = match index.as_ref().map_or(f64::INFINITY, Figure::si) {
        i if i <= 1.0 => None,
        i if i <= 2.0 => Some(
            "two people with a ring shank, or a lifting device; rehearse it cold with sand in the pot, and let nobody swing it at the end of tongs",
        ),
        i if i <= HOIST => Some(
            "a lifting device, or three people who rehearse it cold with sand in the pot; nobody swings it at the end of tongs",
        ),
        _ => Some("a hoist or crane with a pouring shank, or several smaller pots: not by hand"),
    };
    out.pot_warnings.extend(habit.map(|habit| {
        format!(
            "the full crucible with tongs is {}, the lifting limit at arm's reach {} and less for hot metal: {habit}",
            s(kg),
            s(most)
        )
    }));
    out.crucible_people = index.as_ref().map(|i| {
        Figure::new(
            "people for the crucible",
            Range::exact(people),
            Because::Closed(
                "one up to an index of 1, two up to 2; above that three or a hoist",
                vec![i.node().clone()],
            ),
        )
    });
    out.moment = Some(moment);
    out.crucible_index = index;
    out.crucible_limit = Some(limit);
    out.crucible = Some(load);
}

fn cope_lift(out: &mut HandlingEstimate, cope: &Figure<Mass>, flask: &Flask, system: System) {
    let width = if flask.width.si() < flask.length.si() { &flask.width } else { &flask.length };
    let reach = Figure::<Length>::new(
        "hands in front of the ankles",
        width.node().range().map(|w| 0.2 + w / 2.0),
        Because::Closed(
            "20 cm + half the width of the box (NIOSH 94-110)",
            vec![width.node().clone()],
        ),
    );
    let s = |kg| show(Kind::Mass, kg, system);
    // Beyond 63 cm the equation gives nothing at all.
    let (limit, index) = if reach.high() <= 0.63 {
        let limit = limit(&reach, [0.1, 0.3, 0.5], [0.0, 0.0, 45.0]);
        let index = index(&settled(cope, "cope-mass"), &settled(&limit, "cope-limit"));
        (Some(limit), index)
    } else {
        (None, None)
    };
    let word = match index.as_ref().map(Figure::si) {
        Some(i) if i <= 1.0 => None,
        Some(i) if i <= HOIST => Some("two people, one at each end"),
        _ => Some("a hoist, or a smaller or lighter cope"),
    };
    out.warnings.extend(word.map(|word| {
        let against = limit.as_ref().map_or_else(
            || "wider than one person can reach around".to_owned(),
            |l| format!("the lifting limit for one person is {}", s(l.si())),
        );
        format!("the rammed cope is {}; {against}: {word}", s(cope.si()))
    }));
    out.cope_limit = limit;
    out.cope_index = index;
}

fn limit(reach: &Figure<Length>, travel: [f64; 3], turned: [f64; 3]) -> Figure<Mass> {
    let ours = "a lift in the shop, as we reckon it";
    let height = rule("hands above the floor", [0.6, 0.75, 0.9], Known::CommonPractice, ours);
    let travel = rule("up or down", travel, Known::CommonPractice, ours);
    let angle = rule("turned by", turned.map(f64::to_radians), Known::CommonPractice, ours);
    let often = rule("how often", [0.2 / 60.0; 3], Known::CommonPractice, "once in five minutes");
    let hours = rule("for how long", [3600.0; 3], Known::CommonPractice, "an hour or less");
    let grip = Figure::<Coupling>::counted("grip", Coupling::Fair.si(), "fair: bars or a box edge");
    lifting::lifting_limit::figure(reach, &height, &travel, &angle, &often, &hours, &grip)
        .noting("the equation is for two-handed lifts of cold loads without tongs: with hot metal at arm's length, allow less")
}

/// How many people a load takes, by its share of what one may lift.
pub fn people_for(index: f64) -> u32 {
    match index {
        i if i <= 1.0 => 1,
        i if i <= 2.0 => 2,
        _ => 3,
    }
}

fn index(load: &Figure<Mass>, limit: &Figure<Mass>) -> Option<Figure<Number>> {
    let (m, l) = (load.node().range(), limit.node().range());
    (l.low > 0.0).then(|| {
        Figure::new(
            "lifting index",
            Range { low: m.low / l.high, likely: m.likely / l.likely, high: m.high / l.low },
            Because::Closed("load / limit", vec![load.node().clone(), limit.node().clone()]),
        )
        .noting("up to 1 is meant to be safe for nearly all, above 3 for few (NIOSH 94-110)")
    })
}
