//! Basin and sprue: the choke that fills the mould in its time, and how fast the metal falls.

use super::{LEAST_SPRUE, across, as_made, closed};
use crate::estimate::freezing::FreezingEstimate;
use crate::estimate::workshop::{TUBES, next_of};
use crate::estimate::{less, pouring, rule, settled, times};
use crate::figure::*;
use crate::handbook::formulas::gating::{self, Gate};
use crate::model::{Build, Casting};
use std::f64::consts::PI;

/// A fall (m) after which a stream runs faster than 0.5 m/s: 0.5^2 / (2 g).
const FREE_FALL: f64 = 0.0127;

/// Basin and sprue of one mould.
pub(super) struct Sprue {
    pub through: Figure<Mass>,
    pub time_wanted: Figure<Time>,
    pub head: Figure<Length>,
    pub effective_head: Figure<Length>,
    pub choke: Figure<Area>,
    /// Foot, as made.
    pub base: Figure<Length>,
    pub taper: Figure<Number>,
    /// Top, as made.
    pub top: Figure<Length>,
    pub basin_depth: Figure<Length>,
    /// From foot to basin.
    pub height: Figure<Length>,
    /// Of the foot as made.
    pub area: Figure<Area>,
    pub flow: Figure<Flow>,
    pub time: Figure<Time>,
    pub speed: Figure<Speed>,
    pub reynolds: Option<Figure<Number>>,
    /// A tube that cuts it, in plain words.
    pub tube: Option<String>,
    pub warnings: Vec<String>,
}

impl Sprue {
    /// From the depth of the cope, the metal of one casting and of the basin; none where pattern or
    /// alloy leave one of them out.
    pub fn reckon(
        build: &Build,
        casting: &Casting,
        freezing: &FreezingEstimate,
        (cope, each, basin): (&Figure<Length>, &Figure<Mass>, f64),
    ) -> Option<Self> {
        let system = build.header.units;
        let alloy = &casting.alloy;
        let pattern = &build.patterns[casting.pattern].given;
        let (depth, density) = (pattern.depth.as_ref()?, alloy.liquid_density.as_ref()?);
        let through = times(each, pattern.cavities, "castings and feeders of the mould");
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
                let below = less("depth in the drag", depth, taken);
                let sprue = Figure::sum("sprue", &[cope.clone(), below])?;
                ("at the bottom", "basin above the gate", sprue)
            }
            Gate::Top => ("at the top", "basin above the gate", less("sprue", cope, taken)),
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
        let reynolds = alloy
            .viscosity
            .as_ref()
            .map(|v| gating::reynolds::figure(density, &sprue_speed, &foot, v));
        Some(Self {
            through,
            time_wanted,
            head,
            effective_head: effective,
            choke,
            base: sprue_base,
            taper,
            top: sprue_top,
            basin_depth,
            height: sprue_height,
            area: base_area,
            flow,
            time,
            speed: sprue_speed,
            reynolds,
            tube,
            warnings,
        })
    }
}
