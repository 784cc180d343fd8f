//! Why a job is not done earlier.

use super::{JobView, ScheduleView, clock, day};
use crate::manifest::Step;
use crate::view::text::Look;
use serde::Serialize;

/// A job and why it is not done earlier.
#[derive(Debug, Serialize)]
pub struct WhyRow<'a> {
    /// The job.
    #[serde(flatten)]
    pub job: &'a JobView,
    /// Why, in words.
    pub because: String,
}

/// Lines of jobs, each the one that the job before it waited for; two more say how it goes on and
/// what slack there is.
const MOST_LINES: usize = 8;

impl ScheduleView {
    /// Positions of the jobs with this name: `part.step`, or a pattern.
    pub fn find(&self, name: &str) -> Vec<usize> {
        let (on, step) = name.rsplit_once('.').unwrap_or((name, Step::Pattern.word()));
        // What is done on a mould is done for every part in it.
        let named = |j: &JobView| j.on == on || j.with.iter().any(|l| l.part == on);
        (0..self.jobs.len())
            .filter(|n| self.jobs[*n].step == step && named(&self.jobs[*n]))
            .collect()
    }

    /// Why a job is not done earlier, link by link back to today.
    pub fn why_text(&self, look: &Look, job: usize) -> String {
        let mut out = String::new();
        let chain = self.chain(job);
        for (at, &n) in chain.iter().enumerate() {
            let job = &self.jobs[n];
            let name = format!("{} {}", job.on, job.step);
            let span = if job.start == job.end || day(&job.start) == day(&job.end) {
                format!("{} {}", day(&job.start), clock(&job.start))
            } else {
                format!("{} {} to {}", day(&job.start), clock(&job.start), day(&job.end))
            };
            let says = look.wrapped(&format!("{name}, {span}: {}", self.because(n)), 2) + "\n";
            if out.lines().count() + says.lines().count() > MOST_LINES {
                let first = chain.last().map(|n| &self.jobs[*n]);
                let first = first.map_or(String::new(), |j| {
                    format!("{} {}, {} {}", j.on, j.step, day(&j.start), clock(&j.start))
                });
                out += &format!("and so on, through {} more, to {first}\n", chain.len() - at);
                break;
            }
            out += &says;
        }
        let last = &self.jobs[job];
        let slack = match last.slack {
            0 => "it has no slack: any delay moves the finish".to_owned(),
            m if m < 24 * 60 => format!("it could end {m} min later without moving the finish"),
            m if m < 2 * 24 * 60 => "it could end a day later without moving the finish".to_owned(),
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
            ("pour-day", ..) => "the shop does not pour on the days before".into(),
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
            ("material", ..) => job.awaits.as_ref().map_or(String::new(), |m| {
                let of = if m.of == job.on { "what is bought for it" } else { &*m.of };
                format!("waited for {of}, which can be there by {}", m.until)
            }),
            ("same-session", Some(o), _) => format!(
                "rammed in the session in which it is poured, {} {}: this sand may not stand",
                day(&o.start),
                clock(&o.start)
            ),
            _ => "begins with the first hours there are".into(),
        }
    }
}
