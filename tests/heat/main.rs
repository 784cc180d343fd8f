//! Heat flow against closed solutions, castings computed elsewhere, and a solver in numpy.

mod analytic;
mod bodies;
mod castings;
#[path = "../common/mod.rs"]
mod common;
mod decides;
mod laws;
mod rule;
