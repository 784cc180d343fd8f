//! Stock that comes, is on its way, is counted or given away.

use super::Fold;
use crate::figure::{Figure, Number};
use crate::journal::{Counted, Entry, GivenAway, Ordered, Received, Word};
use crate::manifest::Step;
use crate::model::history::{OnOrder, Receipt};
use crate::yaml::Code;

impl Fold<'_> {
    pub(super) fn counted(&mut self, entry: &Entry, e: &Counted) {
        let line = entry.line;
        if self.stock((line, &e.stock), &e.stock.value) {
            self.measured(&e.stock, (e.mass.is_some(), e.pieces.as_ref()), line);
        }
        self.history.stock.insert(e.stock.value.clone(), e.amount().unwrap_or(0.0));
    }

    pub(super) fn given_away(&mut self, entry: &Entry, e: &GivenAway) {
        let line = entry.line;
        if !self.stock((line, &e.stock), &e.stock.value) {
            return;
        }
        self.measured(&e.stock, (e.mass.is_some(), e.pieces.as_ref()), line);
        let amount = e.amount().unwrap_or(0.0);
        let least = e.mass.as_ref().map_or(amount, |m| m.node().range().low);
        self.taken(entry, &e.stock.value, (amount, least));
        *self.history.stock.entry(e.stock.value.clone()).or_default() -= amount;
        *self.history.came.entry(e.stock.value.clone()).or_default() -= amount;
    }

    /// What comes in, and what of it was on order: the first ordered comes first.
    pub(super) fn received(&mut self, entry: &Entry, e: &Received) {
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
            *self.history.came.entry(stock.value.clone()).or_default() += mass;
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
    pub(super) fn ordered(&mut self, entry: &Entry, e: &Ordered) {
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
}
