//! pourwright: the planning bench and the heat book of a machine built from one's own castings.
//!
//! The job in five calls, each taking what the one before it gave:
//!
//! 1. [`read`] makes a checked [`model::Build`] of a manifest and a journal, or tells every fault;
//! 2. [`estimate::estimate`] reckons metal, sand, crucible and hours for each casting, or
//!    [`learn::considered`] does with what the journal teaches;
//! 3. [`plan::plan`] orders the work;
//! 4. [`supply::bill`] tells what it takes and what to buy;
//! 5. [`view`] shows any of it.
//!
//! Nothing here prints, reads a clock or touches a file, except [`journal::append`]; the command
//! line in [`cli`] does that.

pub mod chance;
pub mod cli;
pub mod engine;
pub mod estimate;
pub mod figure;
pub mod handbook;
pub mod journal;
pub mod learn;
pub mod manifest;
pub mod model;
pub mod plan;
pub mod redo;
pub mod shape;
pub mod supply;
pub mod view;
pub mod yaml;

use chrono::NaiveDate;
use yaml::Faults;

/// Name of the manifest in a build's folder.
pub const MANIFEST: &str = "build.yaml";
/// Name of the journal beside it.
pub const JOURNAL: &str = "journal.yaml";

/// Which day a build is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Today {
    /// The day the builder asked for.
    pub asked: Option<NaiveDate>,
    /// The day on the clock; a day pinned in the manifest goes before it.
    pub clock: NaiveDate,
}

/// Reads manifest and journal and makes the build of them. Files that the manifest names beside
/// it, such as meshes, are faults here; [`read_beside`] takes them too.
///
/// # Errors
/// Every fault of either file.
pub fn read(
    manifest: Vec<u8>,
    journal: Vec<u8>,
    today: Today,
) -> Result<model::Build, Vec<Faults>> {
    let none = |_: &str| Err(std::io::ErrorKind::Unsupported.into());
    read_beside(manifest, journal, today, &none)
}

/// Like [`read`], with `beside` giving the bytes of a file in the build's folder.
///
/// # Errors
/// Every fault of either file, and of the files that the manifest names.
pub fn read_beside(
    manifest: Vec<u8>,
    journal: Vec<u8>,
    today: Today,
    beside: yaml::Beside<'_>,
) -> Result<model::Build, Vec<Faults>> {
    let (manifest, faults) = manifest::read(MANIFEST, manifest, beside).map_err(|f| vec![f])?;
    let day = today.asked.or(manifest.header.looked_at).unwrap_or(today.clock);
    let journal_text = String::from_utf8_lossy(&journal).into_owned();
    let (journal, mut all) = match journal::read(JOURNAL, journal, &manifest.handbook) {
        Ok(journal) => (journal, Vec::new()),
        Err(faults) => (journal::Journal::default(), vec![faults]),
    };
    match model::check(manifest, faults, journal, day) {
        Ok((build, list)) if list.is_empty() && all.is_empty() => Ok(build),
        Ok((_, list)) => {
            if !list.is_empty() {
                all.push(Faults { file: JOURNAL.into(), text: journal_text, list });
            }
            Err(all)
        }
        Err((text, list)) => {
            all.insert(0, Faults { file: MANIFEST.into(), text, list });
            Err(all)
        }
    }
}
