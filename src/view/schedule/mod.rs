//! The schedule: sessions, heats, and why a job is not done earlier.

mod text;
mod why;

pub use why::WhyRow;

use super::{FigureView, alike};
use crate::figure::{Figure, Mass};
use crate::model::Build;
use crate::plan::{
    Aim, Does, FirstHeat, HeatLift, Heel, Job, PlannedHeat, Schedule, Subject, Waited,
};
use chrono::NaiveDateTime;
use serde::Serialize;

/// The work that is left, in time. Times are local, `YYYY-MM-DDThh:mm`.
#[derive(Debug, Clone, Serialize)]
pub struct ScheduleView {
    /// When all is finished, if nothing is cast again; none while something cannot be planned.
    pub finish: Option<String>,
    /// When all that can be planned is finished, where something cannot.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rest: Option<String>,
    /// No plan finishes before this.
    pub bound: Option<String>,
    /// Days between the two.
    pub gap_days: Option<i64>,
    /// What came first when plans were compared: `finish` or `heats`.
    pub aim: Aim,
    /// No plan has fewer heats.
    pub least_heats: usize,
    /// Plans tried.
    pub tried: usize,
    /// Plans that would have been tried, had the search not been cut short by the clock.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cut_short: Option<usize>,
    /// Whether it is the plan in force, kept because no other gains enough.
    pub kept: bool,
    /// What could not stay as it was promised, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub moved: Vec<String>,
    /// What keeps some of the work out of the plan.
    pub missing: Vec<String>,
    /// Parts that wait for what is missing.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub waiting: Vec<String>,
    /// Heats whose full pot asks for more people than are there for the pour.
    pub short_of_people: Vec<String>,
    /// Pots that no smaller heat makes light enough for the people of the shop, and what would do.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub too_heavy: Vec<String>,
    /// Moulds that stand too long and are rammed again, and why.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stale: Vec<String>,
    /// Moulds that stand longer than they may while their own metal melts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub overlong: Vec<String>,
    /// Heats whose metal may come to more than their pot takes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub brimming: Option<String>,
    /// Heats that could be one but for the sand there is.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub little_sand: Option<String>,
    /// What waits for a material, with the last day to order it, and orders that should be here by now.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub supply: Vec<String>,
    /// First heats of what is new in the shop, and why they are what they are.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub firsts: Vec<FirstView>,
    /// Days in the shop.
    pub sessions: Vec<SessionView>,
    /// Heats to come.
    pub heats: Vec<HeatView>,
    /// Pieces of work.
    pub jobs: Vec<JobView>,
    /// Positions in `jobs` of the work that sets the finish.
    pub chain: Vec<usize>,
}

/// Why there is no finish.
#[derive(Debug, Clone, Serialize)]
pub struct NoFinish {
    /// What is missing, in words.
    pub missing: Vec<String>,
    /// Parts that wait for it.
    pub waiting: Vec<String>,
    /// The day when the rest is finished, if nothing is cast again.
    pub rest: Option<String>,
}

impl NoFinish {
    /// Of a schedule; none where all of the work is in it.
    pub fn of(build: &Build, schedule: &Schedule) -> Option<Self> {
        (!schedule.missing.is_empty()).then(|| Self {
            missing: schedule.missing.clone(),
            waiting: schedule.waiting.iter().map(|i| build.parts[*i].id().to_string()).collect(),
            rest: schedule.rest.map(|rest| rest.date().to_string()),
        })
    }
}

/// A day in the shop.
#[derive(Debug, Clone, Serialize)]
pub struct SessionView {
    /// The day, `YYYY-MM-DD`.
    pub day: String,
    /// Day of the week, such as `Sat`.
    pub weekday: String,
    /// First moment of anybody's hours.
    pub opens: String,
    /// Last moment of anybody's hours.
    pub closes: String,
    /// The work of the day.
    pub blocks: Vec<BlockView>,
}

