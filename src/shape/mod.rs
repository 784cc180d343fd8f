//! Shapes: the plain solids that patterns and castings are made of, and meshes drawn elsewhere.

pub mod mesh;
mod section;
mod solid;
mod spread;
mod thick;

pub use section::Section;
pub use solid::{Fault, Solid};
pub use spread::{Lies, Spread, spreads};
pub use thick::{Body, Thickest, squared_distances, thickest, thickest_default};
