use super::{Common, Done, Stop, json, load};
use serde::Serialize;

/// A fault as JSON tells it.
#[derive(Serialize)]
struct FaultRow<'a> {
    file: &'a str,
    line: usize,
    column: usize,
    code: &'static str,
    title: &'static str,
    says: &'a str,
    hint: &'a str,
}

fn counted(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// `check`: every fault of manifest and journal.
pub fn run(common: &Common) -> Done {
    let (manifest, journal) = load::files(common)?;
    match load::read(common, manifest, journal) {
        Ok(build) => {
            if common.json {
                return json(&Vec::<FaultRow>::new());
            }
            let castings = build.parts.iter().filter(|p| p.casting.is_some()).count();
            let mut text = format!(
                "no faults: {}, {castings} of them cast, {}, {}\n",
                counted(build.parts.len(), "part", "parts"),
                counted(build.patterns.len(), "pattern", "patterns"),
                counted(build.history.entries, "journal entry", "journal entries")
            );
            for remark in &build.history.remarks {
                text += &format!("note: {remark}\n");
            }
            Ok(text)
        }
        Err(all) if common.json => {
            let mut rows = Vec::new();
            for faults in &all {
                for (place, fault) in faults.placed() {
                    rows.push(FaultRow {
                        file: &faults.file,
                        line: place.line,
                        column: place.column,
                        code: fault.code.id(),
                        title: fault.code.title(),
                        says: &fault.says,
                        hint: &fault.hint,
                    });
                }
            }
            print!("{}", json(&rows)?);
            Err(Stop::Fault(format!("{} faults", rows.len())))
        }
        Err(all) => Err(Stop::Fault(load::faults(&all))),
    }
}
