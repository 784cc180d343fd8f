//! From the finished part to the pattern, size by size: one account for every page.

use super::{plain, shown};
use crate::estimate::PatternSheet;
use crate::figure::{Figure, Length, System};
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

/// Over all first, then every size of every solid.
pub(in crate::view) fn chain_rows(sheet: &PatternSheet, units: System) -> Vec<ChainRow> {
    let say = |f: &Figure<Length>| shown(f.node(), units, "", "").shown;
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
