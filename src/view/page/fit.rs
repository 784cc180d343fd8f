//! Whether the shop has the flask and the crucible that a mould asks for.

use super::plain;
use crate::estimate::{CrucibleFit, FlaskFit};
use serde::Serialize;

/// Whether the shop has what a mould asks for.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Fit {
    /// Id of the flask or crucible.
    pub fits: Option<String>,
    /// What is missing.
    pub lacking: Option<String>,
    /// Why it cannot be told.
    pub unknown: Option<String>,
}

pub(in crate::view) fn flask(fit: &FlaskFit) -> Fit {
    match fit {
        FlaskFit::Fits(id) => Fit { fits: Some(plain(id)), ..Fit::default() },
        FlaskFit::Lacking(says) => Fit { lacking: Some(plain(says)), ..Fit::default() },
        FlaskFit::Unknown(says) => Fit { unknown: Some(plain(says)), ..Fit::default() },
    }
}

pub(in crate::view) fn crucible(fit: &CrucibleFit) -> Fit {
    match fit {
        CrucibleFit::Fits(id) => Fit { fits: Some(plain(id)), ..Fit::default() },
        CrucibleFit::Lacking(says) => Fit { lacking: Some(plain(says)), ..Fit::default() },
        CrucibleFit::Unknown(says) => Fit { unknown: Some(plain(says)), ..Fit::default() },
    }
}
