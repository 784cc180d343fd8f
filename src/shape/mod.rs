//! Shapes: the plain solids that patterns and castings are made of.

mod solid;

pub use solid::{Fault, Section, Solid};
