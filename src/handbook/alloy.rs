use super::Composition;
use super::table::{tabled, tabled_word};
use crate::figure::*;
use crate::yaml::Fields;
use std::sync::Arc;

/// Alloys that may share a crucible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
pub enum Family {
    /// Aluminium alloys.
    Aluminium,
    /// Zinc and zinc-aluminium alloys.
    Zinc,
    /// Brasses and bronzes.
    Copper,
    /// Cast irons.
    Iron,
}

impl Family {
    /// The words a manifest uses.
    pub const WORDS: &'static [(&'static str, Family)] = &[
        ("aluminium", Family::Aluminium),
        ("zinc", Family::Zinc),
        ("copper", Family::Copper),
        ("iron", Family::Iron),
    ];

    /// In words.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, f)| *f == self).map_or("", |(w, _)| w)
    }
}

macro_rules! alloy {
    ($($(#[$doc:meta])* $field:ident: $ty:ty = $key:literal, $name:literal;)*) => {
        /// A casting alloy.
        #[derive(Debug, Clone)]
        pub struct Alloy {
            /// Its id.
            pub id: Arc<str>,
            /// What it is called.
            pub title: Arc<str>,
            /// Which alloys it may share a crucible with.
            pub family: Family,
            /// How it freezes: `skin`, `eutectic`, `mushy` or `floating`.
            pub freezing: Option<Arc<str>>,
            /// Its designation in a standard.
            pub standard: Option<Arc<str>>,
            /// Usual ratio of sprue, runner and ingate areas.
            pub gating: Option<Arc<str>>,
            /// What it may hold of each element.
            pub composition: Option<Arc<Composition>>,
            $($(#[$doc])* pub $field: Option<Figure<$ty>>,)*
        }

        impl Alloy {
            /// Reads an alloy, starting from another where one is given.
            pub(super) fn read(id: Arc<str>, base: Option<&Alloy>, fields: &mut Fields<'_>) -> Option<Self> {
                let title = fields.take("title", |c| c.text());
                let family = match base {
                    Some(b) => Some(fields.take("family", |c| c.choice(Family::WORDS)).unwrap_or(b.family)),
                    None => fields.need("family", "aluminium", |c| c.choice(Family::WORDS)),
                };
                let word = |fields: &mut Fields<'_>, key, old: Option<&Option<Arc<str>>>| {
                    fields.take(key, tabled_word).or_else(|| old.cloned().flatten())
                };
                let freezing = word(fields, "freezing", base.map(|b| &b.freezing));
                let standard = word(fields, "standard", base.map(|b| &b.standard));
                let gating = word(fields, "gating", base.map(|b| &b.gating));
                let composition = fields
                    .take("composition", |c| {
                        let mut fields = c.fields()?;
                        let read = Composition::read(&mut fields);
                        fields.done();
                        read.map(Arc::new)
                    })
                    .or_else(|| base.and_then(|b| b.composition.clone()));
                $(let $field = fields
                    .take($key, |c| tabled::<$ty>(c, $name))
                    .or_else(|| base.and_then(|b| b.$field.clone()));)*
                Some(Self {
                    title: title.or_else(|| base.map(|b| b.title.clone())).unwrap_or_else(|| id.clone()),
                    id,
                    family: family?,
                    freezing,
                    standard,
                    gating,
                    composition,
                    $($field,)*
                })
            }

            /// Every figure that is known of it.
            pub fn figures(&self) -> Vec<&Node> {
                [$(self.$field.as_ref().map(Figure::node)),*].into_iter().flatten().collect()
            }
        }
    };
}

alloy! {
    /// At 20 degrees Celsius.
    density: Density = "density", "density at 20 C";
    /// Just above the liquidus.
    liquid_density: Density = "liquid-density", "density of the liquid";
    /// Where freezing begins.
    liquidus: Temperature = "liquidus", "liquidus";
    /// Where freezing ends.
    solidus: Temperature = "solidus", "solidus";
    /// Pouring temperature into sand.
    pours: Temperature = "pours", "pouring temperature";
    /// Patternmaker's allowance.
    contraction: Ratio = "contraction", "contraction";
    /// Share of the charge lost in melting.
    melt_loss: Ratio = "melt-loss", "melt loss";
    /// Casting mass over metal poured, usual in small sand work.
    casting_yield: Ratio = "yield", "casting yield";
    /// Heat of freezing.
    latent_heat: LatentHeat = "latent-heat", "latent heat";
    /// Specific heat of the solid.
    solid_heat: SpecificHeat = "solid-heat", "specific heat, solid";
    /// Specific heat of the liquid.
    liquid_heat: SpecificHeat = "liquid-heat", "specific heat, liquid";
    /// Heat conductivity of the solid.
    solid_conductivity: Conductivity = "solid-conductivity", "heat conductivity, solid";
    /// Heat conductivity of the liquid.
    liquid_conductivity: Conductivity = "liquid-conductivity", "heat conductivity, liquid";
    /// Solid fraction up to which liquid flows through it to where metal is wanted.
    feeds_until: Ratio = "feeds-until", "solid fraction to which it feeds";
    /// Volume lost on freezing; negative where it grows.
    shrinkage: Ratio = "shrinkage", "shrinkage on freezing";
    /// Speed limit at the ingate.
    ingate_speed: Speed = "ingate-speed", "ingate speed limit";
    /// Of the liquid near pouring.
    viscosity: Viscosity = "viscosity", "viscosity";
    /// Freezing time over the square of the modulus, as timed on castings of one's own; reckoned
    /// from the properties where there is none.
    mould_constant: TimePerArea = "mould-constant", "mould constant";
    /// Shake out below this.
    shake_out: Temperature = "shake-out", "shake-out temperature";
    /// Most returns that a charge may hold.
    returns_share: Ratio = "returns-share", "share of returns";
}
