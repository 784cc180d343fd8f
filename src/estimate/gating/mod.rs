//! The way in for the metal: basin, sprue, well, runner and ingates of one mould, in sizes that a
//! workshop has.

use super::freezing::FreezingEstimate;
use super::workshop::{PLATES, TUBES, next_of, next_size};
use super::{listed, pouring, rule, settled};
use crate::build::{Build, Casting};
use crate::figure::*;
use crate::handbook::formulas::gating::{self, Gate};
use crate::handbook::formulas::metal;
use crate::manifest::Flask;
use std::f64::consts::PI;

/// Gating of one mould, for its gate at the parting, the top or the bottom.
#[derive(Debug, Clone, Default)]
pub struct GatingEstimate {
    /// Castings and feeders of the mould: what runs through the choke.
    pub through: Option<Figure<Mass>>,
    /// Pouring time aimed at.
    pub time_wanted: Option<Figure<Time>>,
    /// Level of the basin above the gate.
    pub head: Option<Figure<Length>>,
    /// Head that acts over the whole filling.
    pub effective_head: Option<Figure<Length>>,
    /// Choke area wanted.
    pub choke: Option<Figure<Area>>,
    /// Foot of the sprue, as made: the choke.
    pub sprue_base: Option<Figure<Length>>,
    /// Top area over base area of the sprue.
    pub taper: Option<Figure<Number>>,
    /// Top of the sprue, as made.
    pub sprue_top: Option<Figure<Length>>,
    /// Metal in the basin.
    pub basin_depth: Option<Figure<Length>>,
    /// Top of the basin, as made.
    pub basin_diameter: Option<Figure<Length>>,
    /// Flow through the sprue as made.
    pub flow: Option<Figure<Flow>>,
    /// Pouring time with the sprue as made.
    pub time: Option<Figure<Time>>,
    /// At the foot of the sprue.
    pub sprue_speed: Option<Figure<Speed>>,
    /// In the foot of the sprue.
    pub reynolds: Option<Figure<Number>>,
    /// Under the sprue, as made.
    pub well_diameter: Option<Figure<Length>>,
    /// Under the sprue, as made.
    pub well_depth: Option<Figure<Length>>,
    /// Side of the square runner, as made.
    pub runner_side: Option<Figure<Length>>,
    /// Length of the runner.
    pub runner_length: Option<Figure<Length>>,
    /// All ingates together, wanted.
    pub ingate_wanted: Option<Figure<Area>>,
    /// How many.
    pub ingates: Option<Figure<Number>>,
    /// Of each, as made.
    pub ingate_thickness: Option<Figure<Length>>,
    /// Of each, as made.
    pub ingate_width: Option<Figure<Length>>,
    /// Of each, from runner to casting.
    pub ingate_length: Option<Figure<Length>>,
    /// All ingates together, as made.
    pub ingate_area: Option<Figure<Area>>,
    /// Through the ingates as made.
    pub ingate_speed: Option<Figure<Speed>>,
    /// Basin, sprue, well, runner and ingates.
    pub volume: Option<Figure<Volume>>,
    /// Basin, sprue, well, runner and ingates.
    pub mass: Option<Figure<Mass>>,
    /// What to cut them with, in plain words.
    pub notes: Vec<String>,
    /// What is doubtful about them.
    pub warnings: Vec<String>,
}

impl GatingEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            through = "metal-through-choke", time_wanted = "pouring-time-wanted", head = "head",
            effective_head = "effective-head", choke = "choke-area", sprue_base = "sprue-base",
            taper = "sprue-taper", sprue_top = "sprue-top", basin_depth = "basin-depth",
            basin_diameter = "basin-diameter", flow = "flow", time = "pouring-time",
            sprue_speed = "sprue-speed", reynolds = "reynolds", well_diameter = "well-diameter",
            well_depth = "well-depth", runner_side = "runner-side",
            runner_length = "runner-length", ingate_wanted = "ingate-area-wanted",
            ingates = "ingates", ingate_thickness = "ingate-thickness",
            ingate_width = "ingate-width", ingate_length = "ingate-length",
            ingate_area = "ingate-area",
            ingate_speed = "ingate-speed", volume = "gating-volume", mass = "gating-mass")
    }
}

