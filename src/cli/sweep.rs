//! `foreshadow sweep`: a field of the plan, or two, through a range.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use super::progress::Bar;
use super::{paper, print_json, typed};
use crate::plan::vary::{Field, VaryError};
use crate::plan::{self, Plan};
use crate::shoot::ShootError;
use crate::shoot::papers::{self, PaperPlace, SweepOptions, Vary};

/// Most frames of a sweep.
const MOST: usize = 64;
/// Frames where no number is given: for one field, and for each of two.
const USUAL: [usize; 2] = [8, 4];

/// Show what a number of the plan does, through a range of it
#[derive(Debug, Args)]
#[command(
    after_help = "Fields: azimuth, elevation, distance, power, … of the light named by --light; or by path:\n\
    camera.focal_mm, camera.aperture, sitter.turn, room.walls.reflectance, boxes.NAME.turn, fill.power\n\
    A second --vary makes a grid. Aperture, shutter and ISO go in equal steps of stops.\n\
    Power, gel, shutter and ISO need no new rendering; a moved light only its own; the aperture is\n\
    rendered again, because it changes what is sharp."
)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
    plan: PathBuf,
    /// The light whose field varies
    #[arg(long, value_name = "NAME")]
    light: Option<String>,
    /// The field and its values: azimuth=100..170, power=1/64..1/4, or power=1/16,1/8,1/4
    #[arg(long, value_name = "FIELD=A..B", required = true, allow_hyphen_values = true)]
    vary: Vec<String>,
    /// How many frames; for a grid across x down [default: 8, 4x4]
    #[arg(long, value_name = "N|NxM")]
    frames: Option<String>,
    /// The page: .pdf, .svg or .png; a folder takes single stills and the page; - for PDF on standard output
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,
    /// Correct each frame's exposure to the first frame's reading at the face
    #[arg(long)]
    level: bool,
    /// Keep only these lights, such as key,rim
    #[arg(long, value_name = "NAMES")]
    only: Option<String>,
    #[command(flatten)]
    rendering: paper::Rendering,
    #[command(flatten)]
    sheet: paper::Sheet,
}

fn refused(error: VaryError) -> CliError {
    CliError::usage(format!("--vary: {}", error.problem), error.remedy)
}

impl Typed {
    /// Frames for each field.
    fn counts(&self, fields: usize) -> Result<[usize; 2], CliError> {
        let Some(typed) = &self.frames else { return Ok([USUAL[fields - 1]; 2]) };
        let number =
            |text: &str| text.trim().parse::<usize>().ok().filter(|n| (1..=MOST).contains(n));
        let counts = match typed.split_once(['x', '×']) {
            Some((across, down)) if fields == 2 => number(across).zip(number(down)),
            None if fields == 1 => number(typed).map(|n| (n, 1)),
            _ => None,
        };
        counts.map(|(across, down)| [across, down]).ok_or_else(|| {
            CliError::usage(
                format!("--frames {}: this is no number of frames", typed::quoted(typed)),
                format!(
                    "write 1 to {MOST} for one field, such as 8; across x down for two, such as 4x3"
                ),
            )
        })
    }

    fn vary(&self, plan: &Plan, typed: &str, count: usize) -> Result<Vary, CliError> {
        let Some((name, values)) = typed.split_once('=') else {
            return Err(CliError::usage(
                format!("--vary {}: there is no = in it", typed::quoted(typed)),
                "write the field and its values, such as azimuth=100..170",
            ));
        };
        let field = Field::find(plan, self.light.as_deref(), name).map_err(refused)?;
        let read = |text: &str| field.read(text).map_err(refused);
        let values = match values.split_once("..") {
            Some((from, to)) => field.between(read(from)?, read(to)?, count),
            None => values.split(',').map(read).collect::<Result<_, _>>()?,
        };
        Ok(Vary { field, values })
    }

    fn check(&self) -> Result<(Plan, SweepOptions, PaperPlace), CliError> {
        let plan = plan::read(&self.plan)?;
        if let Some(name) = &self.light {
            typed::one_of(
                "--light",
                name,
                "light",
                &plan.lights.iter().map(|light| light.name.as_str()).collect::<Vec<_>>(),
            )?;
        }
        if self.vary.len() > 2 {
            return Err(CliError::usage(
                format!("{} fields are too many for a page", self.vary.len()),
                "vary one field, or two for a grid",
            ));
        }
        let counts = self.counts(self.vary.len())?;
        let across = self.vary(&plan, &self.vary[0], counts[0])?;
        let second =
            self.vary.get(1).map(|typed| self.vary(&plan, typed, counts[1])).transpose()?;
        let all = across.values.len() * second.as_ref().map_or(1, |vary| vary.values.len());
        if all > MOST {
            return Err(CliError::usage(
                format!("{all} frames are too many for a sweep"),
                format!("keep to {MOST}"),
            ));
        }
        if second.as_ref().is_some_and(|second| second.field == across.field) {
            return Err(CliError::usage(
                "both --vary name the same field",
                "name two fields, or one with more frames",
            ));
        }
        // every value is refused or taken before work starts
        for vary in [Some(&across), second.as_ref()].into_iter().flatten() {
            for value in &vary.values {
                vary.field.set(&plan, *value).map_err(refused)?;
            }
        }
        let mut still = self.rendering.check()?;
        still.only = typed::only(self.only.as_deref(), &plan)?;
        let options = SweepOptions {
            still,
            across,
            down: second,
            level: self.level,
            paper: self.sheet.paper(),
            date: self.sheet.date(),
        };
        let place = PaperPlace::of(&self.output, true)?;
        self.sheet.refuse_both(&place)?;
        Ok((plan, options, place))
    }
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let (plan, options, place) = typed.check()?;
    let bar = Bar::new(typed.sheet.quiet);
    let manifest = papers::sweep(&plan, &options, &place, &|progress| bar.report(progress))
        .map_err(|error| match error {
            // a set that stands as written may not stand everywhere in the range
            ShootError::Stage(error) => {
                let (problem, remedy) = error.told();
                CliError::usage(format!("--vary: {}: {problem}", error.part()), remedy)
            }
            error => CliError::working(error, &plan, &typed.plan),
        })?;
    drop(bar);
    if typed.sheet.json {
        print_json(&manifest)?;
    }
    Ok(ExitCode::SUCCESS)
}
