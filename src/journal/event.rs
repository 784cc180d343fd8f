//! Reading one entry: each event with its keys.

use super::entry::*;
use crate::figure::{Figure, Quantity};
use crate::handbook::Handbook;
use crate::manifest::Step;
use crate::yaml::{Code, Cursor, Fields};
use chrono::{NaiveDate, NaiveDateTime};
use indexmap::IndexMap;
use std::sync::Arc;

pub(super) const EVENTS: [&str; 10] = Event::WORDS;

/// Reads one entry; its line is not known here.
pub(super) fn entry(cursor: &Cursor<'_>, book: &Handbook) -> Option<Entry> {
    let mut f = cursor.fields()?;
    let id = f.need("id", "20260307-1420-a1", |c| c.text());
    let at = f.need("at", "2026-03-07 14:20", moment);
    let named = f.present(&EVENTS);
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
    for format in ["%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M", "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S"] {
        if let Ok(at) = NaiveDateTime::parse_from_str(&text, format) {
            return Some(at);
        }
    }
    if let Ok(day) = text.parse::<NaiveDate>() {
        return day.and_hms_opt(12, 0, 0);
    }
    cursor.fault(Code::Shape, "a date and time are expected", "write 2026-03-07 14:20");
    None
}

/// `2026-03-07 14:20`, as every entry of ours has it.
fn usual_moment(text: &str) -> Option<NaiveDateTime> {
    let b = text.as_bytes();
    let shape = b.len() == 16 && b[4] == b'-' && b[7] == b'-' && b[10] == b' ' && b[13] == b':';
    let digits = |from: usize, to: usize| {
        let part = shape.then(|| text.get(from..to))??;
        part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse::<u32>().ok())?
    };
    let year = i32::try_from(digits(0, 4)?).ok()?;
    NaiveDate::from_ymd_opt(year, digits(5, 7)?, digits(8, 10)?)?.and_hms_opt(
        digits(11, 13)?,
        digits(14, 16)?,
        0,
    )
}

type Told = (Event, Option<Arc<str>>, Option<Arc<str>>);

fn event(name: &str, cursor: &Cursor<'_>, book: &Handbook) -> Option<Told> {
    let mut f = cursor.fields()?;
    let says = match name {
        "note" => f.need("says", "what to remember", |c| c.text()),
        "void" => None,
        _ => f.take("says", |c| c.text()),
    };
    let photo = if name == "void" { None } else { f.take("photo", photo) };
    let event = match name {
        "rammed" => rammed(&mut f).map(Event::Rammed),
        "poured" => poured(&mut f).map(Event::Poured),
        "shaken-out" => {
            let mould = f.need("mould", "M7", |c| c.word());
            let after = f.take("after", |c| c.figure("time in the mould"));
            let frozen = f.take("frozen", |c| c.figure("time until frozen"));
            let mass = f.take("mass", |c| c.figure("metal out of the mould"));
            mould.map(|mould| Event::ShakenOut(ShakenOut { mould, after, frozen, mass }))
        }
        "inspected" => inspected(&mut f, book).map(Event::Inspected),
        "done" => done(&mut f).map(Event::Done),
        "received" => received(&mut f).map(Event::Received),
        "counted" => {
            let stock = f.need("stock", "sand", |c| c.word());
            let mass = f.need("mass", "140 kg", |c| c.figure_or_zero("counted"));
            stock.zip(mass).map(|(stock, mass)| Event::Counted(Counted { stock, mass }))
        }
        "given-away" => {
            let stock = f.need("stock", "A356", |c| c.word());
            let mass = f.need("mass", "2 kg", |c| c.figure("given away"));
            let to = f.take("to", |c| c.text());
            stock.zip(mass).map(|(stock, mass)| Event::GivenAway(GivenAway { stock, mass, to }))
        }
        "note" => {
            let part = f.take("part", |c| c.word());
            let mould = f.take("mould", |c| c.word());
            says.is_some().then_some(Event::Note(Noted { part, mould }))
        }
        _ => {
            let entry = f.need("entry", "20260307-1420-a1", |c| c.word());
            let why = f.need("why", "what was wrong", |c| c.text());
            entry.zip(why).map(|(entry, why)| Event::Void(Void { entry, why }))
        }
    };
    f.done();
    Some((event?, says, photo))
}

/// A picture that lies in the build's folder or below; whether it is there is not asked.
fn photo(cursor: &Cursor<'_>) -> Option<Arc<str>> {
    use std::path::{Component, Path};
    let path = cursor.text()?;
    let inside = |c| matches!(c, Component::Normal(_) | Component::CurDir);
    if Path::new(&*path).components().all(inside) {
        return Some(path);
    }
    let hint = "copy it beside journal.yaml and give its name there";
    cursor.fault(Code::File, "this picture lies outside the build's folder", hint);
    None
}

/// Quantities by a name that the builder chose.
fn by_name<Q: Quantity>(
    f: &mut Fields<'_>,
    key: &'static str,
    name: &'static str,
) -> IndexMap<Arc<str>, Figure<Q>> {
    let entries = f.get(key).map(|c| c.entries()).unwrap_or_default();
    entries.into_iter().filter_map(|(id, c)| Some((id, c.figure(name)?))).collect()
}

