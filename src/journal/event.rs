//! Reading one entry.

use super::entry::{Entry, Event, PHOTO, SAYS, Says, WORDS};
use super::key::Readable;
use crate::handbook::Handbook;
use crate::yaml::{self, Code, Cursor};
use chrono::{NaiveDate, NaiveDateTime};
use std::sync::Arc;

pub(super) const EVENTS: &[&str] = Event::WORDS;

/// Reads one entry; its line is not known here.
pub(super) fn entry(cursor: &Cursor<'_>, book: &Handbook) -> Option<Entry> {
    let mut f = cursor.fields()?;
    let id = f.need("id", "20260307-1420-a1", |c| c.text());
    let at = f.need("at", "2026-03-07 14:20", moment);
    let named = f.present(EVENTS);
    let event = match named.as_slice() {
        [name] => f.take(name, |c| event(name, c, book)),
        // Another key stands where the event should: that is the fault, told below.
        [] if cursor.ids().iter().any(|k| !matches!(&**k, "id" | "at")) => None,
        [] => {
            cursor.fault(
                Code::MissingKey,
                "nothing says what happened",
                format!("add one of: {}", EVENTS.join(", ")),
            );
            None
        }
        _ => {
            cursor.fault(
                Code::Shape,
                "two events in one entry",
                "give each its own entry after a --- line",
            );
            None
        }
    };
    for name in EVENTS {
        f.get(name);
    }
    f.done();
    let (event, says, photo) = event?;
    Some(Entry { id: id?, at: at?, event, says, photo, line: 0 })
}

fn moment(cursor: &Cursor<'_>) -> Option<NaiveDateTime> {
    let text = cursor.text()?;
    if let Some(at) = usual_moment(&text) {
        return Some(at);
    }
    cursor.read(Code::Shape, yaml::moment(&text))
}

/// `2026-03-07 14:20`, as every entry of ours has it.
fn usual_moment(text: &str) -> Option<NaiveDateTime> {
    let b = text.as_bytes();
    let shape = b.len() == 16 && b[4] == b'-' && b[7] == b'-' && b[10] == b' ' && b[13] == b':';
    let digits = |from: usize, to: usize| {
        let part = shape.then(|| text.get(from..to))??;
        part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse::<u32>().ok())?
    };
    let year = i32::try_from(digits(0, 4)?).ok().filter(|year| yaml::YEARS.contains(year))?;
    NaiveDate::from_ymd_opt(year, digits(5, 7)?, digits(8, 10)?)?.and_hms_opt(
        digits(11, 13)?,
        digits(14, 16)?,
        0,
    )
}

type Told = (Event, Option<Arc<str>>, Option<Arc<str>>);

fn event(name: &str, cursor: &Cursor<'_>, book: &Handbook) -> Option<Told> {
    let kind = Event::KINDS.iter().find(|kind| kind.word == name)?;
    let mut f = cursor.fields()?;
    let mut text = |key| Option::<Arc<str>>::under(&mut f, key, book).flatten();
    let (says, photo) = match kind.says {
        Says::May => (text(&SAYS), text(&PHOTO)),
        Says::Needed => (text(&WORDS), text(&PHOTO)),
        Says::Never => (None, None),
    };
    let event = (kind.read)(&mut f, book);
    f.done();
    let lacks_words = kind.says == Says::Needed && says.is_none();
    Some((event.filter(|_| !lacks_words)?, says, photo))
}
