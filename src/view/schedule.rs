//! The schedule: sessions, heats, and why a job is not done earlier.

use super::FigureView;
use super::csv::{self, Cell};
use super::text::{Look, Side, finished};
use crate::build::Build;
use crate::manifest::Step;
use crate::plan::{Aim, Heel, Job, PlannedHeat, Schedule, Subject, Waited};
use chrono::NaiveDateTime;
use serde::Serialize;

/// The work that is left, in time. Times are local, `YYYY-MM-DDThh:mm`.
#[derive(Debug, Clone, Serialize)]
pub struct ScheduleView {
    /// When all that could be planned is finished, if nothing is cast again.
    pub finish: Option<String>,
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
    /// Whether it is the plan in force, kept because no other gains enough.
    pub kept: bool,
    /// What keeps some of the work out of the plan.
    pub missing: Vec<String>,
    /// Heats whose full pot asks for more people than the shop has.
    pub short_of_people: Vec<String>,
    /// Days in the shop.
    pub sessions: Vec<SessionView>,
    /// Heats to come.
    pub heats: Vec<HeatView>,
    /// Pieces of work.
    pub jobs: Vec<JobView>,
    /// Positions in `jobs` of the work that sets the finish.
    pub chain: Vec<usize>,
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
    /// Metal to be charged.
    pub charge: Option<FigureView>,
    /// Metal that is left in the pots.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub heels: Vec<HeelView>,
    /// People that the full pot asks for.
    pub people: Option<u32>,
    /// People who are there to lift and pour.
    pub hands: u32,
    /// Its moulds, in the order to pour them.
    pub moulds: Vec<MouldView>,
}

