//! What people look at. A view takes results and gives text; it reckons nothing.
//!
//! Each view has one struct that holds what is shown; `--json` prints that struct.

pub mod bill;
pub mod buy;
pub mod calendar;
mod cautions;
pub mod charge;
pub mod chart;
pub mod csv;
pub mod estimate;
mod event;
mod figure;
pub mod freezing;
pub mod handbook;
mod head;
pub mod heat;
pub mod history;
pub mod learned;
pub mod page;
pub mod parts;
pub mod plan;
pub mod reckon;
pub mod redo;
pub mod report;
pub mod risk;
pub mod schedule;
pub mod schema;
pub mod sheet;
pub mod stock;
pub mod suppose;
pub mod text;
pub mod why;

pub use cautions::CautionView;
use figure::{FIRST_FIGURES, alike};
pub use figure::{FigureView, figure_text};
pub use head::Head;
