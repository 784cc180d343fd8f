//! The progress report: one page that holds all it needs and runs from a file.

mod calendar;
mod chances;
mod drawing;
mod figures;
mod heats;
mod layers;
mod lessons;
mod next;
mod notebook;
mod over_time;
mod parts;
mod photos;
mod sources;
mod stock;

pub use calendar::{BlockView, CalendarView, PlannedHeatView, SessionView};
pub use chances::{AllowView, AmountView, ChancesView};
pub use drawing::{Band, BandPiece, BoxLine, Drawing, Line, PartBox};
pub use figures::{FigureEntry, FigureGroup, FigureRow};
pub use heats::HeatView;
pub use lessons::LessonView;
pub use notebook::NoteView;
pub use parts::{CastingView, PartRow, Waits};
pub use photos::{Photo, PhotoView, Photos};
pub use sources::SourceView;

use crate::estimate::Estimates;
use crate::journal::Disposition;
use crate::learn::Learned;
use crate::model::Build;
use crate::plan::Plan;
use crate::risk::Risk;
use crate::supply::{Bill, Purchase, StockLine};
use crate::view::cautions::{CautionView, cautions};
use crate::view::chart::Chart;
use crate::view::freezing;
use crate::view::page::Unfilled;
use crate::view::page::{self, BillView, FarView, FindingView, Melted, RedoView, WorkView};
use crate::view::page::{filled, parsed, plain};
use crate::view::sheet::HeatSheet;
use figures::Figures;
use serde::Serialize;
use sources::Sources;
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
    /// The same in words.
    pub today_words: String,
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
    /// What the shop keeps.
    pub shelves: stock::Shelves,
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
    /// How many castings heat flow was reckoned for, in words.
    pub reckoned: Option<String>,
    /// Heats poured, the latest first.
    pub heats: Vec<HeatView>,
    /// What was scrapped, put right, or taken with a known blemish, the latest first.
    pub faults: Vec<FindingView>,
    /// What is like for all castings of each figure that they list.
    pub figures: Vec<FigureEntry>,
    /// The next heat, as its pour sheet tells it.
    pub next_heat: Option<HeatSheet>,
    /// Who lifts and pours it, where the shop has more than one person.
    pub pourers: Vec<String>,
    /// What cannot be made yet, and what is missing for it.
    pub lacking: Vec<String>,
    /// Parts that wait for that.
    pub kept_back: Vec<String>,
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

/// Builds with more parts are drawn by levels, with no section for each casting.
const MOST_DRAWN: usize = 400;
/// Most steps listed under a heading, beside the next ones.
const MOST_STEPS: usize = 150;
/// Most parts to be cast again that are told one by one.
const MOST_REDO: usize = 40;
/// The page's own template, among those below.
const NAME: &str = "report.html";
static PAGE: LazyLock<Result<tera::Tera, Unfilled>> = LazyLock::new(|| {
    parsed(&[
        (NAME, include_str!("../../../templates/report.html")),
        ("report.js", include_str!("../../../templates/report.js")),
    ])
});

/// Writes the report.
///
/// # Errors
/// Where the template does not take what it is given.
pub fn report(
    build: &Build,
    estimates: &Estimates,
    plan: &Plan,
    bill: &Bill,
) -> Result<String, Unfilled> {
    report_with(build, estimates, plan, bill, &Extras::default())
}

/// Writes the report with photos, the chances of the finish and what the journal taught.
///
/// # Errors
/// Where the template does not take what it is given.
pub fn report_with(
    build: &Build,
    estimates: &Estimates,
    plan: &Plan,
    bill: &Bill,
    extras: &Extras,
) -> Result<String, Unfilled> {
    let view = ReportView::with(build, estimates, plan, bill, extras);
    filled(&view, PAGE.as_ref().map_err(Unfilled::clone)?, NAME)
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
        let small = build.parts.len() <= MOST_DRAWN;
        let (mut sources, mut figures) = (Sources::default(), Figures::default());
        let mut castings = if small {
            parts::castings(build, estimates, plan, &extras.photos, &mut sources, &mut figures)
        } else {
            Vec::new()
        };
        for (_, node) in bill.lines().flat_map(StockLine::figures) {
            sources.of(&node);
        }
        plan.hours_in_all.iter().for_each(|f| sources.of(f.node()));
        let sources = sources.list();
        let each = castings.iter_mut().flat_map(|c| &mut c.groups);
        let figures = figures.list(each, &sources);
        let mut redo = page::redo(build, Some(estimates), plan);
        let redo_more = redo.len().saturating_sub(MOST_REDO);
        redo.truncate(MOST_REDO);
        let alloys = build.alloys().iter().map(|a| plain(&a.id)).collect();
        let bill_view = page::materials(build, bill, &extras.purchases);
        let faults = page::faults(build, estimates);
        let scraps = faults.iter().filter(|f| f.disposition == Disposition::Scrap.word());
        Self {
            title: plain(&build.header.title),
            notes: build.header.notes.as_deref().map(|n| plain(n.trim())),
            today: build.today.to_string(),
            today_words: page::day_words(build.today),
            pinned: build.header.looked_at == Some(build.today),
            begun: build.header.begun.to_string(),
            alloys,
            far: page::far(build, plan),
            work: page::work(build, plan, MOST_STEPS),
            redo,
            redo_more,
            scrapped: scraps.map(|f| f.pieces).sum(),
            shelves: stock::shelves(build, bill),
            melted: page::melted(bill, &bill_view.lines),
            bill: bill_view,
            drawing: small.then(|| drawing::draw(build, plan)),
            bands: if small { Vec::new() } else { drawing::bands(build, plan) },
            calendar: calendar::calendar(build, plan),
            progress: over_time::progress_charts(build, estimates, plan),
            chances: extras.risk.as_ref().and_then(|r| chances::chances(build, r)),
            lessons: lessons::lessons(build, &extras.learned),
            learn: extras.learned.taken,
            stock: stock::stock_charts(build, bill),
            worked_off: plan.worked_off.map(|day| day.to_string()),
            notebook: notebook::notebook(build, &extras.photos),
            parts: parts::rows(build, estimates, plan),
            castings,
            reckoned: freezing::reckoned(build, estimates),
            heats: heats::heats(build),
            faults,
            figures,
            next_heat: next::heat(build, estimates, plan),
            pourers: next::pourers(build, plan),
            lacking: next::lacking(build, estimates, plan),
            kept_back: next::kept_back(build, plan),
            remarks: build.history.remarks.iter().map(|r| plain(&r.to_string())).collect(),
            cautions: cautions(build, estimates, 0..build.parts.len()),
            sand_cautions: sand_cautions(build),
            sources,
        }
    }
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
