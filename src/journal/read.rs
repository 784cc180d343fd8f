//! Reading the journal, one document at a time, so that a torn entry harms no other.

use super::append::CUT_OFF;
use super::documents::{Document, documents, mended, merge_marks, moved};
use super::entry::{Entry, Event, Remark};
use super::event::{EVENTS, entry};
use super::word::Word;
use crate::figure::{Route, Segment};
use crate::handbook::Handbook;
use crate::yaml::{
    Code, Cursor, Fault, Faults, Reading, Tree, nearest, parse_entry, shown_of, text_of,
};
use rayon::prelude::*;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

/// The journal as read: entries that count, in the order they happened.
#[derive(Debug, Clone, Default)]
pub struct Journal {
    /// Entries that count, by time.
    pub entries: Vec<Entry>,
    /// Entries that were taken back, in the order of the file.
    pub voided: Vec<Entry>,
    /// Entries that could not be read to their end, as they stand in the file: kept, not counted.
    pub torn: Vec<(usize, String)>,
    /// Things worth pointing out that are no faults.
    pub remarks: Vec<Remark>,
}

/// What one document turned out to be.
enum Found {
    Entry(Box<Entry>),
    Nothing,
    Torn,
    Faulty(Vec<Fault>),
}

/// Reads a journal.
///
/// # Errors
/// Every fault of the file at once. A last entry that was cut off in writing is not a fault: it
/// is kept in [`Journal::torn`] and told. An entry that stands twice, word for word, as after
/// merging two copies of a journal, counts once.
pub fn read(file: &str, bytes: Vec<u8>, book: &Handbook) -> Result<Journal, Faults> {
    let (bytes, sound) = mended(bytes);
    let raw = if sound { None } else { shown_of(&bytes) };
    let text = match text_of(bytes) {
        Ok(text) => text,
        Err(fault) => {
            let text = raw.unwrap_or_default();
            return Err(Faults { file: file.into(), text, list: vec![fault] });
        }
    };
    let marks = merge_marks(&text);
    if !marks.is_empty() {
        return Err(Faults { file: file.into(), text, list: marks });
    }
    let documents = documents(&text);
    let last = documents.len().wrapping_sub(1);
    let ended = text.ends_with('\n');
    let found: Vec<Found> = documents
        .par_iter()
        .enumerate()
        .with_min_len(64)
        .map(|(nth, document)| one(document, nth == last && !ended, book))
        .collect();
    let mut journal = Journal::default();
    let mut faults = Vec::new();
    let mut seen: HashMap<Arc<str>, &Document<'_>> = HashMap::with_capacity(found.len());
    let mut twice = 0;
    for (document, found) in documents.iter().zip(found) {
        match found {
            Found::Nothing => {}
            Found::Torn => journal.torn.push((document.line, document.text.to_owned())),
            Found::Faulty(list) => faults.extend(list),
            Found::Entry(entry) => match seen.get(&entry.id) {
                Some(first) if first.text.trim_end() == document.text.trim_end() => twice += 1,
                Some(first) => {
                    let says = format!("the entry in line {} has this id too", first.line);
                    let hint = "two copies of one entry: keep the one that is right; two entries: change a letter of one id";
                    let id = Route([Segment::Key("id".into(), 0)].into());
                    faults.push(Fault::entry(Code::RepeatedId, entry.line, Some(id), says, hint));
                }
                None => {
                    seen.insert(entry.id.clone(), document);
                    journal.entries.push(*entry);
                }
            },
        }
    }
    settle(&mut journal, &mut faults);
    if twice > 0 {
        let entries = if twice == 1 { "entry stands" } else { "entries stand" };
        let says = format!(
            "{twice} {entries} in it twice, as after a merge of two copies; each counts once"
        );
        journal.remarks.push(Remark { line: None, says });
    }
    if faults.is_empty() {
        Ok(journal)
    } else {
        Err(Faults { file: file.into(), text, list: faults })
    }
}

fn one(document: &Document<'_>, cut: bool, book: &Handbook) -> Found {
    let reading = Reading::default();
    let mut headless = false;
    let read = parse_entry(document.text).map(|tree| match tree {
        Tree::Empty => None,
        tree => {
            headless = has_no_event(&tree);
            entry(&Cursor::top(&tree, &reading), book)
        }
    });
    let faults = reading.into_faults();
    let closed_later = document.text.trim_end().ends_with(CUT_OFF.trim_end());
    let torn = || headless || closed_later || cut && is_unfinished(document.text);
    match read {
        Ok(Some(mut entry)) if faults.is_empty() => {
            entry.line = document.line + event_line(document.text);
            Found::Entry(Box::new(entry))
        }
        Ok(None) if faults.is_empty() => Found::Nothing,
        _ if torn() => Found::Torn,
        Ok(_) => Found::Faulty(faults.into_iter().map(|f| moved(f, document)).collect()),
        Err(fault) => Found::Faulty(vec![moved(fault, document)]),
    }
}

/// Whether a document ends within its last line, as one that was cut off in writing does: before
/// the value, or with a bracket or a quote open. A line that is whole has a fault of its own.
fn is_unfinished(document: &str) -> bool {
    let last = document.lines().rfind(|line| !line.trim().is_empty()).unwrap_or_default();
    let Some((key, value)) = last.split_once(':') else { return true };
    // What happened comes last.
    if matches!(key, "id" | "at") && !document.lines().any(says_what) {
        return true;
    }
    let (mut depth, mut quote) = (0_i32, None);
    let mut signs = value.chars();
    while let Some(sign) = signs.next() {
        match (quote, sign) {
            (Some('"'), '\\') => {
                signs.next();
            }
            (Some(open), _) if open == sign => quote = None,
            (Some(_), _) => {}
            (None, '"') => quote = Some('"'),
            (None, '{' | '[') => depth += 1,
            (None, '}' | ']') => depth -= 1,
            _ => {}
        }
    }
    value.trim().is_empty() || depth > 0 || quote.is_some()
}

