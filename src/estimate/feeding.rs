//! Feeders: whether a casting wants them, how many, how large, and how they are joined.

use super::freezing::{FreezingEstimate, THIN};
use super::sections::Section;
use super::workshop::next_size;
use super::{listed, rule};
use crate::figure::*;
use crate::freezing::{self, Feeding};
use crate::handbook::formulas::{feeding, metal};
use crate::handbook::{Alloy, Family};
use crate::model::Casting;

/// Whether one casting wants feeders, and which.
#[derive(Debug, Clone, Default)]
#[non_exhaustive]
pub struct FeedingEstimate {
    /// Its feeders; none where it wants none, or they cannot be computed.
    pub feeders: Option<Feeders>,
    /// Those of the rule of thumb, where heat flow found others by trying.
    pub rule: Option<Feeders>,
    /// How the alloy freezes, and whether it is fed, in words.
    pub notes: Vec<String>,
    /// What cannot stay as it is.
    pub warnings: Vec<String>,
}

/// The feeders of one casting.
#[derive(Debug, Clone)]
pub struct Feeders {
    /// Volume of what is thick enough to want a feeder.
    pub fed_volume: Figure<Volume>,
    /// What it lacks when it has frozen.
    pub shrinkage_volume: Figure<Volume>,
    /// Diameter so that the feeder freezes last; none for iron, which need not.
    pub diameter_by_modulus: Option<Figure<Length>>,
    /// Volume of all feeders so that they hold metal enough.
    pub volume_wanted: Figure<Volume>,
    /// Diameter of each so that they hold metal enough.
    pub diameter_by_volume: Figure<Length>,
    /// How far one feeds.
    pub distance: Figure<Length>,
    /// How many.
    pub number: Figure<Number>,
    /// As made.
    pub diameter: Figure<Length>,
    /// As made.
    pub height: Figure<Length>,
    /// As made.
    pub neck_diameter: Figure<Length>,
    /// As made.
    pub neck_length: Figure<Length>,
    /// All feeders and necks of one casting.
    pub volume: Figure<Volume>,
    /// All feeders and necks of one casting; none where the alloy has no density of the melt.
    pub mass: Option<Figure<Mass>>,
    /// Whether each wears an insulating sleeve.
    pub sleeved: bool,
    /// Where the middle of each foot stands, in the measures of the shape, m; none where heat flow has
    /// not found them: then they stand over the thickest places.
    pub feet: Option<Vec<[f64; 3]>>,
}

impl FeedingEstimate {
    /// All feeders and necks of one casting.
    pub fn mass(&self) -> Option<&Figure<Mass>> {
        self.feeders.as_ref()?.mass.as_ref()
    }

    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        let Some(feeders) = &self.feeders else { return Vec::new() };
        let rule = self.rule.iter().map(|r| ("feeder-volume-by-rule", r.volume.node().clone()));
        let mut out: Vec<(&'static str, Node)> = listed!(feeders:
            fed_volume = "fed-volume", shrinkage_volume = "shrinkage-volume",
            diameter_by_modulus = "feeder-by-modulus", volume_wanted = "feeder-volume-wanted",
            diameter_by_volume = "feeder-by-volume", distance = "feeding-distance",
            number = "feeders", diameter = "feeder-diameter", height = "feeder-height",
            neck_diameter = "neck-diameter", neck_length = "neck-length",
            volume = "feeder-volume", mass = "feeder-mass");
        out.extend(rule);
        out
    }

    /// The feeders that heat flow found by trying in the place of those of the rule.
    pub(super) fn tried(&mut self, fed: &Feeding, oversize: f64, alloy: &Alloy, system: System) {
        self.found(&fed.fed(), oversize, alloy);
        let says = left(fed, alloy.family, system);
        let list = if fed.verdict() == "cut off" { &mut self.warnings } else { &mut self.notes };
        list.extend(says);
    }

    /// These in the place of those of the rule; the shape is drawn so many times as large as the casting.
    pub(super) fn found(&mut self, found: &freezing::Fed, oversize: f64, alloy: &Alloy) {
        let Some(rule) = self.feeders.take() else { return };
        let feet = found.feet.iter().map(|foot| foot.map(|x| x * oversize)).collect();
        self.feeders = Some(Feeders { feet: Some(feet), ..rule.tried(&found.feeders, alloy) });
        self.rule = Some(rule);
    }
}

