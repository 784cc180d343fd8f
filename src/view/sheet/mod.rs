//! Paper: one sheet, one job, to be read at arm's length and written on.

mod build;
mod heat;
mod mould;
mod order;
mod pen;
mod shared;
mod sketch;
mod weights;

pub use build::BuildSheet;
pub use heat::{Ask, ChargeLine, HeatSheet, PouredMould};
pub use mould::{MouldCard, MouldCards, PatternSize, SizeLine};
pub use order::{OrderLine, OrderSheet};
pub use pen::{Label, Mark, Sketch};
pub use shared::{SharedFlask, SharedPlace};
pub use weights::Weights;

use super::page::{filled, parsed};
use crate::figure::System;
use crate::model::Build;
use serde::Serialize;

/// The paper in the printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 8 1/2 x 11 in.
    Letter,
}

impl Paper {
    /// The paper that goes with a system of units.
    pub fn of(units: System) -> Self {
        match units {
            System::Metric => Self::A4,
            System::Us => Self::Letter,
        }
    }
}

/// What stands at the head of every sheet.
#[derive(Debug, Clone, Serialize)]
pub struct SheetHead {
    /// What the machine is called.
    pub machine: String,
    /// The day it is looked at.
    pub today: String,
    /// The paper.
    pub paper: Paper,
}

impl SheetHead {
    fn new(build: &Build, paper: Paper) -> Self {
        Self {
            machine: super::page::plain(&build.header.title),
            today: build.today.to_string(),
            paper,
        }
    }
}

const FRAME: (&str, &str) = ("sheet.html", include_str!("../../../templates/sheet.html"));

/// A sheet as HTML.
fn page(view: &impl Serialize, name: &str, text: &str) -> Result<String, String> {
    filled(view, &parsed(&[(name, text), FRAME])?, name)
}
