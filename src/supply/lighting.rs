//! The metal that there is when a heat of the plan is lit.

use super::flow::Flow;
use super::ordered::on_the_way;
use crate::model::Build;
use crate::plan::{Pour, Schedule};

/// Metal for a heat when it is lit, by the likely walk through the plan, if none is bought; kg.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct AtLighting {
    /// Ingot on the shelf, after the heats before.
    pub ingot: f64,
    /// Ingot that is on order and should be there by then, less what the heats before take of it.
    pub coming: f64,
    /// Returns that lie ready.
    pub returns: f64,
    /// As many of them as go into its charge.
    pub melted_again: f64,
    /// What ingot and these returns fall short of its charge.
    pub lacks: f64,
}

impl AtLighting {
    /// None where the heat is not one of the plan.
    pub fn of(build: &Build, flow: &Flow, schedule: &Schedule, pour: &Pour) -> Option<Self> {
        let [lit, ..] = pour.times?;
        let earlier = schedule.heats.iter().take_while(|h| Some(&h.name) != pour.name.as_ref());
        let nth = earlier.filter(|h| h.lit == lit && h.alloy == pour.alloy.id).count();
        let walk = flow.likely.stocks.get(&pour.alloy.id)?;
        let [before, after] = walk.charging(lit, nth)?;
        let coming = on_the_way(build, &pour.alloy.id, lit.date());
        let (ingot, melted_again) = (before.stock.max(0.0), before.returns - after.returns);
        Some(Self {
            ingot,
            coming: (coming + before.stock.min(0.0)).max(0.0),
            returns: before.returns,
            melted_again,
            lacks: pour.short_of(ingot + melted_again).map_or(0.0, |f| f.si()),
        })
    }

    /// What is short when it is lit, with what is on order; kg.
    pub fn short(&self) -> f64 {
        (self.lacks - self.coming).max(0.0)
    }
}
