//! How heat content, temperature and conduction of a substance hang together.

/// A substance that is poured liquid and freezes over a range of temperatures. The latent heat is
/// given off in proportion to temperature between liquidus and solidus; specific heat is there the
/// mean of solid and liquid, conductivity is mixed in proportion to the solid fraction.
#[derive(Debug, Clone, PartialEq)]
pub struct Melt {
    /// Of the liquid; one density serves both states, kg/m3.
    pub density: f64,
    /// Below this all is solid, C.
    pub solidus: f64,
    /// Above this all is liquid, C.
    pub liquidus: f64,
    /// Given off between liquidus and solidus, J/kg.
    pub latent: f64,
    /// Specific heat of the solid and of the liquid, J/kgK.
    pub heat: [f64; 2],
    /// Conductivity of the solid and of the liquid, W/mK.
    pub conductivity: [f64; 2],
    /// Conductivity between solidus and liquidus, where it is not mixed from the two, W/mK.
    pub mushy: Option<f64>,
    /// Solid fraction at which liquid stops flowing.
    pub critical: f64,
    /// Temperature at the start, C.
    pub start: f64,
}

/// A substance that only warms and cools, but may hold water.
#[derive(Debug, Clone, PartialEq)]
pub struct Inert {
    /// Conductivity, W/mK.
    pub conductivity: f64,
    /// Density, kg/m3.
    pub density: f64,
    /// Specific heat, J/kgK.
    pub heat: f64,
    /// Temperature at the start, C.
    pub start: f64,
    /// Mass of water over mass of the substance. It boils at 100 C and is gone.
    pub water: f64,
    /// Heat transfer coefficient where it touches the melt, W/m2K; perfect contact where none.
    pub contact: Option<f64>,
}

/// Heat taken to boil water at 100 C, J/kg, and specific heat of water, J/kgK (steam tables).
const WATER: (f64, f64) = (2.257e6, 4186.0);
/// Boiling is spread over this range, C.
const BOILS: [f64; 2] = [99.5, 100.5];

/// Heat per volume, nought at the lower end of the range of change, against temperature: straight
/// below, in and above that range. The potential is the conductivity summed over temperature, so
/// that a flow between two cells of one substance is the difference of their potentials.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Law {
    from: f64,
    /// Heat per volume and kelvin below and above the range, J/m3K.
    pub(super) capacity: [f64; 2],
    /// Heat taken over the range, J/m3, and its inverse (nought where there is no range).
    pub(super) range: f64,
    per_range: f64,
    span: f64,
    conductivity: [f64; 2],
    mixed: [f64; 2],
    below: f64,
    above: f64,
}

impl Melt {
    pub(super) fn law(&self) -> Law {
        let span = self.liquidus - self.solidus;
        let mean = 0.5 * (self.heat[0] + self.heat[1]);
        let range = self.density * (self.latent + mean * span);
        let mixed = match self.mushy {
            Some(k) => [k, 0.0],
            None => [self.conductivity[0], 0.5 * (self.conductivity[1] - self.conductivity[0])],
        };
        Law::new(
            self.solidus,
            span,
            range,
            self.heat.map(|c| c * self.density),
            self.conductivity,
            mixed,
        )
    }
}

impl Inert {
    pub(super) fn law(&self) -> Law {
        let dry = self.density * self.heat;
        let k = self.conductivity;
        if self.water == 0.0 {
            return Law::new(0.0, 0.0, 0.0, [dry; 2], [k; 2], [k, 0.0]);
        }
        let water = self.density * self.water;
        let span = BOILS[1] - BOILS[0];
        let wet = dry + water * WATER.1;
        Law::new(BOILS[0], span, water * WATER.0 + dry * span, [wet, dry], [k; 2], [k, 0.0])
    }

    /// How quickly warmth spreads in it, m2/s.
    pub(super) fn diffusivity(&self) -> f64 {
        self.conductivity / (self.density * self.heat)
    }
}

impl Law {
    fn new(
        from: f64,
        span: f64,
        range: f64,
        capacity: [f64; 2],
        conductivity: [f64; 2],
        mixed: [f64; 2],
    ) -> Self {
        Self {
            from,
            capacity,
            range,
            per_range: if range > 0.0 { 1.0 / range } else { 0.0 },
            span,
            conductivity,
            mixed: mixed.map(|k| k * span),
            below: conductivity[0] / capacity[0],
            above: conductivity[1] / capacity[1],
        }
    }

    /// Heat per volume at a temperature; of a substance that changes at one temperature, after the
    /// change.
    pub(super) fn heat(&self, temperature: f64) -> f64 {
        let over = temperature - self.from;
        if over < 0.0 {
            over * self.capacity[0]
        } else if over < self.span {
            over / self.span * self.range
        } else {
            self.range + (over - self.span) * self.capacity[1]
        }
    }

    fn parts(&self, heat: f64) -> (f64, f64, f64) {
        let share = (heat * self.per_range).clamp(0.0, 1.0);
        (heat.min(0.0), share, (heat - self.range).max(0.0))
    }

    pub(super) fn temperature(&self, heat: f64) -> f64 {
        let (below, share, above) = self.parts(heat);
        self.from + below / self.capacity[0] + share * self.span + above / self.capacity[1]
    }

    #[inline]
    pub(super) fn potential(&self, heat: f64) -> f64 {
        let (below, share, above) = self.parts(heat);
        below * self.below + share * (self.mixed[0] + share * self.mixed[1]) + above * self.above
    }

    /// Conductivity at a heat content.
    pub(super) fn conductivity(&self, heat: f64) -> f64 {
        let (below, share, above) = self.parts(heat);
        if below < 0.0 || self.span == 0.0 && above == 0.0 {
            self.conductivity[0]
        } else if above > 0.0 {
            self.conductivity[1]
        } else {
            (self.mixed[0] + 2.0 * share * self.mixed[1]) / self.span
        }
    }

    /// The quickest that warmth spreads in it in any state, m2/s.
    pub(super) fn quickest(&self) -> f64 {
        let mushy = (self.mixed[0].max(self.mixed[0] + 2.0 * self.mixed[1])) * self.per_range;
        self.below.max(self.above).max(mushy)
    }

    /// The highest conductivity in any state.
    pub(super) fn best(&self) -> f64 {
        self.conductivity[0].max(self.conductivity[1])
    }

    /// Least heat per kelvin in any state, J/m3K.
    pub(super) fn least(&self) -> f64 {
        self.capacity[0].min(self.capacity[1])
    }
}
