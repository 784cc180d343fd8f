//! Why a figure is what it is: the tree of its derivation.

use super::FigureView;
use super::text::Look;
use crate::estimate::Estimates;
use crate::figure::{Because, Node, Route, Source};
use crate::model::Build;
use crate::plan::{Plan, Pour, Subject};
use crate::supply::Bill;
use crate::yaml::Refused;
use crate::yaml::places;
use indexmap::IndexSet;
use serde::Serialize;
use std::collections::{BTreeMap, HashMap};

/// What can be asked: names of figures by subject (a part, a pattern, a heat, a material, `build`).
pub struct Askable(BTreeMap<String, Vec<(String, Node)>>);

impl Askable {
    /// Every figure that any view shows.
    pub fn new(build: &Build, estimates: &Estimates, plan: &Plan, bill: &Bill) -> Self {
        let mut all: BTreeMap<String, Vec<(String, Node)>> = BTreeMap::new();
        let mut add = |subject: &str, name: String, node: Node| {
            all.entry(subject.to_owned()).or_default().push((name, node));
        };
        for (part, estimate) in build.parts.iter().zip(&estimates.castings) {
            for (name, node) in estimate.iter().flat_map(|e| e.figures()) {
                add(part.id(), name.to_owned(), node);
            }
            for (name, node) in estimate.iter().flat_map(|e| e.pattern.asked()) {
                add(part.id(), name, node);
            }
        }
        for shared in &estimates.together {
            let name = shared.name(build);
            for (figure, node) in shared.figures() {
                add(&name, figure.to_owned(), node);
            }
        }
        for task in &plan.tasks {
            let on = match task.subject {
                Subject::Pattern(i) => &build.patterns[i].id,
                Subject::Part(i) => build.parts[i].id(),
            };
            let step = task.step.word();
            if let Some(f) = &task.time.hands_on {
                add(on, format!("hours-{step}"), f.node().clone());
            }
            if let Some(f) = &task.time.wait {
                add(on, format!("wait-{step}"), f.node().clone());
            }
        }
        for heat in &plan.schedule.heats {
            let pour = Pour::planned(build, &plan.schedule, &heat.name);
            for (name, node) in pour.iter().flat_map(|pour| pour.figures(build, estimates)) {
                add(&heat.name, name.to_owned(), node);
            }
        }
        for line in bill.lines() {
            for (name, node) in line.figures() {
                add(&line.id, name.to_owned(), node);
            }
        }
        // What no line of the bill tells, such as a pile of returns.
        let told = |id: &str| bill.lines().any(|line| *line.id == *id);
        for (id, name, node) in bill.holdings.iter().flat_map(|h| h.figures()) {
            if !told(&id) {
                add(&id, name.to_owned(), node);
            }
        }
        for (name, node) in plan.figures() {
            add("build", name.to_owned(), node);
        }
        Self(all)
    }

    /// The names that a subject answers to.
    ///
    /// # Errors
    /// Where nothing has this name: says what is near.
    pub fn names(&self, subject: &str) -> Result<&[(String, Node)], Refused> {
        self.0.get(subject).map(Vec::as_slice).ok_or_else(|| {
            let says = format!("nothing is called `{subject}`");
            let known = self.0.keys().map(String::as_str);
            Refused::unknown(
                says,
                subject,
                known,
                "ask a part, a pattern, a heat, a material, or `build`",
            )
        })
    }

    /// The figure of this name.
    ///
    /// # Errors
    /// Where there is none: says what is near.
    pub fn figure(&self, subject: &str, name: &str) -> Result<&Node, Refused> {
        let names = self.names(subject)?;
        names.iter().find(|(n, _)| n == name).map(|(_, node)| node).ok_or_else(|| {
            let list: Vec<&str> = names.iter().map(|(n, _)| n.as_str()).collect();
            let says = format!("`{subject}` has no figure `{name}`");
            let all = format!("it has {}", list.join(", "));
            Refused::unknown(says, name, list, all)
        })
    }

    /// Every subject and figure name.
    pub fn all(&self) -> impl Iterator<Item = (&str, &str, &Node)> {
        self.0
            .iter()
            .flat_map(|(s, list)| list.iter().map(move |(n, node)| (s.as_str(), n.as_str(), node)))
    }
}

/// A figure and what it was made of.
#[derive(Debug, Clone, Serialize)]
pub struct WhyView {
    /// The figure.
    #[serde(flatten)]
    pub figure: FigureView,
    /// The formula, if one made it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub formula: Option<String>,
    /// Name by which `reckon` works that formula alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reckon: Option<&'static str>,
    /// Where it is from.
    pub from: String,
    /// What went in.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub inputs: Vec<WhyView>,
}

