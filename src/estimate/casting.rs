//! One casting: volume, mass, what is poured, what is charged.

use super::feeding::{self, FeedingEstimate};
use super::field::{self, Field};
use super::freezing::{self, FreezingEstimate};
use super::gating::{self, GatingEstimate};
use super::handling::{self, HandlingEstimate};
use super::layout::{self, Chosen, Held, Laid, Layout};
use super::loads::{self, LoadEstimate};
use super::mould::{self, Cast, FlaskFit, MouldEstimate};
use super::pattern_sheet::{self, PatternSheet};
use super::rough::Rough;
use super::sections::Whole;
use super::timed::Clocks;
use super::{listed, meshed};
use crate::figure::*;
use crate::freezing::{self as heat, Fed, Foot, Room, Setup, Ways};
use crate::handbook::formulas::{metal, pattern};
use crate::manifest::{Flask, ShapeGiven, Step, WoodGiven};
use crate::model::{Build, Casting, Lying, Part};
use crate::shape::Body;
use std::sync::Arc;

/// The figures of one casting and of the mould it comes from.
#[derive(Debug, Clone)]
pub struct CastingEstimate {
    /// Finished.
    pub volume: Option<Figure<Volume>>,
    /// All faces of its solids, as if none touched; none unless a shape is given.
    pub surface: Option<Figure<Area>>,
    /// Finished.
    pub net_mass: Option<Figure<Mass>>,
    /// Stock left for machining.
    pub allowance: Option<Figure<Length>>,
    /// As cast, with machining stock.
    pub rough_volume: Option<Figure<Volume>>,
    /// As cast, with machining stock; none unless a shape is given.
    pub rough_surface: Option<Figure<Area>>,
    /// As cast, with machining stock.
    pub rough_mass: Option<Figure<Mass>>,
    /// Poured for one casting, gates and feeders with it.
    pub poured: Option<Figure<Mass>>,
    /// Charged for one casting.
    pub charge: Option<Figure<Mass>>,
    /// Casting over metal poured.
    pub casting_yield: Option<Figure<Ratio>>,
    /// Moulds for all pieces that the machine needs.
    pub moulds: u32,
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
        let metal: Vec<(&'static str, Node)> = listed!(self:
            volume = "volume", surface = "surface", net_mass = "net-mass",
            allowance = "allowance", rough_volume = "rough-volume", rough_surface = "rough-surface",
            rough_mass = "rough-mass",
            poured = "poured", casting_yield = "casting-yield", charge = "charge");
        let mut freezing = self.freezing.figures();
        freezing.extend(self.not_before.as_ref().map(|f| ("opened-not-before", f.node().clone())));
        freezing.extend(self.coldest.as_ref().map(|f| ("pour-no-colder", f.node().clone())));
        let mut loads = self.loads.figures();
        loads.extend(self.handling.figures());
        let all = vec![
            ("Casting and metal", metal),
            ("Mould, pot and fuel", self.mould.figures()),
            ("Freezing", freezing),
            ("Feeders", self.feeding.figures()),
            ("Gating", self.gating.iter().flat_map(GatingEstimate::figures).collect()),
            ("Weights and lifts", loads),
            ("Pattern", self.pattern.figures()),
        ];
        all.into_iter().filter(|(_, figures)| !figures.is_empty()).collect()
    }
}

/// How large a casting is.
#[derive(Clone)]
struct Size {
    volume: Option<Figure<Volume>>,
    surface: Option<Figure<Area>>,
    net_mass: Option<Figure<Mass>>,
    allowance: Option<Figure<Length>>,
    rough_volume: Option<Figure<Volume>>,
    rough_surface: Option<Figure<Area>>,
    rough_mass: Option<Figure<Mass>>,
    /// As it comes out of the sand, where its body is known.
    rough: Option<Rough>,
}

impl Size {
    /// The rough casting as what freezes.
    fn whole(&self) -> Whole<'_> {
        Whole {
            volume: self.rough_volume.as_ref(),
            surface: self.rough_surface.as_ref(),
            body: self.rough.as_ref(),
        }
    }
}