/// Depth of the cope: of the chosen flask, or the pattern's own with the usual sand above it.
pub(super) fn cope_depth(
    build: &Build,
    casting: &Casting,
    flask: Option<&Flask>,
) -> Option<Figure<Length>> {
    if let Some(flask) = flask {
        return Some(flask.cope.named("depth of the cope"));
    }
    let given = &build.patterns[casting.pattern].given;
    let largest = given.length.as_ref()?.si().max(given.width.as_ref()?.si());
    let above = build.handbook.cover_for(largest)?.above.named("sand above the pattern");
    let parts: Vec<_> = given.in_cope.iter().cloned().chain([above]).collect();
    Figure::sum("depth of the cope", &parts)
        .map(|f| f.noting("no flask of the shop takes this pattern: the least cope that would"))
}

/// The least sizes (m): finer ways freeze or break.
const LEAST_SPRUE: f64 = 0.008;
const LEAST_RUNNER: f64 = 0.008;
const LEAST_INGATE: f64 = 0.003;
const MOST_INGATE: f64 = 0.010;
const WIDEST_INGATE: f64 = 0.040;
/// An ingate of less section (m2) is a nail.
const LEAST_INGATE_AREA: f64 = 20e-6;
/// A fall (m) after which a stream runs faster than 0.5 m/s: 0.5^2 / (2 g).
const FREE_FALL: f64 = 0.0127;
/// Depths of metal in the basin that are tried in turn (m).
const BASINS: [f64; 6] = [0.025, 0.032, 0.040, 0.050, 0.063, 0.075];

fn closed<Q: Quantity>(
    name: &'static str,
    value: f64,
    says: &'static str,
    of: &[&Node],
) -> Figure<Q> {
    let nodes = of.iter().map(|n| (*n).clone()).collect();
    Figure::new(name, Range::exact(value), Because::Closed(says, nodes))
}

fn as_made(
    name: &'static str,
    least: f64,
    wanted: &Figure<Length>,
    system: System,
) -> Figure<Length> {
    let nodes = vec![wanted.node().clone()];
    let (size, why) = if wanted.si() < least {
        (least, "no finer: it would freeze or break; the next size up")
    } else {
        (wanted.si(), "the next size up")
    };
    Figure::new(name, Range::exact(next_size(size, system)), Because::Chosen(why.into(), nodes))
}

/// Diameter of a round way of this area.
fn across(name: &'static str, area: &Figure<Area>) -> Figure<Length> {
    let range = area.node().range().map(|a| (4.0 * a / PI).sqrt());
    let nodes = vec![area.node().clone()];
    Figure::new(name, range, Because::Closed("sqrt(4 area / pi)", nodes))
}

pub(super) fn estimate(
    build: &Build,
    casting: &Casting,
    freezing: &FreezingEstimate,
    cope: Option<&Figure<Length>>,
    each: Option<&Figure<Mass>>,
) -> GatingEstimate {
    let (Some(cope), Some(each)) = (cope, each) else { return GatingEstimate::default() };
    BASINS
        .iter()
        .filter_map(|depth| with_basin(build, casting, freezing, cope, each, *depth))
        .enumerate()
        .find(|(at, g)| {
            // 2.5 times the sprue's top keeps the eddy from drawing air.
            let top = g.sprue_top.as_ref().map_or(0.0, Figure::si);
            *at + 1 == BASINS.len() || BASINS[*at] >= 2.5 * top
        })
        .map(|(_, g)| g)
        .unwrap_or_default()
}

