//! Walking a tree and collecting every fault on the way.

use super::taken::{Form, Taken};
use super::{Code, Fault, Tree, day};
use crate::figure::{
    Amount, Because, Figure, Kind, Quantity, Range, Route, Segment, read, read_sizes, says_which,
};
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::sync::Arc;

/// Gives the bytes of a file that lies beside the one being read, by its relative path.
pub type Beside<'a> = &'a dyn Fn(&str) -> std::io::Result<Vec<u8>>;

/// One pass over a file; gathers its faults.
#[derive(Default)]
pub struct Reading<'b> {
    faults: RefCell<Vec<Fault>>,
    beside: Option<Beside<'b>>,
    /// Whether quarts and their like say whose they are.
    says_which: Cell<bool>,
    /// What is taken, where somebody asks.
    taken: Option<RefCell<Taken>>,
}

impl std::fmt::Debug for Reading<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Reading").field("faults", &self.faults).finish_non_exhaustive()
    }
}

impl<'b> Reading<'b> {
    /// A pass over a file that may name others beside it.
    pub fn with(beside: Beside<'b>) -> Self {
        Self { beside: Some(beside), ..Self::default() }
    }

    /// From here on, quarts and their like must say whether they are US or imperial.
    pub fn asks_which(&self) {
        self.says_which.set(true);
    }

    /// A pass that notes what is taken of the file.
    pub fn noting() -> Self {
        Self { taken: Some(RefCell::default()), ..Self::default() }
    }

    /// What was taken.
    pub fn into_taken(self) -> Taken {
        self.taken.map(RefCell::into_inner).unwrap_or_default()
    }

    /// Adds a fault.
    pub fn fault(&self, fault: Fault) {
        self.faults.borrow_mut().push(fault);
    }

    /// How many faults there are so far.
    pub fn found(&self) -> usize {
        self.faults.borrow().len()
    }

    /// All faults so far.
    pub fn into_faults(self) -> Vec<Fault> {
        self.faults.into_inner()
    }
}

#[derive(Debug)]
struct Link {
    up: Option<Rc<Link>>,
    segment: Segment,
}

/// A value and where it stands.
#[derive(Debug, Clone)]
pub struct Cursor<'a> {
    tree: &'a Tree,
    link: Option<Rc<Link>>,
    reading: &'a Reading<'a>,
}

/// A value as written, with its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Given<T> {
    /// The value.
    pub value: T,
    /// Where it was written.
    pub route: Route,
}

impl<'a> Cursor<'a> {
    /// At the top of a tree.
    pub fn top(tree: &'a Tree, reading: &'a Reading<'a>) -> Self {
        Self { tree, link: None, reading }
    }

    /// The pass that it belongs to.
    pub fn reading(&self) -> &'a Reading<'a> {
        self.reading
    }

