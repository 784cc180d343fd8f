//! Parts, castings and what was found on them.

use super::drawing::mark;
use super::figures::{Shown, Sources, plain, shown, unit};
use super::photos::{self, PhotoView, Photos};
use crate::estimate::{CrucibleFit, Estimates, FlaskFit};
use crate::figure::{Kind, Node, show};
use crate::handbook::Family;
use crate::journal::Disposition;
use crate::manifest::Making;
use crate::model::{Attempt, Build, Finding, Standing};
use crate::plan::Plan;
use crate::redo::changes_for;
use crate::view::cautions::leaded;
use serde::Serialize;

/// A row of the parts table.
#[derive(Debug, Clone, Serialize)]
pub struct PartRow {
    /// Index of the part.
    pub part: usize,
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// How it comes to be: the alloy's id, `bought` or `made`.
    pub of: String,
    /// Whether it is cast.
    pub cast: bool,
    /// Standing in words.
    pub standing: &'static str,
    /// Name of the mark.
    pub mark: &'static str,
    /// Pieces that are good.
    pub good: u32,
    /// Pieces that the machine needs.
    pub wanted: u32,
    /// Mass of one casting with machining stock.
    pub mass: Option<Shown>,
    /// Charge for one mould.
    pub charge: Option<Shown>,
    /// The flask.
    pub flask: Fit,
    /// The crucible.
    pub crucible: Fit,
}

/// Whether the shop has what a mould asks for.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Fit {
    /// Id of the flask or crucible.
    pub fits: Option<String>,
    /// What is missing.
    pub lacking: Option<String>,
    /// Why it cannot be told.
    pub unknown: Option<String>,
}

/// A casting with its figures and attempts.
#[derive(Debug, Clone, Serialize)]
pub struct CastingView {
    /// Index of the part.
    pub part: usize,
    /// Its id.
    pub id: String,
    /// Its name.
    pub name: String,
    /// Free text of the manifest.
    pub notes: Option<String>,
    /// Alloy with its title.
    pub alloy: String,
    /// Pattern.
    pub pattern: String,
    /// What the pattern is made of.
    pub made_of: Option<String>,
    /// Castings from one mould.
    pub cavities: u32,
    /// Moulds for all pieces.
    pub moulds: u32,
    /// Standing in words.
    pub standing: &'static str,
    /// Name of the mark.
    pub mark: &'static str,
    /// Pieces that are good.
    pub good: u32,
    /// Pieces that the machine needs.
    pub wanted: u32,
    /// Mass of one casting with machining stock.
    pub mass: Option<Shown>,
    /// Its figures: every one, or those used at the mould where there are many castings.
    pub figures: Vec<Shown>,
    /// How many more figures it has.
    pub figures_more: usize,
    /// The flask.
    pub flask: Fit,
    /// The crucible.
    pub crucible: Fit,
    /// What to take care of with this alloy.
    pub caution: Option<&'static str>,
    /// Moulds that held it.
    pub attempts: Vec<AttemptView>,
    /// What to do otherwise when it is cast again.
    pub changes: Vec<ChangeView>,
    /// Photos that show it.
    pub photos: Vec<PhotoView>,
    /// Whether it is shown open.
    pub open: bool,
}

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

fn finding(build: &Build, mould: &str, finding: &Finding) -> FindingView {
    let blemish = |b: &crate::journal::Blemish| {
        let group = build.handbook.defects.get(&*b.group());
        let causes = group.map(|g| g.causes.iter().take(CAUSES)).into_iter().flatten();
        BlemishView {
            class: plain(&b.class),
            title: group.map(|g| plain(&g.title)),
            place: b.place.as_deref().map(plain),
            causes: causes
                .map(|c| CauseView { says: plain(&c.says), remedy: plain(&c.remedy) })
                .collect(),
        }
    };
    let before = build.history.attempts_of(finding.part).take_while(|a| &*a.mould != mould);
    FindingView {
        attempt: before.count() + 1,
        part: finding.part,
        name: plain(&build.parts[finding.part].given.name),
        mould: plain(mould),
        day: day(finding.at),
        pieces: finding.pieces,
        disposition: finding.disposition.word(),
        mass: finding.mass.as_ref().map(|m| unit(&show(Kind::Mass, m.si(), build.header.units))),
        blemishes: finding.blemishes.iter().map(blemish).collect(),
        says: finding.says.as_deref().map(plain),
    }
}

