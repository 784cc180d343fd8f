//! The shop without what is gone of it: flasks and crucibles that the journal tells of as retired.

use super::Build;
use super::history::{Equipment, History};

impl Build {
    /// How many of a flask, or of a crucible, are left by what happened: of flasks as many as the manifest
    /// counts, of a crucible the first and those that came as its stock, less those that are gone.
    pub(super) fn left(&self, history: &History, what: Equipment, id: &str) -> u32 {
        let ever = match what {
            Equipment::Flask => self.shop.flasks.get(id).map_or(0, |flask| flask.count),
            Equipment::Crucible if self.shop.crucibles.contains_key(id) => {
                1 + history.came.get(id).map_or(0.0, |came| came.max(0.0)) as u32
            }
            Equipment::Crucible => 0,
        };
        ever.saturating_sub(history.retired(what, id))
    }

    /// Takes what is gone out of the shop, so that nothing goes by it any more. What is wholly gone is
    /// known by name and size still: the journal speaks of it.
    pub(super) fn retire(&mut self) {
        let mut gone: Vec<_> =
            self.history.retired.iter().map(|g| (g.what, g.of.clone())).collect();
        gone.sort();
        gone.dedup();
        for (what, id) in gone {
            let left = self.left(&self.history, what, &id);
            let shop = &mut self.shop;
            match what {
                Equipment::Flask if left > 0 => {
                    if let Some(flask) = shop.flasks.get_mut(&id) {
                        flask.count = left;
                    }
                }
                Equipment::Flask => {
                    shop.gone.flasks.extend(shop.flasks.shift_remove_entry(&id));
                }
                Equipment::Crucible if left > 0 => {}
                Equipment::Crucible => {
                    shop.gone.crucibles.extend(shop.crucibles.shift_remove_entry(&id));
                }
            }
        }
    }

    /// That a flask or a crucible is gone, in words; none where the shop has one.
    pub fn says_gone(&self, what: Equipment, id: &str) -> Option<String> {
        let here = match what {
            Equipment::Flask => self.shop.flasks.contains_key(id),
            Equipment::Crucible => self.shop.crucibles.contains_key(id),
        };
        let last = self.history.gone(what, id).next_back().filter(|_| !here)?;
        Some(format!("the {} {id} was retired on {}", what.word(), last.at.date()))
    }
}
