//! Shapes: the plain solids that patterns and castings are made of, and meshes drawn elsewhere.

mod around;
mod body;
mod columns;
mod csg;
mod fault;
mod frame;
mod key;
mod lines;
pub mod memo;
pub mod mesh;
mod outline;
mod section;
mod solid;
mod spread;
mod thick;

pub use around::Around;
pub use body::{Body, Cells, Odd, Placed};
pub use columns::{Column, Columns};
pub use fault::Fault;
pub use frame::Frame;
pub use outline::Outline;
pub use section::Section;
pub use solid::Solid;
pub use spread::{Lies, Spread, spreads};
pub use thick::{Looked, Thickest, squared_distances, thickest, thickest_default};