fn rammed(f: &mut Fields<'_>) -> Option<Rammed> {
    let mould = f.need("mould", "M7", |c| c.word());
    let pattern = f.need("pattern", "base-pattern", |c| c.word());
    let flask = f.take("flask", |c| c.word());
    let castings = f.need("castings", "{base: 1}", |c| {
        let each = |(part, c): (Arc<str>, Cursor<'_>)| {
            Some((Word { value: part, route: c.route() }, c.count()?))
        };
        Some(c.entries().into_iter().filter_map(each).collect::<Vec<_>>())
    });
    let hours = f.take("hours", |c| c.figure("time to ram"));
    let moisture = f.take("moisture", |c| c.figure("water in the sand"));
    Some(Rammed { mould: mould?, pattern: pattern?, flask, castings: castings?, hours, moisture })
}

fn poured(f: &mut Fields<'_>) -> Option<Poured> {
    let heat = f.need("heat", "H3", |c| c.word());
    let alloy = f.need("alloy", "A356", |c| c.word());
    let crucible = f.take("crucible", |c| c.word());
    let furnace = f.take("furnace", |c| c.word());
    let charge = by_name(f, "charge", "charged");
    let temperature = f.take("temperature", |c| c.figure("pouring temperature as logged"));
    let moulds = f.need("moulds", "[M7]", |c| {
        Some(c.items().iter().filter_map(|c| c.word()).collect::<Vec<_>>())
    });
    let heel = f.take("heel", |c| c.figure_or_zero("left in the crucible"));
    let fuel = f.take("fuel", |c| c.figure("fuel burnt"));
    let melt_time = f.take("melt-time", |c| c.figure("time to melt"));
    let filled = by_name(f, "filled", "time to fill");
    let weather = f.take("weather", |c| c.text());
    Some(Poured {
        heat: heat?,
        alloy: alloy?,
        crucible,
        furnace,
        charge,
        temperature,
        moulds: moulds?,
        heel,
        fuel,
        melt_time,
        filled,
        weather,
    })
}

fn inspected(f: &mut Fields<'_>, book: &Handbook) -> Option<Inspected> {
    let mould = f.need("mould", "M7", |c| c.word());
    let part = f.need("part", "base", |c| c.word());
    let pieces = f.take("pieces", |c| c.count()).unwrap_or(1);
    let disposition = f.need("disposition", "accept", |c| c.choice(Disposition::WORDS));
    let mass = f.take("mass", |c| c.figure("casting as weighed"));
    let sizes = by_name(f, "sizes", "casting as measured");
    let blemishes = f.get("blemishes").map(|c| c.items()).unwrap_or_default();
    let blemishes = blemishes.iter().filter_map(|c| blemish(c, book)).collect();
    Some(Inspected {
        mould: mould?,
        part: part?,
        pieces,
        disposition: disposition?,
        mass,
        sizes,
        blemishes,
    })
}

fn blemish(cursor: &Cursor<'_>, book: &Handbook) -> Option<Blemish> {
    let mut f = cursor.fields()?;
    let class = f.need("class", "B200", |c| {
        let text = c.text()?;
        let group = text.get(..2).map(|g| format!("{g}00"));
        let digits = text.len() == 4 && text.bytes().skip(1).all(|b| b.is_ascii_digit());
        if !digits || !group.is_some_and(|g| book.defects.contains_key(&*g)) {
            let list = book.defects.keys().map(|k| &**k).collect::<Vec<_>>().join(", ");
            c.fault(
                Code::Word,
                format!("`{text}` is no class of defect"),
                format!("choose from: {list}"),
            );
        }
        Some(text)
    });
    let place = f.take("where", |c| c.text());
    let faces = f.get("faces").map(|c| c.items()).unwrap_or_default();
    let faces = faces.iter().filter_map(Cursor::text).collect();
    let can_be = f.get("can-be").map(|c| c.items()).unwrap_or_default();
    let can_be = can_be.iter().filter_map(|c| c.choice(CanBe::WORDS)).collect();
    f.done();
    Some(Blemish { class: class?, place, faces, can_be })
}

fn done(f: &mut Fields<'_>) -> Option<Done> {
    let part = f.take("part", |c| c.word());
    let pattern = f.take("pattern", |c| c.word());
    let step = f.take("step", |c| c.choice(Step::WORDS));
    let hours = f.take("hours", |c| c.figure("time taken"));
    let mass = f.take("mass", |c| c.figure("pattern as weighed"));
    let sizes = by_name(f, "sizes", "pattern as measured");
    let step = match (&part, &pattern, step) {
        (None, Some(_), None | Some(Step::Pattern)) => Step::Pattern,
        (Some(_), None, Some(step)) => step,
        _ => {
            f.cursor().fault(
                Code::Shape,
                "this does not say which step of what was finished",
                "write {part: base, step: machine} or {pattern: base-pattern}",
            );
            return None;
        }
    };
    Some(Done { part, pattern, step, hours, mass, sizes })
}

fn received(f: &mut Fields<'_>) -> Option<Received> {
    let part = f.take("part", |c| c.word());
    let stock = f.take("stock", |c| c.word());
    let mass = f.take("mass", |c| c.figure("received"));
    let price = f.take("price", |c| c.text());
    if part.is_none() && stock.is_none() {
        f.cursor().fault(
            Code::MissingKey,
            "nothing says what arrived",
            "add `part: motor` or `stock: A356`",
        );
        return None;
    }
    Some(Received { part, stock, mass, price })
}
