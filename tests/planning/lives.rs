//! Lives of a build: somebody works exactly as planned, or not, and looks at the plan every week.
//! What was promised for later must stand; where it cannot, the plan says why.

use super::builds::{Dice, SHIPPED, files, keeping, read_on};
use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use pourwright::model::Build;
use pourwright::plan::{Aim, Does, Kept, Schedule, Subject};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

const LOOKS: i64 = 8;
const TRIES: usize = 120;

/// A build that goes on: its files, and moulds that were named so far.
pub struct Life {
    manifest: String,
    pub journal: String,
    pub today: NaiveDate,
    named: usize,
}

/// A piece of work of one day, as it can be compared.
type Piece = (NaiveDate, String, String, String);
/// What each session holds.
type Sessions = BTreeMap<NaiveDate, BTreeSet<Piece>>;

/// What a schedule promises of each day from one on.
fn promised(
    build: &Build,
    schedule: &Schedule,
    from: NaiveDate,
) -> BTreeMap<NaiveDate, BTreeSet<Piece>> {
    let mut out: BTreeMap<NaiveDate, BTreeSet<Piece>> = BTreeMap::new();
    for session in schedule.sessions.iter().filter(|s| s.day >= from) {
        for block in &session.blocks {
            let job = &schedule.jobs[block.job];
            let on = match job.subject {
                Subject::Pattern(i) => build.patterns[i].id.to_string(),
                Subject::Part(i) => build.parts[i].id().to_string(),
            };
            let piece = (session.day, on, job.step.word().into(), block.from.to_string());
            out.entry(session.day).or_default().insert(piece);
        }
    }
    out
}

impl Life {
    pub fn new([manifest, journal]: [String; 2]) -> Self {
        let build = super::builds::read(&manifest, &journal);
        let today = build.today.max(build.header.begun);
        Self { manifest, journal, today, named: 0 }
    }

    pub fn build(&self) -> Build {
        read_on(&self.manifest, &self.journal, self.today)
    }

    fn log(&mut self, at: NaiveDateTime, event: &str) {
        self.named += 1;
        let stamp = at.format("%Y-%m-%d %H:%M");
        write!(self.journal, "---\nid: life-{}\nat: {stamp}\n{event}\n", self.named).expect("text");
    }

