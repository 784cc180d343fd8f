use super::Alloy;
use super::step::Step;
use super::table::tabled;
use crate::figure::*;
use crate::yaml::{Code, Cursor, Tree};
use std::sync::Arc;

/// By what a consumable is measured out.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Rate {
    /// A share of the metal charged.
    OfMetal(Figure<Ratio>),
    /// On the parting, by the inside of the flask.
    OfJoint(Figure<MassPerArea>),
    /// On the surface of the castings.
    OfSurface(Figure<MassPerArea>),
    /// For each mould.
    OfMould(Figure<Amount>),
    /// For each heat.
    OfHeat(Figure<Amount>),
    /// For the whole build: patterns, gear, tools.
    OfBuild(Figure<Amount>),
}

/// What a melt or a mould uses up beside metal, sand and fuel.
#[derive(Debug, Clone)]
pub struct Consumable {
    /// Its id.
    pub id: Arc<str>,
    /// What it is called.
    pub title: Arc<str>,
    /// The alloys, families or sands that take it; every mould where none is named.
    pub takers: Vec<Arc<str>>,
    /// How much.
    pub rate: Rate,
    /// The work before which it must be there, where it is for the whole build.
    pub before: Step,
    /// What is done with it beside the furnace, and how long that takes.
    pub how: Option<Arc<str>>,
}

impl Rate {
    /// The figure, whatever it goes by.
    pub fn node(&self) -> &Node {
        match self {
            Self::OfMetal(f) => f.node(),
            Self::OfJoint(f) | Self::OfSurface(f) => f.node(),
            Self::OfMould(f) | Self::OfHeat(f) | Self::OfBuild(f) => f.node(),
        }
    }

    /// Whether it is counted in pieces.
    pub fn is_counted(&self) -> bool {
        self.node().kind() == Kind::Pieces
    }
}

impl Consumable {
    /// Whether a mould of this alloy in this sand takes it.
    pub fn goes_with(&self, alloy: &Alloy, sand: Option<&str>) -> bool {
        let is = |taker: &Arc<str>| {
            **taker == *alloy.id || **taker == *alloy.family.word() || sand == Some(taker)
        };
        self.takers.is_empty() || self.takers.iter().any(is)
    }

    /// Reads one, starting from another where there is one of this id.
    pub(super) fn read(
        id: Arc<str>,
        base: Option<&Self>,
        cursor: &Cursor<'_>,
        known: &[Arc<str>],
    ) -> Option<Self> {
        let mut f = cursor.fields()?;
        let title = f.take("title", |c| c.text()).or_else(|| base.map(|b| b.title.clone()));
        let takers =
            f.get("for").map(|c| c.items().iter().filter_map(|c| taker(c, known)).collect());
        let how = f.take("how", |c| c.text()).or_else(|| base.and_then(|b| b.how.clone()));
        let before = f.take("before", |c| c.choice(Step::WORDS));
        let present =
            f.present(&["of-metal", "of-joint", "of-surface", "of-mould", "of-heat", "of-build"]);
        let metal = f.take("of-metal", |c| sane(c, tabled(c, "share of the metal charged")));
        let joint = f.take("of-joint", |c| sane(c, tabled(c, "on the joint")));
        let surface = f.take("of-surface", |c| sane(c, tabled(c, "on the castings")));
        let mould = f.take("of-mould", |c| c.amount("for each mould", false));
        let heat = f.take("of-heat", |c| c.amount("for each heat", false));
        let whole = f.take("of-build", |c| c.amount("for the whole build", false));
        if whole.is_none()
            && f.present(&["of-build"]).is_empty()
            && !f.present(&["before"]).is_empty()
        {
            let hint = "`before: pattern` goes with `of-build: 3 pieces`";
            f.cursor().fault(Code::Shape, "only what is for the whole build has a `before`", hint);
        }
        f.done();
        if present.len() > 1 || (present.is_empty() && base.is_none()) {
            let (code, says) = match present.len() {
                0 => (Code::MissingKey, "nothing says how much is taken"),
                _ => (Code::Shape, "how much is taken is given in more than one way"),
            };
            let hint = "give one: `of-metal: 0.2 %`, `of-joint: 50 g/m2`, `of-surface: 350 g/m2`, `of-mould: 2 pieces`, `of-heat: 1 piece` or `of-build: 3 pieces`; `none` leaves it out";
            cursor.fault_at_key(code, says, hint);
            return None;
        }
        let rate = metal
            .map(Rate::OfMetal)
            .or(joint.map(Rate::OfJoint))
            .or(surface.map(Rate::OfSurface))
            .or(mould.map(Rate::OfMould))
            .or(heat.map(Rate::OfHeat))
            .or(whole.map(Rate::OfBuild))
            .or_else(|| base.filter(|_| present.is_empty()).map(|b| b.rate.clone()))?;
        let takers = takers.or_else(|| base.map(|b| b.takers.clone())).unwrap_or_default();
        let before = before.or_else(|| base.map(|b| b.before)).unwrap_or(Step::Pour);
        Some(Self { title: title.unwrap_or_else(|| id.clone()), id, takers, rate, before, how })
    }
}

/// Not below zero, and no more than the metal itself or 50 kg on a square metre.
fn sane<Q: Quantity>(cursor: &Cursor<'_>, figure: Option<Figure<Q>>) -> Option<Figure<Q>> {
    let figure = figure?;
    let range = figure.node().range();
    let most = if Q::KIND == Kind::Ratio { 1.0 } else { 50.0 };
    if range.low < 0.0 || range.high > most {
        let example = Q::KIND.example();
        cursor.fault(
            Code::Size,
            "nobody takes so much, or less than nothing",
            format!("try {example}"),
        );
        return None;
    }
    Some(figure)
}

fn taker(cursor: &Cursor<'_>, known: &[Arc<str>]) -> Option<Arc<str>> {
    let name = cursor.text()?;
    if known.contains(&name) {
        return Some(name);
    }
    let hint = match crate::yaml::nearest(&name, known.iter().map(|k| &**k)) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "an alloy, a family such as `aluminium`, or a sand".into(),
    };
    cursor.fault(Code::Word, format!("no alloy, family or sand is called `{name}`"), hint);
    None
}

/// Whether an entry is `none`: the shop does without.
pub(super) fn is_none(cursor: &Cursor<'_>) -> bool {
    matches!(cursor.tree(), Tree::Text(text) if **text == *"none")
}
