//! Joins the pieces: plan to stage to layers to picture and readings; what verbs and the window call.

pub mod check;
pub mod options;
pub mod output;
pub mod readings;

use std::path::Path;

pub use check::{Note, Severity, check};
pub use options::{DomeAim, Engine, MeterOptions, MeterPoint, Progress, Settle, StillOptions};
pub use output::{Output, OutputError, PictureFormat};
pub use readings::Readings;

use crate::plan::Plan;

/// Why work on a good plan failed.
#[derive(Debug, thiserror::Error)]
pub enum ShootError {
    /// The result could not be kept.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// This part of the program does not exist.
    #[error("{0} is not built yet")]
    NotBuilt(&'static str),
}

/// Renders a still and writes it to its place.
pub fn still(
    _plan: &Plan,
    _options: &StillOptions,
    _output: &Output,
    _progress: &(dyn Fn(Progress) + Sync),
) -> Result<(), ShootError> {
    Err(ShootError::NotBuilt("still"))
}

/// Reads the lights at a place.
pub fn meter(
    _plan: &Plan,
    _options: &MeterOptions,
    _progress: &(dyn Fn(Progress) + Sync),
) -> Result<Readings, ShootError> {
    Err(ShootError::NotBuilt("meter"))
}

/// Writes the stage as glTF into a folder that exists or can be made.
pub fn export(_plan: &Plan, _folder: &Path) -> Result<(), ShootError> {
    Err(ShootError::NotBuilt("export"))
}