/// What heat flow says of the feeders, in words.
fn left(fed: &Feeding, family: Family, system: System) -> Vec<String> {
    let share = |share| show(Kind::Ratio, share, system);
    let [fast, likely, slow] = fed.cut_off.map(share);
    let worst = share(fed.most_cut_off());
    let says = match fed.verdict() {
        "fed" => "heat flow: the feeders reach all of it, in every sand that is likely".to_owned(),
        "cut off" => format!(
            "heat flow: up to {worst} of the casting freezes after its way to a feeder has closed ({fast} in the fast run, {likely} in the likely one, {slow} in the slow one): pores there are likely"
        ),
        _ => format!(
            "heat flow: whether it is fed depends on the sand: {fast} is cut off in the fast run, {likely} in the likely one, {slow} in the slow one"
        ),
    };
    let iron = (family == Family::Iron && fed.verdict() != "fed").then(|| {
        "grey iron grows as it freezes and feeds itself in part: what is cut off is a warning, not a void".to_owned()
    });
    std::iter::once(says).chain(iron).collect()
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
    let mut out = FeedingEstimate { notes: freezes(&casting.alloy), ..FeedingEstimate::default() };
    let thick: Vec<_> = freezing.sections.iter().filter(|s| 2.0 * s.modulus.si() >= THIN).collect();
    let thickest = thick.iter().max_by(|a, b| a.modulus.si().total_cmp(&b.modulus.si()));
    let Some((whole, shrinkage)) = to_feed(&mut out, casting, freezing, rough_volume, system)
    else {
        return out;
    };
    out.warnings.extend(hot_spots(casting, freezing, system));
    let Some(thickest) = thickest else {
        out.notes.push(format!(
            "every section is thinner than {}: no feeder; it is fed through the ingates while it fills, so keep runner and basin full (common practice)",
            show(Kind::Length, THIN, system)
        ));
        return out;
    };
    let floating = casting.alloy.freezing.as_deref() == Some("floating");
    if floating && thickest.modulus.si() > SINKS {
        out.warnings.push(format!(
            "{} has a modulus of {}: above {} this alloy is published to sink on the drag side (zhycasting on ZA-27); chill that face or core the place out",
            thickest.name,
            show(Kind::Length, thickest.modulus.si(), system),
            show(Kind::Length, SINKS, system)
        ));
    }
    let mut names: Vec<&str> = thick.iter().map(|s| s.name.as_str()).collect();
    names.dedup();
    out.notes.push(format!("needs feeding: {}", names.join("; ")));
    let fed = Fed::of(&casting.alloy, &thick, thickest, whole, shrinkage);
    let feeders = fed.choose(&mut out, whole, system);
    out.notes.push(if floating {
        "place the feeder beside the thickest section, as low as its drag face, and join it by the ingate so that the hottest metal stands in it".to_owned()
    } else {
        format!(
            "place the feeder on top of {}, or beside it with the neck at its thickest place where the top is to stay clean; through the feeder is the best way in for the metal (common practice)",
            thickest.name
        )
    });
    if feeders.number.si() > 1.0 {
        out.notes.push(format!(
            "{} feeders by the feeding distance, a guide only, and by the number of the thickest places; other thick places that lie apart need their own",
            feeders.number.si()
        ));
    }
    out.feeders = Some(feeders);
    out
}

/// Volume and shrinkage of a casting that feeders can make good; says why, where there are none.
fn to_feed<'a>(
    out: &mut FeedingEstimate,
    casting: &Casting,
    freezing: &FreezingEstimate,
    rough_volume: Option<&'a Figure<Volume>>,
    system: System,
) -> Option<(&'a Figure<Volume>, Figure<Ratio>)> {
    let (whole, shrinkage) = rough_volume.zip(casting.alloy.shrinkage.as_ref())?;
    let shrinkage = feeding::shrinkage_to_feed::figure(shrinkage);
    if freezing.sections.is_empty() {
        out.notes.push("neither a shape nor a wall is given, so no feeder can be sized".into());
    } else if shrinkage.si() <= 0.0 {
        out.notes.push("this metal grows as it freezes: it feeds itself in a rigid mould".into());
    } else if shrinkage.high() >= PLAIN_EFFICIENCY {
        out.warnings.push(format!(
            "a shrinkage of {} is more than a plain feeder can make good: check the alloy's figure",
            show(Kind::Ratio, shrinkage.high(), system)
        ));
    } else {
        return Some((whole, shrinkage));
    }
    None
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
            "grey iron makes up most of its shrinkage as its graphite forms: a small feeder or a full sprue, and a hard rammed mould that does not give"
        }
        Some("eutectic") => {
            "freezes within a few degrees, almost as a skin: one feeder on the thickest place reaches far"
        }
        Some("mushy") if alloy.family == Family::Zinc => {
            "freezes as a mush, and holding more aluminium than the eutectic (near 5 %) its first solid is rich in aluminium and floats a little: a feeder reaches only a few wall thicknesses; keep walls even, chill the thick places on the drag side, and look there first for sinks; they are published for ZA-27, not for this alloy"
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
    let times = match (alloy.family, alloy.freezing.as_deref()) {
        (Family::Copper, _) => [2.0, 2.5, 3.0],
        (_, Some("eutectic" | "skin")) => [5.0, 6.0, 8.0],
        _ => [2.0, 3.0, 4.0],
    };
    let times: Figure<Number> = rule(
        "feeding distance over thickness",
        times,
        Known::FromMemory,
        "planning values, +/- 50 %: no clear limit is known except for steel",
    );
    feeding::feeding_distance::figure(&modulus.reference("thickest-modulus"), &times)
}

