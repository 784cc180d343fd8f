//! What one person may lift.

use crate::figure::*;
use crate::{formula, formulas, words};

/// How well the hands hold the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coupling {
    /// Good handles or cut-outs.
    Good,
    /// Poor handles, or fingers bent under a square edge.
    Fair,
    /// Neither; bulky, sagging or slippery.
    Poor,
}
words!(Coupling { Good = "good", Fair = "fair", Poor = "poor" });

/// Height of the hands, cm, at which the equation knows low lifts from high ones.
const KNUCKLE: f64 = 75.0;

/// Lifts per minute and their multipliers: below and from knuckle height, for work of at most
/// 1, 2 and 8 hours. Read in NIOSH 94-110 (2021 revision), p. 15.
const FREQUENCY: [(f64, [f64; 6]); 18] = [
    (0.2, [1.00, 1.00, 0.95, 0.95, 0.85, 0.85]),
    (0.5, [0.97, 0.97, 0.92, 0.92, 0.81, 0.81]),
    (1.0, [0.94, 0.94, 0.88, 0.88, 0.75, 0.75]),
    (2.0, [0.91, 0.91, 0.84, 0.84, 0.65, 0.65]),
    (3.0, [0.88, 0.88, 0.79, 0.79, 0.55, 0.55]),
    (4.0, [0.84, 0.84, 0.72, 0.72, 0.45, 0.45]),
    (5.0, [0.80, 0.80, 0.60, 0.60, 0.35, 0.35]),
    (6.0, [0.75, 0.75, 0.50, 0.50, 0.27, 0.27]),
    (7.0, [0.70, 0.70, 0.42, 0.42, 0.22, 0.22]),
    (8.0, [0.60, 0.60, 0.35, 0.35, 0.18, 0.18]),
    (9.0, [0.52, 0.52, 0.30, 0.30, 0.00, 0.15]),
    (10.0, [0.45, 0.45, 0.26, 0.26, 0.00, 0.13]),
    (11.0, [0.41, 0.41, 0.00, 0.23, 0.00, 0.00]),
    (12.0, [0.37, 0.37, 0.00, 0.21, 0.00, 0.00]),
    (13.0, [0.00, 0.34, 0.00, 0.00, 0.00, 0.00]),
    (14.0, [0.00, 0.31, 0.00, 0.00, 0.00, 0.00]),
    (15.0, [0.00, 0.28, 0.00, 0.00, 0.00, 0.00]),
    (16.0, [0.00, 0.00, 0.00, 0.00, 0.00, 0.00]),
];

/// Slack for the last digit of a unit conversion.
const SLACK: f64 = 1e-9;

/// Frequency multiplier, linear between the rows; nothing beyond 15 a minute or 8 hours.
fn frequency_multiplier(per_minute: f64, hours: f64, vertical: f64) -> f64 {
    let low = usize::from(vertical >= KNUCKLE - SLACK);
    let column = match hours {
        h if h <= 1.0 + SLACK => low,
        h if h <= 2.0 + SLACK => 2 + low,
        h if h <= 8.0 + SLACK => 4 + low,
        _ => return 0.0,
    };
    if per_minute > 15.0 + SLACK {
        return 0.0;
    }
    let above = FREQUENCY.iter().position(|(f, _)| per_minute <= f + SLACK);
    match above {
        Some(0) => FREQUENCY[0].1[column],
        Some(row) => {
            let ((f0, m0), (f1, m1)) = (FREQUENCY[row - 1], FREQUENCY[row]);
            let along = ((per_minute - f0) / (f1 - f0)).clamp(0.0, 1.0);
            m0[column] + along * (m1[column] - m0[column])
        }
        None => 0.0,
    }
}