/// Only an id and a time: writing stopped before the line that says what happened.
fn has_no_event(tree: &Tree) -> bool {
    matches!(tree, Tree::Map(keys) if keys.iter().all(|(k, _)| matches!(&**k, "id" | "at")))
}

/// Whether a line says what happened.
fn says_what(line: &str) -> bool {
    line.split_once(':').is_some_and(|(key, _)| EVENTS.contains(&key))
}

/// Lines of a document above the one that says what happened.
fn event_line(document: &str) -> usize {
    document.lines().position(says_what).unwrap_or(0)
}

/// More remarks of one sort than this are counted, not told one by one.
const TOLD: usize = 3;

/// Ids of the entries that do not count. The last void is looked at first, so that a void that is
/// void itself takes nothing back.
fn voided(entries: &[Entry], faults: &mut Vec<Fault>) -> HashSet<Arc<str>> {
    let mut voided = HashSet::new();
    let voids = entries.iter().enumerate().filter_map(|(nth, e)| match &e.event {
        Event::Void(void) => Some((nth, &void.entry)),
        _ => None,
    });
    let voids: Vec<(usize, &Word)> = voids.collect();
    if voids.is_empty() {
        return voided;
    }
    let places: HashMap<&str, usize> =
        entries.iter().enumerate().map(|(nth, e)| (&*e.id, nth)).collect();
    for (nth, void) in voids.into_iter().rev() {
        let id = &void.value;
        let mut fault = |says: String, hint: String| {
            let (line, route) = (entries[nth].line, Some(void.route.clone()));
            faults.push(Fault::entry(Code::UnknownEntry, line, route, says, hint));
        };
        match places.get(&**id) {
            Some(place) if *place < nth => {
                if !voided.contains(&entries[nth].id) {
                    voided.insert(id.clone());
                }
            }
            Some(_) => {
                let says = format!("the entry `{id}` is not above this one");
                fault(says, "a void takes back an entry that was written before it".into());
            }
            None => {
                let near = nearest(id, entries.iter().map(|e| &*e.id));
                let hint = near
                    .map_or("look up the id above".to_owned(), |n| format!("did you mean `{n}`?"));
                fault(format!("no entry has the id `{id}`"), hint);
            }
        }
    }
    voided
}

/// Applies voids, sorts by time, points out clocks that ran backwards.
fn settle(journal: &mut Journal, faults: &mut Vec<Fault>) {
    let voided = voided(&journal.entries, faults);
    let is_void = |e: &Entry| matches!(e.event, Event::Void(_));
    let (back, left) = std::mem::take(&mut journal.entries)
        .into_iter()
        .filter(|e| !is_void(e))
        .partition(|e| voided.contains(&e.id));
    (journal.voided, journal.entries) = (back, left);
    let back: Vec<usize> = journal
        .entries
        .windows(2)
        .filter(|pair| pair[1].at < pair[0].at)
        .map(|pair| pair[1].line)
        .collect();
    journal.remarks.extend(
        back.iter().take(TOLD).map(|line| {
            Remark::at(*line, "this entry is dated before the one above it; both count")
        }),
    );
    if back.len() > TOLD {
        let more = back.len() - TOLD;
        let says = format!("{more} more entries are out of order in this way");
        journal.remarks.push(Remark { line: None, says });
    }
    journal.entries.sort_by_key(|e| e.at);
    const TORN: &str =
        "this entry was not written to its end; it is kept in the file but does not count";
    journal.remarks.extend(journal.torn.iter().map(|(line, _)| Remark::at(*line, TORN)));
}

#[cfg(test)]
mod tests {
    use super::*;

    const TWO: &str = "---\nid: a\nat: 2026-03-07 14:20\nnote: {says: one}\n---\nid: b\nat: 2026-03-08\nnote: {says: two}\n";

    fn ids(text: String) -> Vec<String> {
        let journal = read("j", text.into_bytes(), &Handbook::embedded()).expect("journal");
        journal.entries.iter().map(|e| e.id.to_string()).collect()
    }

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
        assert_eq!((journal.entries.len(), journal.voided.len()), (1, 1));
    }

    #[test]
    fn a_void_that_is_taken_back_takes_nothing_back() {
        let void = |id: &str, entry: &str| {
            format!("---\nid: {id}\nat: 2026-03-09\nvoid: {{entry: {entry}, why: slip}}\n")
        };
        let one = format!("{TWO}{}", void("c", "a"));
        assert_eq!(ids(one.clone()), ["b"]);
        let two = format!("{one}{}", void("d", "c"));
        assert_eq!(ids(two.clone()), ["a", "b"]);
        assert_eq!(ids(format!("{two}{}", void("e", "d"))), ["b"]);
    }

    #[test]
    fn two_copies_count_once() {
        assert_eq!(ids(format!("{TWO}{TWO}")), ["a", "b"]);
        assert_eq!(ids(TWO.replace("---\nid: b", "id: b")), ["a", "b"]);
        let other = format!("{TWO}{}", TWO.replace("says: two", "says: too"));
        let faults = read("j", other.into_bytes(), &Handbook::embedded()).expect_err("differs");
        assert_eq!(faults.list.len(), 1);
        assert_eq!(faults.list[0].code, Code::RepeatedId);
    }
}
