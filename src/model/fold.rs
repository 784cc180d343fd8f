//! Folding the journal into the history of a build, and the faults of its story.

use super::Build;
use super::history::{Attempt, Bench, Finding, Heat, History, OnOrder, Receipt, Worked};
use crate::figure::{Because, Figure, Kind, Number, Quantity, Route, Segment, show};
use crate::journal::{
    Disposition, Entry, Event, Inspected, Journal, Ordered, Poured, Rammed, Received, Remark, Word,
};
use crate::manifest::{Id, Step};
use crate::yaml::{Code, Fault, nearest};
use chrono::NaiveDate;
use std::collections::BTreeSet;

/// Folds the journal into a history, with faults for what does not fit.
pub(super) fn fold(build: &Build, journal: Journal, begun: NaiveDate) -> (History, Vec<Fault>) {
    let mut fold = Fold {
        build,
        begun,
        stocks: build.stock_names(),
        voided: journal.voided,
        history: History::default(),
        faults: Vec::new(),
        at_fault: Vec::new(),
        rammed_twice: None,
    };
    fold.history.remarks = journal.remarks;
    fold.history.entries = journal.entries.len();
    fold.history.stock = build.given_stock();
    for entry in &journal.entries {
        let before = fold.faults.len();
        fold.take(entry);
        if fold.faults.len() > before {
            fold.at_fault.push(entry.clone());
        }
    }
    let early = journal.entries.iter().rev().take_while(|e| e.at.date() > build.today).count();
    if early > 0 {
        let (entries, are) = if early == 1 { ("entry", "is") } else { ("entries", "are") };
        let first = journal.entries[journal.entries.len() - early].line;
        let says = format!(
            "{early} {entries} from here on {are} dated after {}; is a clock wrong?",
            build.today
        );
        fold.history.remarks.push(Remark::at(first, says));
    }
    fold.history.log = journal.entries;
    (fold.history, fold.faults)
}

fn follows(line: usize) -> String {
    format!("mend line {line} first: this may follow from it")
}

/// Where in the journal something stands: the line of an entry that says what happened, and a value
/// in that entry.
#[derive(Debug, Clone, Copy)]
pub(super) struct At<'a> {
    line: usize,
    value: Option<&'a Route>,
    at_key: bool,
}

impl<'a> At<'a> {
    pub(super) fn new(line: usize, route: &'a Route) -> Self {
        Self { line, value: Some(route), at_key: false }
    }

    /// At the key of the value: what it is called, not how much it is.
    pub(super) fn named(value: impl Into<Self>) -> Self {
        Self { at_key: true, ..value.into() }
    }
}

/// The route through these keys.
pub(super) fn under(keys: &[&str]) -> Route {
    Route(keys.iter().map(|key| Segment::Key((*key).into(), 0)).collect())
}

impl From<usize> for At<'_> {
    fn from(line: usize) -> Self {
        Self { line, value: None, at_key: false }
    }
}

impl<'a> From<(usize, &'a Word)> for At<'a> {
    fn from((line, word): (usize, &'a Word)) -> Self {
        Self { line, value: Some(&word.route), at_key: false }
    }
}

impl<'a, Q: Quantity> From<(usize, &'a Figure<Q>)> for At<'a> {
    fn from((line, figure): (usize, &'a Figure<Q>)) -> Self {
        let value = match figure.node().because() {
            Because::Given(route) => Some(route),
            _ => None,
        };
        Self { line, value, at_key: false }
    }
}

