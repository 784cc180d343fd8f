//! Reading the journal, one document at a time, so that a torn entry harms no other.

use super::append::CUT_OFF;
use super::entry::*;
use crate::handbook::Handbook;
use crate::manifest::Step;
use crate::yaml::{
    Code, Cursor, Fault, Faults, Fields, MAX_BYTES, Place, Reading, Tree, nearest, parse, shown_of,
    text_of,
};
use chrono::{NaiveDate, NaiveDateTime};
use indexmap::IndexMap;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The journal as read: entries that count, in the order they happened.
#[derive(Debug, Clone, Default)]
pub struct Journal {
    /// Entries that count, by time.
    pub entries: Vec<Entry>,
    /// How many entries were voided.
    pub voided: usize,
    /// Entries that could not be read to their end, as they stand in the file: kept, not counted.
    pub torn: Vec<(usize, String)>,
    /// Things worth pointing out that are no faults.
    pub remarks: Vec<String>,
}

/// Reads a journal.
///
/// # Errors
/// Every fault of the file at once. A last entry that was cut off in writing is not a fault: it
/// is kept in [`Journal::torn`] and told.
pub fn read(file: &str, bytes: Vec<u8>, book: &Handbook) -> Result<Journal, Faults> {
    let bytes = mended(bytes);
    let raw = shown_of(&bytes);
    let text = match text_of(bytes) {
        Ok(text) => text,
        Err(fault) => {
            let text = raw.unwrap_or_default();
            return Err(Faults { file: file.into(), text, list: vec![fault] });
        }
    };
    let mut journal = Journal::default();
    let mut faults = Vec::new();
    let mut seen: BTreeMap<Arc<str>, usize> = BTreeMap::new();
    let documents = documents(&text);
    let last = documents.len();
    for (nth, (line, document)) in documents.into_iter().enumerate() {
        let reading = Reading::default();
        let mut headless = false;
        let entry = parse(document).map(|tree| match tree {
            Tree::Empty => None,
            tree => {
                headless = has_no_event(&tree);
                entry(&Cursor::top(&tree, &reading), line, book)
            }
        });
        let found = reading.into_faults();
        let torn = (nth + 1 == last && !text.ends_with('\n'))
            || document.trim_end().ends_with(CUT_OFF.trim_end())
            || headless;
        match entry {
            Ok(Some(mut entry)) if found.is_empty() => match seen.get(&entry.id) {
                Some(first) => {
                    let says = format!("the entry in line {first} has this id too");
                    let hint = "two copies of one entry: delete one; two entries: change a letter of one id";
                    faults.push(Fault::at(Code::RepeatedId, line, 1, says, hint));
                }
                None => {
                    seen.insert(entry.id.clone(), line);
                    entry.line = line + event_line(document);
                    journal.entries.push(entry);
                }
            },
            Ok(None) if found.is_empty() => {}
            _ if torn => journal.torn.push((line, document.to_owned())),
            Ok(_) => faults.extend(found.into_iter().map(|f| moved(f, document, line))),
            Err(fault) => faults.push(moved(fault, document, line)),
        }
    }
    settle(&mut journal, &mut faults);
    if faults.is_empty() {
        Ok(journal)
    } else {
        Err(Faults { file: file.into(), text, list: faults })
    }
}

/// The bytes of a journal, with those replaced that a cut-off write left behind: half a letter or
/// zeros in its last line, or in a line that was closed as cut off later. Lines stay where they are.
fn mended(bytes: Vec<u8>) -> Vec<u8> {
    if bytes.len() > MAX_BYTES || shown_of(&bytes).is_none() {
        return bytes;
    }
    let lines: Vec<&[u8]> = bytes.split_inclusive(|b| *b == b'\n').collect();
    let mut out = Vec::with_capacity(bytes.len());
    for (i, line) in lines.iter().enumerate() {
        let cut = match lines.get(i + 1) {
            None => !line.ends_with(b"\n"),
            Some(next) => next.trim_ascii_end() == CUT_OFF.trim().as_bytes(),
        };
        if !cut {
            out.extend_from_slice(line);
        } else if line.trim_ascii_end().iter().all(|b| *b == 0) {
            // Room that was set aside and never written: nothing stood here.
            out.extend(line.iter().map(|b| if *b == 0 { b' ' } else { *b }));
        } else {
            let text = String::from_utf8_lossy(line).replace('\0', "\u{fffd}");
            out.extend_from_slice(text.as_bytes());
        }
    }
    out
}

/// Only an id and a time: writing stopped before the line that says what happened.
fn has_no_event(tree: &Tree) -> bool {
    matches!(tree, Tree::Map(keys) if keys.iter().all(|(k, _)| matches!(&**k, "id" | "at")))
}

/// Lines of a document above the one that says what happened.
fn event_line(document: &str) -> usize {
    let says = |line: &str| line.split_once(':').is_some_and(|(key, _)| EVENTS.contains(&key));
    document.lines().position(says).unwrap_or(0)
}

