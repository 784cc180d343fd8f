//! The pour sheet: one melt, from lighting up to the entry in the journal.

use super::blanks::{Ask, asks, command};
use super::{Paper, SheetHead, Weights, fill_words, page, wait_words};
use crate::estimate::{Carry, CastingEstimate, CrucibleFit, Estimates, coldest};
use crate::figure::{self, Amount, Figure, Kind, Mass, Quantity};
use crate::handbook::When;
use crate::manifest::Id;
use crate::model::Build;
use crate::plan::{Heel, Pour, PourMould, stood_too_long};
use crate::supply::AtLighting;
use crate::view::cautions::{CautionView, cautions};
use crate::view::charge::ChargeView;
use crate::view::page::Unfilled;
use crate::view::page::{Shown, alike, plain, shown, unit};
use serde::Serialize;

/// One melt.
#[derive(Debug, Clone, Serialize)]
pub struct HeatSheet {
    /// What stands at the head.
    pub head: SheetHead,
    /// Its name; none where it was picked by hand.
    pub heat: Option<String>,
    /// Id of the alloy.
    pub alloy: String,
    /// What it is called.
    pub alloy_title: String,
    /// Family of the alloy.
    pub family: &'static str,
    /// The day, by the schedule.
    pub day: Option<String>,
    /// When to light up.
    pub lit: Option<String>,
    /// When to pour.
    pub pour: Option<String>,
    /// When it is over.
    pub over: Option<String>,
    /// The furnace.
    pub furnace: Option<String>,
    /// The crucibles.
    pub crucibles: Vec<String>,
    /// Why no single crucible is named, in words.
    pub crucible_says: Option<String>,
    /// What the crucible holds at its working fill.
    pub holds: Option<Shown>,
    /// Metal charged.
    pub charge: Option<Shown>,
    /// Metal poured.
    pub poured: Option<Shown>,
    /// Ingot in the shop.
    pub in_shop: Option<Shown>,
    /// Ingot on order that should be there by then.
    pub coming: Option<Shown>,
    /// Returns that are there by then, as much of them as the charge bears.
    pub returns: Option<Shown>,
    /// Metal that all this falls short of the charge.
    pub short: Option<Shown>,
    /// Metal that is left in the pots.
    pub heels: Vec<HeelLine>,
    /// What goes in.
    pub charge_lines: Vec<ChargeLine>,
    /// The cheapest charge of the metals at hand, whole pieces where they are not cut.
    pub made_up: Vec<MetalLine>,
    /// What to look over of its fuel or current; none where the furnace is not known.
    pub before_lighting: Option<String>,
    /// How long it takes to melt in a warm furnace.
    pub melts: Option<Shown>,
    /// Why the metals at hand do not make it, in words.
    pub not_made_up: Option<String>,
    /// Pot and metal.
    pub full: Option<Shown>,
    /// Pot, metal and tongs.
    pub lift: Option<Shown>,
    /// What one person may lift so.
    pub limit: Option<Shown>,
    /// How many people it takes.
    pub people: Option<u32>,
    /// Whether no team may lift it by hand.
    pub by_device: bool,
    /// Pouring temperature.
    pub pours: Option<Shown>,
    /// The lowest temperature to pour at.
    pub coldest: Option<Shown>,
    /// Where the metal is all molten.
    pub liquidus: Option<Shown>,
    /// The moulds in order.
    pub moulds: Vec<PouredMould>,
    /// What goes into the melt beside metal.
    pub fluxes: Vec<FluxLine>,
    /// Dangers and doubts about pot and moulds.
    pub warnings: Vec<String>,
    /// Dangers to think of before lighting up.
    pub before: Vec<CautionView>,
    /// Dangers of melting and pouring.
    pub pouring: Vec<CautionView>,
    /// Dangers after the pour.
    pub after: Vec<CautionView>,
    /// What to write down, in the order of the journal; `log poured` asks for it.
    pub asks: Vec<Ask>,
    /// The command to type in the evening, with blanks.
    pub command: String,
}

/// Metal that is left in a crucible.
#[derive(Debug, Clone, Serialize)]
pub struct HeelLine {
    /// The crucible.
    pub crucible: String,
    /// What is left.
    pub left: Shown,
    /// The heat whose heel is in the pot when this one is charged.
    pub from: Option<String>,
    /// The heat that it stays for; none where it is pigged.
    pub to: Option<String>,
}

/// Something that goes into the melt beside metal.
#[derive(Debug, Clone, Serialize)]
pub struct FluxLine {
    /// What it is.
    pub title: String,
    /// How much.
    pub mass: Shown,
    /// What is done with it, and how long that takes.
    pub how: Option<String>,
}

