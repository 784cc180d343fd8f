//! Well, runner and ingates: from the foot of the sprue into the castings.

use super::sprue::Sprue;
use super::{LEAST_SPRUE, across, as_made, closed};
use crate::estimate::freezing::FreezingEstimate;
use crate::estimate::workshop::{PLATES, next_of};
use crate::estimate::{rule, settled};
use crate::figure::*;
use crate::manifest::Pattern;
use crate::model::Casting;
use std::f64::consts::PI;

/// The least and most sizes (m): finer ways freeze or break, coarser ones do not break off.
const LEAST_RUNNER: f64 = 0.008;
const LEAST_INGATE: f64 = 0.003;
const MOST_INGATE: f64 = 0.010;
const WIDEST_INGATE: f64 = 0.040;
/// An ingate of less section (m2) is a nail.
const LEAST_INGATE_AREA: f64 = 20e-6;

/// Well, runner and ingates of one mould.
pub(super) struct Ways {
    pub well_diameter: Figure<Length>,
    pub well_depth: Figure<Length>,
    pub runner_side: Figure<Length>,
    pub runner_length: Figure<Length>,
    pub ingate_wanted: Figure<Area>,
    pub ingates: Figure<Number>,
    pub ingate_thickness: Figure<Length>,
    pub ingate_width: Figure<Length>,
    pub ingate_length: Figure<Length>,
    pub ingate_area: Figure<Area>,
    pub ingate_speed: Figure<Speed>,
    /// Of well, runner and ingates.
    pub volumes: [Figure<Volume>; 3],
    pub warning: Option<String>,
}

impl Ways {
    /// For what runs through a sprue; none where the pattern has no size or the alloy no limit of
    /// speed.
    pub fn reckon(
        casting: &Casting,
        freezing: &FreezingEstimate,
        pattern: &Pattern,
        sprue: &Sprue,
        system: System,
    ) -> Option<Self> {
        let alloy = &casting.alloy;
        let longest = pattern.length.as_ref()?.si().max(pattern.width.as_ref()?.si());
        let limit = alloy.ingate_speed.as_ref()?;
        let cavities = pattern.cavities;
        let runs = settled(&sprue.flow, "flow");
        let ratio = ratio(alloy.gating.as_deref());
        let runner_over = part_of("runner area over choke", &ratio, 1, alloy.gating.as_deref());
        let gate_over = part_of("ingate area over choke", &ratio, 2, alloy.gating.as_deref());
        let area = |name, over: &Figure<Number>| {
            closed::<Area>(
                name,
                sprue.area.si() * over.si(),
                "choke x ratio",
                &[sprue.area.node(), over.node()],
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
            Because::Chosen(
                "the next plate up that shops stock".into(),
                vec![thick.node().clone()],
            ),
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
        let edge = many * broad.si();
        let warning = (edge > 1.5 * longest).then(|| {
            let edge = show(Kind::Length, edge, system);
            format!("the ingates take {edge} of edge: gate it from both sides, or fill slower")
        });

        let runner_length = closed::<Length>(
            "runner length",
            longest * (many - 1.0) / many + 0.06,
            "longest size of the pattern x (ingates - 1) / ingates + 60 mm from the sprue and past the last ingate (our layout)",
            &[count.node()],
        );
        let run = settled(&runner_length, "runner-length");
        let well_area = closed::<Area>(
            "area of the well",
            5.0 * sprue.area.si(),
            "5 x choke (rule of the American Foundry Society, from memory)",
            &[sprue.area.node()],
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
        Some(Self {
            well_diameter,
            well_depth,
            runner_side,
            runner_length,
            ingate_wanted,
            ingates,
            ingate_thickness: thickness,
            ingate_width: width,
            ingate_length,
            ingate_area,
            ingate_speed,
            volumes: [well, runner, gates],
            warning,
        })
    }
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
