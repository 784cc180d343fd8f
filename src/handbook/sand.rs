use super::table::tabled;
use crate::figure::*;
use crate::yaml::Fields;
use std::sync::Arc;

/// A moulding sand.
#[derive(Debug, Clone)]
pub struct Sand {
    /// Its id.
    pub id: Arc<str>,
    /// What it is called.
    pub title: Arc<str>,
    /// Rammed.
    pub rammed_density: Option<Figure<Density>>,
    /// What is mixed in, as a share of the sand by mass.
    pub additions: Vec<(Arc<str>, Figure<Ratio>)>,
    /// Whether its bond is spent in each use, so that what is mixed in goes into all of it again;
    /// else only into what is lost and made up.
    pub sets: bool,
    /// Share lost in each use.
    pub loss: Option<Figure<Ratio>>,
    /// Heat conductivity.
    pub conductivity: Option<Figure<Conductivity>>,
    /// Specific heat.
    pub heat: Option<Figure<SpecificHeat>>,
    /// Heat transfer where metal touches it.
    pub contact: Option<Figure<HeatTransfer>>,
    /// How long a rammed mould may stand before it is poured.
    pub stands: Option<Figure<Time>>,
    /// What to take care of.
    pub cautions: Vec<Arc<str>>,
}

impl Sand {
    /// Every figure that is known of it, additions aside.
    pub fn figures(&self) -> Vec<&Node> {
        [
            self.rammed_density.as_ref().map(Figure::node),
            self.loss.as_ref().map(Figure::node),
            self.conductivity.as_ref().map(Figure::node),
            self.heat.as_ref().map(Figure::node),
            self.contact.as_ref().map(Figure::node),
            self.stands.as_ref().map(Figure::node),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    pub(super) fn read(id: Arc<str>, base: Option<&Sand>, fields: &mut Fields<'_>) -> Self {
        let title = fields.take("title", |c| c.text());
        let additions = fields.get("additions").map(|cursor| {
            let entries = cursor.entries().into_iter();
            entries.filter_map(|(id, c)| Some((id, tabled(&c, "addition")?))).collect()
        });
        let cautions = fields
            .get("cautions")
            .map(|c| c.items().iter().filter_map(|c| c.text()).collect::<Vec<_>>());
        macro_rules! figure {
            ($key:literal, $name:literal, $field:ident) => {
                fields
                    .take($key, |c| tabled(c, $name))
                    .or_else(|| base.and_then(|b| b.$field.clone()))
            };
        }
        Self {
            title: title.or_else(|| base.map(|b| b.title.clone())).unwrap_or_else(|| id.clone()),
            id,
            rammed_density: figure!("rammed-density", "rammed density", rammed_density),
            additions: additions.or_else(|| base.map(|b| b.additions.clone())).unwrap_or_default(),
            sets: fields
                .take("sets", |c| {
                    c.choice(&[("true", true), ("yes", true), ("false", false), ("no", false)])
                })
                .unwrap_or_else(|| base.is_some_and(|b| b.sets)),
            loss: figure!("loss", "sand lost per use", loss),
            conductivity: figure!("conductivity", "conductivity of the sand", conductivity),
            heat: figure!("heat", "specific heat of the sand", heat),
            contact: figure!("contact", "heat transfer from metal to sand", contact),
            stands: figure!("stands", "time a mould may stand", stands),
            cautions: cautions.or_else(|| base.map(|b| b.cautions.clone())).unwrap_or_default(),
        }
    }
}