/// A line of the charge.
#[derive(Debug, Clone, Serialize)]
pub struct ChargeLine {
    /// Word that `log poured --charge` takes.
    pub source: &'static str,
    /// What that is.
    pub says: &'static str,
}

/// A metal of the charge.
#[derive(Debug, Clone, Serialize)]
pub struct MetalLine {
    /// Its id.
    pub metal: String,
    /// Pieces, where it is not cut.
    pub pieces: Option<u32>,
    /// Mass.
    pub mass: String,
}

/// A mould to pour.
#[derive(Debug, Clone, Serialize)]
pub struct PouredMould {
    /// Its name, if it is rammed already.
    pub mould: Option<String>,
    /// Name of the part that leads it.
    pub lead: String,
    /// Names of all parts in it.
    pub name: String,
    /// Castings that come out of it.
    pub castings: u32,
    /// Castings of them that the machine needs.
    pub needed: u32,
    /// Whether it has cores.
    pub cored: bool,
    /// The flask.
    pub flask: Option<String>,
    /// Metal poured.
    pub poured: Option<Shown>,
    /// Time to fill it, as a hand can keep it; of several patterns each has a sprue and a time of
    /// its own.
    pub fills: Vec<String>,
    /// Metal that the basin of each holds at the least while it fills.
    pub levels: Vec<String>,
    /// Weights on the cope; none where the casting has no estimate.
    pub weights: Option<Weights>,
    /// Time from pouring before which it is not opened.
    pub not_before: Option<String>,
    /// When the plan shakes it out.
    pub planned: Option<String>,
}

const TEMPLATE: &str = include_str!("../../../templates/sheet-heat.html");

/// Sources of metal that a charge line names.
const SOURCES: [ChargeLine; 3] = [
    ChargeLine { source: "ingot", says: "bought or cast ingots" },
    ChargeLine { source: "returns", says: "gates, feeders, spoilt castings" },
    ChargeLine { source: "scrap", says: "sorted, dry, of this alloy" },
];

/// The parts that a mould holds, the one that leads it first.
fn held(mould: &PourMould) -> impl Iterator<Item = usize> {
    std::iter::once(mould.part).chain(mould.others.iter().map(|(i, _)| *i))
}

/// The moulds in order.
fn moulds(build: &Build, estimates: &Estimates, pour: &Pour) -> Vec<PouredMould> {
    let mut moulds: Vec<PouredMould> =
        pour.moulds.iter().map(|m| mould(build, estimates, m)).collect();
    alike(moulds.iter_mut().filter_map(|m| m.poured.as_mut()));
    moulds
}

fn mould(build: &Build, estimates: &Estimates, mould: &PourMould) -> PouredMould {
    let part = &build.parts[mould.part];
    let estimate = estimates.castings[mould.part].as_ref();
    let held = || held(mould);
    let shared = estimates.shared(build, held());
    let units = build.header.units;
    let sprue = |i: usize| Some(&estimates.in_mould(build, held(), i)?.gating.as_ref()?.sprue);
    let fills = |i: usize| fill_words(sprue(i).map(|sprue| &sprue.time));
    let levels = |i: usize| {
        let basin = &sprue(i)?.basin_depth;
        Some(unit(&figure::show(Kind::Length, basin.high(), units)))
    };
    // Every cavity is filled, needed or not; of several parts on one pattern each has its own.
    let cavities = match mould.others.is_empty() {
        true => estimate.map_or(0, |e| e.mould.cavities),
        false => 0,
    };
    let has_core = |e: &CastingEstimate| e.mould.core_sand.as_ref().is_some_and(|m| m.si() > 0.0);
    let others =
        mould.others.iter().map(|(i, n)| (plain(&build.parts[*i].given.name), n)).map(
            |(name, n)| if *n == 1 { format!(" + {name}") } else { format!(" + {n} × {name}") },
        );
    PouredMould {
        mould: mould.standing.as_deref().map(plain),
        lead: plain(&part.given.name),
        name: others.fold(plain(&part.given.name), |all, other| all + &other),
        castings: cavities.max(mould.castings),
        needed: mould.castings,
        cored: held().any(|i| estimates.castings[i].as_ref().is_some_and(has_core)),
        flask: mould.flask.as_deref().map(plain),
        poured: Under { name: part.id(), units }.show(mould.poured.as_ref(), "mould-poured"),
        fills: held().filter_map(fills).collect(),
        levels: held().filter_map(levels).collect(),
        weights: shared
            .map(|t| &t.loads)
            .or(estimate.map(|e| &e.loads))
            .map(|loads| Weights::of(build, mould.part, loads)),
        not_before: estimates.opened_not_before(held()).map(wait_words),
        planned: mould.shaken_out.map(|at| at.format("%Y-%m-%d %H:%M").to_string()),
    }
}

