//! Feeders: whether a casting wants them, how many, how large, and how they are joined.

use super::freezing::{FreezingEstimate, THIN};
use super::workshop::next_size;
use super::{listed, rule, settled};
use crate::figure::*;
use crate::handbook::formulas::{feeding, metal};
use crate::handbook::{Alloy, Family};
use crate::model::Casting;
use std::f64::consts::PI;

/// The feeders of one casting.
#[derive(Debug, Clone, Default)]
pub struct FeedingEstimate {
    /// Volume of what is thick enough to want a feeder.
    pub fed_volume: Option<Figure<Volume>>,
    /// What it lacks when it has frozen.
    pub shrinkage_volume: Option<Figure<Volume>>,
    /// Diameter so that the feeder freezes last.
    pub diameter_by_modulus: Option<Figure<Length>>,
    /// Volume of all feeders so that they hold metal enough.
    pub volume_wanted: Option<Figure<Volume>>,
    /// Diameter of each so that they hold metal enough.
    pub diameter_by_volume: Option<Figure<Length>>,
    /// How far one feeds.
    pub distance: Option<Figure<Length>>,
    /// How many.
    pub number: Option<Figure<Number>>,
    /// As made.
    pub diameter: Option<Figure<Length>>,
    /// As made.
    pub height: Option<Figure<Length>>,
    /// As made.
    pub neck_diameter: Option<Figure<Length>>,
    /// As made.
    pub neck_length: Option<Figure<Length>>,
    /// All feeders and necks of one casting.
    pub volume: Option<Figure<Volume>>,
    /// All feeders and necks of one casting.
    pub mass: Option<Figure<Mass>>,
    /// Whether each feeder wears an insulating sleeve.
    pub sleeved: bool,
    /// How the alloy freezes, and whether it is fed, in words.
    pub notes: Vec<String>,
    /// What cannot stay as it is.
    pub warnings: Vec<String>,
}

impl FeedingEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            fed_volume = "fed-volume", shrinkage_volume = "shrinkage-volume",
            diameter_by_modulus = "feeder-by-modulus", volume_wanted = "feeder-volume-wanted",
            diameter_by_volume = "feeder-by-volume", distance = "feeding-distance",
            number = "feeders", diameter = "feeder-diameter", height = "feeder-height",
            neck_diameter = "neck-diameter", neck_length = "neck-length",
            volume = "feeder-volume", mass = "feeder-mass")
    }
}

/// Modulus (m) above which floating solid leaves sinks on the drag side (ZA-27, zhycasting.com).
const SINKS: f64 = 0.009;
/// A place so many times as thick as the walls is a hot spot (from memory).
const HOT: f64 = 1.5;
/// Share of a plain feeder that it can give.
const PLAIN_EFFICIENCY: f64 = 0.14;
/// Height of a feeder over its diameter.
const HEIGHT_RATIO: f64 = 1.5;