fn size(build: &Build, casting: &Casting) -> Size {
    let alloy = &casting.alloy;
    let density = alloy.density.as_ref();
    let (volume, given_mass) = match &casting.given.shape {
        ShapeGiven::Volume(volume) => (Some(volume.named("volume")), None),
        ShapeGiven::Water(water) => (Some(meshed::displaced(water, alloy)), None),
        ShapeGiven::Mass(mass) => {
            let volume = density.map(|d| metal::volume_of_mass::figure(mass, d));
            (volume, Some(mass.named("mass as given")))
        }
        ShapeGiven::Mesh(mesh) => (Some(meshed::measured(mesh, alloy).0), None),
        ShapeGiven::Pattern { mass, wood } => {
            let wood = match wood {
                WoodGiven::Density(density) => Some(density),
                WoodGiven::Named(name) => build.handbook.woods.get(&name.value),
            };
            let mass = wood.zip(density).map(|(w, d)| pattern::pattern_weight::figure(mass, w, d));
            (mass.as_ref().zip(density).map(|(m, d)| metal::volume_of_mass::figure(m, d)), mass)
        }
        ShapeGiven::Solids(solids) => {
            let (less_, add): (Vec<_>, Vec<_>) = solids.iter().partition(|s| s.less);
            let add: Vec<_> = add.iter().map(|s| s.volume()).collect();
            let cut: Vec<_> = less_.iter().map(|s| s.volume()).collect();
            let sum = Figure::sum("volume", &add);
            let volume = match (&sum, cut.is_empty()) {
                _ if casting.given.body.is_some() => standing(casting, &[add, cut].concat()),
                (Some(sum), false) => Some(sum.named("solids added").less("volume", &cut)),
                _ => sum,
            };
            (volume, None)
        }
    };
    let surface = match &casting.given.shape {
        ShapeGiven::Solids(solids) => {
            let faces: Vec<_> = solids.iter().map(|s| s.surface()).collect();
            match &casting.given.body {
                Some(body) => Some(faces_left(body, &faces)),
                None => Figure::sum("surface", &faces).map(|f| {
                    f.noting("counts every face of every solid, joined ones too, so it is high")
                }),
            }
        }
        ShapeGiven::Mesh(mesh) => Some(meshed::measured(mesh, alloy).1),
        _ => None,
    };
    let net_mass =
        given_mass.or_else(|| Some(metal::part_mass::figure(volume.as_ref()?, density?)));
    let net_mass = net_mass.map(|m| m.named("net mass"));
    let allowance = casting.stock(&build.patterns[casting.pattern]);
    let rough = Rough::of(build, casting);
    let stocked = rough.as_ref().filter(|rough| rough.stocked).zip(allowance.as_ref());
    let rough_volume = match (&volume, &casting.given.machined, &allowance) {
        (Some(v), Some(area), Some(stock)) => Some(match stocked {
            Some((rough, stock)) => rough.volume(v, stock),
            None => pattern::with_allowance::figure(v, area, stock),
        }),
        (Some(v), _, _) => Some(v.clone()),
        _ => None,
    };
    let rough_surface = surface.as_ref().map(|surface| match stocked {
        Some((rough, stock)) => rough.surface(surface, stock),
        None => surface.clone(),
    });
    let rough_volume = rough_volume.map(|v| v.named("volume with machining stock"));
    let rough_mass = match (&net_mass, &rough_volume, &casting.given.machined) {
        (Some(net), _, None) => Some(net.clone()),
        (_, Some(v), Some(_)) => density.map(|d| metal::part_mass::figure(v, d)),
        _ => None,
    };
    let rough_mass = rough_mass.map(|m| m.named("casting"));
    Size { volume, surface, net_mass, allowance, rough_volume, rough_surface, rough_mass, rough }
}

/// Cores that are made for a casting: none where that step is left out.
pub(super) fn cores<'a>(part: &Part, casting: &'a Casting) -> Option<&'a Figure<Volume>> {
    casting.given.cores.as_ref().filter(|_| part.steps().contains(&Step::Core))
}

/// How a casting freezes by the rule of thumb and by heat flow, all else aside.
pub(super) fn freezing(build: &Build, part: &Part) -> Option<(FreezingEstimate, Field)> {
    let casting = part.casting.as_ref()?;
    let size = size(build, casting);
    let freezing = freezing::estimate(build, casting, size.whole(), &Clocks::default());
    let volume = size.rough_volume.as_ref();
    let feeding = feeding::estimate(casting, &freezing, volume, build.header.units);
    let field = Field::of(build, part.id(), casting, &feeding);
    Some((freezing, field))
}

/// All of a casting that does not hang on its flask.
#[derive(Clone)]
pub(super) struct Ready<'a> {
    build: &'a Build,
    part: &'a Part,
    casting: &'a Casting,
    lying: Option<Arc<Lying>>,
    size: Size,
    freezing: FreezingEstimate,
    feeding: FeedingEstimate,
    field: Field,
    /// One casting with its feeders.
    each: Option<Figure<Mass>>,
}

/// A casting's place in a mould that was laid out.
#[derive(Clone)]
pub(super) struct InMould {
    pub fit: FlaskFit,
    pub gating: Option<GatingEstimate>,
    /// The mould, and which of its patterns this casting is of.
    pub layout: Option<(Arc<Layout>, usize)>,
}

