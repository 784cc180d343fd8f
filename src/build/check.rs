//! Resolving names and telling the faults that only the whole file shows.

use super::history::{Attempt, Finding, Heat, History};
use super::{Build, Casting, Need, Part, Pattern};
use crate::figure::{Figure, Kind, Route, show};
use crate::handbook::Sand;
use crate::journal::{Entry, Event, Inspected, Journal};
use crate::manifest::{Id, Making, Manifest, ShapeGiven, Step, WoodGiven};
use crate::yaml::{Code, Fault, Given, Tree, nearest, parse};
use chrono::NaiveDate;
use petgraph::algo::tarjan_scc;
use petgraph::graph::DiGraph;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// Checks a manifest and makes the build of it.
///
/// # Errors
/// Every fault of names, rings and dates; `faults` are those found in reading, told with them.
pub fn check(
    manifest: Manifest,
    mut faults: Vec<Fault>,
    journal: Journal,
    today: NaiveDate,
) -> Result<(Build, Vec<Fault>), (String, Vec<Fault>)> {
    let mut names = Names { manifest: &manifest, faults: Vec::new(), written: None };
    let sand = names.sand();
    let patterns = names.patterns(&sand);
    let parts = names.parts();
    names.crucibles();
    faults.append(&mut names.faults);
    rings(&parts, &mut faults);
    if !faults.is_empty() {
        return Err((manifest.text, faults));
    }
    let begun = manifest.header.begun;
    let mut build = Build {
        header: manifest.header,
        shop: manifest.shop,
        sand,
        patterns,
        parts,
        suppliers: manifest.suppliers,
        metals: manifest.metals,
        history: History::default(),
        handbook: manifest.handbook,
        today,
        text: manifest.text.into(),
    };
    let (history, journal_faults) = fold(&build, journal, begun);
    build.history = history;
    Ok((build, journal_faults))
}

struct Names<'a> {
    manifest: &'a Manifest,
    faults: Vec<Fault>,
    /// The file as a tree, parsed when the first name is not found.
    written: Option<Tree>,
}

