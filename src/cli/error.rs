//! What can go wrong in a run, and whose fault it is.

use std::io;
use std::path::Path;
use std::process::ExitCode;

use crate::plan::{self, Fault, Plan, PlanError};
use crate::shoot::{OutputError, ShootError};
use crate::window::WindowError;

/// A run's failure.
#[derive(Debug, thiserror::Error)]
pub(super) enum CliError {
    /// The user's: arguments that cannot be meant.
    #[error("{problem}\n   hint: {remedy}")]
    Usage {
        /// One sentence with the value.
        problem: String,
        /// What to type instead.
        remedy: String,
    },
    /// The user's: arguments that do not parse.
    #[error("{0}")]
    Arguments(String),
    /// The plan's.
    #[error(transparent)]
    Plan(#[from] PlanError),
    /// The place for the result.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// Ours or the machine's.
    #[error(transparent)]
    Shoot(ShootError),
    /// The machine's: no display.
    #[error(transparent)]
    Window(#[from] WindowError),
    /// Standard output.
    #[error("cannot print the result: {0}")]
    Print(#[from] io::Error),
}

impl CliError {
    pub(super) fn usage(problem: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self::Usage { problem: problem.into(), remedy: remedy.into() }
    }

    /// The argument parser's complaint without its own prefix.
    pub(super) fn arguments(error: &clap::Error) -> Self {
        let text = error.render().to_string();
        Self::Arguments(text.strip_prefix("error: ").unwrap_or(&text).trim_end().to_owned())
    }

    /// Failed work on the plan in a file: what the plan is to blame for is put at its line.
    pub(super) fn working(error: ShootError, plan: &Plan, path: &Path) -> Self {
        match error {
            ShootError::Stage(error) => {
                let (problem, remedy) = error.told();
                let fault =
                    Fault { path: error.field(plan), label: String::new(), problem, remedy };
                Self::Plan(plan::blame(path, fault))
            }
            error => Self::Shoot(error),
        }
    }

    /// Whether the reader of our output has gone away, which is no error.
    pub(super) fn is_broken_pipe(&self) -> bool {
        let source = match self {
            Self::Print(source) => source,
            Self::Output(OutputError::Write { source, .. })
            | Self::Shoot(ShootError::Output(OutputError::Write { source, .. })) => source,
            _ => return false,
        };
        source.kind() == io::ErrorKind::BrokenPipe
    }

    pub(super) fn exit_code(&self) -> ExitCode {
        ExitCode::from(match self {
            Self::Plan(PlanError::Write { .. }) => 1,
            Self::Usage { .. } | Self::Arguments(_) | Self::Plan(_) => 2,
            Self::Output(OutputError::Place { .. }) => 2,
            Self::Shoot(
                ShootError::TooLarge { .. }
                | ShootError::Dark
                | ShootError::Vary(_)
                | ShootError::Picture { .. },
            ) => 2,
            Self::Output(OutputError::Write { .. })
            | Self::Shoot(_)
            | Self::Window(_)
            | Self::Print(_) => 1,
        })
    }
}
