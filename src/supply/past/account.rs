//! One stock: what is there, where it came from and where it went.

use crate::manifest::Id;
use crate::supply::flow::Point;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// How a material came in, or where it went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Way {
    /// It lay there at the start, by the manifest.
    Start,
    /// It was received.
    Received,
    /// A count, a scale or a charge found more than was known of.
    Found,
    /// It was charged out of another stock, or out of none that is kept.
    FromOther,
    /// It was charged for another alloy.
    ToOther,
    /// It was given away.
    GivenAway,
    /// Melting took it.
    Melted,
    /// Sawn off and not brought back: kerf, chips, what sand clings to.
    Sawn,
    /// Machined off castings.
    Chips,
    /// Sand that did not come back from a mould.
    SandLost,
    /// It was used up.
    UsedUp,
    /// A count or a scale missed it.
    Missing,
}

impl Way {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Start => "there at the start",
            Self::Received => "received",
            Self::Found => "more than was on record",
            Self::FromOther => "charged from other metal",
            Self::ToOther => "charged for another alloy",
            Self::GivenAway => "given away",
            Self::Melted => "lost in melting",
            Self::Sawn => "sawn off and lost",
            Self::Chips => "machined to chips",
            Self::SandLost => "sand lost in moulds",
            Self::UsedUp => "used up",
            Self::Missing => "missing at a count",
        }
    }

    /// Whether the material came in by it.
    pub fn is_in(self) -> bool {
        matches!(self, Self::Start | Self::Received | Self::Found | Self::FromOther)
    }
}

/// What came onto the pile of returns, or went from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::supply) enum Back {
    /// Given, received, or given away.
    Came,
    /// Gates and feeders that were sawn off.
    Gates,
    /// Heels that were pigged, and what was poured into no mould.
    Pigged,
    /// Castings that were scrapped.
    Scrapped,
    /// Charged again.
    Charged,
    /// What lay there before anybody told of it, and what a count put right.
    Corrected,
}

impl Back {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Came => "given or received",
            Self::Gates => "gates and feeders, sawn off",
            Self::Pigged => "heels and pigs",
            Self::Scrapped => "castings scrapped",
            Self::Charged => "charged again",
            Self::Corrected => "corrected by a count or a charge",
        }
    }
}

/// A stock by now; of an alloy, all of its metal.
#[derive(Debug, Clone, Default)]
pub(in crate::supply) struct Stock {
    /// Where it is, kg.
    pub now: Point,
    /// All that came in, less what was given away, kg.
    pub put_in: f64,
    /// Whether somebody told what is there: charging takes ingot from the stock only then.
    pub kept: bool,
    /// The day of the last count.
    pub counted: Option<NaiveDate>,
    /// What was there at that count, or by the manifest, kg.
    pub began: f64,
    /// What came since, less what was given away, kg.
    pub came: f64,
    /// All that ever came in, and all that is gone, kg.
    pub ways: BTreeMap<Way, f64>,
    /// What came onto the pile of returns, less what went from it, kg.
    pub back: BTreeMap<Back, f64>,
    /// Heats without a charge in the journal, and what was taken for each, as estimated, kg.
    pub uncharged: Vec<(Id, f64)>,
}

impl Stock {
    pub(super) fn goes(&mut self, way: Way, mass: f64) {
        if mass != 0.0 {
            *self.ways.entry(way).or_default() += mass;
        }
    }

    /// More came in than was known of, or less is there than was.
    pub(super) fn corrected(&mut self, more: f64) {
        self.put_in += more.max(0.0);
        self.now.lost += (-more).max(0.0);
        self.goes(Way::Found, more.max(0.0));
        self.goes(Way::Missing, (-more).max(0.0));
    }

    pub(super) fn returns(&mut self, back: Back, mass: f64) {
        self.now.returns += mass;
        *self.back.entry(back).or_default() += mass;
    }

    /// What was taken of the shelf, or of the returns, though nobody gave it: it lay there.
    pub(super) fn lay_there(&mut self, returns: bool) {
        let there = if returns { self.now.returns } else { self.now.stock };
        let found = (-there).max(0.0);
        self.corrected(found);
        match returns {
            true => self.returns(Back::Corrected, found),
            false => self.now.stock += found,
        }
    }
}
