//! Redo or live with it, side by side.

use super::text::Look;
use super::{FigureView, Head};
use crate::figure::{Figure, Quantity, System};
use crate::model::Build;
use crate::redo::Redo;
use serde::Serialize;

/// A blemish as it is shown.
#[derive(Debug, Clone, Serialize)]
pub struct SeenRow {
    /// Class or member of it.
    pub class: String,
    /// Title of its group.
    pub title: String,
    /// Where.
    pub place: Option<String>,
    /// Faces that it touches.
    pub faces: Vec<String>,
    /// What the builder says can be done about it.
    pub can_be: Vec<&'static str>,
    /// What to think of before the casting is kept.
    pub keep: String,
}

/// A cause as it is shown.
#[derive(Debug, Clone, Serialize)]
pub struct CauseRow {
    /// Its id.
    pub id: String,
    /// How likely the record makes it: `likely`, `open` or `unlikely`.
    pub standing: &'static str,
    /// What happened in the mould.
    pub says: String,
    /// What speaks for it.
    pub signs_for: Vec<String>,
    /// What speaks against it.
    pub signs_against: Vec<String>,
    /// What to do next time.
    pub remedy: String,
    /// Groups of defects that it explains.
    pub explains: Vec<String>,
    /// Where the advice is from.
    pub source: String,
}

/// A change for next time.
#[derive(Debug, Clone, Serialize)]
pub struct ChangeRow {
    /// What to do.
    pub says: String,
    /// Why.
    pub because: String,
    /// Where the advice is from.
    pub source: String,
}

/// A later attempt that was good.
#[derive(Debug, Clone, Serialize)]
pub struct SinceRow {
    /// Its mould.
    pub mould: String,
    /// What was otherwise in it.
    pub otherwise: Vec<String>,
}

/// The decision.
#[derive(Debug, Clone, Serialize)]
pub struct RedoView {
    /// The build.
    #[serde(flatten)]
    pub head: Head,
    /// Id of the part.
    pub part: String,
    /// What it is called.
    pub name: String,
    /// The mould it came from.
    pub mould: String,
    /// The day it was decided on.
    pub on: String,
    /// Pieces.
    pub pieces: u32,
    /// What was decided.
    pub disposition: &'static str,
    /// In the builder's words.
    pub says: Option<String>,
    /// Living with it: the blemishes.
    pub seen: Vec<SeenRow>,
    /// Casting it again: what it costs.
    pub another: Vec<FigureView>,
    /// How much later the machine is finished, if that is known.
    pub later: Option<FigureView>,
    /// Probable causes, the likeliest first.
    pub causes: Vec<CauseRow>,
    /// What to do otherwise next time.
    pub changes: Vec<ChangeRow>,
    /// A later attempt that was good.
    pub since: Option<SinceRow>,
}

fn shown<Q: Quantity>(
    figure: Option<&Figure<Q>>,
    name: &'static str,
    units: System,
) -> Option<FigureView> {
    Some(FigureView::new(figure?.named(name).node(), units))
}

