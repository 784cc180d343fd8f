use super::table::tabled;
use crate::figure::*;
use crate::yaml::Fields;
use std::sync::Arc;

/// What is rammed up in a mould to cool metal or to keep it hot.
#[derive(Debug, Clone)]
pub struct Insert {
    /// Its id.
    pub id: Arc<str>,
    /// What it is called.
    pub title: Arc<str>,
    /// Heat conductivity.
    pub conductivity: Figure<Conductivity>,
    /// Density.
    pub density: Figure<Density>,
    /// Specific heat.
    pub heat: Figure<SpecificHeat>,
    /// Heat transfer where metal touches it; perfect where it is not told.
    pub contact: Option<Figure<HeatTransfer>>,
}

impl Insert {
    /// Every figure of it.
    pub fn figures(&self) -> Vec<&Node> {
        let always = [self.conductivity.node(), self.density.node(), self.heat.node()];
        always.into_iter().chain(self.contact.as_ref().map(Figure::node)).collect()
    }

    pub(super) fn read(id: Arc<str>, fields: &mut Fields<'_>) -> Option<Self> {
        let title = fields.need("title", "Iron chill", |c| c.text());
        let conductivity = fields.need("conductivity", "40 W/mK", |c| tabled(c, "conductivity"));
        let density = fields.need("density", "7.2 g/cm3", |c| tabled(c, "density"));
        let heat = fields.need("heat", "560 J/kgK", |c| tabled(c, "specific heat"));
        let contact = fields.take("contact", |c| tabled(c, "heat transfer from metal to it"));
        let (conductivity, density, heat) = (conductivity?, density?, heat?);
        Some(Self { id, title: title?, conductivity, density, heat, contact })
    }
}