/// What wants feeding, and what the feeders hang on.
struct Fed<'a> {
    alloy: &'a Alloy,
    volume: Figure<Volume>,
    shrinkage: Figure<Ratio>,
    modulus: &'a Figure<Length>,
    distance: Figure<Length>,
    longest: Figure<Length>,
    places: Figure<Number>,
}

impl<'a> Fed<'a> {
    fn of(
        alloy: &'a Alloy,
        thick: &[&Section],
        thickest: &'a Section,
        whole: &Figure<Volume>,
        shrinkage: Figure<Ratio>,
    ) -> Self {
        const NAME: &str = "sections that need a feeder";
        let parts: Vec<_> = thick.iter().map(|s| s.volume.clone()).collect();
        let sum = Figure::sum(NAME, &parts).filter(|sum| sum.si() <= whole.si());
        let longest = thick.iter().map(|s| s.longest).fold(0.0, f64::max);
        Self {
            alloy,
            volume: sum.unwrap_or_else(|| whole.named(NAME)),
            shrinkage,
            modulus: &thickest.modulus,
            distance: distance(alloy, &thickest.modulus),
            longest: Figure::counted(
                "longest section to be fed",
                longest,
                "of its solid, or of a square plate of the wall",
            ),
            places: Figure::counted("thickest places", f64::from(thickest.count), "of the shape"),
        }
    }

    /// Plain feeders, or sleeved ones where the plain would hold more than the casting.
    fn choose(&self, out: &mut FeedingEstimate, whole: &Figure<Volume>, system: System) -> Feeders {
        let plain = self.feeders(false, system);
        if plain.volume.si() <= whole.si() {
            return plain;
        }
        let sleeved = self.feeders(true, system);
        let [plain, casting, hold] = [&plain.volume, whole, &sleeved.volume]
            .map(|volume| show(Kind::Volume, volume.si(), system));
        out.warnings.push(format!(
            "plain feeders would hold {plain}, more than the casting's {casting}: sized with an insulating sleeve on each ({hold}); a chill on the thick place (`chilled:`), or two castings on one feeder, may save it"
        ));
        sleeved
    }

    fn feeders(&self, sleeved: bool, system: System) -> Feeders {
        let ratio: Figure<Number> =
            rule("height over diameter", [HEIGHT_RATIO; 3], Known::CommonPractice, "our choice");
        let volume_wanted =
            feeding::feeder_by_volume::figure(&self.volume, &self.shrinkage, &efficiency(sleeved))
                .named("feeders needed by volume");
        // Iron needs liquid only until its graphite grows: its feeder need not freeze last.
        let diameter_by_modulus = (self.alloy.family != Family::Iron).then(|| {
            feeding::feeder_by_modulus::figure(self.modulus, &modulus_factor(sleeved), &ratio)
                .named("feeder diameter by modulus")
        });
        let across = diameter_by_modulus.as_ref().map(|d| d.reference("feeder-by-modulus"));
        let across = across.unwrap_or_else(|| {
            Figure::counted("feeder diameter", 0.0, "left out: iron feeds itself")
        });
        let distance = self.distance.reference("feeding-distance");
        let number = feeding::feeders::FORMULA.figure_as_made(
            [self.longest.node(), distance.node(), across.node(), self.places.node()]
                .map(Clone::clone)
                .into(),
        );
        let number = Figure::<Number>::typed(number);
        let many = number.reference("feeders");
        let diameter_by_volume = feeding::feeder_diameter::figure(&volume_wanted, &ratio, &many);
        let need =
            diameter_by_modulus.as_ref().map_or(0.0, Figure::si).max(diameter_by_volume.si());
        let nodes = diameter_by_modulus.iter().chain([&diameter_by_volume]);
        let nodes = nodes.map(|f| f.node().clone()).collect();
        let diameter =
            made("feeder diameter", need, "the larger of the two, the next size up", nodes, system);
        let wide = diameter.reference("feeder-diameter");
        let height = feeding::feeder_height::figure(&wide, &ratio)
            .noting("stands on its neck; closed on top and vented where the cope is higher, built up with a ring where it is lower");
        let neck_length = feeding::neck_length::figure(&wide);
        let long = neck_length.reference("neck-length");
        let neck = feeding::feeder_neck::figure(&long, &wide);
        let nodes = vec![neck.node().clone()];
        let neck_diameter = made("neck diameter", neck.si(), "the next size up", nodes, system);
        Feeders {
            fed_volume: self.volume.clone(),
            shrinkage_volume: feeding::shrinkage_volume::figure(&self.volume, &self.shrinkage),
            distance: self.distance.clone(),
            diameter_by_modulus,
            volume: volume_wanted.clone(),
            volume_wanted,
            diameter_by_volume,
            number,
            diameter,
            height,
            neck_diameter,
            neck_length,
            mass: None,
            sleeved,
            feet: None,
        }
        .weighed(self.alloy)
    }
}

