//! Heats: metal goes into the crucible and from there into the moulds; fuel is burnt.

use super::account::{Back, Way};
use super::{Filled, Past, meant};
use crate::figure::Figure;
use crate::journal::Poured;
use crate::manifest::Id;
use crate::model::{Attempt, Build};
use crate::supply::taking::{Pour, Taking};

/// Moulds that a heat filled.
fn filled<'b>(build: &'b Build, e: &'b Poured) -> impl Iterator<Item = &'b Attempt> {
    e.moulds.iter().filter_map(|m| build.history.attempts.get(&m.value))
}

impl Past<'_> {
    /// Metal goes into the crucible, and from there into the moulds.
    pub(super) fn charged(&mut self, e: &Poured) {
        let build = self.taking.build;
        let alloy = &e.alloy.value;
        let logged = e.charge.iter().map(|(source, mass)| (source.clone(), mass.si())).collect();
        let charge: Vec<(Id, f64)> = if e.charge.is_empty() { self.estimated(e) } else { logged };
        for (source, mass) in &charge {
            let mass = *mass;
            let from = build.charged_from(alloy, source);
            let (from, returns) = meant(build, &from);
            let own = *from == **alloy;
            let metal = self.stock(alloy);
            if own && returns {
                metal.returns(Back::Charged, -mass);
            } else if own && metal.kept {
                metal.now.stock -= mass;
            } else {
                metal.put_in += mass;
                metal.goes(if own { Way::Found } else { Way::FromOther }, mass);
                let other =
                    self.stocks.get_mut(from).filter(|other| !own && (returns || other.kept));
                if let Some(other) = other {
                    other.put_in -= mass;
                    other.goes(Way::ToOther, mass);
                    match returns {
                        true => other.returns(Back::Charged, -mass),
                        false => other.now.stock -= mass,
                    }
                }
            }
        }
        let charged: f64 = charge.iter().map(|(_, mass)| mass).sum();
        let heel = e.heel.as_ref().map_or(0.0, Figure::si).min(charged);
        let loss = self.melt_loss(alloy);
        let (lost, poured) = ((charged - heel) * loss, (charged - heel) * (1.0 - loss));
        let moulds: Vec<&Attempt> = filled(build, e).collect();
        let metal = self.stock(alloy);
        // More was charged or given away than came back.
        metal.lay_there(true);
        metal.now.lost += lost;
        metal.goes(Way::Melted, lost);
        metal.returns(Back::Pigged, heel);
        let Some(first) = moulds.first() else {
            metal.returns(Back::Pigged, poured);
            return;
        };
        metal.now.in_moulds += poured;
        self.uses(self.taking.fluxes(&first.castings, charged));
        let wanted = |a: &Attempt| self.taking.poured(&a.castings);
        let all: f64 = moulds.iter().map(|a| wanted(a)).sum();
        for attempt in &moulds {
            let share = if all > 0.0 { wanted(attempt) / all } else { 1.0 / moulds.len() as f64 };
            let poured = poured * share;
            let castings = self.taking.castings(&attempt.castings);
            let pour = Pour { poured, castings: castings.min(poured) };
            let metal = Filled { alloy: alloy.clone(), pour, fettled: false };
            self.moulds.entry(attempt.mould.clone()).or_default().metal = Some(metal);
        }
    }

    /// Share of a charge that melting takes.
    fn melt_loss(&self, alloy: &Id) -> f64 {
        let loss = self.taking.build.handbook.alloys.get(alloy);
        let loss = loss.and_then(|a| a.melt_loss.as_ref());
        loss.map_or(0.0, |l| self.taking.end.used(l.node().range())).min(1.0)
    }

    /// The charge of a heat of which none is logged: what its moulds take, the heel and the melt loss,
    /// of returns what there is and a charge bears, the rest of ingot.
    fn estimated(&mut self, e: &Poured) -> Vec<(Id, f64)> {
        let Taking { build, end, .. } = self.taking;
        let alloy = &e.alloy.value;
        let kept = 1.0 - self.melt_loss(alloy);
        let poured: f64 =
            filled(build, e).map(|a| self.taking.poured(&self.taking.cavities(&a.castings))).sum();
        if poured <= 0.0 || kept <= 0.0 {
            return Vec::new();
        }
        let charge = poured / kept + e.heel.as_ref().map_or(0.0, Figure::si);
        let share = build.handbook.alloys.get(alloy).and_then(|a| a.returns_share.as_ref());
        let share = share.map_or(0.0, |s| end.saves(s.node().range()));
        let metal = self.stock(alloy);
        metal.uncharged.push((e.heat.value.clone(), charge));
        let returns = metal.now.returns.clamp(0.0, charge * share);
        [("returns".into(), returns), ("ingot".into(), charge - returns)]
            .into_iter()
            .filter(|c| c.1 > 0.0)
            .collect()
    }

    /// Fuel of a heat: as logged, or what its moulds ask for and the furnace where it was cold.
    pub(super) fn burnt(&mut self, e: &Poured) {
        let build = self.taking.build;
        let Some(heat) = build.history.heats.get(&e.heat.value) else { return };
        let Some(id) = &heat.furnace else { return };
        let Some(furnace) = build.shop.furnaces.get(id) else { return };
        let moulds: Vec<Vec<(usize, u32)>> = filled(build, e).map(|a| a.castings.clone()).collect();
        let logged = e.fuel.as_ref().map(Figure::si);
        let burnt = logged.or_else(|| self.taking.fuel(id, &moulds, 0.0, !heat.hot));
        self.uses(burnt.map(|mass| (furnace.fuel.clone(), mass)).into_iter().collect());
    }
}
