//! Parts and castings.

use super::figures::{FigureGroup, Figures};
use super::photos::{self, PhotoView, Photos};
use super::sources::Sources;
use crate::estimate::{CastingEstimate, Estimates, Field};
use crate::figure::{Node, System};
use crate::manifest::Making;
use crate::model::{Build, Standing};
use crate::plan::{Plan, Subject};
use crate::view::cautions::cautions;
use crate::view::freezing::FreezingTold;
use crate::view::page::{
    AttemptView, ChangeView, Fit, Picture, Shown, alike, attempt, changes, crucible, flask, mark,
    picture, plain, shown,
};
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
    /// Its picture, where its body is known.
    pub picture: Option<Picture>,
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
    /// What it waits for.
    pub waits: Vec<Waits>,
}

/// A part that another waits for.
#[derive(Debug, Clone, Serialize)]
pub struct Waits {
    /// Index of the part.
    pub part: usize,
    /// Its name.
    pub name: String,
    /// The step of it that is enough; none where all of it is waited for.
    pub step: Option<&'static str>,
    /// Whether that is done.
    pub done: bool,
}

/// What a part waits for, each other part once.
fn waits(build: &Build, plan: &Plan, part: usize) -> Vec<Waits> {
    let mut out: Vec<Waits> = Vec::new();
    for need in build.parts[part].needs.iter().filter(|n| n.part != part) {
        let last = build.parts[need.part].steps().last() == Some(&need.step);
        let done = |t: &crate::plan::Task| {
            t.done && t.subject == Subject::Part(need.part) && t.step == need.step
        };
        let waits = Waits {
            part: need.part,
            name: plain(&build.parts[need.part].given.name),
            step: (!last).then(|| need.step.word()),
            done: plan.tasks.iter().any(done),
        };
        match out.iter_mut().find(|w| w.part == need.part) {
            Some(had) if last => *had = waits,
            Some(_) => {}
            None => out.push(waits),
        }
    }
    out
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
    /// The figures that pattern, mould and pour are made by.
    pub figures: Vec<Shown>,
    /// Every other figure by group; none where there are many castings.
    pub groups: Vec<FigureGroup>,
    /// How many more figures it has.
    pub figures_more: usize,
    /// The flask.
    pub flask: Fit,
    /// The crucible.
    pub crucible: Fit,
    /// What to take care of with this alloy.
    pub caution: Option<String>,
    /// What heat flow says of it, with three sections.
    pub freezing: FreezingTold,
    /// Moulds that held it.
    pub attempts: Vec<AttemptView>,
    /// What to do otherwise when it is cast again.
    pub changes: Vec<ChangeView>,
    /// Photos that show it.
    pub photos: Vec<PhotoView>,
    /// Whether it is shown open.
    pub open: bool,
}

/// Every part.
pub(super) fn rows(build: &Build, estimates: &Estimates, plan: &Plan) -> Vec<PartRow> {
    let units = build.header.units;
    let row = |(i, part): (usize, &crate::model::Part)| {
        let given = &part.given;
        let id = plain(&given.id);
        let estimate = estimates.castings[i].as_ref();
        let fig = |node: Option<&Node>, name: &str| node.map(|n| shown(n, units, &id, name));
        let mass = estimate.and_then(|e| e.size.rough_mass.as_ref()).map(|f| f.node());
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
            picture: picture(build, i),
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
            waits: waits(build, plan, i),
            id,
        }
    };
    let mut rows: Vec<PartRow> = build.parts.iter().enumerate().map(row).collect();
    alike(rows.iter_mut().filter_map(|row| row.mass.as_mut()));
    alike(rows.iter_mut().filter_map(|row| row.charge.as_mut()));
    rows
}

/// What heat flow says of it; that it was not computed is told once for all castings.
fn freezing(id: &str, estimate: &CastingEstimate, units: System) -> FreezingTold {
    let mut told = FreezingTold::new(id, estimate, 3, units);
    if matches!(estimate.field, Field::Missing) {
        told.says.clear();
    }
    told
}

/// What this casting asks care for beyond any other: named, told in full under the cautions.
fn caution(build: &Build, estimates: &Estimates, part: usize) -> Option<String> {
    let all = cautions(build, estimates, [part]);
    let own = all.iter().filter(|c| c.at_the_mould);
    let says: Vec<String> = own.map(|c| format!("{}: {}", c.title, c.habit)).collect();
    (!says.is_empty()).then(|| says.join(" "))
}

/// With more castings than this each lists only the figures that stand first: all of them, a hundred
/// a casting, are most of the page.
const MOST_FIGURED: usize = 60;

/// Every casting with its figures.
pub(super) fn castings(
    build: &Build,
    estimates: &Estimates,
    plan: &Plan,
    photos: &Photos,
    sources: &mut Sources,
    figures: &mut Figures,
) -> Vec<CastingView> {
    let units = build.header.units;
    let mut out = Vec::new();
    let all = build.parts.iter().filter(|p| p.casting.is_some()).count() <= MOST_FIGURED;
    for (i, part) in build.parts.iter().enumerate() {
        let (Some(casting), Some(estimate)) = (&part.casting, &estimates.castings[i]) else {
            continue;
        };
        let (given, pattern) = (&part.given, &build.patterns[casting.pattern]);
        let every = estimate.figures();
        every.iter().for_each(|(_, node)| sources.of(node));
        let (first, groups) = figures.of(estimate, units, &given.id, all);
        let mass = estimate.size.rough_mass.as_ref();
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
            figures_more: if all { 0 } else { every.len() - first.len() },
            figures: first,
            groups,
            flask: flask(&estimate.mould.flask),
            crucible: crucible(&estimate.mould.crucible),
            caution: caution(build, estimates, i),
            freezing: freezing(&given.id, estimate, units),
            attempts: build
                .history
                .attempts_of(i)
                .map(|a| attempt(build, Some(estimates), i, a))
                .collect(),
            changes: match plan.standings[i] {
                Standing::Finished => Vec::new(),
                _ => changes(build, estimates, i),
            },
            photos: photos::of_part(build, photos, i),
            open: plan.standings[i] == Standing::Redo,
        });
    }
    alike(out.iter_mut().filter_map(|casting| casting.mass.as_mut()));
    out
}
