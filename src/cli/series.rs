//! `foreshadow series`: the test frames of the day.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use super::progress::Bar;
use super::{paper, print_json, typed};
use crate::plan;
use crate::shoot::papers::{self, PaperPlace, SeriesOptions};

/// Show the test frames: ambient alone, the weakest light alone, then the others added
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
    plan: PathBuf,
    /// The page: .pdf, .svg or .png; a folder takes single stills and the page; - for PDF on standard output
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,
    /// Keep only these lights, such as key,rim
    #[arg(long, value_name = "NAMES")]
    only: Option<String>,
    #[command(flatten)]
    rendering: paper::Rendering,
    #[command(flatten)]
    sheet: paper::Sheet,
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let plan = plan::read(&typed.plan)?;
    let mut still = typed.rendering.check()?;
    still.only = typed::only(typed.only.as_deref(), &plan)?;
    let (paper, date) = (typed.sheet.paper(), typed.sheet.date());
    let options = SeriesOptions { still, paper, date };
    let place = PaperPlace::of(&typed.output, true)?;
    typed.sheet.refuse_both(&place)?;
    let bar = Bar::new(typed.sheet.quiet);
    let manifest = papers::series(&plan, &options, &place, &|progress| bar.report(progress))
        .map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    drop(bar);
    if typed.sheet.json {
        print_json(&manifest)?;
    }
    Ok(ExitCode::SUCCESS)
}
