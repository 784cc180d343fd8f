//! One casting: volume, mass, what is poured, what is charged.

use super::feeding::FeedingEstimate;
use super::field::Field;
use super::freezing::FreezingEstimate;
use super::gating::{self, GatingEstimate};
use super::handling::{self, HandlingEstimate};
use super::layout::{Held, Laid, Layout};
use super::listed;
use super::loads::{self, LoadEstimate};
use super::mould::{self, Cast, FlaskFit, MouldEstimate};
use super::pattern_sheet::{self, PatternSheet};
use super::ready::{InMould, Ready};
use super::size::SizeEstimate;
use crate::figure::*;
use crate::handbook::formulas::metal;
use crate::manifest::Step;
use crate::model::{Build, Casting, Lying, Part};
use std::sync::Arc;

/// The figures of one casting and of the mould it comes from.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct CastingEstimate {
    /// Volume, surface and mass, finished and as cast.
    pub size: SizeEstimate,
    /// Poured for one casting, gates and feeders with it.
    pub poured: Option<Figure<Mass>>,
    /// Charged for one casting.
    pub charge: Option<Figure<Mass>>,
    /// Casting over metal poured.
    pub casting_yield: Option<Figure<Ratio>>,
    /// Moulds for all pieces that the machine needs.
    pub moulds: u32,
    /// Sand of its cores, by volume.
    pub cores: Option<Figure<Volume>>,
    /// The mould.
    pub mould: MouldEstimate,
    /// Cooling and freezing.
    pub freezing: FreezingEstimate,
    /// Heat flow, where it was reckoned.
    pub field: Field,
    /// When its mould may be opened, counted from pouring: one number for plan, card, pour sheet
    /// and doubt, its range closed at the safe end.
    pub not_before: Option<Figure<Time>>,
    /// The lowest temperature to pour at.
    pub coldest: Option<Figure<Temperature>>,
    /// Feeders.
    pub feeding: FeedingEstimate,
    /// Gating of the mould.
    pub gating: Option<GatingEstimate>,
    /// Its mould laid out, and which pattern of it is its own; none where the pattern has no size.
    pub layout: Option<(Arc<Layout>, usize)>,
    /// Metal of its mould within the flask.
    pub held: Held,
    /// Lift, and weights against it.
    pub loads: LoadEstimate,
    /// Lifts by hand.
    pub handling: HandlingEstimate,
    /// Pattern maker's figures.
    pub pattern: PatternSheet,
    /// How the alloy freezes and is fed, in plain words.
    pub notes: Vec<String>,
    /// Dangers and doubts, each with the habit that meets it, in plain words.
    pub warnings: Vec<String>,
}

impl CastingEstimate {
    /// The body of the casting as it lies; none where it is not known.
    pub fn body(&self) -> Option<Arc<Lying>> {
        let (layout, n) = self.layout.as_ref()?;
        layout.patterns[*n].body.clone()
    }

    /// Its warnings without those of the crucible, which stand where it is lifted.
    pub fn mould_warnings(&self) -> impl Iterator<Item = &String> {
        self.warnings.iter().filter(|w| !self.handling.pot_warnings.contains(w))
    }

    /// Its figures, by the name that `why` answers to.
    pub fn figures(&self) -> Vec<(&'static str, Node)> {
        self.groups().into_iter().flat_map(|(_, figures)| figures).collect()
    }

    /// The same under the headings that every view lists them by.
    pub fn groups(&self) -> Vec<(&'static str, Vec<(&'static str, Node)>)> {
        let mut metal = self.size.figures();
        metal.extend::<Vec<(&'static str, Node)>>(listed!(self:
            poured = "poured", casting_yield = "casting-yield", charge = "charge"));
        let mut mould = self.mould.figures();
        mould.extend(self.cores.as_ref().map(|f| ("cores", f.node().clone())));
        let mut freezing = self.freezing.figures();
        freezing.extend(self.not_before.as_ref().map(|f| ("opened-not-before", f.node().clone())));
        freezing.extend(self.coldest.as_ref().map(|f| ("pour-no-colder", f.node().clone())));
        let mut loads = self.loads.figures();
        loads.extend(self.handling.figures());
        let all = vec![
            ("Casting and metal", metal),
            ("Mould, pot and fuel", mould),
            ("Freezing", freezing),
            ("Feeders", self.feeding.figures()),
            ("Gating", self.gating.iter().flat_map(GatingEstimate::figures).collect()),
            ("Weights and lifts", loads),
            ("Pattern", self.pattern.figures()),
        ];
        all.into_iter().filter(|(_, figures)| !figures.is_empty()).collect()
    }
}

