use super::{Formula, Kind, Quantity, Range, Route};
use chrono::NaiveDate;
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::sync::Arc;

/// How far a value can be trusted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Known {
    /// Read in the source that is named.
    Published,
    /// Worked out from published values.
    Derived,
    /// The trade does it so; no source.
    CommonPractice,
    /// Remembered, not found in a readable source.
    FromMemory,
}

impl Known {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Known::Published => "published",
            Known::Derived => "derived",
            Known::CommonPractice => "common practice",
            Known::FromMemory => "from memory",
        }
    }

    /// From the words that a table or manifest uses.
    pub fn from_words(text: &str) -> Option<Self> {
        [Self::Published, Self::Derived, Self::CommonPractice, Self::FromMemory]
            .into_iter()
            .find(|k| k.words() == text)
    }
}

/// Where a value or formula comes from.
#[derive(Debug, Clone, PartialEq, Eq, Hash, serde::Serialize)]
pub struct Source {
    /// Author, work, section; or the words of the trade.
    pub citation: Cow<'static, str>,
    /// How far to trust it.
    pub known: Known,
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (citation, known) = (&self.citation, self.known.words());
        match citation.starts_with(known) {
            true => f.write_str(citation),
            false if citation.is_empty() => f.write_str(known),
            false => write!(f, "{citation}; {known}"),
        }
    }
}

