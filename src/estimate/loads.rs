//! What lifts the mould open, and what holds it down.

use super::gating::GatingEstimate;
use super::layout::{Held, Laid, Layout, Rect};
use super::{listed, rule};
use crate::figure::*;
use crate::handbook::formulas::loads::{self, LiftConvention};
use crate::handbook::formulas::pattern as pattern_formulas;
use crate::manifest::Flask;
use crate::model::{Build, Casting};

/// Loads on one mould.
#[derive(Debug, Clone, Default)]
#[non_exhaustive]
pub struct LoadEstimate {
    /// Plan of the cavity.
    pub plan: Option<Figure<Area>>,
    /// Sand in the cope over the highest place of the casting.
    pub sand_over: Option<Figure<Length>>,
    /// Sand in the drag under its lowest.
    pub sand_under: Option<Figure<Length>>,
    /// Basin above the ceiling of the cavity.
    pub ceiling_head: Option<Figure<Length>>,
    /// Lift of the cope.
    pub cope_lift: Option<Figure<Force>>,
    /// Lift of the cores, net of their weight.
    pub core_lift: Option<Figure<Force>>,
    /// Sand of the cope and its box, without the metal that it holds.
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
            plan = "plan-area", sand_over = "sand-over", sand_under = "sand-under", ceiling_head = "ceiling-head", cope_lift = "cope-lift",
            core_lift = "core-lift", cope_mass = "cope-mass", drag_mass = "drag-mass",
            margin = "cope-over-lift", weights = "weights-on-cope")
    }
}

/// A mould whose loads are asked for.
pub(super) struct Mould<'a> {
    pub build: &'a Build,
    pub casting: &'a Casting,
    pub rough_volume: Option<&'a Figure<Volume>>,
    pub gating: Option<&'a GatingEstimate>,
    /// Depth of the cope.
    pub cope: Option<&'a Figure<Length>>,
    pub flask: Option<&'a Flask>,
    /// The mould laid out, and what in it is of this casting.
    pub laid: Option<(&'a Layout, &'a Laid)>,
    /// Metal of each pattern in it.
    pub held: &'a [Held],
}

