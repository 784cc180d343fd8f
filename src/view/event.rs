//! An event of the journal in a line.

use crate::figure::{Figure, Kind, Mass, Number, Quantity, System, show};
use crate::journal::{
    Blemish, Done, Event, Inspected, Ordered, Poured, Rammed, ShakenOut, Sizes, Word, Worked,
};
use crate::manifest::Step;
use indexmap::IndexMap;
use std::fmt::Display;
use std::sync::Arc;

/// An event in a line.
pub(super) fn told(event: &Event, units: System) -> String {
    let mut line = Line { units, parts: Vec::new() };
    match event {
        Event::Rammed(e) => line.rammed(e),
        Event::Poured(e) => line.poured(e),
        Event::ShakenOut(e) => line.shaken_out(e),
        Event::Inspected(e) => line.inspected(e),
        Event::Done(e) => line.done(e),
        Event::Worked(e) => line.worked(e),
        Event::Ordered(e) => line.ordered(e),
        Event::Received(e) => {
            line.bought(e.part.as_ref().or(e.stock.as_ref()), &e.mass, &e.pieces);
            line.say("paid ", &e.price);
        }
        Event::Counted(e) => line.stock(&e.stock, &e.mass, &e.pieces),
        Event::GivenAway(e) => {
            line.stock(&e.stock, &e.mass, &e.pieces);
            line.say("to ", &e.to);
        }
        Event::Retired(e) => {
            let of = e.flask.iter().chain(&e.crucible).map(|word| word.value.to_string());
            line.parts.extend(of);
            line.parts.extend((e.pieces > 1).then(|| format!("{} of them", e.pieces)));
        }
        Event::Note(e) => {
            let of = e.part.iter().chain(&e.mould);
            line.parts.extend(of.map(|word| word.value.to_string()));
        }
        Event::Void(e) => line.parts.push(format!("{}: {}", e.entry.value, e.why)),
    }
    line.parts.join(", ")
}

/// What is told of an event, one thing after another.
struct Line {
    units: System,
    parts: Vec<String>,
}

impl Line {
    fn shown<Q: Quantity>(&self, figure: &Figure<Q>) -> String {
        show(Q::KIND, figure.si(), self.units)
    }

    /// A word, where there is one.
    fn say(&mut self, before: &str, word: &Option<impl Display>) {
        self.parts.extend(word.as_ref().map(|word| format!("{before}{word}")));
    }

    /// A figure between words, where there is one.
    fn add<Q: Quantity>(&mut self, before: &str, figure: &Option<Figure<Q>>, after: &str) {
        let Some(figure) = figure else { return };
        let part = format!("{before}{}{after}", self.shown(figure));
        self.parts.push(part);
    }

    /// Figures, each under its name.
    fn named<Q: Quantity>(&mut self, figures: &IndexMap<Arc<str>, Figure<Q>>, between: &str) {
        for (name, figure) in figures {
            let part = format!("{name}{between}{}", self.shown(figure));
            self.parts.push(part);
        }
    }

    /// So much of a stock.
    fn amount(
        &self,
        mass: &Option<Figure<Mass>>,
        pieces: &Option<Figure<Number>>,
    ) -> Option<String> {
        let pieces = || pieces.as_ref().map(|n| show(Kind::Pieces, n.si(), self.units));
        mass.as_ref().map(|mass| self.shown(mass)).or_else(pieces)
    }

    fn stock(&mut self, of: &Word, mass: &Option<Figure<Mass>>, pieces: &Option<Figure<Number>>) {
        let much = self.amount(mass, pieces).unwrap_or_default();
        self.parts.push(format!("{} {much}", of.value));
    }

    /// A part or a stock, and how much of it.
    fn bought(
        &mut self,
        of: Option<&Word>,
        mass: &Option<Figure<Mass>>,
        pieces: &Option<Figure<Number>>,
    ) {
        self.parts.extend(of.map(|word| word.value.to_string()));
        self.parts.extend(self.amount(mass, pieces));
    }

