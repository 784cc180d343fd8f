//! The journal as a story: of a part, a mould, a heat, or all of it.

use super::Head;
use super::event::told;
use super::text::Look;
use crate::figure::{Kind, System, show};
use crate::journal::Entry;
use crate::model::{Asked, Build, HeatSum};
use serde::Serialize;

/// One entry.
#[derive(Debug, Clone, Serialize)]
pub struct EntryRow {
    /// Its id.
    pub id: String,
    /// Date and time.
    pub at: String,
    /// Kind of event.
    pub event: &'static str,
    /// What happened, in words.
    pub text: String,
    /// In the builder's own words.
    pub says: Option<String>,
    /// A picture beside the build.
    pub photo: Option<String>,
    /// Line in the journal.
    pub line: usize,
}

/// What a heat comes to, as it is shown.
#[derive(Debug, Clone, Serialize)]
pub struct HeatRow {
    /// The heat.
    pub heat: String,
    /// In kg and shares.
    #[serde(flatten)]
    pub sum: HeatSum,
    /// In words.
    pub text: String,
}

/// Entries of the journal.
#[derive(Debug, Clone, Serialize)]
pub struct HistoryView {
    /// The build.
    #[serde(flatten)]
    pub head: Head,
    /// The entries asked for, in the order they happened.
    pub entries: Vec<EntryRow>,
    /// What the heat that was asked for comes to.
    pub heat: Option<HeatRow>,
}

impl HistoryView {
    /// The entries a question is about.
    pub fn new(build: &Build, asked: &Asked) -> Self {
        let units = build.header.units;
        let row = |e: &Entry| EntryRow {
            id: e.id.to_string(),
            at: e.at.format("%Y-%m-%d %H:%M").to_string(),
            event: e.event.word(),
            text: told(&e.event, units),
            says: e.says.as_ref().map(ToString::to_string),
            photo: e.photo.as_ref().map(ToString::to_string),
            line: e.line,
        };
        let heat = asked.heat.as_ref().and_then(|heat| {
            let sum = build.heat_sum(heat)?;
            Some(HeatRow { heat: heat.clone(), sum, text: summed(sum, units) })
        });
        let entries = build.entries(asked).into_iter().map(row).collect();
        Self { head: Head::new(build), entries, heat }
    }

    /// Day by day, the latest first; no more than `most` entries.
    pub fn text(&self, look: &Look, most: usize) -> String {
        let mut out = self.head.text(look);
        let mut day = "";
        for row in self.entries.iter().rev().take(most) {
            let (date, time) = row.at.split_at(10);
            if date != day {
                out += &look.heading(date);
                day = date;
            }
            let line = format!("{}  {:<10}  {}", time.trim(), row.event, row.text);
            out += &(look.wrapped(line.trim_end(), 19) + "\n");
            let more = [("", &row.says), ("picture: ", &row.photo)];
            for (before, text) in more.into_iter().filter_map(|(b, t)| Some((b, t.as_ref()?))) {
                let text = text.replace('\n', " ");
                let said = if before.is_empty() {
                    format!("\"{text}\"")
                } else {
                    format!("{before}{text}")
                };
                out += &look.wrapped_from(&format!("{:19}{said}", ""), 19);
            }
        }
        if self.entries.len() > most {
            let before = self.entries.len() - most;
            out += &format!("\n{before} entries before these; `history --all` shows them.\n");
        }
        if let Some(heat) = &self.heat {
            out += &format!("\n{}: {}\n", heat.heat, heat.text);
        }
        if self.entries.is_empty() {
            out += "\nNo entry of the journal matches.\n";
        }
        out
    }
}

fn summed(sum: HeatSum, units: System) -> String {
    let mass = |kg| show(Kind::Mass, kg, units);
    let mut text = format!("{} charged, {} left as heel", mass(sum.charged), mass(sum.heel));
    if let (Some(castings), Some(share)) = (sum.castings, sum.share) {
        let share = show(Kind::Ratio, share, units);
        text += &format!(", {} of castings: {share} of what was poured or lost", mass(castings));
    }
    text
}