pub(super) fn estimate(mould: &Mould<'_>) -> LoadEstimate {
    let Mould { build, casting, gating, cope, flask, .. } = *mould;
    let mut out = LoadEstimate::default();
    let pattern = &build.patterns[casting.pattern];
    let given = &pattern.given;
    let density = casting.alloy.liquid_density.as_ref();
    let sand = pattern.sand.as_ref().and_then(|s| s.rammed_density.as_ref());
    let seen = mould.laid.and_then(|(_, laid)| Seen::of(laid));
    out.plan = match &seen {
        Some(seen) => seen.plan(mould),
        None => rectangle(mould),
    };
    let level = cope.zip(gating.map(|g| &g.sprue.basin_depth)).and_then(|(cope, basin)| {
        Figure::sum("basin above the parting", &[cope.clone(), basin.clone()])
    });
    out.ceiling_head = level.as_ref().map(|head| match &seen {
        Some(seen) => seen.head(head),
        None => head_at_most(head, given.in_cope.as_ref()),
    });
    if let Some((layout, laid)) = mould.laid.filter(|(layout, _)| layout.flask.is_some()) {
        let sand = |name: &str, depth: f64| {
            let because = Because::Closed(
                "depth of the box less the casting in it, as the mould is laid out",
                Vec::new(),
            );
            Figure::<Length>::new(name.to_owned(), Range::exact(depth), because)
        };
        out.sand_over = Some(sand("sand over the casting", layout.cope - laid.ends[1]));
        out.sand_under = Some(sand("sand under the casting", layout.drag + laid.ends[0]));
    }
    out.cope_lift = (|| {
        Some(loads::cope_lift::figure(out.plan.as_ref()?, out.ceiling_head.as_ref()?, density?))
    })();
    out.core_lift = (|| {
        let cores = in_metal(build, casting)?;
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
    [out.cope_mass, out.drag_mass] = masses(build, &[casting], flask, mould.held);
    hold(build.header.units, &mut out);
    out
}

/// Sand and box of cope and drag, without the metal that they hold.
pub(super) fn masses(
    build: &Build,
    castings: &[&Casting],
    flask: Option<&Flask>,
    held: &[Held],
) -> [Option<Figure<Mass>>; 2] {
    let pattern = castings.first().map(|c| &build.patterns[c.pattern]);
    let sand = pattern.and_then(|p| p.sand.as_ref()?.rammed_density.as_ref());
    let Some((flask, sand)) = flask.zip(sand) else { return [None, None] };
    // What is not known of one is not known of all.
    let sum = |name, of: fn(&Held) -> &Option<Figure<Volume>>| {
        let each = held.iter().map(|h| of(h).clone()).collect::<Option<Vec<_>>>()?;
        Figure::sum(name, &each)
    };
    let cope = sum("metal in the cope", |h| &h.cope);
    let drag = sum("metal in the drag", |h| &h.drag);
    [
        half(flask, &flask.cope, (sand, cope), "cope, sand and box"),
        half(flask, &flask.drag, (sand, drag), "drag, sand and box"),
    ]
}

/// Where no body is known: the rectangle around the pattern.
fn rectangle(mould: &Mould<'_>) -> Option<Figure<Area>> {
    let given = &mould.build.patterns[mould.casting.pattern].given;
    let (l, w, d) = (given.length.as_ref()?, given.width.as_ref()?, given.depth.as_ref()?);
    let most = l.si() * w.si();
    let least = mould
        .rough_volume
        .map_or(0.0, |v| v.node().range().low * f64::from(given.cavities) / d.si())
        .min(most);
    let range = Range { low: least, likely: most, high: most };
    let plan = Figure::<Area>::typed(
        loads::rectangle::FORMULA.figure_between(vec![l.node().clone(), w.node().clone()], range),
    );
    let plan = plan.named("plan of the cavity");
    Some(plan.noting("the rectangle around it, for its body is not known: rather too much, on the safe side; at the least volume / depth"))
}

/// Where no body is known: the ceiling at the parting at the most.
fn head_at_most(head: &Figure<Length>, in_cope: Option<&Figure<Length>>) -> Figure<Length> {
    let h = head.node().range();
    let up = in_cope.map_or(0.0, Figure::si);
    let over = |h: f64, up: f64| (h - up).max(0.0);
    let ends = Range { low: over(h.low, up), likely: over(h.likely, up / 2.0), high: h.high };
    let nodes = std::iter::once(head).chain(in_cope).map(|f| f.node().clone());
    Figure::typed(loads::ceiling_head::FORMULA.figure_between(nodes.collect(), ends))
}

/// What the metal presses on in the cope, from above: castings by their bodies, runner and ingates.
struct Seen {
    /// Castings, m2, and with draft.
    castings: [f64; 2],
    /// Runner and ingates, m2.
    ways: f64,
    /// Mean height of what the metal presses on over the parting, m.
    ceiling: f64,
}

/// Draft that a pattern may have on it, tangent: 2 degrees.
const MOST_DRAFT: f64 = 0.035;

impl Seen {
    fn of(laid: &Laid) -> Option<Self> {
        let body = laid.body.as_deref()?;
        let many = laid.castings.len() as f64;
        let (sum, count) = body.columns().full().fold((0.0, 0.0), |(sum, count), column| {
            (sum + column.spans.last().map_or(0.0, |span| span[1]), count + 1.0)
        });
        let deepest = laid.ends.into_iter().map(f64::abs).fold(0.0, f64::max);
        let area = body.plan_area();
        let drafted = area + body.plan().perimeter() * deepest * MOST_DRAFT;
        let ways = laid.ways.as_ref().map_or(0.0, |ways| {
            let area = |rect: &Rect| rect.size()[0] * rect.size()[1];
            area(&ways.runner) + ways.ingates.iter().map(area).sum::<f64>()
        });
        let castings = [area, drafted].map(|area| area * many);
        let mean = if count > 0.0 { sum / count } else { 0.0 };
        let ceiling = mean * castings[0] / (castings[0] + ways);
        Some(Self { castings, ways, ceiling })
    }

    fn plan(&self, mould: &Mould<'_>) -> Option<Figure<Area>> {
        let [likely, high] = self.castings;
        let castings = Figure::new(
            "castings from above",
            Range { low: likely, likely, high },
            Because::Closed(
                "what their bodies cover as cast, with contraction; high: with 2 degrees of draft",
                mould.rough_volume.iter().map(|v| v.node().clone()).collect(),
            ),
        );
        let ways = mould.gating.map(|gating| {
            let ways = &gating.ways;
            let nodes = [
                ways.runner_side.reference("runner-side"),
                ways.runner_length.reference("runner-length"),
                ways.ingate_width.reference("ingate-width"),
            ];
            let nodes = nodes.map(|f| f.node().clone()).into();
            let because = Because::Closed("runner and ingates as they are laid out", nodes);
            Figure::new("runner and ingates from above", Range::exact(self.ways), because)
        });
        let all: Vec<_> = std::iter::once(castings).chain(ways).collect();
        Figure::sum("plan of the cavity", &all)
    }

    fn head(&self, level: &Figure<Length>) -> Figure<Length> {
        let ceiling: Figure<Length> = Figure::counted(
            "mean height of the ceiling over the parting",
            self.ceiling,
            "by the bodies as they lie, runner and ingates at the parting",
        );
        let range = level.node().range();
        let over = |h: f64| (h - self.ceiling).max(0.0);
        let range =
            Range { low: over(range.low), likely: over(range.likely), high: over(range.high) };
        let nodes = vec![level.node().clone(), ceiling.node().clone()];
        let because =
            Because::Closed("basin above the parting - mean height of the ceiling", nodes);
        Figure::new("basin above the ceiling of the cavity", range, because)
    }
}

/// Loads on a mould of several patterns, from those of each in its flask.
pub(super) fn together(
    units: System,
    each: &[&LoadEstimate],
    [cope_mass, drag_mass]: [Option<Figure<Mass>>; 2],
) -> LoadEstimate {
    let all = |of: fn(&LoadEstimate) -> &Option<Figure<Force>>, name| {
        let of: Vec<_> = each.iter().filter_map(|l| of(l).clone()).collect();
        Figure::sum(name, &of)
    };
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
        cope_mass,
        drag_mass,
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
    (sand, metal): (&Figure<Density>, Option<Figure<Volume>>),
    name: &'static str,
) -> Option<Figure<Mass>> {
    let inside = pattern_formulas::flask_volume::figure(&flask.length, &flask.width, depth);
    let metal = metal.unwrap_or_else(|| {
        const SAYS: &str = "rammed full: how the casting lies is not known without a body, so the cavity is left out";
        Figure::counted("metal", 0.0, SAYS)
    });
    let rammed = pattern_formulas::mould_sand::figure(&inside, &metal, sand);
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
            true => format!("{likely} is probably enough"),
            false => "its own weight is probably enough".into(),
        };
        format!("the metal lifts the cope with {force}: lay {most} on it, {clamped}; {likely}")
    } else {
        format!(
            "the metal lifts the cope with {force}; its own weight is enough, and some more on it does no harm"
        )
    })
}

/// What of the cores of a casting the metal flows around: as given, or what is drawn where that is
/// more, for the weights must hold it down.
fn in_metal(build: &Build, casting: &Casting) -> Option<Figure<Volume>> {
    let given = casting.given.cores.as_ref()?;
    let drawn = casting.drawn_cores(&build.patterns[casting.pattern]);
    let Some(drawn) = drawn.filter(|drawn| drawn.in_metal > given.high()) else {
        return Some(given.clone());
    };
    let because = Because::Closed("the holes that are cored as drawn", vec![given.node().clone()]);
    Some(Figure::new("cores in the metal", Range::exact(drawn.in_metal), because))
}
