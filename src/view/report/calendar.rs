//! Days in the shop to come, as the page shows them.

use crate::model::Build;
use crate::plan::{Does, Plan, Subject};
use crate::view::FigureView;
use crate::view::chart::{Chart, hours};
use crate::view::page::{cast_in, day_words, near_day, plain, verb};
use crate::view::schedule::NoFinish;
use chrono::{NaiveDate, NaiveDateTime};
use serde::Serialize;

/// The sessions to come.
#[derive(Debug, Clone, Serialize)]
pub struct CalendarView {
    /// Hours of each day.
    pub chart: Option<Chart>,
    /// The next days.
    pub next: Vec<SessionView>,
    /// Those after that.
    pub later: Vec<SessionView>,
    /// How many more there are than the page lists.
    pub left_off: usize,
    /// Heats to come.
    pub heats: Vec<PlannedHeatView>,
    /// Moulds that are still to be rammed.
    pub to_ram: usize,
    /// How many more heats are planned than the page lists.
    pub heats_more: usize,
    /// When the machine is finished, if nothing is cast again.
    pub finish: Option<String>,
    /// The same in words.
    pub finish_words: Option<String>,
    /// What waits for a material, and orders that are overdue.
    pub supply: Vec<String>,
    /// Why there is no such day.
    pub no_finish: Option<NoFinish>,
}

/// A day in the shop.
#[derive(Debug, Clone, Serialize)]
pub struct SessionView {
    /// The day.
    pub day: String,
    /// The same in words.
    pub words: String,
    /// From and until when.
    pub hours: String,
    /// The work by the clock.
    pub blocks: Vec<BlockView>,
}

/// A piece of work by the clock.
#[derive(Debug, Clone, Serialize)]
pub struct BlockView {
    /// From when.
    pub from: String,
    /// Until when.
    pub to: String,
    /// What to do.
    pub verb: &'static str,
    /// On what.
    pub name: String,
    /// Who; none where one person works alone.
    pub person: Option<String>,
    /// Whether it is of the work that sets the finish.
    pub chain: bool,
    /// Where its bar starts, in hundredths of the day's span.
    pub x: f64,
    /// How long its bar is.
    pub width: f64,
}

/// A heat to come.
#[derive(Debug, Clone, Serialize)]
pub struct PlannedHeatView {
    /// Its name.
    pub heat: String,
    /// The day and hour of pouring.
    pub pour: String,
    /// The day in words.
    pub words: String,
    /// The hour of lighting up.
    pub lit: String,
    /// People that the full pot takes, where it is more than one.
    pub people: Option<u32>,
    /// The alloy.
    pub alloy: String,
    /// The crucibles.
    pub crucibles: Vec<String>,
    /// Metal charged.
    pub charge: Option<String>,
    /// What is poured, in order.
    pub parts: Vec<String>,
}

const NEXT: usize = 6;
const LATER: usize = 42;
const HEATS: usize = 40;

/// Shows the schedule.
pub(super) fn calendar(build: &Build, plan: &Plan) -> CalendarView {
    let schedule = &plan.schedule;
    let on_chain = |job: usize| schedule.jobs[job].critical;
    let hour = |t: NaiveDateTime| t.format("%H:%M").to_string();
    // One span of the clock for all days, so that bars under each other can be compared.
    let of_day =
        |t: NaiveDateTime| (t - t.date().and_time(Default::default())).num_minutes() as f64;
    let opens = schedule.sessions.iter().map(|s| of_day(s.opens)).fold(f64::INFINITY, f64::min);
    let closes = schedule
        .sessions
        .iter()
        .map(|s| (s.closes - s.day.and_time(Default::default())).num_minutes() as f64)
        .fold(0.0, f64::max);
    let span = (closes - opens).max(1.0);
    let session = |s: &crate::plan::Session| SessionView {
        day: s.day.to_string(),
        words: if s.day == build.today {
            format!("Today, {}", near_day(s.day))
        } else {
            near_day(s.day)
        },
        hours: format!("{} to {}", hour(s.opens), hour(s.closes)),
        blocks: s
            .blocks
            .iter()
            .map(|b| {
                let job = &schedule.jobs[b.job];
                let since = (b.from - s.day.and_time(Default::default())).num_minutes() as f64;
                let round = |v: f64| (v * 10.0).round() / 10.0;
                BlockView {
                    from: hour(b.from),
                    to: hour(b.to),
                    verb: match b.does {
                        Does::Help => "help to pour",
                        Does::ClearUp => "clear up after",
                        _ => verb(job.step),
                    },
                    name: match (job.mould, job.subject) {
                        (Some(m), _) => cast_in(build, &schedule.moulds[m]),
                        (None, Subject::Pattern(i)) => plain(&build.patterns[i].id),
                        (None, Subject::Part(i)) => plain(&build.parts[i].given.name),
                    },
                    person: (build.shop.people.len() > 1).then(|| plain(&b.person)),
                    chain: on_chain(b.job),
                    x: round((since - opens) / span * 100.0),
                    width: round((b.to - b.from).num_minutes() as f64 / span * 100.0),
                }
            })
            .collect(),
    };
    let days: Vec<(NaiveDate, f64, f64)> = schedule
        .sessions
        .iter()
        .map(|s| {
            let sum = |chain: bool| -> f64 {
                let blocks = s.blocks.iter().filter(|b| on_chain(b.job) == chain);
                blocks.map(|b| (b.to - b.from).num_minutes() as f64 / 60.0).sum()
            };
            (s.day, sum(true), sum(false))
        })
        .collect();
    let units = build.header.units;
    let heat = |h: &crate::plan::PlannedHeat| PlannedHeatView {
        heat: plain(&h.name),
        pour: hour(h.pour),
        words: near_day(h.pour.date()),
        lit: hour(h.lit),
        people: h.people.filter(|n| *n > 1),
        alloy: plain(&h.alloy),
        crucibles: h.crucibles.iter().map(|c| plain(c)).collect(),
        charge: h.charge.as_ref().map(|m| FigureView::new(m.node(), units).large().to_owned()),
        parts: h.moulds.iter().map(|m| cast_in(build, &schedule.moulds[*m])).collect(),
    };
    let sessions = &schedule.sessions;
    CalendarView {
        chart: hours("shop-hours", "Hours in the shop to come (filled: sets the finish)", &days),
        next: sessions.iter().take(NEXT).map(session).collect(),
        later: sessions.iter().skip(NEXT).take(LATER).map(session).collect(),
        left_off: sessions.len().saturating_sub(NEXT + LATER),
        heats: schedule.heats.iter().take(HEATS).map(heat).collect(),
        to_ram: schedule.moulds.iter().filter(|m| m.standing.is_none()).count(),
        heats_more: schedule.heats.len().saturating_sub(HEATS),
        finish: schedule.finish.map(|f| f.date().to_string()),
        finish_words: schedule.finish.map(|f| day_words(f.date())),
        supply: schedule.supply.iter().map(|says| plain(says)).collect(),
        no_finish: NoFinish::of(build, schedule),
    }
}
