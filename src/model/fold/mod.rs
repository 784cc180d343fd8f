//! Folding the journal into the history of a build, and the faults of its story.

mod at;
mod moulds;
mod names;
mod retired;
mod sense;
mod stock;

use super::Build;
use super::history::History;
use crate::journal::{Entry, Event, Journal, Remark};
use crate::manifest::{Id, Step};
use crate::yaml::{Code, Fault};
use at::{At, under};
use chrono::{NaiveDate, NaiveDateTime};
use std::collections::{BTreeMap, BTreeSet};

/// Folds the journal into a history, with faults for what does not fit.
pub(super) fn fold(build: &Build, journal: Journal, begun: NaiveDate) -> (History, Vec<Fault>) {
    let mut fold = Fold {
        build,
        begun,
        stocks: build.stock_names(),
        voided: journal.voided,
        history: History::default(),
        faults: Vec::new(),
        at_fault: Vec::new(),
        rammed_twice: None,
        done_on: BTreeMap::new(),
    };
    fold.history.remarks = journal.remarks;
    fold.history.entries = journal.entries.len();
    fold.history.stock = build.given_stock();
    fold.history.came = build.given_stock();
    for entry in &journal.entries {
        let before = fold.faults.len();
        fold.take(entry);
        if fold.faults.len() > before {
            fold.at_fault.push(entry.clone());
        }
    }
    let early = journal.entries.iter().rev().take_while(|e| e.at.date() > build.today).count();
    if early > 0 {
        let (entries, are) = if early == 1 { ("entry", "is") } else { ("entries", "are") };
        let first = journal.entries[journal.entries.len() - early].line;
        let says = format!(
            "{early} {entries} from here on {are} dated after {}; is a clock wrong?",
            build.today
        );
        fold.history.remarks.push(Remark::at(first, says));
    }
    fold.history.log = journal.entries;
    (fold.history, fold.faults)
}

/// A journal on its way to a history, entry by entry.
struct Fold<'a> {
    build: &'a Build,
    begun: NaiveDate,
    /// Names of stock that something of the build bears.
    stocks: BTreeSet<Id>,
    /// What was taken back.
    voided: Vec<Entry>,
    history: History,
    faults: Vec<Fault>,
    /// Entries about castings that are at fault: what they tell may be what is missing later.
    at_fault: Vec<Entry>,
    /// Line of the last mould that was rammed under the name of another: some name is missing since.
    rammed_twice: Option<usize>,
    /// When each step of a part was finished last.
    done_on: BTreeMap<(usize, Step), NaiveDateTime>,
}

impl Fold<'_> {
    fn take(&mut self, entry: &Entry) {
        let line = entry.line;
        if entry.at.date() < self.begun {
            let says = format!("the build only begins on {}", self.begun);
            let when = under(&["at"]);
            self.fault(
                Code::Dates,
                At::new(line, &when),
                says,
                "put `begun:` earlier, or correct the date of this entry",
            );
        }
        match &entry.event {
            Event::Rammed(e) => self.rammed(entry, e),
            Event::Poured(e) => self.poured(entry, e),
            Event::ShakenOut(e) => self.shaken_out(entry, e),
            Event::Inspected(e) => self.inspected(entry, e),
            Event::Done(e) => self.done(entry, e),
            Event::Worked(e) => self.worked(entry, e),
            Event::Ordered(e) => self.ordered(entry, e),
            Event::Received(e) => self.received(entry, e),
            Event::Counted(e) => self.counted(entry, e),
            Event::GivenAway(e) => self.given_away(entry, e),
            Event::Retired(e) => self.retired(entry, e),
            Event::Note(e) => {
                if let Some(part) = &e.part {
                    self.part(line, part);
                }
                if let Some(mould) = &e.mould {
                    self.attempt(line, mould);
                }
            }
            Event::Void(_) => {}
        }
    }
}