impl Feeders {
    /// With volume and mass of the sizes as made.
    fn weighed(mut self, alloy: &Alloy) -> Self {
        self.volume = feeding::feeder_volume::figure(
            &self.number.reference("feeders"),
            &self.diameter.reference("feeder-diameter"),
            &self.height.reference("feeder-height"),
            &self.neck_diameter.reference("neck-diameter"),
            &self.neck_length.reference("neck-length"),
        );
        let density = alloy.liquid_density.as_ref();
        self.mass =
            density.map(|d| metal::part_mass::figure(&self.volume, d).named("feeders and necks"));
        self
    }

    /// With the sizes that heat flow found by trying.
    fn tried(&self, found: &freezing::Feeders, alloy: &Alloy) -> Self {
        const SAYS: &str = "by trial: of the sizes tried, the least metal that feeds the casting in the fast, the likely and the slow run; where none does, the size that cuts off least for its metal";
        fn by<Q: Quantity>(rule: &Figure<Q>, size: f64) -> Figure<Q> {
            let name = rule.node().name().to_owned();
            let nodes = vec![rule.named("by the rule of thumb").node().clone()];
            Figure::new(name, Range::exact(size), Because::Chosen(SAYS.into(), nodes))
        }
        let tried = Self {
            number: by(&self.number, found.number as f64),
            diameter: by(&self.diameter, found.diameter),
            height: by(&self.height, found.height),
            neck_diameter: by(&self.neck_diameter, found.neck),
            neck_length: by(&self.neck_length, found.neck_length),
            ..self.clone()
        };
        tried.weighed(alloy)
    }
}

/// Share of a feeder that it can give.
fn efficiency(sleeved: bool) -> Figure<Ratio> {
    let (share, says) = match sleeved {
        true => (0.33, "30 to 50 % with a sleeve (Wlodawer, Beeley); 33 % planned with"),
        false => (PLAIN_EFFICIENCY, "plain cylinder, 14 % (Wlodawer, Beeley)"),
    };
    rule("efficiency", [share; 3], Known::FromMemory, says)
}

/// Modulus of a feeder over that of the place that it feeds.
fn modulus_factor(sleeved: bool) -> Figure<Number> {
    let (factor, known, says) = match sleeved {
        true => (
            1.2 / 1.3,
            Known::FromMemory,
            "1.2 over 1.3, by which a sleeve lengthens the modulus (1.2 to 1.4)",
        ),
        false => (
            1.2,
            Known::Published,
            "at least 1.2 for aluminium and steel, themetalcasting.com, feeder design; taken for zinc and copper too",
        ),
    };
    rule("modulus factor", [factor; 3], known, says)
}

/// A size (m) as a workshop makes it.
fn made(
    name: &str,
    size: f64,
    why: &'static str,
    nodes: Vec<Node>,
    system: System,
) -> Figure<Length> {
    let size = Range::exact(next_size(size, system));
    Figure::new(format!("{name}, as made"), size, Because::Chosen(why.into(), nodes))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What no run feeds is a warning with its worst share; what one run feeds, or all, is a note.
    #[test]
    fn what_is_cut_off_in_every_run_is_warned_of() {
        let book = crate::handbook::Handbook::embedded();
        let feeders = freezing::Feeders {
            number: 1,
            diameter: 0.03,
            height: 0.045,
            neck: 0.015,
            neck_length: 0.01,
            sleeved: false,
        };
        let said = |cut_off: [f64; 3]| {
            let fed = Feeding {
                feeders,
                rule: feeders,
                rule_cut_off: 0.0,
                tries: 1,
                feet: Vec::new(),
                cut_off,
                pockets: Vec::new(),
                closes: [1.0; 3],
            };
            let mut out = FeedingEstimate::default();
            out.tried(&fed, 1.0, &book.alloys["A356"], System::Metric);
            (out.warnings, out.notes)
        };
        let (warnings, notes) = said([0.02, 0.03, 0.05]);
        assert!(warnings.len() == 1 && notes.is_empty(), "{warnings:?} {notes:?}");
        assert!(warnings[0].contains("up to 5 % of the casting"), "{warnings:?}");
        for some in [[0.0, 0.03, 0.05], [0.0; 3]] {
            let (warnings, notes) = said(some);
            assert!(warnings.is_empty() && notes.len() == 1, "{warnings:?} {notes:?}");
        }
    }
}
