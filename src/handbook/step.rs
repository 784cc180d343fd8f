/// A piece of work on a part. The words are the trade's; the order is that of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Step {
    /// Make the pattern.
    Pattern,
    /// Make the cores.
    Core,
    /// Ram up the mould.
    Ram,
    /// Melt and pour.
    Pour,
    /// Let it cool and shake it out.
    ShakeOut,
    /// Cut off gates and feeders, clean.
    Fettle,
    /// Look, measure, decide.
    Inspect,
    /// Relieve stress or age.
    Relieve,
    /// Order, wait, receive.
    Receive,
    /// Make from stock.
    Make,
    /// Machine.
    Machine,
    /// Scrape in.
    Scrape,
    /// Fit to the machine.
    Fit,
}

impl Step {
    /// The words a manifest and journal use.
    pub const WORDS: &'static [(&'static str, Step)] = &[
        ("pattern", Step::Pattern),
        ("core", Step::Core),
        ("ram", Step::Ram),
        ("pour", Step::Pour),
        ("shake-out", Step::ShakeOut),
        ("fettle", Step::Fettle),
        ("inspect", Step::Inspect),
        ("relieve", Step::Relieve),
        ("receive", Step::Receive),
        ("make", Step::Make),
        ("machine", Step::Machine),
        ("scrape", Step::Scrape),
        ("fit", Step::Fit),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, s)| *s == self).map_or("", |(w, _)| w)
    }

    /// Whether something on it dries or cures that the handbook knows a time for: paint on a
    /// pattern, the binder of a core, the wash of a mould.
    pub fn dries(self) -> bool {
        matches!(self, Self::Pattern | Self::Core | Self::Ram)
    }

    /// The step with this word.
    pub fn from_word(word: &str) -> Option<Step> {
        Self::WORDS.iter().find(|(w, _)| *w == word).map(|(_, s)| *s)
    }
}
