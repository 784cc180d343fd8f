//! The journal as a story: of a part, a mould, a heat, or all of it.

use super::Head;
use super::text::Look;
use crate::figure::{Figure, Kind, Mass, Number, Quantity, System, show};
use crate::journal::{Entry, Event, Sizes};
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

fn shown<Q: Quantity>(figure: &Figure<Q>, units: System) -> String {
    show(Q::KIND, figure.si(), units)
}

/// So much of a stock.
fn amount(
    mass: &Option<Figure<Mass>>,
    pieces: &Option<Figure<Number>>,
    units: System,
) -> Option<String> {
    let pieces = || pieces.as_ref().map(|n| show(Kind::Pieces, n.si(), units));
    mass.as_ref().map(|mass| shown(mass, units)).or_else(pieces)
}

/// An event in a line.
pub(super) fn told(event: &Event, units: System) -> String {
    let mut parts: Vec<String> = Vec::new();
    macro_rules! add {
        ($format:literal, $figure:expr) => {
            if let Some(figure) = $figure {
                parts.push(format!($format, shown(figure, units)));
            }
        };
    }
    let sizes = |sizes: &Sizes| {
        let each = sizes.iter().map(|(name, size)| format!("{name} {}", shown(size, units)));
        each.collect::<Vec<_>>()
    };
    match event {
        Event::Rammed(e) => {
            parts.push(format!("{} with {}", e.mould.value, e.pattern.value));
            let castings = e.castings.iter().map(|(part, n)| format!("{n} x {}", part.value));
            parts.extend(castings);
            parts.extend(e.flask.as_ref().map(|f| format!("in {}", f.value)));
            parts.extend(e.again.map(|_| "rammed again".to_owned()));
            add!("took {}", &e.hours);
            add!("sand with {} water", &e.moisture);
        }
        Event::Poured(e) => {
            let moulds: Vec<&str> = e.moulds.iter().map(|m| &*m.value).collect();
            parts.push(format!("{} of {} into {}", e.heat.value, e.alloy.value, moulds.join(", ")));
            add!("at {}", &e.temperature);
            parts.extend(e.crucible.as_ref().map(|c| format!("from {}", c.value)));
            parts.extend(e.furnace.as_ref().map(|f| format!("in {}", f.value)));
            parts.extend(e.charge.iter().map(|(name, m)| format!("{name} {}", shown(m, units))));
            add!("heel {}", &e.heel);
            add!("fuel {}", &e.fuel);
            add!("melted in {}", &e.melt_time);
            parts.extend(e.filled.iter().map(|(m, t)| format!("{m} full in {}", shown(t, units))));
            parts.extend(e.weather.as_ref().map(|w| format!("weather: {w}")));
        }
        Event::ShakenOut(e) => {
            parts.push(e.mould.value.to_string());
            add!("after {}", &e.after);
            add!("frozen after {}", &e.frozen);
            add!("{} of metal with the gates", &e.mass);
        }
        Event::Inspected(e) => {
            parts.push(format!(
                "{} x {} from {}: {}",
                e.pieces,
                e.part.value,
                e.mould.value,
                e.disposition.word()
            ));
            add!("{}", &e.mass);
            parts.extend(sizes(&e.sizes));
            for b in &e.blemishes {
                let mut text = b.class.to_string();
                text += &b.place.as_ref().map_or(String::new(), |p| format!(" {p}"));
                if !b.faces.is_empty() {
                    text += &format!(" on {}", b.faces.join(", "));
                }
                if !b.can_be.is_empty() {
                    let ways: Vec<&str> = b.can_be.iter().map(|c| c.words()).collect();
                    text += &format!(" (can be {})", ways.join(" or "));
                }
                parts.push(text);
            }
        }
        Event::Done(e) => {
            let of = e.part.as_ref().or(e.pattern.as_ref()).map_or("", |w| &*w.value);
            parts.push(match e.part {
                Some(_) => format!("{of}: {}", e.step.word()),
                None => of.to_owned(),
            });
            add!("{}", &e.hours);
            add!("{}", &e.mass);
            parts.extend(sizes(&e.sizes));
        }
        Event::Worked(e) => {
            let of = e.part.as_ref().or(e.pattern.as_ref()).map_or("", |w| &*w.value);
            parts.push(match e.part {
                Some(_) => format!("{of}: {}", e.step.word()),
                None => of.to_owned(),
            });
            parts.push(shown(&e.hours, units));
            parts.extend(e.left.as_ref().map(|left| format!("{} to go", shown(left, units))));
        }
        Event::Ordered(e) => {
            parts.extend(e.part.as_ref().or(e.stock.as_ref()).map(|w| w.value.to_string()));
            parts.extend(amount(&e.mass, &e.pieces, units));
            parts.extend(e.from.as_ref().map(|from| format!("from {from}")));
            parts.extend(e.expected.map(|day| format!("expected {day}")));
            parts.extend(e.price.as_ref().map(|p| format!("for {p}")));
        }
        Event::Received(e) => {
            parts.extend(e.part.as_ref().or(e.stock.as_ref()).map(|w| w.value.to_string()));
            parts.extend(amount(&e.mass, &e.pieces, units));
            parts.extend(e.price.as_ref().map(|p| format!("paid {p}")));
        }
        Event::Counted(e) => {
            let much = amount(&e.mass, &e.pieces, units).unwrap_or_default();
            parts.push(format!("{} {much}", e.stock.value));
        }
        Event::GivenAway(e) => {
            let much = amount(&e.mass, &e.pieces, units).unwrap_or_default();
            parts.push(format!("{} {much}", e.stock.value));
            parts.extend(e.to.as_ref().map(|to| format!("to {to}")));
        }
        Event::Note(e) => {
            parts.extend(e.part.iter().chain(&e.mould).map(|w| w.value.to_string()));
        }
        Event::Void(e) => parts.push(format!("{}: {}", e.entry.value, e.why)),
    }
    parts.join(", ")
}
