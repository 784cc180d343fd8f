//! Well, runner and ingates: from the foot of the sprue into the castings.

use super::sprue::Sprue;
use super::{Filled, LEAST_SPRUE, across, as_made};
use crate::estimate::workshop::{PLATES, next_of};
use crate::estimate::{listed, rule};
use crate::figure::*;
use crate::handbook::Alloy;
use crate::handbook::formulas::{cooling, gating};

/// The least sizes (m): finer ways freeze or break.
const LEAST_RUNNER: f64 = 0.008;
/// An ingate of less section (m2) is a nail.
const LEAST_INGATE_AREA: f64 = 20e-6;

/// Well, runner and ingates of one mould.
#[derive(Debug, Clone)]
pub struct Ways {
    /// Under the sprue, as made.
    pub well_diameter: Figure<Length>,
    /// Under the sprue, as made.
    pub well_depth: Figure<Length>,
    /// Side of the square runner, as made.
    pub runner_side: Figure<Length>,
    /// Length of the runner.
    pub runner_length: Figure<Length>,
    /// All ingates together, wanted.
    pub ingate_wanted: Figure<Area>,
    /// How many.
    pub ingates: Figure<Number>,
    /// Of each, as made.
    pub ingate_thickness: Figure<Length>,
    /// Of each, as made.
    pub ingate_width: Figure<Length>,
    /// Of each, from runner to casting.
    pub ingate_length: Figure<Length>,
    /// All ingates together, as made.
    pub ingate_area: Figure<Area>,
    /// Through the ingates as made.
    pub ingate_speed: Figure<Speed>,
    pub(super) warning: Option<String>,
}

impl Ways {
    /// For what runs through a sprue; none where the pattern has no size or the alloy no limit of
    /// speed.
    pub(super) fn reckon(mould: Filled<'_>, sprue: &Sprue) -> Option<Self> {
        let (alloy, system) = (&mould.casting.alloy, mould.build.header.units);
        let pattern = &mould.build.patterns[mould.casting.pattern].given;
        let (length, width) = (pattern.length.as_ref()?, pattern.width.as_ref()?);
        let longest = if length.si() < width.si() { width } else { length };
        let runs = sprue.flow.reference("flow");
        let [runner_over, gates_over] = ratios(alloy.gating.as_deref());

        let runner_area = gating::way_area::figure(&sprue.area, &runner_over).named("runner area");
        let side = gating::square_side::figure(&runner_area);
        let runner_side = as_made("side of the runner, as made", LEAST_RUNNER, &side, system);
        let ingate_wanted = ingate_wanted(alloy, sprue, &gates_over, &runs)?;
        let wanted = ingate_wanted.reference("ingate-area-wanted");
        let ingate_thickness = ingate_thickness(mould);
        let thin = ingate_thickness.reference("ingate-thickness");
        let ingates = ingates(&wanted, &thin, pattern.cavities);
        let count = ingates.reference("ingates");
        let wide = gating::ingate_width::figure(&wanted, &count, &thin);
        let least_width = thin.si().max(LEAST_INGATE_AREA / thin.si());
        let ingate_width = as_made("ingate width, as made", least_width, &wide, system);
        let broad = ingate_width.reference("ingate-width");
        let ingate_area = gating::ingate_area::figure(&count, &broad, &thin);
        let mouths = ingate_area.reference("ingate-area");
        let edge = count.si() * broad.si();
        let warning = (edge > 1.5 * longest.si()).then(|| {
            let edge = show(Kind::Length, edge, system);
            format!("the ingates take {edge} of edge: gate it from both sides, or fill slower")
        });
        let well = across("diameter of the well", &gating::well_area::figure(&sprue.area));
        Some(Self {
            well_diameter: as_made("diameter of the well, as made", LEAST_SPRUE, &well, system),
            well_depth: gating::well_depth::figure(&runner_side.reference("runner-side")),
            runner_length: gating::runner_length::figure(longest, &count),
            ingate_length: gating::ingate_length::figure(&thin),
            ingate_speed: gating::way_speed::figure(&runs, &mouths),
            runner_side,
            ingate_wanted,
            ingates,
            ingate_thickness,
            ingate_width,
            ingate_area,
            warning,
        })
    }

    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            well_diameter = "well-diameter", well_depth = "well-depth", runner_side = "runner-side",
            runner_length = "runner-length", ingate_wanted = "ingate-area-wanted",
            ingates = "ingates", ingate_thickness = "ingate-thickness",
            ingate_width = "ingate-width", ingate_length = "ingate-length",
            ingate_area = "ingate-area", ingate_speed = "ingate-speed")
    }

    /// Of well, runner and ingates.
    pub(in crate::estimate) fn volumes(&self) -> [Figure<Volume>; 3] {
        let well = gating::cylinder_volume::figure(
            &self.well_diameter.reference("well-diameter"),
            &self.well_depth.reference("well-depth"),
        );
        let runner = gating::runner_volume::figure(
            &self.runner_side.reference("runner-side"),
            &self.runner_length.reference("runner-length"),
        );
        let gates = gating::ingate_volume::figure(
            &self.ingate_area.reference("ingate-area"),
            &self.ingate_length.reference("ingate-length"),
        );
        [well.named("well"), runner, gates]
    }
}

