//! The progress report: one page that holds all it needs and runs from a file.

mod calendar;
mod chances;
mod drawing;
pub(in crate::view) mod figures;
mod layers;
mod lessons;
mod over_time;
pub(in crate::view) mod parts;
mod photos;
mod stock;
pub(in crate::view) mod work;

pub use calendar::{BlockView, CalendarView, PlannedHeatView, SessionView};
pub use chances::{AllowView, AmountView, ChancesView};
pub use drawing::{Band, BandPiece, BoxLine, Drawing, Line, PartBox};
pub use figures::{Shown, SourceView};
pub use lessons::LessonView;
pub use parts::{
    AttemptView, BlemishView, CastingView, CauseView, ChangeView, FindingView, Fit, PartRow,
    RedoView,
};
pub use photos::{Photo, PhotoView, Photos};
pub use work::{HoldsUp, TaskView, WorkView};

use crate::build::Build;
use crate::estimate::Estimates;
use crate::figure::{Kind, System, show};
use crate::handbook::Alloy;
use crate::journal::Disposition;
use crate::journal::Event;
use crate::learn::Learned;
use crate::plan::{Plan, Risk};
use crate::supply::{Bill, BoughtLine, Purchase, StockLine};
use crate::view::cautions::{CautionView, cautions};
use crate::view::chart::Chart;
use crate::view::pages::{filled, parsed};
pub(in crate::view) use drawing::{STANDINGS, mark};
use figures::{Sources, at_least, plain, shown, unit};
use rust_decimal::Decimal;
use serde::Serialize;
use std::sync::LazyLock;

/// All that the page shows; the template adds nothing to it.
#[derive(Debug, Clone, Serialize)]
pub struct ReportView {
    /// What the machine is called.
    pub title: String,
    /// Free text.
    pub notes: Option<String>,
    /// The day it is looked at.
    pub today: String,
    /// Whether the manifest pins that day.
    pub pinned: bool,
    /// The day the work began.
    pub begun: String,
    /// Alloys in use.
    pub alloys: Vec<String>,
    /// How far the build is.
    pub far: FarView,
    /// The work.
    pub work: WorkView,
    /// What is to be cast again or put right.
    pub redo: Vec<RedoView>,
    /// How many more there are than the page lists.
    pub redo_more: usize,
    /// Pieces that were scrapped so far.
    pub scrapped: u32,
    /// The bill.
    pub bill: BillView,
    /// Metal charged so far, an alloy a line.
    pub melted: Vec<Melted>,
    /// The build as a drawing; none where it is too large.
    pub drawing: Option<Drawing>,
    /// The build by levels, where it is too large to draw.
    pub bands: Vec<Band>,
    /// The days in the shop to come.
    pub calendar: CalendarView,
    /// How the build came along.
    pub progress: Vec<Chart>,
    /// When it may be finished, castings that fail counted in.
    pub chances: Option<ChancesView>,
    /// What the journal taught.
    pub lessons: Vec<LessonView>,
    /// Whether the estimates use it.
    pub learn: bool,
    /// Stock over time.
    pub stock: Vec<Chart>,
    /// The day the bench time that is left would be worked off, if nothing waited.
    pub worked_off: Option<String>,
    /// Notes of the journal, the latest first.
    pub notebook: Vec<NoteView>,
    /// Every part.
    pub parts: Vec<PartRow>,
    /// Every casting; none where the build is too large.
    pub castings: Vec<CastingView>,
    /// Heats poured, the latest first.
    pub heats: Vec<HeatView>,
    /// What was taken with a known blemish.
    pub concessions: Vec<FindingView>,
    /// What was scrapped.
    pub scraps: Vec<FindingView>,
    /// What the journal points out.
    pub remarks: Vec<String>,
    /// Dangers and habits.
    pub cautions: Vec<CautionView>,
    /// What to take care of with the sand.
    pub sand_cautions: Vec<String>,
    /// Sources that the figures lean on.
    pub sources: Vec<SourceView>,
}

