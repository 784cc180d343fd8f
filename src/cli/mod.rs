//! The command line: parse, load, call, show. Only this floor reads the clock, the terminal and
//! the build's files.

mod bill;
mod buy;
mod charge;
mod check;
mod door;
mod estimate;
mod files;
mod freezing;
mod handbook;
mod heats;
mod history;
mod learned;
mod load;
mod log;
mod named;
mod new;
mod notes;
mod page;
mod parts;
mod pattern;
mod photos;
mod plan;
mod reckon;
mod redo;
mod report;
mod risk;
mod schema;
mod serve;
mod sheet;
mod shells;
mod stock;
mod suppose;
mod terminal;
mod watch;
mod why;

use crate::yaml::Refused;
use chrono::NaiveDate;
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

/// The planning bench and the heat book of a machine built from your own castings.
#[derive(Debug, Parser)]
#[command(version, about, max_term_width = 80, propagate_version = true)]
#[command(after_help = "\
A build lives in a folder of its own: `build.yaml` says what should be,
`journal.yaml` what happened.

Examples:
  pourwright new shaper
      start a build
  pourwright plan --build demo
      what to do next, and the finish
  pourwright report --build demo
      the report, as a page

Molten metal, moisture, fumes, silica dust, lifting and fuel gas can maim.
The figures help to plan; local codes and licensed practice come first.")]
struct Cli {
    #[command(subcommand)]
    command: Command,
    #[command(flatten)]
    common: Common,
}

/// A day that is given as an option.
fn day(text: &str) -> Result<NaiveDate, String> {
    crate::yaml::day(text).map_err(|e| e.to_string())
}

/// Options of every command.
#[derive(Debug, Clone, Args)]
struct Common {
    /// Folder of the build
    #[arg(short, long, global = true, value_name = "FOLDER", default_value = ".")]
    build: PathBuf,
    /// Take this day as today
    #[arg(long, global = true, value_name = "YYYY-MM-DD", value_parser = day)]
    today: Option<NaiveDate>,
    /// Print JSON: SI values with their units, stable names
    #[arg(long, global = true)]
    json: bool,
    /// Columns to fit (default: the terminal's, or 80)
    #[arg(long, global = true, value_name = "COLUMNS")]
    width: Option<u16>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Start a build: a folder with a commented manifest
    New(new::Args),
    /// List every fault of the manifest and the journal
    #[command(after_help = "Example:\n  pourwright check --build demo")]
    Check,
    /// List the parts and where they stand
    #[command(after_help = "Example:\n  pourwright parts --build demo")]
    Parts,
    /// Estimate metal, sand, flask and crucible of the castings
    Estimate(estimate::Args),
    /// See a casting freeze: how long, where last, whether its feeders feed it
    Freezing(freezing::Args),
    /// Write the pattern of a casting and its core boxes for a printer
    Pattern(pattern::Args),
    /// Explain a figure down to its formula, inputs and sources
    Why(why::Args),
    /// Work one handbook formula by hand
    Reckon(reckon::Args),
    /// Print the handbook: every formula and table with its source
    Handbook(handbook::Args),
    /// Show the work in time: the next sessions, the heats, the finish
    Plan(plan::Args),
    /// List the melts to come, or one of them mould by mould
    Heats(heats::Args),
    /// Replay the plan under chance: when it may be finished, what it may take
    Risk(risk::Args),
    /// Show what a change would do to the plan
    Suppose(suppose::Args),
    /// Show what the build takes, what is there, what to buy
    Bill(bill::Args),
    /// Show what lies in the shop, what is on order, what was spent
    Stock(stock::Args),
    /// List what to order, from whom and by when
    Buy(buy::Args),
    /// Make up a charge from the metals at hand
    Charge(charge::Args),
    /// Write down what happened
    Log(Box<log::Args>),
    /// Show what happened to a part, a mould or a heat, or all of it
    History(history::Args),
    /// Show what the journal teaches: estimated against measured
    #[command(after_help = "Example:\n  pourwright learned --build demo")]
    Learned,
    /// Weigh casting a part again against using it, and say what to change
    Redo(redo::Args),
    /// Write the report, one HTML file
    Report(report::Args),
    /// Write paper for the shop: mould cards, pour sheet, order list
    Sheet(sheet::Args),
    /// Print a JSON Schema of the build's files, for an editor that completes them
    Schema(schema::Args),
    /// Print the lines that make a shell complete commands, parts and heats
    Completions(shells::CompletionsArgs),
    /// Write the manual pages, one for each command
    Manual(shells::ManualArgs),
}

/// Why a command did not do its job.
#[derive(Debug)]
enum Stop {
    /// The build has faults, or something could not be read or written: exit code 1.
    Fault(String),
    /// The arguments were not understood: exit code 2.
    Usage(String),
}

impl Stop {
    fn fault(says: impl std::fmt::Display) -> Self {
        Self::Fault(says.to_string())
    }

    fn usage(says: impl std::fmt::Display) -> Self {
        Self::Usage(says.to_string())
    }

    fn says(&self) -> &str {
        let (Self::Fault(says) | Self::Usage(says)) = self;
        says
    }
}

type Done = Result<String, Stop>;

