//! What cannot be planned, why, and all that waits for it.

use super::calendar::Minute;
use super::making::Maker;
use super::work::{Mould, Taken, Work};
use crate::estimate::{CrucibleFit, FlaskFit, MouldEstimate};
use crate::model::Part;

impl Maker<'_> {
    /// What keeps a mould from ever being poured, in words.
    pub(super) fn lacking(
        &self,
        part: &Part,
        figures: &MouldEstimate,
        mould: &Mould,
        longest: Minute,
    ) -> Vec<String> {
        let id = part.id();
        let mut out = Vec::new();
        if let FlaskFit::Lacking(says) = &figures.flask {
            out.push(format!("{id}: {says}"));
        }
        if let CrucibleFit::Lacking(says) = &figures.crucible
            && self.work.pots_for(&[mould], self.build.shop.pours_from_two).is_empty()
        {
            let two = if self.build.shop.pours_from_two {
                ""
            } else {
                "; or `pours-from-two: yes` under `shop:`, where two people may pour at once"
            };
            out.push(format!("{id}: {says}{two}"));
        }
        if self.build.shop.furnaces.is_empty() {
            out.push("the shop lists no furnace: add one under `shop: furnaces:`".into());
        }
        let item = |i: usize| mould.items[i].map_or(0, |n| self.work.items[n].minutes);
        let (ram, heat) = (item(0), self.work.melt + item(1));
        let hours = |m: Minute| format!("{:.1} h", m as f64 / 60.0);
        let unbroken = match mould.stands {
            None => [("ramming, melting and pouring take", ram + heat)].to_vec(),
            Some(_) => [("ramming takes", ram), ("melting and pouring take", heat)].to_vec(),
        };
        for (what, whole) in unbroken.into_iter().filter(|u| longest > 0 && u.1 > longest) {
            let sand = match mould.stands {
                None => ", or a sand whose moulds may stand",
                Some(_) => "",
            };
            out.push(format!(
                "{id}: {what} {} in one session; the longest is {}: plan a longer day{sand}",
                hours(whole),
                hours(longest)
            ));
        }
        out
    }

    /// Leaves out what cannot be planned, and what waits for it.
    pub(super) fn finish(mut self) -> Work {
        if self.blocked.is_empty() {
            return self.work;
        }
        let mut stack: Vec<usize> = self.blocked.iter().copied().collect();
        while let Some(n) = stack.pop() {
            let mould = self.work.items[n].mould.map(|m| self.work.moulds[m].items);
            let follow = self.work.items[n].after.iter().copied();
            for next in follow.chain(mould.into_iter().flatten().flatten()) {
                if self.blocked.insert(next) {
                    stack.push(next);
                }
            }
        }
        let mut place = vec![usize::MAX; self.work.items.len()];
        let mut kept = 0;
        for (n, slot) in place.iter_mut().enumerate() {
            if !self.blocked.contains(&n) {
                *slot = kept;
                kept += 1;
            }
        }
        let mut moulds = Vec::new();
        let mut mould_place = vec![usize::MAX; self.work.moulds.len()];
        for (m, mut mould) in self.work.moulds.into_iter().enumerate() {
            if mould.items.iter().flatten().all(|n| !self.blocked.contains(n)) {
                mould.items = mould.items.map(|n| n.map(|n| place[n]));
                mould_place[m] = moulds.len();
                moulds.push(mould);
            }
        }
        let items = std::mem::take(&mut self.work.items);
        let kept = items.into_iter().enumerate().filter(|(n, _)| place[*n] != usize::MAX);
        let items = kept.map(|(_, mut item)| {
            let still = |list: &[usize]| {
                list.iter().map(|n| place[*n]).filter(|n| *n != usize::MAX).collect()
            };
            (item.before, item.after) = (still(&item.before), still(&item.after));
            item.mould = item.mould.map(|m| mould_place[m]);
            item
        });
        let cooling = self.work.cooling.into_iter().filter(|t| place[t.until] != usize::MAX);
        Work {
            items: items.collect(),
            moulds,
            cooling: cooling.map(|t| Taken { until: place[t.until], ..t }).collect(),
            alloys: self.work.alloys,
            missing: self.work.missing,
            melt: self.work.melt,
            melt_span: self.work.melt_span,
        }
    }
}
