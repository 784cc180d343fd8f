//! The way in for the metal: basin, sprue, well, runner and ingates of one mould, in sizes that a
//! workshop has.

mod sprue;
mod ways;

use super::freezing::FreezingEstimate;
use super::workshop::next_size;
use super::{listed, settled};
use crate::figure::*;
use crate::handbook::formulas::metal;
use crate::manifest::Flask;
use crate::model::{Build, Casting};
use sprue::Sprue;
use std::f64::consts::PI;
use ways::Ways;

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

/// The least sprue and well (m): finer ways freeze or break.
const LEAST_SPRUE: f64 = 0.008;
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

/// The way in with the least basin that draws no air.
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

/// The way in with so deep a basin, m.
fn with_basin(
    build: &Build,
    casting: &Casting,
    freezing: &FreezingEstimate,
    cope: &Figure<Length>,
    each: &Figure<Mass>,
    basin: f64,
) -> Option<GatingEstimate> {
    let system = build.header.units;
    let pattern = &build.patterns[casting.pattern].given;
    let sprue = Sprue::reckon(build, casting, freezing, (cope, each, basin))?;
    let ways = Ways::reckon(casting, freezing, pattern, &sprue, system)?;
    let foot = settled(&sprue.base, "sprue-base");
    let mouth = settled(&sprue.top, "sprue-top");
    let cup = closed::<Length>(
        "top of the basin",
        3.0 * mouth.si(),
        "3 x top of the sprue (common practice)",
        &[mouth.node()],
    );
    let basin_diameter = as_made("top of the basin, as made", 0.04, &cup, system);
    let rim = settled(&basin_diameter, "basin-diameter");
    let fall = metal::frustum_volume::figure(&mouth, &foot, &sprue.height).named("sprue");
    let cup = metal::frustum_volume::figure(&rim, &mouth, &sprue.basin_depth)
        .named("basin")
        .noting("as a cup; an offset basin holds more");
    let [well, runner, gates] = ways.volumes;
    let volume = Figure::sum("gating", &[cup, fall, well, runner, gates])?;
    let density = casting.alloy.liquid_density.as_ref()?;
    let mass = metal::part_mass::figure(&volume, density).named("gating of the mould");
    Some(GatingEstimate {
        through: Some(sprue.through),
        time_wanted: Some(sprue.time_wanted),
        head: Some(sprue.head),
        effective_head: Some(sprue.effective_head),
        choke: Some(sprue.choke),
        sprue_base: Some(sprue.base),
        taper: Some(sprue.taper),
        sprue_top: Some(sprue.top),
        basin_depth: Some(sprue.basin_depth),
        basin_diameter: Some(basin_diameter),
        flow: Some(sprue.flow),
        time: Some(sprue.time),
        sprue_speed: Some(sprue.speed),
        reynolds: sprue.reynolds,
        well_diameter: Some(ways.well_diameter),
        well_depth: Some(ways.well_depth),
        runner_side: Some(ways.runner_side),
        runner_length: Some(ways.runner_length),
        ingate_wanted: Some(ways.ingate_wanted),
        ingates: Some(ways.ingates),
        ingate_thickness: Some(ways.ingate_thickness),
        ingate_width: Some(ways.ingate_width),
        ingate_length: Some(ways.ingate_length),
        ingate_area: Some(ways.ingate_area),
        ingate_speed: Some(ways.ingate_speed),
        volume: Some(volume),
        mass: Some(mass),
        notes: sprue.tube.into_iter().collect(),
        warnings: sprue.warnings.into_iter().chain(ways.warning).collect(),
    })
}