/// A piece of a job.
#[derive(Debug, Clone, Serialize)]
pub struct BlockView {
    /// Position in `jobs`.
    pub job: usize,
    /// Who.
    pub person: String,
    /// Whether that is one who helps to lift and pour.
    pub helps: bool,
    /// Whether it is clearing up after the heats of the session.
    pub clears_up: bool,
    /// From when.
    pub from: String,
    /// Until when.
    pub to: String,
    /// Whether the job goes on in a later session.
    pub goes_on: bool,
}

/// A heat to come.
#[derive(Debug, Clone, Serialize)]
pub struct HeatView {
    /// Its name.
    pub heat: String,
    /// The alloy.
    pub alloy: String,
    /// The crucibles.
    pub crucibles: Vec<String>,
    /// The furnace.
    pub furnace: String,
    /// When it is lit.
    pub lit: String,
    /// When pouring begins.
    pub pour: String,
    /// When pouring is over.
    pub over: String,
    /// Metal to be charged, to go by at its high end.
    pub charge: Option<FigureView>,
    /// Metal that is left in the pots.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub heels: Vec<HeelView>,
    /// People that the full pots ask for, at the safe end.
    pub people: Option<u32>,
    /// What each pot asks of those who lift it, where its mass is known.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub lifts: Vec<LiftView>,
    /// People who are there to lift and pour.
    pub hands: u32,
    /// Its moulds, in the order to pour them.
    pub moulds: Vec<MouldView>,
}

/// What a full pot of a heat asks of those who lift it, at the safe end of each figure.
#[derive(Debug, Clone, Serialize)]
pub struct LiftView {
    /// The crucible.
    pub crucible: String,
    /// Pot, metal and tongs at the most.
    pub load: FigureView,
    /// That over what one person may lift at the least.
    pub index: f64,
    /// How it may be lifted, in words.
    pub by: &'static str,
    /// Whether it is more than those who are ever in the shop together may lift.
    pub too_heavy: bool,
}

impl LiftView {
    fn new(build: &Build, lift: &HeatLift) -> Self {
        let load = Figure::<Mass>::counted("pot, metal and tongs", lift.load, "each at the most");
        Self {
            crucible: lift.crucible.to_string(),
            load: FigureView::new(load.node(), build.header.units),
            index: lift.index,
            by: lift.carry.words(),
            too_heavy: lift.too_heavy,
        }
    }
}

/// The first heat of a shop, an alloy or a sand.
#[derive(Debug, Clone, Serialize)]
pub struct FirstView {
    /// Its name; none where small heats first would cost too much.
    pub heat: Option<String>,
    /// What it is the first of: `this shop`, alloys and sands.
    pub of: Vec<String>,
    /// Why, in words.
    pub says: String,
}

impl FirstView {
    fn new(first: &FirstHeat) -> Self {
        Self {
            heat: first.heat.as_ref().map(ToString::to_string),
            of: first.of.clone(),
            says: first.says.clone(),
        }
    }
}

/// A mould to come.
#[derive(Debug, Clone, Serialize)]
pub struct MouldView {
    /// The part.
    pub part: String,
    /// Its name in the journal, if it stands rammed.
    pub mould: Option<String>,
    /// Whether that one stands too long by then, and is knocked out and rammed again.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub again: bool,
    /// Castings in it.
    pub castings: u32,
    /// Castings of other parts in it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<LotView>,
    /// The flask.
    pub flask: Option<String>,
    /// Metal poured into it.
    pub poured: Option<FigureView>,
    /// Metal charged for it.
    pub charge: Option<FigureView>,
    /// Sand rammed into it.
    pub sand: Option<FigureView>,
    /// When it is rammed.
    pub rammed: String,
    /// When it is shaken out.
    pub shaken_out: String,
}

/// Metal that is left in a crucible.
#[derive(Debug, Clone, Serialize)]
pub struct HeelView {
    /// The crucible.
    pub crucible: String,
    /// What is left.
    pub left: FigureView,
    /// The heat whose heel is in the pot when this one is charged.
    pub from: Option<String>,
    /// The heat that it stays for; none where it is pigged.
    pub to: Option<String>,
}

