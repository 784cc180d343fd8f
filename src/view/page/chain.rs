//! From the finished part to the pattern, size by size: one account for every page.

use super::{plain, unit};
use crate::estimate::PatternSheet;
use crate::figure::{Figure, Kind, Length, System, show};
use serde::Serialize;

/// A size finished, as cast and on the pattern.
#[derive(Debug, Clone, Serialize)]
pub struct ChainRow {
    /// What it is.
    pub name: String,
    /// What `why` asks for it by, before `-finished`, `-as-cast` and `-pattern`; nothing where the
    /// step stands first.
    pub ask: String,
    /// Finished.
    pub finished: String,
    /// As it comes out of the sand; `solid` where the stock closes it.
    pub as_cast: String,
    /// On the pattern.
    pub pattern: String,
}

/// A size as a rule or a caliper tells it: to a tenth of a millimetre, or a fraction or a hundredth
/// of an inch, however large, so that sizes of one pattern add up.
pub(in crate::view) fn to_the_rule(si: f64, units: System) -> String {
    const INCH: f64 = 0.0254;
    let (value, places, word) = match units {
        System::Metric => (si * 1e3, 1, "mm"),
        System::Us => (si / INCH, 2, "in"),
    };
    let plain = show(Kind::Length, si, units);
    if plain.contains('/') {
        return unit(&plain);
    }
    let text = format!("{value:.places$}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    // What lies at an end lies there to a hair.
    format!("{}\u{a0}{word}", if text == "-0" { "0" } else { text })
}

/// Over all first, then every size of every solid.
pub(in crate::view) fn chain_rows(sheet: &PatternSheet, units: System) -> Vec<ChainRow> {
    let say = |f: &Figure<Length>| to_the_rule(f.si(), units);
    let over_all = sheet.chain.iter().flat_map(|chain| {
        ["length", "width", "depth"].into_iter().enumerate().map(move |(i, along)| ChainRow {
            name: format!("over all, {along}"),
            ask: along.to_owned(),
            finished: say(&chain.finished[i]),
            as_cast: say(&chain.as_cast[i]),
            pattern: say(&chain.pattern[i]),
        })
    });
    let each = sheet.sizes.iter().map(|size| {
        let of = |at: usize| match &size.cast {
            Some(cast) => say(&cast[at]),
            None => "solid".to_owned(),
        };
        ChainRow {
            name: plain(&size.name),
            ask: plain(&size.ask),
            finished: say(&size.finished),
            as_cast: of(0),
            pattern: of(1),
        }
    });
    over_all.chain(each).collect()
}
