//! The papers of the shoot: renders and readings joined with the pages that show them.
//!
//! In: a plan and what is wanted. Out: pages or files at their place, and a manifest of what is on
//! them for `--json`.

mod board;
mod darkroom;
mod face;
mod gear;
mod place;
mod series;
mod sheet;
mod sweep;
mod words;

pub use board::{BoardItem, BoardOptions, board};
pub use place::{PageKind, PaperPlace};
pub use series::{SeriesOptions, series};
pub use sheet::{SheetManifest, SheetOptions, set_up, sheet};
pub use sweep::{SweepOptions, Vary, sweep};

pub use crate::papers::Paper;
pub use crate::papers::sheet::Units;

use std::sync::Arc;

use super::ShootError;
use crate::optics::fstop::{self, Step};
use crate::papers::contact::Frame;
use crate::picture::{FileFormat, Still, encode};
use crate::plan::Plan;

/// Today in UTC as `YYYY-MM-DD`.
pub fn today() -> String {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    date(since.map_or(0, |since| (since.as_secs() / 86_400) as i64))
}

/// The Gregorian date of a count of days from 1970-01-01. Years are counted from March, so that
/// the leap day ends a year, in eras of 400 years of 146,097 days.
fn date(days: i64) -> String {
    // days from 0000-03-01
    let days = days + 719_468;
    let (era, day) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let of_year = day - (365 * year + year / 4 - year / 100);
    // months of 31, 30, 31, 30, 31 days from March: 153 days in five months
    let month = (5 * of_year + 2) / 153;
    let of_month = of_year - (153 * month + 2) / 5 + 1;
    let (month, later) = if month < 10 { (month + 3, 0) } else { (month - 9, 1) };
    format!("{:04}-{month:02}-{of_month:02}", era * 400 + year + later)
}

/// The plan's title, or a word for none.
fn title(plan: &Plan) -> String {
    if plan.title.is_empty() { "Untitled set".into() } else { plan.title.clone() }
}

/// The camera's setting in a line.
fn setting(plan: &Plan) -> String {
    let camera = &plan.camera;
    format!(
        "{} mm  {}  {}  ISO {:.0}",
        camera.focal_mm, camera.aperture, camera.shutter, camera.iso
    )
}

/// A reading as a meter shows it: `f/5.6 + 0.3`; a dash for none.
fn reads(f_number: Option<f64>) -> String {
    f_number.map_or("–".into(), |n| fstop::reading(n, Step::Tenths))
}

/// Stops with their sign: `+0.3`, `−2`.
fn signed(stops: f64) -> String {
    // −0.04 is no stop at all
    let tenths = (stops * 10.0).round() / 10.0;
    if tenths == 0.0 { "±0".into() } else { format!("{tenths:+}").replace('-', "−") }
}

/// A still as a frame of a page.
fn frame(still: &Still, heading: String, lines: Vec<String>) -> Result<Frame, ShootError> {
    let file: Arc<[u8]> = encode(still, FileFormat::Jpeg)?.into();
    Ok(Frame { file, size: (still.width, still.height), heading, lines, swatches: Vec::new() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates() {
        for (days, shown) in [
            (0, "1970-01-01"),
            (-1, "1969-12-31"),
            (11_016, "2000-02-29"),
            (11_017, "2000-03-01"),
            (19_782, "2024-02-29"),
            (20_454, "2026-01-01"),
            (47_540, "2100-02-28"),
            (47_541, "2100-03-01"),
        ] {
            assert_eq!(date(days), shown, "{days}");
        }
    }

    #[test]
    fn stops_have_their_sign() {
        for (stops, shown) in
            [(0.04, "±0"), (-0.04, "±0"), (0.25, "+0.3"), (-2.0, "−2"), (1.0, "+1")]
        {
            assert_eq!(signed(stops), shown);
        }
    }
}
