//! What the freezing of a casting depends on.

use crate::figure::{Figure, Quantity};
use crate::handbook::{Alloy, Insert, Sand};
use crate::heatflow::{Inert, Melt};
use crate::shape::{Body, Placed};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// Temperature of shop and sand, C; common practice.
pub(super) const SHOP: f64 = 20.0;
/// Changed with whatever changes an answer for the same setup.
const VERSION: u8 = 7;

/// Which end of what is not known for sure.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Run {
    /// Sand that takes up the most heat, moist where it holds water; least latent heat.
    Fast,
    /// The handbook's planning values, metal and sand in perfect contact.
    Likely,
    /// Sand that takes up the least heat, in bad contact; most latent heat.
    Slow,
}

impl Run {
    /// The three of them, in order of time.
    pub const ALL: [Self; 3] = [Self::Fast, Self::Likely, Self::Slow];

    /// The end of a figure that makes it fast: high for what a sand takes up.
    fn of<Q: Quantity>(self, figure: &Figure<Q>) -> f64 {
        match self {
            Self::Fast => figure.high(),
            Self::Likely => figure.si(),
            Self::Slow => figure.node().range().low,
        }
    }
}

/// Feeders as made, all alike, each on its neck.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Feeders {
    /// How many.
    pub number: usize,
    /// m.
    pub diameter: f64,
    /// m.
    pub height: f64,
    /// m.
    pub neck: f64,
    /// m.
    pub neck_length: f64,
    /// Whether each wears an insulating sleeve.
    pub sleeved: bool,
}

impl Feeders {
    /// Of all of them and their necks, m3.
    pub fn volume(&self) -> f64 {
        let rod = |d: f64, length: f64| std::f64::consts::FRAC_PI_4 * d * d * length;
        self.number as f64 * (rod(self.diameter, self.height) + rod(self.neck, self.neck_length))
    }
}

/// Feeders by the rule of thumb, from which heat flow tries on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// Those of the rule.
    pub feeders: Feeders,
    /// All of them must hold so much, that there is metal enough, m3.
    pub least: f64,
    /// Diameters go in steps of this, m.
    pub step: f64,
    /// Whether others are tried from them; else they stay as they are.
    pub tries: bool,
}

impl Advice {
    /// Feeders of this diameter, all else in proportion, and no others tried.
    #[must_use]
    pub fn fixed(self, diameter: f64) -> Self {
        let f = self.feeders;
        let by = diameter / f.diameter;
        let feeders = Feeders {
            diameter,
            height: f.height * by,
            neck: f.neck * by,
            neck_length: f.neck_length * by,
            ..f
        };
        Self { feeders, tries: false, ..self }
    }
}

/// The middle of the foot of a feeder's neck, m as the casting is.
pub type Foot = [f64; 3];

/// Feeders where they stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Fed {
    /// What they are.
    pub feeders: Feeders,
    /// Where each stands.
    pub feet: Vec<Foot>,
}

/// What the mould of a casting leaves room for.
pub trait Room {
    /// The way in, laid out with these feeders or with those of the rule of thumb.
    fn way_in(&self, fed: Option<&Fed>) -> Option<Ways>;

    /// The place nearest to this one where such a feeder can stand beside those that do; none where
    /// there is none. Where nothing is known of the mould: the place itself.
    fn foot(&self, near: Foot, _of: &Feeders, _beside: &[Foot]) -> Option<Foot> {
        Some(near)
    }
}

/// A casting by itself: no way in, and feeders wherever they are set.
pub struct Alone;

impl Room for Alone {
    fn way_in(&self, _: Option<&Fed>) -> Option<Ways> {
        None
    }
}

/// An ingate: a box from the runner to the casting, m as the casting is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ingate {
    /// The corner with the least coordinates.
    pub low: [f64; 3],
    /// The other.
    pub high: [f64; 3],
    /// The axis along which the metal runs in, 0 or 1.
    pub along: usize,
    /// Whether it runs towards the high side.
    pub up: bool,
}

/// The way in for the metal as it is laid out beside the casting, m as the casting is.
#[derive(Debug, Clone)]
pub struct Ways {
    /// Those that meet this casting.
    pub ingates: Vec<Ingate>,
    /// Runner, well and sprue.
    pub runner: Vec<Placed>,
}