fn with_basin(
    build: &Build,
    casting: &Casting,
    freezing: &FreezingEstimate,
    cope: &Figure<Length>,
    each: &Figure<Mass>,
    basin: f64,
) -> Option<GatingEstimate> {
    let system = build.header.units;
    let alloy = &casting.alloy;
    let pattern = &build.patterns[casting.pattern].given;
    let (depth, density) = (pattern.depth.as_ref()?, alloy.liquid_density.as_ref()?);
    let longest = pattern.length.as_ref()?.si().max(pattern.width.as_ref()?.si());
    let limit = alloy.ingate_speed.as_ref()?;
    let cavities = pattern.cavities;
    let through = super::times(each, cavities, "castings and feeders of the mould");
    let mut warnings = Vec::new();

    let basin_depth = Figure::<Length>::new(
        "metal in the basin",
        Range::exact(basin),
        Because::Handbook(
            Source {
                citation: "2.5 times the top of the sprue or more, up to 75 mm; set on the cope and kept full".into(),
                known: Known::FromMemory,
            }
            .into(),
        ),
    );
    let in_cope = pattern
        .in_cope
        .clone()
        .unwrap_or_else(|| Figure::counted("pattern depth in the cope", 0.0, "none is given"));
    let taken = std::slice::from_ref(&in_cope);
    let (gate_name, head_name, sprue_height) = match pattern.gate {
        Gate::Parting => ("at the parting", "basin above the parting", cope.clone()),
        Gate::Bottom => {
            let below = super::less("depth in the drag", depth, taken);
            let sprue = Figure::sum("sprue", &[cope.clone(), below])?;
            ("at the bottom", "basin above the gate", sprue)
        }
        Gate::Top => ("at the top", "basin above the gate", super::less("sprue", cope, taken)),
    };
    if pattern.gate == Gate::Top && depth.si() > FREE_FALL {
        warnings.push(format!(
            "gated at the top the metal falls {} into the cavity; beyond {} it breaks up, draws in air and makes oxide, worst in aluminium and aluminium bronze: gate it at the parting or the bottom",
            show(Kind::Length, depth.si(), system),
            show(Kind::Length, FREE_FALL, system)
        ));
    }
    let head = Figure::sum(head_name, &[sprue_height.clone(), basin_depth.clone()])?;
    let gate = Figure::<Gate>::counted("gate", pattern.gate.si(), gate_name);
    let effective = gating::effective_head::figure(&gate, &head, depth, &in_cope);
    let time_wanted = pouring::wanted(casting, freezing, &through, system, &mut warnings);
    let discharge: Figure<Number> = rule(
        "discharge",
        [0.75, 0.8, 0.9],
        Known::FromMemory,
        "straight sprue 0.75 to 0.8, tapered 0.85 to 0.9",
    );
    let mass = settled(&through, "metal-through-choke");
    let aim = settled(&time_wanted, "pouring-time-wanted");
    let drop = settled(&effective, "effective-head");
    let choke = gating::choke_area::figure(&mass, density, &aim, &drop, &discharge);
    let sprue_base = as_made(
        "foot of the sprue, as made",
        LEAST_SPRUE,
        &across("foot of the sprue", &choke),
        system,
    );
    let foot = settled(&sprue_base, "sprue-base");
    let tube = next_of(TUBES, foot.si(), system).map(|size| {
        let trade = match system {
            System::Metric => "EN 1057",
            System::Us => "ASTM B88",
        };
        format!(
            "copper tube of {} outside ({trade}) cuts a sprue of that foot; ream it wider towards the top",
            show(Kind::Length, size, system)
        )
    });
    let taper = gating::sprue_taper::figure(&basin_depth, &head);
    let top = closed::<Length>(
        "top of the sprue",
        foot.si() * taper.si().sqrt(),
        "foot x sqrt(top area over base area)",
        &[foot.node(), taper.node()],
    );
    let sprue_top = as_made("top of the sprue, as made", LEAST_SPRUE, &top, system);
    let mouth = settled(&sprue_top, "sprue-top");

    let base_area = closed::<Area>(
        "choke, as made",
        PI / 4.0 * foot.si().powi(2),
        "pi / 4 x diameter^2",
        &[foot.node()],
    );
    let free = gating::flow::figure(&drop, &base_area).named("flow without loss");
    let (f, d) = (free.node().range(), discharge.node().range());
    let flow = Figure::<Flow>::new(
        "flow",
        Range { low: f.low * d.low, likely: f.likely * d.likely, high: f.high * d.high },
        Because::Closed(
            "flow without loss x discharge",
            vec![free.node().clone(), discharge.node().clone()],
        ),
    );
    let liquid = {
        let (m, d) = (mass.node().range(), density.node().range());
        let range =
            Range { low: m.low / d.high, likely: m.likely / d.likely, high: m.high / d.low };
        let nodes = vec![mass.node().clone(), density.node().clone()];
        Figure::<Volume>::new(
            "metal through the choke",
            range,
            Because::Closed("mass / density", nodes),
        )
    };
    let time =
        gating::fill_time::figure(&liquid, &base_area, &drop, &discharge).named("pouring time");
    let still = Figure::<Speed>::counted("entry speed", 0.0, "the basin is at rest");
    let sprue_speed =
        gating::fall_speed::figure(&head, &still).named("speed at the foot of the sprue");
    let reynolds =
        alloy.viscosity.as_ref().map(|v| gating::reynolds::figure(density, &sprue_speed, &foot, v));

    let runs = settled(&flow, "flow");
    let ratio = ratio(alloy.gating.as_deref());
    let runner_over = part_of("runner area over choke", &ratio, 1, alloy.gating.as_deref());
    let gate_over = part_of("ingate area over choke", &ratio, 2, alloy.gating.as_deref());
    let area = |name, over: &Figure<Number>| {
        closed::<Area>(
            name,
            base_area.si() * over.si(),
            "choke x ratio",
            &[base_area.node(), over.node()],
        )
    };
    let runner_area = area("runner area", &runner_over);
    let side = closed::<Length>(
        "side of the runner",
        runner_area.si().sqrt(),
        "sqrt(area), as wide as deep",
        &[runner_area.node()],
    );
    let runner_side = as_made("side of the runner, as made", LEAST_RUNNER, &side, system);
    let channel = settled(&runner_side, "runner-side");

    let by_ratio = area("ingate area by ratio", &gate_over);
    let by_speed = closed::<Area>(
        "ingate area by speed",
        runs.si() / limit.si(),
        "flow / speed limit",
        &[runs.node(), limit.node()],
    );
    let ingate_wanted = Figure::<Area>::new(
        "ingate area",
        Range::exact(by_ratio.si().max(by_speed.si())),
        Because::Chosen(
            "the larger of the two".into(),
            vec![by_ratio.node().clone(), by_speed.node().clone()],
        ),
    );
    let wanted = settled(&ingate_wanted, "ingate-area-wanted");
    let wall = casting.given.wall.clone().or_else(|| {
        let thin = freezing.sections.first()?.modulus.clone();
        Some(closed("thinnest section", 2.0 * thin.si(), "2 x modulus", &[thin.node()]))
    });
    let thick = match &wall {
        Some(wall) => closed::<Length>(
            "ingate thickness",
            (0.6 * wall.si()).clamp(LEAST_INGATE, MOST_INGATE),
            "0.6 x wall, so that it breaks off (common practice), between 3 and 10 mm",
            &[wall.node()],
        ),
        None => rule("ingate thickness", [0.005; 3], Known::CommonPractice, "no wall is given"),
    };
    let thickness = Figure::<Length>::new(
        "ingate thickness, as made",
        Range::exact(next_of(PLATES, thick.si(), system).unwrap_or(thick.si())),
        Because::Chosen("the next plate up that shops stock".into(), vec![thick.node().clone()]),
    );
    let thin = settled(&thickness, "ingate-thickness");
    let many = (wanted.si() / (thin.si() * WIDEST_INGATE) / f64::from(cavities)).ceil();
    let many = many.max(1.0) * f64::from(cavities);
    let ingates = closed::<Number>(
        "ingates",
        many,
        "one for each 40 mm of width (common practice), as many to each casting of the mould",
        &[wanted.node(), thin.node()],
    );
    let count = settled(&ingates, "ingates");
    let wide = closed::<Length>(
        "ingate width",
        wanted.si() / (many * thin.si()),
        "area / (ingates x thickness)",
        &[wanted.node(), count.node(), thin.node()],
    );
    let least_width = thin.si().max(LEAST_INGATE_AREA / thin.si());
    let width = as_made("ingate width, as made", least_width, &wide, system);
    let broad = settled(&width, "ingate-width");
    let ingate_area = closed::<Area>(
        "all ingates, as made",
        many * broad.si() * thin.si(),
        "ingates x width x thickness",
        &[count.node(), broad.node(), thin.node()],
    );
    let mouths = settled(&ingate_area, "ingate-area");
    let q = runs.node().range();
    let ingate_speed = Figure::<Speed>::new(
        "speed in the ingates",
        q.map(|q| q / mouths.si()),
        Because::Closed("flow / area", vec![runs.node().clone(), mouths.node().clone()]),
    );
    if many * broad.si() > 1.5 * longest {
        warnings.push(format!(
            "the ingates take {} of edge: gate it from both sides, or fill slower",
            show(Kind::Length, many * broad.si(), system)
        ));
    }

    let runner_length = closed::<Length>(
        "runner length",
        longest * (many - 1.0) / many + 0.06,
        "longest size of the pattern x (ingates - 1) / ingates + 60 mm from the sprue and past the last ingate (our layout)",
        &[count.node()],
    );
    let run = settled(&runner_length, "runner-length");
    let well_area = closed::<Area>(
        "area of the well",
        5.0 * base_area.si(),
        "5 x choke (rule of the American Foundry Society, from memory)",
        &[base_area.node()],
    );
    let well = across("diameter of the well", &well_area);
    let well_diameter = as_made("diameter of the well, as made", LEAST_SPRUE, &well, system);
    let pit = settled(&well_diameter, "well-diameter");
    let well_depth = closed::<Length>(
        "depth of the well",
        2.0 * channel.si(),
        "2 x depth of the runner (rule of the American Foundry Society, from memory)",
        &[channel.node()],
    );
    let pit_depth = settled(&well_depth, "well-depth");
    let cup = closed::<Length>(
        "top of the basin",
        3.0 * mouth.si(),
        "3 x top of the sprue (common practice)",
        &[mouth.node()],
    );
    let basin_diameter = as_made("top of the basin, as made", 0.04, &cup, system);
    let rim = settled(&basin_diameter, "basin-diameter");
    let sprue = metal::frustum_volume::figure(&mouth, &foot, &sprue_height).named("sprue");
    let cup = metal::frustum_volume::figure(&rim, &mouth, &basin_depth)
        .named("basin")
        .noting("as a cup; an offset basin holds more");
    let well = closed::<Volume>(
        "well",
        PI / 4.0 * pit.si().powi(2) * pit_depth.si(),
        "pi / 4 x diameter^2 x depth",
        &[pit.node(), pit_depth.node()],
    );
    let runner = closed::<Volume>(
        "runner",
        channel.si().powi(2) * run.si(),
        "side^2 x length",
        &[channel.node(), run.node()],
    );
    let ingate_length = closed::<Length>(
        "ingate length",
        (4.0 * thin.si()).max(0.02),
        "4 thicknesses, 20 mm at least (a Kalpakjian-type text asks 3 to 5)",
        &[thin.node()],
    );
    let reach = settled(&ingate_length, "ingate-length");
    let gates = closed::<Volume>(
        "ingates",
        mouths.si() * reach.si(),
        "area x length",
        &[mouths.node(), reach.node()],
    );
    let volume = Figure::sum("gating", &[cup, sprue, well, runner, gates])?;
    let mass = metal::part_mass::figure(&volume, density).named("gating of the mould");
    Some(GatingEstimate {
        through: Some(through),
        time_wanted: Some(time_wanted),
        head: Some(head),
        effective_head: Some(effective),
        choke: Some(choke),
        sprue_base: Some(sprue_base),
        taper: Some(taper),
        sprue_top: Some(sprue_top),
        basin_depth: Some(basin_depth),
        basin_diameter: Some(basin_diameter),
        flow: Some(flow),
        time: Some(time),
        sprue_speed: Some(sprue_speed),
        reynolds,
        well_diameter: Some(well_diameter),
        well_depth: Some(well_depth),
        runner_side: Some(runner_side),
        runner_length: Some(runner_length),
        ingate_wanted: Some(ingate_wanted),
        ingates: Some(ingates),
        ingate_thickness: Some(thickness),
        ingate_width: Some(width),
        ingate_length: Some(ingate_length),
        ingate_area: Some(ingate_area),
        ingate_speed: Some(ingate_speed),
        volume: Some(volume),
        mass: Some(mass),
        notes: tube.into_iter().collect(),
        warnings,
    })
}