impl WhyView {
    /// The derivation of a figure, to the bottom.
    pub fn new(node: &Node, build: &Build) -> Self {
        let mut routes = IndexSet::new();
        given(node, &mut routes);
        let asked: Vec<_> = routes.iter().map(|route| (*route, false)).collect();
        let lines = places(&build.text, &asked).into_iter().map(|place| place.line);
        Self::told(node, build, &routes.into_iter().zip(lines).collect())
    }

    fn told(node: &Node, build: &Build, lines: &HashMap<&Route, usize>) -> Self {
        let of = |nodes: &[Node]| nodes.iter().map(|n| Self::told(n, build, lines)).collect();
        let (formula, reckon, from, inputs) = match node.because() {
            Because::Given(route) => {
                let from = format!("given in {} line {}, {route}", crate::MANIFEST, lines[route]);
                (None, None, from, Vec::new())
            }
            Because::Handbook(source) => (None, None, format!("handbook: {source}"), Vec::new()),
            Because::Measured { on, entry } => {
                (None, None, format!("measured on {on}, journal entry {entry}"), Vec::new())
            }
            Because::Reference(key, _) => (None, None, format!("`{key}` says why"), Vec::new()),
            Because::Counted(says) => (None, None, says.to_string(), Vec::new()),
            Because::Worked(f, nodes) => {
                let mut inputs: Vec<WhyView> = of(nodes);
                for (view, input) in inputs.iter_mut().zip(f.inputs) {
                    if let Some(word) = input.words.get(view.figure.value as usize) {
                        view.figure.shown = (*word).to_owned();
                        view.figure.span = match (view.figure.low, view.figure.high) {
                            (l, h) if l < h => Some(format!(
                                "{} to {}",
                                input.words[l as usize], input.words[h as usize]
                            )),
                            _ => None,
                        };
                    }
                }
                (
                    Some(f.says.to_owned()),
                    Some(f.name),
                    Source { citation: f.source.into(), known: f.known }.to_string(),
                    inputs,
                )
            }
            Because::Closed(says, nodes) => {
                (Some((*says).to_owned()), None, String::new(), of(nodes))
            }
            Because::Sum(nodes) => {
                (Some("sum of these".to_owned()), None, String::new(), of(nodes))
            }
            Because::Chosen(why, nodes) => (Some(why.to_string()), None, String::new(), of(nodes)),
        };
        Self { figure: FigureView::new(node, build.header.units), formula, reckon, from, inputs }
    }

    /// As an indented tree; deeper than `depth` is left out.
    pub fn text(&self, look: &Look, depth: usize) -> String {
        let mut out = String::new();
        self.write(look, 0, depth, &mut out);
        if self.levels() > depth {
            let says = format!("`--depth {}` shows all of it", self.levels());
            out += &format!("\n{says}\n");
        }
        out
    }

    /// How many levels lie below it.
    fn levels(&self) -> usize {
        self.inputs.iter().map(|i| i.levels() + 1).max().unwrap_or(0)
    }

    fn write(&self, look: &Look, level: usize, depth: usize, out: &mut String) {
        let indent = "  ".repeat(level);
        let name = format!("{indent}{}", self.figure.name);
        let span = self.figure.span.as_ref().map_or(String::new(), |s| format!("  ({s})"));
        let own_line = if name.chars().count() > 38 {
            format!("{name}\n{:38}", "")
        } else {
            format!("{name:<38}")
        };
        *out += &format!("{own_line}  {:>10}{span}\n", self.figure.shown);
        if let Some(formula) = &self.formula {
            let line = format!("{indent}= {formula}");
            *out += &look.wrapped_from(&line, level * 2 + 2);
        }
        if !self.from.is_empty() {
            let line = format!("{indent}  [{}]", self.from);
            *out += &look.wrapped_from(&line, level * 2 + 3);
        }
        if let Some(note) = &self.figure.note {
            *out += &look.wrapped_from(&format!("{indent}  note: {note}"), level * 2 + 4);
        }
        if level < depth {
            for input in &self.inputs {
                input.write(look, level + 1, depth, out);
            }
        } else if !self.inputs.is_empty() {
            *out += &format!("{indent}  ...\n");
        }
    }
}

/// Where in the manifest what was given under this node stands, each place once.
fn given<'n>(node: &'n Node, routes: &mut IndexSet<&'n Route>) {
    match node.because() {
        Because::Given(route) => {
            routes.insert(route);
        }
        Because::Worked(_, nodes)
        | Because::Closed(_, nodes)
        | Because::Sum(nodes)
        | Because::Chosen(_, nodes) => nodes.iter().for_each(|node| given(node, routes)),
        Because::Handbook(_)
        | Because::Measured { .. }
        | Because::Reference(..)
        | Because::Counted(_) => {}
    }
}