impl RedoView {
    /// Of a decision.
    pub fn new(build: &Build, redo: &Redo) -> Self {
        let units = build.header.units;
        let (a, f) = (&redo.another, &redo.finding);
        let another = [
            shown(a.charge.as_ref(), "metal for the crucible", units),
            shown(a.returns.as_ref(), "of it and of the old one comes back", units),
            shown(a.metal.as_ref(), "metal gone for good", units),
            shown(a.sand.as_ref(), "sand lost", units),
            shown(a.fuel.as_ref(), "fuel", units),
            shown(a.hours.as_ref(), "bench time, ramming to inspection", units),
            shown(Some(&a.chance), "chance that it is lost too", units),
        ];
        let words = |list: &[std::sync::Arc<str>]| list.iter().map(ToString::to_string).collect();
        let seen = redo.seen.iter().map(|s| SeenRow {
            class: s.blemish.class.to_string(),
            title: s.title.to_string(),
            place: s.blemish.place.as_ref().map(ToString::to_string),
            faces: words(&s.blemish.faces),
            can_be: s.blemish.can_be.iter().map(|c| c.words()).collect(),
            keep: s.keep.to_string(),
        });
        let causes = redo.suspects.iter().map(|s| CauseRow {
            id: s.id.to_string(),
            standing: match s.weight() {
                2.. => "likely",
                0..=1 => "open",
                _ => "unlikely",
            },
            says: s.says.to_string(),
            signs_for: s.signs.iter().filter(|s| s.weight > 0).map(|s| s.says.clone()).collect(),
            signs_against: s
                .signs
                .iter()
                .filter(|s| s.weight < 0)
                .map(|s| s.says.clone())
                .collect(),
            remedy: s.remedy.to_string(),
            explains: s.explains.clone(),
            source: s.source.to_string(),
        });
        let changes = redo.changes.iter().map(|c| ChangeRow {
            says: c.says.clone(),
            because: c.because.clone(),
            source: c.source.clone(),
        });
        Self {
            head: Head::new(build),
            part: build.parts[redo.part].id().to_string(),
            name: build.parts[redo.part].given.name.to_string(),
            mould: redo.mould.to_string(),
            on: f.at.date().to_string(),
            pieces: f.pieces,
            disposition: f.disposition.word(),
            says: f.says.as_ref().map(ToString::to_string),
            seen: seen.collect(),
            another: another.into_iter().flatten().collect(),
            later: a.later.as_ref().map(|f| FigureView::new(f.node(), units)),
            causes: causes.collect(),
            changes: changes.collect(),
            since: redo.since.as_ref().map(|(mould, otherwise)| SinceRow {
                mould: mould.to_string(),
                otherwise: otherwise.clone(),
            }),
        }
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let mut out = self.head.text(look);
        let line = |text: &str, indent: usize| look.wrapped_from(text, indent);
        out += &look.heading(&format!(
            "{}, {} from {}: {} on {}",
            self.name,
            if self.pieces == 1 { "1 piece".to_owned() } else { format!("{} pieces", self.pieces) },
            self.mould,
            self.disposition,
            self.on
        ));
        out += &self.says.as_ref().map_or(String::new(), |s| line(&format!("\"{s}\""), 0));
        out += &look.heading("Live with it");
        for s in &self.seen {
            let place = s.place.as_ref().map_or(String::new(), |p| format!(": {p}"));
            out += &line(&format!("{} {}{place}", s.class, s.title), 2);
            if !s.faces.is_empty() {
                out += &line(&format!("  touches: {}", s.faces.join(", ")), 4);
            }
            let can = match s.can_be.as_slice() {
                [] => "  what could be done about it is not in the journal (can-be)".to_owned(),
                ways => format!("  can be {}", ways.join(", or ")),
            };
            out += &line(&can, 4);
            out += &line(&format!("  {}", s.keep), 4);
        }
        if self.seen.is_empty() {
            out += "no blemish is named in the journal\n";
        }
        out += &look.heading("Cast it again");
        let later = match &self.later {
            Some(f) if f.value <= 0.0 => "none".to_owned(),
            Some(f) => f.shown.clone(),
            None if self.since.is_some() => "none: done".to_owned(),
            None => "not known".to_owned(),
        };
        for f in &self.another {
            let span = f.span.as_ref().map_or(String::new(), |s| format!("  ({s})"));
            out += &format!("{:<38}{:>10}{span}\n", f.name, f.shown);
        }
        out += &format!("{:<38}{later:>10}\n", "later finish of the machine");
        out += &look.heading("Probable causes");
        for c in &self.causes {
            out += &line(&format!("{:<9} {} ({})", c.standing, c.says, c.explains.join("; ")), 10);
            for (word, signs) in [("for", &c.signs_for), ("against", &c.signs_against)] {
                for sign in signs {
                    out += &line(&format!("{:10}{word}: {sign}", ""), 12);
                }
            }
            out += &line(&format!("{:10}{}", "", c.remedy), 10);
        }
        let mut sources: Vec<&str> = self.causes.iter().map(|c| c.source.as_str()).collect();
        sources.sort_unstable();
        sources.dedup();
        for source in sources {
            out += &line(&format!("[{source}]"), 1);
        }
        if !self.changes.is_empty() {
            out += &look.heading("Next time");
            for c in &self.changes {
                out += &line(&format!("- {}", c.says), 2);
                out += &line(&format!("  because: {}", c.because), 4);
            }
        }
        if let Some(since) = &self.since {
            let otherwise = match since.otherwise.as_slice() {
                [] => "nothing in its record was different".to_owned(),
                list => format!("different in its record: {}", list.join("; ")),
            };
            out += &look.heading("Since then");
            out += &line(&format!("{} came out good; {otherwise}", since.mould), 2);
        }
        out.push('\n');
        let care = "Ranges and causes help to decide; what carries a load, turns or is lifted deserves a second look and, in doubt, another casting.";
        out + &line(care, 0)
    }
}
