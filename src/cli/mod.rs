//! The command line: arguments as typed, then as checked; one file a verb.
//!
//! Standard output carries results, standard error carries progress and the one error.
//! Exit status: 0 done, 1 the work failed or `check` found a problem, 2 bad usage or a bad plan.

mod balance;
mod board;
mod check;
mod error;
mod export;
mod meter;
mod new;
mod paper;
mod progress;
mod series;
mod sheet;
mod still;
mod sweep;
mod typed;
mod window;
mod wish;

use std::io::{self, Write};
use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{Parser, Subcommand};

use error::CliError;

/// See studio light and shadow before carrying gear into the studio.
#[derive(Debug, Parser)]
#[command(name = "foreshadow", version)]
#[command(
    after_help = "Without a command the window opens. Or start: foreshadow new my.ron, then foreshadow still my.ron -o my.png"
)]
struct Typed {
    #[command(subcommand)]
    verb: Option<Verb>,
}

#[derive(Debug, Subcommand)]
enum Verb {
    Window(window::Typed),
    New(new::Typed),
    Still(still::Typed),
    Series(series::Typed),
    Sweep(sweep::Typed),
    Board(board::Typed),
    Sheet(sheet::Typed),
    Meter(meter::Typed),
    Balance(balance::Typed),
    Check(check::Typed),
    Export(export::Typed),
}

/// Runs the command and turns its outcome into an exit status.
pub fn main() -> ExitCode {
    match run() {
        Ok(code) => code,
        Err(error) if error.is_broken_pipe() => ExitCode::SUCCESS,
        Err(error) => {
            // nobody is left to tell if standard error is closed
            let _ = writeln!(io::stderr().lock(), "foreshadow: {error}");
            error.exit_code()
        }
    }
}

fn run() -> Result<ExitCode, CliError> {
    let typed = match Typed::try_parse() {
        Ok(typed) => typed,
        Err(asked)
            if matches!(asked.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) =>
        {
            asked.print()?;
            return Ok(ExitCode::SUCCESS);
        }
        Err(error) => return Err(CliError::arguments(&error)),
    };
    match typed.verb.unwrap_or_else(|| Verb::Window(window::Typed::default())) {
        Verb::Window(typed) => window::run(typed),
        Verb::New(typed) => new::run(typed),
        Verb::Still(typed) => still::run(typed),
        Verb::Series(typed) => series::run(typed),
        Verb::Sweep(typed) => sweep::run(typed),
        Verb::Board(typed) => board::run(typed),
        Verb::Sheet(typed) => sheet::run(typed),
        Verb::Meter(typed) => meter::run(typed),
        Verb::Balance(typed) => balance::run(typed),
        Verb::Check(typed) => check::run(typed),
        Verb::Export(typed) => export::run(typed),
    }
}

/// Prints a result; the reader may have gone away, which the caller forgives.
fn print(text: &str) -> Result<(), CliError> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()?;
    Ok(())
}

/// Prints a result as JSON on one line.
fn print_json(value: &impl serde::Serialize) -> Result<(), CliError> {
    let text = serde_json::to_string(value).map_err(io::Error::from)?;
    print(&(text + "\n"))
}
