//! The times of a casting by heat flow, told as figures.

use super::timed::Clocks;
use crate::figure::*;
use crate::freezing::Frozen;
use crate::model::{Build, Casting};

/// Times of a casting by heat flow.
pub(super) struct Times {
    pub(super) solid: Figure<Time>,
    pub(super) shake_out: Option<Figure<Time>>,
}

pub(super) fn times(frozen: &Frozen, casting: &Casting, build: &Build, clocks: &Clocks) -> Times {
    let clocked = clocks.sand(build, casting);
    let at = |name: &'static str, times: [[f64; 3]; 3], mut nodes: Vec<Node>| {
        let (range, says) = match clocked {
            None => ([times[0][0], times[1][1], times[2][2]], SAYS),
            Some(clocked) => {
                nodes.extend(clocked.nodes.iter().cloned());
                (clocked.range(times), CLOCKED)
            }
        };
        let [low, likely, high] = range;
        Figure::new(name, Range { low, likely, high }, Because::Chosen(says.into(), nodes))
    };
    let nodes = properties(build, casting);
    let solid = at("solid throughout", [frozen.solid; 3], nodes.clone());
    let solid = solid.noting(format!(
        "heat flow on {} cells, whose size is worth {:.0} s either way; see `pourwright freezing`",
        frozen.cells[0], frozen.cells_off
    ));
    let shake_out = frozen.shake_out.map(|times| {
        let mut nodes = nodes;
        nodes.extend(casting.alloy.shake_out.iter().map(|t| t.node().clone()));
        at("cool enough to shake out", times, nodes)
            .noting("feeders too; the least to wait: longer costs nothing and lets stress out")
    });
    Times { solid, shake_out }
}

const SAYS: &str = "heat flow in the casting and its sand: low in sand that takes up the most heat, likely by the planning values, high in sand that takes up the least and touches badly";
const CLOCKED: &str = "heat flow in the casting and its sand, between the fast and the slow run where the castings timed in this sand lie (`froze-in`), a tenth either way for another mould";

/// What heat flow is reckoned from.
fn properties(build: &Build, casting: &Casting) -> Vec<Node> {
    let alloy = &casting.alloy;
    let temperatures =
        [&alloy.pours, &alloy.liquidus, &alloy.solidus].map(|f| f.as_ref().map(Figure::node));
    let metal = [
        alloy.latent_heat.as_ref().map(Figure::node),
        alloy.liquid_density.as_ref().map(Figure::node),
        alloy.feeds_until.as_ref().map(Figure::node),
    ];
    let conducts = [&alloy.solid_conductivity, &alloy.liquid_conductivity];
    let heats = [&alloy.solid_heat, &alloy.liquid_heat];
    let sand = build.patterns[casting.pattern].sand.as_ref();
    let sand = sand.map(|s| {
        [
            s.conductivity.as_ref().map(Figure::node),
            s.rammed_density.as_ref().map(Figure::node),
            s.heat.as_ref().map(Figure::node),
            s.contact.as_ref().map(Figure::node),
        ]
    });
    let all = temperatures.into_iter().chain(metal);
    let all = all.chain(conducts.map(|f| f.as_ref().map(Figure::node)));
    let all = all.chain(heats.map(|f| f.as_ref().map(Figure::node)));
    all.chain(sand.into_iter().flatten()).flatten().cloned().collect()
}
