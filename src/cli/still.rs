//! `foreshadow still`: what the camera records.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::error::CliError;
use super::progress::Bar;
use super::typed;
use crate::plan::{self, Plan};
use crate::shoot::{self, FileFormat, MapZero, Output, StillOptions};

/// Render the picture that the camera records
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
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
    #[command(flatten)]
    engine: typed::EngineArgs,
    /// Show stops from a chosen tone in bands of colour, with a legend, instead of the picture
    #[arg(long, value_enum)]
    map: Option<TypedMap>,
    /// The tone that a map is counted from: grey (18 %), paper (white), or a place such as face
    #[arg(
        long,
        value_name = "TONE",
        default_value = "grey",
        requires = "map",
        allow_hyphen_values = true
    )]
    zero: String,
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

/// What a map shows.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedMap {
    Stops,
}

/// What is to be done, all of it possible.
struct Checked {
    plan: Plan,
    options: StillOptions,
    output: Output,
    /// The tone that a map is counted from, if a map is asked for.
    zero: Option<MapZero>,
}

impl Typed {
    fn check(&self) -> Result<Checked, CliError> {
        let mut plan = plan::read(&self.plan)?;
        plan.development.clipping |= self.clipping;
        let options = StillOptions {
            size: self.size.as_deref().map(typed::size).transpose()?,
            settle: typed::settle(self.samples.as_deref(), self.within.as_deref())?,
            only: typed::only(self.only.as_deref(), &plan)?,
            engine: self.engine.check(),
            seed: self.seed,
        };
        let zero = match (self.map, self.zero.as_str()) {
            (None, _) => None,
            (Some(TypedMap::Stops), "grey") => Some(MapZero::Grey),
            (Some(TypedMap::Stops), "paper") => Some(MapZero::Paper),
            (Some(TypedMap::Stops), place) => {
                Some(MapZero::At(super::meter::point("--zero", place, &plan)?))
            }
        };
        let output = Output::picture(&self.output)?;
        if zero.is_some() && output.format == FileFormat::Exr {
            return Err(CliError::usage(
                "a map cannot go into an .exr, which holds light by light",
                "write it to .png, .jpg or .tif",
            ));
        }
        Ok(Checked { plan, options, output, zero })
    }
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let Checked { plan, options, output, zero } = typed.check()?;
    let bar = Bar::new(typed.quiet);
    let progress = |progress| bar.report(progress);
    let done = match &zero {
        Some(zero) => shoot::stops_map(&plan, &options, zero, &output, &progress),
        None => shoot::still(&plan, &options, &output, &progress),
    };
    done.map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    Ok(ExitCode::SUCCESS)
}