pub(super) fn estimate(
    casting: &Casting,
    freezing: &FreezingEstimate,
    rough_volume: Option<&Figure<Volume>>,
    system: System,
) -> FeedingEstimate {
    let alloy = &casting.alloy;
    let mut out = FeedingEstimate { notes: freezes(alloy), ..FeedingEstimate::default() };
    let (Some(whole), Some(shrinkage)) = (rough_volume, alloy.shrinkage.as_ref()) else {
        return out;
    };
    if freezing.sections.is_empty() {
        out.notes.push("neither a shape nor a wall is given, so no feeder can be reckoned".into());
        return out;
    }
    let wants = shrinkage.node().range();
    let shrinkage = Figure::<Ratio>::new(
        "shrinkage to be fed",
        wants.map(|s| s.max(0.0)),
        Because::Closed("shrinkage, growth counted as none", vec![shrinkage.node().clone()]),
    );
    if shrinkage.si() <= 0.0 {
        out.notes.push("this metal grows as it freezes: it feeds itself in a rigid mould".into());
        return out;
    }
    if shrinkage.high() >= PLAIN_EFFICIENCY {
        out.warnings.push(format!(
            "a shrinkage of {} is more than a plain feeder can make good: check the alloy's figure",
            show(Kind::Ratio, shrinkage.high(), system)
        ));
        return out;
    }
    let thick: Vec<_> = freezing.sections.iter().filter(|s| 2.0 * s.modulus.si() >= THIN).collect();
    let Some(thickest) = thick.iter().max_by(|a, b| a.modulus.si().total_cmp(&b.modulus.si()))
    else {
        out.warnings.extend(hot_spots(casting, freezing, system));
        out.notes.push(format!(
            "every section is thinner than {}: no feeder; it is fed through the ingates while it fills, so keep runner and basin full (common practice)",
            show(Kind::Length, THIN, system)
        ));
        return out;
    };
    out.warnings.extend(hot_spots(casting, freezing, system));
    if alloy.freezing.as_deref() == Some("floating") && thickest.modulus.si() > SINKS {
        out.warnings.push(format!(
            "{} has a modulus of {}: above {} this alloy is published to sink on the drag side (zhycasting on ZA-27); chill that face or core the place out",
            thickest.name,
            show(Kind::Length, thickest.modulus.si(), system),
            show(Kind::Length, SINKS, system)
        ));
    }
    let parts: Vec<_> = thick.iter().map(|s| s.volume.clone()).collect();
    let sum = Figure::sum("sections that want a feeder", &parts).unwrap_or_else(|| whole.clone());
    let fed = if sum.si() > whole.si() { whole.named("sections that want a feeder") } else { sum };
    let mut names: Vec<&str> = thick.iter().map(|s| s.name.as_str()).collect();
    names.dedup();
    out.notes.push(format!("wants feeding: {}", names.join(", ")));
    let (s, v) = (shrinkage.node().range(), fed.node().range());
    out.shrinkage_volume = Some(Figure::new(
        "shrinkage to be made good",
        Range { low: s.low * v.low, likely: s.likely * v.likely, high: s.high * v.high },
        Because::Closed("volume x shrinkage", vec![fed.node().clone(), shrinkage.node().clone()]),
    ));
    let distance = distance(alloy, &thickest.modulus);
    let reach = Reach {
        longest: thick.iter().map(|s| s.longest).fold(0.0, f64::max),
        places: f64::from(thickest.count),
        distance: settled(&distance, "feeding-distance"),
    };
    let plain = Size::reckon(alloy, &fed, &thickest.modulus, &shrinkage, &reach, false, system);
    let size = if plain.with_necks(system) > whole.si() {
        let sleeved =
            Size::reckon(alloy, &fed, &thickest.modulus, &shrinkage, &reach, true, system);
        let (a, b) = (plain.with_necks(system), whole.si());
        out.sleeved = true;
        out.warnings.push(format!(
            "plain feeders would hold {}, more than the casting's {}: reckoned with an insulating sleeve on each ({}); a chill on the thick place (`chilled:`), or two castings on one feeder, may save it",
            show(Kind::Volume, a, system),
            show(Kind::Volume, b, system),
            show(Kind::Volume, sleeved.with_necks(system), system)
        ));
        sleeved
    } else {
        plain
    };
    out.notes.push(if alloy.freezing.as_deref() == Some("floating") {
        "place the feeder beside the thickest section, as low as its drag face, and join it by the ingate so that the hottest metal stands in it".to_owned()
    } else {
        format!(
            "place the feeder on top of {}, or beside it with the neck at its thickest place where the top is to stay clean; through the feeder is the best way in for the metal (common practice)",
            thickest.name
        )
    });
    if size.number.si() > 1.0 {
        out.notes.push(format!(
            "{} feeders by the feeding distance, a guide only, and by the number of the thickest places; others that lie apart want their own",
            size.number.si()
        ));
    }
    size.write(&mut out, alloy, system);
    out.fed_volume = Some(fed);
    out.distance = Some(distance);
    out
}

/// Thick places in thin walls that no feeder was reckoned for: what is around them freezes first.
fn hot_spots(casting: &Casting, freezing: &FreezingEstimate, system: System) -> Vec<String> {
    let largest = freezing.sections.iter().max_by(|a, b| a.volume.si().total_cmp(&b.volume.si()));
    let wall = casting.given.wall.as_ref().or(largest.map(|s| &s.place)).map_or(0.0, Figure::si);
    let hot = freezing.sections.iter().filter(|s| {
        2.0 * s.modulus.si() < THIN && s.place.si() > THIN && s.place.si() >= HOT * wall
    });
    hot.map(|s| {
        format!(
            "{}: a ball of {} fits inside where the walls are {}, so it freezes after what could feed it: core it out, chill it, or set a feeder on it",
            s.name,
            show(Kind::Length, s.place.si(), system),
            show(Kind::Length, wall, system)
        )
    })
    .collect()
}