/// What a report shows besides the build and what is reckoned of it.
#[derive(Debug, Clone, Default)]
pub struct Extras {
    /// Photos of the journal, by the path that it gives.
    pub photos: Photos,
    /// The plan under chance.
    pub risk: Option<Risk>,
    /// What the journal taught.
    pub learned: Learned,
    /// The orders that cover the bill, as `buy` makes them.
    pub purchases: Vec<Purchase>,
}

/// A note of the journal.
#[derive(Debug, Clone, Serialize)]
pub struct NoteView {
    /// The day.
    pub day: String,
    /// In the builder's words.
    pub says: String,
    /// Its photo.
    pub photo: Option<Photo>,
}

/// How far the build is.
#[derive(Debug, Clone, Serialize)]
pub struct FarView {
    /// Parts that are finished.
    pub finished: usize,
    /// Parts in all.
    pub parts: usize,
    /// Good castings, in pieces.
    pub good: u32,
    /// Castings that the machine needs, in pieces.
    pub wanted: u32,
    /// Moulds rammed so far.
    pub moulds: usize,
    /// Heats poured so far.
    pub heats: usize,
    /// How many parts stand where.
    pub tally: Vec<TallyView>,
    /// Whether each part is shown by a mark of its own.
    pub marks: bool,
}

/// How many parts stand where.
#[derive(Debug, Clone, Serialize)]
pub struct TallyView {
    /// Standing in words.
    pub standing: &'static str,
    /// Name of its mark.
    pub mark: &'static str,
    /// How many.
    pub count: usize,
}

/// Metal of one alloy charged so far.
#[derive(Debug, Clone, Serialize)]
pub struct Melted {
    /// The alloy.
    pub alloy: String,
    /// How much.
    pub used: Shown,
}

/// The bill.
#[derive(Debug, Clone, Serialize)]
pub struct BillView {
    /// Metal, sand and what is used up.
    pub lines: Vec<StockView>,
    /// Those of which something is to be bought.
    pub buy: Vec<StockView>,
    /// Bought-in parts, those that are not here first.
    pub bought: Vec<BoughtView>,
    /// How many more there are than the page lists.
    pub bought_more: usize,
    /// How many are not here.
    pub missing: usize,
    /// The first of those that are not here.
    pub missing_first: Vec<BoughtView>,
    /// How many more are missing.
    pub missing_more: usize,
    /// Whether the plan was walked through.
    pub planned: bool,
    /// What those cost, with the currency; none without prices.
    pub to_pay: Option<String>,
}

/// One material.
#[derive(Debug, Clone, Serialize)]
pub struct StockView {
    /// Its id.
    pub id: String,
    /// What it is.
    pub title: String,
    /// For the whole build.
    pub in_all: Option<Shown>,
    /// Used so far.
    pub used: Option<Shown>,
    /// Still needed.
    pub left: Option<Shown>,
    /// In the shop.
    pub stock: Option<Shown>,
    /// To buy.
    pub buy: Option<Shown>,
    /// To buy by summing up mould after mould, where the plan knows better.
    pub summed: Option<Shown>,
    /// To buy so that nine in ten replays of the plan have enough.
    pub sure: Option<Shown>,
    /// The day it runs short, if it is known.
    pub by: Option<String>,
    /// Packs to order, from whom, by which day.
    pub packs: Vec<String>,
    /// What goes with it.
    pub note: Option<String>,
}

/// One bought-in part.
#[derive(Debug, Clone, Serialize)]
pub struct BoughtView {
    /// Its name.
    pub name: String,
    /// How many.
    pub quantity: u32,
    /// Price of all.
    pub price: Option<String>,
    /// Whether it is here.
    pub here: bool,
}

