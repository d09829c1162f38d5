//! `foreshadow window`, and `foreshadow` without a verb: the window.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use crate::plan;
use crate::window;

/// Open the window: set light by hand and watch it settle
#[derive(Debug, Args, Default)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan; the last plan if none is named
    plan: Option<PathBuf>,
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    if let Some(path) = &typed.plan {
        // a file that is not there is a slip at the keyboard; a plan with a mistake in it is shown
        // in the window, which then has the last good one
        if !path.is_file() {
            plan::read(path)?;
        }
    }
    window::open(typed.plan)?;
    Ok(ExitCode::SUCCESS)
}