impl InMould {
    /// The place of each pattern of a mould.
    pub fn all(chosen: Chosen) -> Vec<Self> {
        let Chosen { fit, layout, gating } = chosen;
        let each = gating.into_iter().enumerate().map(|(n, gating)| Self {
            fit: fit.clone(),
            gating,
            layout: layout.clone().map(|layout| (layout, n)),
        });
        each.collect()
    }

    fn laid(&self) -> Option<(&Layout, &Laid)> {
        self.layout.as_ref().map(|(layout, n)| (&**layout, &layout.patterns[*n]))
    }
}

/// A casting and its place in the mould that it lies in alone.
pub(super) fn alone<'a>(
    build: &'a Build,
    part: &'a Part,
    clocks: &Clocks,
) -> Option<(Ready<'a>, InMould)> {
    let ready = Ready::of(build, part, clocks, None)?;
    let in_mould = in_own(&ready)?;
    if ready.field.is_gated(|| ready.ways(&in_mould)) {
        return Some((ready, in_mould));
    }
    // The way in that heat flow was reckoned with is another now.
    let ready = Ready::of(build, part, clocks, Some(Field::Outdated))?;
    let in_mould = in_own(&ready)?;
    Some((ready, in_mould))
}

fn in_own(ready: &Ready<'_>) -> Option<InMould> {
    InMould::all(choose_for(ready.build, &[ready])).pop()
}

/// The mould of one casting, as heat flow tries its feeders.
pub(super) struct Around<'a> {
    build: &'a Build,
    part: &'a Part,
    clocks: Clocks,
    lying: Lying,
    oversize: f64,
    gate_across: Option<[[f64; 3]; 2]>,
}

impl<'a> Around<'a> {
    /// None where its body is not known.
    pub fn of(build: &'a Build, part: &'a Part, setup: &Setup, clocks: Clocks) -> Option<Self> {
        let casting = part.casting.as_ref()?;
        let lying = casting.lying(&build.patterns[casting.pattern])?;
        let gate_across = setup.gate_across.then(|| setup.bounds());
        Some(Self { build, part, clocks, lying, oversize: setup.oversize, gate_across })
    }
}

impl Room for Around<'_> {
    fn way_in(&self, fed: Option<&Fed>) -> Option<Ways> {
        let mut ready = Ready::of(self.build, self.part, &self.clocks, Some(Field::Missing))?;
        if let Some(fed) = fed {
            ready.feeding.found(fed, self.oversize, &ready.casting.alloy);
            ready.each = with_feeders(&ready.size, &ready.feeding);
        }
        let ways = ready.ways(&in_own(&ready)?)?;
        Some(match self.gate_across {
            Some(bounds) => ways.across(bounds),
            None => ways,
        })
    }

    fn foot(&self, near: Foot, of: &heat::Feeders, beside: &[Foot]) -> Option<Foot> {
        let lies = |foot: &Foot| self.lying.lies(foot.map(|x| x * self.oversize));
        let [x, y, _] = lies(&near);
        let beside: Vec<[f64; 2]> = beside.iter().map(lies).map(|[x, y, _]| [x, y]).collect();
        let foot = layout::foot(&self.lying, [x, y], [of.diameter, of.neck], &beside)?;
        // To a thousandth of a millimetre.
        Some(self.lying.in_shape(foot).map(|x| (x / self.oversize * 1e6).round() / 1e6))
    }
}

/// One casting with its feeders.
fn with_feeders(size: &Size, feeding: &FeedingEstimate) -> Option<Figure<Mass>> {
    let parts: Vec<_> =
        std::iter::once(size.rough_mass.as_ref()?).chain(feeding.mass()).cloned().collect();
    Figure::sum("casting and feeders", &parts)
}