/// A mould to come.
#[derive(Debug, Clone, Serialize)]
pub struct MouldView {
    /// The part.
    pub part: String,
    /// Its name in the journal, if it stands rammed.
    pub mould: Option<String>,
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
    pub(super) fn all(build: &Build, heels: &[Heel]) -> Vec<Self> {
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
    /// `hands`, `flask`, `sand`, `machine` or `same-session`.
    pub waited_for: &'static str,
    /// Position in `jobs` of the job behind that.
    pub waited_job: Option<usize>,
}

/// A job and why it is not done earlier.
#[derive(Debug, Serialize)]
pub struct WhyRow<'a> {
    /// The job.
    #[serde(flatten)]
    pub job: &'a JobView,
    /// Why, in words.
    pub because: String,
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
        let view = |f: &Option<crate::figure::Figure<crate::figure::Mass>>| {
            f.as_ref().map(|f| FigureView::new(f.node(), units))
        };
        let moulds = heat.moulds.iter().map(|m| {
            let mould = &schedule.moulds[*m];
            MouldView {
                part: build.parts[mould.part].id().to_string(),
                mould: mould.standing.as_ref().map(ToString::to_string),
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
                Waited::Flask(_) => "flask",
                Waited::Sand(_) => "sand",
                Waited::Machine(_) => "machine",
                Waited::SameSession(_) => "same-session",
            },
            waited_job: job.waited.job(),
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
                    helps: b.helps,
                    from: stamp(b.from),
                    to: stamp(b.to),
                    goes_on: !b.helps && schedule.jobs[b.job].end > b.to,
                })
                .collect(),
        });
        Self {
            finish: schedule.finish.map(stamp),
            bound: schedule.bound.map(stamp),
            gap_days: schedule.gap_days(),
            aim: schedule.aim,
            least_heats: schedule.least_heats,
            tried: schedule.tried,
            kept: schedule.kept,
            missing: schedule.missing.clone(),
            short_of_people: schedule
                .heats
                .iter()
                .filter(|h| h.people.is_some_and(|p| p > h.hands))
                .map(|h| h.name.to_string())
                .collect(),
            sessions: sessions.collect(),
            heats: schedule.heats.iter().map(|h| HeatView::new(build, schedule, h)).collect(),
            jobs: jobs.collect(),
            chain: schedule.chain.clone(),
        }
    }

    /// Sessions as text, the next `most`.
    pub fn sessions_text(&self, look: &Look, most: usize) -> String {
        let mut out = String::new();
        for session in self.sessions.iter().take(most) {
            let title = format!(
                "{} {}, {} to {}",
                session.weekday,
                session.day,
                clock(&session.opens),
                clock(&session.closes)
            );
            out += &look.heading(&title);
            let several = session.blocks.iter().any(|b| b.person != session.blocks[0].person);
            let mut columns = vec![("from", Side::Left), ("to", Side::Left), ("work", Side::Left)];
            if several {
                columns.push(("who", Side::Left));
            }
            let mut table = look.table(&columns);
            for block in &session.blocks {
                let job = &self.jobs[block.job];
                let mut row = vec![
                    clock(&block.from).to_owned(),
                    clock(&block.to).to_owned(),
                    self.work(job, block),
                ];
                if several {
                    row.push(block.person.clone());
                }
                table.add_row(row);
            }
            out += &finished(&table);
        }
        out
    }

    /// A block of work in words.
    pub(super) fn work(&self, job: &JobView, block: &BlockView) -> String {
        let heat = job.heat.as_ref().and_then(|h| self.heats.iter().find(|x| x.heat == *h));
        let with = job.with.iter().map(|l| format!(" + {}", l.part));
        let on = with.fold(job.on.clone(), |on, with| on + &with);
        // A pattern's id mostly ends in that word already.
        let mut says = match job.step {
            "pattern" => format!("make {on}"),
            step => format!("{on} {step}"),
        };
        if let Some(heat) = heat {
            let mine = |m: &&MouldView| m.part == job.on && m.others == job.with;
            let mould = heat.moulds.iter().find(mine);
            match job.step {
                "ram" => {
                    if let Some(flask) = mould.and_then(|m| m.flask.as_ref()) {
                        says += &format!(" in {flask}");
                    }
                }
                "pour" => {
                    let first =
                        heat.moulds.first().is_some_and(|m| mine(&m)) && block.from < heat.pour;
                    let metal = mould.and_then(|m| m.poured.as_ref()).map(|f| f.shown.clone());
                    says = format!(
                        "{}: {}pour {}{}",
                        heat.heat,
                        if block.helps {
                            "help to lift and ".to_owned()
                        } else if first {
                            format!(
                                "melt {} {} in {} (lit {}), ",
                                heat.charge.as_ref().map_or("", |c| &*c.shown),
                                heat.alloy,
                                heat.crucibles.join(" and "),
                                clock(&heat.lit)
                            )
                        } else {
                            String::new()
                        },
                        on,
                        metal.map_or(String::new(), |m| format!(", {m}"))
                    );
                }
                _ => {}
            }
        }
        if let Some(machine) = &job.machine {
            says += &format!(" on {machine}");
        }
        if block.from > job.start && !block.helps {
            says += ", continued";
        }
        if block.goes_on {
            says += ", to be continued";
        }
        says
    }

    /// Every session as comma-separated text, a row a piece of work.
    pub fn csv(&self) -> String {
        let headings =
            ["day", "weekday", "from", "to", "person", "on", "step", "heat", "critical", "goes on"];
        let mut rows = Vec::new();
        for session in &self.sessions {
            for block in &session.blocks {
                let job = &self.jobs[block.job];
                let text = |t: &str| Cell::text(Some(t.to_owned()));
                let yes = |is: bool| text(if is { "yes" } else { "no" });
                rows.push(vec![
                    text(&session.day),
                    text(&session.weekday),
                    text(clock(&block.from)),
                    text(clock(&block.to)),
                    text(&block.person),
                    text(&job.on),
                    text(job.step),
                    Cell::text(job.heat.clone()),
                    yes(job.critical),
                    yes(block.goes_on),
                ]);
            }
        }
        csv::table(&headings, &rows)
    }

    /// Finish, bound and gap as text.
    pub fn summary_text(&self, look: &Look) -> String {
        let mut out = String::new();
        let mut line = |name: &str, says: String| {
            out += &look.wrapped(&format!("{name:<17}{says}"), 17);
            out.push('\n');
        };
        if let (Some(finish), Some(bound), Some(gap)) = (&self.finish, &self.bound, self.gap_days) {
            let gap = match gap {
                0 => "no plan can finish on an earlier day".to_owned(),
                1 => format!("none can before {}, a day earlier", day(bound)),
                days => format!("none can before {}, {days} days earlier", day(bound)),
            };
            let of = if self.missing.is_empty() { "" } else { "what can be planned: " };
            line("finish", format!("{of}{}, if nothing is cast again; {gap}", day(finish)));
            if let Some(n) = self.chain.last() {
                let bench = self.chain.iter().filter(|n| self.jobs[**n].waited_for == "person");
                let (all, busy) = (self.chain.len(), bench.count());
                let name = format!("{}.{}", self.jobs[*n].on, self.jobs[*n].step);
                let says = match busy * 2 > all {
                    true => {
                        "the hours at the bench: most of the work behind it waited for a free hour"
                    }
                    false => {
                        "what waits for what: most of the work behind it waited for other work"
                    }
                };
                line("set by", format!("{says}; `plan --why {name}` tells them"));
            }
            let heats = self.heats.len();
            let least = match heats == self.least_heats {
                true => "no plan has fewer".to_owned(),
                false => format!("none has fewer than {}", self.least_heats),
            };
            line("heats to come", format!("{heats}; {least}"));
            let aim = match self.aim {
                Aim::Finish => "the earliest day of finish, then the fewest heats",
                Aim::Heats => "the fewest heats, then the earliest day of finish",
            };
            let kept = if self.kept { "; kept from the last plan" } else { "" };
            line("aim", format!("{aim}{kept}"));
        }
        if !self.short_of_people.is_empty() {
            let says = format!(
                "{}: the full pot is more than the people of the shop should lift; have a helper \
                 for the pour, or pour smaller heats, and never pour alone",
                self.short_of_people.join(", ")
            );
            line("people", says);
        }
        for says in &self.missing {
            line("not planned", says.clone());
        }
        out
    }

    /// Heats to come as text.
    pub fn heats_text(&self, look: &Look) -> String {
        let mut table = look.table(&[
            ("heat", Side::Left),
            ("day", Side::Left),
            ("lit", Side::Left),
            ("alloy", Side::Left),
            ("charge", Side::Right),
            ("crucible", Side::Left),
            ("moulds", Side::Left),
        ]);
        for heat in &self.heats {
            table.add_row(vec![
                heat.heat.clone(),
                day(&heat.lit).to_owned(),
                clock(&heat.lit).to_owned(),
                heat.alloy.clone(),
                heat.charge.as_ref().map_or(String::new(), |c| c.shown.clone()),
                heat.crucibles.join(", "),
                heat.moulds.iter().map(|m| &*m.part).collect::<Vec<_>>().join(", "),
            ]);
        }
        finished(&table)
    }

    /// Positions of the jobs with this name: `part.step`, or a pattern.
    pub fn find(&self, name: &str) -> Vec<usize> {
        let (on, step) = name.rsplit_once('.').unwrap_or((name, Step::Pattern.word()));
        (0..self.jobs.len())
            .filter(|n| self.jobs[*n].on == on && self.jobs[*n].step == step)
            .collect()
    }

    /// Why a job is not done earlier, link by link back to today.
    pub fn why_text(&self, look: &Look, job: usize) -> String {
        let mut out = String::new();
        for n in self.chain(job) {
            let job = &self.jobs[n];
            let name = format!("{} {}", job.on, job.step);
            let span = if job.start == job.end || day(&job.start) == day(&job.end) {
                format!("{} {}", day(&job.start), clock(&job.start))
            } else {
                format!("{} {} to {}", day(&job.start), clock(&job.start), day(&job.end))
            };
            let says = format!("{name}, {span}: {}", self.because(n));
            out += &look.wrapped(&says, 2);
            out.push('\n');
        }
        let last = &self.jobs[job];
        let slack = match last.slack {
            0 => "it has no slack: any delay moves the finish".to_owned(),
            m if m < 24 * 60 => format!("it could end {m} min later without moving the finish"),
            m => {
                format!("it could end {} days later without moving the finish", m / (24 * 60))
            }
        };
        out + &format!("{slack}\n")
    }

    /// A job and each one that the job before it waited for, as rows.
    pub fn why(&self, job: usize) -> Vec<WhyRow<'_>> {
        let row = |n: usize| WhyRow { because: self.because(n), job: &self.jobs[n] };
        self.chain(job).into_iter().map(row).collect()
    }

    fn chain(&self, job: usize) -> Vec<usize> {
        let mut seen = vec![job];
        let mut last = job;
        while let Some(n) = self.jobs[last].waited_job.filter(|n| !seen.contains(n)) {
            seen.push(n);
            last = n;
        }
        seen
    }

    fn because(&self, n: usize) -> String {
        let job = &self.jobs[n];
        let other = job.waited_job.map(|n| &self.jobs[n]);
        let name = other.map(|o| format!("{} {}", o.on, o.step));
        let until = |o: &JobView| {
            let waits = o.ready > o.end;
            let time = if waits { &o.ready } else { &o.end };
            let what = if waits { "ready" } else { "over" };
            format!("{what} {} {}", day(time), clock(time))
        };
        match (job.waited_for, other, name) {
            ("job", Some(o), Some(name)) => format!("waited for {name}, {}", until(o)),
            ("person", Some(o), Some(name)) => {
                format!("the hours before went to {name}, until {} {}", day(&o.end), clock(&o.end))
            }
            ("person", ..) => "too little of the session before was left".into(),
            ("long-session", Some(o), Some(name)) => format!(
                "waited for {name}, {}, and then for a session long enough for the whole heat",
                until(o)
            ),
            ("long-session", ..) => "waited for a session long enough for the whole heat".into(),
            ("furnace", _, name) => format!(
                "the furnace had melted all it can in the session before{}",
                name.map_or(String::new(), |n| format!(" ({n})"))
            ),
            ("crucible", _, name) => format!(
                "the crucible was in another heat{}",
                name.map_or(String::new(), |n| format!(" ({n})"))
            ),
            ("hands", ..) => {
                "the people that the full pot takes were not in the shop together before".into()
            }
            ("flask", Some(o), Some(name)) => {
                format!("every such flask was full until {name}, {}", until(o))
            }
            ("flask", ..) => "every such flask was full".into(),
            ("sand", Some(o), Some(name)) => {
                format!("the sand was in other moulds until {name}, {}", until(o))
            }
            ("sand", ..) => "the sand was in other moulds".into(),
            ("machine", Some(o), Some(name)) => {
                let machine = job.machine.as_deref().unwrap_or_default();
                format!("{machine} was taken until {name}, {}", until(o))
            }
            ("same-session", Some(o), _) => format!(
                "rammed in the session in which it is poured, {} {}: such sand may not stand",
                day(&o.start),
                clock(&o.start)
            ),
            _ => "begins with the first hours there are".into(),
        }
    }
}

/// `hh:mm` of a stamp.
pub(super) fn clock(stamp: &str) -> &str {
    stamp.split_once('T').map_or(stamp, |(_, clock)| clock)
}

/// The day of a stamp.
fn day(stamp: &str) -> &str {
    stamp.split_once('T').map_or(stamp, |(day, _)| day)
}