/// Runs the command that the arguments name.
pub fn main() -> ExitCode {
    shells::answer();
    let cli = Cli::parse();
    let common = &cli.common;
    let done = match cli.command {
        Command::New(args) => new::run(common, &args),
        Command::Check => check::run(common),
        Command::Parts => parts::run(common),
        Command::Estimate(args) => estimate::run(common, &args),
        Command::Freezing(args) => freezing::run(common, &args),
        Command::Pattern(args) => pattern::run(common, &args),
        Command::Why(args) => why::run(common, &args),
        Command::Reckon(args) => reckon::run(common, &args),
        Command::Handbook(args) => handbook::run(common, &args),
        Command::Plan(args) => plan::run(common, &args),
        Command::Bill(args) => bill::run(common, &args),
        Command::Stock(args) => stock::run(common, &args),
        Command::Buy(args) => buy::run(common, &args),
        Command::Charge(args) => charge::run(common, &args),
        Command::Heats(args) => heats::run(common, &args),
        Command::Risk(args) => risk::run(common, &args),
        Command::Suppose(args) => suppose::run(common, &args),
        Command::Log(args) => log::run(common, &args),
        Command::History(args) => history::run(common, &args),
        Command::Learned => learned::run(common),
        Command::Redo(args) => redo::run(common, &args),
        Command::Report(args) => report::run(common, &args),
        Command::Sheet(args) => sheet::run(common, &args),
        Command::Schema(args) => schema::run(&args),
        Command::Completions(args) => shells::completions(&args),
        Command::Manual(args) => shells::manual(common, &args),
    };
    let code = said(common, done);
    load::keep_bodies(common);
    code
}

/// Says how a command went.
fn said(common: &Common, done: Done) -> ExitCode {
    let (says, code) = match done {
        Ok(text) => match terminal::print(&text) {
            Ok(()) => return ExitCode::SUCCESS,
            Err(e) => (format!("the output could not be written: {e}"), 1),
        },
        Err(Stop::Fault(says)) => (says, 1),
        Err(Stop::Usage(says)) => (says, 2),
    };
    terminal::complain(common, &says);
    ExitCode::from(code)
}

/// The journal entry that the arguments of `log` say, with no build behind them: its form alone is
/// checked, and nothing is written.
///
/// # Errors
/// What is wrong with the arguments.
pub fn entry_of(args: &[&str]) -> Result<String, Refused> {
    let command = <log::Args as Args>::augment_args(clap::Command::new("log"));
    let words = std::iter::once("log").chain(args.iter().copied());
    let matches = command.try_get_matches_from(words).map_err(|e| e.to_string())?;
    let args = <log::Args as clap::FromArgMatches>::from_arg_matches(&matches);
    log::entry_of(&args.map_err(|e| e.to_string())?).map_err(|stop| stop.says().into())
}

/// Where a file was written.
fn wrote(common: &Common, path: &std::path::Path) -> Done {
    #[derive(serde::Serialize)]
    struct Wrote {
        written: String,
    }
    let written = path.display().to_string();
    if common.json { json(&Wrote { written }) } else { Ok(written + "\n") }
}

/// A view as JSON.
fn json<T: serde::Serialize>(view: &T) -> Done {
    let text = serde_json::to_string_pretty(view).map_err(Stop::fault)?;
    Ok(escaped(&text) + "\n")
}

/// JSON in which signs that would steer a terminal stand escaped; its meaning is the same.
fn escaped(json: &str) -> String {
    let mut out = String::with_capacity(json.len());
    for sign in json.chars() {
        match crate::yaml::steers(sign) {
            true => out.push_str(&format!("\\u{:04x}", u32::from(sign))),
            false => out.push(sign),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    /// The words of a line as a POSIX shell would split them, up to a file to write to.
    fn words(line: &str) -> Vec<String> {
        let (mut out, mut word, mut quoted) = (Vec::new(), String::new(), false);
        for sign in line.trim().chars() {
            match sign {
                '\'' => quoted = !quoted,
                ' ' if !quoted => out.push(std::mem::take(&mut word)),
                '>' if !quoted => break,
                sign => word.push(sign),
            }
        }
        out.push(word);
        out.retain(|w| !w.is_empty());
        out
    }

    #[test]
    fn every_help_has_examples_that_are_understood_and_fit() {
        let cli = Cli::command();
        let mut seen = 0;
        for command in std::iter::once(&cli).chain(cli.get_subcommands()) {
            let name = command.get_name();
            let help = command.get_after_help().map(|h| h.to_string()).unwrap_or_default();
            let long = help.lines().find(|l| l.chars().count() > 80);
            assert_eq!(long, None, "{name}");
            let whole = help.replace("\\\n    ", "");
            let examples = whole.lines().filter(|l| l.starts_with("  pourwright"));
            let mut some = 0;
            for example in examples {
                let parsed = Cli::try_parse_from(words(example));
                parsed.unwrap_or_else(|e| panic!("{name}: {example}: {e}"));
                some += 1;
            }
            assert!(some > 0, "{name} has no example");
            seen += some;
        }
        assert!(seen > 50, "{seen} examples");
    }

    #[test]
    fn a_part_is_found_by_id_and_by_name() {
        let parts = "parts:\n  ram: {name: The Ram, bought: {}}\n  a: {name: Twin, bought: {}}\n  b: {name: Twin, bought: {}}\n";
        let manifest = format!("build: {{title: T, begun: 2026-01-01}}\n{parts}");
        let clock = NaiveDate::from_ymd_opt(2026, 2, 1).expect("a day");
        let today = crate::Today { asked: None, clock };
        let build = crate::read(manifest.into_bytes(), Vec::new(), today).expect("a sound build");
        let of = |text| {
            named::part(&build, text).map_err(|stop| match stop {
                Stop::Fault(says) | Stop::Usage(says) => says,
            })
        };
        assert_eq!((of("ram"), of("the ram"), of("Ram")), (Ok(0), Ok(0), Ok(0)));
        assert!(of("Twin").is_err_and(|says| says.contains("`a`, `b`")));
        assert!(of("ramm").is_err_and(|says| says.contains("did you mean `ram`")));
        assert_eq!(named::id(&build, "THE RAM"), "ram");
        assert_eq!(named::id(&build, "sand"), "sand");
    }
}
