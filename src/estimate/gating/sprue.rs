//! Basin and sprue: the choke that fills the mould in its time, and how fast the metal falls.

use super::{Filled, LEAST_SPRUE, across, as_made};
use crate::estimate::workshop::{TUBES, next_of};
use crate::estimate::{listed, pouring, rule};
use crate::figure::*;
use crate::handbook::formulas::gating::{self, Gate};
use crate::handbook::formulas::metal;
use crate::manifest::Pattern;

/// A fall (m) after which a stream runs faster than 0.5 m/s: 0.5^2 / (2 g).
const FREE_FALL: f64 = 0.0127;

/// Basin and sprue of one mould.
#[derive(Debug, Clone)]
pub struct Sprue {
    /// Castings and feeders of the mould: what runs through the choke.
    pub through: Figure<Mass>,
    /// Pouring time aimed at.
    pub time_wanted: Figure<Time>,
    /// Level of the basin above the gate.
    pub head: Figure<Length>,
    /// Head that acts over the whole filling.
    pub effective_head: Figure<Length>,
    /// From the gate to the lowest place of the cavity.
    pub fall: Figure<Length>,
    /// Choke area wanted.
    pub choke: Figure<Area>,
    /// Foot, as made: the choke.
    pub base: Figure<Length>,
    /// Top area over base area.
    pub taper: Figure<Number>,
    /// Top, as made.
    pub top: Figure<Length>,
    /// Metal in the basin.
    pub basin_depth: Figure<Length>,
    /// Top of the basin, as made.
    pub basin_diameter: Figure<Length>,
    /// Flow through the sprue as made.
    pub flow: Figure<Flow>,
    /// Pouring time with the sprue as made.
    pub time: Figure<Time>,
    /// Speed at the foot.
    pub speed: Figure<Speed>,
    /// In the foot; none where the alloy has no viscosity.
    pub reynolds: Option<Figure<Number>>,
    /// From foot to basin.
    pub(in crate::estimate) height: Figure<Length>,
    /// Of the foot as made.
    pub(super) area: Figure<Area>,
    /// A tube that cuts it, in plain words.
    pub(in crate::estimate) tube: Option<String>,
    pub(super) warnings: Vec<String>,
}

/// How high the metal stands over the gate.
struct Heads {
    sprue: Figure<Length>,
    whole: Figure<Length>,
    acting: Figure<Length>,
    /// Why they are too low to fill the mould, if they are.
    low: Option<&'static str>,
}

impl Heads {
    fn of(
        pattern: &Pattern,
        cope: &Figure<Length>,
        depth: &Figure<Length>,
        basin: &Figure<Length>,
    ) -> Option<Self> {
        let none = || Figure::counted("pattern depth in the cope", 0.0, "none is given");
        let in_cope = pattern.in_cope.clone().unwrap_or_else(none);
        let taken = std::slice::from_ref(&in_cope);
        let (gate_name, name, sprue) = match pattern.gate {
            Gate::Parting => ("at the parting", "basin above the parting", cope.clone()),
            Gate::Bottom => {
                let below = depth.less("depth in the drag", taken);
                let sprue = Figure::sum("sprue", &[cope.clone(), below])?;
                ("at the bottom", "basin above the gate", sprue)
            }
            Gate::Top => ("at the top", "basin above the gate", cope.less("sprue", taken)),
        };
        let whole = Figure::sum(name, &[sprue.clone(), basin.clone()])?;
        let gate = Figure::<Gate>::counted("gate", pattern.gate.si(), gate_name);
        let acting = gating::effective_head::figure(&gate, &whole, depth, &in_cope);
        let likely = [pattern.gate.si(), whole.si(), depth.si(), in_cope.si()];
        let low = (gating::effective_head::FORMULA.doubt)(&likely);
        Some(Self { sprue, whole, acting, low })
    }
}

