//! `foreshadow check`: what will go wrong on the day.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use super::{print, print_json};
use crate::plan;
use crate::shoot::{self, Severity, check};

/// Say what will go wrong on the day
///
/// The exit status is 1 if a problem is found; cautions leave it at 0.
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
    plan: PathBuf,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let plan = plan::read(&typed.plan)?;
    let notes = shoot::notes(&plan);
    if typed.json {
        print_json(&serde_json::json!({ "notes": notes }))?;
    } else {
        print(&check::report(&notes))?;
    }
    let bad = notes.iter().any(|note| note.severity == Severity::Problem);
    Ok(ExitCode::from(u8::from(bad)))
}
