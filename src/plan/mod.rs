//! The plan: what waits for what, in which order the work reads best, what can be done now.

mod network;
mod tasks;

pub use network::Network;
pub use tasks::{Plan, Subject, Task, plan};