    /// A step of a part, or a pattern.
    fn step(&mut self, part: &Option<Word>, pattern: &Option<Word>, step: Step) {
        self.parts.push(match (part, pattern) {
            (Some(part), _) => format!("{}: {}", part.value, step.word()),
            (None, Some(pattern)) => pattern.value.to_string(),
            (None, None) => String::new(),
        });
    }

    fn rammed(&mut self, e: &Rammed) {
        self.parts.push(format!("{} with {}", e.mould.value, e.pattern.value));
        let castings = e.castings.iter().map(|(part, n)| format!("{n} x {}", part.value));
        self.parts.extend(castings);
        self.say("in ", &value(&e.flask));
        self.parts.extend(e.again.map(|_| "rammed again".to_owned()));
        self.add("took ", &e.hours, "");
        self.add("sand with ", &e.moisture, " water");
    }

    fn poured(&mut self, e: &Poured) {
        let moulds: Vec<&str> = e.moulds.iter().map(|m| &*m.value).collect();
        let moulds = moulds.join(", ");
        self.parts.push(format!("{} of {} into {moulds}", e.heat.value, e.alloy.value));
        self.add("at ", &e.temperature, "");
        self.say("from ", &value(&e.crucible));
        self.say("in ", &value(&e.furnace));
        self.named(&e.charge, " ");
        self.add("heel ", &e.heel, "");
        self.add("fuel ", &e.fuel, "");
        self.add("melted in ", &e.melt_time, "");
        self.named(&e.filled, " full in ");
        self.say("weather: ", &e.weather);
    }

    fn shaken_out(&mut self, e: &ShakenOut) {
        self.parts.push(e.mould.value.to_string());
        self.add("after ", &e.after, "");
        self.add("frozen after ", &e.frozen, "");
        self.add("", &e.mass, " of metal with the gates");
    }

    fn inspected(&mut self, e: &Inspected) {
        let (part, mould) = (&e.part.value, &e.mould.value);
        let becomes = e.disposition.word();
        self.parts.push(format!("{} x {part} from {mould}: {becomes}", e.pieces));
        self.measured(&e.mass, &e.sizes);
        self.parts.extend(e.blemishes.iter().map(blemish));
    }

    fn done(&mut self, e: &Done) {
        self.step(&e.part, &e.pattern, e.step);
        self.add("", &e.hours, "");
        self.measured(&e.mass, &e.sizes);
    }

    /// What was weighed and measured.
    fn measured(&mut self, mass: &Option<Figure<Mass>>, sizes: &Sizes) {
        self.add("", mass, "");
        self.named(sizes, " ");
    }

    fn worked(&mut self, e: &Worked) {
        self.step(&e.part, &e.pattern, e.step);
        self.parts.push(self.shown(&e.hours));
        self.add("", &e.left, " to go");
    }

    fn ordered(&mut self, e: &Ordered) {
        self.bought(e.part.as_ref().or(e.stock.as_ref()), &e.mass, &e.pieces);
        self.say("from ", &e.from);
        self.say("expected ", &e.expected);
        self.say("for ", &e.price);
    }
}

/// A name as it is written.
fn value(word: &Option<Word>) -> Option<&str> {
    word.as_ref().map(|word| &*word.value)
}

/// What was found on a casting: its class, where, and what can be done about it.
fn blemish(of: &Blemish) -> String {
    let mut text = of.class.to_string();
    if let Some(place) = &of.place {
        text += &format!(" {place}");
    }
    if !of.faces.is_empty() {
        text += &format!(" on {}", of.faces.join(", "));
    }
    if !of.can_be.is_empty() {
        let ways: Vec<&str> = of.can_be.iter().map(|c| c.words()).collect();
        text += &format!(" (can be {})", ways.join(" or "));
    }
    text
}