    /// Does what is planned until a day. With dice one session in ten is missed, and what builds on
    /// it that week with it; and what is left of work that was begun turns out to be 0.7 to 1.8 times
    /// as long.
    pub fn work(
        &mut self,
        build: &Build,
        schedule: &Schedule,
        mut until: NaiveDate,
        mut dice: Option<&mut Dice>,
    ) {
        if let Some(dice) = dice.as_deref_mut() {
            let days = schedule.sessions.iter().map(|s| s.day).filter(|day| *day < until);
            let missed = days.filter(|_| dice.roll(10) == 0).min();
            until = missed.unwrap_or(until);
        }
        let mut events: Vec<(NaiveDateTime, u8, String)> = Vec::new();
        let mut names: BTreeMap<usize, String> = BTreeMap::new();
        for (m, mould) in schedule.moulds.iter().enumerate() {
            let name = mould.standing.as_ref().map(ToString::to_string);
            names.insert(m, name.unwrap_or_else(|| format!("life-{}-{m}", self.today)));
        }
        let over = |at: NaiveDateTime| at.date() < until;
        let cooling = |part: usize| {
            let full = build.history.attempts.values();
            full.filter(move |a| {
                a.poured.is_some()
                    && a.shaken_out.is_none()
                    && a.castings.first().is_some_and(|c| c.0 == part)
            })
        };
        // Castings shaken out and not yet looked at: mould, part and pieces.
        let mut out: Vec<(String, usize, u32)> = Vec::new();
        for attempt in build.history.attempts.values().filter(|a| a.shaken_out.is_some()) {
            for (part, _) in &attempt.castings {
                let pieces = attempt.pieces(*part);
                let open = pieces.shaken_out + pieces.reworked;
                out.extend((open > 0).then(|| (attempt.mould.to_string(), *part, open)));
            }
        }
        let mut shaken: BTreeMap<usize, usize> = BTreeMap::new();
        for (n, job) in schedule.jobs.iter().enumerate() {
            let step = job.step.word();
            if step == "shake-out" && over(job.end) {
                let (name, lots) = match (job.mould, job.subject) {
                    (Some(m), _) => (names[&m].clone(), schedule.moulds[m].lots()),
                    (None, Subject::Part(part)) => {
                        let nth = shaken.entry(part).or_default();
                        let attempt = cooling(part).nth(*nth).expect("a mould that cools");
                        *nth += 1;
                        (attempt.mould.to_string(), attempt.castings.clone())
                    }
                    _ => continue,
                };
                out.extend(lots.into_iter().map(|(part, n)| (name.clone(), part, n)));
                events.push((job.end, 2, format!("shaken-out: {{mould: {name}}}")));
            }
            let (on, key) = match job.subject {
                Subject::Pattern(i) => (build.patterns[i].id.to_string(), "pattern"),
                Subject::Part(i) => (build.parts[i].id().to_string(), "part"),
            };
            let of = match key {
                "part" => format!("part: {on}, step: {step}"),
                _ => format!("pattern: {on}"),
            };
            match step {
                "ram" => {
                    let m = job.mould.expect("a mould");
                    if over(job.end) {
                        let mould = &schedule.moulds[m];
                        let pattern =
                            build.parts[mould.part].casting.as_ref().expect("cast").pattern;
                        let lots: Vec<String> = mould
                            .lots()
                            .iter()
                            .map(|(part, n)| format!("{}: {n}", build.parts[*part].id()))
                            .collect();
                        let (id, name) = (&build.patterns[pattern].id, &names[&m]);
                        events.push((
                            job.end,
                            0,
                            format!(
                                "rammed: {{mould: {name}, pattern: {id}, castings: {{{}}}}}",
                                lots.join(", ")
                            ),
                        ));
                    }
                }
                "pour" | "shake-out" => {}
                "receive" if over(job.ready) => {
                    events.push((job.ready, 5, format!("received: {{part: {on}}}")))
                }
                "inspect" => {}
                "receive" => {}
                _ if over(job.end) && over(job.ready) => {
                    let last = if job.minutes == 0 { job.ready } else { job.end };
                    events.push((last, 4, format!("done: {{{of}}}")));
                }
                _ => {
                    let blocks = schedule.sessions.iter().flat_map(|s| &s.blocks);
                    let mine: Vec<_> = blocks
                        .filter(|b| b.job == n && b.does == Does::Work && over(b.from))
                        .collect();
                    let minutes: i64 = mine.iter().map(|b| (b.to - b.from).num_minutes()).sum();
                    if minutes > 0 && minutes < job.minutes {
                        let noise = dice.as_deref_mut().map_or(10, |d| 7 + d.roll(12) as i64);
                        let left = (job.minutes - minutes) * noise / 10 + i64::from(noise < 10);
                        let last = mine.iter().map(|b| b.to).max().expect("a block");
                        events.push((
                            last,
                            4,
                            format!("worked: {{{of}, hours: {minutes} min, left: {left} min}}"),
                        ));
                    } else if minutes > 0 {
                        events.push((job.end, 4, format!("done: {{{of}}}")));
                    }
                }
            }
        }
        for heat in schedule.heats.iter().filter(|h| over(h.over)) {
            let moulds: Vec<&str> = heat.moulds.iter().map(|m| &*names[m]).collect();
            events.push((
                heat.over,
                1,
                format!(
                    "poured: {{heat: {}, alloy: {}, moulds: [{}]}}",
                    heat.name,
                    heat.alloy,
                    moulds.join(", ")
                ),
            ));
        }
        for job in schedule.jobs.iter().filter(|j| j.step.word() == "inspect" && over(j.end)) {
            let Subject::Part(part) = job.subject else { continue };
            for (mould, _, pieces) in out.iter().filter(|(_, p, _)| *p == part) {
                let id = build.parts[part].id();
                events.push((
                    job.end,
                    3,
                    format!("inspected: {{mould: {mould}, part: {id}, pieces: {pieces}, disposition: accept}}"),
                ));
            }
        }
        events.sort();
        for (at, _, event) in events {
            self.log(at, &event);
        }
    }
}

