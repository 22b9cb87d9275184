//! The `skep` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    skep::cli::run(std::env::args_os())
}
