//! The arguments of an event as the keys of its entry.

use super::Event;
use crate::cli::Stop;
use crate::view::entry::Value;

pub(super) type Fields = Vec<(&'static str, Option<Value>)>;

fn text(value: &str) -> Option<Value> {
    Some(Value::Text(value.to_owned()))
}

pub(super) fn maybe(value: &Option<String>) -> Option<Value> {
    value.as_deref().and_then(text)
}

/// Words as a list.
fn words(list: &[String]) -> Option<Value> {
    let list: Vec<Value> = list.iter().map(|w| Value::Text(w.clone())).collect();
    (!list.is_empty()).then_some(Value::List(list))
}

/// `KEY=VALUE` arguments as a map.
fn pairs(list: &[String], example: &str) -> Result<Option<Value>, Stop> {
    let mut out = Vec::new();
    for item in list {
        let (key, value) = item
            .split_once('=')
            .ok_or_else(|| Stop::Usage(format!("`{item}` has no =; write {example}")))?;
        out.push((key.to_owned(), Value::Text(value.to_owned())));
    }
    Ok((!out.is_empty()).then_some(Value::Map(out)))
}

pub(super) fn of(event: &Event) -> Result<(&'static str, Fields), Stop> {
    Ok(match event {
        Event::Rammed { mould, pattern, flask, castings, hours, moisture } => (
            "rammed",
            vec![
                ("mould", text(mould)),
                ("pattern", text(pattern)),
                ("flask", maybe(flask)),
                ("castings", pairs(castings, "base=1")?),
                ("hours", maybe(hours)),
                ("moisture", maybe(moisture)),
            ],
        ),
        Event::Poured {
            heat,
            alloy,
            crucible,
            furnace,
            moulds,
            charge,
            temperature,
            heel,
            fuel,
            melt_time,
            filled,
            weather,
        } => (
            "poured",
            vec![
                ("heat", text(heat)),
                ("alloy", text(alloy)),
                ("crucible", maybe(crucible)),
                ("furnace", maybe(furnace)),
                ("charge", pairs(charge, "ingot='3.2 kg'")?),
                ("temperature", maybe(temperature)),
                ("moulds", words(moulds)),
                ("heel", maybe(heel)),
                ("fuel", maybe(fuel)),
                ("melt-time", maybe(melt_time)),
                ("filled", pairs(filled, "M7='8 s'")?),
                ("weather", maybe(weather)),
            ],
        ),
        Event::ShakenOut { mould, after, frozen, mass } => (
            "shaken-out",
            vec![
                ("mould", text(mould)),
                ("after", maybe(after)),
                ("frozen", maybe(frozen)),
                ("mass", maybe(mass)),
            ],
        ),
        Event::Inspected {
            mould,
            part,
            pieces,
            disposition,
            mass,
            blemishes,
            faces,
            can_be,
            sizes,
        } => {
            let blemishes = blemishes.iter().map(|b| {
                let (class, place) = b.split_once('=').unwrap_or((b, ""));
                let mut map = vec![("class".to_owned(), Value::Text(class.to_owned()))];
                if !place.is_empty() {
                    map.push(("where".to_owned(), Value::Text(place.to_owned())));
                }
                map.extend(words(faces).map(|v| ("faces".to_owned(), v)));
                map.extend(words(can_be).map(|v| ("can-be".to_owned(), v)));
                Value::Map(map)
            });
            let blemishes: Vec<Value> = blemishes.collect();
            (
                "inspected",
                vec![
                    ("mould", text(mould)),
                    ("part", text(part)),
                    ("pieces", text(&pieces.to_string())),
                    ("disposition", text(disposition)),
                    ("mass", maybe(mass)),
                    ("sizes", pairs(sizes, "width='120 mm'")?),
                    ("blemishes", (!blemishes.is_empty()).then_some(Value::List(blemishes))),
                ],
            )
        }
        Event::Done { part, pattern, step, hours, mass, sizes } => (
            "done",
            vec![
                ("part", maybe(part)),
                ("pattern", maybe(pattern)),
                ("step", maybe(step)),
                ("hours", maybe(hours)),
                ("mass", maybe(mass)),
                ("sizes", pairs(sizes, "width='120 mm'")?),
            ],
        ),
        Event::Received { part, stock, mass, price } => (
            "received",
            vec![
                ("part", maybe(part)),
                ("stock", maybe(stock)),
                ("mass", maybe(mass)),
                ("price", maybe(price)),
            ],
        ),
        Event::Counted { stock, mass } => {
            ("counted", vec![("stock", text(stock)), ("mass", text(mass))])
        }
        Event::GivenAway { stock, mass, to } => {
            ("given-away", vec![("stock", text(stock)), ("mass", text(mass)), ("to", maybe(to))])
        }
        Event::Note { words, part, mould } => {
            ("note", vec![("says", text(words)), ("part", maybe(part)), ("mould", maybe(mould))])
        }
        Event::Void { entry, why } => ("void", vec![("entry", text(entry)), ("why", text(why))]),
    })
}
