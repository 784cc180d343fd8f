//! The handbook as a page: every formula, every alloy and sand, each with its source.

use super::FigureView;
use super::page::{filled, parsed};
use super::text::{Look, Side, finished};
use crate::figure::{Because, Formula, Node, System};
use crate::handbook::{Handbook, formulas};
use crate::view::page::Unfilled;
use crate::yaml::Refused;
use serde::Serialize;
use std::fmt::Write;

/// What the page shows.
#[derive(Debug, Clone, Serialize)]
pub struct HandbookView {
    /// Formulas.
    pub formulas: Vec<FormulaRow>,
    /// Alloys, sands, chills and sleeves, consumables: a table each.
    pub tables: Vec<Table>,
}

/// One formula.
#[derive(Debug, Clone, Serialize)]
pub struct FormulaRow {
    /// Name that `reckon` answers to.
    pub name: &'static str,
    /// What it gives.
    pub gives: &'static str,
    /// The formula.
    pub says: &'static str,
    /// What it takes.
    pub takes: Vec<String>,
    /// Where it is from.
    pub source: &'static str,
    /// How far to trust it.
    pub known: &'static str,
    /// Where it holds.
    pub holds: &'static str,
}

/// One alloy, sand or consumable.
#[derive(Debug, Clone, Serialize)]
pub struct Table {
    /// Its id.
    pub id: String,
    /// What it is called.
    pub title: String,
    /// Its figures.
    pub rows: Vec<Row>,
}

/// One value.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    /// The value.
    #[serde(flatten)]
    pub figure: FigureView,
    /// Its source.
    pub source: String,
}

impl HandbookView {
    /// Of a handbook, in these units.
    pub fn new(book: &Handbook, units: System) -> Self {
        let alloys = book.alloys.values().map(|a| Table {
            id: a.id.to_string(),
            title: a.title.to_string(),
            rows: a.figures().into_iter().map(|n| row(n, units)).collect(),
        });
        let sands = book.sands.values().map(|s| {
            let mut rows: Vec<Row> = s.figures().into_iter().map(|n| row(n, units)).collect();
            rows.extend(
                s.additions.iter().map(|(name, f)| row(f.named(name.to_string()).node(), units)),
            );
            Table { id: s.id.to_string(), title: s.title.to_string(), rows }
        });
        let inserts = book.inserts.values().map(|i| Table {
            id: i.id.to_string(),
            title: i.title.to_string(),
            rows: i.figures().into_iter().map(|n| row(n, units)).collect(),
        });
        let consumables = book.consumables.values().map(|c| Table {
            id: c.id.to_string(),
            title: c.title.to_string(),
            rows: vec![row(c.rate.node(), units)],
        });
        Self {
            formulas: formulas::ALL.iter().map(|f| FormulaRow::new(f)).collect(),
            tables: alloys.chain(sands).chain(inserts).chain(consumables).collect(),
        }
    }

    /// What it holds, by name.
    pub fn contents(&self, look: &Look) -> String {
        let formulas = self.formulas.iter().map(|f| f.name.to_owned()).collect::<Vec<_>>();
        let tables = self.tables.iter().map(|t| t.id.clone()).collect::<Vec<_>>();
        let mut out = String::new();
        for (heading, names) in
            [("Formulas", formulas), ("Alloys, sands, chills and sleeves, consumables", tables)]
        {
            out += look.heading(heading).trim_start_matches('\n');
            out += &(look.wrapped(&names.join(", "), 0) + "\n\n");
        }
        out + "`handbook NAME` shows one with its sources, `handbook --all` everything.\n"
    }

    /// The formulas and tables of this name.
    ///
    /// # Errors
    /// Where there is none: says what is near.
    pub fn only(&self, name: &str) -> Result<Self, Refused> {
        let same = |other: &str| other.eq_ignore_ascii_case(name);
        let one = Self {
            formulas: self.formulas.iter().filter(|f| same(f.name)).cloned().collect(),
            tables: self.tables.iter().filter(|t| same(&t.id)).cloned().collect(),
        };
        if !(one.formulas.is_empty() && one.tables.is_empty()) {
            return Ok(one);
        }
        let names = self.formulas.iter().map(|f| f.name).chain(self.tables.iter().map(|t| &*t.id));
        let says = format!("the handbook has no `{name}`");
        Err(Refused::unknown(says, name, names, "`pourwright handbook` lists it"))
    }

