//! What is odd in the journal and counts all the same.

use super::Common;
use crate::estimate::{Estimates, estimate};
use crate::journal::Remark;
use crate::learn::{far, measures};
use crate::model::Build;

/// All that is to be pointed out about the journal of a build with these figures, in the order of
/// the file.
pub fn of_journal(common: &Common, build: &Build, estimates: &Estimates) -> Vec<Remark> {
    let mut out = odd(common, build, 0, || far(build, estimates));
    out.extend(build.history.remarks.iter().cloned());
    out.sort();
    out
}

/// The same about what stands in it from a line on, which was only now put there.
pub fn of_new(common: &Common, build: &Build, from: usize) -> Vec<Remark> {
    let mut out = odd(common, build, from, || far(build, &estimate(build)));
    out.extend(dated(build, from));
    out.sort();
    out
}

/// `far` tells what lies far from the figures, where anything was measured.
fn odd(
    common: &Common,
    build: &Build,
    from: usize,
    far: impl FnOnce() -> Vec<Remark>,
) -> Vec<Remark> {
    let history = &build.history;
    let mut out = history.odd.clone();
    let new = || history.log.iter().filter(|e| e.line >= from);
    if new().any(|e| measures(&e.event)) {
        out.extend(far());
    }
    let photos = new().filter_map(|e| Some((e.line, e.photo.as_ref()?)));
    let missing = photos.filter(|(_, photo)| !common.build.join(&***photo).is_file());
    out.extend(missing.map(|(line, photo)| Remark::at(line, format!("no file {photo} is there"))));
    out.retain(|r| r.line.is_some_and(|line| line >= from));
    out
}

/// Dates that are not those of work just done. Of a whole journal the remarks tell them, once for
/// many.
fn dated(build: &Build, from: usize) -> impl Iterator<Item = Remark> {
    let log = &build.history.log;
    let before = log.iter().filter(|e| e.line < from).max_by_key(|e| e.line).map(|e| e.at);
    log.iter().filter(move |e| e.line >= from).filter_map(move |e| {
        if e.at.date() > build.today {
            return Some(Remark::at(e.line, format!("this is dated after {}", build.today)));
        }
        let before = before.filter(|before| e.at < *before)?;
        let before = before.format("%Y-%m-%d %H:%M");
        Some(Remark::at(e.line, format!("this is dated before the last entry, {before}")))
    })
}
