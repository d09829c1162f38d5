//! The `foreshadow` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    foreshadow::cli::main()
}
