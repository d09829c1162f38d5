//! Arguments that the papers share: how stills are rendered, the page's size and date.

use clap::{Args, ValueEnum};

use super::error::CliError;
use super::typed;
use crate::shoot::StillOptions;
use crate::shoot::papers::{Paper, PaperPlace, today};

/// How the stills of a page are rendered.
#[derive(Debug, Args)]
pub(super) struct Rendering {
    /// Pixels across and down of each still, such as 320x480
    #[arg(long, value_name = "WxH", allow_hyphen_values = true)]
    size: Option<String>,
    /// Stop after this many samples for each pixel
    #[arg(long, value_name = "N", conflicts_with = "within", allow_hyphen_values = true)]
    samples: Option<String>,
    /// Stop when the error is within so many stops [default: 0.05]
    #[arg(long, value_name = "STOPS", allow_hyphen_values = true)]
    within: Option<String>,
    #[command(flatten)]
    engine: typed::EngineArgs,
    /// Same seed, same pictures
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    seed: u64,
}

impl Rendering {
    pub(super) fn check(&self) -> Result<StillOptions, CliError> {
        Ok(StillOptions {
            size: self.size.as_deref().map(typed::size).transpose()?,
            settle: typed::settle(self.samples.as_deref(), self.within.as_deref())?,
            only: Vec::new(),
            engine: self.engine.check(),
            seed: self.seed,
        })
    }
}

/// The page.
#[derive(Debug, Args)]
pub(super) struct Sheet {
    /// Size of the page
    #[arg(long, value_enum, default_value = "a4")]
    paper: TypedPaper,
    /// The date on the page [default: today, UTC]
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
    /// Print what is on the page as JSON
    #[arg(long)]
    pub(super) json: bool,
    /// No progress bar
    #[arg(short, long)]
    pub(super) quiet: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedPaper {
    A4,
    A3,
    Letter,
    /// 1920 × 1080 pixels
    Screen,
}

impl Sheet {
    pub(super) fn paper(&self) -> Paper {
        match self.paper {
            TypedPaper::A4 => Paper::A4,
            TypedPaper::A3 => Paper::A3,
            TypedPaper::Letter => Paper::Letter,
            TypedPaper::Screen => Paper::Screen,
        }
    }

    /// Standard output takes the page or the JSON.
    pub(super) fn refuse_both(&self, place: &PaperPlace) -> Result<(), CliError> {
        if self.json && *place == PaperPlace::Stdout {
            return Err(CliError::usage(
                "`-o -` and --json both want standard output",
                "write the page to a file: -o page.pdf --json",
            ));
        }
        Ok(())
    }

    pub(super) fn date(&self) -> String {
        self.date.as_deref().map_or_else(today, typed::line)
    }
}
