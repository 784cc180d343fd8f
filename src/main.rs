//! The `pourwright` command.

use std::process::ExitCode;

/// Half the time of a large report went into the system's allocator.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    pourwright::cli::main()
}
