//! Interval arithmetic: sums, differences, multiples, shares and the least and most of figures. Parts
//! of a doubt are taken to go the same way, which gives the widest honest span.

use super::{Because, Figure, Node, Number, Quantity, Range};
use std::borrow::Cow;

impl Range {
    /// Low, likely and high each with its fellow of another.
    fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        Self {
            low: f(self.low, other.low),
            likely: f(self.likely, other.likely),
            high: f(self.high, other.high),
        }
    }

    /// Sum.
    pub fn plus(self, other: Self) -> Self {
        self.with(other, |a, b| a + b)
    }

    /// Difference, never below zero: least where the most is taken.
    fn less(self, other: Self) -> Self {
        let taken = Self { low: other.high, likely: other.likely, high: other.low };
        self.with(taken, |a, b| (a - b).max(0.0))
    }
}

impl<Q: Quantity> Figure<Q> {
    fn closed(
        name: impl Into<Cow<'static, str>>,
        range: Range,
        says: &'static str,
        of: Vec<Node>,
    ) -> Self {
        Self::new(name, range, Because::Closed(says, of))
    }

    /// The sum of figures; `None` where there is nothing to add.
    pub fn sum(name: impl Into<Cow<'static, str>>, parts: &[Self]) -> Option<Self> {
        let range = parts.iter().map(|p| p.node().range()).reduce(Range::plus)?;
        let nodes: Vec<Node> = parts.iter().map(|p| p.node().clone()).collect();
        let kind = nodes.first()?.kind();
        Some(Self::new(name, range, Because::Sum(nodes)).in_kind(kind))
    }

    /// This less others, never below zero.
    #[must_use]
    pub fn less(&self, name: &'static str, taken: &[Self]) -> Self {
        let range = taken.iter().fold(self.node().range(), |left, t| left.less(t.node().range()));
        let nodes = std::iter::once(self).chain(taken).map(|f| f.node().clone()).collect();
        let left = Self::closed(name, range, "the first less the others", nodes);
        left.in_kind(self.node().kind())
    }

    /// This a whole number of times.
    #[must_use]
    pub fn times(&self, count: u32, name: &'static str) -> Self {
        let n = f64::from(count);
        let count = Figure::<Number>::counted("how many", n, "counted from the manifest");
        let nodes = vec![self.node().clone(), count.node().clone()];
        Self::closed(name, self.node().range().map(|v| v * n), "each x how many", nodes)
    }

    /// An equal share of this among so many.
    #[must_use]
    pub fn shared(&self, name: &'static str, says: &'static str, among: &Figure<Number>) -> Self {
        let nodes = vec![self.node().clone(), among.node().clone()];
        Self::closed(name, self.node().range().map(|v| v / among.si()), says, nodes)
    }

    /// The smaller of two, end by end.
    #[must_use]
    pub fn smaller(&self, other: &Self, name: &'static str, why: &'static str) -> Self {
        let range = self.node().range().with(other.node().range(), f64::min);
        let nodes = vec![self.node().clone(), other.node().clone()];
        Self::new(name, range, Because::Chosen(why.into(), nodes))
    }
}