impl Names<'_> {
    /// Whether the file has an entry of this name that could not be read: that fault is told, and
    /// those who name the entry have none.
    fn unread(&mut self, code: Code, name: &str) -> bool {
        let path: &[&str] = match code {
            Code::UnknownPart => &["parts"],
            Code::UnknownPattern => &["patterns"],
            Code::UnknownAlloy => &["alloys"],
            Code::UnknownSand => &["sands"],
            Code::UnknownFlask => &["shop", "flasks"],
            Code::UnknownCrucible => &["shop", "crucibles"],
            _ => return false,
        };
        let text = &self.manifest.text;
        let mut tree = &*self.written.get_or_insert_with(|| parse(text).unwrap_or(Tree::Empty));
        for key in path.iter().chain([&name]) {
            let Tree::Map(entries) = tree else { return false };
            let Some((_, inner)) = entries.iter().find(|(k, _)| **k == **key) else {
                return false;
            };
            tree = inner;
        }
        true
    }

    fn unknown<'n>(
        &mut self,
        code: Code,
        what: &str,
        given: &Given<Arc<str>>,
        among: impl Iterator<Item = &'n str> + Clone,
    ) {
        if self.manifest.unread.contains(&given.value) {
            return;
        }
        if self.unread(code, &given.value) {
            return;
        }
        let hint = match nearest(&given.value, among.clone()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => match among.take(8).collect::<Vec<_>>() {
                list if list.is_empty() => format!("the file names no {what} yet"),
                list => format!("known: {}", list.join(", ")),
            },
        };
        let says = format!("no {what} is called `{}`", given.value);
        self.faults.push(Fault::value(code, given.route.clone(), says, hint));
    }

    fn sand_named(&mut self, given: &Given<Arc<str>>) -> Option<Arc<Sand>> {
        let sands = &self.manifest.handbook.sands;
        let found = sands.get(&given.value).cloned();
        if found.is_none() {
            self.unknown(Code::UnknownSand, "sand", given, sands.keys().map(|k| &**k));
        }
        found
    }

    fn sand(&mut self) -> Option<Arc<Sand>> {
        let given = self.manifest.shop.sand.as_ref()?;
        self.sand_named(&given.kind)
    }

    fn patterns(&mut self, sand: &Option<Arc<Sand>>) -> Vec<Pattern> {
        let manifest = self.manifest;
        let mut out = Vec::new();
        for (id, given) in &manifest.patterns {
            let own = given.sand.as_ref().and_then(|s| self.sand_named(s));
            if let Some(flask) = &given.flask
                && !manifest.shop.flasks.contains_key(&flask.value)
            {
                let flasks = manifest.shop.flasks.keys().map(|k| &**k);
                self.unknown(Code::UnknownFlask, "flask", flask, flasks);
            }
            out.push(Pattern {
                id: id.clone(),
                given: given.clone(),
                sand: own.or_else(|| sand.clone()),
            });
        }
        out
    }

    fn parts(&mut self) -> Vec<Part> {
        let manifest = self.manifest;
        let mut out: Vec<Part> = Vec::new();
        for given in manifest.parts.values() {
            let casting = match &given.making {
                Making::Cast(casting) => self.casting(casting),
                _ => None,
            };
            out.push(Part { given: given.clone(), needs: Vec::new(), casting });
        }
        for i in 0..out.len() {
            let needs = manifest.parts[i].needs.iter();
            let needs: Vec<Need> = needs.filter_map(|n| self.need(&out, i, n)).collect();
            out[i].needs = needs;
        }
        out
    }

    fn casting(&mut self, given: &crate::manifest::Casting) -> Option<Casting> {
        let manifest = self.manifest;
        let pattern = manifest.patterns.get_index_of(&given.pattern.value);
        if pattern.is_none() {
            let patterns = manifest.patterns.keys().map(|k| &**k);
            self.unknown(Code::UnknownPattern, "pattern", &given.pattern, patterns);
        }
        let alloy = manifest.handbook.alloys.get(&given.alloy.value).cloned();
        if alloy.is_none() {
            let alloys = manifest.handbook.alloys.keys().map(|k| &**k);
            self.unknown(Code::UnknownAlloy, "alloy", &given.alloy, alloys);
        }
        if let Some(crucible) = &given.crucible
            && !manifest.shop.crucibles.contains_key(&crucible.value)
        {
            let crucibles = manifest.shop.crucibles.keys().map(|k| &**k);
            self.unknown(Code::UnknownCrucible, "crucible", crucible, crucibles);
        }
        if let ShapeGiven::Pattern { wood: WoodGiven::Named(wood), .. } = &given.shape
            && !manifest.handbook.woods.contains_key(&wood.value)
        {
            self.unknown(
                Code::UnknownWood,
                "wood",
                wood,
                manifest.handbook.woods.keys().map(|k| &**k),
            );
        }
        Some(Casting { given: given.clone(), pattern: pattern?, alloy: alloy? })
    }

    fn need(&mut self, parts: &[Part], own: usize, given: &crate::manifest::Need) -> Option<Need> {
        let Some(part) = self.manifest.parts.get_index_of(&given.part.value) else {
            let ids = self.manifest.parts.keys().map(|k| &**k);
            self.unknown(Code::UnknownPart, "part", &given.part, ids);
            return None;
        };
        let step = self.step_of(&parts[part], given.step.as_ref(), &given.part.route)?;
        let before = self.step_of(&parts[own], given.before.as_ref(), &given.part.route)?;
        if part == own && step >= before {
            let says = "a part cannot wait for itself";
            let hint = "remove this line, or name an earlier step of the part";
            self.faults.push(Fault::value(Code::Ring, given.part.route.clone(), says, hint));
            return None;
        }
        Some(Need { part, step, before })
    }

    /// The step that was named, which the part must have; its last one where none was.
    fn step_of(&mut self, part: &Part, named: Option<&Given<Step>>, at: &Route) -> Option<Step> {
        let steps = part.steps();
        let Some(named) = named else {
            let last = steps.last().copied();
            if last.is_none() {
                let says = format!("`{}` has no step left to wait for", part.id());
                self.faults.push(Fault::value(
                    Code::UnknownStep,
                    at.clone(),
                    says,
                    "keep one of its steps",
                ));
            }
            return last;
        };
        let cast_pattern = named.value == Step::Pattern && part.casting.is_some();
        if steps.contains(&named.value) || cast_pattern {
            return Some(named.value);
        }
        let says = format!("`{}` has no step `{}`", part.id(), named.value.word());
        let words: Vec<_> = steps.iter().map(|s| s.word()).collect();
        let hint =
            format!("its steps are {}; give it hours under `steps:` to add one", words.join(", "));
        self.faults.push(Fault::value(Code::UnknownStep, named.route.clone(), says, hint));
        None
    }

    fn crucibles(&mut self) {
        for (id, crucible) in &self.manifest.shop.crucibles {
            if crucible.working_fill.high() > 0.95 {
                let route = Route(
                    [
                        crate::figure::Segment::Key("shop".into(), 0),
                        crate::figure::Segment::Key("crucibles".into(), 0),
                        crate::figure::Segment::Key(id.clone(), 0),
                        crate::figure::Segment::Key("working-fill".into(), 0),
                    ]
                    .into(),
                );
                let says = "a crucible this full cannot be lifted and poured safely";
                self.faults.push(Fault::value(
                    Code::Size,
                    route,
                    says,
                    "the trade fills to 75..85 %",
                ));
            }
        }
    }
}

