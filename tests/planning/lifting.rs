//! What a heat weighs when it is lifted: no more than the people of the shop may lift together, at the
//! safe end, where smaller heats can do it.

use super::builds::{random, read, told};
use super::checker::{Check, broken, least};
use super::told::Mould;
use pourwright::estimate::estimate;
use pourwright::manifest::Crucible;
use pourwright::model::Build;
use pourwright::plan::{Aim, Pour};
use serde_json::Value;

/// What one person may lift of a pot in tongs, kg: the equation of NIOSH 94-110 at the worst of what
/// the handbook takes for such a lift: hands 60 cm before the ankles and 60 cm above the floor, moved
/// by 70 cm, turned by 60 degrees, a fair grip, once in five minutes for an hour.
fn one_person() -> f64 {
    23.0 * (25.0 / 60.0)
        * (1.0 - 0.003 * (75.0 - 60.0))
        * (0.82 + 4.5 / 70.0)
        * (1.0 - 0.0032 * 60.0)
        * 1.0
        * 0.95
}

/// What a team lifts, as a share of what one may: two 2/3 and three 1/2 of the sum (HSE L23).
const TEAMS: [f64; 4] = [0.0, 1.0, 4.0 / 3.0, 3.0 / 2.0];

/// Tongs that nobody weighed, at the most, kg: from memory, as the handbook has them.
const TONGS: f64 = 4.0;

impl Check<'_> {
    /// People who are ever in the shop together, by the weekly hours.
    fn together(&self) -> usize {
        let days = (0..7).map(|d| self.told.today + d * 24 * 60);
        let spans = |midnight: i64| -> Vec<(i64, i64)> {
            let people = self.build.shop.people.keys();
            people.filter_map(|p| self.hours_ever(p, midnight)).collect()
        };
        let most = |day: i64| {
            let spans = spans(day);
            let at = |t: i64| spans.iter().filter(|s| s.0 <= t && t < s.1).count();
            spans.iter().map(|s| at(s.0)).max().unwrap_or(0)
        };
        days.map(most).max().unwrap_or(0)
    }

    /// Charge of the moulds of a heat at the most, and no more than this pot holds beside its heel, kg.
    pub fn in_pot(&self, heat: usize, pot: &Crucible) -> f64 {
        let of = |m: &Mould| match self.told.shared(&m.lots()) {
            Some(shared) => [shared.charge, shared.charge_most],
            None => [&self.told.charge, &self.told.charge_most]
                .map(|of| of.get(&m.part).copied().unwrap_or(0.0)),
        };
        let all: Vec<[f64; 2]> =
            self.told.moulds.iter().filter(|m| m.heat == heat).map(of).collect();
        let [likely, most] = [0, 1].map(|i| all.iter().map(|m| m[i]).sum::<f64>());
        let first = self.told.moulds.iter().find(|m| m.heat == heat).map(|m| m.part);
        let casting = first.and_then(|part| self.build.parts[part].casting.as_ref());
        let density = casting.and_then(|c| c.alloy.liquid_density.as_ref()).map_or(0.0, least);
        let heel = pot.heel.as_ref().map_or(0.0, |heel| heel.high());
        let holds = least(&pot.holds) * least(&pot.working_fill) * density - heel;
        most.min(holds.max(likely))
    }

    /// Whether the shop may lift a pot with so much metal beside its heel; none where nobody knows
    /// its mass.
    pub fn may_lift(&self, pot: &Crucible, metal: f64) -> bool {
        let team = TEAMS[self.together().min(3)];
        pot.device || load(pot, metal).is_none_or(|kg| kg <= team * one_person() + 1e-6)
    }

    /// No heat of several moulds is more than the shop may lift; a single mould only where no pot is
    /// light enough, and then it is told.
    pub fn lifting(&mut self) {
        for (i, heat) in self.told.heats.clone().into_iter().enumerate() {
            let pots = self.build.shop.crucibles.clone();
            let lit: Vec<&Crucible> =
                heat.crucibles.iter().filter_map(|c| pots.get(&**c)).collect();
            let [pot] = lit[..] else { continue };
            let most = self.in_pot(i, pot);
            let heavy = !self.may_lift(pot, most);
            self.must(!heavy || heat.moulds.len() == 1, || {
                format!("lifting: {} is more than the shop may lift", heat.name)
            });
            let told = heat.lifts.iter().any(|l| l.2);
            self.must(told == heavy, || format!("lifting: {} tells {told}", heat.name));
            let kg = load(pot, most);
            let shown = heat.lifts.first().map(|l| l.1);
            let same = kg.zip(shown).is_none_or(|(a, b)| (a - b).abs() < 1e-6);
            self.must(same && kg.is_some() == shown.is_some(), || {
                format!("lifting: {} is told as {shown:?} kg, not {kg:?}", heat.name)
            });
            let people = kg.map(|kg| {
                let team = |n: &usize| kg <= TEAMS[*n] * one_person() + 1e-9;
                if pot.device { 2 } else { (1..4).find(team).unwrap_or(2) }
            });
            self.must(heat.people == people, || {
                format!("lifting: {} takes {people:?}, not {:?}", heat.name, heat.people)
            });
        }
    }
}

