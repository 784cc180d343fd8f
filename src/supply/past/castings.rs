//! What comes out of the moulds: weighed, fettled, machined, inspected.

use super::account::{Back, Way};
use super::{Held, Past};
use crate::figure::{Figure, Mass};
use crate::journal::{Disposition, Done, Inspected};
use crate::manifest::Id;

impl Past<'_> {
    /// All that came out of a mould, gates and all, was weighed.
    pub(super) fn weighed(&mut self, mould: &Id, mass: Option<&Figure<Mass>>) {
        let held = self.moulds.get_mut(mould).and_then(|held| held.metal.as_mut());
        let Some((metal, mass)) = held.filter(|m| !m.fettled).zip(mass) else { return };
        let more = mass.si() - metal.pour.poured;
        metal.pour.poured += more;
        metal.pour.castings = metal.pour.castings.min(metal.pour.poured);
        let alloy = metal.alloy.clone();
        let stock = self.stock(&alloy);
        stock.corrected(more);
        stock.now.in_moulds += more;
    }

    /// Castings of a mould were weighed: what they weigh otherwise was or is in the gates.
    fn castings_weighed(&mut self, mould: &Id, more: f64) {
        let held = self.moulds.get_mut(mould).and_then(|held| held.metal.as_mut());
        let Some(metal) = held else { return };
        let more = more.clamp(-metal.pour.castings, metal.pour.poured - metal.pour.castings);
        metal.pour.castings += more;
        if metal.fettled
            && let Some(stock) = self.stocks.get_mut(&metal.alloy)
        {
            stock.now.castings += more;
            stock.returns(Back::Gates, -more);
        }
    }

    /// A part is fettled: whatever of it is out of the sand.
    pub(super) fn fettled_all(&mut self, e: &Done) {
        let build = self.taking.build;
        let Some(part) = e.part.as_ref().and_then(|p| build.part(&p.value)) else { return };
        let holds = |m: &Id| {
            let attempt = build.history.attempts.get(m);
            attempt.is_some_and(|a| a.castings.iter().any(|c| c.0 == part))
        };
        let ready = self.moulds.iter().filter(|(m, held)| held.out && holds(m));
        let ready: Vec<Id> = ready.map(|(m, _)| m.clone()).collect();
        ready.iter().for_each(|m| self.fettled(m));
    }

    /// The gates of a mould come off.
    fn fettled(&mut self, mould: &Id) {
        let back = self.taking.end.saves(self.taking.build.handbook.fettled.node().range());
        let held = self.moulds.get_mut(mould).and_then(|held| held.metal.as_mut());
        let Some(metal) = held.filter(|metal| !metal.fettled) else { return };
        metal.fettled = true;
        if let Some(stock) = self.stocks.get_mut(&metal.alloy) {
            let gates = metal.pour.poured - metal.pour.castings;
            metal.pour.fettle(&mut stock.now, back);
            *stock.back.entry(Back::Gates).or_default() += gates * back;
            stock.goes(Way::Sawn, gates * (1.0 - back));
        }
    }

    /// A part is machined: what of its castings is more than the finished part goes to chips.
    pub(super) fn machined(&mut self, e: &Done) {
        let build = self.taking.build;
        let Some(part) = e.part.as_ref().and_then(|p| build.part(&p.value)) else { return };
        let Some(finished) = self.taking.finished(part) else { return };
        let id = build.parts[part].id();
        let rough = self.taking.castings(&[(part, 1)]);
        for (mould, held) in &mut self.moulds {
            let attempt = build.history.attempts.get(mould);
            let cast = attempt.and_then(|a| a.castings.iter().find(|c| c.0 == part));
            let fettled = held.metal.as_ref().is_some_and(|metal| metal.fettled);
            let Some((_, cast)) = cast.filter(|_| fettled && held.machined.insert(part)) else {
                continue;
            };
            let good = cast - held.scrapped.get(&part).copied().unwrap_or(0).min(*cast);
            let each = held.weighed.get(id).copied().unwrap_or(rough);
            let Some(metal) = &mut held.metal else { continue };
            let chips = (each - finished).max(0.0) * f64::from(good);
            let chips = chips.min(metal.pour.castings);
            metal.pour.castings -= chips;
            if let Some(stock) = self.stocks.get_mut(&metal.alloy) {
                stock.now.castings -= chips;
                stock.now.lost += chips;
                stock.goes(Way::Chips, chips);
            }
        }
    }

    /// Castings are out of the sand and their gates off; scrap goes back to be melted.
    pub(super) fn inspected(&mut self, e: &Inspected) {
        let mould = &e.mould.value;
        self.shaken_out(mould);
        let part = self.taking.build.part(&e.part.value);
        let held = self.moulds.get(mould);
        let machined = part.filter(|p| held.is_some_and(|held| held.machined.contains(p)));
        // What was machined weighs what the finished part does.
        let finished = machined.and_then(|part| self.taking.finished(part));
        let finished = finished.map(|each| each * f64::from(e.pieces));
        let reckoned = part.map_or(0.0, |part| self.taking.castings(&[(part, e.pieces)]));
        let reckoned = finished.map_or(reckoned, |finished| finished.min(reckoned));
        let weighed = e.mass.as_ref().map(|each| each.si() * f64::from(e.pieces));
        // A piece that is looked at again was weighed before.
        let each = e.mass.as_ref().map(Figure::si);
        let first = |held: &mut Held| {
            each.is_some_and(|each| held.weighed.insert(e.part.value.clone(), each).is_none())
        };
        if self.moulds.get_mut(mould).is_some_and(first) {
            self.castings_weighed(mould, weighed.unwrap_or(reckoned) - reckoned);
        }
        self.fettled(mould);
        let mass = weighed.unwrap_or(reckoned);
        let held = self.moulds.get_mut(mould).filter(|_| e.disposition == Disposition::Scrap);
        let Some(held) = held else { return };
        if let Some(part) = part {
            *held.scrapped.entry(part).or_default() += e.pieces;
        }
        let Some(metal) = held.metal.as_mut() else { return };
        let mass = mass.min(metal.pour.castings);
        metal.pour.castings -= mass;
        if let Some(stock) = self.stocks.get_mut(&metal.alloy) {
            stock.now.castings -= mass;
            stock.returns(Back::Scrapped, mass);
        }
    }
}
