//! Loading a build from its folder.

use super::{Common, Stop};
use crate::build::Build;
use crate::estimate::{Estimates, estimate};
use crate::plan::{Plan, plan};
use crate::supply::{Bill, bill};
use crate::yaml::{Faults, MAX_BYTES};
use crate::{JOURNAL, MANIFEST, Today};
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

/// Everything that is reckoned of a build.
pub struct Loaded {
    pub build: Build,
    pub estimates: Estimates,
    pub plan: Plan,
    pub bill: Bill,
}

/// Reads at most one byte more than a build can have, so that a huge file ends at once.
fn bytes(path: &Path) -> std::io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The bytes of the manifest.
pub fn manifest(common: &Common) -> Result<Vec<u8>, Stop> {
    bytes(&common.build.join(MANIFEST)).map_err(|e| match e.kind() {
        ErrorKind::NotFound => Stop::Fault(format!(
            "no {MANIFEST} in {}\n`pourwright new FOLDER` starts a build; --build FOLDER names the one to look at",
            common.build.display()
        )),
        _ => Stop::Fault(format!("{}: {e}", common.build.join(MANIFEST).display())),
    })
}

/// The bytes of manifest and journal; a build without a journal has an empty one.
pub fn files(common: &Common) -> Result<(Vec<u8>, Vec<u8>), Stop> {
    let manifest = manifest(common)?;
    let journal = match bytes(&common.build.join(JOURNAL)) {
        Ok(bytes) => bytes,
        Err(e) if e.kind() == ErrorKind::NotFound => Vec::new(),
        Err(e) => {
            return Err(Stop::Fault(format!("{}: {e}", common.build.join(JOURNAL).display())));
        }
    };
    Ok((manifest, journal))
}

/// The day to look at a build.
fn today(common: &Common) -> Today {
    Today { asked: common.today, clock: chrono::Local::now().date_naive() }
}

/// Reads a build whose folder may hold meshes beside the manifest.
pub fn read(common: &Common, manifest: Vec<u8>, journal: Vec<u8>) -> Result<Build, Vec<Faults>> {
    let beside = |path: &str| std::fs::read(common.build.join(path));
    crate::read_beside(manifest, journal, today(common), &beside)
}

/// All faults as text.
pub fn faults(all: &[Faults]) -> String {
    all.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n\n")
}

/// The checked build of the folder.
pub fn build(common: &Common) -> Result<Build, Stop> {
    let (manifest, journal) = files(common)?;
    read(common, manifest, journal).map_err(|all| Stop::Fault(faults(&all)))
}

/// The build and all that is reckoned of it.
pub fn all(common: &Common) -> Result<Loaded, Stop> {
    let build = build(common)?;
    let estimates = estimate(&build);
    let plan = plan(&build, &estimates);
    let bill = bill(&build, &estimates);
    Ok(Loaded { build, estimates, plan, bill })
}