/// A heat.
#[derive(Debug, Clone, Serialize)]
pub struct HeatView {
    /// Its name.
    pub heat: String,
    /// The day.
    pub day: String,
    /// The alloy.
    pub alloy: String,
    /// The crucible.
    pub crucible: Option<String>,
    /// What went in, a source a line.
    pub charge: Vec<String>,
    /// Pouring temperature.
    pub temperature: Option<String>,
    /// The moulds, in order.
    pub moulds: Vec<String>,
    /// What was left.
    pub heel: Option<String>,
    /// Fuel burnt.
    pub fuel: Option<String>,
    /// Time to melt.
    pub melt_time: Option<String>,
    /// Weather.
    pub weather: Option<String>,
}

/// Builds with more parts are drawn by levels, with no section for each casting.
const MOST_DRAWN: usize = 400;
/// Most steps listed under a heading, beside the next ones.
const MOST_STEPS: usize = 150;
/// Most lines of a list in the first screen.
const MOST_LISTED: usize = 6;
/// Most parts to be cast again that are told one by one.
const MOST_REDO: usize = 40;
/// Most bought parts that are listed.
const MOST_BOUGHT: usize = 300;

/// The page's own template, among those below.
const NAME: &str = "report.html";
static PAGE: LazyLock<Result<tera::Tera, String>> = LazyLock::new(|| {
    parsed(&[
        (NAME, include_str!("../../../templates/report.html")),
        ("report.js", include_str!("../../../templates/report.js")),
    ])
});

/// Writes the report.
///
/// # Errors
/// In words, where the template does not take what it is given.
pub fn report(
    build: &Build,
    estimates: &Estimates,
    plan: &Plan,
    bill: &Bill,
) -> Result<String, String> {
    report_with(build, estimates, plan, bill, &Extras::default())
}

/// Writes the report with photos, the chances of the finish and what the journal taught.
///
/// # Errors
/// In words, where the template does not take what it is given.
pub fn report_with(
    build: &Build,
    estimates: &Estimates,
    plan: &Plan,
    bill: &Bill,
    extras: &Extras,
) -> Result<String, String> {
    let view = ReportView::with(build, estimates, plan, bill, extras);
    filled(&view, PAGE.as_ref().map_err(String::clone)?, NAME)
}

/// Reads the template, which takes as long as estimating a build: a caller with a thread to spare
/// has it done while the build is read.
pub fn ready() {
    LazyLock::force(&PAGE);
}

impl ReportView {
    /// Gathers what the page shows.
    pub fn new(build: &Build, estimates: &Estimates, plan: &Plan, bill: &Bill) -> Self {
        Self::with(build, estimates, plan, bill, &Extras::default())
    }

    /// The same with photos, the chances of the finish and what the journal taught.
    pub fn with(
        build: &Build,
        estimates: &Estimates,
        plan: &Plan,
        bill: &Bill,
        extras: &Extras,
    ) -> Self {
        let units = build.header.units;
        let small = build.parts.len() <= MOST_DRAWN;
        let mut sources = Sources::default();
        let castings = if small {
            parts::castings(build, estimates, plan, &extras.photos, &mut sources)
        } else {
            Vec::new()
        };
        for (_, node) in bill.lines().flat_map(StockLine::figures) {
            sources.of(&node);
        }
        plan.hours_in_all.iter().for_each(|f| sources.of(f.node()));
        let mut redo = parts::redo(build, plan);
        let redo_more = redo.len().saturating_sub(MOST_REDO);
        redo.truncate(MOST_REDO);
        let alloys = alloys_of(build).iter().map(|a| plain(&a.id)).collect();
        let packs = |id: &str| ordered(build, &extras.purchases, id);
        let lines: Vec<StockView> =
            bill.lines().map(|l| StockView { packs: packs(&l.id), ..stock(l, units) }).collect();
        let melted = bill
            .metal
            .iter()
            .zip(&lines)
            .filter(|(l, _)| l.used.as_ref().is_some_and(|u| u.si() > 0.0));
        let melted =
            melted.filter_map(|(_, v)| Some(Melted { alloy: v.id.clone(), used: v.used.clone()? }));
        let melted = melted.collect();
        let scraps = parts::findings(build, Disposition::Scrap);
        Self {
            title: plain(&build.header.title),
            notes: build.header.notes.as_deref().map(|n| plain(n.trim())),
            today: build.today.to_string(),
            pinned: build.header.looked_at == Some(build.today),
            begun: build.header.begun.to_string(),
            alloys,
            far: far(build, plan, small),
            work: work::work(build, plan, MOST_STEPS),
            redo,
            redo_more,
            scrapped: scraps.iter().map(|f| f.pieces).sum(),
            bill: bill_view(build, bill, lines),
            melted,
            drawing: small.then(|| drawing::draw(build, plan)),
            bands: if small { Vec::new() } else { drawing::bands(build, plan) },
            calendar: calendar::calendar(build, plan),
            progress: over_time::progress_charts(build, estimates, plan),
            chances: extras.risk.as_ref().and_then(|r| chances::chances(build, r)),
            lessons: lessons::lessons(build, &extras.learned),
            learn: extras.learned.taken,
            stock: stock::stock_charts(build, bill),
            worked_off: plan.worked_off.map(|day| day.to_string()),
            notebook: notebook(build, &extras.photos),
            parts: parts::rows(build, estimates, plan),
            castings,
            heats: heats(build),
            concessions: parts::findings(build, Disposition::Concession),
            scraps,
            remarks: build.history.remarks.iter().map(|r| plain(&r.to_string())).collect(),
            cautions: cautions(build, &alloys_of(build)),
            sand_cautions: sand_cautions(build),
            sources: sources.list(),
        }
    }
}

