//! What lifts the mould open, and what holds it down.

use super::gating::GatingEstimate;
use super::{listed, rule};
use crate::figure::*;
use crate::handbook::formulas::loads::{self, LiftConvention};
use crate::handbook::formulas::pattern as pattern_formulas;
use crate::manifest::Flask;
use crate::model::{Build, Casting};

/// Loads on one mould.
#[derive(Debug, Clone, Default)]
pub struct LoadEstimate {
    /// Plan of the cavity.
    pub plan: Option<Figure<Area>>,
    /// Basin above the ceiling of the cavity.
    pub ceiling_head: Option<Figure<Length>>,
    /// Lift of the cope.
    pub cope_lift: Option<Figure<Force>>,
    /// Lift of the cores, net of their weight.
    pub core_lift: Option<Figure<Force>>,
    /// Sand of the cope and its box.
    pub cope_mass: Option<Figure<Mass>>,
    /// The same of the drag.
    pub drag_mass: Option<Figure<Mass>>,
    /// Weight of the cope over the whole lift.
    pub margin: Option<Figure<Number>>,
    /// To be laid on.
    pub weights: Option<Figure<Mass>>,
    /// In plain words.
    pub warnings: Vec<String>,
}

impl LoadEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            plan = "plan-area", ceiling_head = "ceiling-head", cope_lift = "cope-lift",
            core_lift = "core-lift", cope_mass = "cope-mass", drag_mass = "drag-mass",
            margin = "cope-over-lift", weights = "weights-on-cope")
    }
}

pub(super) fn estimate(
    build: &Build,
    casting: &Casting,
    rough_volume: Option<&Figure<Volume>>,
    gating: Option<&GatingEstimate>,
    cope: Option<&Figure<Length>>,
    flask: Option<&Flask>,
) -> LoadEstimate {
    let mut out = LoadEstimate::default();
    let pattern = &build.patterns[casting.pattern];
    let given = &pattern.given;
    let density = casting.alloy.liquid_density.as_ref();
    let sand = pattern.sand.as_ref().and_then(|s| s.rammed_density.as_ref());
    out.plan = (|| {
        let (l, w, d) = (given.length.as_ref()?, given.width.as_ref()?, given.depth.as_ref()?);
        let most = l.si() * w.si();
        let least = rough_volume
            .map_or(0.0, |v| v.node().range().low * f64::from(given.cavities) / d.si())
            .min(most);
        let range = Range { low: least, likely: most, high: most };
        let plan = Figure::<Area>::typed(
            loads::rectangle::FORMULA
                .figure_between(vec![l.node().clone(), w.node().clone()], range),
        );
        let plan = plan.named("plan of the cavity");
        Some(plan.noting("the rectangle around it, so rather too much: on the safe side; at the least volume / depth"))
    })();
    let level = cope.zip(gating.map(|g| &g.sprue.basin_depth)).and_then(|(cope, basin)| {
        Figure::sum("basin above the parting", &[cope.clone(), basin.clone()])
    });
    out.ceiling_head = level.as_ref().map(|head| {
        let h = head.node().range();
        let up = given.in_cope.as_ref().map_or(0.0, Figure::si);
        let over = |h: f64, up: f64| (h - up).max(0.0);
        let ends = Range { low: over(h.low, up), likely: over(h.likely, up / 2.0), high: h.high };
        let nodes = std::iter::once(head).chain(&given.in_cope).map(|f| f.node().clone());
        Figure::typed(loads::ceiling_head::FORMULA.figure_between(nodes.collect(), ends))
    });
    out.cope_lift = (|| {
        Some(loads::cope_lift::figure(out.plan.as_ref()?, out.ceiling_head.as_ref()?, density?))
    })();
    out.core_lift = (|| {
        let cores = casting.given.cores.as_ref()?;
        let cores = cores.times(given.cavities, "cores of the mould");
        let lift = casting.given.core_lift;
        let says = match lift {
            LiftConvention::Net => {
                "net of the cores' own weight (P. N. Rao's way); `lift: displaced` under `cores:` leaves that out and is the safer"
            }
            LiftConvention::Displaced => {
                "the metal displaced alone, the cores' weight left out (giessereilexikon.com), as `lift:` asks"
            }
        };
        let convention = Figure::<LiftConvention>::counted("convention", lift.si(), says);
        Some(loads::core_lift::figure(&cores, density?, sand?, &convention))
    })();
    if let Some((flask, sand)) = flask.zip(sand) {
        out.cope_mass = half(flask, &flask.cope, sand, "cope, sand and box");
        out.drag_mass = half(flask, &flask.drag, sand, "drag, sand and box");
    }
    hold(build.header.units, &mut out);
    out
}