impl HeelView {
    pub(in crate::view) fn all(build: &Build, heels: &[Heel]) -> Vec<Self> {
        let heels = heels.iter().map(|heel| Self {
            crucible: heel.crucible.to_string(),
            left: FigureView::new(heel.left.node(), build.header.units),
            from: heel.from.as_ref().map(ToString::to_string),
            to: heel.to.as_ref().map(ToString::to_string),
        });
        heels.collect()
    }
}

/// Castings of one part in a mould.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LotView {
    /// The part.
    pub part: String,
    /// How many.
    pub castings: u32,
}

impl LotView {
    /// Of these.
    pub fn all(build: &Build, lots: &[(usize, u32)]) -> Vec<Self> {
        let id = |i: usize| build.parts[i].id().to_string();
        lots.iter().map(|(i, castings)| Self { part: id(*i), castings: *castings }).collect()
    }
}

/// A piece of work in time.
#[derive(Debug, Clone, Serialize)]
pub struct JobView {
    /// Id of the part or pattern.
    pub on: String,
    /// Other parts that lie in the same mould.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<LotView>,
    /// The step.
    pub step: &'static str,
    /// When it begins.
    pub start: String,
    /// When the work on it is over.
    pub end: String,
    /// When what waits for it can begin.
    pub ready: String,
    /// Minutes at the bench.
    pub minutes: i64,
    /// The machine it is done on.
    pub machine: Option<String>,
    /// Minutes that it could end later without moving the finish.
    pub slack: i64,
    /// Whether it is of the work that sets the finish.
    pub critical: bool,
    /// The heat it belongs to, for ramming, pouring and shaking out.
    pub heat: Option<String>,
    /// What it waited for last: `nothing`, `job`, `person`, `long-session`, `furnace`, `crucible`,
    /// `hands`, `pour-day`, `flask`, `sand`, `machine`, `material` or `same-session`.
    pub waited_for: &'static str,
    /// Position in `jobs` of the job behind that.
    pub waited_job: Option<usize>,
    /// The material that it waits for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub awaits: Option<AwaitView>,
}

/// A material that is waited for.
#[derive(Debug, Clone, Serialize)]
pub struct AwaitView {
    /// Name of the stock.
    pub of: String,
    /// The day on which it can be there.
    pub until: String,
}

fn stamp(at: NaiveDateTime) -> String {
    at.format("%Y-%m-%dT%H:%M").to_string()
}

fn on(build: &Build, job: &Job) -> String {
    match job.subject {
        Subject::Pattern(i) => build.patterns[i].id.to_string(),
        Subject::Part(i) => build.parts[i].id().to_string(),
    }
}

impl HeatView {
    /// Of a heat to come.
    pub fn new(build: &Build, schedule: &Schedule, heat: &PlannedHeat) -> Self {
        let units = build.header.units;
        let view = |f: &Option<Figure<Mass>>| f.as_ref().map(|f| FigureView::new(f.node(), units));
        let moulds = heat.moulds.iter().map(|m| {
            let mould = &schedule.moulds[*m];
            MouldView {
                part: build.parts[mould.part].id().to_string(),
                mould: mould.standing.as_ref().map(ToString::to_string),
                again: mould.again,
                castings: mould.castings,
                others: LotView::all(build, &mould.others),
                flask: mould.flask.as_ref().map(ToString::to_string),
                poured: view(&mould.poured),
                charge: view(&mould.charge),
                sand: view(&mould.sand),
                rammed: stamp(mould.rammed),
                shaken_out: stamp(mould.shaken_out),
            }
        });
        Self {
            heat: heat.name.to_string(),
            alloy: heat.alloy.to_string(),
            crucibles: heat.crucibles.iter().map(ToString::to_string).collect(),
            furnace: heat.furnace.to_string(),
            lit: stamp(heat.lit),
            pour: stamp(heat.pour),
            over: stamp(heat.over),
            charge: view(&heat.charge),
            heels: HeelView::all(build, &heat.heels),
            people: heat.people,
            lifts: heat.lifts.iter().map(|lift| LiftView::new(build, lift)).collect(),
            hands: heat.hands,
            moulds: moulds.collect(),
        }
    }
}

