//! The pour sheet: one melt, from lighting up to the entry in the journal.

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

/// A blank to fill.
#[derive(Debug, Clone, Serialize)]
pub struct Ask {
    /// The option of `log poured` it answers, without its dashes.
    pub option: &'static str,
    /// What to write.
    pub says: &'static str,
    /// What is known already.
    pub known: Option<String>,
}

const TEMPLATE: &str = include_str!("../../../templates/sheet-heat.html");

/// Sources of metal that a charge line names.
const SOURCES: [ChargeLine; 3] = [
    ChargeLine { source: "ingot", says: "bought or cast ingots" },
    ChargeLine { source: "returns", says: "gates, feeders, spoilt castings" },
    ChargeLine { source: "scrap", says: "sorted, dry, of this alloy" },
];

fn mould(build: &Build, estimates: &Estimates, mould: &PourMould) -> PouredMould {
    let part = &build.parts[mould.part];
    let estimate = estimates.castings[mould.part].as_ref();
    let held = || std::iter::once(mould.part).chain(mould.others.iter().map(|(i, _)| *i));
    let shared = estimates.shared(build, held());
    let units = build.header.units;
    fn show<Q: Quantity>(
        figure: Option<&Figure<Q>>,
        units: figure::System,
        id: &str,
        name: &str,
    ) -> Option<Shown> {
        figure.map(|f| shown(f.node(), units, id, name))
    }
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
        poured: show(mould.poured.as_ref(), units, part.id(), "mould-poured"),
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

/// The crucible, where it is one: of two the entry names none.
fn one(crucibles: &[String]) -> Option<String> {
    crucibles.first().filter(|_| crucibles.len() == 1).cloned()
}

/// What `log poured` asks for, in the order of the journal.
fn asks(sheet: &HeatSheet) -> Vec<Ask> {
    let ask = |option, says, known: Option<String>| Ask { option, says, known };
    let moulds: Vec<&str> = sheet.moulds.iter().filter_map(|m| m.mould.as_deref()).collect();
    let named = moulds.len() == sheet.moulds.len();
    let stays = sheet.heels.iter().any(|heel| heel.to.is_some());
    vec![
        ask("at", "day and time of pouring, YYYY-MM-DD HH:MM", None),
        ask("heat", "name of the heat", sheet.heat.clone()),
        ask("alloy", "alloy", Some(sheet.alloy.clone())),
        ask("crucible", "crucible", one(&sheet.crucibles)),
        ask("furnace", "furnace", sheet.furnace.clone()),
        ask("charge", "what went in: the column of masses above", None),
        ask("temperature", "metal when the first mould was poured", None),
        ask("mould", "moulds in the order poured", named.then(|| moulds.join(", "))),
        ask("heel", if stays { "left in the pot" } else { "left in the pot, pigged" }, None),
        ask("fuel", "fuel burnt: bottle before less bottle after", None),
        ask("melt-time", "lit until ready to pour", None),
        ask("filled", "time each mould took to fill, MOULD=TIME", None),
        ask("weather", "weather: dry or wet, how warm", None),
    ]
}

/// A word as a POSIX shell takes it.
fn quoted(word: &str) -> String {
    let safe = |c: char| c.is_ascii_alphanumeric() || "-_.,:/".contains(c);
    if !word.is_empty() && word.chars().all(safe) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

/// The command with what is known filled in.
fn command(sheet: &HeatSheet) -> String {
    const BLANK: &str = "____";
    let mut out = String::from("pourwright log poured");
    for ask in &sheet.asks {
        match ask.option {
            "charge" => {
                for line in &sheet.charge_lines {
                    out += &format!(" --charge {}={BLANK}", line.source);
                }
            }
            "mould" => {
                for mould in &sheet.moulds {
                    let word = mould.mould.as_deref().map_or(BLANK.to_owned(), quoted);
                    out += &format!(" --mould {word}");
                }
            }
            "filled" => {
                for mould in &sheet.moulds {
                    let word = mould.mould.as_deref().map_or(BLANK.to_owned(), quoted);
                    out += &format!(" --filled {word}={BLANK}");
                }
            }
            option => {
                let word = ask.known.as_deref().map_or(BLANK.to_owned(), quoted);
                out += &format!(" --{option} {word}");
            }
        }
    }
    out
}

impl HeatSheet {
    /// Gathers what the sheet shows.
    pub fn new(build: &Build, estimates: &Estimates, pour: &Pour, paper: Paper) -> Self {
        let units = build.header.units;
        let alloy = &pour.alloy;
        let name = pour.name.as_deref().map(plain);
        let of = name.clone().unwrap_or_default();
        let mass = |f: &Option<Figure<Mass>>, name: &str| {
            f.as_ref().map(|f| shown(f.node(), units, &of, name))
        };
        let heel = |heel: &Heel| HeelLine {
            crucible: plain(&heel.crucible),
            left: shown(heel.left.node(), units, &of, "heel"),
            from: heel.from.as_deref().map(plain),
            to: heel.to.as_deref().map(plain),
        };
        let flux = |(id, mass): (Id, Figure<Amount>)| {
            let known = build.handbook.consumables.get(&id);
            FluxLine {
                title: plain(known.map_or(&id, |c| &c.title)),
                mass: shown(mass.node(), units, &id, "in-all"),
                how: known.and_then(|c| c.how.as_deref()).map(plain),
            }
        };
        let held = pour
            .moulds
            .iter()
            .flat_map(|m| std::iter::once(m.part).chain(m.others.iter().map(|(i, _)| *i)));
        let all = cautions(build, estimates, held);
        let when = |when| all.iter().filter(|c| c.when == when).cloned().collect::<Vec<_>>();
        let mut moulds: Vec<PouredMould> =
            pour.moulds.iter().map(|m| mould(build, estimates, m)).collect();
        alike(moulds.iter_mut().filter_map(|m| m.poured.as_mut()));
        let mut warnings: Vec<String> = pour.pot.handling.pot_warnings.clone();
        warnings.extend(brimming(build, pour));
        let again = pour.moulds.iter().filter(|m| m.again).filter_map(|m| m.standing.as_ref());
        let again = again.filter_map(|name| build.history.attempts.get(name));
        warnings.extend(again.map(|attempt| stood_too_long(build, attempt)));
        let lift = |m: &PourMould| {
            let held = std::iter::once(m.part).chain(m.others.iter().map(|(i, _)| *i));
            match estimates.shared(build, held) {
                Some(shared) => shared.loads.cope_lift.as_ref(),
                None => estimates.castings[m.part].as_ref()?.loads.cope_lift.as_ref(),
            }
        };
        if pour.moulds.iter().any(|m| lift(m).is_some()) {
            warnings.push(
                "metal lifts the cope: lay on each what the table says, also where flasks are \
                 clamped or screwed together"
                    .into(),
            );
        }
        let [lit, pours_at, over] = match pour.times {
            Some(times) => times.map(|t| Some(t.format("%H:%M").to_string())),
            None => [None, None, None],
        };
        let in_shop = build.history.stock.get(&alloy.id);
        let in_shop = in_shop.map(|kg| Figure::counted("in the shop", *kg, "by the journal"));
        let mut sheet = Self {
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
            holds: mass(&pour.pot.holds, "crucible-holds"),
            charge: mass(&pour.charge, "charge"),
            poured: mass(&pour.poured, "poured"),
            in_shop: mass(&in_shop, "stock"),
            coming: None,
            returns: None,
            short: in_shop
                .and_then(|have| pour.short_of(have.si()))
                .and_then(|s| mass(&Some(s), "short")),
            heels: pour.heels.iter().map(heel).collect(),
            charge_lines: SOURCES.to_vec(),
            made_up: Vec::new(),
            before_lighting: before_lighting(build, pour),
            melts: pour.melts(build, estimates).map(|f| shown(f.node(), units, "", "")),
            not_made_up: None,
            full: mass(&pour.pot.full, "crucible-full"),
            lift: mass(&pour.pot.handling.crucible, "crucible-lift"),
            limit: mass(&pour.pot.handling.crucible_limit, "crucible-limit"),
            by_device: pour.pot.handling.crucible_carry == Some(Carry::Device),
            people: pour.people.or(pour.pot.handling.crucible_carry.map(Carry::people)),
            pours: alloy.pours.as_ref().map(|f| shown(f.node(), units, &alloy.id, "pours")),
            coldest: coldest(alloy).map(|f| shown(f.node(), units, &alloy.id, "pour-no-colder")),
            liquidus: alloy
                .liquidus
                .as_ref()
                .map(|f| shown(f.node(), units, &alloy.id, "liquidus")),
            moulds,
            fluxes: pour.fluxes(build, estimates).into_iter().map(flux).collect(),
            warnings: warnings.iter().map(|w| plain(w)).collect(),
            before: when(When::Before),
            pouring: when(When::Pouring),
            after: when(When::After),
            heat: name,
            asks: Vec::new(),
            command: String::new(),
        };
        sheet.asks = asks(&sheet);
        sheet.command = command(&sheet);
        sheet
    }

    /// The same with the metal that the plan has when the furnace is lit.
    pub fn with_shelf(mut self, build: &Build, pour: &Pour, there: AtLighting) -> Self {
        let of = self.heat.clone().unwrap_or_default();
        let mass = |name, kg, says, ask| {
            let figure = Figure::<Mass>::counted(name, kg, says);
            shown(figure.node(), build.header.units, &of, ask)
        };
        const BY_THEN: &str = "by the plan, when the furnace is lit, if none is bought";
        const DUE: &str = "what is on order and should be here when the furnace is lit";
        let AtLighting { ingot, coming, melted_again, .. } = there;
        self.in_shop = Some(mass("in the shop", ingot, BY_THEN, "stock"));
        self.coming = (coming > 0.0).then(|| mass("on order", coming, DUE, "on-order"));
        self.returns =
            (melted_again > 0.0).then(|| mass("returns", melted_again, BY_THEN, "returns"));
        self.short = pour
            .short_of(ingot + coming + melted_again)
            .map(|f| shown(f.node(), build.header.units, &of, "short"));
        self
    }

    /// The same with a charge of the metals at hand.
    pub fn with_charge(mut self, charge: &ChargeView) -> Self {
        let line = |m: &crate::view::charge::MetalRow| MetalLine {
            metal: plain(&m.id),
            pieces: m.pieces,
            mass: unit(&m.mass),
        };
        if charge.possible {
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
