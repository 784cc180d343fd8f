//! What people look at. A view takes results and gives text; it reckons nothing.
//!
//! Each view has one struct that holds what is shown; `--json` prints that struct.

mod figure;

pub use figure::{FigureView, figure_text};
