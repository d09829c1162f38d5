//! `foreshadow meter`: what a flash meter reads.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use super::progress::Bar;
use super::{print, print_json, typed};
use crate::plan::sitter::PARTS;
use crate::plan::{self, Length, Plan};
use crate::shoot::{self, DomeAim, MeterOptions, MeterPoint};

/// Read each light alone and all of them, as a flash meter would
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file
    plan: PathBuf,
    /// Where the meter is held: a part of the sitter, a thing of the set, or x,y,z in metres
    #[arg(long, value_name = "PLACE", default_value = "face", allow_hyphen_values = true)]
    at: String,
    /// What its dome looks at: camera, light (each in turn), or a light's name
    #[arg(long, value_name = "AIM", default_value = "camera")]
    dome: String,
    /// A flat receptor instead of the dome; toward the camera it lies along the surface
    #[arg(long)]
    flat: bool,
    /// Also point a spot meter of this many degrees at the place, from the camera
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    spot: Option<f64>,
    /// Same seed, same reading
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    seed: u64,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// No progress bar
    #[arg(short, long)]
    quiet: bool,
}

impl Typed {
    fn check(&self) -> Result<(Plan, MeterOptions), CliError> {
        let plan = plan::read(&self.plan)?;
        let dome = match self.dome.as_str() {
            "camera" => DomeAim::Camera,
            "light" => DomeAim::EachLight,
            name => DomeAim::Light(typed::light("--dome", name, &plan)?),
        };
        if let Some(degrees) = self.spot.filter(|d| !(0.1..=60.0).contains(d)) {
            return Err(CliError::usage(
                format!("--spot {degrees}: no spot meter has that angle"),
                "write degrees from 0.1 to 60; hand spot meters have 1",
            ));
        }
        let options = MeterOptions {
            at: point(&self.at, &plan)?,
            dome,
            flat: self.flat,
            spot_degrees: self.spot,
            seed: self.seed,
        };
        Ok((plan, options))
    }
}

/// `x,y,z` in metres (or with units), or a name.
fn point(typed: &str, plan: &Plan) -> Result<MeterPoint, CliError> {
    if typed.contains(',') {
        let lengths: Vec<_> = typed.split(',').map(|t| t.trim().parse::<Length>()).collect();
        return match lengths.as_slice() {
            [Ok(x), Ok(y), Ok(z)] => Ok(MeterPoint::Point([x.metres, y.metres, z.metres])),
            _ => Err(CliError::usage(
                format!("--at {}: this is no point", typed::quoted(typed)),
                "write metres right, up and toward the camera from the mark, such as 0,1.6,0.2",
            )),
        };
    }
    let parts = if plan.sitter.is_some() { PARTS.as_slice() } else { &[] };
    let things = plan.cloths.iter().map(|c| c.name.as_str());
    let things = things.chain(plan.boxes.iter().map(|b| b.name.as_str()));
    let things = things.chain(plan.boards.iter().map(|b| b.name.as_str()));
    let known: Vec<&str> = parts.iter().copied().chain(things).collect();
    if known.is_empty() {
        return Err(CliError::usage(
            format!("--at {}: the plan has neither sitter nor set", typed::quoted(typed)),
            "write a point in metres from the mark, such as --at 0,1.6,0",
        ));
    }
    typed::one_of("--at", typed, "place", &known).map(MeterPoint::Mark)
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let (plan, options) = typed.check()?;
    let bar = Bar::new(typed.quiet);
    let readings = shoot::meter(&plan, &options, &|progress| bar.report(progress))
        .map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    drop(bar);
    if typed.json {
        print_json(&readings)?
    } else {
        print(&readings.to_string())?
    }
    Ok(ExitCode::SUCCESS)
}
