//! Appending: an exclusive lock, one write, then the disk is told to keep it.

use chrono::NaiveDateTime;
use same_file::Handle;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// Put after an entry whose writing was cut off, before the next one is appended.
pub(super) const CUT_OFF: &str = "\n# cut off\n";

/// Why an entry was not appended. The file is then as it was.
#[derive(Debug)]
#[non_exhaustive]
pub enum AppendError {
    /// The file could not be opened, locked or read.
    Open(io::Error),
    /// Another file stands under the journal's name again and again, so that nothing written to
    /// it would stay.
    Moved,
    /// The entry could not be written whole.
    Write(io::Error),
    /// The entry could not be written whole, and what was written of it could not be taken back.
    Torn(io::Error),
}

impl std::fmt::Display for AppendError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Open(e) => write!(f, "the journal cannot be opened for writing: {e}"),
            Self::Moved => f.write_str(
                "the journal is replaced again and again while it is written to; nothing was written",
            ),
            Self::Write(e) => {
                write!(f, "the entry could not be written, the journal is as it was: {e}")
            }
            Self::Torn(e) => write!(
                f,
                "the entry could not be written, and what there is of it will be left aside in reading the journal: {e}"
            ),
        }
    }
}

impl std::error::Error for AppendError {}

/// A journal held for writing: nobody else appends to it until this is dropped, so that an entry
/// can be checked against what is in the file and then appended to just that.
#[derive(Debug)]
pub struct Held {
    file: File,
    path: PathBuf,
}

/// What came of appending.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[must_use]
pub enum Appended {
    /// It stands in the journal, on the disk.
    Written,
    /// Another file took the journal's place meanwhile: nothing was written, hold it anew.
    Moved,
}

/// How often a journal that is replaced meanwhile is held anew.
const TRIES: usize = 100;

/// Waits until nobody else writes to the journal, then holds it. A journal that is not there yet
/// is made, empty.
///
/// # Errors
/// Where the file cannot be opened or locked, is no plain file, or is replaced without end.
pub fn hold(path: &Path) -> Result<Held, AppendError> {
    for _ in 0..TRIES {
        let (file, made) = open(path).map_err(AppendError::Open)?;
        file.lock().map_err(AppendError::Open)?;
        let held = Held { file, path: path.to_owned() };
        // While it waited, another file may have been put in its place.
        if held.is_current() {
            if made {
                keep_name(path);
            }
            return Ok(held);
        }
    }
    Err(AppendError::Moved)
}

/// Opens the journal; the second value says whether it was made.
fn open(path: &Path) -> io::Result<(File, bool)> {
    // Asked before it is opened: to open a pipe may wait for ever.
    match path.metadata() {
        Ok(there) if !there.is_file() => {
            return Err(io::Error::other(
                "this is a device, a pipe or a socket; a plain file is expected",
            ));
        }
        _ => {}
    }
    let open = |create| OpenOptions::new().read(true).append(true).create(create).open(path);
    match open(false) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok((open(true)?, true)),
        other => Ok((other?, false)),
    }
}

/// A new file survives a power cut only once its folder is on the disk too. Not every file system
/// can be told that, so a refusal is no error.
fn keep_name(path: &Path) {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let _ = File::open(folder).and_then(|folder| folder.sync_all());
}

impl Held {
    /// Whether the journal's path still leads to the file that is held.
    fn is_current(&self) -> bool {
        let held = self.file.try_clone().and_then(Handle::from_file);
        matches!((held, Handle::from_path(&self.path)), (Ok(held), Ok(there)) if held == there)
    }

    /// What the journal holds, up to `most` bytes.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub fn bytes(&mut self, most: u64) -> Result<Vec<u8>, AppendError> {
        let length = self.file.metadata().map_or(0, |m| m.len()).min(most);
        let mut bytes = Vec::with_capacity(length as usize + 1);
        self.file.seek(SeekFrom::Start(0)).map_err(AppendError::Open)?;
        (&self.file).take(most).read_to_end(&mut bytes).map_err(AppendError::Open)?;
        Ok(bytes)
    }

    /// Appends documents. Returns once they are on the disk; takes as long for a long journal as
    /// for a short one.
    ///
    /// A file that ends in the middle of a line (a write that was cut off) is closed with a remark
    /// first, so that the torn entry stays apart from the new one and is known for what it is.
    ///
    /// # Errors
    /// Where they cannot be written; what was written of them is taken back.
    pub fn append(&mut self, documents: &str) -> Result<Appended, AppendError> {
        let before = self.file.seek(SeekFrom::End(0)).map_err(AppendError::Open)?;
        let mut bytes = Vec::with_capacity(documents.len() + CUT_OFF.len());
        if before > 0 {
            let mut last = [0];
            self.file.seek(SeekFrom::End(-1)).map_err(AppendError::Open)?;
            self.file.read_exact(&mut last).map_err(AppendError::Open)?;
            if !matches!(last, [b'\n' | b'\r']) {
                bytes.extend_from_slice(CUT_OFF.as_bytes());
            }
        }
        bytes.extend_from_slice(documents.as_bytes());
        let written = self.file.write_all(&bytes).and_then(|()| self.file.sync_data());
        let taken_back = || self.file.set_len(before);
        match written {
            Ok(()) if self.is_current() => Ok(Appended::Written),
            // What a file holds that is the journal no more is nobody's entry. Where it cannot be
            // taken back, it stands there under the same id, and counts once if the two are merged.
            Ok(()) => {
                let _ = taken_back();
                Ok(Appended::Moved)
            }
            Err(e) => match taken_back() {
                Ok(()) => Err(AppendError::Write(e)),
                Err(_) => Err(AppendError::Torn(e)),
            },
        }
    }
}

/// Appends documents to a journal. Returns once they are on the disk.
///
/// # Errors
/// Where the file cannot be opened, locked or written; what was written of them is taken back.
pub fn append(path: &Path, documents: &str) -> Result<(), AppendError> {
    for _ in 0..TRIES {
        if hold(path)?.append(documents)? == Appended::Written {
            return Ok(());
        }
    }
    Err(AppendError::Moved)
}

/// What a journal would hold with these documents appended: for checking them first.
pub fn appended(journal: &[u8], documents: &str) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(journal.len() + documents.len() + CUT_OFF.len());
    bytes.extend_from_slice(journal);
    if bytes.last().is_some_and(|b| !matches!(b, b'\n' | b'\r')) {
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