/// A fault of one document as a fault of the file.
fn moved(fault: Fault, document: &str, line: usize) -> Fault {
    let mut place = fault.place(document);
    let lines = document.lines().count().max(1);
    if place.line > lines {
        // Reading stopped at the end of the document, not on the line of the next one.
        let last = document.lines().last().unwrap_or_default();
        place = Place { line: lines, column: last.chars().count().max(1), length: 1 };
    }
    place.line += line - 1;
    Fault::placed(fault.code, place, fault.says, fault.hint)
}

/// Documents with the line their text starts on.
fn documents(text: &str) -> Vec<(usize, &str)> {
    let mut out = Vec::new();
    let (mut start, mut line, mut at) = (0, 1, 0);
    let mut begun = 1;
    let mut pieces = text.split_inclusive('\n').peekable();
    while let Some(piece) = pieces.next() {
        // A `---` that was cut short ends the entry above it all the same.
        let closed = pieces.peek().is_none_or(|next| next.trim_end() == CUT_OFF.trim());
        let mark = piece.trim_end();
        let cut_short = closed && !mark.is_empty() && "---".starts_with(mark);
        if piece.trim_end() == "---" || cut_short {
            if !text[start..at].trim().is_empty() {
                out.push((begun, &text[start..at]));
            }
            start = at + piece.len();
            begun = line + 1;
        }
        at += piece.len();
        line += 1;
    }
    if !text[start..].trim().is_empty() {
        out.push((begun, &text[start..]));
    }
    out
}

/// Applies voids, sorts by time, points out clocks that ran backwards.
fn settle(journal: &mut Journal, faults: &mut Vec<Fault>) {
    let mut voided = std::collections::BTreeSet::new();
    let known: std::collections::BTreeSet<Arc<str>> =
        journal.entries.iter().map(|e| e.id.clone()).collect();
    for entry in &journal.entries {
        let Event::Void(void) = &entry.event else { continue };
        if known.contains(&void.entry.value) {
            voided.insert(void.entry.value.clone());
        } else {
            let near = nearest(&void.entry.value, known.iter().map(|k| &**k));
            let hint =
                near.map_or("look up the id above".to_owned(), |n| format!("did you mean `{n}`?"));
            let says = format!("no entry has the id `{}`", void.entry.value);
            faults.push(Fault::at(Code::UnknownEntry, entry.line, 1, says, hint));
        }
    }
    journal.voided = voided.len();
    journal.entries.retain(|e| !voided.contains(&e.id) && !matches!(e.event, Event::Void(_)));
    for pair in journal.entries.windows(2) {
        if pair[1].at < pair[0].at {
            journal.remarks.push(format!(
                "journal.yaml:{}: this entry is dated before the one above it; both count",
                pair[1].line
            ));
        }
    }
    journal.entries.sort_by_key(|e| e.at);
    for (line, _) in &journal.torn {
        journal.remarks.push(format!(
            "journal.yaml:{line}: this entry was not written to its end; it is kept in the file but does not count"
        ));
    }
}

const EVENTS: [&str; 9] =
    ["rammed", "poured", "shaken-out", "inspected", "done", "received", "counted", "note", "void"];

