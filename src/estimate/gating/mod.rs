//! The way in for the metal: basin, sprue, well, runner and ingates of one mould, in sizes that a
//! workshop has.

mod sprue;
mod ways;

pub use sprue::Sprue;
pub use ways::Ways;

use super::freezing::FreezingEstimate;
use super::listed;
use super::workshop::next_size;
use crate::figure::*;
use crate::handbook::formulas::{gating, metal};
use crate::manifest::Flask;
use crate::model::{Build, Casting};

/// An ingate that is longer or shorter by less is as it was asked for, m.
const AS_ASKED: f64 = 1e-3;

/// Gating of one mould, for its gate at the parting, the top or the bottom.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct GatingEstimate {
    /// Basin and sprue.
    pub sprue: Sprue,
    /// Well, runner and ingates.
    pub ways: Ways,
    /// Basin, sprue, well, runner and ingates.
    pub volume: Figure<Volume>,
    /// Basin, sprue, well, runner and ingates.
    pub mass: Figure<Mass>,
    /// What is doubtful about them.
    pub warnings: Vec<String>,
}

impl GatingEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        let whole: Vec<_> = listed!(self: volume = "gating-volume", mass = "gating-mass");
        [self.sprue.figures(), self.ways.figures(), whole].concat()
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
    Figure::sum("depth of the cope", &parts).map(|f| {
        f.noting("no flask of the shop takes this pattern: the least cope that would take it")
    })
}

/// The least sprue and well (m): finer ways freeze or break.
const LEAST_SPRUE: f64 = 0.008;
/// Depths of metal in the basin that are tried in turn (m).
const BASINS: [f64; 6] = [0.025, 0.032, 0.040, 0.050, 0.063, 0.075];

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
    gating::circle_diameter::figure(area).named(name)
}

/// What the way in is reckoned for: one mould in its flask.
#[derive(Clone, Copy)]
pub(super) struct Filled<'a> {
    pub build: &'a Build,
    pub casting: &'a Casting,
    pub freezing: &'a FreezingEstimate,
    /// Depth of the cope.
    pub cope: &'a Figure<Length>,
    /// One casting with its feeders.
    pub each: &'a Figure<Mass>,
}

/// The way in with the least basin that draws no air; none where pattern or alloy leave out what it
/// goes by.
pub(super) fn estimate(mould: Filled<'_>) -> Option<GatingEstimate> {
    let last = BASINS[BASINS.len() - 1];
    BASINS.iter().find_map(|depth| {
        let gating = with_basin(mould, *depth)?;
        // 2.5 times the sprue's top keeps the eddy from drawing air.
        (*depth == last || *depth >= 2.5 * gating.sprue.top.si()).then_some(gating)
    })
}

/// The way in with so deep a basin, m.
fn with_basin(mould: Filled<'_>, basin: f64) -> Option<GatingEstimate> {
    let sprue = Sprue::reckon(mould, basin)?;
    let ways = Ways::reckon(mould, &sprue)?;
    GatingEstimate::of(sprue, ways, mould.casting.alloy.liquid_density.as_ref()?)
}

impl GatingEstimate {
    fn of(sprue: Sprue, ways: Ways, density: &Figure<Density>) -> Option<Self> {
        let foot = sprue.base.reference("sprue-base");
        let mouth = sprue.top.reference("sprue-top");
        let rim = sprue.basin_diameter.reference("basin-diameter");
        let fall = metal::frustum_volume::figure(&mouth, &foot, &sprue.height).named("sprue");
        let cup = metal::frustum_volume::figure(&rim, &mouth, &sprue.basin_depth)
            .named("basin")
            .noting("as a cup; an offset basin holds more");
        let [well, runner, gates] = ways.volumes();
        let volume = Figure::sum("gating", &[cup, fall, well, runner, gates])?;
        let mass = metal::part_mass::figure(&volume, density).named("gating of the mould");
        let warnings = sprue.warnings.iter().chain(&ways.warning).cloned().collect();
        Some(Self { sprue, ways, volume, mass, warnings })
    }

    /// With runner and ingates as long as they came out where the mould was laid out, m.
    pub(super) fn with_lengths(
        self,
        (runner, ingate): (f64, f64),
        density: Option<&Figure<Density>>,
    ) -> Self {
        let mut ways = self.ways.clone();
        let nodes = vec![ways.ingates.reference("ingates").node().clone()];
        let because =
            Because::Closed("from the sprue past the last ingate, as the mould is laid out", nodes);
        ways.runner_length = Figure::new("runner length", Range::exact(runner), because);
        let asked = &ways.ingate_length;
        if (ingate - asked.si()).abs() > AS_ASKED {
            let says = if ingate < asked.si() {
                "from the runner to the castings on both sides, as the mould is laid out: so \
                 much room is there between the rows of the board, where more was asked"
            } else {
                "from the runner to the outline of the casting, as the mould is laid out: it lies \
                 farther back than asked"
            };
            let because =
                Because::Closed(says, vec![asked.named("length asked for").node().clone()]);
            ways.ingate_length = Figure::new("ingate length", Range::exact(ingate), because);
        }
        let laid = density.and_then(|density| Self::of(self.sprue.clone(), ways, density));
        laid.unwrap_or(self)
    }
}
