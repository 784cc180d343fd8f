//! Shapes: the plain solids that patterns and castings are made of, and meshes drawn elsewhere.

pub mod mesh;
mod solid;
mod thick;

pub use solid::{Fault, Section, Solid};
pub use thick::{Body, Thickest, squared_distances, thickest, thickest_default};
