use super::{Common, Done, Stop, wrote};
use crate::view::schema::EVERY_KEY;
use crate::{JOURNAL, MANIFEST};
use std::fs;
use std::io::ErrorKind;
use std::path::PathBuf;

/// Arguments of `new`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright new lathe
  pourwright new every-key --full
      a file to look keys up in")]
pub struct Args {
    /// Folder to make; it may exist, but hold no build yet
    folder: PathBuf,
    /// Write a file with every key there is, to look things up in
    #[arg(long)]
    full: bool,
}

/// The manifest that a build starts from.
pub const MANIFEST_TO_START_FROM: &str = include_str!("../../templates/new/build.yaml");

/// The mesh that the file with every key names.
const MESH: (&str, &str) = ("block.stl", include_str!("../../templates/full/block.stl"));

/// `new`: a folder with a commented manifest.
pub fn run(common: &Common, args: &Args) -> Done {
    let path = args.folder.join(MANIFEST);
    let fault = |e: std::io::Error| Stop::Fault(format!("{}: {e}", path.display()));
    fs::create_dir_all(&args.folder).map_err(fault)?;
    match fs::File::create_new(&path) {
        Ok(mut file) => {
            use std::io::Write;
            let text = if args.full { EVERY_KEY } else { MANIFEST_TO_START_FROM };
            file.write_all(text.as_bytes()).map_err(fault)?;
            if args.full {
                let mesh = args.folder.join(MESH.0);
                fs::write(&mesh, MESH.1).map_err(fault)?;
            }
        }
        Err(e) if e.kind() == ErrorKind::AlreadyExists => {
            return Err(Stop::Fault(format!(
                "{} exists already and is left as it is",
                path.display()
            )));
        }
        Err(e) => return Err(fault(e)),
    }
    if common.json {
        return wrote(common, &path);
    }
    let folder = args.folder.display();
    Ok(format!(
        "{}\n\nIt describes a small build; every line of it can be changed. Next:\n\
         \x20 1. open it in an editor and put in your shop, patterns and parts\n\
         \x20 2. pourwright check --build {folder}      lists what is wrong, with its line\n\
         \x20 3. pourwright parts --build {folder}      pourwright plan --build {folder}\n\
         \x20 4. pourwright report --build {folder}     writes one page to open in a browser\n\n\
         What happens goes into {JOURNAL} beside it: `pourwright log --help`.\n",
        path.display()
    ))
}
