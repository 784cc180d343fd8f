//! pourwright: the planning bench and the heat book of a machine built from one's own castings.
//!
//! The job in five calls, each taking what the one before it found; the commands make the same
//! ones and say the same:
//!
//! ```
//! use pourwright::{job, view};
//!
//! // 1. A checked build, or every fault of its files.
//! let [manifest, journal] = ["demo/build.yaml", "demo/journal.yaml"].map(std::fs::read);
//! let clock = chrono::NaiveDate::from_ymd_opt(2026, 7, 8).ok_or("no such day")?;
//! let today = job::Today { asked: None, clock };
//! let build = job::read(manifest?, journal?, today).map_err(|faults| faults[0].to_string())?;
//! // 2. Metal, sand, crucible and hours of each casting.
//! let estimated = job::estimate(build);
//! // 3. The work in sessions and heats: no plan is in force, the usual search looks for one.
//! let planned = job::plan(estimated, None, None, &mut |_tried, _tries| false);
//! // 4. What it takes and what to buy.
//! let bill = job::supply(&planned);
//! // 5. How sure that is, and what to buy so that nine in ten replays have enough.
//! let replays = job::usual_replays(&planned);
//! let risk = job::risk(&planned, replays, &|_done| {})?;
//! let bill_surely = job::supply_surely(&planned, &risk);
//!
//! // Any of it can be shown.
//! let text = view::bill::BillView::new(&planned.build, &bill).csv();
//! assert!(text.contains("ZA-12"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Nothing here prints, reads a clock or touches a file, except [`journal::append`]; the command
//! line in `cli` does that. It is a feature, on by default; `--no-default-features` leaves it out with all
//! that it alone wants.

pub mod chance;
#[cfg(feature = "cli")]
pub mod cli;
pub mod estimate;
pub mod figure;
pub mod freezing;
pub mod handbook;
pub mod heatflow;
pub mod job;
pub mod journal;
pub mod learn;
pub mod manifest;
pub mod model;
pub mod plan;
pub mod redo;
pub mod risk;
pub mod shape;
pub mod supply;
pub mod view;
pub mod yaml;

pub use job::{Today, read, read_beside};

/// Name of the manifest in a build's folder.
pub const MANIFEST: &str = "build.yaml";
/// Name of the journal beside it.
pub const JOURNAL: &str = "journal.yaml";
