//! Work in time: what is tried, and where everything lies.

use crate::plan::calendar::Minute;

/// An order of priority and a grouping of moulds into heats.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Priority of each item; the higher goes first.
    pub keys: Vec<f64>,
    /// Moulds of each heat.
    pub heats: Vec<Vec<usize>>,
}

/// What kept a heat from an earlier session.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum Obstacle {
    /// Too little unbroken time was left in the session.
    Time,
    /// The furnace was melting another heat, or had melted all it can in a session.
    Furnace,
    /// The crucible was in another heat.
    Crucible,
    /// The people that the full pot takes were not in the shop together.
    Hands,
    /// The shop does not pour on that day.
    Day,
    /// Every flask of this kind held a mould.
    Flask(usize),
    /// The sand was in other moulds.
    Sand,
}

/// One person's time on an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    /// Who, by index.
    pub person: usize,
    /// From when.
    pub from: Minute,
    /// Until when.
    pub to: Minute,
}

/// An item in time.
#[derive(Debug, Clone, Default)]
pub struct Placed {
    /// Its pieces; none for a wait.
    pub pieces: Vec<Piece>,
    /// When it begins.
    pub start: Minute,
    /// When its work is over.
    pub end: Minute,
    /// When what follows can begin.
    pub ready: Minute,
}

/// A heat in time.
#[derive(Debug, Clone)]
pub struct PlacedHeat {
    /// Its moulds.
    pub moulds: Vec<usize>,
    /// Crucibles, by index.
    pub pots: Vec<usize>,
    /// Who helps to lift and pour, by index.
    pub hands: Vec<usize>,
    /// The furnace, by index.
    pub furnace: usize,
    /// When the furnace is lit.
    pub lit: Minute,
    /// When melting begins.
    pub melt: Minute,
    /// Whether the furnace was hot from the heat before.
    pub hot: bool,
    /// When pouring begins.
    pub pour: Minute,
    /// When it is over.
    pub over: Minute,
    /// Who melts and pours, by index.
    pub person: usize,
    /// What kept it from the session before, and when that was.
    pub held: Option<(Obstacle, Minute)>,
}

/// All the work in time.
#[derive(Debug, Clone)]
pub struct Layout {
    /// By item.
    pub items: Vec<Placed>,
    /// In the order they were placed.
    pub heats: Vec<PlacedHeat>,
    /// Ends of sessions that are kept for clearing up after heats.
    pub clear_ups: Vec<Piece>,
    /// Items in the order they were placed.
    pub order: Vec<usize>,
}

impl Layout {
    /// When all is finished.
    pub fn finish(&self) -> Minute {
        self.items.iter().map(|p| p.ready).max().unwrap_or(0)
    }
}
