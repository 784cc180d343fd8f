//! Flasks and crucibles that are gone, and entries that speak of them afterwards.

use super::Fold;
use crate::journal::{Entry, Retired, Word};
use crate::model::history::{Equipment, Gone};
use crate::yaml::Code;

impl Fold<'_> {
    /// Whether the shop has such a flask; a fault where it has none, or where it is gone by now.
    pub(super) fn flask(&mut self, line: usize, flask: &Word) -> bool {
        let ids = self.build.shop.flasks.keys().map(|k| &**k);
        let hint = "look at the ids under `flasks:`";
        self.known((Code::UnknownFlask, line), ("flask", flask), ids, hint)
            && self.is_here(line, Equipment::Flask, flask)
    }

    /// The same of a crucible.
    pub(super) fn crucible(&mut self, line: usize, pot: &Word) -> bool {
        let ids = self.build.shop.crucibles.keys().map(|k| &**k);
        let hint = "look at the ids under `crucibles:`";
        self.known((Code::UnknownCrucible, line), ("crucible", pot), ids, hint)
            && self.is_here(line, Equipment::Crucible, pot)
    }

    pub(super) fn retired(&mut self, entry: &Entry, e: &Retired) {
        let line = entry.line;
        let named = e.flask.as_ref().map(|flask| (Equipment::Flask, flask));
        let named = named.or(e.crucible.as_ref().map(|pot| (Equipment::Crucible, pot)));
        let Some((what, word)) = named else { return };
        let here = match what {
            Equipment::Flask => self.flask(line, word),
            Equipment::Crucible => self.crucible(line, word),
        };
        let (left, of) = (self.build.left(&self.history, what, &word.value), &word.value);
        if here && e.pieces > left {
            let (what, are) = (what.word(), if left == 1 { "is" } else { "are" });
            let says =
                format!("{} of the {what} `{of}` are retired, and {left} {are} left", e.pieces);
            let hint = match what {
                "flask" => "correct the number, or put `count:` under it higher",
                _ => "correct the number, or log first what came: `received --stock`, in pieces",
            };
            self.fault(Code::Story, (line, word), says, hint);
        } else if here {
            let gone = Gone { at: entry.at, what, of: of.clone(), pieces: e.pieces };
            self.history.retired.push(gone);
        }
    }

    fn is_here(&mut self, line: usize, what: Equipment, word: &Word) -> bool {
        if self.build.left(&self.history, what, &word.value) > 0 {
            return true;
        }
        let last = self.history.gone(what, &word.value).next_back().map(|gone| gone.at.date());
        let Some(day) = last else { return true };
        let says = format!("the {} `{}` was retired on {day}", what.word(), word.value);
        let hint = "name the one that was used, or take back the entry that tells it is gone";
        self.fault(Code::Story, (line, word), says, hint);
        false
    }
}