/// Sand of the cores that are made for a casting, by volume: with their prints where they are drawn,
/// else as given. None where that step is left out.
pub(crate) fn cores(build: &Build, part: &Part, casting: &Casting) -> Option<Figure<Volume>> {
    let given = casting.given.cores.as_ref().filter(|_| part.steps().contains(&Step::Core))?;
    let drawn = casting.drawn_cores(&build.patterns[casting.pattern]);
    let Some(drawn) = drawn.filter(|drawn| given.low() <= drawn.with_prints) else {
        return Some(given.clone());
    };
    const HOW: &str = "the holes that are cored as they are drawn, with a print at each open end, in \
                       the measure of the core boxes";
    let because = Because::Closed(HOW, vec![given.node().clone()]);
    Some(Figure::new("cores with their prints", Range::exact(drawn.with_prints), because))
}

impl Ready<'_> {
    /// Its figures in a mould.
    pub fn estimate(self, in_mould: InMould) -> CastingEstimate {
        let held = self.held(&in_mould);
        let Self { build, part, casting, size, freezing, feeding, field, each, .. } = self;
        let InMould { fit, gating, layout } = in_mould;
        let (alloy, units) = (&casting.alloy, build.header.units);
        let flask = match &fit {
            FlaskFit::Fits(id) => build.shop.flasks.get(id),
            _ => None,
        };
        let cope = gating::cope_depth(build, casting, flask);
        let cavities = build.patterns[casting.pattern].given.cavities;
        let (poured, casting_yield) = match (&each, &gating, &size.rough_mass) {
            (Some(_), Some(gates), Some(mass)) => {
                let feeders = feeding.mass().map(|m| m.reference("feeder-mass"));
                let gates = share(&gates.mass.reference("gating-mass"), cavities);
                let parts: Vec<_> =
                    [mass.clone()].into_iter().chain(feeders).chain([gates]).collect();
                let poured = Figure::sum("metal poured", &parts);
                let casting_yield = poured.as_ref().map(|poured| yield_of(mass, poured));
                (poured, casting_yield)
            }
            _ => {
                let casting_yield = alloy.casting_yield.clone();
                let poured = size
                    .rough_mass
                    .as_ref()
                    .zip(casting_yield.as_ref())
                    .map(|(mass, share)| metal::poured_by_yield::figure(mass, share));
                (poured, casting_yield)
            }
        };
        let charge = poured
            .as_ref()
            .zip(alloy.melt_loss.as_ref())
            .map(|(poured, loss)| metal::charge::figure(poured, loss));
        let moulds = part.given.quantity.div_ceil(cavities);
        let cores = cores(build, part, casting);
        let cast = Cast {
            casting,
            held: held.all.as_ref(),
            surface: size.rough_surface.as_ref(),
            cores: cores.as_ref(),
            poured: poured.as_ref(),
        };
        let mould = mould::estimate(build, cast, &[], fit);
        let laid = layout.as_ref().map(|(layout, n)| (&**layout, &layout.patterns[*n]));
        let loads = loads::estimate(&loads::Mould {
            build,
            casting,
            rough_volume: size.rough_volume.as_ref(),
            gating: gating.as_ref(),
            cope: cope.as_ref(),
            flask,
            laid,
            held: std::slice::from_ref(&held),
        });
        let handling = handling::estimate(build, &mould, &loads, flask);
        let pattern = pattern_sheet::estimate(build, casting);
        let lists = [
            &handling.pot_warnings,
            &mould.warnings,
            &handling.warnings,
            &loads.warnings,
            &feeding.warnings,
        ];
        let gated = gating.iter().flat_map(|g| &g.warnings);
        let rings = rings(laid, units);
        let no_room = laid.and_then(|(_, laid)| no_room(laid, &feeding, units));
        let lists =
            lists.into_iter().flatten().chain(gated).chain(&no_room).chain(&pattern.warnings);
        let warnings = lists.cloned().chain(freezing.warnings()).collect();
        CastingEstimate {
            size,
            poured,
            charge,
            casting_yield,
            moulds,
            cores,
            notes: (feeding.notes.iter())
                .chain(&rings)
                .chain(gating.iter().filter_map(|g| g.sprue.tube.as_ref()))
                .chain(&mould.notes)
                .cloned()
                .collect(),
            mould,
            not_before: not_before(build, casting, &freezing),
            coldest: super::coldest(&casting.alloy),
            freezing,
            field,
            feeding,
            gating,
            layout,
            held,
            loads,
            handling,
            pattern,
            warnings,
        }
    }
}