/// Area of all ingates: by the ratio, and no less than keeps the metal below its speed.
fn ingate_wanted(
    alloy: &Alloy,
    sprue: &Sprue,
    over: &Figure<Number>,
    runs: &Figure<Flow>,
) -> Option<Figure<Area>> {
    let by_ratio = gating::way_area::figure(&sprue.area, over).named("ingate area by ratio");
    let by_speed = gating::area_for_speed::figure(runs, alloy.ingate_speed.as_ref()?);
    let nodes = vec![by_ratio.node().clone(), by_speed.node().clone()];
    let most = Range::exact(by_ratio.si().max(by_speed.si()));
    Some(Figure::new("ingate area", most, Because::Chosen("the larger of the two".into(), nodes)))
}

/// By the wall that it joins, or the thinnest section: the next plate that shops stock.
fn ingate_thickness(mould: Filled<'_>) -> Figure<Length> {
    let thinnest = || {
        let modulus = &mould.freezing.sections.first()?.modulus;
        Some(cooling::thickness_of_modulus::figure(modulus).named("thinnest section"))
    };
    let thick = match mould.casting.given.wall.clone().or_else(thinnest) {
        Some(wall) => gating::ingate_thickness::figure(&wall),
        None => rule("ingate thickness", [0.005; 3], Known::CommonPractice, "no wall is given"),
    };
    let size = next_of(PLATES, thick.si(), mould.build.header.units).unwrap_or(thick.si());
    let why =
        Because::Chosen("the next plate up that shops stock".into(), vec![thick.node().clone()]);
    Figure::new("ingate thickness, as made", Range::exact(size), why)
}

/// As many to each casting of the mould.
fn ingates(wanted: &Figure<Area>, thin: &Figure<Length>, cavities: u32) -> Figure<Number> {
    let castings = Figure::counted("castings in the mould", f64::from(cavities), "of the pattern");
    let each = wanted.shared("ingate area of one casting", "area / castings", &castings);
    gating::ingates::figure(&each, thin).times(cavities, "ingates")
}

/// Areas of runner and ingates over that of the choke, as the alloy's table has them.
fn ratios(words: Option<&str>) -> [Figure<Number>; 2] {
    let citation = match words {
        Some(words) => format!("gating ratio {words} of the alloy's table"),
        None => "1:2:2, since the alloy has no gating ratio".to_owned(),
    };
    let source =
        std::sync::Arc::new(Source { citation: citation.into(), known: Known::CommonPractice });
    let [choke, runner, gates] = ratio(words);
    let over = |name, area: f64| {
        Figure::new(name, Range::exact(area / choke), Because::Handbook(source.clone()))
    };
    [over("runner area over choke", runner), over("ingate area over choke", gates)]
}

/// Sprue, runner and ingate areas.
fn ratio(words: Option<&str>) -> [f64; 3] {
    let read = |text: &str| {
        let parts: Option<Vec<f64>> =
            text.split(':').map(|p| p.trim().parse().ok().filter(|v| *v > 0.0)).collect();
        <[f64; 3]>::try_from(parts?).ok()
    };
    words.and_then(read).unwrap_or([1.0, 2.0, 2.0])
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
