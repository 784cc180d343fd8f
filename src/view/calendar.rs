//! The sessions as a calendar file (RFC 5545).

use super::schedule::{ScheduleView, clock};
use crate::figure::{Kind, show};
use crate::model::Build;
use crate::plan::Schedule;
use chrono::TimeDelta;

/// Text without line ends and other control characters, which a calendar file may not hold (RFC
/// 5545, section 3.3.11) and some programs take for the end of a line.
fn one_line(text: &str) -> String {
    let breaks = |c: char| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
    text.split(breaks).filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" ")
}

/// The sessions as a calendar file (RFC 5545), one event a session, times local.
pub fn calendar(build: &Build, schedule: &Schedule) -> String {
    use icalendar::{Calendar, Component, Event, EventLike, Property};
    let view = ScheduleView::new(build, schedule);
    let mut calendar = Calendar::new();
    let machine = one_line(&build.header.title);
    // RFC 7986, and the older name that many programs go by. The library escapes NAME only where
    // its type is said.
    calendar.append_property(
        Property::new("NAME", &*machine).append_parameter(("VALUE", "TEXT")).done(),
    );
    calendar.append_property(Property::new("X-WR-CALNAME", &*machine));
    let units = build.header.units;
    for (session, shown) in schedule.sessions.iter().zip(&view.sessions) {
        let Some((first, last)) =
            session.blocks.first().zip(session.blocks.iter().map(|b| b.to).max())
        else {
            continue;
        };
        let heats: Vec<String> = schedule
            .heats
            .iter()
            .filter(|h| h.lit.date() == session.day)
            .map(|h| {
                let charge = h.charge.as_ref().map(|c| show(Kind::Mass, c.si(), units));
                format!("{} {} {}", h.name, charge.unwrap_or_default(), h.alloy)
            })
            .collect();
        let lines: Vec<String> = shown
            .blocks
            .iter()
            .map(|b| {
                let work = view.work(&view.jobs[b.job], b);
                format!("{} to {} {work}", clock(&b.from), clock(&b.to))
            })
            .collect();
        let title = match heats.is_empty() {
            true => format!("{machine}: bench"),
            false => format!("{machine}: pour {}", heats.join(", ")),
        };
        let made = build.today.and_time(chrono::NaiveTime::MIN).and_utc();
        let lit = schedule.heats.iter().filter(|h| h.lit.date() == session.day).map(|h| h.lit);
        let start = lit.chain([first.from]).min().unwrap_or(first.from);
        let end = last.max(start + TimeDelta::minutes(1));
        calendar.push(
            Event::new()
                .uid(&format!("{}-{}@pourwright", session.day, build.header.begun))
                .timestamp(made)
                .starts(start)
                .ends(end)
                .summary(&title)
                .description(&lines.join("\n"))
                .done(),
        );
    }
    folded(&calendar.to_string())
}

/// Lines of at most 75 octets, no character cut in two (RFC 5545, section 3.1).
fn folded(text: &str) -> String {
    const MOST: usize = 75;
    let mut out = String::with_capacity(text.len());
    for line in text.replace("\r\n ", "").split_terminator("\r\n") {
        let mut octets = 0;
        for c in line.chars() {
            if octets + c.len_utf8() > MOST {
                out.push_str("\r\n ");
                octets = 1;
            }
            out.push(c);
            octets += c.len_utf8();
        }
        out.push_str("\r\n");
    }
    out
}
