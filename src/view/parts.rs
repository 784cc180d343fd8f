//! Every part and where it stands.

use super::text::{Look, Side, finished};
use super::{FigureView, Head, alike};
use crate::estimate::{CrucibleFit, Estimates, FlaskFit};
use crate::manifest::Making;
use crate::model::{Build, Standing};
use crate::plan::Plan;
use serde::Serialize;

/// The parts of a build.
#[derive(Debug, Clone, Serialize)]
pub struct PartsView {
    /// Which build.
    #[serde(flatten)]
    pub head: Head,
    /// One row a part.
    pub parts: Vec<PartRow>,
    /// How many are finished.
    pub finished: usize,
}

/// One part.
#[derive(Debug, Clone, Serialize)]
pub struct PartRow {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub name: String,
    /// `cast`, `bought` or `made`.
    pub making: &'static str,
    /// Its alloy, if it is cast.
    pub alloy: Option<String>,
    /// Where it stands.
    pub standing: Standing,
    /// How many the machine needs.
    pub wanted: u32,
    /// How many good castings there are.
    pub good: Option<u32>,
    /// How many were scrapped.
    pub scrapped: Option<u32>,
    /// How many were tried.
    pub attempts: Option<usize>,
    /// Mass of the casting.
    pub casting: Option<FigureView>,
    /// Charge for its mould.
    pub charge: Option<FigureView>,
    /// Its flask, or what one would need.
    pub flask: Option<String>,
    /// Its crucible, or what is missing.
    pub crucible: Option<String>,
}

impl PartsView {
    /// Of a build.
    pub fn new(build: &Build, estimates: &Estimates, plan: &Plan) -> Self {
        let units = build.header.units;
        let row = |(i, part): (usize, &crate::model::Part)| {
            let estimate = estimates.castings[i].as_ref();
            let cast = part.casting.as_ref();
            let pieces = cast.map(|_| build.history.pieces(i));
            PartRow {
                id: part.id().to_string(),
                name: part.given.name.to_string(),
                making: match part.given.making {
                    Making::Cast(_) => "cast",
                    Making::Bought(_) => "bought",
                    Making::Made(_) => "made",
                },
                alloy: cast.map(|c| c.alloy.id.to_string()),
                standing: plan.standings[i],
                wanted: part.given.quantity,
                good: pieces.map(|p| p.good()),
                scrapped: pieces.map(|p| p.scrapped),
                attempts: cast.map(|_| build.history.attempts_of(i).count()),
                casting: estimate
                    .and_then(|e| e.size.rough_mass.as_ref())
                    .map(|f| FigureView::new(f.node(), units)),
                charge: estimate
                    .and_then(|e| e.mould.charge.as_ref())
                    .map(|f| FigureView::new(f.node(), units)),
                flask: estimate.map(|e| match &e.mould.flask {
                    FlaskFit::Fits(id) => id.to_string(),
                    FlaskFit::Lacking(says) => says.clone(),
                    FlaskFit::Unknown(why) => (*why).to_owned(),
                }),
                crucible: estimate.map(|e| match &e.mould.crucible {
                    CrucibleFit::Fits(id) => id.to_string(),
                    CrucibleFit::Lacking(says) => says.clone(),
                    CrucibleFit::Unknown(why) => (*why).to_owned(),
                }),
            }
        };
        let mut parts: Vec<PartRow> = build.parts.iter().enumerate().map(row).collect();
        alike(parts.iter_mut().filter_map(|p| p.casting.as_mut()));
        alike(parts.iter_mut().filter_map(|p| p.charge.as_mut()));
        let finished = plan.standings.iter().filter(|s| **s == Standing::Finished).count();
        Self { head: Head::new(build), parts, finished }
    }

    /// As a table.
    pub fn text(&self, look: &Look) -> String {
        // Where there is room, each part is told by its name too.
        let wide = look.wide();
        let name: &[(&str, Side)] = if wide { &[("name", Side::Left)] } else { &[] };
        let rest = [
            ("how", Side::Left),
            ("standing", Side::Left),
            ("good", Side::Right),
            ("tries", Side::Right),
            ("casting", Side::Right),
            ("charge", Side::Right),
        ];
        let mut table = look.table(&[&[("part", Side::Left)], name, &rest].concat());
        for row in &self.parts {
            let shown =
                |f: &Option<FigureView>| f.as_ref().map_or(String::new(), |f| f.shown.clone());
            let standing = match row.standing {
                Standing::Redo => look.hot(row.standing.word()),
                other => other.word().into(),
            };
            let mut cells = vec![row.id.clone().into()];
            cells.extend(wide.then(|| row.name.clone().into()));
            cells.extend([
                row.alloy.clone().unwrap_or_else(|| row.making.to_owned()).into(),
                standing,
                match row.good {
                    Some(good) => format!("{good} of {}", row.wanted),
                    None => format!("{}", row.wanted),
                }
                .into(),
                row.attempts.filter(|n| *n > 0).map_or(String::new(), |n| n.to_string()).into(),
                shown(&row.casting).into(),
                shown(&row.charge).into(),
            ]);
            table.add_row(cells);
        }
        let total = self.parts.len();
        format!(
            "{}\n{}\n{} of {total} parts finished. Casting: mass of one as cast. Charge: for one mould.\n",
            self.head.text(look),
            finished(&table),
            self.finished
        )
    }
}