/// Said where the casting has no room for the feeders that it wants.
fn no_room(laid: &Laid, feeding: &FeedingEstimate, units: System) -> Option<String> {
    let feeders = feeding.feeders.as_ref().filter(|_| laid.no_room > 0)?;
    let s = |f: &Figure<Length>| show(Kind::Length, f.si(), units);
    Some(format!(
        "{} of {} feeders do not fit on it: a neck of {} needs metal all under it, and feeders of {} need sand between them; chill what stays unfed, or feed it from the side",
        laid.no_room,
        feeders.number.si(),
        s(&feeders.neck_diameter),
        s(&feeders.diameter)
    ))
}

/// What of the feeders rises out of the cope, in words.
fn rings(laid: Option<(&Layout, &Laid)>, units: System) -> Option<String> {
    let (layout, laid) = laid?;
    let rings = laid.feeders.iter().filter_map(|feeder| layout.ring(laid, feeder));
    let highest = rings.reduce(f64::max)?;
    Some(format!(
        "a ring of {} on the cope for each feeder that comes out of it, as high as the metal in the basin or higher: else it runs over",
        show(Kind::Length, highest, units)
    ))
}

/// The longer of the time reckoned for its freezing, at its longest, and of what the trade waits
/// for such a metal.
fn not_before(
    build: &Build,
    casting: &Casting,
    freezing: &FreezingEstimate,
) -> Option<Figure<Time>> {
    let reckoned = freezing.shake_out_after.as_ref().map(|t| t.reference("shake-out-after"));
    let usual = build.handbook.time(&format!("cool/{}", casting.alloy.family.word()));
    let most = reckoned.as_ref().map_or(0.0, Figure::high).max(usual.map_or(0.0, Figure::si));
    let nodes: Vec<Node> = reckoned.iter().chain(usual).map(|f| f.node().clone()).collect();
    const WHY: &str =
        "the longer of the computed time, at its longest, and the usual time for the metal";
    (!nodes.is_empty()).then(|| {
        Figure::new("opened not before", Range::exact(most), Because::Chosen(WHY.into(), nodes))
            .safe_at(SafeEnd::High)
    })
}

/// One casting's share of what serves the whole mould.
fn share(gates: &Figure<Mass>, cavities: u32) -> Figure<Mass> {
    if cavities == 1 {
        return gates.clone();
    }
    let n = f64::from(cavities);
    let count = Figure::<Number>::counted("castings in the mould", n, "of the pattern");
    gates.shared("gating, share of one casting", "gating / castings in the mould", &count)
}

/// Casting over metal poured; a heavier casting goes with more metal poured.
fn yield_of(mass: &Figure<Mass>, poured: &Figure<Mass>) -> Figure<Ratio> {
    let nodes = [mass.reference("rough-mass"), poured.reference("poured")];
    Figure::typed(
        metal::casting_yield::FORMULA.figure_together(nodes.map(|f| f.node().clone()).into()),
    )
}
