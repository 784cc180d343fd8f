//! The figures of castings. Eight of each stand first; the rest is in groups. What is alike for all
//! castings is told once, in a list: what to type, how far it is known, its source, its note.

use super::sources::{self, SourceView};
use crate::estimate::CastingEstimate;
use crate::figure::{Known, Node, System};
use crate::view::FIRST_FIGURES;
use crate::view::page::{Shown, shown};
use indexmap::IndexMap;
use serde::Serialize;

/// Figures under one heading.
#[derive(Debug, Clone, Serialize)]
pub struct FigureGroup {
    /// The heading.
    pub title: &'static str,
    /// The figures.
    pub figures: Vec<FigureRow>,
}

/// One figure of one casting.
#[derive(Debug, Clone, Serialize)]
pub struct FigureRow {
    /// What it is called.
    pub name: String,
    /// The name that `why` answers to.
    pub ask: &'static str,
    /// Likely value with its unit; of a limit the end that is safe.
    pub shown: String,
    /// The span in the same unit.
    pub span: Option<String>,
    /// How far it is known, where that is not as the list says.
    pub known: Option<&'static str>,
    /// Its note, where the list has another or none.
    pub note: Option<String>,
}

/// What is alike of a figure for all castings.
#[derive(Debug, Clone, Serialize)]
pub struct FigureEntry {
    /// What it is called.
    pub name: String,
    /// The name that `why` answers to.
    pub ask: &'static str,
    /// How far it is known, in words.
    pub known: &'static str,
    /// Its note.
    pub note: Option<String>,
    /// Numbers of its sources in the list of sources.
    pub sources: Vec<usize>,
}

#[derive(Default)]
struct Alike {
    name: String,
    known: IndexMap<&'static str, usize>,
    notes: IndexMap<String, usize>,
    sources: Vec<(Known, String)>,
}

/// Gathers what is alike, casting after casting.
#[derive(Default)]
pub(super) struct Figures {
    entries: IndexMap<&'static str, Alike>,
}

fn most<K: Clone + std::hash::Hash + Eq>(of: &IndexMap<K, usize>, least: usize) -> Option<K> {
    let most = of.iter().filter(|(_, n)| **n >= least).max_by_key(|(_, n)| **n);
    most.map(|(k, _)| k.clone())
}

impl Figures {
    /// The figures that stand first, and the others by group where they are listed.
    pub fn of(
        &mut self,
        estimate: &CastingEstimate,
        units: System,
        id: &str,
        all: bool,
    ) -> (Vec<Shown>, Vec<FigureGroup>) {
        let mut first = Vec::new();
        let mut groups = Vec::new();
        for (title, figures) in estimate.groups() {
            let mut rows = Vec::new();
            for (ask, node) in &figures {
                let view = shown(node, units, id, ask);
                if all || FIRST_FIGURES.contains(ask) {
                    self.take(ask, node, &view);
                }
                if FIRST_FIGURES.contains(ask) {
                    first.push(view);
                } else if all {
                    rows.push(row(ask, view));
                }
            }
            if !rows.is_empty() {
                groups.push(FigureGroup { title, figures: rows });
            }
        }
        (first, groups)
    }

    fn take(&mut self, ask: &'static str, node: &Node, view: &Shown) {
        let entry = self.entries.entry(ask).or_default();
        if entry.name.is_empty() {
            entry.name.clone_from(&view.name);
        }
        *entry.known.entry(view.known).or_default() += 1;
        if let Some(note) = &view.note {
            *entry.notes.entry(note.clone()).or_default() += 1;
        }
        let source = sources::own(node).filter(|s| !entry.sources.contains(s));
        entry.sources.extend(source);
    }

    /// The list of what is alike; takes out of the castings what it tells.
    pub fn list<'a>(
        self,
        castings: impl Iterator<Item = &'a mut FigureGroup>,
        sources: &[SourceView],
    ) -> Vec<FigureEntry> {
        let entry = |(ask, alike): (&'static str, Alike)| {
            let number = |(known, citation): &(Known, String)| {
                let is = |s: &SourceView| s.citation == *citation && s.known == known.words();
                sources.iter().position(is).map(|n| n + 1)
            };
            FigureEntry {
                ask,
                name: alike.name,
                known: most(&alike.known, 1).unwrap_or_default(),
                note: most(&alike.notes, 2),
                sources: alike.sources.iter().filter_map(number).collect(),
            }
        };
        let list: IndexMap<&str, FigureEntry> =
            self.entries.into_iter().map(|e| (e.0, entry(e))).collect();
        for row in castings.flat_map(|g| &mut g.figures) {
            let Some(entry) = list.get(row.ask) else { continue };
            row.known = row.known.filter(|known| *known != entry.known);
            row.note = row.note.take().filter(|note| Some(note) != entry.note.as_ref());
        }
        list.into_values().collect()
    }
}

fn row(ask: &'static str, view: Shown) -> FigureRow {
    FigureRow {
        name: view.name,
        ask,
        shown: view.safe.unwrap_or(view.shown),
        span: view.span,
        known: Some(view.known),
        note: view.note,
    }
}