    /// The value itself.
    pub fn tree(&self) -> &'a Tree {
        if matches!(self.tree, Tree::Text(_)) {
            self.note(|taken, route| taken.form(route, Form::Text));
        }
        self.tree
    }

    fn note(&self, note: impl FnOnce(&mut Taken, &Route)) {
        if let Some(taken) = &self.reading.taken {
            note(&mut taken.borrow_mut(), &self.route());
        }
    }

    /// Notes a form that a value here may have.
    pub(crate) fn form(&self, form: impl FnOnce() -> Form) {
        self.note(|taken, route| taken.form(route, form()));
    }

    fn inside(&self, tree: &'a Tree, segment: Segment) -> Self {
        let link = Some(Rc::new(Link { up: self.link.clone(), segment }));
        Self { tree, link, reading: self.reading }
    }

    /// Where it stands.
    pub fn route(&self) -> Route {
        let mut segments = Vec::new();
        let mut link = self.link.as_ref();
        while let Some(l) = link {
            segments.push(l.segment.clone());
            link = l.up.as_ref();
        }
        segments.reverse();
        Route(segments.into())
    }

    /// Its key, or an empty text in a list or at the top.
    pub fn name(&self) -> Arc<str> {
        match self.link.as_ref().map(|l| &l.segment) {
            Some(Segment::Key(key, _)) => key.clone(),
            _ => "".into(),
        }
    }

    /// Adds a fault at this value.
    pub fn fault(&self, code: Code, says: impl Into<String>, hint: impl Into<String>) {
        self.reading.fault(Fault::value(code, self.route(), says, hint));
    }

    /// Adds a fault at this value's key.
    pub fn fault_at_key(&self, code: Code, says: impl Into<String>, hint: impl Into<String>) {
        self.reading.fault(Fault::key(code, self.route(), says, hint));
    }

    fn what(&self) -> &'static str {
        match self.tree {
            Tree::Empty => "nothing is written here",
            Tree::Switch(_) => "this is true or false",
            Tree::Text(_) => "this is a single value",
            Tree::List(_) => "this is a list",
            Tree::Map(_) => "this is a map of keys",
        }
    }

    /// As a map of keys that are known beforehand.
    pub fn fields(&self) -> Option<Fields<'a>> {
        match self.tree {
            Tree::Map(entries) => {
                self.note(Taken::map);
                Some(Fields::new(self.clone(), entries))
            }
            _ => {
                self.fault(
                    Code::Shape,
                    self.what(),
                    "keys with values are expected, such as `name: ...`",
                );
                None
            }
        }
    }

    /// As a map whose keys are ids that the builder chose; faults for repeated and ill-formed ids.
    pub fn entries(&self) -> Vec<(Arc<str>, Cursor<'a>)> {
        self.note(Taken::ids);
        let Tree::Map(entries) = self.tree else {
            if *self.tree != Tree::Empty {
                self.fault(
                    Code::Shape,
                    self.what(),
                    "ids with values are expected, such as `base: {...}`",
                );
            }
            return Vec::new();
        };
        let mut seen: std::collections::HashMap<&str, u32> = std::collections::HashMap::new();
        let mut out = Vec::with_capacity(entries.len());
        for (key, value) in entries {
            let nth = seen.entry(key).or_default();
            let cursor = self.inside(value, Segment::Key(key.clone(), *nth));
            *nth += 1;
            if *nth > 1 {
                cursor.fault_at_key(
                    Code::RepeatedId,
                    format!("`{key}` was used above"),
                    "give this one an id of its own",
                );
                continue;
            }
            let sound = !key.is_empty()
                && key.chars().all(|c| c.is_alphanumeric() || matches!(c, '-' | '_'));
            if !sound {
                cursor.fault_at_key(
                    Code::BadId,
                    "an id is made of letters, digits, - and _",
                    "put the full wording under `name:`",
                );
                continue;
            }
            out.push((key.clone(), cursor));
        }
        out
    }

    /// The value under a key of a map, if it is there.
    pub fn below(&self, key: &str) -> Option<Self> {
        let Tree::Map(entries) = self.tree else { return None };
        let (key, tree) = entries.iter().find(|(k, _)| **k == *key)?;
        Some(self.inside(tree, Segment::Key(key.clone(), 0)))
    }

    /// The keys of a map, sound or not.
    pub fn ids(&self) -> Vec<Arc<str>> {
        match self.tree {
            Tree::Map(entries) => entries.iter().map(|(key, _)| key.clone()).collect(),
            _ => Vec::new(),
        }
    }

    /// As a list; a single value counts as a list of one.
    pub fn items(&self) -> Vec<Cursor<'a>> {
        self.note(Taken::items);
        match self.tree {
            Tree::List(items) => {
                items.iter().enumerate().map(|(i, t)| self.inside(t, Segment::Index(i))).collect()
            }
            Tree::Empty => Vec::new(),
            _ => vec![self.clone()],
        }
    }

    /// Whether it is a list.
    pub fn is_list(&self) -> bool {
        matches!(self.tree, Tree::List(_))
    }

    /// Whether it is a plain nought.
    pub fn is_zero(&self) -> bool {
        matches!(self.tree, Tree::Text(text) if **text == *"0")
    }

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
        match self.reading.beside.map(|open| open(&path)) {
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
        let which = || match kind == Kind::Volume && self.reading.says_which.get() {
            true => says_which(&text),
            false => Ok(()),
        };
        match read(kind, &text).and_then(|range| which().map(|()| range)) {
            Ok(range) => Some(range),
            Err(e) => {
                self.fault(Code::Unit, e.says, e.hint);
                None
            }
        }
    }

    /// As a figure given in the manifest, greater than zero (temperatures: above absolute zero)
    /// and below what the trade could ever meet.
    pub fn figure<Q: Quantity>(&self, name: &'static str) -> Option<Figure<Q>> {
        let range = self.range(Q::KIND)?;
        self.sensible(Q::KIND, range, false)?;
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
        let range = self.range(Q::KIND)?;
        self.sensible(Q::KIND, range, true)?;
        Some(Figure::new(name, range, Because::Given(self.route())))
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
        match read_sizes(&text, count) {
            Ok(sizes) => {
                let low = sizes.iter().copied().fold(f64::INFINITY, f64::min);
                let high = sizes.iter().copied().fold(0.0, f64::max);
                self.sensible(Kind::Length, Range { low, likely: low, high }, false)?;
                Some(sizes)
            }
            Err(e) => {
                self.fault(Code::Unit, e.says, e.hint);
                None
            }
        }
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
        let date = day(&self.written()?);
        date.map_err(|e| self.fault(Code::Shape, e.says, e.hint)).ok()
    }
}

/// The known keys of a map, taken one by one; what is left over is a fault.
#[derive(Debug)]
pub struct Fields<'a> {
    cursor: Cursor<'a>,
    entries: &'a [(Arc<str>, Tree)],
    known: Vec<&'static str>,
}

