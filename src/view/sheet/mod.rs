//! Paper: one sheet, one job, to be read at arm's length and written on.

mod blanks;
mod build;
mod heat;
mod mould;
mod order;
mod pattern;
mod pen;
mod shared;
mod sketch;
mod views;
mod weights;

pub use blanks::Ask;
pub use build::BuildSheet;
pub use heat::{ChargeLine, HeatSheet, PouredMould};
pub use mould::{MouldCard, MouldCards, SizeLine};
pub use order::{OnItsWay, OrderSheet};
pub use pattern::{CoreBox, PatternPaper};
pub use pen::{Label, Mark, Sketch};
pub use shared::{SharedFlask, SharedPlace};
pub use views::Drawing;
pub use weights::Weights;

use super::page::{filled, parsed};
use crate::figure::{Figure, System, Time};
use crate::model::Build;
use crate::view::page::Unfilled;
use serde::Serialize;

/// The paper in the printer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
#[non_exhaustive]
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
    /// Whether the ruler beside it is one of inches.
    pub inches: bool,
}

impl SheetHead {
    fn new(build: &Build, paper: Paper) -> Self {
        Self {
            machine: super::page::plain(&build.header.title),
            today: build.today.to_string(),
            paper,
            inches: build.header.units == System::Us,
        }
    }
}

/// Time to fill a mould as a hand and an eye can keep it: no clock is read while pouring.
fn fill_words(time: Option<&Figure<Time>>) -> Option<String> {
    let seconds = time?.si();
    Some(match seconds {
        ..0.75 => "1/2 s".to_owned(),
        ..1.5 => "1 s".to_owned(),
        ..10.0 => format!("{seconds:.0} s"),
        ..90.0 => format!("{:.0} s", (seconds / 5.0).round() * 5.0),
        _ => format!("{:.0} min", seconds / 60.0),
    })
}

/// A wait at its longest, to the next whole minute: what a kitchen timer is set to.
fn wait_words(time: &Figure<Time>) -> String {
    let minutes = (time.high() / 60.0).ceil().max(1.0) as u64;
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes}\u{a0}min"),
        (hours, 0) => format!("{hours}\u{a0}h"),
        (hours, minutes) => format!("{hours}\u{a0}h {minutes}\u{a0}min"),
    }
}

const FRAME: (&str, &str) = ("sheet.html", include_str!("../../../templates/sheet.html"));

/// A sheet as HTML.
fn page(view: &impl Serialize, name: &str, text: &str) -> Result<String, Unfilled> {
    filled(view, &parsed(&[(name, text), FRAME])?, name)
}
