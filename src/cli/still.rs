//! `foreshadow still`: what the camera records.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::error::CliError;
use super::progress::Bar;
use super::typed;
use crate::plan::{self, Plan};
use crate::shoot::{self, Engine, Output, StillOptions};

/// Render the picture that the camera records
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file
    plan: PathBuf,
    /// The picture: .png, .jpg, .tif, .exr (with a layer for each light), or - for PNG on standard output
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,
    /// Pixels across and down, such as 960x640
    #[arg(long, value_name = "WxH", allow_hyphen_values = true)]
    size: Option<String>,
    /// Stop after this many samples for each pixel
    #[arg(long, value_name = "N", conflicts_with = "within", allow_hyphen_values = true)]
    samples: Option<String>,
    /// Stop when the error is within so many stops [default: 0.05]
    #[arg(long, value_name = "STOPS", allow_hyphen_values = true)]
    within: Option<String>,
    /// Keep only these lights, such as key,rim
    #[arg(long, value_name = "NAMES")]
    only: Option<String>,
    /// Which engine renders
    #[arg(long, value_enum, default_value = "auto")]
    engine: TypedEngine,
    /// Same seed, same picture
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    seed: u64,
    /// Hatch what is lost: orange-red in the lights, blue in the darks
    #[arg(long)]
    clipping: bool,
    /// No progress bar
    #[arg(short, long)]
    quiet: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedEngine {
    Auto,
    Trace,
}

/// What is to be done, all of it possible.
struct Checked {
    plan: Plan,
    options: StillOptions,
    output: Output,
}

impl Typed {
    fn check(&self) -> Result<Checked, CliError> {
        let mut plan = plan::read(&self.plan)?;
        plan.development.clipping |= self.clipping;
        let options = StillOptions {
            size: self.size.as_deref().map(typed::size).transpose()?,
            settle: typed::settle(self.samples.as_deref(), self.within.as_deref())?,
            only: typed::only(self.only.as_deref(), &plan)?,
            engine: match self.engine {
                TypedEngine::Auto => Engine::Auto,
                TypedEngine::Trace => Engine::Trace,
            },
            seed: self.seed,
        };
        Ok(Checked { plan, options, output: Output::picture(&self.output)? })
    }
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let Checked { plan, options, output } = typed.check()?;
    let bar = Bar::new(typed.quiet);
    shoot::still(&plan, &options, &output, &|progress| bar.report(progress))
        .map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    Ok(ExitCode::SUCCESS)
}
