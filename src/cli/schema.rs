use super::{Done, Stop};
use crate::view::schema::{of_build, of_journal};

/// Arguments of `schema`.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Examples:
  pourwright schema build > build.schema.json
  pourwright schema journal > journal.schema.json

Many editors take it from the first line of the YAML file:
  # yaml-language-server: $schema=build.schema.json")]
pub struct Args {
    /// Which file: build for build.yaml, journal for an entry of journal.yaml
    #[arg(value_parser = ["build", "journal"], default_value = "build")]
    of: String,
}

/// `schema`: what the files may hold.
pub fn run(args: &Args) -> Done {
    let schema = if args.of == "journal" { of_journal() } else { of_build() };
    serde_json::to_string_pretty(&schema).map(|text| text + "\n").map_err(Stop::fault)
}