/// How a figure came to be.
#[derive(Debug, Clone)]
pub enum Because {
    /// Written in the manifest here.
    Given(Route),
    /// Looked up in the handbook.
    Handbook(Arc<Source>),
    /// Logged in the journal.
    Measured {
        /// The day it was logged.
        on: NaiveDate,
        /// The entry's id.
        entry: Arc<str>,
    },
    /// Worked out by a formula from other figures.
    Worked(&'static Formula, Vec<Node>),
    /// By a closed form that needs no source, such as the volume of a cylinder.
    Closed(&'static str, Vec<Node>),
    /// Added up.
    Sum(Vec<Node>),
    /// Taken from among others for the reason said.
    Chosen(Cow<'static, str>, Vec<Node>),
    /// Counted by the tool from the manifest and journal.
    Counted(Cow<'static, str>),
    /// Another figure, whose derivation stands under the name that `why` answers to and is not told
    /// again here.
    Reference(&'static str, Node),
}

/// The end of a range at which a limit is safe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SafeEnd {
    /// The least: what a pot takes.
    Low,
    /// The most: what to lay on a cope, how long to wait.
    High,
}

/// A figure without its type: what views and reasons walk over.
#[derive(Debug, Clone)]
pub struct Node(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    name: Cow<'static, str>,
    kind: Kind,
    range: Range,
    because: Because,
    note: Option<Cow<'static, str>>,
    safe: Option<SafeEnd>,
    known: Option<Known>,
}

impl Because {
    /// The weakest knowledge in this and anywhere under it; none where a value was given, measured or
    /// counted. What is made of others is derived at best.
    fn known(&self) -> Option<Known> {
        let under = |nodes: &[Node]| nodes.iter().filter_map(Node::known).max();
        match self {
            Because::Given(_) | Because::Measured { .. } | Because::Counted(_) => None,
            Because::Handbook(source) => Some(source.known),
            Because::Worked(formula, inputs) => under(inputs).max(Some(formula.known)),
            Because::Closed(_, nodes) | Because::Sum(nodes) | Because::Chosen(_, nodes) => {
                under(nodes).max(Some(Known::Derived))
            }
            Because::Reference(_, node) => node.known(),
        }
    }
}

impl Node {
    /// A figure from its parts.
    pub fn new(
        name: impl Into<Cow<'static, str>>,
        kind: Kind,
        range: Range,
        because: Because,
    ) -> Self {
        let known = because.known();
        let name = name.into();
        Self(Arc::new(Inner { name, kind, range, because, note: None, safe: None, known }))
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// Which kind of quantity it is.
    pub fn kind(&self) -> Kind {
        self.0.kind
    }

    /// Low, likely and high, SI.
    pub fn range(&self) -> Range {
        self.0.range
    }

    /// How it came to be.
    pub fn because(&self) -> &Because {
        &self.0.because
    }

    /// A word of warning that goes with it.
    pub fn note(&self) -> Option<&str> {
        self.0.note.as_deref()
    }

    /// The weakest knowledge anywhere under it; none where it was itself given, measured or counted.
    pub fn known(&self) -> Option<Known> {
        self.0.known
    }

    /// How far it can be trusted, in words.
    pub fn trust(&self) -> &'static str {
        match (self.because(), self.known()) {
            (_, Some(known)) => known.words(),
            (Because::Reference(_, node), None) => node.trust(),
            (Because::Measured { .. }, None) => "measured",
            (Because::Counted(_), None) => "counted",
            _ => "as given",
        }
    }

    /// Its value (SI) at the end that is safe to go by, where it is a limit: what is shown large.
    pub fn safe(&self) -> Option<f64> {
        self.0.safe.map(|end| match end {
            SafeEnd::Low => self.range().low,
            SafeEnd::High => self.range().high,
        })
    }

    fn remade(&self, change: impl FnOnce(&mut Inner)) -> Self {
        let i = &self.0;
        let mut inner = Inner {
            name: i.name.clone(),
            kind: i.kind,
            range: i.range,
            because: i.because.clone(),
            note: i.note.clone(),
            safe: i.safe,
            known: i.known,
        };
        change(&mut inner);
        Self(Arc::new(inner))
    }
}

/// A figure whose quantity has the type `Q`.
#[derive(Debug, Clone)]
pub struct Figure<Q> {
    node: Node,
    quantity: PhantomData<fn() -> Q>,
}

impl<Q: Quantity> Figure<Q> {
    /// A figure from its SI range and its reason.
    pub fn new(name: impl Into<Cow<'static, str>>, range: Range, because: Because) -> Self {
        Self::typed(Node::new(name, Q::KIND, range, because))
    }

    /// Counted by the tool itself, in SI.
    pub fn counted(name: &'static str, value: f64, says: impl Into<Cow<'static, str>>) -> Self {
        Self::new(name, Range::exact(value), Because::Counted(says.into()))
    }

    /// Takes a figure of this very kind back under its type.
    ///
    /// # Panics
    /// In debug builds, where the kinds differ.
    pub fn typed(node: Node) -> Self {
        debug_assert!(Q::holds(node.kind()));
        Self { node, quantity: PhantomData }
    }

    /// The figure without its type.
    pub fn node(&self) -> &Node {
        &self.node
    }

    /// The likely value.
    pub fn likely(&self) -> Q {
        Q::from_si(self.si())
    }

    /// The likely value in SI base units.
    pub fn si(&self) -> f64 {
        self.node.range().likely
    }

    /// The lowest value in SI base units.
    pub fn low(&self) -> f64 {
        self.node.range().low
    }

    /// The highest value in SI base units.
    pub fn high(&self) -> f64 {
        self.node.range().high
    }

    /// The same figure of another of the kinds that its type holds.
    #[must_use]
    pub fn in_kind(&self, kind: Kind) -> Self {
        Self::typed(self.node.remade(|i| i.kind = kind))
    }

    /// The same figure under another name.
    #[must_use]
    pub fn named(&self, name: impl Into<Cow<'static, str>>) -> Self {
        Self::typed(self.node.remade(|i| i.name = name.into()))
    }

    /// The same figure with a word of warning.
    #[must_use]
    pub fn noting(&self, note: impl Into<Cow<'static, str>>) -> Self {
        Self::typed(self.node.remade(|i| i.note = Some(note.into())))
    }

    /// A reference to this figure, to be worked on with: it points to the name under which the
    /// derivation stands, instead of telling it all over again.
    #[must_use]
    pub fn reference(&self, key: &'static str) -> Self {
        let name = self.node.0.name.clone();
        let because = Because::Reference(key, self.node.clone());
        Self::new(name, self.node.range(), because).in_kind(self.node.kind())
    }

    /// The value to go by in SI base units: the safe end of a limit, else the likely one.
    pub fn safe(&self) -> f64 {
        self.node.safe().unwrap_or_else(|| self.si())
    }

    /// The same figure as a limit that is safe at this end.
    #[must_use]
    pub fn safe_at(&self, end: SafeEnd) -> Self {
        Self::typed(self.node.remade(|i| i.safe = Some(end)))
    }
}
