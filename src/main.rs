//! The `pourwright` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    pourwright::cli::main()
}
