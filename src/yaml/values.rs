//! What a value is read as: words, quantities, days, files.

use super::taken::Form;
use super::{Code, Cursor, Given, Tree, day, nearest};
use crate::figure::{
    Amount, Because, Figure, Kind, Quantity, Range, Unreadable, read, read_sizes, says_which,
};
use std::sync::Arc;

impl Cursor<'_> {
    /// As a text.
    pub fn text(&self) -> Option<Arc<str>> {
        self.form(|| Form::Text);
        self.written()
    }

    fn written(&self) -> Option<Arc<str>> {
        match self.tree {
            // Nobody writes an escape and means it; terminals take it for an order.
            Tree::Text(text) if text.contains('\u{1b}') => {
                Some(text.replace('\u{1b}', "\u{241b}").into())
            }
            Tree::Text(text) => Some(text.clone()),
            Tree::Switch(value) => Some(value.to_string().into()),
            _ => {
                self.fault(Code::Shape, self.what(), "a word or a text is expected");
                None
            }
        }
    }

    /// The bytes of the file that this value names, which must lie in the same folder or below.
    pub fn file(&self) -> Option<Vec<u8>> {
        let path = self.text()?;
        let inside = std::path::Path::new(&*path)
            .components()
            .all(|c| matches!(c, std::path::Component::Normal(_) | std::path::Component::CurDir));
        if !inside {
            self.fault(
                Code::File,
                "this file lies outside the build's folder",
                "copy it beside build.yaml",
            );
            return None;
        }
        match self.reading.beside(&path) {
            Some(Ok(bytes)) => Some(bytes),
            Some(Err(e)) => {
                let hint = "give its name as it lies beside build.yaml";
                self.fault(Code::File, format!("`{path}` cannot be read: {e}"), hint);
                None
            }
            None => {
                self.fault(
                    Code::File,
                    "no other file can be read here",
                    "give the mass or the volume",
                );
                None
            }
        }
    }

    /// As a text with its place.
    pub fn word(&self) -> Option<Given<Arc<str>>> {
        self.text().map(|value| Given { value, route: self.route() })
    }

    /// As one of a few words.
    pub fn choice<T: Copy>(&self, choices: &[(&str, T)]) -> Option<T> {
        self.form(|| Form::Choice(choices.iter().map(|(w, _)| (*w).to_owned()).collect()));
        let text = self.written()?;
        if let Some((_, value)) = choices.iter().find(|(word, _)| **word == *text) {
            return Some(*value);
        }
        let words: Vec<&str> = choices.iter().map(|(w, _)| *w).collect();
        let hint = match nearest(&text, words.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("choose from: {}", words.join(", ")),
        };
        self.fault(Code::Word, format!("`{text}` is not a choice here"), hint);
        None
    }

    /// As a quantity range of this kind, in SI.
    pub fn range(&self, kind: Kind) -> Option<Range> {
        self.form(|| Form::Size(kind));
        if !matches!(self.tree, Tree::Text(_)) {
            self.fault(Code::Shape, self.what(), format!("try {}", kind.example()));
            return None;
        }
        let text = self.written()?;
        let which = || match kind == Kind::Volume && self.reading.wants_which() {
            true => says_which(&text),
            false => Ok(()),
        };
        self.read(Code::Unit, read(kind, &text).and_then(|range| which().map(|()| range)))
    }

    /// What was read; a fault where it could not be.
    pub fn read<T>(&self, code: Code, read: Result<T, Unreadable>) -> Option<T> {
        read.map_err(|e| self.fault(code, e.says, e.hint)).ok()
    }

    /// As a figure given in the manifest, greater than zero (temperatures: above absolute zero)
    /// and below what the trade could ever meet.
    pub fn figure<Q: Quantity>(&self, name: &'static str) -> Option<Figure<Q>> {
        self.given(name, false)
    }

    fn given<Q: Quantity>(&self, name: &'static str, zero_will_do: bool) -> Option<Figure<Q>> {
        let range = self.range(Q::KIND)?;
        self.sensible(Q::KIND, range, zero_will_do)?;
        Some(Figure::new(name, range, Because::Given(self.route())))
    }

    /// As a quantity; none where this word stands in its place.
    pub fn figure_or<Q: Quantity>(
        &self,
        name: &'static str,
        word: &'static str,
    ) -> Option<Option<Figure<Q>>> {
        self.form(|| Form::Choice(vec![word.to_owned()]));
        match self.tree {
            Tree::Text(text) if **text == *word => Some(None),
            _ => self.figure(name).map(Some),
        }
    }

    /// Like [`Cursor::figure`], but zero will do.
    pub fn figure_or_zero<Q: Quantity>(&self, name: &'static str) -> Option<Figure<Q>> {
        self.given(name, true)
    }

    /// The first of these kinds that it can be read as.
    pub fn kind(&self, of: &[Kind]) -> Option<Kind> {
        of.iter().for_each(|kind| self.form(|| Form::Size(*kind)));
        let Tree::Text(text) = self.tree else { return None };
        of.iter().copied().find(|kind| read(*kind, text).is_ok())
    }

    /// So much of a stock: a mass, or a number of pieces.
    pub fn amount(&self, name: &'static str, zero_will_do: bool) -> Option<Figure<Amount>> {
        self.form(|| Form::Size(Kind::Pieces));
        let pieces = matches!(self.tree, Tree::Text(text) if read(Kind::Pieces, text).is_ok());
        let bare = matches!(self.tree, Tree::Text(text) if read(Kind::Number, text).is_ok());
        if bare {
            let hint = "try 4 pieces of what is counted, or 11.4 kg";
            self.fault(Code::Unit, "a unit is missing", hint);
            return None;
        }
        let kind = if pieces { Kind::Pieces } else { Kind::Mass };
        let range = self.range(kind)?;
        self.sensible(kind, range, zero_will_do)?;
        Some(Figure::new(name, range, Because::Given(self.route())).in_kind(kind))
    }

    fn sensible(&self, kind: Kind, range: Range, zero_will_do: bool) -> Option<()> {
        let (least, most, says) = match kind {
            Kind::Length => (0.0, 20.0, "no part of a home-built machine is 20 m long"),
            Kind::Mass => (0.0, 50_000.0, "this is over 50 t"),
            Kind::Pieces => (0.0, 100_000.0, "this is over 100,000 pieces"),
            Kind::Volume => (0.0, 50.0, "this is over 50 m3"),
            Kind::Temperature => (0.0, 3_300.0, "no furnace in a workshop is this hot"),
            Kind::Density => (0.0, 25_000.0, "nothing is this dense"),
            Kind::Ratio => (0.0, 1.0, "a share is between 0 and 100 %"),
            Kind::Time => (0.0, 20.0 * 365.0 * 86_400.0, "this is over 20 years"),
            _ => (0.0, f64::INFINITY, ""),
        };
        let (too_low, must) = match zero_will_do {
            true => (range.low < least, "this cannot be less than zero"),
            false => (range.low <= least, "this must be more than zero"),
        };
        if too_low {
            self.fault(Code::Size, must, format!("try {}", kind.example()));
            return None;
        }
        if range.high > most {
            self.fault(Code::Size, says, "is the unit right?");
            return None;
        }
        Some(())
    }

    /// As `count` lengths, such as `300 x 200 x 60 mm`, in metres.
    pub fn sizes(&self, count: usize) -> Option<Vec<f64>> {
        self.form(|| Form::Sizes(count));
        let text = self.written()?;
        let sizes = self.read(Code::Unit, read_sizes(&text, count))?;
        let low = sizes.iter().copied().fold(f64::INFINITY, f64::min);
        let high = sizes.iter().copied().fold(0.0, f64::max);
        self.sensible(Kind::Length, Range { low, likely: low, high }, false)?;
        Some(sizes)
    }

    /// As a whole number of at least 1.
    pub fn count(&self) -> Option<u32> {
        self.form(|| Form::Count);
        let text = self.written()?;
        match text.parse::<u32>() {
            Ok(n @ 1..=100_000) => Some(n),
            _ => {
                self.fault(Code::Size, "a whole number from 1 is expected", "try 1");
                None
            }
        }
    }

    /// As a date, `YYYY-MM-DD`.
    pub fn date(&self) -> Option<chrono::NaiveDate> {
        self.form(|| Form::Date);
        let text = self.written()?;
        self.read(Code::Shape, day(&text))
    }
}
