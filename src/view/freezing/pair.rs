//! A casting beside what it would be otherwise.

use super::{FreezingView, Pictured};
use crate::figure::{Kind, show};
use crate::view::text::{Look, Side, finished};
use serde::Serialize;

/// A casting beside what it would be otherwise.
#[derive(Debug, Clone, Serialize)]
pub struct FreezingPair {
    /// As it is.
    pub now: FreezingView,
    /// What is changed, as it was written.
    pub with: String,
    /// As it would be.
    pub then: FreezingView,
}

impl FreezingPair {
    /// Both as they are drawn side by side, with what differs.
    pub fn pictured(&self) -> [Pictured<'_>; 2] {
        let of = |view: &FreezingView, title: String| {
            let mut says = vec![format!("solid after {}", view.range(view.solid_after))];
            if let Some(fed) = &view.frozen.feeding {
                let share = show(Kind::Ratio, fed.most_cut_off(), view.units);
                says.push(format!("feeding: {}, up to {share} unfed", fed.verdict()));
                says.push(format!("feeders: {}", view.feeders(&fed.feeders)));
            }
            if let Some(way) = view.frozen.ingates() {
                says.push(format!("ingates close {}", way.verdict()));
            }
            (title, says)
        };
        let now = of(&self.now, self.now.part.clone());
        let then = of(&self.then, format!("{} with {}", self.now.part, self.with));
        [(now, &self.now), (then, &self.then)].map(|((title, says), view)| Pictured {
            title,
            says,
            frozen: &view.frozen,
        })
    }

    /// As text.
    pub fn text(&self, look: &Look) -> String {
        let both = [&self.now, &self.then];
        let mut table =
            look.table(&[("", Side::Left), ("now", Side::Left), (&self.with, Side::Left)]);
        let mut row = |name: &str, say: &dyn Fn(&FreezingView) -> String| {
            let [now, then] = both.map(say);
            table.add_row([name.to_owned(), now, then]);
        };
        row("metal", &|v| v.alloy.clone());
        row("solid after", &|v| v.range(v.solid_after));
        row("shake out after", &|v| v.shake_out_after.map_or(String::new(), |t| v.range(t)));
        row("last to freeze", &|v| v.place(v.frozen.last));
        row("feeding", &|v| v.verdict.unwrap_or("no feeder").to_owned());
        row("unfed", &|v| {
            v.frozen.feeding.as_ref().map_or(String::new(), |fed| fed.unfed(v.units))
        });
        row("feeders", &|v| {
            v.frozen.feeding.as_ref().map_or(String::new(), |f| v.feeders(&f.feeders))
        });
        row("ingates", &|v| v.frozen.ingates().map_or(String::new(), |way| v.way_in(way)));
        row("metal in them", &|v| {
            let fed = v.frozen.feeding.as_ref();
            fed.map_or(String::new(), |f| show(Kind::Volume, f.feeders.volume(), v.units))
        });
        let head = format!("{}: freezing, now and with {}", self.now.part, self.with);
        self.now.head.text(look) + "\n" + &look.heading(&head) + &finished(&table)
    }
}