fn entry(cursor: &Cursor<'_>, line: usize, book: &Handbook) -> Option<Entry> {
    let mut f = cursor.fields()?;
    let id = f.need("id", "20260307-1420-a1", |c| c.text());
    let at = f.need("at", "2026-03-07 14:20", moment);
    let named = f.present(&EVENTS);
    let event = match named.as_slice() {
        [name] => f.take(name, |c| event(name, c, book)),
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
    Some(Entry { id: id?, at: at?, event: event?, line })
}

fn moment(cursor: &Cursor<'_>) -> Option<NaiveDateTime> {
    let text = cursor.text()?;
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

fn event(name: &str, cursor: &Cursor<'_>, book: &Handbook) -> Option<Event> {
    let mut f = cursor.fields()?;
    let event = match name {
        "rammed" => rammed(&mut f).map(Event::Rammed),
        "poured" => poured(&mut f).map(Event::Poured),
        "shaken-out" => {
            let mould = f.need("mould", "M7", |c| c.word());
            let after = f.take("after", |c| c.figure("time in the mould"));
            mould.map(|mould| Event::ShakenOut(ShakenOut { mould, after }))
        }
        "inspected" => inspected(&mut f, book).map(Event::Inspected),
        "done" => done(&mut f).map(Event::Done),
        "received" => {
            let part = f.take("part", |c| c.word());
            let stock = f.take("stock", |c| c.word());
            if part.is_none() && stock.is_none() {
                cursor.fault(
                    Code::MissingKey,
                    "nothing says what arrived",
                    "add `part: motor` or `stock: A356`",
                );
                return None;
            }
            let mass = f.take("mass", |c| c.figure("received"));
            let price = f.take("price", |c| c.text());
            f.take("says", |c| c.text());
            Some(Event::Received(Received { part, stock, mass, price }))
        }
        "counted" => {
            let stock = f.need("stock", "sand", |c| c.word());
            let mass = f.need("mass", "140 kg", |c| c.figure_or_zero("counted"));
            stock.zip(mass).map(|(stock, mass)| Event::Counted(Counted { stock, mass }))
        }
        "note" => {
            let says = f.need("says", "what to remember", |c| c.text());
            let part = f.take("part", |c| c.word());
            let photo = f.take("photo", |c| c.text());
            says.map(|says| Event::Note(Noted { says, part, photo }))
        }
        _ => {
            let entry = f.need("entry", "20260307-1420-a1", |c| c.word());
            let why = f.need("why", "what was wrong", |c| c.text());
            entry.zip(why).map(|(entry, why)| Event::Void(Void { entry, why }))
        }
    };
    f.done();
    event
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
    f.take("says", |c| c.text());
    Some(Rammed { mould: mould?, pattern: pattern?, flask, castings: castings?, hours })
}

fn poured(f: &mut Fields<'_>) -> Option<Poured> {
    let heat = f.need("heat", "H3", |c| c.word());
    let alloy = f.need("alloy", "A356", |c| c.word());
    let crucible = f.take("crucible", |c| c.word());
    let charge: Charge = f
        .get("charge")
        .map(|c| c.entries())
        .unwrap_or_default()
        .into_iter()
        .filter_map(|(id, c)| Some((id, c.figure("charged")?)))
        .collect::<IndexMap<_, _>>();
    let temperature = f.take("temperature", |c| c.figure("pouring temperature as logged"));
    let moulds = f.need("moulds", "[M7]", |c| {
        Some(c.items().iter().filter_map(|c| c.word()).collect::<Vec<_>>())
    });
    let heel = f.take("heel", |c| c.figure_or_zero("left in the crucible"));
    let fuel = f.take("fuel", |c| c.figure("fuel burnt"));
    let melt_time = f.take("melt-time", |c| c.figure("time to melt"));
    let weather = f.take("weather", |c| c.text());
    f.take("says", |c| c.text());
    Some(Poured {
        heat: heat?,
        alloy: alloy?,
        crucible,
        charge,
        temperature,
        moulds: moulds?,
        heel,
        fuel,
        melt_time,
        weather,
    })
}

fn inspected(f: &mut Fields<'_>, book: &Handbook) -> Option<Inspected> {
    let mould = f.need("mould", "M7", |c| c.word());
    let part = f.need("part", "base", |c| c.word());
    let pieces = f.take("pieces", |c| c.count()).unwrap_or(1);
    let disposition = f.need("disposition", "accept", |c| c.choice(Disposition::WORDS));
    let mass = f.take("mass", |c| c.figure("casting as weighed"));
    let blemishes = f.get("blemishes").map(|c| c.items()).unwrap_or_default();
    let blemishes = blemishes.iter().filter_map(|c| blemish(c, book)).collect();
    let says = f.take("says", |c| c.text());
    f.take("photo", |c| c.text());
    Some(Inspected {
        mould: mould?,
        part: part?,
        pieces,
        disposition: disposition?,
        mass,
        blemishes,
        says,
    })
}

fn blemish(cursor: &Cursor<'_>, book: &Handbook) -> Option<Blemish> {
    let mut f = cursor.fields()?;
    let class = f.need("class", "B200", |c| {
        let text = c.text()?;
        let group = text.get(..2).map(|g| format!("{g}00"));
        if !group.is_some_and(|g| book.defects.contains_key(&*g)) {
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
    f.done();
    Some(Blemish { class: class?, place })
}

fn done(f: &mut Fields<'_>) -> Option<Done> {
    let part = f.take("part", |c| c.word());
    let pattern = f.take("pattern", |c| c.word());
    let step = f.take("step", |c| c.choice(Step::WORDS));
    let hours = f.take("hours", |c| c.figure("time taken"));
    let mass = f.take("mass", |c| c.figure("pattern as weighed"));
    f.take("says", |c| c.text());
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
    Some(Done { part, pattern, step, hours, mass })
}

#[cfg(test)]
mod tests {
    use super::*;

    const TWO: &str = "---\nid: a\nat: 2026-03-07 14:20\nnote: {says: one}\n---\nid: b\nat: 2026-03-08\nnote: {says: two}\n";

    #[test]
    fn a_journal_cut_anywhere_never_loses_a_whole_entry() {
        let book = Handbook::embedded();
        for cut in 0..=TWO.len() {
            let journal = read("j", TWO.as_bytes()[..cut].to_vec(), &book).expect("readable");
            let whole = [TWO.find("---\nid: b").expect("two"), TWO.len()];
            let want = whole.iter().filter(|w| cut >= **w).count();
            assert!(journal.entries.len() >= want, "cut at {cut}");
        }
    }

    #[test]
    fn a_void_takes_an_entry_back() {
        let text = format!("{TWO}---\nid: c\nat: 2026-03-09\nvoid: {{entry: a, why: slip}}\n");
        let journal = read("j", text.into_bytes(), &Handbook::embedded()).expect("journal");
        assert_eq!((journal.entries.len(), journal.voided), (1, 1));
    }
}
