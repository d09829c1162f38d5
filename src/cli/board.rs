//! `foreshadow board`: a moodboard of stills.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use super::error::CliError;
use super::progress::Bar;
use super::{paper, print_json, typed};
use crate::plan;
use crate::shoot::papers::{self, BoardItem, BoardOptions, PaperPlace};

/// Most stills of a board.
const MOST: usize = 60;

/// Lay stills on a page with captions and their colours
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// Plans, which are rendered, and pictures, which are shown as they are
    #[arg(required = true, value_name = "PLAN|PICTURE")]
    items: Vec<PathBuf>,
    /// The page: .pdf, .svg or .png; - for PDF on standard output
    #[arg(short, long, value_name = "OUT")]
    output: PathBuf,
    /// The page's title
    #[arg(long, value_name = "WORDS", default_value = "Moodboard")]
    title: String,
    #[command(flatten)]
    rendering: paper::Rendering,
    #[command(flatten)]
    sheet: paper::Sheet,
}

/// A picture by its ending, else a plan.
fn item(path: &Path) -> Result<BoardItem, CliError> {
    let ending = path.extension().and_then(|ending| ending.to_str()).unwrap_or_default();
    match ending.to_ascii_lowercase().as_str() {
        "png" | "jpg" | "jpeg" | "tif" | "tiff" => {
            if !path.is_file() {
                return Err(CliError::usage(
                    format!("{}: there is no such picture", path.display()),
                    "name a plan (.ron) or a picture (.png, .jpg, .tif)",
                ));
            }
            Ok(BoardItem::Picture(path.to_owned()))
        }
        _ => Ok(BoardItem::Plan(path.to_owned(), Box::new(plan::read(path)?))),
    }
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    if typed.items.len() > MOST {
        return Err(CliError::usage(
            format!("{} stills are too many for a board", typed.items.len()),
            format!("name at most {MOST}"),
        ));
    }
    let items = typed.items.iter().map(|path| item(path)).collect::<Result<Vec<_>, _>>()?;
    let options = BoardOptions {
        still: typed.rendering.check()?,
        paper: typed.sheet.paper(),
        title: typed::line(&typed.title),
        date: typed.sheet.date(),
    };
    let place = PaperPlace::of(&typed.output, false)?;
    typed.sheet.refuse_both(&place)?;
    let bar = Bar::new(typed.sheet.quiet);
    let manifest = papers::board(&items, &options, &place, &|progress| bar.report(progress))
        .map_err(CliError::Shoot)?;
    drop(bar);
    if typed.sheet.json {
        print_json(&manifest)?;
    }
    Ok(ExitCode::SUCCESS)
}