/// Sprue, runner and ingate areas as the alloy's table has them.
fn ratio(words: Option<&str>) -> [f64; 3] {
    let read = |text: &str| {
        let parts: Option<Vec<f64>> =
            text.split(':').map(|p| p.trim().parse().ok().filter(|v| *v > 0.0)).collect();
        <[f64; 3]>::try_from(parts?).ok()
    };
    words.and_then(read).unwrap_or([1.0, 2.0, 2.0])
}

fn part_of(name: &'static str, ratio: &[f64; 3], at: usize, words: Option<&str>) -> Figure<Number> {
    let citation = match words {
        Some(words) => format!("gating ratio {words} of the alloy's table"),
        None => "1:2:2, since the alloy has no gating ratio".to_owned(),
    };
    let source = Source { citation: citation.into(), known: Known::CommonPractice };
    Figure::new(name, Range::exact(ratio[at] / ratio[0]), Because::Handbook(source.into()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ratios_are_read_or_taken_as_usual() {
        assert_eq!(ratio(Some("1:4:4")), [1.0, 4.0, 4.0]);
        for odd in [None, Some("wide"), Some("1:2"), Some("0:1:1"), Some("1:-2:2")] {
            assert_eq!(ratio(odd), [1.0, 2.0, 2.0]);
        }
    }
}
