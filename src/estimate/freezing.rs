//! How long a casting and its sections take to freeze, and in which order.

use super::by_flow::Times;
use super::sections::{self, Section, Whole};
use super::timed::Clocks;
use super::{listed, rule};
use crate::figure::*;
use crate::handbook::formulas::cooling;
use crate::model::{Build, Casting};

/// Sections thinner than this (m) are fed by the running metal.
pub(super) const THIN: f64 = 0.010;

/// Cooling and freezing of one casting.
#[derive(Debug, Clone, Default)]
#[non_exhaustive]
pub struct FreezingEstimate {
    /// Surface that gives off heat.
    pub cooling_surface: Option<Figure<Area>>,
    /// Volume over cooling surface of the whole.
    pub modulus: Option<Figure<Length>>,
    /// Modulus of the thickest section.
    pub thickest: Option<Figure<Length>>,
    /// Diameter of the largest ball that fits inside.
    pub thickest_place: Option<Figure<Length>>,
    /// Heat given off until frozen, superheat with it.
    pub heat_to_freeze: Option<Figure<LatentHeat>>,
    /// Mould constant of a plate in this metal and sand.
    pub mould_constant: Option<Figure<TimePerArea>>,
    /// Of the whole by the plain rule.
    pub freezing_time: Option<Figure<Time>>,
    /// Of the section that freezes first.
    pub freezes_first: Option<Figure<Time>>,
    /// Of the section that freezes last.
    pub freezes_last: Option<Figure<Time>>,
    /// Until all of it is solid: by heat flow where that was reckoned, else by the section that
    /// freezes last.
    pub solid_after: Option<Figure<Time>>,
    /// Time in the mould until shake-out: by heat flow where that was reckoned.
    pub shake_out_after: Option<Figure<Time>>,
    /// The same by the rule of thumb, as a check beside heat flow.
    pub shake_out_by_rule: Option<Figure<Time>>,
    /// Sections, the first to freeze first.
    pub sections: Vec<Section>,
}

impl FreezingEstimate {
    pub(super) fn figures(&self) -> Vec<(&'static str, Node)> {
        listed!(self:
            cooling_surface = "cooling-surface", modulus = "modulus",
            thickest = "thickest-modulus", thickest_place = "thickest-place", heat_to_freeze = "heat-to-freeze",
            mould_constant = "mould-constant", freezing_time = "freezing-time",
            freezes_first = "freezes-first", freezes_last = "freezes-last",
            solid_after = "solid-after", shake_out_after = "shake-out-after",
            shake_out_by_rule = "shake-out-by-rule")
    }

    /// The times of heat flow in the place of those of the rule of thumb, which stay beside them.
    pub(super) fn by_field(&mut self, times: Times) {
        self.solid_after = Some(times.solid);
        if times.shake_out.is_some() {
            self.shake_out_by_rule = std::mem::replace(&mut self.shake_out_after, times.shake_out);
        }
    }

    /// What the order of freezing asks for, in words.
    pub(super) fn warnings(&self) -> Option<String> {
        let thin = self.sections.first()?;
        let thick = self.sections.last()?;
        let wants_feeding = 2.0 * thick.modulus.si() >= THIN;
        (wants_feeding && thin.modulus.si() < CUTS_OFF * thick.modulus.si()).then(|| {
            format!(
                "first to freeze: {}; last: {}. A thin section may cut a thick one off, so give each thick place its own feeder or a chill",
                thin.name, thick.name
            )
        })
    }
}

/// A section of less than this share of another's modulus may cut it off.
const CUTS_OFF: f64 = 0.8;

