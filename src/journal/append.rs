//! Appending: an exclusive lock, one write, then the disk is told to keep it.

use chrono::NaiveDateTime;
use fs4::FileExt;
use std::fs::OpenOptions;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Put after an entry whose writing was cut off, before the next one is appended.
pub(super) const CUT_OFF: &str = "\n# cut off\n";

/// Why an entry was not appended. The file is then as it was.
#[derive(Debug)]
pub enum AppendError {
    /// The file could not be opened or locked.
    Open(io::Error),
    /// The entry could not be written whole.
    Write(io::Error),
}

impl std::fmt::Display for AppendError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Open(e) => write!(f, "the journal cannot be opened for writing: {e}"),
            Self::Write(e) => {
                write!(f, "the entry could not be written, the journal is as it was: {e}")
            }
        }
    }
}

impl std::error::Error for AppendError {}

/// Appends documents to a journal. Returns once they are on the disk.
///
/// A file that ends in the middle of a line (a write that was cut off) is closed with a remark
/// first, so that the torn entry stays apart from the new one and is known for what it is.
///
/// # Errors
/// Where the file cannot be opened, locked or written; what was written of it is taken back.
pub fn append(path: &Path, documents: &str) -> Result<(), AppendError> {
    let mut file = OpenOptions::new()
        .read(true)
        .append(true)
        .create(true)
        .open(path)
        .map_err(AppendError::Open)?;
    FileExt::lock(&file).map_err(AppendError::Open)?;
    let before = file.seek(SeekFrom::End(0)).map_err(AppendError::Open)?;
    let mut bytes = Vec::with_capacity(documents.len() + 8);
    if before > 0 {
        let mut last = [0];
        file.seek(SeekFrom::End(-1)).map_err(AppendError::Open)?;
        file.read_exact(&mut last).map_err(AppendError::Open)?;
        if last != *b"\n" {
            bytes.extend_from_slice(CUT_OFF.as_bytes());
        }
    }
    bytes.extend_from_slice(documents.as_bytes());
    let written = file.write_all(&bytes).and_then(|()| file.sync_data());
    if let Err(e) = written {
        let _ = file.set_len(before);
        return Err(AppendError::Write(e));
    }
    Ok(())
}

/// What a journal would hold with these documents appended: for checking them first.
pub fn appended(journal: &[u8], documents: &str) -> Vec<u8> {
    let mut bytes = journal.to_vec();
    if bytes.last().is_some_and(|b| *b != b'\n') {
        bytes.extend_from_slice(CUT_OFF.as_bytes());
    }
    bytes.extend_from_slice(documents.as_bytes());
    bytes
}

/// An id for an entry: the time it is about, and letters that no other process draws.
pub fn fresh_id(at: NaiveDateTime) -> String {
    use std::collections::hash_map::RandomState;
    use std::hash::{BuildHasher, Hasher};
    const SIGNS: &[u8] = b"abcdefghjkmnpqrstuvwxyz23456789";
    let mut drawn = RandomState::new().build_hasher().finish();
    let mut suffix = String::new();
    for _ in 0..6 {
        suffix.push(char::from(SIGNS[(drawn % SIGNS.len() as u64) as usize]));
        drawn /= SIGNS.len() as u64;
    }
    format!("{}-{suffix}", at.format("%Y%m%d-%H%M"))
}
