//! What lies in the shop by now, with what it began with and what has come and gone since.

use super::flow::End;
use super::past::{Past, Stock};
use super::taking::Taking;
use crate::estimate::Estimates;
use crate::figure::{Amount, Because, Figure, Kind, Range};
use crate::model::Build;
use std::borrow::Cow;

/// The journal followed at both ends of every doubt and in the middle.
pub(super) struct InShop<'a>(pub [Past<'a>; 3]);

impl<'a> InShop<'a> {
    /// Follows the journal; `made` as for [`Past::new`].
    pub fn new(build: &'a Build, estimates: &'a Estimates, made: &[Vec<(usize, u32)>]) -> Self {
        let past = |end| Past::new(Taking { build, estimates, end }, made);
        Self([End::Least, End::Likely, End::Most].map(past))
    }

    /// In what a stock is told.
    pub fn kind(&self, name: &str) -> Kind {
        self.0[1].taking.build.kind_of(name)
    }

    /// How much of a stock is on order; none where nothing is.
    pub fn ordered(&self, name: &str) -> Option<Figure<Amount>> {
        let kind = self.kind(name);
        let open = self.0[1].taking.build.history.on_order.iter().filter(|o| *o.of == *name);
        let each = open.map(|o| {
            let says = match o.expected {
                Some(day) => format!("ordered {}, expected {day}", o.ordered),
                None => format!("ordered {}", o.ordered),
            };
            Figure::<Amount>::new("ordered", Range::exact(o.mass), Because::Counted(says.into()))
                .in_kind(kind)
        });
        Figure::sum("on order", &each.collect::<Vec<_>>())
    }

    /// All of a stock that ever came, less what was given away, whatever became of it.
    pub fn came(&self, name: &str) -> Option<Figure<Amount>> {
        let past = &self.0[1];
        past.stocks.get(name)?;
        let came = past.taking.build.history.came.get(name).copied().unwrap_or(0.0);
        let says = "`stock` of the manifest, and what was received, less what was given away";
        let figure = Figure::<Amount>::counted("come so far", came.max(0.0), says);
        Some(figure.in_kind(self.kind(name)))
    }

    /// How much of a stock there is; none where nobody told of any.
    pub fn of(&self, name: &str) -> Option<Figure<Amount>> {
        let stocks = self.0.each_ref().map(|past| past.stocks.get(name).filter(|s| s.kept));
        let [Some(least), Some(likely), Some(most)] = stocks else { return None };
        let kind = self.kind(name);
        let range = |of: fn(&Stock) -> f64| {
            let [a, b, c] = [least, likely, most].map(of);
            // An empty sum of floats is -0.
            Range { low: a.min(b).min(c) + 0.0, likely: b + 0.0, high: a.max(b).max(c) + 0.0 }
        };
        let counted = |name: &'static str, range, says: Cow<'static, str>| {
            Figure::<Amount>::new(name, range, Because::Counted(says)).in_kind(kind)
        };
        let (began, says) = match likely.counted {
            Some(day) => ("counted", format!("the journal's count of {day}").into()),
            None => ("at the start", "`on-hand` and `stock` of the manifest".into()),
        };
        let began = counted(began, Range::exact(likely.began), says);
        let came = counted(
            "come since",
            Range::exact(likely.came),
            "received, less what was given away".into(),
        );
        let used = counted(
            "used since",
            range(|s| s.began + s.came - s.now.stock),
            "charges and fuel as logged; what moulds and heats took and nobody logged, as estimated; sand that stands in moulds, and what shaking out lost of it".into(),
        );
        let nodes = [began, came, used].map(|f| f.node().clone()).into();
        let says =
            "that + come since - used since, never below zero; a count replaces all before it";
        let because = Because::Closed(says, nodes);
        Some(Figure::new("in the shop", range(|s| s.now.stock), because).in_kind(kind))
    }
}