/// Most notes of the journal that are listed.
const MOST_NOTES: usize = 30;

fn notebook(build: &Build, photos: &Photos) -> Vec<NoteView> {
    let notes = build.history.log.iter().rev().filter(|e| matches!(e.event, Event::Note(_)));
    let view = |e: &crate::journal::Entry| NoteView {
        day: parts::day(e.at),
        says: e.says.as_deref().map(plain).unwrap_or_default(),
        photo: e.photo.as_ref().and_then(|p| photos.get(&**p).cloned()),
    };
    notes.take(MOST_NOTES).map(view).collect()
}

fn far(build: &Build, plan: &Plan, marks: bool) -> FarView {
    let count = |standing| plan.standings.iter().filter(|s| **s == standing).count();
    let tally = STANDINGS.map(|s| TallyView { standing: s.word(), mark: mark(s), count: count(s) });
    let (mut good, mut wanted) = (0, 0);
    let mut pieces = vec![0_u32; build.parts.len()];
    for attempt in build.history.attempts.values() {
        for (part, _) in &attempt.castings {
            pieces[*part] += 1;
        }
    }
    for (i, part) in build.parts.iter().enumerate().filter(|(_, p)| p.casting.is_some()) {
        wanted += part.given.quantity;
        if pieces[i] > 0 {
            good += build.history.pieces(i).good().min(part.given.quantity);
        }
    }
    FarView {
        finished: count(crate::build::Standing::Finished),
        parts: build.parts.len(),
        good,
        wanted,
        moulds: build.history.attempts.len(),
        heats: build.history.heats.len(),
        tally: tally.into_iter().collect(),
        marks,
    }
}

fn stock(line: &StockLine, units: System) -> StockView {
    let figures = line.figures();
    let take = |name: &str| {
        let (_, node) = figures.iter().find(|(n, _)| *n == name)?;
        Some(shown(node, units, &line.id, name))
    };
    StockView {
        id: plain(&line.id),
        title: plain(&line.title),
        in_all: take("in-all"),
        used: take("used"),
        left: take("left"),
        stock: take("stock"),
        buy: take("buy"),
        summed: take("summed"),
        sure: take("sure"),
        by: line.by.map(|day| day.to_string()),
        packs: Vec::new(),
        note: line.note.as_deref().map(plain),
    }
}