/// Pot, heel, metal and tongs at the most, kg.
fn load(pot: &Crucible, metal: f64) -> Option<f64> {
    let heel = pot.heel.as_ref().map_or(0.0, |h| h.high());
    let tongs = pot.tongs.as_ref().map_or(TONGS, |t| t.high());
    Some(pot.mass.as_ref()?.high() + heel + tongs + metal)
}

/// The most metal beside its heel that so many may lift in a pot, kg.
pub fn most(pot: &Crucible, people: usize) -> f64 {
    load(pot, 0.0).map_or(f64::INFINITY, |empty| TEAMS[people] * one_person() - empty)
}

/// One person, four moulds of about 2 kg at the most, a pot that holds them all.
const BUILD: &str = "
build: {title: Lifting, begun: 2026-01-10}
shop:
  people: {ann: {hours: {sat: 8 h}}}
  poured-before: [A356, green-sand]
  furnaces: {drum: {fuel: propane, efficiency: 10 %, set-up: none, clear-up: none}}
  crucibles: {grey: {holds: 6 L, working-fill: 80 %, family: aluminium, mass: 1 kg, tongs: 1 kg}}
  flasks: {box: {inside: 300 x 250 mm, cope: 90 mm, drag: 90 mm, count: 4}}
  sand: {kind: green-sand}
patterns:
  bed: {made-of: wood, size: 180 x 150 x 50 mm, in-cope: 20 mm}
parts:
  bed: {quantity: 4, casting: {pattern: bed, alloy: A356, mass: 1.2 kg}, steps: {pattern: none, ram: 1 h}}
";

fn planned(from: &str, to: &str) -> (Build, Value) {
    let build = read(&BUILD.replace(from, to), "");
    let (plan, estimate) = told(&build, Aim::Heats, 200);
    assert_eq!(broken(&build, &plan, &estimate), [""; 0], "{to}");
    (build, plan)
}

/// Moulds of each heat.
fn heats(plan: &Value) -> Vec<usize> {
    let heats = plan["schedule"]["heats"].as_array().expect("heats").iter();
    heats.map(|h| h["moulds"].as_array().expect("moulds").len()).collect()
}

fn too_heavy(plan: &Value) -> Vec<String> {
    let says = plan["schedule"]["too_heavy"].as_array().into_iter().flatten();
    says.map(|s| s.as_str().expect("words").to_owned()).collect()
}

#[test]
fn few_heats_never_cost_a_back() {
    // One may lift 6.2 kg of it, of which pot and tongs are 2: two charges of at the most 2 kg.
    assert!((one_person() - 6.21).abs() < 0.01, "{}", one_person());
    assert_eq!(heats(&planned("", "").1), [2, 2]);
    // With a device all four are one heat; so they are in a pot whose mass nobody knows.
    for all in [", mass: 1 kg, lifted-by: device", ""] {
        let (_, plan) = planned(", mass: 1 kg, tongs: 1 kg", all);
        assert_eq!(heats(&plan), [4], "{all}");
        // The device asks for two, and she is alone; nobody knows how many the other pot asks for.
        let short: &[&str] = if all.is_empty() { &[] } else { &["H1"] };
        assert_eq!(plan["schedule"]["short_of_people"], serde_json::json!(short), "{all}");
        assert_eq!(too_heavy(&plan), [""; 0]);
    }
    // Two who are there together lift a third more; two who never meet do not.
    let (_, plan) = planned("sat: 8 h}}", "sat: 8 h}}, bea: {hours: {sat: 8 h}}");
    assert_eq!(heats(&plan).iter().max(), Some(&3));
    let (_, plan) = planned("sat: 8 h}}", "sat: 8 h}}, bea: {hours: {sun: 8 h}}");
    assert_eq!(heats(&plan).iter().max(), Some(&2));
    // Tongs that nobody weighed may weigh 4 kg: one mould at a time is too much, and that is told.
    let (_, plan) = planned(", tongs: 1 kg", "");
    assert_eq!(heats(&plan), [1, 1, 1, 1]);
    let says = too_heavy(&plan);
    assert_eq!(says.len(), 1, "{says:?}");
    for word in ["grey", "H1 bed", "index 1.09", "lifted-by: device", "lighter pot", "split"] {
        assert!(says[0].contains(word), "{word}: {says:?}");
    }
}