pub(super) fn estimate(
    build: &Build,
    casting: &Casting,
    whole: Whole<'_>,
    clocks: &Clocks,
) -> FreezingEstimate {
    let volume = whole.volume;
    let alloy = &casting.alloy;
    let heat_to_freeze = (|| {
        Some(cooling::heat_to_freeze::figure(
            alloy.latent_heat.as_ref()?,
            alloy.liquid_heat.as_ref()?,
            alloy.solid_heat.as_ref()?,
            alloy.pours.as_ref()?,
            alloy.liquidus.as_ref()?,
            alloy.solidus.as_ref()?,
        ))
    })();
    let own = clocks.constant(build, casting).cloned();
    let mould_constant = own.or_else(|| alloy.mould_constant.clone()).or_else(|| {
        let sand = build.patterns[casting.pattern].sand.as_ref()?;
        let shop = rule(
            "temperature of the sand",
            [283.15, 293.15, 308.15],
            Known::CommonPractice,
            "a shop at 10 to 35 C",
        );
        let freezes_at =
            cooling::freezes_at::figure(alloy.solidus.as_ref()?, alloy.liquidus.as_ref()?);
        let constant = cooling::mould_constant_derived::figure(
            &freezes_at,
            &heat_to_freeze.as_ref()?.reference("heat-to-freeze"),
            alloy.liquid_density.as_ref()?,
            &shop,
            sand.conductivity.as_ref()?,
            sand.rammed_density.as_ref()?,
            sand.heat.as_ref()?,
        );
        // 2 to 16 min/cm2, in the unit of the build.
        let [least, most] =
            [2.0, 16.0].map(|c| show(Kind::TimePerArea, c * 60e4, build.header.units));
        let least = least.split(' ').next().unwrap_or(&least);
        Some(constant.noting(format!("from metal and sand, in perfect contact; textbooks print {least} to {most}: time one of your own (`froze-in:`)")))
    });
    let constant = mould_constant.as_ref().map(|c| c.reference("mould-constant"));
    let mut sections = sections::sections(casting, whole, constant.as_ref());
    let key = |s: &Section| s.time.as_ref().map_or(s.modulus.si(), Figure::si);
    sections.sort_by(|a, b| key(a).total_cmp(&key(b)));
    let cooling_surface = sections::cooling_surface(casting, whole);
    let modulus = volume.zip(cooling_surface.as_ref()).map(|(v, a)| cooling::modulus::figure(v, a));
    let freezing_time = (|| {
        let exponent = Figure::<Number>::counted("exponent", 2.0, "2 in the plain rule");
        let time = cooling::freezing_time::figure(
            volume?,
            cooling_surface.as_ref()?,
            constant.as_ref()?,
            &exponent,
        );
        Some(time.noting("the casting as one lump; the section that freezes last decides"))
    })();
    let times: Vec<_> = sections.iter().filter_map(|s| s.time.clone()).collect();
    let order = |says: &'static str, at: Option<&Figure<Time>>| {
        let nodes = times.iter().map(|t| t.node().clone()).collect();
        at.map(|t| Figure::new(says, t.node().range(), Because::Chosen(SECTIONS.into(), nodes)))
    };
    let freezes_first = order("first section frozen", times.first());
    let freezes_last = order("last section frozen", times.last());
    let shake_out_after = freezes_last
        .as_ref()
        .map(|t| shake_out(t, "freezes-last"))
        .or_else(|| Some(shake_out(freezing_time.as_ref()?, "freezing-time")));
    let thickest = sections
        .iter()
        .max_by(|a, b| a.modulus.si().total_cmp(&b.modulus.si()))
        .map(|s| s.modulus.clone());
    FreezingEstimate {
        cooling_surface,
        modulus,
        thickest,
        thickest_place: sections::thickest_place(&sections),
        heat_to_freeze,
        mould_constant,
        freezing_time,
        freezes_first,
        solid_after: freezes_last
            .as_ref()
            .map(|t| t.reference("freezes-last").named("solid throughout")),
        freezes_last,
        shake_out_after,
        shake_out_by_rule: None,
        sections,
    }
}

const SECTIONS: &str = "all sections in the order in which they freeze, each alone but for the face where it is joined";

/// Freezing time times what the trade waits.
fn shake_out(freezing: &Figure<Time>, key: &'static str) -> Figure<Time> {
    let freezing = freezing.reference(key);
    let factor: Figure<Number> = rule(
        "time in the mould over freezing time",
        [5.0, 7.0, 10.0],
        Known::FromMemory,
        "iron in green sand until 500 C; taken for the others too",
    );
    cooling::shake_out::figure(&freezing, &factor)
        .noting("the least to wait; longer costs nothing and lets stress out of the casting")
}
