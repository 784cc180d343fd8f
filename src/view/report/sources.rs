//! The sources that the figures of the page lean on.

use crate::figure::{Because, Known, Node};
use crate::view::page::plain;
use serde::Serialize;
use std::collections::HashSet;

/// A source that the figures lean on.
#[derive(Debug, Clone, Serialize)]
pub struct SourceView {
    /// As cited.
    pub citation: String,
    /// How far to trust it, in words.
    pub known: &'static str,
}

/// The source of a figure's own formula or value; none where it is a sum or a choice of others.
pub(super) fn own(node: &Node) -> Option<(Known, String)> {
    match node.because() {
        Because::Handbook(source) => Some((source.known, plain(&source.citation))),
        Because::Worked(formula, _) => Some((formula.known, plain(formula.source))),
        Because::Reference(_, node) => own(node),
        _ => None,
    }
}

/// Collects the distinct sources under figures; what was walked once is not walked again.
#[derive(Default)]
pub(super) struct Sources {
    walked: HashSet<*const Because>,
    seen: HashSet<(Known, String)>,
    list: Vec<(Known, String)>,
}

impl Sources {
    /// Walks a figure.
    pub fn of(&mut self, node: &Node) {
        let mut stack = vec![node];
        while let Some(node) = stack.pop() {
            let because = node.because();
            if !self.walked.insert(std::ptr::from_ref(because)) {
                continue;
            }
            match because {
                Because::Given(_) | Because::Measured { .. } | Because::Counted(_) => {}
                Because::Handbook(source) => self.take(source.known, &source.citation),
                Because::Worked(formula, inputs) => {
                    self.take(formula.known, formula.source);
                    stack.extend(inputs);
                }
                Because::Closed(_, nodes) | Because::Sum(nodes) | Because::Chosen(_, nodes) => {
                    stack.extend(nodes);
                }
                Because::Reference(_, node) => stack.push(node),
            }
        }
    }

    fn take(&mut self, known: Known, citation: &str) {
        let key = (known, plain(citation));
        if !key.1.is_empty() && self.seen.insert(key.clone()) {
            self.list.push(key);
        }
    }

    /// The best known first, each group by name.
    pub fn list(mut self) -> Vec<SourceView> {
        self.list.sort();
        let view =
            |(known, citation): (Known, String)| SourceView { citation, known: known.words() };
        self.list.into_iter().map(view).collect()
    }
}