#[test]
fn a_pot_that_is_light_enough_goes_before_one_that_is_not() {
    // The least that holds it is too heavy; a larger one has a device.
    let pots = "tongs: 1 kg}, large: {holds: 7 L, working-fill: 80 %, family: aluminium, mass: 9 kg, \
                lifted-by: device}";
    let (_, plan) = planned("tongs: 1 kg}", &pots.replace("tongs: 1 kg", "tongs: 4 kg"));
    for heat in plan["schedule"]["heats"].as_array().expect("heats") {
        assert_eq!(heat["crucibles"], serde_json::json!(["large"]));
        assert_eq!(heat["people"], 2);
    }
    assert_eq!(too_heavy(&plan), [""; 0]);
}

#[test]
fn random_builds_have_heats_that_the_limit_splits_and_some_that_it_cannot() {
    let (mut heavy, mut split) = (0, 0);
    for seed in 0..20 {
        let text = random(seed);
        let device = |line: &str| match line.contains("holds:") {
            true => line.replacen("mass:", "lifted-by: device, mass:", 1) + "\n",
            false => format!("{line}\n"),
        };
        let devices: String = text.lines().map(device).collect();
        let [by_hand, device] = [text, devices].map(|text| {
            let build = read(&text, "");
            told(&build, Aim::Heats, 40).0
        });
        heavy += usize::from(!too_heavy(&by_hand).is_empty());
        split += usize::from(heats(&by_hand).len() > heats(&device).len());
    }
    assert!(heavy > 3 && split > 3, "{heavy} too heavy, {split} split");
}

/// A pot that brims is lifted with what it holds, not with what its moulds might take: plan, heat and
/// sheet tell one number, and it may be lifted where that is light enough.
#[test]
fn the_lift_of_a_brimming_heat_is_what_the_pot_holds() {
    let (build, plan) = planned("", "");
    let density = build.parts[0].casting.as_ref().expect("cast").alloy.liquid_density.clone();
    let density = least(&density.expect("known"));
    let charge =
        |plan: &Value, end: &str| plan["schedule"]["heats"][0]["charge"][end].as_f64().expect("kg");
    // A pot that holds what is likely of the two moulds that may be lifted together, and not what they take at the most.
    let (likely, most) = (charge(&plan, "value"), charge(&plan, "high"));
    let holds = f64::midpoint(likely, most);
    assert!(likely < holds && holds < most);
    let pot = format!("holds: {:.6} L", holds / density / 0.8 * 1e3);
    let (build, plan) = planned("holds: 6 L", &pot);
    assert_eq!(heats(&plan), [2, 2]);
    assert!((charge(&plan, "high") - holds).abs() < 1e-4, "{holds}");
    let load = &plan["schedule"]["heats"][0]["lifts"][0]["load"]["high"];
    let load = load.as_f64().expect("a load");
    assert!((load - (holds + 2.0)).abs() < 1e-4, "{load}: the pot, its tongs and {holds}");
    let estimates = estimate(&build);
    let pour = Pour::picked(&build, &estimates, &[0; 2]).expect("a heat");
    let lift = pour.pot.handling.crucible.as_ref().expect("a lift");
    assert!((lift.high() - load).abs() < 1e-9, "{} and {load}", lift.high());
    assert!(pour.brims().is_some_and(|[most, takes]| most > takes), "and that it brims is told");
}