/// What the way of freezing means for the feeder.
fn freezes(alloy: &Alloy) -> Vec<String> {
    let says = match alloy.freezing.as_deref() {
        Some("skin") => {
            "freezes from the skin inwards: a feeder over the last place to freeze feeds well and sinks to a pipe"
        }
        Some("eutectic") if alloy.family == Family::Iron => {
            "grey iron makes good most of its shrinkage by the graphite it throws: a small feeder or a full sprue, and a hard rammed mould that does not give"
        }
        Some("eutectic") => {
            "freezes within a few degrees, almost as a skin: one feeder on the thickest place reaches far"
        }
        Some("mushy") if alloy.family == Family::Zinc => {
            "freezes as a mush, and holding more aluminium than the eutectic (near 5 %) its first solid is rich in aluminium and floats a little: a feeder reaches only a few wall thicknesses; keep walls even, chill the thick places on the drag side, and look there first for sinks, though far fewer are published than for ZA-27"
        }
        Some("mushy") => {
            "freezes as a mush over a wide span: a feeder reaches only a few wall thicknesses, what it does not reach turns to fine pores; keep walls even and chill the thick places"
        }
        Some("floating") => {
            "the aluminium-rich solid floats and the zinc-rich liquid sinks, so it freezes from the top down and sinks show on the drag side: chill the drag face, pour no hotter than needed, and feed from the side low down; a feeder on top alone does not reach them"
        }
        _ => return Vec::new(),
    };
    vec![says.to_owned()]
}

fn distance(alloy: &Alloy, modulus: &Figure<Length>) -> Figure<Length> {
    let modulus = settled(modulus, "thickest-modulus");
    let times = match (alloy.family, alloy.freezing.as_deref()) {
        (Family::Copper, _) => [2.0, 2.5, 3.0],
        (_, Some("eutectic" | "skin")) => [5.0, 6.0, 8.0],
        _ => [2.0, 3.0, 4.0],
    };
    let times: Figure<Number> = rule(
        "feeding distance over thickness",
        times,
        Known::FromMemory,
        "planning values, +/- 50 %: there is no clean limit but for steel",
    );
    let (m, t) = (modulus.node().range(), times.node().range());
    Figure::new(
        "feeding distance",
        Range {
            low: 2.0 * m.low * t.low,
            likely: 2.0 * m.likely * t.likely,
            high: 2.0 * m.high * t.high,
        },
        Because::Closed(
            "2 x modulus, as the thickness, x factor",
            vec![modulus.node().clone(), times.node().clone()],
        ),
    )
}

/// What the number of feeders hangs on.
struct Reach {
    longest: f64,
    places: f64,
    distance: Figure<Length>,
}

/// One choice of feeder.
struct Size {
    by_modulus: Option<Figure<Length>>,
    volume_wanted: Figure<Volume>,
    by_volume: Figure<Length>,
    number: Figure<Number>,
    diameter: Figure<Length>,
}

impl Size {
    #[allow(clippy::too_many_arguments, reason = "each is one figure of the same sum")]
    fn reckon(
        alloy: &Alloy,
        fed: &Figure<Volume>,
        modulus: &Figure<Length>,
        shrinkage: &Figure<Ratio>,
        places: &Reach,
        sleeved: bool,
        system: System,
    ) -> Self {
        let ratio = Figure::<Number>::counted("height over diameter", HEIGHT_RATIO, "our choice");
        let efficiency: Figure<Ratio> = if sleeved {
            rule(
                "efficiency",
                [0.33; 3],
                Known::FromMemory,
                "30 to 50 % with a sleeve (Wlodawer, Beeley); 33 % planned with",
            )
        } else {
            rule(
                "efficiency",
                [PLAIN_EFFICIENCY; 3],
                Known::FromMemory,
                "plain cylinder, 14 % (Wlodawer, Beeley)",
            )
        };
        let volume_wanted = feeding::feeder_by_volume::figure(fed, shrinkage, &efficiency)
            .named("feeders wanted by volume");
        // Iron needs liquid only until its graphite grows: its feeder need not freeze last.
        let by_modulus = (alloy.family != Family::Iron).then(|| {
            let factor: Figure<Number> = if sleeved {
                rule("modulus factor", [1.2 / 1.3; 3], Known::FromMemory, "1.2 over 1.3, by which a sleeve lengthens the modulus (1.2 to 1.4)")
            } else {
                rule("modulus factor", [1.2; 3], Known::Published, "at least 1.2 for aluminium and steel, themetalcasting.com, feeder design; taken for zinc and copper too")
            };
            feeding::feeder_by_modulus::figure(modulus, &factor, &ratio).named("feeder diameter by modulus")
        });
        let reach = by_modulus.as_ref().map_or(0.0, Figure::si) + 2.0 * places.distance.si();
        let longest = Figure::<Length>::counted(
            "longest section to be fed",
            places.longest,
            "of its solid, or of a square plate of the wall",
        );
        let count = Figure::<Number>::counted("thickest places", places.places, "of the shape");
        let mut nodes = vec![longest.node().clone(), places.distance.node().clone()];
        nodes.extend(by_modulus.as_ref().map(|d| settled(d, "feeder-by-modulus").node().clone()));
        nodes.push(count.node().clone());
        let number = Figure::<Number>::new(
            "feeders",
            Range::exact((places.longest / reach).ceil().max(places.places)),
            Because::Closed(
                "longest / (2 x feeding distance + diameter), rounded up, and one for each thickest place",
                nodes,
            ),
        );
        let by_volume = Figure::<Length>::new(
            "feeder diameter by volume",
            volume_wanted
                .node()
                .range()
                .map(|v| (4.0 * v / (PI * HEIGHT_RATIO * number.si())).cbrt()),
            Because::Closed(
                "cube root of 4 volume / (pi x height ratio x number)",
                vec![
                    volume_wanted.node().clone(),
                    ratio.node().clone(),
                    settled(&number, "feeders").node().clone(),
                ],
            ),
        );
        let need = by_modulus.as_ref().map_or(0.0, Figure::si).max(by_volume.si());
        let nodes: Vec<Node> =
            by_modulus.iter().chain([&by_volume]).map(|f| f.node().clone()).collect();
        let diameter = Figure::new(
            "feeder diameter, as made",
            Range::exact(next_size(need, system)),
            Because::Chosen("the larger of the two, the next size up".into(), nodes),
        );
        Self { by_modulus, volume_wanted, by_volume, number, diameter }
    }