/// The flask for a mould of these castings, and what lies where in it.
pub(super) fn choose_for(build: &Build, castings: &[&Ready<'_>]) -> Chosen {
    let gating: Vec<_> = castings.iter().map(|c| |flask: Option<&Flask>| c.gating(flask)).collect();
    let wanted = castings.iter().zip(&gating).map(|(c, gating)| layout::Wanted {
        pattern: c.casting.pattern,
        body: c.lying.clone(),
        feeders: c.feeding.feeders.as_ref(),
        alloy: &c.casting.alloy,
        gating,
    });
    layout::choose(build, &wanted.collect::<Vec<_>>())
}

impl<'a> Ready<'a> {
    /// With what is kept of heat flow, or as it is told to stand.
    pub fn of(
        build: &'a Build,
        part: &'a Part,
        clocks: &Clocks,
        field: Option<Field>,
    ) -> Option<Self> {
        let casting = part.casting.as_ref()?;
        let (alloy, units) = (&casting.alloy, build.header.units);
        let size = size(build, casting);
        let volume = size.rough_volume.as_ref();
        let mut freezing = freezing::estimate(build, casting, size.whole(), clocks);
        let mut feeding = feeding::estimate(casting, &freezing, volume, units);
        let field = field.unwrap_or_else(|| Field::of(build, part.id(), casting, &feeding));
        if let Some(frozen) = field.frozen() {
            freezing.by_field(field::times(frozen, casting, build, clocks));
            let oversize = size.rough.as_ref().map_or(1.0, |rough| rough.oversize);
            frozen.feeding.iter().for_each(|fed| feeding.tried(fed, oversize, alloy, units));
        }
        let each = with_feeders(&size, &feeding);
        let lying = casting.lying(&build.patterns[casting.pattern]).map(Arc::new);
        Some(Self { build, part, casting, lying, size, freezing, feeding, field, each })
    }

    /// The way in as it is laid out beside one casting.
    fn ways(&self, in_mould: &InMould) -> Option<Ways> {
        super::field::ways(in_mould.laid()?, self.size.rough.as_ref()?)
    }

    /// The way in, in a flask or in the least that takes the pattern.
    fn gating(&self, flask: Option<&Flask>) -> Option<GatingEstimate> {
        let (build, casting) = (self.build, self.casting);
        let cope = gating::cope_depth(build, casting, flask)?;
        let (freezing, each) = (&self.freezing, self.each.as_ref()?);
        gating::estimate(gating::Filled { build, casting, freezing, cope: &cope, each })
    }

    /// What lies of it in the mould.
    fn held(&self, in_mould: &InMould) -> Held {
        let cavities = self.build.patterns[self.casting.pattern].given.cavities;
        let all = |volume: &Figure<Volume>, name| volume.times(cavities, name);
        let castings = self.size.rough_volume.as_ref().map(|v| all(v, "castings in the mould"));
        let feeders = self.feeding.feeders.as_ref();
        let feeders =
            feeders.map(|f| all(&f.volume.reference("feeder-volume"), "feeders in the mould"));
        Held::of(in_mould.laid(), castings.as_ref(), feeders.as_ref(), in_mould.gating.as_ref())
    }

    /// Its figures in a mould.
    pub fn estimate(self, in_mould: InMould) -> CastingEstimate {
        let held = self.held(&in_mould);
        let Self { build, part, casting, size, freezing, feeding, field, each, .. } = self;
        let Size {
            volume,
            surface,
            net_mass,
            allowance,
            rough_volume,
            rough_surface,
            rough_mass,
            ..
        } = size;
        let InMould { fit, gating, layout } = in_mould;
        let (alloy, units) = (&casting.alloy, build.header.units);
        let flask = match &fit {
            FlaskFit::Fits(id) => build.shop.flasks.get(id),
            _ => None,
        };
        let cope = gating::cope_depth(build, casting, flask);
        let cavities = build.patterns[casting.pattern].given.cavities;
        let (poured, casting_yield) = match (&each, &gating, &rough_mass) {
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
                let poured = rough_mass
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
        let cast = Cast {
            casting,
            held: held.all.as_ref(),
            surface: rough_surface.as_ref(),
            cores: cores(part, casting),
            poured: poured.as_ref(),
        };
        let mould = mould::estimate(build, cast, &[], fit);
        let laid = layout.as_ref().map(|(layout, n)| (&**layout, &layout.patterns[*n]));
        let loads = loads::estimate(&loads::Mould {
            build,
            casting,
            rough_volume: rough_volume.as_ref(),
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
            volume,
            surface,
            net_mass,
            allowance,
            rough_volume,
            rough_surface,
            rough_mass,
            poured,
            charge,
            casting_yield,
            moulds,
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

/// Volume of solids that are placed.
fn standing(casting: &Casting, solids: &[Figure<Volume>]) -> Option<Figure<Volume>> {
    let body = casting.given.body.as_ref()?;
    let nodes = solids.iter().map(|f| f.node().clone()).collect();
    let because = Because::Closed(
        "the solids where they stand: an overlap counts once, a cut only where it meets metal",
        nodes,
    );
    Some(Figure::new("volume", Range::exact(body.volume()), because))
}

/// Surface of solids that are placed.
fn faces_left(body: &Body, solids: &[Figure<Area>]) -> Figure<Area> {
    let nodes = solids.iter().map(|f| f.node().clone()).collect();
    let because = Because::Closed("the outer faces of the solids where they stand", nodes);
    Figure::new("surface", Range::exact(body.surface()), because)
}
