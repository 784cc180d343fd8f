//! Dangers, the habits that prevent them, and the work that each concerns.

use super::table::source;
use super::{Alloy, Family, Sand, share};
use crate::figure::{Kind, Range, Source};
use crate::yaml::{Cursor, Fields};
use std::sync::Arc;

/// A danger and the habit that prevents it.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Caution {
    /// Its id.
    pub id: Arc<str>,
    /// The danger's name.
    pub title: Arc<str>,
    /// What can happen.
    pub says: Arc<str>,
    /// The habit that prevents it.
    pub habit: Arc<str>,
    /// When it is to be thought of.
    pub when: When,
    /// Who says so.
    pub source: Source,
    /// Whether it is of one casting, alloy and pot, and stands on the card of its mould.
    pub at_the_mould: bool,
    #[serde(skip)]
    concerns: Vec<Concern>,
}

/// When a danger is to be thought of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum When {
    /// Before the furnace is lit.
    Before,
    /// While it is poured.
    Pouring,
    /// From shaking out on.
    After,
}

/// What work a danger concerns: all that is said must hold.
#[derive(Debug, Clone, Default)]
struct Concern {
    family: Option<Family>,
    /// An element, and the least share that its highest limit must reach.
    holds: Vec<(Arc<str>, Range)>,
    /// Alloys whose composition nobody gave.
    composition_unknown: bool,
    /// Sands into which this is mixed.
    mixed_with: Option<Arc<str>>,
    /// A furnace that burns its fuel.
    burning: bool,
    /// A lift of at least so much, kg.
    lifts: Option<f64>,
    /// A fall from the ingate to the floor of the drag of at least so much, m.
    falls: Option<f64>,
}

/// Work that may be dangerous: what is cast, in what, and how. What is not known is feared.
#[derive(Debug, Clone, Default)]
pub struct Work<'a> {
    /// Alloys that are melted.
    pub alloys: Vec<&'a Alloy>,
    /// Sands that are rammed.
    pub sands: Vec<&'a Sand>,
    /// Whether a furnace burns fuel.
    pub burning: Option<bool>,
    /// The heaviest lift, kg.
    pub lifts: Option<f64>,
    /// The deepest fall from an ingate to the floor of the drag, m.
    pub falls: f64,
}

impl Concern {
    fn read(c: &Cursor<'_>) -> Option<Self> {
        let mut f = c.fields()?;
        let likely = |f: &mut Fields<'_>, key, kind| Some(f.take(key, |c| c.range(kind))?.likely);
        let holds = f.get("holds").map(|c| c.entries()).unwrap_or_default().into_iter();
        let out = Self {
            family: f.take("family", |c| c.choice(Family::WORDS)),
            holds: holds.filter_map(|(element, c)| Some((element, share(&c)?))).collect(),
            composition_unknown: f.take("composition", |c| c.text()).is_some(),
            mixed_with: f.take("mixed-with", |c| c.text()),
            burning: f.take("process", |c| c.text()).is_some(),
            lifts: likely(&mut f, "lifts", Kind::Mass),
            falls: likely(&mut f, "falls", Kind::Length),
        };
        f.done();
        Some(out)
    }

    fn is_met(&self, work: &Work<'_>) -> bool {
        let of_alloy = self.family.is_some() || !self.holds.is_empty() || self.composition_unknown;
        let mixed =
            |with: &Arc<str>| work.sands.iter().any(|s| s.additions.iter().any(|(a, _)| a == with));
        (!of_alloy || work.alloys.iter().any(|a| self.is_of(a)))
            && self.mixed_with.as_ref().is_none_or(mixed)
            && !(self.burning && work.burning == Some(false))
            && self.lifts.is_none_or(|least| work.lifts.is_none_or(|kg| kg >= least))
            && self.falls.is_none_or(|least| work.falls >= least)
    }

    fn is_of(&self, alloy: &Alloy) -> bool {
        let most = |element: &str| alloy.composition.as_ref().map_or(0.0, |c| c.most(element));
        self.family.is_none_or(|f| f == alloy.family)
            && (!self.composition_unknown || alloy.composition.is_none())
            && self.holds.iter().all(|(element, least)| most(element) >= least.likely)
    }
}

impl Caution {
    pub(super) fn read(id: Arc<str>, entry: &Cursor<'_>) -> Option<Self> {
        const WHEN: &[(&str, When)] =
            &[("before", When::Before), ("pouring", When::Pouring), ("after", When::After)];
        let mut f = entry.fields()?;
        let concerns = f.get("concerns").map(|c| c.items()).unwrap_or_default();
        let at_the_mould = f.take("at-the-mould", |c| c.text()).is_some();
        let when = f.need("when", "before, pouring or after", |c| c.choice(WHEN));
        let mut text = |key| f.take(key, |c| c.text());
        let (title, says, habit) = (text("title"), text("says"), text("habit"));
        let source = source(&mut f);
        f.done();
        Some(Self {
            id,
            title: title?,
            says: says?,
            habit: habit?,
            when: when?,
            source: source?,
            at_the_mould,
            concerns: concerns.iter().filter_map(Concern::read).collect(),
        })
    }

    /// Whether this work has this danger: one without conditions is of all work.
    pub fn concerns(&self, work: &Work<'_>) -> bool {
        self.concerns.is_empty() || self.concerns.iter().any(|c| c.is_met(work))
    }
}
