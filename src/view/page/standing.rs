//! Marks of the standings of parts.

use crate::model::Standing;

/// Name of the mark of a standing.
pub(in crate::view) fn mark(standing: Standing) -> &'static str {
    match standing {
        Standing::Waiting => "waiting",
        Standing::InHand => "in-hand",
        Standing::Redo => "redo",
        Standing::Cast => "cast",
        Standing::Finished => "finished",
    }
}

/// Every standing in the order of the legend.
pub(in crate::view) const STANDINGS: [Standing; 5] =
    [Standing::Finished, Standing::Cast, Standing::InHand, Standing::Redo, Standing::Waiting];