/// What is ordered of a stock, in words: packs, from whom, by which day.
fn ordered(build: &Build, purchases: &[Purchase], id: &str) -> Vec<String> {
    let mut out = Vec::new();
    for order in purchases.iter().flat_map(|p| &p.orders) {
        let supplier = &build.suppliers[&order.supplier];
        for line in order.lines.iter().filter(|l| *supplier.packs[l.pack].of == *id) {
            let size = show(Kind::Mass, supplier.packs[line.pack].size.si(), build.header.units);
            let by = order.order_by.map_or(String::new(), |day| format!(", order by {day}"));
            out.push(format!("{} × {size} from {}{by}", line.count, plain(&supplier.name)));
        }
    }
    let covers = purchases.iter().flat_map(|p| &p.covers).filter(|c| *c.need.of == *id);
    let missing = covers.filter(|c| c.missing > 0.0);
    out.extend(
        missing
            .map(|c| format!("{} that no supplier sells", at_least(c.missing, build.header.units))),
    );
    out
}

fn bill_view(build: &Build, bill: &Bill, lines: Vec<StockView>) -> BillView {
    let currency = plain(&build.header.currency);
    let price = |p: &Decimal| format!("{p:.2} {currency}");
    let view = |line: &&BoughtLine| BoughtView {
        name: plain(&line.name),
        quantity: line.quantity,
        price: line.price.as_ref().map(price),
        here: line.here,
    };
    let wanting = bill.lines().map(|l| l.buy.as_ref().is_some_and(|b| b.si() > 0.0));
    let buy = lines.iter().zip(wanting).filter(|(_, w)| *w).map(|(l, _)| l.clone()).collect();
    let (here, missing): (Vec<&BoughtLine>, Vec<&BoughtLine>) =
        bill.bought.iter().partition(|l| l.here);
    let all = missing.iter().chain(&here);
    BillView {
        buy,
        bought: all.take(MOST_BOUGHT).map(view).collect(),
        bought_more: bill.bought.len().saturating_sub(MOST_BOUGHT),
        missing: missing.len(),
        missing_first: missing.iter().take(MOST_LISTED).map(view).collect(),
        missing_more: missing.len().saturating_sub(MOST_LISTED),
        planned: bill.flow.is_some(),
        to_pay: (bill.to_pay > Decimal::ZERO).then(|| price(&bill.to_pay)),
        lines,
    }
}

fn heats(build: &Build) -> Vec<HeatView> {
    let units = build.header.units;
    let say = |kind, si| unit(&show(kind, si, units));
    let heat = |(name, heat): (&crate::manifest::Id, &crate::build::Heat)| {
        let p = &heat.poured;
        HeatView {
            heat: plain(name),
            day: parts::day(heat.at),
            alloy: plain(&p.alloy.value),
            crucible: p.crucible.as_ref().map(|c| plain(&c.value)),
            charge: p
                .charge
                .iter()
                .map(|(source, mass)| format!("{} {}", say(Kind::Mass, mass.si()), plain(source)))
                .collect(),
            temperature: p.temperature.as_ref().map(|t| say(Kind::Temperature, t.si())),
            moulds: p.moulds.iter().map(|m| plain(&m.value)).collect(),
            heel: p.heel.as_ref().map(|m| say(Kind::Mass, m.si())),
            fuel: p.fuel.as_ref().map(|m| say(Kind::Mass, m.si())),
            melt_time: p.melt_time.as_ref().map(|t| say(Kind::Time, t.si())),
            weather: p.weather.as_deref().map(plain),
        }
    };
    build.history.heats.iter().rev().map(heat).collect()
}

/// The alloys of the build's castings, in the order of the manifest.
fn alloys_of(build: &Build) -> Vec<&Alloy> {
    let mut alloys: Vec<&Alloy> = Vec::new();
    for casting in build.parts.iter().filter_map(|p| p.casting.as_ref()) {
        if !alloys.iter().any(|a| a.id == casting.alloy.id) {
            alloys.push(&casting.alloy);
        }
    }
    alloys
}

fn sand_cautions(build: &Build) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let sands = build.patterns.iter().filter_map(|p| p.sand.as_ref()).chain(&build.sand);
    for says in sands.flat_map(|s| &s.cautions) {
        let says = plain(says);
        if !out.contains(&says) {
            out.push(says);
        }
    }
    out
}