pub(in crate::view) fn attempt(build: &Build, part: usize, attempt: &Attempt) -> AttemptView {
    let of_part = attempt.findings.iter().filter(|f| f.part == part);
    AttemptView {
        mould: plain(&attempt.mould),
        rammed: day(attempt.rammed),
        heat: attempt.poured.as_ref().map(|(heat, _)| plain(heat)),
        poured: attempt.poured.as_ref().map(|(_, at)| day(*at)),
        shaken_out: attempt.shaken_out.map(day),
        pieces: attempt.castings.iter().find(|(p, _)| *p == part).map_or(0, |(_, n)| *n),
        findings: of_part.map(|f| finding(build, &attempt.mould, f)).collect(),
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

/// Every finding of one disposition, in the order of the journal.
pub(in crate::view) fn findings(build: &Build, disposition: Disposition) -> Vec<FindingView> {
    let attempts = build.history.attempts.values();
    let found = attempts.flat_map(|a| {
        let of = a.findings.iter().filter(|f| f.disposition == disposition);
        of.map(|f| finding(build, &a.mould, f))
    });
    found.collect()
}

/// Parts to be cast again, and pieces to be put right.
pub(in crate::view) fn redo(build: &Build, plan: &Plan) -> Vec<RedoView> {
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
                    .map(move |f| finding(build, &a.mould, f))
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

pub(in crate::view) fn flask(fit: &FlaskFit) -> Fit {
    match fit {
        FlaskFit::Fits(id) => Fit { fits: Some(plain(id)), ..Fit::default() },
        FlaskFit::Lacking(says) => Fit { lacking: Some(plain(says)), ..Fit::default() },
        FlaskFit::Unknown(says) => Fit { unknown: Some(plain(says)), ..Fit::default() },
    }
}

pub(in crate::view) fn crucible(fit: &CrucibleFit) -> Fit {
    match fit {
        CrucibleFit::Fits(id) => Fit { fits: Some(plain(id)), ..Fit::default() },
        CrucibleFit::Lacking(says) => Fit { lacking: Some(plain(says)), ..Fit::default() },
        CrucibleFit::Unknown(says) => Fit { unknown: Some(plain(says)), ..Fit::default() },
    }
}

/// Every part.
pub(super) fn rows(build: &Build, estimates: &Estimates, plan: &Plan) -> Vec<PartRow> {
    let units = build.header.units;
    let row = |(i, part): (usize, &crate::model::Part)| {
        let given = &part.given;
        let id = plain(&given.id);
        let estimate = estimates.castings[i].as_ref();
        let fig = |node: Option<&Node>, name: &str| node.map(|n| shown(n, units, &id, name));
        let mass = estimate.and_then(|e| e.rough_mass.as_ref()).map(|f| f.node());
        let charge = estimate.and_then(|e| e.mould.charge.as_ref()).map(|f| f.node());
        let here = matches!(plan.standings[i], Standing::Finished | Standing::Cast);
        PartRow {
            part: i,
            name: plain(&given.name),
            of: match (&given.making, &part.casting) {
                (_, Some(casting)) => plain(&casting.alloy.id),
                (Making::Bought(_), _) => "bought".into(),
                _ => "made".into(),
            },
            cast: part.casting.is_some(),
            standing: plan.standings[i].word(),
            mark: mark(plan.standings[i]),
            good: match &part.casting {
                Some(_) => build.history.pieces(i).good().min(given.quantity),
                None if here => given.quantity,
                None => 0,
            },
            wanted: given.quantity,
            mass: fig(mass, "rough-mass"),
            charge: fig(charge, "mould-charge"),
            flask: estimate.map(|e| flask(&e.mould.flask)).unwrap_or_default(),
            crucible: estimate.map(|e| crucible(&e.mould.crucible)).unwrap_or_default(),
            id,
        }
    };
    build.parts.iter().enumerate().map(row).collect()
}

fn caution(alloy: &crate::handbook::Alloy) -> Option<&'static str> {
    match alloy.family {
        Family::Copper if leaded(alloy) => Some(
            "May hold lead and zinc: melt under extraction, wash before eating, bag the dross.",
        ),
        Family::Copper | Family::Zinc => Some(
            "Holds or may hold zinc: keep below flaring heat, melt outdoors or under extraction.",
        ),
        Family::Iron | Family::Aluminium => None,
    }
}

/// With more castings than this each lists the figures used at the mould: all of them, sixty a
/// casting, are most of the page.
const MOST_FIGURED: usize = 60;
const AT_THE_MOULD: [&str; 11] = [
    "rough-mass",
    "casting-yield",
    "mould-poured",
    "mould-charge",
    "sand",
    "sprue-base",
    "ingate-area",
    "pouring-time",
    "weights-on-cope",
    "shake-out-after",
    "allowance",
];

/// Every casting with its figures.
pub(super) fn castings(
    build: &Build,
    estimates: &Estimates,
    plan: &Plan,
    photos: &Photos,
    sources: &mut Sources,
) -> Vec<CastingView> {
    let units = build.header.units;
    let mut out = Vec::new();
    let all = build.parts.iter().filter(|p| p.casting.is_some()).count() <= MOST_FIGURED;
    for (i, part) in build.parts.iter().enumerate() {
        let (Some(casting), Some(estimate)) = (&part.casting, &estimates.castings[i]) else {
            continue;
        };
        let (given, pattern) = (&part.given, &build.patterns[casting.pattern]);
        let figures = estimate.figures();
        figures.iter().for_each(|(_, node)| sources.of(node));
        let (many, listed) = (figures.len(), |name: &str| all || AT_THE_MOULD.contains(&name));
        let figures = figures.iter().filter(|(name, _)| listed(name));
        let figures: Vec<Shown> =
            figures.map(|(name, node)| shown(node, units, &given.id, name)).collect();
        let mass = estimate.rough_mass.as_ref();
        out.push(CastingView {
            part: i,
            id: plain(&given.id),
            name: plain(&given.name),
            notes: given.notes.as_deref().map(plain),
            alloy: match &casting.alloy {
                a if a.title.contains(&*a.id) || a.title == a.id => plain(&a.title),
                a => format!("{}, {}", plain(&a.id), plain(&a.title)),
            },
            pattern: plain(&pattern.id),
            made_of: pattern.given.made_of.as_deref().map(plain),
            cavities: estimate.mould.cavities,
            moulds: estimate.moulds,
            standing: plan.standings[i].word(),
            mark: mark(plan.standings[i]),
            good: build.history.pieces(i).good().min(given.quantity),
            wanted: given.quantity,
            mass: mass.map(|f| shown(f.node(), units, &given.id, "rough-mass")),
            figures_more: many - figures.len(),
            figures,
            flask: flask(&estimate.mould.flask),
            crucible: crucible(&estimate.mould.crucible),
            caution: caution(&casting.alloy),
            attempts: build.history.attempts_of(i).map(|a| attempt(build, i, a)).collect(),
            changes: match plan.standings[i] {
                Standing::Finished => Vec::new(),
                _ => changes(build, estimates, i),
            },
            photos: photos::of_part(build, photos, i),
            open: plan.standings[i] == Standing::Redo,
        });
    }
    out
}
