//! What a shell completes, and the manual pages: both made of the command line's own definition.

use super::{Cli, Common, Done, Stop, load, wrote};
use crate::model::Part;
use clap::CommandFactory;
use clap_complete::engine::CompletionCandidate;
use clap_complete::env::{CompleteEnv, Shells};
use std::path::PathBuf;

/// The variable by which a shell asks for completions.
const ASKED: &str = "POURWRIGHT_COMPLETE";

/// Arguments of `completions`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  echo 'source <(pourwright completions bash)' >> ~/.bashrc
  echo 'source <(pourwright completions zsh)' >> ~/.zshrc
  pourwright completions fish > ~/.config/fish/completions/pourwright.fish
  pourwright completions powershell >> $PROFILE

Parts, patterns, alloys, moulds and heats are completed from the build that
--build names.")]
pub struct CompletionsArgs {
    /// The shell
    #[arg(value_parser = ["bash", "zsh", "fish", "powershell", "elvish"])]
    shell: String,
}

/// Arguments of `manual`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright manual ~/.local/share/man/man1
  man ~/.local/share/man/man1/pourwright-estimate.1")]
pub struct ManualArgs {
    /// Folder to write the pages to; it is made if it is not there
    folder: PathBuf,
}

/// `completions`: the lines that teach a shell to complete.
pub fn completions(args: &CompletionsArgs) -> Done {
    let shells = Shells::builtins();
    let shell = shells.completer(&args.shell).ok_or_else(|| Stop::Usage(args.shell.clone()))?;
    let name = env!("CARGO_PKG_NAME");
    let mut lines = Vec::new();
    shell.write_registration(ASKED, name, name, name, &mut lines).map_err(Stop::fault)?;
    String::from_utf8(lines).map_err(Stop::fault)
}

/// `manual`: a manual page for each command.
pub fn manual(common: &Common, args: &ManualArgs) -> Done {
    let fault = |e: std::io::Error| Stop::Fault(format!("{}: {e}", args.folder.display()));
    std::fs::create_dir_all(&args.folder).map_err(fault)?;
    clap_mangen::generate_to(Cli::command(), &args.folder).map_err(fault)?;
    wrote(common, &args.folder)
}

/// Answers a shell that asks for completions, and ends; does nothing for anybody else.
pub fn answer() {
    CompleteEnv::with_factory(Cli::command).var(ASKED).complete();
}

/// The words of the line that is being completed.
fn words() -> Vec<String> {
    std::env::args_os().map(|word| word.to_string_lossy().into_owned()).collect()
}

/// The value of an option on the line.
fn option(names: [&str; 2]) -> Option<String> {
    let words = words();
    let at = words.iter().position(|word| names.contains(&word.as_str()))?;
    words.get(at + 1).cloned()
}

/// The first word behind a command that is neither an option nor the value of one.
fn first_of(command: &str) -> Option<String> {
    const BARE: [&str; 1] = ["--json"];
    let mut words = words().into_iter().skip_while(|word| word != command).skip(1);
    loop {
        let word = words.next()?;
        if !word.starts_with('-') {
            return Some(word);
        }
        if !BARE.contains(&word.as_str()) && !word.contains('=') {
            words.next();
        }
    }
}

/// The options of the line that is being completed: its build.
fn common() -> Common {
    let build = option(["--build", "-b"]).map_or_else(|| ".".into(), PathBuf::from);
    Common { build, today: None, json: false, width: None }
}

/// Names as candidates.
fn offered(names: impl IntoIterator<Item = impl ToString>) -> Vec<CompletionCandidate> {
    names.into_iter().map(|name| CompletionCandidate::new(name.to_string())).collect()
}

/// Parts of the build; none where it has faults.
pub fn parts() -> Vec<CompletionCandidate> {
    load::build(&common()).map_or_else(|_| Vec::new(), |b| offered(b.parts.iter().map(Part::id)))
}

/// Alloys that the build knows, and its heats to come.
pub fn alloys_and_heats() -> Vec<CompletionCandidate> {
    let build = load::build(&common());
    let mut all = build.map_or_else(|_| Vec::new(), |b| offered(b.handbook.alloys.keys()));
    all.extend(heats());
    all
}

/// Heats of the plan in force; no plan is looked for to complete a word.
pub fn heats() -> Vec<CompletionCandidate> {
    let common = common();
    let Some(kept) = load::kept(&common) else { return Vec::new() };
    let Ok(estimated) = load::estimated(&common) else { return Vec::new() };
    let planned = load::planned_from(estimated, Some(&kept), None);
    offered(planned.plan.schedule.heats.iter().map(|heat| &heat.name))
}

/// Figures of the casting that the line asks about.
pub fn figures() -> Vec<CompletionCandidate> {
    let (Some(of), Ok(all)) = (first_of("why"), load::estimated(&common())) else {
        return Vec::new();
    };
    let castings = all.build.parts.iter().zip(&all.estimates.castings);
    let asked = castings.filter(|(part, _)| **part.id() == *of).filter_map(|(_, c)| c.as_ref());
    offered(asked.flat_map(|casting| casting.figures()).map(|(name, _)| name))
}