/// Parts that wait for each other, shown as the chain they form.
fn rings(parts: &[Part], faults: &mut Vec<Fault>) {
    let mut graph: DiGraph<(usize, Step), ()> = DiGraph::new();
    let mut nodes = HashMap::new();
    for (i, part) in parts.iter().enumerate() {
        let mut last = None;
        for step in
            std::iter::once(Step::Pattern).filter(|_| part.casting.is_some()).chain(part.steps())
        {
            let node = graph.add_node((i, step));
            nodes.insert((i, step), node);
            if let Some(last) = last {
                graph.add_edge(last, node, ());
            }
            last = Some(node);
        }
    }
    for (i, part) in parts.iter().enumerate() {
        for need in &part.needs {
            if let (Some(from), Some(to)) =
                (nodes.get(&(need.part, need.step)), nodes.get(&(i, need.before)))
            {
                graph.add_edge(*from, *to, ());
            }
        }
    }
    for ring in tarjan_scc(&graph).into_iter().filter(|r| r.len() > 1) {
        let inside: BTreeSet<_> = ring.iter().copied().collect();
        let mut chain = vec![ring[0]];
        let mut seen = BTreeMap::from([(ring[0], 0)]);
        let start = loop {
            let Some(at) = chain.last().copied() else { return };
            let mut next: Vec<_> = graph.neighbors(at).filter(|n| inside.contains(n)).collect();
            next.sort();
            let Some(next) = next.first().copied() else { return };
            if let Some(start) = seen.get(&next) {
                break *start;
            }
            seen.insert(next, chain.len());
            chain.push(next);
        };
        let ring: Vec<(usize, Step)> = chain[start..].iter().map(|n| graph[*n]).collect();
        let first = ring.iter().enumerate().min_by_key(|(_, n)| **n).map_or(0, |(i, _)| i);
        let mut words: Vec<String> = ring
            .iter()
            .cycle()
            .skip(first)
            .take(ring.len())
            .map(|(part, step)| format!("{}.{}", parts[*part].id(), step.word()))
            .collect();
        words.push(words[0].clone());
        let route = parts[ring[first].0].given.route.clone();
        faults.push(Fault::key(
            Code::Ring,
            route,
            format!("each waits for the one before: {}", words.join(" -> ")),
            "remove one of these `needs`, or let it wait for an earlier step",
        ));
    }
}

/// Folds the journal into a history, with faults for what does not fit.
fn fold(build: &Build, journal: Journal, begun: NaiveDate) -> (History, Vec<Fault>) {
    let mut fold = Fold { build, begun, history: History::default(), faults: Vec::new() };
    fold.history.remarks = journal.remarks;
    fold.history.entries = journal.entries.len();
    let given = build.shop.stock.iter().map(|(name, mass)| (name.clone(), mass.si()));
    fold.history.stock.extend(given);
    let heap = build.shop.sand.as_ref().and_then(|s| s.on_hand.as_ref());
    fold.history.stock.extend(heap.map(|mass| ("sand".into(), mass.si())));
    for entry in &journal.entries {
        fold.take(entry);
    }
    let early = journal.entries.iter().rev().take_while(|e| e.at.date() > build.today).count();
    if early > 0 {
        let (entries, are) = if early == 1 { ("entry", "is") } else { ("entries", "are") };
        let first = journal.entries[journal.entries.len() - early].line;
        fold.history.remarks.push(format!(
            "journal.yaml:{first}: {early} {entries} from here on {are} dated after {}; is a clock wrong?",
            build.today
        ));
    }
    fold.history.log = journal.entries;
    (fold.history, fold.faults)
}

