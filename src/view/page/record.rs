//! What the journal tells of moulds and castings: attempts, findings, what to do otherwise.

use super::{day_words, plain, unit};
use crate::estimate::Estimates;
use crate::figure::{Kind, show};
use crate::journal::Disposition;
use crate::model::{Attempt, Build, Finding, Standing};
use crate::plan::Plan;
use crate::redo::{Suspect, causes_of, changes_for};
use serde::Serialize;

/// One mould.
#[derive(Debug, Clone, Serialize)]
pub struct AttemptView {
    /// Its name.
    pub mould: String,
    /// When it was rammed.
    pub rammed: String,
    /// The heat.
    pub heat: Option<String>,
    /// When it was poured.
    pub poured: Option<String>,
    /// When it was shaken out.
    pub shaken_out: Option<String>,
    /// Pieces of this part in it.
    pub pieces: u32,
    /// What was found.
    pub findings: Vec<FindingView>,
}

/// What to do otherwise next time.
#[derive(Debug, Clone, Serialize)]
pub struct ChangeView {
    /// What to do.
    pub says: String,
    /// Why.
    pub because: String,
}

/// What was found on castings.
#[derive(Debug, Clone, Serialize)]
pub struct FindingView {
    /// Index of the part.
    pub part: usize,
    /// Name of the part.
    pub name: String,
    /// The mould.
    pub mould: String,
    /// Which of the part's moulds that was, counted from one.
    pub attempt: usize,
    /// The day.
    pub day: String,
    /// The day in words.
    pub day_words: String,
    /// Pieces.
    pub pieces: u32,
    /// The disposition's word.
    pub disposition: &'static str,
    /// Mass of one as weighed.
    pub mass: Option<String>,
    /// Blemishes.
    pub blemishes: Vec<BlemishView>,
    /// In the builder's words.
    pub says: Option<String>,
}

/// A blemish.
#[derive(Debug, Clone, Serialize)]
pub struct BlemishView {
    /// Code of its group.
    pub class: String,
    /// Name of its group.
    pub title: Option<String>,
    /// Where on the casting.
    pub place: Option<String>,
    /// What brings it about and the remedy.
    pub causes: Vec<CauseView>,
}

/// What brings a blemish about.
#[derive(Debug, Clone, Serialize)]
pub struct CauseView {
    /// The cause.
    pub says: String,
    /// The remedy.
    pub remedy: String,
}

/// A part to be cast again or put right.
#[derive(Debug, Clone, Serialize)]
pub struct RedoView {
    /// Index of the part.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// Whether it is to be put right instead of cast again.
    pub put_right: bool,
    /// How many pieces are missing or to be put right.
    pub pieces: u32,
    /// What was found.
    pub findings: Vec<FindingView>,
}

const CAUSES: usize = 3;

pub(in crate::view) fn day(at: chrono::NaiveDateTime) -> String {
    at.date().to_string()
}

/// Causes are told where there are estimates to go by: those of `redo`, but for what the record speaks
/// against.
fn finding(
    build: &Build,
    estimates: Option<&Estimates>,
    attempt: &Attempt,
    finding: &Finding,
) -> FindingView {
    let suspects = estimates.map(|e| causes_of(build, e, attempt, finding)).unwrap_or_default();
    let blemish = |b: &crate::journal::Blemish| {
        let group = build.handbook.defects.get(&*b.group());
        let explains = |s: &&Suspect| s.explains.contains(&b.group()) && s.weight() >= 0;
        BlemishView {
            class: plain(&b.class),
            title: group.map(|g| plain(&g.title)),
            place: b.place.as_deref().map(plain),
            causes: suspects
                .iter()
                .filter(explains)
                .take(CAUSES)
                .map(|s| CauseView { says: plain(&s.says), remedy: plain(&s.remedy) })
                .collect(),
        }
    };
    let mould = &*attempt.mould;
    let before = build.history.attempts_of(finding.part).take_while(|a| &*a.mould != mould);
    FindingView {
        attempt: before.count() + 1,
        part: finding.part,
        name: plain(&build.parts[finding.part].given.name),
        mould: plain(mould),
        day: day(finding.at),
        day_words: day_words(finding.at.date()),
        pieces: finding.pieces,
        disposition: finding.disposition.word(),
        mass: finding.mass.as_ref().map(|m| unit(&show(Kind::Mass, m.si(), build.header.units))),
        blemishes: finding.blemishes.iter().map(blemish).collect(),
        says: finding.says.as_deref().map(plain),
    }
}

pub(in crate::view) fn attempt(
    build: &Build,
    estimates: Option<&Estimates>,
    part: usize,
    attempt: &Attempt,
) -> AttemptView {
    let of_part = attempt.findings.iter().filter(|f| f.part == part);
    AttemptView {
        mould: plain(&attempt.mould),
        rammed: day(attempt.rammed),
        heat: attempt.poured.as_ref().map(|(heat, _)| plain(heat)),
        poured: attempt.poured.as_ref().map(|(_, at)| day(*at)),
        shaken_out: attempt.shaken_out.map(day),
        pieces: attempt.castings.iter().find(|(p, _)| *p == part).map_or(0, |(_, n)| *n),
        findings: of_part.map(|f| finding(build, estimates, attempt, f)).collect(),
    }
}

/// What to do otherwise when this part is cast again.
pub(in crate::view) fn changes(
    build: &Build,
    estimates: &Estimates,
    part: usize,
) -> Vec<ChangeView> {
    let view =
        |c: crate::redo::Change| ChangeView { says: plain(&c.says), because: plain(&c.because) };
    changes_for(build, estimates, part).into_iter().map(view).collect()
}

/// Every finding that is not simply good, the latest first.
pub(in crate::view) fn faults(build: &Build, estimates: &Estimates) -> Vec<FindingView> {
    let attempts = build.history.attempts.values();
    let mut found: Vec<(&Attempt, &Finding)> = attempts
        .flat_map(|a| a.findings.iter().map(move |f| (a, f)))
        .filter(|(_, f)| f.disposition != Disposition::Accept)
        .collect();
    found.sort_by_key(|(_, f)| std::cmp::Reverse(f.at));
    found.into_iter().map(|(a, f)| finding(build, Some(estimates), a, f)).collect()
}

/// Parts to be cast again, and pieces to be put right.
pub(in crate::view) fn redo(
    build: &Build,
    estimates: Option<&Estimates>,
    plan: &Plan,
) -> Vec<RedoView> {
    let mut out = Vec::new();
    let touched: std::collections::BTreeSet<usize> =
        build.history.attempts.values().flat_map(|a| &a.findings).map(|f| f.part).collect();
    for i in touched {
        let pieces = build.history.pieces(i);
        let given = &build.parts[i].given;
        let found = |disposition| {
            let attempts = build.history.attempts_of(i);
            let found = attempts.flat_map(move |a| {
                let of = a.findings.iter();
                of.filter(move |f| f.part == i && f.disposition == disposition)
                    .map(move |f| finding(build, estimates, a, f))
            });
            found.collect::<Vec<_>>()
        };
        let view = |put_right, pieces, findings| RedoView {
            part: i,
            name: plain(&given.name),
            put_right,
            pieces,
            findings,
        };
        if plan.standings[i] == Standing::Redo {
            out.push(view(false, build.to_cast(i), found(Disposition::Scrap)));
        }
        if pieces.reworked > 0 && plan.standings[i] < Standing::Cast {
            out.push(view(true, pieces.reworked, found(Disposition::Rework)));
        }
    }
    out
}
