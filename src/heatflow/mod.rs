//! Heat flow: a substance that freezes between others that only warm, on cubic cells.
//!
//! Conduction alone, by heat content (enthalpy), so that superheat, latent heat and the range over
//! which it is given off need no factor. Any step is stable, and the heat given off, taken up and
//! gone is told with each answer. The same scene gives the same bytes on any number of threads.
//! Nothing here knows what is cast, or in what.

mod field;
mod fold;
mod grid;
mod law;
mod march;
mod paint;
mod pockets;
mod refine;
mod scene;
mod slope;

pub use field::{Cost, Field, Last, Until, march};
pub use law::{Inert, Melt};
pub use march::Balance;
pub use paint::{lay, paint};
pub use pockets::{Pocket, closes, places, pockets};
pub use refine::{Refined, Told, refined};
pub use scene::{Face, Scene, Substance};
pub use slope::{Slope, slopes};