struct Fold<'a> {
    build: &'a Build,
    begun: NaiveDate,
    history: History,
    faults: Vec<Fault>,
}

impl Fold<'_> {
    fn fault(&mut self, code: Code, line: usize, says: String, hint: impl Into<String>) {
        self.faults.push(Fault::at(code, line, 1, says, hint));
    }

    fn part(&mut self, line: usize, id: &Id) -> Option<usize> {
        let found = self.build.part(id);
        if found.is_none() {
            let near = nearest(id, self.build.parts.iter().map(|p| &**p.id()));
            let hint = near.map_or("look at the ids under `parts:`".into(), |n| {
                format!("did you mean `{n}`?")
            });
            self.fault(Code::UnknownPart, line, format!("no part is called `{id}`"), hint);
        }
        found
    }

    fn pattern(&mut self, line: usize, id: &Id) -> Option<usize> {
        let found = self.build.patterns.iter().position(|p| p.id == *id);
        if found.is_none() {
            let near = nearest(id, self.build.patterns.iter().map(|p| &*p.id));
            let hint = near.map_or("look at the ids under `patterns:`".into(), |n| {
                format!("did you mean `{n}`?")
            });
            self.fault(Code::UnknownPattern, line, format!("no pattern is called `{id}`"), hint);
        }
        found
    }

    fn attempt(&mut self, line: usize, mould: &Id) -> Option<&mut Attempt> {
        if !self.history.attempts.contains_key(mould) {
            let near = nearest(mould, self.history.attempts.keys().map(|k| &**k));
            let hint =
                near.map_or("log it as rammed first".into(), |n| format!("did you mean `{n}`?"));
            self.fault(
                Code::UnknownMould,
                line,
                format!("no mould `{mould}` was rammed before this"),
                hint,
            );
        }
        self.history.attempts.get_mut(mould)
    }

    fn take(&mut self, entry: &Entry) {
        let line = entry.line;
        if entry.at.date() < self.begun {
            let says = format!("the build only begins on {}", self.begun);
            self.fault(
                Code::Dates,
                line,
                says,
                "put `begun:` earlier, or mend the date of this entry",
            );
        }
        match &entry.event {
            Event::Rammed(e) => {
                let Some(pattern) = self.pattern(line, &e.pattern.value) else { return };
                let mut castings = Vec::new();
                for (id, n) in &e.castings {
                    if let Some(part) = self.part(line, &id.value) {
                        castings.push((part, *n));
                    }
                }
                if let Some(flask) = &e.flask
                    && !self.build.shop.flasks.contains_key(&flask.value)
                {
                    self.fault(
                        Code::UnknownFlask,
                        line,
                        format!("no flask is called `{}`", flask.value),
                        "look at the ids under `flasks:`",
                    );
                }
                if self.history.attempts.contains_key(&e.mould.value) {
                    let says = format!("mould `{}` was rammed before", e.mould.value);
                    self.fault(Code::RepeatedId, line, says, "give each mould a name of its own");
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
                self.history.patterns.insert(pattern);
            }
            Event::Poured(e) => {
                if !self.build.handbook.alloys.contains_key(&e.alloy.value) {
                    let near =
                        nearest(&e.alloy.value, self.build.handbook.alloys.keys().map(|k| &**k));
                    let hint = near.map_or("look at the handbook's alloys".into(), |n| {
                        format!("did you mean `{n}`?")
                    });
                    self.fault(
                        Code::UnknownAlloy,
                        line,
                        format!("no alloy is called `{}`", e.alloy.value),
                        hint,
                    );
                }
                if let Some(crucible) = &e.crucible
                    && !self.build.shop.crucibles.contains_key(&crucible.value)
                {
                    self.fault(
                        Code::UnknownCrucible,
                        line,
                        format!("no crucible is called `{}`", crucible.value),
                        "look at the ids under `crucibles:`",
                    );
                }
                if let Some(furnace) = &e.furnace
                    && !self.build.shop.furnaces.contains_key(&furnace.value)
                {
                    self.fault(
                        Code::UnknownFurnace,
                        line,
                        format!("no furnace is called `{}`", furnace.value),
                        "look at the ids under `furnaces:`",
                    );
                }
                for mould in e.filled.keys().filter(|m| e.moulds.iter().all(|w| w.value != **m)) {
                    let says = format!("`{mould}` is not among the moulds of this heat");
                    self.fault(Code::UnknownMould, line, says, "add it to `moulds`, in order");
                }
                for mould in &e.moulds {
                    let Some(attempt) = self.attempt(line, &mould.value) else { continue };
                    if let Some((heat, _)) = &attempt.poured {
                        let says =
                            format!("mould `{}` was poured before, in heat `{heat}`", mould.value);
                        self.fault(
                            Code::Story,
                            line,
                            says,
                            "a mould is poured once; is this another mould?",
                        );
                    } else {
                        attempt.poured = Some((e.heat.value.clone(), entry.at));
                    }
                }
                for (source, mass) in &e.charge {
                    let name = if **source == *"ingot" { &e.alloy.value } else { source };
                    if let Some(stock) = self.history.stock.get_mut(name) {
                        *stock -= mass.si();
                    }
                }
                let heat = Heat { at: entry.at, poured: e.clone() };
                if self.history.heats.insert(e.heat.value.clone(), heat).is_some() {
                    let says = format!("heat `{}` was poured before", e.heat.value);
                    self.fault(Code::RepeatedId, line, says, "give each heat a name of its own");
                }
            }
            Event::ShakenOut(e) => {
                let Some(attempt) = self.attempt(line, &e.mould.value) else { return };
                if attempt.poured.is_none() {
                    let says = format!("mould `{}` was not poured before this", e.mould.value);
                    self.fault(Code::Story, line, says, "log the heat that filled it first");
                } else {
                    attempt.shaken_out = Some(entry.at);
                }
            }
            Event::Inspected(e) => self.inspected(entry, e),
            Event::Done(e) => {
                if let Some(part) = &e.part
                    && let Some(part) = self.part(line, &part.value)
                {
                    self.history.done.entry(part).or_default().insert(e.step);
                }
                if let Some(pattern) = &e.pattern
                    && let Some(pattern) = self.pattern(line, &pattern.value)
                {
                    self.history.patterns.insert(pattern);
                }
            }
            Event::Received(e) => {
                if let Some(part) = &e.part
                    && let Some(part) = self.part(line, &part.value)
                {
                    self.history.done.entry(part).or_default().insert(Step::Receive);
                }
                if let (Some(stock), Some(mass)) = (&e.stock, &e.mass) {
                    *self.history.stock.entry(stock.value.clone()).or_default() += mass.si();
                }
            }
            Event::Counted(e) => {
                self.history.stock.insert(e.stock.value.clone(), e.mass.si());
            }
            Event::GivenAway(e) => {
                *self.history.stock.entry(e.stock.value.clone()).or_default() -= e.mass.si();
            }
            Event::Note(e) => {
                if let Some(part) = &e.part {
                    self.part(line, &part.value);
                }
                if let Some(mould) = &e.mould {
                    self.attempt(line, &mould.value);
                }
            }
            Event::Void(_) => {}
        }
    }

    fn inspected(&mut self, entry: &Entry, e: &Inspected) {
        let (at, line) = (entry.at, entry.line);
        let Some(part) = self.part(line, &e.part.value) else { return };
        let Some(attempt) = self.attempt(line, &e.mould.value) else { return };
        let cast = attempt.castings.iter().find(|(p, _)| *p == part).map_or(0, |(_, n)| *n);
        let now = attempt.pieces(part);
        if attempt.poured.is_none() {
            let says = format!("mould `{}` was not poured before this", e.mould.value);
            self.fault(Code::Story, line, says, "log the heat that filled it first");
            return;
        }
        if e.pieces > now.under_way() + now.good() {
            let says = format!(
                "{cast} {} of `{}` came out of mould `{}`",
                if cast == 1 { "piece" } else { "pieces" },
                e.part.value,
                e.mould.value
            );
            self.fault(Code::Story, line, says, "mend the number of pieces, or the mould");
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
        if let Some(mass) = &e.mass
            && mass.si() > 10_000.0
        {
            let shown = show(Kind::Mass, mass.si(), self.build.header.units);
            self.fault(Code::Size, line, format!("a casting of {shown}"), "is the unit right?");
        }
    }
}
