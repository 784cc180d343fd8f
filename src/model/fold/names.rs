//! Names that an entry speaks of, and what is said where nothing bears them.

use super::Fold;
use super::at::At;
use crate::journal::{Event, Poured, Word};
use crate::manifest::Id;
use crate::model::history::Attempt;
use crate::yaml::{Code, Fault, nearest};

pub(super) fn follows(line: usize) -> String {
    format!("mend line {line} first: this may follow from it")
}

impl Fold<'_> {
    pub(super) fn fault<'w>(
        &mut self,
        code: Code,
        at: impl Into<At<'w>>,
        says: String,
        hint: impl Into<String>,
    ) {
        let At { line, value, at_key } = at.into();
        let fault = Fault::entry(code, line, value.cloned(), says, hint);
        self.faults.push(if at_key { fault.at_key() } else { fault });
    }

    /// A name that nothing bears, with the one that is nearest.
    pub(super) fn unknown<'n>(
        &mut self,
        (code, at): (Code, At<'_>),
        (what, name): (&str, &str),
        among: impl Iterator<Item = &'n str>,
        otherwise: &str,
    ) {
        let hint = nearest(name, among)
            .map_or_else(|| otherwise.to_owned(), |near| format!("did you mean `{near}`?"));
        self.fault(code, at, format!("no {what} is called `{name}`"), hint);
    }

    /// Whether one of these ids is this word; a fault where none is.
    pub(super) fn known<'n>(
        &mut self,
        (code, line): (Code, usize),
        (what, word): (&str, &Word),
        ids: impl Iterator<Item = &'n str> + Clone,
        otherwise: &str,
    ) -> bool {
        let known = ids.clone().any(|id| *id == *word.value);
        if !known {
            self.unknown((code, (line, word).into()), (what, &word.value), ids, otherwise);
        }
        known
    }

    pub(super) fn part(&mut self, line: usize, word: &Word) -> Option<usize> {
        self.part_at((line, word).into(), &word.value)
    }

    pub(super) fn part_at(&mut self, at: At<'_>, id: &Id) -> Option<usize> {
        let build = self.build;
        let found = build.part(id);
        if found.is_none() {
            let parts = build.parts.iter().map(|p| &**p.id());
            let at = (Code::UnknownPart, at);
            self.unknown(at, ("part", id), parts, "look at the ids under `parts:`");
        }
        found
    }

    pub(super) fn pattern(&mut self, line: usize, word: &Word) -> Option<usize> {
        let (build, id) = (self.build, &word.value);
        let (ids, hint) =
            (build.patterns.iter().map(|p| &*p.id), "look at the ids under `patterns:`");
        self.known((Code::UnknownPattern, line), ("pattern", word), ids, hint)
            .then(|| build.patterns.iter().position(|p| p.id == *id))?
    }

    /// Stock goes by a name of the build; metal under any other would be lost from the account.
    pub(super) fn stock<'w>(&mut self, at: impl Into<At<'w>>, name: &Id) -> bool {
        self.stock_or(at, name, &[])
    }

    /// The same where these words stand for stock too.
    pub(super) fn stock_or<'w>(
        &mut self,
        at: impl Into<At<'w>>,
        name: &Id,
        words: &[&'static str],
    ) -> bool {
        let known = self.stocks.contains(name) || words.contains(&&**name);
        if !known {
            let stocks = self.stocks.clone();
            let among = stocks.iter().map(|n| &**n).chain(words.iter().copied());
            let otherwise = format!("put it under `shop: stock:` first: `{name}: 0 kg`");
            let (at, what) = ((Code::UnknownStock, at.into()), ("stock", &**name));
            self.unknown(at, what, among, &otherwise);
        }
        known
    }

    /// What went into a crucible is the alloy's ingot, returns of it or of another, scrap, or stock.
    pub(super) fn charged<'w>(&mut self, at: impl Into<At<'w>>, source: &Id) -> bool {
        let alloys = &self.build.handbook.alloys;
        let returns = source.strip_suffix("-returns").is_some_and(|a| alloys.contains_key(a));
        returns || self.stock_or(at, source, &["ingot", "returns", "scrap"])
    }

    /// Where what is missing was told once, and taken back since or told with a fault: what to do
    /// about that.
    pub(super) fn told(&self, was: impl Fn(&Event) -> bool) -> Option<String> {
        if let Some(entry) = self.voided.iter().rev().find(|e| was(&e.event)) {
            return Some(format!(
                "the entry in line {} was taken back: take this one back first, or log it again",
                entry.line
            ));
        }
        self.at_fault.iter().rev().find(|e| was(&e.event)).map(|e| follows(e.line))
    }

    /// Whether nothing of this name was rammed: a slip, so that another mould is meant.
    pub(super) fn unheard_of(&self, mould: &Word) -> bool {
        !self.history.attempts.contains_key(&mould.value)
    }

    /// Whether this tells, rightly or not, of a casting of a part: what is missing may be that.
    pub(super) fn tells_of(&self, event: &Event, part: &Id) -> bool {
        let meant = |named: &Id| named == part || self.build.part(named).is_none();
        match event {
            Event::Rammed(e) => e.castings.iter().any(|(id, _)| meant(&id.value)),
            Event::Poured(e) => e.moulds.iter().any(|m| self.unheard_of(m)),
            Event::ShakenOut(e) => self.unheard_of(&e.mould),
            Event::Inspected(e) => meant(&e.part.value) || self.unheard_of(&e.mould),
            _ => false,
        }
    }

    pub(super) fn attempt(&mut self, line: usize, word: &Word) -> Option<&mut Attempt> {
        let mould = &word.value;
        if !self.history.attempts.contains_key(mould) {
            let near = nearest(mould, self.history.attempts.keys().map(|k| &**k));
            let hint = self.told(|e| matches!(e, Event::Rammed(e) if e.mould.value == *mould));
            let hint = hint.or(self.rammed_twice.map(follows));
            let hint = hint.or(near.map(|n| format!("did you mean `{n}`?")));
            let hint = hint.unwrap_or("log it as rammed first".into());
            self.fault(
                Code::UnknownMould,
                (line, word),
                format!("no mould `{mould}` was rammed before this"),
                hint,
            );
        }
        self.history.attempts.get_mut(mould)
    }

    pub(super) fn not_poured(&mut self, line: usize, mould: &Word) {
        let says = format!("mould `{}` was not poured before this", mould.value);
        let filled =
            |e: &Poured| e.moulds.iter().any(|m| m.value == mould.value || self.unheard_of(m));
        let hint = self.told(|e| matches!(e, Event::Poured(e) if filled(e)));
        let hint = hint.unwrap_or("log the heat that filled it first".into());
        self.fault(Code::Story, (line, mould), says, hint);
    }
}
