//! `foreshadow export`: the stage for any 3D program.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use crate::plan;
use crate::shoot::{self, output};

/// Write the stage as glTF 2.0 for any 3D program
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
    plan: PathBuf,
    /// The folder that takes the files
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let plan = plan::read(&typed.plan)?;
    output::folder(&typed.output)?;
    shoot::export(&plan, &typed.output)
        .map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    Ok(ExitCode::SUCCESS)
}