impl Ways {
    /// A name for all of it.
    pub fn name(&self) -> String {
        // To a ten-thousandth of a millimetre: no more is kept of what it was laid out around.
        let says = format!("{self:.7?}").replace("-0.0000000", "0.0000000");
        hex(&Sha256::digest(says))
    }

    /// The same on the other side of a casting in this box (m).
    #[must_use]
    pub fn across(mut self, [low, high]: [[f64; 3]; 2]) -> Self {
        let Some(along) = self.ingates.first().map(|gate| gate.along) else { return self };
        let other = |at: f64| low[along] + high[along] - at;
        for gate in &mut self.ingates {
            let [a, b] = [gate.low[along], gate.high[along]].map(other);
            (gate.low[along], gate.high[along]) = (b, a);
            gate.up = !gate.up;
        }
        for frame in self.runner.iter_mut().flat_map(|placed| &mut placed.frames) {
            frame.at[along] = other(frame.at[along]);
        }
        self
    }
}

/// A chill against the underside of the casting.
#[derive(Debug, Clone)]
pub struct Chill {
    /// What it is made of.
    pub of: Insert,
    /// It lies under this place, m.
    pub under: [f64; 3],
    /// Its length and width, and its thickness, m.
    pub size: [f64; 2],
}

impl Chill {
    /// Under a place where a ball of this size (m) fits: half as long and wide again, and as thick as
    /// four fifths of it (common practice, no source).
    pub fn under(of: Insert, under: [f64; 3], ball: f64) -> Self {
        Self { of, under, size: [1.5 * ball, 0.8 * ball] }
    }
}

/// What the freezing of a casting depends on.
#[derive(Debug, Clone)]
pub struct Setup {
    /// As it is cast, z up, m.
    pub body: Arc<Body>,
    /// By which the body is drawn too large.
    pub oversize: f64,
    /// Its metal.
    pub alloy: Arc<Alloy>,
    /// What it is poured into.
    pub sand: Arc<Sand>,
    /// What feeds it, where it is to be fed.
    pub advice: Option<Advice>,
    /// Of which sleeves are made.
    pub sleeve: Insert,
    /// Its cores with their prints, as the body is drawn.
    pub cores: Vec<Placed>,
    /// What those are made of.
    pub core_sand: Arc<Sand>,
    /// Feeders that stand, where none are to be tried; nothing of it is kept.
    pub standing: Option<Fed>,
    /// A chill, where one is supposed; nothing of it is kept.
    pub chill: Option<Chill>,
    /// Whether the way in is supposed on the other side; nothing of it is kept.
    pub gate_across: bool,
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

impl Setup {
    /// The box of the casting, m.
    pub fn bounds(&self) -> [[f64; 3]; 2] {
        self.body.bounds().map(|corner| corner.map(|x| x / self.oversize))
    }

    /// What is not known but needed, as the manifest names it.
    pub fn lacking(&self) -> Vec<&'static str> {
        let (a, s) = (&*self.alloy, &*self.sand);
        let known = [
            ("liquid-density", a.liquid_density.is_some()),
            ("liquidus", a.liquidus.is_some()),
            ("solidus", a.solidus.is_some()),
            ("pours", a.pours.is_some()),
            ("latent-heat", a.latent_heat.is_some()),
            ("solid-heat", a.solid_heat.is_some()),
            ("liquid-heat", a.liquid_heat.is_some()),
            ("solid-conductivity", a.solid_conductivity.is_some()),
            ("liquid-conductivity", a.liquid_conductivity.is_some()),
            ("feeds-until", a.feeds_until.is_some()),
            ("rammed-density of the sand", s.rammed_density.is_some()),
            ("conductivity of the sand", s.conductivity.is_some()),
            ("heat of the sand", s.heat.is_some()),
        ];
        known.into_iter().filter(|(_, is)| !is).map(|(name, _)| name).collect()
    }

