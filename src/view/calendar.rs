//! The sessions as a calendar file (RFC 5545).

use super::schedule::{ScheduleView, clock};
use super::text::visible;
use crate::model::Build;
use crate::plan::Schedule;
use crate::view::FigureView;
use chrono::TimeDelta;
use sha2::{Digest, Sha256};

/// Text on one line, without control characters, which a calendar file may not hold (RFC 5545,
/// section 3.3.11) and some programs take for the end of a line; what is not seen is shown.
fn one_line(text: &str) -> String {
    let lines: Vec<&str> = text.split(['\n', '\r']).filter(|t| !t.is_empty()).collect();
    visible(&lines.join(" "), false).into_owned()
}

/// What tells the events of this build from those of any other in one calendar (RFC 5545, section
/// 3.8.4.7): its title and the day it was begun, which stay while it goes on.
fn mark(build: &Build) -> String {
    let digest = Sha256::digest(format!("{} {}", build.header.begun, build.header.title));
    digest.iter().take(8).map(|b| format!("{b:02x}")).collect()
}

/// The sessions as a calendar file (RFC 5545), one event a session, times local.
pub fn calendar(build: &Build, schedule: &Schedule) -> String {
    use icalendar::{Calendar, Component, Event, EventLike, Property};
    let view = ScheduleView::new(build, schedule);
    let mut calendar = Calendar::empty();
    calendar.append_property(("VERSION", "2.0"));
    calendar.append_property(("PRODID", "-//pourwright//sessions//EN"));
    calendar.append_property(("CALSCALE", "GREGORIAN"));
    let mark = mark(build);
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
                let charge = h.charge.as_ref().map(|c| FigureView::new(c.node(), units));
                let charge = charge.as_ref().map_or("", FigureView::large);
                format!("{} {charge} {}", h.name, h.alloy)
            })
            .collect();
        let lines: Vec<String> = shown
            .blocks
            .iter()
            .map(|b| {
                let work = view.work(&view.jobs[b.job], b);
                format!("{} to {} {}", clock(&b.from), clock(&b.to), one_line(&work))
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
                .uid(&format!("{}-{mark}@pourwright", session.day))
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
