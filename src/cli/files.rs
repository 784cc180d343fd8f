//! The files of a build: only plain files are read, and nothing is written over that pourwright
//! did not write.

use super::{Common, Stop};
use crate::{JOURNAL, MANIFEST};
use std::fs::{self, File, FileType};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

/// Options of what writes a file.
#[derive(Debug, Clone, Copy, clap::Args)]
pub struct Force {
    /// Replace a file that pourwright did not write
    #[arg(long, global = true)]
    force: bool,
}

/// What a file is that is no plain file.
fn refused(is: FileType) -> &'static str {
    if is.is_dir() {
        return "this is a directory; a file is expected";
    }
    if is.is_symlink() {
        return "this is a link; nothing is written through one";
    }
    "this is a device, a pipe or a socket; a plain file is expected"
}

/// The bytes of a plain file, but at most one more than `most`, so that a huge file ends at once.
///
/// # Errors
/// Where it cannot be read, or is a folder, a device, a pipe or a socket.
pub fn read(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    // Asked before it is opened: to open a pipe waits for whoever writes to it.
    let is = fs::metadata(path)?.file_type();
    if !is.is_file() {
        return Err(io::Error::other(refused(is)));
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(most + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Reads a file that lies in a folder or below it, also after every link is followed (CWE-59).
///
/// # Errors
/// Like [`read`], and where a link leads out of the folder.
pub fn beside(folder: &Path, path: &str, most: u64) -> io::Result<Vec<u8>> {
    let file = fs::canonicalize(folder.join(path))?;
    if !file.starts_with(fs::canonicalize(folder)?) {
        return Err(io::Error::other("a link leads out of the build's folder"));
    }
    // Its size is asked first, so that a huge file is refused at once.
    let is_too_large = fs::metadata(&file)?.len() > most;
    let bytes = if is_too_large { Vec::new() } else { read(&file, most)? };
    if is_too_large || bytes.len() as u64 > most {
        let says =
            format!("it has more than {} MB, the most that such a file may have", most >> 20);
        return Err(io::Error::other(says));
    }
    Ok(bytes)
}

/// Words in a file by which pourwright knows it for its own.
const MARKS: [&str; 3] = [
    "<meta name=\"generator\" content=\"pourwright\">",
    "PRODID:-//pourwright//",
    "<!-- pourwright -->",
];

/// How far into a file its mark stands at most.
const MARKED_WITHIN: usize = 64 << 10;

/// Whether pourwright wrote a file that something is to be written over: it carries the mark of
/// what is new, or, where that has none, begins with the same line.
fn ours(old: &[u8], new: &[u8]) -> bool {
    let head = |bytes: &[u8]| {
        String::from_utf8_lossy(&bytes[..bytes.len().min(MARKED_WITHIN)]).into_owned()
    };
    let (old, new) = (head(old), head(new));
    match MARKS.iter().find(|mark| new.contains(**mark)) {
        _ if old.trim().is_empty() => true,
        Some(mark) => old.contains(mark),
        None => old.lines().next() == new.lines().next(),
    }
}

/// Whether a path leads to the manifest or the journal of the build, by whatever name, or has the
/// name of one.
fn is_input(common: &Common, path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    // Only plain files are opened to compare them: to open a pipe waits for whoever writes to it.
    let plain = fs::metadata(path).is_ok_and(|there| there.is_file());
    let same = |input: &str| {
        plain && same_file::is_same_file(common.build.join(input), path).unwrap_or(false)
    };
    [MANIFEST, JOURNAL].iter().any(|input| name == *input || same(input))
}

/// Writes a file whole: under a name of its own beside it, then renamed, so that nothing
/// half-written is ever seen. Nothing is written through a link, over the manifest or the journal,
/// or, without `force`, over what pourwright did not write.
pub fn write(common: &Common, path: &Path, bytes: &[u8], force: Force) -> Result<(), Stop> {
    let told = |says: &str| Stop::Fault(format!("{}: {says}", path.display()));
    if is_input(common, path) {
        return Err(told("this is a manifest or a journal; choose another name"));
    }
    match fs::symlink_metadata(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => {}
        Err(e) => return Err(told(&e.to_string())),
        Ok(there) if !there.is_file() => return Err(told(refused(there.file_type()))),
        Ok(_) => {
            let old = read(path, MARKED_WITHIN as u64).map_err(|e| told(&e.to_string()))?;
            if !force.force && !ours(&old, bytes) {
                return Err(told(
                    "pourwright did not write this file; choose another name, or replace it with --force",
                ));
            }
        }
    }
    write_whole(path, bytes).map_err(|e| told(&e.to_string()))
}

/// Keeps what is kept between two runs, where no other program's file lies under its name.
pub fn keep(common: &Common, name: &str, bytes: &[u8]) -> Result<(), Stop> {
    write(common, &common.build.join(name), bytes, Force { force: false })
}

/// Writes a file of its own name into a folder of the build, which is made where it is not there.
/// Nothing is written through a link that leads out, and nothing over a file that is there, which
/// under such a name is the same.
pub fn beside_new(common: &Common, folder: &str, path: &Path, bytes: &[u8]) -> Result<(), Stop> {
    let folder = common.build.join(folder);
    let told = |e: io::Error| Stop::Fault(format!("{}: {e}", path.display()));
    match fs::create_dir(&folder) {
        Err(e) if e.kind() != io::ErrorKind::AlreadyExists => return Err(told(e)),
        _ => {}
    }
    let inside = fs::canonicalize(&folder).and_then(|f| Ok((f, fs::canonicalize(&common.build)?)));
    let (inside, build) = inside.map_err(told)?;
    if !inside.starts_with(build) {
        return Err(told(io::Error::other("a link leads out of the build's folder")));
    }
    match fs::symlink_metadata(path) {
        Ok(there) if there.is_file() => Ok(()),
        Ok(there) => Err(told(io::Error::other(refused(there.file_type())))),
        Err(_) => write_whole(path, bytes).map_err(told),
    }
}

fn write_whole(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty());
    let folder: PathBuf = folder.map_or_else(|| ".".into(), Path::to_path_buf);
    let mut beside = tempfile::Builder::new();
    beside.prefix(".pourwright-").suffix(".part");
    #[cfg(unix)]
    let permissions = <fs::Permissions as std::os::unix::fs::PermissionsExt>::from_mode(0o666);
    #[cfg(unix)]
    beside.permissions(permissions);
    let mut beside = beside.tempfile_in(folder)?;
    beside.write_all(bytes)?;
    beside.as_file().sync_all()?;
    beside.persist(path).map_err(|e| e.error)?;
    Ok(())
}
