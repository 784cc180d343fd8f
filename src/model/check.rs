//! Resolving names and telling the faults that only the whole file shows.

use super::boxes;
use super::chain;
use super::fits;
use super::fold::fold;
use super::history::History;
use super::lies;
use super::rings::rings;
use super::{Build, Casting, Need, Part, Pattern};
use crate::figure::Route;
use crate::freezing::Fields;
use crate::handbook::Sand;
use crate::journal::Journal;
use crate::manifest::{self, Id, Making, Manifest, ShapeGiven, Step, StepGiven, WoodGiven};
use crate::yaml::{Code, Fault, Given, Tree, nearest, parse};
use chrono::NaiveDate;
use indexmap::IndexMap;
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
    let core_sand = names.core_sand();
    names.poured_before();
    let mut patterns = names.patterns(&sand);
    let (parts, machines) = names.parts();
    for (at, pattern) in patterns.iter_mut().enumerate() {
        let castings: Vec<&Casting> =
            parts.iter().filter_map(|p| p.casting.as_ref()).filter(|c| c.pattern == at).collect();
        if pattern.given.length.is_none() {
            chain::derive(pattern, &castings, &manifest.handbook);
        }
        if pattern.given.in_cope.is_none() {
            lies::propose(pattern, &castings);
        }
    }
    names.crucibles();
    let boxes = names.boxes(&patterns, &parts);
    faults.append(&mut names.faults);
    for casting in parts.iter().filter_map(|part| part.casting.as_ref()) {
        fits::check(casting, &patterns[casting.pattern], manifest.header.units, &mut faults);
    }
    rings(&parts, &boxes, &mut faults);
    if !faults.is_empty() {
        return Err((manifest.text, faults));
    }
    let begun = manifest.header.begun;
    let mut build = Build {
        header: manifest.header,
        shop: manifest.shop,
        sand,
        core_sand,
        patterns,
        boxes,
        parts,
        machines,
        suppliers: manifest.suppliers,
        metals: manifest.metals,
        history: History::default(),
        handbook: manifest.handbook,
        today,
        fields: Fields::default(),
        text: manifest.text.into(),
    };
    let (history, journal_faults) = fold(&build, journal, begun);
    build.history = history;
    build.retire();
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
            Code::UnknownMachine => &["shop", "machines"],
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

    fn core_sand(&mut self) -> Option<Arc<Sand>> {
        let given = self.manifest.shop.core_sand.as_ref()?;
        self.sand_named(&given.kind)
    }

    /// What was poured before is an alloy or a sand.
    fn poured_before(&mut self) {
        let book = &self.manifest.handbook;
        for given in &self.manifest.shop.poured_before {
            if book.alloys.contains_key(&given.value) || book.sands.contains_key(&given.value) {
                continue;
            }
            if !self.unread(Code::UnknownSand, &given.value) {
                let among = book.alloys.keys().chain(book.sands.keys()).map(|k| &**k);
                self.unknown(Code::UnknownAlloy, "alloy or sand", given, among);
            }
        }
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
                parting_proposed: false,
            });
        }
        out
    }

    /// Patterns that share a flask, each list led by the one that names the others.
    fn boxes(&mut self, patterns: &[Pattern], parts: &[Part]) -> Vec<Vec<usize>> {
        let manifest = self.manifest;
        let mut out = Vec::new();
        for (lead, (_, given)) in manifest.patterns.iter().enumerate() {
            let mut inside = vec![lead];
            for named in &given.beside {
                match manifest.patterns.get_index_of(&named.value) {
                    Some(other) if inside.contains(&other) => {
                        let says = format!("`{}` lies in this flask already", named.value);
                        let hint = "name each other pattern of the flask once";
                        self.faults.push(Fault::value(
                            Code::RepeatedId,
                            named.route.clone(),
                            says,
                            hint,
                        ));
                    }
                    Some(other) => inside.push(other),
                    None => {
                        let ids = manifest.patterns.keys().map(|k| &**k);
                        self.unknown(Code::UnknownPattern, "pattern", named, ids);
                    }
                }
            }
            if inside.len() > 1 {
                out.push(inside);
            }
        }
        boxes::check(patterns, parts, &out, &mut self.faults);
        out
    }

    /// The parts, and what their work is done on.
    fn parts(&mut self) -> (Vec<Part>, IndexMap<Id, u32>) {
        let manifest = self.manifest;
        let mut out: Vec<Part> = Vec::new();
        for given in manifest.parts.values() {
            let casting = match &given.making {
                Making::Cast(casting) => self.casting(casting),
                _ => None,
            };
            out.push(Part { given: given.clone(), needs: Vec::new(), casting, on: Vec::new() });
        }
        let mut machines = manifest.shop.machines.clone();
        for i in 0..out.len() {
            let needs = manifest.parts[i].needs.iter();
            let needs: Vec<Need> = needs.filter_map(|n| self.need(&out, i, n)).collect();
            out[i].needs = needs;
            let on = self.machines(&mut machines, &mut out, i);
            out[i].on = on;
        }
        (out, machines)
    }

    /// What the steps of a part are done on. A part of the build that they are done on is finished
    /// before.
    fn machines(
        &mut self,
        machines: &mut IndexMap<Id, u32>,
        parts: &mut [Part],
        own: usize,
    ) -> Vec<(Step, usize)> {
        let manifest = self.manifest;
        let mut on = Vec::new();
        for (step, given) in &manifest.parts[own].steps {
            let StepGiven::Done { on: Some(named), .. } = given else { continue };
            let mut machine = machines.get_index_of(&named.value);
            if !manifest.shop.machines.contains_key(&named.value) {
                let Some(part) = manifest.parts.get(&named.value) else {
                    let known = manifest.shop.machines.keys().chain(manifest.parts.keys());
                    let what = "machine of the shop or part of the build";
                    self.unknown(Code::UnknownMachine, what, named, known.map(|k| &**k));
                    continue;
                };
                let before = Given { value: *step, route: named.route.clone() };
                let need = manifest::Need { part: named.clone(), step: None, before: Some(before) };
                let Some(need) = self.need(parts, own, &need) else { continue };
                parts[own].needs.push(need);
                let count = part.quantity;
                machine = Some(machines.insert_full(named.value.clone(), count).0);
            }
            on.extend(machine.map(|m| (*step, m)));
        }
        on
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
        Some(Casting {
            given: given.clone(),
            pattern: pattern?,
            alloy: alloy?,
            once: Default::default(),
        })
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