impl ScheduleView {
    /// Of a build.
    pub fn new(build: &Build, schedule: &Schedule) -> Self {
        let jobs = schedule.jobs.iter().map(|job| JobView {
            on: on(build, job),
            with: job
                .mould
                .map(|m| LotView::all(build, &schedule.moulds[m].others))
                .unwrap_or_default(),
            step: job.step.word(),
            start: stamp(job.start),
            end: stamp(job.end),
            ready: stamp(job.ready),
            minutes: job.minutes,
            machine: job.machine.as_ref().map(ToString::to_string),
            slack: job.slack,
            critical: job.critical,
            heat: job.mould.map(|m| schedule.heats[schedule.moulds[m].heat].name.to_string()),
            waited_for: match job.waited {
                Waited::Nothing => "nothing",
                Waited::Job(_) => "job",
                Waited::Person(_) => "person",
                Waited::LongSession(_) => "long-session",
                Waited::Furnace(_) => "furnace",
                Waited::Crucible(_) => "crucible",
                Waited::Hands => "hands",
                Waited::PourDay => "pour-day",
                Waited::Flask(_) => "flask",
                Waited::Sand(_) => "sand",
                Waited::Machine(_) => "machine",
                Waited::Material(_) => "material",
                Waited::SameSession(_) => "same-session",
            },
            waited_job: job.waited.job(),
            awaits: (match job.waited {
                Waited::Material(n) => &schedule.jobs[n].awaits,
                _ => &job.awaits,
            })
            .as_ref()
            .map(|(of, until)| AwaitView { of: of.to_string(), until: until.to_string() }),
        });
        let sessions = schedule.sessions.iter().map(|s| SessionView {
            day: s.day.to_string(),
            weekday: s.day.format("%a").to_string(),
            opens: stamp(s.opens),
            closes: stamp(s.closes),
            blocks: s
                .blocks
                .iter()
                .map(|b| BlockView {
                    job: b.job,
                    person: b.person.to_string(),
                    helps: b.does == Does::Help,
                    clears_up: b.does == Does::ClearUp,
                    from: stamp(b.from),
                    to: stamp(b.to),
                    goes_on: b.does == Does::Work && schedule.jobs[b.job].end > b.to,
                })
                .collect(),
        });
        let heats = schedule.heats.iter().map(|h| HeatView::new(build, schedule, h));
        let mut heats: Vec<HeatView> = heats.collect();
        alike(heats.iter_mut().filter_map(|h| h.charge.as_mut()));
        Self {
            finish: schedule.finish.map(stamp),
            rest: schedule.rest.map(stamp),
            bound: schedule.bound.map(stamp),
            gap_days: schedule.gap_days(),
            aim: schedule.aim,
            least_heats: schedule.least_heats,
            tried: schedule.tried,
            cut_short: schedule.cut_short,
            kept: schedule.kept,
            moved: schedule.moved.clone(),
            missing: schedule.missing.clone(),
            waiting: schedule.waiting.iter().map(|i| build.parts[*i].id().to_string()).collect(),
            short_of_people: schedule
                .heats
                .iter()
                .filter(|h| h.people.is_some_and(|p| p > h.hands))
                .map(|h| h.name.to_string())
                .collect(),
            too_heavy: schedule.too_heavy.clone(),
            stale: schedule.stale.clone(),
            overlong: schedule.overlong.clone(),
            little_sand: schedule.little_sand.clone(),
            brimming: schedule.brimming.clone(),
            supply: schedule.supply.clone(),
            firsts: schedule.firsts.iter().map(FirstView::new).collect(),
            sessions: sessions.collect(),
            heats,
            jobs: jobs.collect(),
            chain: schedule.chain.clone(),
        }
    }
}

/// `hh:mm` of a stamp.
pub(in crate::view) fn clock(stamp: &str) -> &str {
    stamp.split_once('T').map_or(stamp, |(_, clock)| clock)
}

/// The day of a stamp.
fn day(stamp: &str) -> &str {
    stamp.split_once('T').map_or(stamp, |(day, _)| day)
}