/// Loads on a mould of several patterns, from those of each in its flask.
pub(super) fn together(units: System, each: &[&LoadEstimate]) -> LoadEstimate {
    let all = |of: fn(&LoadEstimate) -> &Option<Figure<Force>>, name| {
        let of: Vec<_> = each.iter().filter_map(|l| of(l).clone()).collect();
        Figure::sum(name, &of)
    };
    let first = |of: fn(&LoadEstimate) -> &Option<Figure<Mass>>| of(each.first()?).clone();
    let mut out = LoadEstimate {
        plan: each
            .iter()
            .map(|l| l.plan.clone())
            .collect::<Option<Vec<_>>>()
            .and_then(|plans| Figure::sum("plan of the cavities", &plans)),
        // A lift that is not known of one is not known of all.
        cope_lift: all(|l| &l.cope_lift, "lift of the cope")
            .filter(|_| each.iter().all(|l| l.cope_lift.is_some())),
        core_lift: all(|l| &l.core_lift, "lift of the cores"),
        cope_mass: first(|l| &l.cope_mass),
        drag_mass: first(|l| &l.drag_mass),
        ..LoadEstimate::default()
    };
    hold(units, &mut out);
    out
}

/// What is to be laid on a mould that is lifted so.
fn hold(units: System, out: &mut LoadEstimate) {
    let none = || Figure::<Force>::counted("lift of the cores", 0.0, "no cores");
    let cores = out.core_lift.as_ref().map_or_else(none, |f| f.reference("core-lift"));
    let factor: Figure<Number> = rule(
        "margin on the lift",
        [1.5; 3],
        Known::FromMemory,
        "1.5 is common teaching; Shop Practice vol. 1 lays 150 lb on a lift of 104.8 lb",
    );
    out.weights = out.cope_lift.as_ref().map(|lift| {
        let cope = out.cope_mass.as_ref().map(|m| m.reference("cope-mass")).unwrap_or_else(|| {
            Figure::counted("cope, sand and box", 0.0, "no flask is known, so it is left out")
        });
        loads::mould_weight::figure(&lift.reference("cope-lift"), &cores, &cope, &factor)
            .named("weights on the cope")
            .safe_at(SafeEnd::High)
    });
    out.margin = (|| {
        let (cope, lift) = (out.cope_mass.as_ref()?, out.cope_lift.as_ref()?);
        let lifts = Figure::sum("whole lift", &[lift.reference("cope-lift"), cores.clone()])?;
        (lifts.node().range().low > 0.0)
            .then(|| loads::cope_margin::figure(&cope.reference("cope-mass"), &lifts))
    })();
    out.warnings.extend(words(units, out));
}

/// Sand and box of one half of a mould.
fn half(
    flask: &Flask,
    depth: &Figure<Length>,
    sand: &Figure<Density>,
    name: &'static str,
) -> Option<Figure<Mass>> {
    let inside = pattern_formulas::flask_volume::figure(&flask.length, &flask.width, depth);
    let nothing = Figure::<Volume>::counted("metal", 0.0, "rammed full; the cavity is left out");
    let rammed = pattern_formulas::mould_sand::figure(&inside, &nothing, sand);
    let boards: Figure<Density> = rule(
        "wood of the box",
        [450.0, 600.0, 750.0],
        Known::FromMemory,
        "boards of 20 mm, softwood to hardwood",
    );
    let wood = loads::box_mass::figure(&flask.length, &flask.width, depth, &boards);
    Figure::sum(name, &[rammed, wood])
}

fn words(system: System, loads: &LoadEstimate) -> Option<String> {
    let (lift, weights) = (loads.cope_lift.as_ref()?, loads.weights.as_ref()?);
    let force = show(Kind::Force, lift.si(), system);
    let mass = |kg| show(Kind::Mass, kg, system);
    let clamped = "also where the flasks are clamped or screwed together";
    Some(if weights.high() > 0.0 {
        let (most, likely) = (mass(weights.high()), mass(weights.si().max(0.0)));
        let likely = match weights.si() > 0.0 {
            true => format!("{likely} is likely enough"),
            false => "its own weight is likely enough".into(),
        };
        format!("the metal lifts the cope with {force}: lay {most} on it, {clamped}; {likely}")
    } else {
        format!(
            "the metal lifts the cope with {force}; its own weight is margin enough, and some weight on it does no harm"
        )
    })
}
