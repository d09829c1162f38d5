//! `foreshadow sheet`: the pages that an assistant builds from.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::error::CliError;
use super::progress::Bar;
use super::{paper, print_json, typed};
use crate::plan;
use crate::shoot::papers::{self, PaperPlace, SheetOptions, Units};

/// Draw the set to scale, with tables, test frames, gear and cautions
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
    plan: PathBuf,
    /// The pages: .pdf, .svg or .png (a file a page); - for PDF on standard output
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,
    /// What lengths are printed in
    #[arg(long, value_enum, default_value = "m")]
    units: TypedUnits,
    /// The job line: client, place, crew
    #[arg(long, value_name = "WORDS", default_value = "")]
    job: String,
    /// Same seed, same readings
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    seed: u64,
    #[command(flatten)]
    sheet: paper::Sheet,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedUnits {
    /// Metres
    M,
    /// Feet and inches
    Ft,
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let plan = plan::read(&typed.plan)?;
    let options = SheetOptions {
        job: typed::line(&typed.job),
        date: typed.sheet.date(),
        units: match typed.units {
            TypedUnits::M => Units::Metres,
            TypedUnits::Ft => Units::Feet,
        },
        paper: typed.sheet.paper(),
        seed: typed.seed,
    };
    let place = PaperPlace::of(&typed.output, false)?;
    typed.sheet.refuse_both(&place)?;
    let bar = Bar::new(typed.sheet.quiet);
    let manifest = papers::sheet(&plan, &options, &place, &|progress| bar.report(progress))
        .map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    drop(bar);
    if typed.sheet.json {
        print_json(&manifest)?;
    }
    Ok(ExitCode::SUCCESS)
}
