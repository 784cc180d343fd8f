use super::{Common, Done, Stop, json, load, notes, terminal};
use crate::estimate::estimate;
use crate::journal::Remark;
use crate::plan::{self, InTheWay};
use crate::{JOURNAL, MANIFEST};
use serde::Serialize;

/// A fault as JSON tells it, or a note: that has the code `note` and no hint.
#[derive(Serialize)]
struct Row<'a> {
    file: &'a str,
    line: usize,
    column: usize,
    code: &'static str,
    title: &'static str,
    says: &'a str,
    hint: &'a str,
}

fn note(remark: &Remark) -> Row<'_> {
    Row {
        file: JOURNAL,
        line: remark.line.unwrap_or(1),
        column: 1,
        code: "note",
        title: "unlikely, but counted",
        says: &remark.says,
        hint: "",
    }
}

/// What the shop lacks so that the build could be finished.
fn lacking(says: &str) -> Row<'_> {
    let title = "something cannot be made with what the shop has";
    Row { file: MANIFEST, line: 1, column: 1, code: "missing", title, says, hint: "" }
}

/// A mould that must be rammed again.
fn stood(says: &str) -> Row<'_> {
    let title = "a mould has stood too long";
    Row { file: JOURNAL, line: 1, column: 1, code: "stood", title, says, hint: "" }
}

fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// `check`: every fault of manifest and journal, and what is odd where there is none.
pub fn run(common: &Common) -> Done {
    let (manifest, journal) = load::files(common)?;
    match load::read(common, manifest, journal) {
        Ok(build) => {
            let estimates = estimate(&build);
            let notes = notes::of_journal(common, &build, &estimates);
            let InTheWay { missing, stale } = plan::in_the_way(&build, &estimates);
            if common.json {
                let lacking = missing.iter().map(|says| lacking(says));
                let stale = stale.iter().map(|says| stood(says));
                let rows = notes.iter().map(note).chain(stale).chain(lacking);
                return json(&rows.collect::<Vec<_>>());
            }
            let castings = build.parts.iter().filter(|p| p.casting.is_some()).count();
            let mut text = format!(
                "no faults: {}, {castings} of them cast, {}, {}\n",
                counted(build.parts.len(), "part", "parts"),
                counted(build.patterns.len(), "pattern", "patterns"),
                counted(build.history.entries, "journal entry", "journal entries")
            );
            let look = terminal::look(common);
            for remark in &notes {
                text += &(look.wrapped(&format!("note: {remark}"), 6) + "\n");
            }
            for says in &stale {
                text += &(look.wrapped(&format!("stood too long: {says}"), 16) + "\n");
            }
            for says in &missing {
                text += &(look.wrapped(&format!("missing: {says}"), 9) + "\n");
            }
            Ok(text)
        }
        Err(all) if common.json => {
            let placed = all.iter().flat_map(|f| f.placed().into_iter().map(|p| (&*f.file, p)));
            let placed: Vec<_> = placed.collect();
            let rows = placed.iter().map(|(file, (place, fault))| Row {
                file,
                line: place.line,
                column: place.column,
                code: fault.code.id(),
                title: fault.code.title(),
                says: &fault.says,
                hint: &fault.hint,
            });
            let rows: Vec<Row<'_>> = rows.collect();
            terminal::print(&json(&rows)?).map_err(Stop::fault)?;
            Err(Stop::Fault(counted(rows.len(), "fault", "faults")))
        }
        Err(all) => Err(Stop::Fault(load::faults(&all))),
    }
}
