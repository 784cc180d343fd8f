//! Shapes: the plain solids that patterns and castings are made of, and meshes drawn elsewhere.

pub mod mesh;
mod solid;

pub use solid::{Fault, Section, Solid};
