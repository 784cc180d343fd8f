//! What is odd in the journal and counts all the same.

use super::Common;
use crate::build::Build;
use crate::estimate::estimate;
use crate::journal::Remark;
use crate::learn::{far, measures};

/// What is pointed out about the journal from a line on, in the order of the file.
pub fn notes(common: &Common, build: &Build, from: usize) -> Vec<Remark> {
    let history = &build.history;
    let mut out: Vec<Remark> = history.remarks.iter().chain(&history.odd).cloned().collect();
    let new = || history.log.iter().filter(|e| e.line >= from);
    if new().any(|e| measures(&e.event)) {
        out.extend(far(build, &estimate(build)));
    }
    let photos = new().filter_map(|e| Some((e.line, e.photo.as_ref()?)));
    let missing = photos.filter(|(_, photo)| !common.build.join(&***photo).is_file());
    out.extend(missing.map(|(line, photo)| Remark::at(line, format!("no file {photo} is there"))));
    out.retain(|r| r.line.map_or(from == 0, |line| line >= from));
    out.extend(
        dated(build, from).filter(|d| out.iter().all(|r| r.line != d.line)).collect::<Vec<_>>(),
    );
    out.sort();
    out
}

/// Dates of entries from a line on that are not those of work just done. What the remarks tell of
/// a whole journal they tell once for many.
fn dated(build: &Build, from: usize) -> impl Iterator<Item = Remark> {
    let log = &build.history.log;
    let before = log.iter().filter(|e| e.line < from).max_by_key(|e| e.line).map(|e| e.at);
    log.iter().filter(move |e| from > 0 && e.line >= from).filter_map(move |e| {
        if e.at.date() > build.today {
            return Some(Remark::at(e.line, format!("this is dated after {}", build.today)));
        }
        let before = before.filter(|before| e.at < *before)?;
        let says =
            format!("this is dated before the last entry, {}", before.format("%Y-%m-%d %H:%M"));
        Some(Remark::at(e.line, says))
    })
}
