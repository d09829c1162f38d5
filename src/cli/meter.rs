//! `foreshadow meter`: what a flash meter reads.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::error::CliError;
use super::progress::Bar;
use super::{print, print_json, typed};
use crate::plan::sitter::PARTS;
use crate::plan::units::LengthUnit;
use crate::plan::{self, Length, Plan};
use crate::shoot::{self, DomeAim, MeterOptions, MeterPoint, Step, TableStyle};

/// Read each light alone and all of them, as a flash meter would
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
    plan: PathBuf,
    /// Where the meter is held: a part of the sitter, a thing of the set, or x,y,z in metres;
    /// give it again for more places
    #[arg(long, value_name = "PLACE", default_value = "face", allow_hyphen_values = true)]
    at: Vec<String>,
    /// What its dome looks at: camera, light (each in turn), or the name of a light or place
    #[arg(long, value_name = "AIM", default_value = "camera", allow_hyphen_values = true)]
    dome: String,
    /// A flat receptor instead of the dome; toward the camera it lies along the surface
    #[arg(long)]
    flat: bool,
    /// Also point a spot meter of this many degrees at the place, from the camera
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    spot: Option<f64>,
    /// Fractions of a stop in the table: tenths as on hand meters, thirds as on dials
    #[arg(long, value_enum, default_value = "tenths")]
    steps: TypedSteps,
    /// Lengths in feet and inches in the table
    #[arg(long)]
    feet: bool,
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

/// Fractions of a stop.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedSteps {
    Tenths,
    Thirds,
}

/// What is to be read.
struct Checked {
    plan: Plan,
    /// One a place.
    options: Vec<MeterOptions>,
    style: TableStyle,
}

impl Typed {
    fn check(&self) -> Result<Checked, CliError> {
        let plan = plan::read(&self.plan)?;
        let dome = aim("--dome", &self.dome, &plan)?;
        if let Some(degrees) = self.spot.filter(|d| !(0.1..=60.0).contains(d)) {
            return Err(CliError::usage(
                format!("--spot {degrees}: no spot meter has that angle"),
                "write degrees from 0.1 to 60; hand spot meters have 1",
            ));
        }
        let options = self.at.iter().map(|at| {
            Ok(MeterOptions {
                at: point("--at", at, &plan)?,
                dome: dome.clone(),
                flat: self.flat,
                spot_degrees: self.spot,
                seed: self.seed,
            })
        });
        let options = options.collect::<Result<_, CliError>>()?;
        let step = match self.steps {
            TypedSteps::Tenths => Step::Tenths,
            TypedSteps::Thirds => Step::Thirds,
        };
        let unit = if self.feet { LengthUnit::Feet } else { LengthUnit::Metric };
        Ok(Checked { plan, options, style: TableStyle { step, unit } })
    }
}

/// What a dome looks at.
pub(super) fn aim(argument: &str, typed: &str, plan: &Plan) -> Result<DomeAim, CliError> {
    Ok(match typed {
        "camera" => DomeAim::Camera,
        "light" => DomeAim::EachLight,
        name if plan.lights.iter().any(|light| light.name == name) => DomeAim::Light(name.into()),
        place if place.contains(',') => DomeAim::Toward(point(argument, place, plan)?),
        place => {
            let lights = plan.lights.iter().map(|light| light.name.as_str());
            let known: Vec<&str> = lights.chain(places(plan)).collect();
            let hair = place == "hair" && !known.contains(&place);
            let place = if hair { "crown" } else { place };
            let place = typed::one_of(argument, place, "light or place", &known)?;
            DomeAim::Toward(point(argument, &place, plan)?)
        }
    })
}

/// Names of the plan's places: parts of the sitter, things of the set.
fn places(plan: &Plan) -> Vec<&str> {
    let parts = if plan.sitter.is_some() { PARTS.as_slice() } else { &[] };
    let things = plan.cloths.iter().map(|c| c.name.as_str());
    let things = things.chain(plan.boxes.iter().map(|b| b.name.as_str()));
    let things = things.chain(plan.boards.iter().map(|b| b.name.as_str()));
    parts.iter().copied().chain(things).collect()
}

/// `x,y,z` in metres (or with units), or a name.
pub(super) fn point(argument: &str, typed: &str, plan: &Plan) -> Result<MeterPoint, CliError> {
    if typed.contains(',') {
        let lengths: Vec<_> = typed.split(',').map(|t| t.trim().parse::<Length>()).collect();
        return match lengths.as_slice() {
            [Ok(x), Ok(y), Ok(z)] => Ok(MeterPoint::Point([x.metres, y.metres, z.metres])),
            _ => Err(CliError::usage(
                format!("{argument} {}: this is no point", typed::quoted(typed)),
                "write metres right, up and toward the camera from the mark, such as 0,1.6,0.2",
            )),
        };
    }
    let known = places(plan);
    // where a hair light falls is the crown, unless the set has a thing of that name
    let typed = if typed == "hair" && !known.contains(&"hair") { "crown" } else { typed };
    if known.is_empty() {
        return Err(CliError::usage(
            format!("{argument} {}: the plan has neither sitter nor set", typed::quoted(typed)),
            "write a point in metres from the mark, such as 0,1.6,0",
        ));
    }
    typed::one_of(argument, typed, "place", &known).map(MeterPoint::Mark)
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let Checked { plan, options, style } = typed.check()?;
    let bar = Bar::new(typed.quiet);
    let readings = shoot::meter_places(&plan, &options, &|progress| bar.report(progress))
        .map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    drop(bar);
    if typed.json {
        // one object a line, one line a place
        return readings.iter().try_for_each(print_json).map(|()| ExitCode::SUCCESS);
    }
    let tables: Vec<String> = readings.iter().map(|one| one.table(style)).collect();
    print(&tables.join("\n"))?;
    Ok(ExitCode::SUCCESS)
}
