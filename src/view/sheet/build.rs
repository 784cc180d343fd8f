//! The build on one page, for the wall.

use super::{Paper, SheetHead, page};
use crate::model::{Build, Standing};
use crate::plan::Plan;
use crate::supply::Bill;
use crate::view::page::Unfilled;
use crate::view::page::{self, FarView, Picture, RedoView, StockView, TaskView, cast_in, plain};
use crate::view::schedule::NoFinish;
use serde::Serialize;

/// The build in short.
#[derive(Debug, Clone, Serialize)]
pub struct BuildSheet {
    /// What stands at the head.
    pub head: SheetHead,
    /// How far the build is.
    pub far: FarView,
    /// Parts as boxes, in the order of the manifest: the mark of each.
    pub marks: Vec<BoxMark>,
    /// What can be done now.
    pub now: Vec<TaskView>,
    /// How many more can be done now.
    pub now_more: usize,
    /// What is to be cast again or put right.
    pub redo: Vec<RedoView>,
    /// How many more.
    pub redo_more: usize,
    /// What to buy, the first to run short first.
    pub buy: Vec<StockView>,
    /// How many more there are.
    pub buy_more: usize,
    /// Bought parts that are not here.
    pub missing: usize,
    /// Bench time left.
    pub hours_left: Option<String>,
    /// Its span.
    pub hours_span: Option<String>,
    /// Heats to come.
    pub heats: Vec<HeatLine>,
    /// How many more heats are planned.
    pub heats_more: usize,
    /// When the machine is finished, if nothing is cast again.
    pub finish: Option<String>,
    /// Why there is no such day.
    pub no_finish: Option<NoFinish>,
}

/// A part in the row of boxes.
#[derive(Debug, Clone, Serialize)]
pub struct BoxMark {
    /// Its name.
    pub name: String,
    /// Its standing.
    pub standing: Standing,
    /// Name of its mark.
    pub mark: &'static str,
    /// Its picture, where its body is known.
    pub picture: Option<Picture>,
}

/// A heat to come.
#[derive(Debug, Clone, Serialize)]
pub struct HeatLine {
    /// Its name.
    pub heat: String,
    /// The day.
    pub day: String,
    /// The alloy.
    pub alloy: String,
    /// What is poured.
    pub parts: Vec<String>,
}

const TEMPLATE: &str = include_str!("../../../templates/sheet-build.html");
/// Most lines of a list on the page.
const MOST: usize = 6;
/// Most lines of what to buy.
const MOST_TO_BUY: usize = 9;

impl BuildSheet {
    /// Gathers what the sheet shows.
    pub fn new(build: &Build, plan: &Plan, bill: &Bill, paper: Paper) -> Self {
        let parts = build.parts.iter().zip(&plan.standings).enumerate();
        let marks = parts.map(|(i, (part, standing))| BoxMark {
            name: plain(&part.given.name),
            standing: *standing,
            mark: page::mark(*standing),
            picture: page::picture(build, i),
        });
        let schedule = &plan.schedule;
        let heats = schedule.heats.iter().take(MOST).map(|h| HeatLine {
            heat: plain(&h.name),
            day: h.pour.date().to_string(),
            alloy: plain(&h.alloy),
            parts: h.moulds.iter().map(|m| cast_in(build, &schedule.moulds[*m])).collect(),
        });
        let mut redo = page::redo(build, None, plan);
        let redo_more = redo.len().saturating_sub(MOST);
        redo.truncate(MOST);
        let work = page::work(build, plan, MOST);
        let hours = work.hours_left;
        let mut bill = page::materials(build, bill, &[]);
        bill.buy.sort_by_key(|line| (line.by.is_none(), line.by.clone()));
        let buy_more = bill.buy.len().saturating_sub(MOST_TO_BUY);
        bill.buy.truncate(MOST_TO_BUY);
        Self {
            head: SheetHead::new(build, paper),
            far: page::far(build, plan),
            marks: marks.collect(),
            now: work.now,
            now_more: work.now_more,
            redo,
            redo_more,
            buy: bill.buy,
            buy_more,
            missing: bill.missing,
            hours_left: hours.as_ref().map(|h| h.shown.clone()),
            hours_span: hours.and_then(|h| h.span),
            heats: heats.collect(),
            heats_more: schedule.heats.len().saturating_sub(MOST),
            finish: schedule.finish.map(|f| f.date().to_string()),
            no_finish: NoFinish::of(build, schedule),
        }
    }

    /// As HTML.
    ///
    /// # Errors
    /// In words, where the template does not take what it is given.
    pub fn html(&self) -> Result<String, Unfilled> {
        page(self, "sheet-build.html", TEMPLATE)
    }
}