/// What to look over of the fuel of its furnace.
fn before_lighting(build: &Build, pour: &Pour) -> Option<String> {
    let furnace = build.shop.furnaces.get(pour.furnace.as_ref()?)?;
    build.handbook.before_lighting.get(&furnace.fuel).map(|says| plain(says))
}

/// Said where the charge may come to more than the pot takes.
fn brimming(build: &Build, pour: &Pour) -> Option<String> {
    let mass = |kg| figure::show(Kind::Mass, kg, build.header.units);
    let [most, holds] = pour.brims()?.map(mass);
    let pot = pour.crucibles.first()?;
    Some(format!(
        "the moulds may take {most} of metal, {pot} holds {holds} at its working fill: {}",
        Pour::BRIMMING
    ))
}

/// Dangers and doubts about pot and moulds.
fn warnings(build: &Build, estimates: &Estimates, pour: &Pour) -> Vec<String> {
    let mut warnings: Vec<String> = pour.pot.handling.pot_warnings.clone();
    warnings.extend(brimming(build, pour));
    let again = pour.moulds.iter().filter(|m| m.again).filter_map(|m| m.standing.as_ref());
    let again = again.filter_map(|name| build.history.attempts.get(name));
    warnings.extend(again.map(|attempt| stood_too_long(build, attempt)));
    let is_lifted = |m: &PourMould| match estimates.shared(build, held(m)) {
        Some(shared) => shared.loads.cope_lift.is_some(),
        None => estimates.castings[m.part].as_ref().is_some_and(|e| e.loads.cope_lift.is_some()),
    };
    if pour.moulds.iter().any(is_lifted) {
        warnings.push(
            "metal lifts the cope: lay on each what the table says, also where flasks are \
             clamped or screwed together"
                .into(),
        );
    }
    warnings.iter().map(|w| plain(w)).collect()
}

/// What goes into the melt beside metal.
fn fluxes(build: &Build, estimates: &Estimates, pour: &Pour) -> Vec<FluxLine> {
    let line = |(id, mass): (Id, Figure<Amount>)| {
        let known = build.handbook.consumables.get(&id);
        FluxLine {
            title: plain(known.map_or(&id, |c| &c.title)),
            mass: shown(mass.node(), build.header.units, &id, "in-all"),
            how: known.and_then(|c| c.how.as_deref()).map(plain),
        }
    };
    pour.fluxes(build, estimates).into_iter().map(line).collect()
}

/// Shows figures under the name by which they are asked for.
struct Under<'a> {
    name: &'a str,
    units: figure::System,
}

impl Under<'_> {
    fn show<Q: Quantity>(&self, figure: Option<&Figure<Q>>, ask: &str) -> Option<Shown> {
        figure.map(|f| shown(f.node(), self.units, self.name, ask))
    }

    fn heel(&self, heel: &Heel) -> HeelLine {
        HeelLine {
            crucible: plain(&heel.crucible),
            left: shown(heel.left.node(), self.units, self.name, "heel"),
            from: heel.from.as_deref().map(plain),
            to: heel.to.as_deref().map(plain),
        }
    }
}