impl Sprue {
    /// With so deep a basin (m); none where pattern or alloy leave out what it goes by.
    pub(super) fn reckon(mould: Filled<'_>, basin: f64) -> Option<Self> {
        let Filled { build, casting, freezing, cope, each } = mould;
        let system = build.header.units;
        let alloy = &casting.alloy;
        let pattern = &build.patterns[casting.pattern].given;
        let (depth, density) = (pattern.depth.as_ref()?, alloy.liquid_density.as_ref()?);
        let through = each.times(pattern.cavities, "castings and feeders of the mould");
        let basin_depth: Figure<Length> = rule(
            "metal in the basin",
            [basin; 3],
            Known::FromMemory,
            "2.5 times the top of the sprue or more, up to 75 mm; set on the cope and kept full",
        )
        .safe_at(SafeEnd::High)
        .noting("the lowest level to pour by: below it the sprue draws air and fills more slowly than computed");
        let heads = Heads::of(pattern, cope, depth, &basin_depth)?;
        let fall = fall(pattern, depth);
        let mut warnings: Vec<String> = falls(pattern, &fall, system).into_iter().collect();
        warnings.extend(heads.low.map(str::to_owned));
        let time_wanted = pouring::wanted(casting, freezing, &through, system, &mut warnings);
        let discharge: Figure<Number> = rule(
            "discharge",
            [0.75, 0.8, 0.9],
            Known::FromMemory,
            "straight sprue 0.75 to 0.8, tapered 0.85 to 0.9",
        );
        let mass = through.reference("metal-through-choke");
        let aim = time_wanted.reference("pouring-time-wanted");
        let drop = heads.acting.reference("effective-head");
        let choke = gating::choke_area::figure(&mass, density, &aim, &drop, &discharge);
        let made = |name, wanted: &_| as_made(name, LEAST_SPRUE, wanted, system);
        let base = made("foot of the sprue, as made", &across("foot of the sprue", &choke));
        let foot = base.reference("sprue-base");
        let taper = gating::sprue_taper::figure(&basin_depth, &heads.whole);
        let top = made("top of the sprue, as made", &gating::sprue_top::figure(&foot, &taper));
        let rim = gating::basin_top::figure(&top.reference("sprue-top"));
        let area = gating::circle_area::figure(&foot).named("choke, as made");
        let free = gating::flow::figure(&drop, &area).named("flow without loss");
        let liquid = metal::volume_of_mass::figure(&mass, density).named("metal through the choke");
        let still = Figure::<Speed>::counted("entry speed", 0.0, "the basin is at rest");
        let speed = gating::fall_speed::figure(&heads.whole, &still);
        let speed = speed.named("speed at the foot of the sprue");
        let reynolds = alloy.viscosity.as_ref();
        let reynolds = reynolds.map(|v| gating::reynolds::figure(density, &speed, &foot, v));
        Some(Self {
            flow: gating::flow_with_loss::figure(&free, &discharge),
            time: gating::fill_time::figure(&liquid, &area, &drop, &discharge)
                .named("pouring time"),
            basin_diameter: as_made("top of the basin, as made", 0.04, &rim, system),
            tube: tube(foot.si(), system),
            height: heads.sprue,
            head: heads.whole,
            effective_head: heads.acting,
            fall,
            through,
            time_wanted,
            choke,
            base,
            taper,
            top,
            basin_depth,
            area,
            speed,
            reynolds,
            warnings,
        })
    }

    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            through = "metal-through-choke", time_wanted = "pouring-time-wanted", head = "head",
            effective_head = "effective-head", fall = "fall-in-cavity", choke = "choke-area", base = "sprue-base",
            taper = "sprue-taper", top = "sprue-top", basin_depth = "basin-depth",
            basin_diameter = "basin-diameter", flow = "flow", time = "pouring-time",
            speed = "sprue-speed", reynolds = "reynolds")
    }
}

/// How far the metal falls from the gate to the lowest place of the cavity.
fn fall(pattern: &Pattern, depth: &Figure<Length>) -> Figure<Length> {
    const NAME: &str = "fall inside the cavity";
    match pattern.gate {
        Gate::Top => depth.named(NAME),
        Gate::Bottom => Figure::counted(NAME, 0.0, "gated at the bottom"),
        Gate::Parting => {
            let taken: Vec<_> = pattern.in_cope.iter().cloned().collect();
            let fall = depth.less("depth in the drag", &taken).named(NAME);
            match pattern.in_cope {
                Some(_) => fall,
                None => fall.noting("how it lies is not known: taken as all in the drag"),
            }
        }
    }
}

/// Said where the metal falls free into the cavity.
fn falls(pattern: &Pattern, fall: &Figure<Length>, system: System) -> Option<String> {
    if fall.si() <= FREE_FALL {
        return None;
    }
    let s = |v| show(Kind::Length, v, system);
    let (from, gate) = match pattern.gate {
        Gate::Top => ("gated at the top".to_owned(), "the parting or the bottom"),
        Gate::Parting if pattern.in_cope.as_ref().is_some_and(|f| f.si() <= 0.0) => (
            "it lies wholly in the drag, so that a gate at the parting is a top pour:".to_owned(),
            "the bottom",
        ),
        _ => return None,
    };
    Some(format!(
        "{from} the metal falls {} into the cavity; beyond {} it breaks up, draws in air and makes oxide, worst in aluminium and aluminium bronze: gate it at {gate}",
        s(fall.si()),
        s(FREE_FALL)
    ))
}

/// The copper tube that cuts a sprue of this foot (m).
fn tube(foot: f64, system: System) -> Option<String> {
    let trade = match system {
        System::Metric => "EN 1057",
        System::Us => "ASTM B88",
    };
    next_of(TUBES, foot, system).map(|size| {
        format!(
            "copper tube of {} outside ({trade}) cuts a sprue of that foot; ream it wider towards the top",
            show(Kind::Length, size, system)
        )
    })
}