/// Counts of what was promised, and of what of it stood a week later.
#[derive(Default)]
struct Stood {
    sessions: [usize; 2],
    heats: [usize; 2],
    /// Heats that moved and whose cause was told.
    told: usize,
    moved: Vec<String>,
}

fn live(folder: &str, mut dice: Option<Dice>) -> Stood {
    let mut life = Life::new(files(folder));
    let mut stood = Stood::default();
    let mut kept: Option<Kept> = None;
    let mut before: Option<(Sessions, BTreeMap<String, NaiveDate>)> = None;
    for look in 0..=LOOKS {
        let build = life.build();
        // The first plan is looked for longer, so that none gains days on it later.
        let tries = if look == 0 { 4 * TRIES } else { TRIES };
        let (schedule, keep) = keeping(&build, Aim::Finish, tries, kept.as_ref());
        if let Some((sessions, heats)) = &before {
            let now = promised(&build, &schedule, life.today);
            for (day, pieces) in sessions.iter().filter(|(day, _)| **day >= life.today) {
                let same = now.get(day) == Some(pieces);
                stood.sessions[0] += 1;
                stood.sessions[1] += usize::from(same);
                if !same {
                    let gone: Vec<_> = match now.get(day) {
                        Some(n) => pieces.difference(n).collect(),
                        None => pieces.iter().collect(),
                    };
                    stood.moved.push(format!("{} {day}: {gone:?}", life.today));
                }
            }
            if kept.is_some() && !schedule.kept {
                stood.moved.push(format!("{} another plan: {:?}", life.today, schedule.finish));
            }
            for (name, day) in heats.iter().filter(|(_, day)| **day >= life.today) {
                let found = schedule.heats.iter().find(|h| *h.name == **name);
                let same = found.is_some_and(|h| h.pour.date() == *day);
                stood.heats[0] += 1;
                stood.heats[1] += usize::from(same);
                let told = schedule.moved.iter().any(|m| m.starts_with(&format!("{name} ")));
                stood.told += usize::from(!same && told);
                if !same {
                    let now = found.map(|h| h.pour.date());
                    stood.moved.push(format!("{} {name} {day} -> {now:?}", life.today));
                }
            }
        }
        let next = life.today + TimeDelta::days(7);
        let heats = schedule.heats.iter().map(|h| (h.name.to_string(), h.pour.date())).collect();
        before = Some((promised(&build, &schedule, next), heats));
        life.work(&build, &schedule, next, dice.as_mut());
        life.today = next;
        kept = Some(keep);
    }
    stood
}

#[test]
fn a_life_as_planned_keeps_its_promises() {
    println!("build                        sessions unmoved      heats on their day");
    let mut faults = Vec::new();
    for folder in SHIPPED {
        let stood = live(folder, None);
        let share = |[all, same]: [usize; 2]| 100.0 * same as f64 / all.max(1) as f64;
        let (sessions, heats) = (share(stood.sessions), share(stood.heats));
        println!(
            "{folder:<27} {:>5} of {:>4} {sessions:>5.1} %  {:>5} of {:>4} {heats:>5.1} %",
            stood.sessions[1], stood.sessions[0], stood.heats[1], stood.heats[0]
        );
        if sessions < 95.0 || heats < 95.0 {
            let first: Vec<String> = stood.moved.into_iter().take(12).collect();
            faults.push(format!("{folder}\n  {}", first.join("\n  ")));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn a_life_with_mishaps_tells_why_heats_move() {
    println!("build                        heats moved   told with their cause");
    let mut moved = 0;
    for (seed, folder) in (1..).zip(SHIPPED) {
        let stood = live(folder, Some(Dice::new(seed)));
        let gone = stood.heats[0] - stood.heats[1];
        println!("{folder:<27} {gone:>5} of {:>4}   {:>5}", stood.heats[0], stood.told);
        assert_eq!(stood.told, gone, "{folder}\n  {}", stood.moved.join("\n  "));
        moved += gone;
    }
    assert!(moved > 5, "{moved} heats moved: too quiet a life to tell anything");
}