impl HeatSheet {
    /// Gathers what the sheet shows.
    pub fn new(build: &Build, estimates: &Estimates, pour: &Pour, paper: Paper) -> Self {
        let units = build.header.units;
        let alloy = &pour.alloy;
        let heat = pour.name.as_deref().map(plain);
        let of_heat = Under { name: heat.as_deref().unwrap_or_default(), units };
        let of_alloy = Under { name: &alloy.id, units };
        let all = cautions(build, estimates, pour.moulds.iter().flat_map(held));
        let when = |when| all.iter().filter(|c| c.when == when).cloned().collect();
        let [lit, pours_at, over] = match pour.times {
            Some(times) => times.map(|t| Some(t.format("%H:%M").to_string())),
            None => [None, None, None],
        };
        let in_shop = build.history.stock.get(&alloy.id);
        let in_shop = in_shop.map(|kg| Figure::counted("in the shop", *kg, "by the journal"));
        let short = in_shop.as_ref().and_then(|have: &Figure<Mass>| pour.short_of(have.si()));
        let handling = &pour.pot.handling;
        let sheet = Self {
            head: SheetHead::new(build, paper),
            alloy: plain(&alloy.id),
            alloy_title: plain(&alloy.title),
            family: alloy.family.word(),
            day: pour.times.map(|t| t[0].date().to_string()),
            lit,
            pour: pours_at,
            over,
            furnace: pour.furnace.as_deref().map(plain),
            crucibles: pour.crucibles.iter().map(|c| plain(c)).collect(),
            crucible_says: match &pour.pot.crucible {
                CrucibleFit::Fits(_) => None,
                CrucibleFit::Lacking(says) => Some(plain(says)),
                CrucibleFit::Unknown(says) => Some(plain(says)),
            },
            holds: of_heat.show(pour.pot.holds.as_ref(), "crucible-holds"),
            charge: of_heat.show(pour.charge.as_ref(), "charge"),
            poured: of_heat.show(pour.poured.as_ref(), "poured"),
            in_shop: of_heat.show(in_shop.as_ref(), "stock"),
            coming: None,
            returns: None,
            short: of_heat.show(short.as_ref(), "short"),
            heels: pour.heels.iter().map(|heel| of_heat.heel(heel)).collect(),
            charge_lines: SOURCES.to_vec(),
            made_up: Vec::new(),
            before_lighting: before_lighting(build, pour),
            melts: pour.melts(build, estimates).map(|f| shown(f.node(), units, "", "")),
            not_made_up: None,
            full: of_heat.show(pour.pot.full.as_ref(), "crucible-full"),
            lift: of_heat.show(handling.crucible.as_ref(), "crucible-lift"),
            limit: of_heat.show(handling.crucible_limit.as_ref(), "crucible-limit"),
            by_device: handling.crucible_carry == Some(Carry::Device),
            people: pour.people.or(handling.crucible_carry.map(Carry::people)),
            pours: of_alloy.show(alloy.pours.as_ref(), "pours"),
            coldest: of_alloy.show(coldest(alloy).as_ref(), "pour-no-colder"),
            liquidus: of_alloy.show(alloy.liquidus.as_ref(), "liquidus"),
            moulds: moulds(build, estimates, pour),
            fluxes: fluxes(build, estimates, pour),
            warnings: warnings(build, estimates, pour),
            before: when(When::Before),
            pouring: when(When::Pouring),
            after: when(When::After),
            heat,
            asks: Vec::new(),
            command: String::new(),
        };
        sheet.with_blanks()
    }

    /// With what to write down, where it is known what that is.
    fn with_blanks(mut self) -> Self {
        self.asks = asks(&self);
        self.command = command(&self);
        self
    }

    /// The same with the metal that the plan has when the furnace is lit.
    pub fn with_shelf(mut self, build: &Build, there: AtLighting) -> Self {
        let of = self.heat.clone().unwrap_or_default();
        let mass = |name, kg, says, ask| {
            let figure = Figure::<Mass>::counted(name, kg, says);
            shown(figure.node(), build.header.units, &of, ask)
        };
        const BY_THEN: &str = "by the plan, when the furnace is lit, if none is bought";
        const DUE: &str = "what is on order and should be here when the furnace is lit";
        let AtLighting { ingot, coming, melted_again, .. } = there;
        const SHORT: &str = "charge less metal in the shop";
        self.in_shop = Some(mass("in the shop", ingot, BY_THEN, "stock"));
        self.coming = (coming > 0.0).then(|| mass("on order", coming, DUE, "on-order"));
        self.returns =
            (melted_again > 0.0).then(|| mass("returns", melted_again, BY_THEN, "returns"));
        self.short = (there.short() > 0.0).then(|| mass("short", there.short(), SHORT, "short"));
        self
    }

    /// The same with a charge of the metals at hand, or of those and what is to be bought.
    pub fn with_charge(mut self, charge: &ChargeView) -> Self {
        let line = |m: &crate::view::charge::MetalRow| MetalLine {
            metal: plain(&m.id),
            pieces: m.pieces,
            mass: unit(&m.mass),
        };
        // What is made up of metals that lie here lacks nothing, though ingot alone would.
        self.short = self.short.filter(|_| !charge.possible);
        if charge.possible || charge.once_bought {
            self.made_up = charge.metals.iter().map(line).collect();
        } else {
            self.not_made_up = Some(plain(&charge.in_the_way.join("; ")));
        }
        self
    }

    /// As HTML.
    ///
    /// # Errors
    /// In words, where the template does not take what it is given.
    pub fn html(&self) -> Result<String, Unfilled> {
        page(self, "sheet-heat.html", TEMPLATE)
    }
}