/// The most (kg) that nearly all healthy workers may lift so, by the revised NIOSH equation in
/// its metric form: 23 kg x HM x VM x DM x AM x FM x CM.
///
/// Hands at the horizontal distance H (cm) from the ankles: HM = 25/H (1 up to 25, 0 beyond 63);
/// at the height V (cm): VM = 1 - 0.003 |V - 75| (0 beyond 175); moved up or down by D (cm):
/// DM = 0.82 + 4.5/D (1 up to 25, 0 beyond 175); turned by the angle A (degrees):
/// AM = 1 - 0.0032 A (0 beyond 135); FM from the table of lifts per minute, hours of such work
/// and height, linear between the rows; CM for the grip: good 1, fair 0.95 below 75 cm else 1,
/// poor 0.9.
///
/// Source: DHHS (NIOSH) 94-110, revised September 2021, pp. 13 to 16. The metric and the inch form
/// differ by up to 3 %. For two-handed smooth lifts by a standing person at 19 to 26 C on good
/// footing; where the load is put down with care, reckon the far end too and take the lower. It
/// says nothing of hot metal.
pub fn lifting_limit(
    horizontal: Length,
    vertical: Length,
    travel: Length,
    angle: Angle,
    frequency: Frequency,
    hours: Time,
    coupling: Coupling,
) -> Mass {
    let (h, v, d) = (horizontal.si() * 100.0, vertical.si() * 100.0, travel.si() * 100.0);
    let a = angle.si().to_degrees().abs();
    let beyond = |value: f64, most: f64| value > most + SLACK;
    let near = |value: f64, whole: f64| if value <= whole { whole } else { value };
    let across = if beyond(h, 63.0) { 0.0 } else { 25.0 / near(h, 25.0) };
    let height = if beyond(v, 175.0) { 0.0 } else { 1.0 - 0.003 * (v - KNUCKLE).abs() };
    let moved = if beyond(d, 175.0) { 0.0 } else { 0.82 + 4.5 / near(d, 25.0) };
    let turned = if beyond(a, 135.0) { 0.0 } else { 1.0 - 0.003_2 * a };
    let often = frequency_multiplier(frequency.si() * 60.0, hours.si() / 3600.0, v);
    let grip = match coupling {
        Coupling::Good => 1.0,
        Coupling::Fair if v < KNUCKLE - SLACK => 0.95,
        Coupling::Fair => 1.0,
        Coupling::Poor => 0.90,
    };
    Mass::from_si(23.0 * across * height * moved * turned * often * grip)
}
formula! {
    lifting_limit(
        horizontal: Length = "horizontal" ("hands in front of the ankles"), 0.0, 0.63;
        vertical: Length = "vertical" ("hands above the floor"), 0.0, 1.75;
        travel: Length = "travel" ("how far up or down the load goes"), 0.0, 1.75;
        angle: Angle = "angle" ("how far the body turns"), 0.0, 2.357;
        frequency: Frequency = "frequency" ("how often"), 0.0, 0.25;
        hours: Time = "hours" ("how long such work goes on"), 0.0, 28_800.0;
        coupling: Coupling = "coupling" ("how well the hands hold"), 0.0, 2.0
    ) -> Mass;
    name: "lifting-limit"; gives: "lifting limit";
    says: "23 kg x 25/H x (1 - 0.003 |V - 75|) x (0.82 + 4.5/D) x (1 - 0.0032 A) x FM x CM, in cm and degrees";
    source: "DHHS (NIOSH) 94-110, revised 2021, pp. 13 to 16, metric form"; known: Published;
    holds: "smooth two-handed lifts, standing, good footing, at most 8 h; not for hot metal";
    turns: "vertical" At(0.75)
}

/// How many lift together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Team {
    /// One alone.
    One,
    /// Two.
    Two,
    /// Three.
    Three,
}
words!(Team { One = "one", Two = "two", Three = "three" });

/// What a team lifts over what one may: two thirds of the sum of two, half of that of three, for the
/// shares are uneven. HSE L23, paragraph 120; larger teams are given no figure there.
const TEAMS: [f64; 3] = [1.0, 2.0 * 2.0 / 3.0, 3.0 / 2.0];

formulas! {
    /// Load over what one person may lift so. Up to 1 is meant to be safe for nearly all.
    lifting_index "lifting-index" "lifting index"
        (load: Mass = "what is lifted" 0.0..1e4, limit: Mass = "what one person may lift so" 0.1..23.0) -> Number
        = Number((load / limit).si());
    "load / limit", Published "DHHS (NIOSH) 94-110, revised 2021", "cold loads: the lifting equation does not cover molten metal";

    /// The fewest people who may lift a load of this index together by hand; not a number where three
    /// may not. Two lift two thirds, three one half of the sum of what each could alone, which is an
    /// index of 1.33 and 1.5.
    people_to_lift "people-to-lift" "people to lift it"
        (index: Number = "load over what one person may lift so" 0.0..1.5) -> Number
        = Number(super::step(&TEAMS, &[1.0, 2.0, 3.0], index.0));
    "1 to an index of 1, 2 to 4/3, 3 to 3/2; above that no team",
        Published "HSE L23, Manual handling, guidance on the regulations, paragraph 120: a team of two lifts 2/3, of three 1/2 of the sum", "good grips and room for all; less on slopes; never because a lifting device is missing";

    /// What a team may lift (kg) of which each could lift the limit alone.
    team_limit "team-limit" "what the team may lift"
        (limit: Mass = "what one person may lift so" 0.0..23.0, team: Team = "how many lift together" 0.0..2.0) -> Mass
        = limit * TEAMS[team as usize];
    "limit x people x share: 1 alone, 2/3 for two, 1/2 for three",
        Published "HSE L23, Manual handling, guidance on the regulations, paragraph 120", "as people-to-lift";

    /// Distance of the hands from the ankles (m) over a box that is lifted with bent knees.
    reach_over "reach-over" "hands in front of the ankles"
        (width: Length = "width of the box between the hands and the body" 0.0..1.0) -> Length
        = Length::from_si(0.2) + width / 2.0;
    "20 cm + half the width of the box", Published "NIOSH 94-110, H = 20 + W/2 for hands at or above 25 cm", "the box close to the body";

    /// Moment at the hands (Nm) of a pot held out in tongs.
    tong_moment "tong-moment" "moment at the hands"
        (load: Mass = "pot and metal" 0.0..200.0, tongs: Mass = "the tongs" 0.0..20.0, arm: Length = "from the hands to the middle of the pot" 0.0..3.0) -> Moment
        = Moment::from_si((load + tongs / 2.0).si() * arm.si() * super::gravity().value);
    "(pot and metal + half the tongs) x length x 9.80665 m/s2", Derived "law of the lever", "tongs of even thickness, held level";
}
