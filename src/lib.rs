//! pourwright: the planning bench and the heat book of a machine built from one's own castings.

pub mod build;
pub mod estimate;
pub mod figure;
pub mod handbook;
pub mod journal;
pub mod manifest;
pub mod shape;
pub mod yaml;
