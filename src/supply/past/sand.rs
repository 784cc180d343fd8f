//! Sand and cores: into a mould when it is rammed, and back when it is shaken out.

use super::account::Way;
use super::{Held, Past};
use crate::estimate::At;
use crate::journal::Event;
use crate::manifest::{Id, Step};
use crate::model::Build;
use crate::supply::taking::Castings;
use std::collections::BTreeMap;

/// Moulds by the entry of the journal with which their cores were made: the last before that
/// tells of cores of a part in it, or its ramming. `made` are moulds to come.
pub(super) fn coring(
    build: &Build,
    made: &[Vec<(usize, u32)>],
) -> BTreeMap<usize, Vec<Vec<(usize, u32)>>> {
    let mut told: BTreeMap<usize, usize> = BTreeMap::new();
    let mut out: BTreeMap<usize, Vec<Vec<(usize, u32)>>> = BTreeMap::new();
    let last = |told: &BTreeMap<usize, usize>, lots: &Castings| {
        lots.iter().filter_map(|(part, _)| told.get(part)).max().copied()
    };
    let log = &build.history.log;
    for (n, entry) in log.iter().enumerate() {
        match &entry.event {
            Event::Done(e) if e.step == Step::Core => {
                let part = e.part.as_ref().and_then(|p| build.part(&p.value));
                told.extend(part.map(|part| (part, n)));
            }
            Event::Rammed(e) if e.again.is_none() => {
                let attempt = build.history.attempts.get(&e.mould.value);
                let lots = attempt.map(|a| a.castings.clone()).unwrap_or_default();
                out.entry(last(&told, &lots).unwrap_or(n)).or_default().push(lots);
            }
            _ => {}
        }
    }
    for lots in made {
        out.entry(last(&told, lots).unwrap_or(log.len())).or_default().push(lots.clone());
    }
    out
}

impl Past<'_> {
    pub(super) fn cored(&mut self, lots: &Castings) {
        let Some(cores) = self.taking.cores(lots) else { return };
        cores.pack(&mut self.stock(&cores.of).now);
        self.uses(self.taking.used_up(lots, At::Coring));
    }

    pub(super) fn rammed(&mut self, mould: &Id) {
        let build = self.taking.build;
        let Some(attempt) = build.history.attempts.get(mould) else { return };
        let lots = &attempt.castings;
        let rammed = self.taking.estimates.mould(build, lots).and_then(|m| m.sand.as_ref());
        let sand = self.taking.sand(lots, rammed);
        if let Some(sand) = &sand {
            sand.pack(&mut self.stock(&sand.of).now);
        }
        self.uses(self.taking.used_up(lots, At::Ramming));
        let held = Held { sand, cores: self.taking.cores(lots), ..Held::default() };
        self.moulds.insert(mould.clone(), held);
    }

    /// Its sand and its cores are in it already.
    pub(super) fn rammed_again(&mut self, mould: &Id) {
        let build = self.taking.build;
        let Some(attempt) = build.history.attempts.get(mould) else { return };
        self.uses(self.taking.used_up(&attempt.castings, At::Ramming));
    }

    pub(super) fn shaken_out(&mut self, mould: &Id) {
        let Some(held) = self.moulds.get_mut(mould).filter(|held| !held.out) else { return };
        held.out = true;
        let held = held.clone();
        for sand in held.sand.iter().chain(&held.cores) {
            let heap = self.stock(&sand.of);
            heap.goes(Way::SandLost, sand.lost);
            sand.empty(&mut heap.now);
        }
        let attempt = self.taking.build.history.attempts.get(mould);
        let lots = attempt.map_or(&[] as &Castings, |a| &a.castings);
        self.uses(self.taking.used_up(lots, At::ShakingOut));
    }
}