    /// As Markdown.
    pub fn markdown(&self) -> String {
        let head = "# Handbook\n\n## Formulas\n".to_owned();
        let between = "\n## Alloys, sands, chills and sleeves, consumables\n";
        head + &self.formulas_told() + between + &self.tables_told()
    }

    /// Its formulas and tables for a terminal.
    pub fn text(&self, look: &Look) -> String {
        let mut out = String::new();
        for f in &self.formulas {
            out += &look.heading(f.name);
            out += &(look.wrapped(&format!("{} = {}", f.gives, f.says), 2) + "\n\n");
            let takes = f.takes.join("; ");
            let source = format!("{}; {}", f.source, f.known);
            for (what, says) in [("takes", &*takes), ("source", &source), ("holds", f.holds)] {
                out += &(look.wrapped(&format!("{what:<8}{says}"), 8) + "\n");
            }
        }
        for t in &self.tables {
            out += &look.heading(&format!("{} ({})", t.title, t.id));
            let heads = ["figure", "likely", "between", "source"];
            let mut table = look.table(&heads.map(|head| (head, Side::Left)));
            for r in &t.rows {
                let span = r.figure.span.clone().unwrap_or_default();
                let figure = r.figure.name.clone();
                table.add_row([figure, r.figure.shown.clone(), span, r.source.clone()]);
            }
            out += &finished(&table);
        }
        out.trim_start_matches('\n').to_owned()
    }

    fn formulas_told(&self) -> String {
        let mut out = String::new();
        for f in &self.formulas {
            let _ = write!(
                out,
                "\n### {}\n\n{} = {}\n\n- takes: {}\n- source: {}; {}\n- holds: {}\n",
                f.name,
                f.gives,
                f.says,
                f.takes.join(", "),
                f.source,
                f.known,
                f.holds
            );
        }
        out
    }

    fn tables_told(&self) -> String {
        let mut out = String::new();
        let cell = |text: &str| text.replace('|', "\\|");
        for t in &self.tables {
            let _ = write!(
                out,
                "\n### {} ({})\n\n| figure | likely | between | source |\n| --- | --- | --- | --- |\n",
                t.title, t.id
            );
            for r in &t.rows {
                let span = r.figure.span.as_deref().unwrap_or("");
                let _ = writeln!(
                    out,
                    "| {} | {} | {span} | {} |",
                    r.figure.name,
                    r.figure.shown,
                    cell(&r.source)
                );
            }
        }
        out
    }

    /// As one HTML page.
    ///
    /// # Errors
    /// Where the template does not fit, which a test would show.
    pub fn html(&self) -> Result<String, Unfilled> {
        const PAGE: &str = "handbook.html";
        let tera = parsed(&[(PAGE, include_str!("../../templates/handbook.html"))])?;
        filled(self, &tera, PAGE)
    }
}

impl FormulaRow {
    /// Of a formula.
    pub fn new(f: &Formula) -> Self {
        let takes = f.inputs.iter().map(|i| match (i.about, i.words) {
            ("", []) => format!("{} ({})", i.name, i.kind.words()),
            ("", words) => format!("{} ({})", i.name, words.join(", ")),
            (about, _) => format!("{} ({about})", i.name),
        });
        Self {
            name: f.name,
            gives: f.gives,
            says: f.says,
            takes: takes.collect(),
            source: f.source,
            known: f.known.words(),
            holds: f.holds,
        }
    }
}

fn row(node: &Node, units: System) -> Row {
    let source = match node.because() {
        Because::Handbook(source) => source.to_string(),
        _ => "given in the manifest".to_owned(),
    };
    Row { figure: FigureView::new(node, units), source }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_holds_every_formula_and_every_alloy() {
        let book = Handbook::embedded();
        let view = HandbookView::new(&book, System::Metric);
        for page in [view.markdown(), view.html().expect("the template fits")] {
            for f in formulas::ALL {
                assert!(page.contains(f.name), "{}", f.name);
            }
            let tables = book.alloys.keys().chain(book.sands.keys()).chain(book.inserts.keys());
            for id in tables.chain(book.consumables.keys()) {
                assert!(page.contains(&**id), "{id}");
            }
        }
    }
}