    pub(super) fn melt(&self, run: Run) -> Option<Melt> {
        let a = &*self.alloy;
        let latent = a.latent_heat.as_ref()?;
        let celsius = |t: f64| t - 273.15;
        let liquidus = celsius(a.liquidus.as_ref()?.si());
        Some(Melt {
            density: a.liquid_density.as_ref()?.si(),
            solidus: celsius(a.solidus.as_ref()?.si()).min(liquidus),
            liquidus,
            latent: match run {
                Run::Fast => latent.node().range().low,
                Run::Likely => latent.si(),
                Run::Slow => latent.high(),
            },
            heat: [a.solid_heat.as_ref()?.si(), a.liquid_heat.as_ref()?.si()],
            conductivity: [
                a.solid_conductivity.as_ref()?.si(),
                a.liquid_conductivity.as_ref()?.si(),
            ],
            mushy: None,
            critical: a.feeds_until.as_ref()?.si(),
            start: celsius(a.pours.as_ref()?.si()).max(liquidus),
        })
    }

    pub(super) fn sand(&self, run: Run) -> Option<Inert> {
        rammed(&self.sand, run)
    }

    /// Of the cores; the mould's own sand where theirs is not known.
    pub(super) fn core_sand(&self, run: Run) -> Option<Inert> {
        rammed(&self.core_sand, run).or_else(|| self.sand(run))
    }

    pub(super) fn chill(&self, run: Run) -> Option<Inert> {
        let of = &self.chill.as_ref()?.of;
        Some(Inert {
            conductivity: of.conductivity.si(),
            density: of.density.si(),
            heat: of.heat.si(),
            start: SHOP,
            water: 0.0,
            contact: of.contact.as_ref().map(|contact| run.of(contact)),
        })
    }

    pub(super) fn sleeve(&self) -> Inert {
        Inert {
            conductivity: self.sleeve.conductivity.si(),
            density: self.sleeve.density.si(),
            heat: self.sleeve.heat.si(),
            start: SHOP,
            water: 0.0,
            contact: None,
        }
    }

    /// Below these the casting may be shaken out, C: the highest, the likely and the lowest told.
    pub fn shake_out(&self) -> Option<[f64; 3]> {
        let told = self.alloy.shake_out.as_ref()?;
        Some([told.high(), told.si(), told.node().range().low].map(|t| t - 273.15))
    }

    /// A name for all that the answer depends on.
    pub fn hash(&self) -> String {
        let mut hash = Sha256::new();
        hash.update([VERSION]);
        let mesh = self.body.mesh();
        for vertex in &mesh.vertices {
            vertex.iter().for_each(|x| hash.update(x.to_le_bytes()));
        }
        for triangle in &mesh.triangles {
            triangle.iter().for_each(|i| hash.update(i.to_le_bytes()));
        }
        let says = format!(
            "{:?}",
            (
                self.oversize,
                Run::ALL.map(|run| (self.melt(run), self.sand(run))),
                self.advice,
                self.advice.filter(|a| a.feeders.sleeved).map(|_| self.sleeve()),
                self.shake_out(),
                (!self.cores.is_empty())
                    .then(|| (&self.cores, Run::ALL.map(|run| self.core_sand(run)))),
            )
        );
        hash.update(says.as_bytes());
        hex(&hash.finalize())
    }
}

fn rammed(s: &Sand, run: Run) -> Option<Inert> {
    let water = s.additions.iter().find(|(name, _)| &**name == "water");
    Some(Inert {
        conductivity: run.of(s.conductivity.as_ref()?),
        density: run.of(s.rammed_density.as_ref()?),
        heat: run.of(s.heat.as_ref()?),
        start: SHOP,
        water: water.filter(|_| run == Run::Fast).map_or(0.0, |(_, w)| w.si()),
        contact: s.contact.as_ref().filter(|_| run == Run::Slow).map(|c| c.node().range().low),
    })
}

/// Why the freezing of a casting cannot be computed.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Refusal {
    /// Its body is not known.
    Shape,
    /// The sand is not known.
    Sand,
    /// These properties are not known.
    Lacks(Vec<&'static str>),
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Shape => {
                f.write_str("its body is not known: give it a mesh, or solids with their places")
            }
            Self::Sand => f.write_str("its pattern names no sand"),
            Self::Lacks(what) => write!(f, "not known: {}", what.join(", ")),
        }
    }
}