    fn height(&self) -> f64 {
        HEIGHT_RATIO * self.diameter.si()
    }

    /// All feeders, without necks.
    fn body(&self) -> f64 {
        PI / 4.0 * self.diameter.si().powi(2) * self.height() * self.number.si()
    }

    /// Length of the neck: a quarter of the feeder's diameter.
    fn neck_length(&self) -> f64 {
        self.diameter.si() / 4.0
    }

    /// All feeders and necks.
    fn with_necks(&self, system: System) -> f64 {
        let neck =
            feeding::feeder_neck(Length::from_si(self.neck_length()), self.diameter.likely());
        let neck = next_size(neck.si(), system);
        self.body() + PI / 4.0 * neck.powi(2) * self.neck_length() * self.number.si()
    }

    fn write(self, out: &mut FeedingEstimate, alloy: &Alloy, system: System) {
        let made = settled(&self.diameter, "feeder-diameter");
        let exact = |name, value, says, node: &Figure<Length>| {
            Figure::<Length>::new(
                name,
                Range::exact(value),
                Because::Closed(says, vec![node.node().clone()]),
            )
        };
        let height = exact("feeder height", self.height(), "1.5 x diameter", &made)
            .noting("stands on its neck; closed on top and vented where the cope is higher, built up with a ring where it is lower");
        let neck_length = exact(
            "length of the neck",
            self.neck_length(),
            "a quarter of the feeder's diameter; at most half",
            &made,
        );
        let neck = feeding::feeder_neck::figure(&settled(&neck_length, "neck-length"), &made);
        let neck = Figure::<Length>::new(
            "neck diameter, as made",
            Range::exact(next_size(neck.si(), system)),
            Because::Chosen("the next size up".into(), vec![neck.node().clone()]),
        );
        let nodes = [
            made,
            settled(&height, "feeder-height"),
            settled(&neck, "neck-diameter"),
            settled(&neck_length, "neck-length"),
        ]
        .map(|f| f.node().clone());
        let mut nodes = Vec::from(nodes);
        nodes.push(settled(&self.number, "feeders").node().clone());
        let volume = Figure::<Volume>::new(
            "feeders and necks",
            Range::exact(self.with_necks(system)),
            Because::Closed(
                "number x pi / 4 x (diameter^2 x height + neck diameter^2 x neck length)",
                nodes,
            ),
        );
        out.mass = alloy
            .liquid_density
            .as_ref()
            .map(|d| metal::part_mass::figure(&volume, d).named("feeders and necks"));
        out.diameter_by_modulus = self.by_modulus;
        out.volume_wanted = Some(self.volume_wanted);
        out.diameter_by_volume = Some(self.by_volume);
        out.number = Some(self.number);
        out.diameter = Some(self.diameter);
        out.height = Some(height);
        out.neck_diameter = Some(neck);
        out.neck_length = Some(neck_length);
        out.volume = Some(volume);
    }
}