impl<'a> Fields<'a> {
    fn new(cursor: Cursor<'a>, entries: &'a [(Arc<str>, Tree)]) -> Self {
        Self { cursor, entries, known: Vec::new() }
    }

    /// The cursor of the map itself.
    pub fn cursor(&self) -> &Cursor<'a> {
        &self.cursor
    }

    /// The value under a key, if it is there.
    pub fn get(&mut self, key: &'static str) -> Option<Cursor<'a>> {
        if !self.known.contains(&key) {
            self.known.push(key);
        }
        self.cursor.note(|taken, route| taken.key(route, key));
        let (key, tree) = self.entries.iter().find(|(k, _)| **k == *key)?;
        Some(self.cursor.inside(tree, Segment::Key(key.clone(), 0)))
    }

    /// The value under a key, read; none where it is missing or faulty.
    pub fn take<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&Cursor<'a>) -> Option<T>,
    ) -> Option<T> {
        self.get(key).and_then(|c| read(&c))
    }

    /// Like [`Fields::take`], but a missing key is a fault.
    pub fn need<T>(
        &mut self,
        key: &'static str,
        example: &str,
        read: impl FnOnce(&Cursor<'a>) -> Option<T>,
    ) -> Option<T> {
        self.cursor.note(|taken, route| taken.needed(route, key));
        match self.get(key) {
            Some(c) => read(&c),
            None => {
                self.cursor.fault_at_key(
                    Code::MissingKey,
                    format!("`{key}` is missing here"),
                    format!("add `{key}: {example}`"),
                );
                None
            }
        }
    }

    /// Which of these keys are there.
    pub fn present(&self, keys: &[&'static str]) -> Vec<&'static str> {
        keys.iter().copied().filter(|k| self.entries.iter().any(|(e, _)| **e == **k)).collect()
    }

    /// Faults for keys that nobody took and for keys written twice.
    pub fn done(self) {
        for (at, (key, tree)) in self.entries.iter().enumerate() {
            // Known keys are few, so looking back is quicker than remembering.
            let nth = self.entries[..at].iter().filter(|(k, _)| k == key).count() as u32;
            if nth == 0 && self.known.contains(&&**key) {
                continue;
            }
            let cursor = self.cursor.inside(tree, Segment::Key(key.clone(), nth));
            if let Some(rightly) = self.cut_by_comma(at) {
                let says = "a comma splits this number in two; decimals follow a point";
                cursor.fault_at_key(Code::Unit, says, format!("write {rightly}"));
                continue;
            }
            if !self.known.contains(&&**key) {
                let near = nearest(key, self.known.iter().copied());
                let hint = match (near, self.second_value(at)) {
                    (Some(near), _) => format!("did you mean `{near}`?"),
                    (None, Some(both)) => both,
                    (None, None) => format!("known here: {}", self.known.join(", ")),
                };
                cursor.fault_at_key(Code::UnknownKey, format!("`{key}` means nothing here"), hint);
            } else if nth > 0 {
                cursor.fault_at_key(
                    Code::RepeatedKey,
                    format!("`{key}` was given above"),
                    "keep one of the two",
                );
            }
        }
    }
}

impl Fields<'_> {
    /// What to do where this is no key but a second value, as in `{moulds: M1, M2}`.
    fn second_value(&self, at: usize) -> Option<String> {
        let (second, Tree::Empty) = &self.entries[at] else { return None };
        let (key, Tree::Text(first)) = self.entries.get(at.checked_sub(1)?)? else { return None };
        Some(format!(
            "a second value of `{key}`? several stand in brackets: [{first}, {second}]; words with a comma in quotes"
        ))
    }

    /// The number that a comma has cut in two between braces, as in `{cope: 7,5 cm}`.
    fn cut_by_comma(&self, at: usize) -> Option<String> {
        let (rest, Tree::Empty) = &self.entries[at] else { return None };
        let (_, Tree::Text(begins)) = self.entries.get(at.checked_sub(1)?)? else { return None };
        let digits = begins.ends_with(|c: char| c.is_ascii_digit())
            && rest.starts_with(|c: char| c.is_ascii_digit());
        // A point before the comma sets thousands apart, and what stood there is a number by now.
        digits.then(|| match begins.contains('.') {
            true => "it without the comma: 1250.5".to_owned(),
            false => format!("{begins}.{rest}"),
        })
    }
}

/// The name most like this one, if any is like enough.
pub fn nearest<'n>(name: &str, among: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let lower = name.to_lowercase();
    // A slip of the fingers seldom hits the first letter; in a short word another first letter is
    // another word, as `bore` is not `core`.
    const SHORT: usize = 6;
    let begins = |n: &str| {
        lower.chars().count() > SHORT || lower.chars().next() == n.to_lowercase().chars().next()
    };
    among
        .filter(|n| begins(n))
        .map(|n| (strsim::jaro_winkler(&lower, &n.to_lowercase()), n))
        .filter(|(score, _)| *score > 0.82)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, n)| n)
}