impl<'a, T> From<(usize, &'a Option<T>)> for At<'a>
where
    At<'a>: From<(usize, &'a T)>,
{
    fn from((line, value): (usize, &'a Option<T>)) -> Self {
        value.as_ref().map_or(line.into(), |value| (line, value).into())
    }
}

pub(super) struct Fold<'a> {
    pub(super) build: &'a Build,
    begun: NaiveDate,
    /// Names of stock that something of the build bears.
    stocks: BTreeSet<Id>,
    /// What was taken back.
    voided: Vec<Entry>,
    pub(super) history: History,
    faults: Vec<Fault>,
    /// Entries about castings that are at fault: what they tell may be what is missing later.
    at_fault: Vec<Entry>,
    /// Line of the last mould that was rammed under the name of another: some name is missing since.
    rammed_twice: Option<usize>,
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
    fn unknown<'n>(
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

    fn part(&mut self, line: usize, word: &Word) -> Option<usize> {
        self.part_at((line, word).into(), &word.value)
    }

    fn part_at(&mut self, at: At<'_>, id: &Id) -> Option<usize> {
        let build = self.build;
        let found = build.part(id);
        if found.is_none() {
            let parts = build.parts.iter().map(|p| &**p.id());
            let at = (Code::UnknownPart, at);
            self.unknown(at, ("part", id), parts, "look at the ids under `parts:`");
        }
        found
    }

    fn pattern(&mut self, line: usize, word: &Word) -> Option<usize> {
        let (build, id) = (self.build, &word.value);
        let found = build.patterns.iter().position(|p| p.id == *id);
        if found.is_none() {
            let patterns = build.patterns.iter().map(|p| &*p.id);
            let at = (Code::UnknownPattern, (line, word).into());
            self.unknown(at, ("pattern", id), patterns, "look at the ids under `patterns:`");
        }
        found
    }

    /// Stock goes by a name of the build; metal under any other would be lost from the account.
    fn stock<'w>(&mut self, at: impl Into<At<'w>>, name: &Id) -> bool {
        self.stock_or(at, name, &[])
    }

    /// The same where these words stand for stock too.
    fn stock_or<'w>(&mut self, at: impl Into<At<'w>>, name: &Id, words: &[&'static str]) -> bool {
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
    fn charged<'w>(&mut self, at: impl Into<At<'w>>, source: &Id) -> bool {
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
    fn unheard_of(&self, mould: &Word) -> bool {
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

    fn attempt(&mut self, line: usize, word: &Word) -> Option<&mut Attempt> {
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

    fn not_poured(&mut self, line: usize, mould: &Word) {
        let says = format!("mould `{}` was not poured before this", mould.value);
        let filled =
            |e: &Poured| e.moulds.iter().any(|m| m.value == mould.value || self.unheard_of(m));
        let hint = self.told(|e| matches!(e, Event::Poured(e) if filled(e)));
        let hint = hint.unwrap_or("log the heat that filled it first".into());
        self.fault(Code::Story, (line, mould), says, hint);
    }

    fn take(&mut self, entry: &Entry) {
        let line = entry.line;
        if entry.at.date() < self.begun {
            let says = format!("the build only begins on {}", self.begun);
            let when = under(&["at"]);
            self.fault(
                Code::Dates,
                At::new(line, &when),
                says,
                "put `begun:` earlier, or correct the date of this entry",
            );
        }
        match &entry.event {
            Event::Rammed(e) => {
                let Some(pattern) = self.pattern(line, &e.pattern) else { return };
                self.rammed_makes_sense(line, e, pattern);
                let mut castings = Vec::new();
                for (id, n) in &e.castings {
                    if let Some(part) = self.part_at(At::named((line, id)), &id.value) {
                        castings.push((part, *n));
                    }
                }
                let flasks = &self.build.shop.flasks;
                if let Some(flask) = e.flask.as_ref().filter(|f| !flasks.contains_key(&f.value)) {
                    let (at, what) =
                        ((Code::UnknownFlask, (line, flask).into()), ("flask", &*flask.value));
                    let ids = flasks.keys().map(|k| &**k);
                    self.unknown(at, what, ids, "look at the ids under `flasks:`");
                }
                let before = self.history.attempts.get_mut(&e.mould.value);
                if e.again.is_some() {
                    match before.filter(|a| a.poured.is_none()) {
                        Some(before) if before.castings == castings => {
                            before.rammed = entry.at;
                            before.moisture = e.moisture.as_ref().map(Figure::si);
                        }
                        _ => self.fault(
                            Code::Story,
                            (line, &e.mould),
                            format!(
                                "no mould `{}` stands that holds these castings",
                                e.mould.value
                            ),
                            "`again: yes` is for a mould of this name that was not poured",
                        ),
                    }
                    return;
                }
                if before.is_some() {
                    self.rammed_twice = Some(line);
                    let says = format!("mould `{}` was rammed before", e.mould.value);
                    self.fault(
                        Code::RepeatedId,
                        (line, &e.mould),
                        says,
                        "give each mould a name of its own; `again: yes` for one that was knocked out and rammed anew",
                    );
                    return;
                }
                self.history.attempts.insert(
                    e.mould.value.clone(),
                    Attempt {
                        mould: e.mould.value.clone(),
                        pattern,
                        castings,
                        rammed: entry.at,
                        moisture: e.moisture.as_ref().map(Figure::si),
                        poured: None,
                        shaken_out: None,
                        findings: Vec::new(),
                    },
                );
                // What lies beside the pattern is made too.
                let lots = &self.history.attempts[&e.mould.value].castings;
                let parts = lots.iter().filter_map(|(i, _)| self.build.parts[*i].casting.as_ref());
                self.history.patterns.extend(parts.map(|c| c.pattern).chain([pattern]));
            }
            Event::Poured(e) => self.poured(entry, e),
            Event::ShakenOut(e) => {
                let Some(attempt) = self.attempt(line, &e.mould) else { return };
                if attempt.poured.is_none() {
                    self.not_poured(line, &e.mould);
                } else if let Some(before) = attempt.shaken_out {
                    let on = before.format("%Y-%m-%d %H:%M");
                    let says = format!("mould `{}` was shaken out before, {on}", e.mould.value);
                    self.fault(
                        Code::Story,
                        (line, &e.mould),
                        says,
                        "is this another mould, or the same one logged twice?",
                    );
                } else {
                    attempt.shaken_out = Some(entry.at);
                }
            }
            Event::Inspected(e) => self.inspected(entry, e),
            Event::Done(e) => {
                if let Some(part) = &e.part
                    && let Some(part) = self.part(line, part)
                {
                    self.done_makes_sense(entry, part, e.step);
                    self.history.done.entry(part).or_default().insert(e.step);
                    self.history.again.remove(&(part, e.step));
                    if e.step == Step::Core {
                        // For all that is still to be cast then.
                        let pieces = self.history.pieces(part);
                        let wanted = self.build.parts[part].given.quantity;
                        let to_cast = wanted.saturating_sub(pieces.good() + pieces.under_way());
                        self.history.cores.insert(part, self.history.cast(part) + to_cast);
                    }
                }
                if let Some(pattern) = &e.pattern
                    && let Some(pattern) = self.pattern(line, pattern)
                {
                    self.history.patterns.insert(pattern);
                }
            }
            Event::Worked(e) => self.worked(entry, e),
            Event::Ordered(e) => self.ordered(entry, e),
            Event::Received(e) => self.received(entry, e),
            Event::Counted(e) => {
                if self.stock((line, &e.stock), &e.stock.value) {
                    self.measured(&e.stock, (e.mass.is_some(), e.pieces.as_ref()), line);
                }
                self.history.stock.insert(e.stock.value.clone(), e.amount().unwrap_or(0.0));
            }
            Event::GivenAway(e) => {
                if !self.stock((line, &e.stock), &e.stock.value) {
                    return;
                }
                self.measured(&e.stock, (e.mass.is_some(), e.pieces.as_ref()), line);
                let amount = e.amount().unwrap_or(0.0);
                let least = e.mass.as_ref().map_or(amount, |m| m.node().range().low);
                self.taken(entry, &e.stock.value, (amount, least));
                *self.history.stock.entry(e.stock.value.clone()).or_default() -= amount;
            }
            Event::Note(e) => {
                if let Some(part) = &e.part {
                    self.part(line, part);
                }
                if let Some(mould) = &e.mould {
                    self.attempt(line, mould);
                }
            }
            Event::Void(_) => {}
        }
    }

    /// What comes in, and what of it was on order: the first ordered comes first.
    fn received(&mut self, entry: &Entry, e: &Received) {
        let price = e.price.as_ref().and_then(|p| p.parse().ok());
        if let Some(part) = &e.part
            && let Some(index) = self.part(entry.line, part)
        {
            self.history.done.entry(index).or_default().insert(Step::Receive);
            self.history.on_order.retain(|o| o.of != part.value);
        }
        if let Some(stock) = &e.stock
            && !self.stock((entry.line, stock), &stock.value)
        {
            return;
        }
        if let Some(stock) = &e.stock {
            self.measured(stock, (e.mass.is_some(), e.pieces.as_ref()), entry.line);
        }
        let mass = e.amount().unwrap_or(0.0);
        let stock = e.stock.as_ref().filter(|_| e.amount().is_some());
        if let Some(stock) = stock {
            *self.history.stock.entry(stock.value.clone()).or_default() += mass;
            let mut left = mass;
            for open in self.history.on_order.iter_mut().filter(|o| o.of == stock.value) {
                let came = left.min(open.mass);
                open.mass -= came;
                left -= came;
            }
            self.history.on_order.retain(|o| o.of != stock.value || o.mass > 1e-9);
        }
        if let Some(of) = stock.or(e.part.as_ref()) {
            let receipt = Receipt { at: entry.at, of: of.value.clone(), mass, price };
            self.history.receipts.push(receipt);
        }
    }

    /// What is weighed is told as a mass, what is counted as whole pieces.
    fn measured(
        &mut self,
        stock: &Word,
        (mass, pieces): (bool, Option<&Figure<Number>>),
        line: usize,
    ) {
        let counted = self.build.is_counted(&stock.value);
        let name = &stock.value;
        let (says, hint) = match (counted, pieces) {
            (true, _) if mass => {
                (format!("`{name}` is counted in pieces"), "write `pieces: 4` instead of a mass")
            }
            (false, Some(_)) => {
                (format!("`{name}` is kept by mass"), "write `mass: 2 kg` instead of pieces")
            }
            (true, Some(n)) if n.si().fract() != 0.0 => {
                (format!("`{name}` comes in whole pieces"), "write `pieces: 4`")
            }
            _ => return,
        };
        self.fault(Code::Shape, (line, stock), says, hint);
    }

    /// What is on its way.
    fn ordered(&mut self, entry: &Entry, e: &Ordered) {
        if let Some(part) = &e.part {
            self.part(entry.line, part);
        }
        if let Some(stock) = &e.stock
            && self.stock((entry.line, stock), &stock.value)
        {
            self.measured(stock, (e.mass.is_some(), e.pieces.as_ref()), entry.line);
        }
        let Some(of) = e.part.as_ref().or(e.stock.as_ref()) else { return };
        self.history.on_order.push(OnOrder {
            ordered: entry.at.date(),
            of: of.value.clone(),
            mass: e.amount().unwrap_or(0.0),
            expected: e.expected,
            price: e.price.as_ref().and_then(|p| p.parse().ok()),
            from: e.from.clone(),
        });
    }

    fn worked(&mut self, entry: &Entry, e: &crate::journal::Worked) {
        let line = entry.line;
        let bench = match (&e.part, &e.pattern) {
            (Some(part), _) => self.part(line, part).map(|part| {
                self.done_makes_sense(entry, part, e.step);
                Bench::Part(part, e.step)
            }),
            (None, Some(pattern)) => self.pattern(line, pattern).map(Bench::Pattern),
            (None, None) => None,
        };
        let worked = Worked { at: entry.at, hours: e.hours.clone(), left: e.left.clone() };
        if let Some(bench) = bench {
            self.history.worked.entry(bench).or_default().push(worked);
        }
    }

    fn poured(&mut self, entry: &Entry, e: &Poured) {
        let line = entry.line;
        let build = self.build;
        let shop = &build.shop;
        let alloys = &build.handbook.alloys;
        if !alloys.contains_key(&e.alloy.value) {
            let (at, what) =
                ((Code::UnknownAlloy, (line, &e.alloy).into()), ("alloy", &*e.alloy.value));
            self.unknown(at, what, alloys.keys().map(|k| &**k), "look at the handbook's alloys");
        }
        if let Some(pot) = e.crucible.as_ref().filter(|c| !shop.crucibles.contains_key(&c.value)) {
            let (at, what) =
                ((Code::UnknownCrucible, (line, pot).into()), ("crucible", &*pot.value));
            let ids = shop.crucibles.keys().map(|k| &**k);
            self.unknown(at, what, ids, "look at the ids under `crucibles:`");
        }
        if let Some(named) = e.furnace.as_ref().filter(|f| !shop.furnaces.contains_key(&f.value)) {
            let (at, what) =
                ((Code::UnknownFurnace, (line, named).into()), ("furnace", &*named.value));
            let ids = shop.furnaces.keys().map(|k| &**k);
            self.unknown(at, what, ids, "look at the ids under `furnaces:`");
        }
        self.heat_makes_sense(line, e);
        let among = |mould: &Id| e.moulds.iter().any(|w| w.value == *mould);
        for (mould, time) in e.filled.iter().filter(|(mould, _)| !among(mould)) {
            let says = format!("`{mould}` is not among the moulds of this heat");
            self.fault(
                Code::UnknownMould,
                At::named((line, time)),
                says,
                "add it to `moulds`, in order",
            );
        }
        for mould in &e.moulds {
            let Some(attempt) = self.attempt(line, mould) else { continue };
            if let Some((heat, _)) = &attempt.poured {
                let says = format!("mould `{}` was poured before, in heat `{heat}`", mould.value);
                self.fault(
                    Code::Story,
                    (line, mould),
                    says,
                    "a mould is poured once; is this another mould?",
                );
            } else {
                attempt.poured = Some((e.heat.value.clone(), entry.at));
            }
        }
        for (source, mass) in &e.charge {
            if !self.charged(At::named((line, mass)), source) {
                continue;
            }
            let name = build.charged_from(&e.alloy.value, source);
            if self.history.stock.contains_key(&name) {
                self.taken(entry, &name, (mass.si(), mass.node().range().low));
                *self.history.stock.entry(name.clone()).or_default() -= mass.si();
            }
        }
        let heat = Heat { at: entry.at, poured: e.clone() };
        if self.history.heats.insert(e.heat.value.clone(), heat).is_some() {
            let says = format!("heat `{}` was poured before", e.heat.value);
            self.fault(Code::RepeatedId, (line, &e.heat), says, "give each heat a name of its own");
        }
    }

    fn inspected(&mut self, entry: &Entry, e: &Inspected) {
        let (at, line) = (entry.at, entry.line);
        let Some(part) = self.part(line, &e.part) else { return };
        let Some(attempt) = self.attempt(line, &e.mould) else { return };
        let cast = attempt.castings.iter().find(|(p, _)| *p == part).map_or(0, |(_, n)| *n);
        let now = attempt.pieces(part);
        let (poured, out) = (attempt.poured.is_some(), attempt.shaken_out.is_some());
        if !poured {
            self.not_poured(line, &e.mould);
            return;
        }
        if !out {
            let says = format!("mould `{}` was not shaken out before this", e.mould.value);
            let meant = |m: &Word| m.value == e.mould.value || self.unheard_of(m);
            let hint = self.told(|e| matches!(e, Event::ShakenOut(e) if meant(&e.mould)));
            let hint = hint.unwrap_or("log it as shaken out first".into());
            self.fault(Code::Story, (line, &e.mould), says, hint);
        }
        let Some(attempt) = self.history.attempts.get_mut(&e.mould.value) else { return };
        if e.pieces > now.under_way() + now.good() {
            let says = format!(
                "{cast} {} of `{}` came out of mould `{}`",
                if cast == 1 { "piece" } else { "pieces" },
                e.part.value,
                e.mould.value
            );
            let of = |r: &Rammed| cast == 0 && r.mould.value == e.mould.value;
            let hint = self.told(|e| matches!(e, Event::Rammed(e) if of(e)));
            let hint = hint.unwrap_or("correct the number of pieces, or the mould".into());
            self.fault(Code::Story, (line, &e.mould), says, hint);
            return;
        }
        attempt.findings.push(Finding {
            at,
            part,
            pieces: e.pieces,
            disposition: e.disposition,
            mass: e.mass.clone(),
            blemishes: e.blemishes.clone(),
            says: entry.says.clone(),
        });
        if e.disposition == Disposition::Scrap {
            self.lose_work(part, e.pieces);
        }
        if let Some(mass) = &e.mass
            && mass.si() > 10_000.0
        {
            let shown = show(Kind::Mass, mass.si(), self.build.header.units);
            self.fault(
                Code::Size,
                (line, mass),
                format!("a casting of {shown}"),
                "is the unit right?",
            );
        }
    }

    /// What was done to castings that are scrapped is to do again on those that replace them.
    fn lose_work(&mut self, part: usize, pieces: u32) {
        let of = &self.build.parts[part];
        let after = of.steps().into_iter().skip_while(|step| *step != Step::ShakeOut).skip(1);
        let Some(done) = self.history.done.get_mut(&part) else { return };
        for step in after.filter(|step| done.remove(step)) {
            let again = self.history.again.entry((part, step)).or_default();
            *again = (*again + pieces).min(of.given.quantity);
        }
    }
}
