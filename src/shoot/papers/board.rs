//! A moodboard: stills of plans and pictures with captions and their colours.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use glam::Vec3;
use serde::Serialize;

use super::place::PaperPlace;
use super::{setting, title};
use crate::papers::Paper;
use crate::papers::contact::{self, Contact, Frame};
use crate::papers::page::Ink;
use crate::papers::palette::{Swatch, palette};
use crate::picture::{FileFormat, Still, encode};
use crate::plan::Plan;
use crate::shoot::options::{Progress, StillOptions};
use crate::shoot::{ShootError, still, take};
use crate::stage;

/// Long side of a still that is rendered for a board.
const LONG_SIDE: f64 = 600.0;
/// Longest side that a picture keeps on a board, pixels: 300 an inch over 20 cm.
const MOST_PIXELS: u32 = 2400;
/// Longest side of a picture that is read at all, pixels.
const LARGEST: u32 = 30_000;
/// Colours of a picture's strip.
const STRIP: usize = 5;
/// Colours of the board.
const PALETTE: usize = 8;

/// Something for the board.
#[derive(Debug, Clone, PartialEq)]
pub enum BoardItem {
    /// A plan, rendered.
    Plan(PathBuf, Box<Plan>),
    /// A picture file, as it is.
    Picture(PathBuf),
}

/// A board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardOptions {
    /// Size, quality and seed of stills that are rendered.
    pub still: StillOptions,
    /// The page.
    pub paper: Paper,
    /// Its title.
    pub title: String,
    /// For the page's head.
    pub date: String,
}

/// What a board holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoardManifest {
    /// The board's title.
    pub title: String,
    /// In order.
    pub stills: Vec<BoardStill>,
    /// Colours of all together, dark to light.
    pub palette: Vec<BoardColor>,
    /// The pages, a file each.
    pub pages: Vec<PathBuf>,
}

/// A still of the board.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoardStill {
    /// The plan or the picture.
    pub source: PathBuf,
    /// In bold under it.
    pub caption: String,
    /// Its own colours, dark to light.
    pub palette: Vec<BoardColor>,
}

/// A colour.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoardColor {
    /// sRGB, `#rrggbb`.
    pub color: String,
    /// Share of the pixels, 0 to 1.
    pub share: f64,
}

/// Renders what is not a picture yet and lays the board.
pub fn board(
    items: &[BoardItem],
    options: &BoardOptions,
    place: &PaperPlace,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<BoardManifest, ShootError> {
    let (mut frames, mut stills, mut all) = (Vec::new(), Vec::new(), Vec::new());
    for (number, item) in items.iter().enumerate() {
        let part = |inner: Progress| {
            let done = (number as f64 + inner.done) / items.len() as f64;
            progress(Progress { done, step: inner.step });
        };
        let (still, source, heading, line) = match item {
            BoardItem::Plan(path, plan) => {
                let shown = render(plan, &options.still, &part)?;
                (shown, path, title(plan), setting(plan))
            }
            BoardItem::Picture(path) => {
                let name =
                    path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into());
                (read(path)?, path, name, String::new())
            }
        };
        // every picture counts alike, whatever its size
        let step = (still.pixels.len() / 4000).max(1);
        all.extend(still.pixels.iter().step_by(step).take(4000).copied());
        let swatches = palette(&still.pixels, STRIP);
        stills.push(BoardStill {
            source: source.clone(),
            caption: heading.clone(),
            palette: colors(&swatches),
        });
        let file: Arc<[u8]> = encode(&still, FileFormat::Jpeg)?.into();
        let lines = if line.is_empty() { Vec::new() } else { vec![line] };
        frames.push(Frame { file, size: (still.width, still.height), heading, lines, swatches });
    }
    progress(Progress { done: 1.0, step: "writing" });
    let whole = palette(&all, PALETTE);
    let contact = Contact {
        title: options.title.clone(),
        aside: options.date.clone(),
        note: String::new(),
        frames,
        columns: None,
        palette: whole.clone(),
        paper: options.paper,
    };
    let pages = place.write(&contact::pages(&contact), options.paper, &contact.title)?;
    Ok(BoardManifest { title: contact.title, stills, palette: colors(&whole), pages })
}

fn colors(swatches: &[Swatch]) -> Vec<BoardColor> {
    let color = |swatch: &Swatch| BoardColor {
        color: Ink::Rgb(swatch.rgb).hex(),
        share: (swatch.share * 1e4).round() / 1e4,
    };
    swatches.iter().map(color).collect()
}

fn render(
    plan: &Plan,
    options: &StillOptions,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Still, ShootError> {
    let stage = stage::build(plan)?;
    let mut options = options.clone();
    options.size.get_or_insert_with(|| still::default_size(&stage, LONG_SIDE));
    let layers = still::layers(plan, &stage, &options, progress)?;
    Ok(take::develop_plan(plan, &take::take(plan, &stage, &layers)?))
}

/// A picture file as sRGB, no larger than a board needs.
fn read(path: &Path) -> Result<Still, ShootError> {
    let wrong = |problem: String| ShootError::Picture {
        path: path.display().to_string(),
        problem,
        remedy: "name a plan (.ron) or a picture (.png, .jpg, .tif)".into(),
    };
    let mut reader = image::ImageReader::open(path)
        .and_then(image::ImageReader::with_guessed_format)
        .map_err(|error| wrong(format!("cannot read: {error}")))?;
    let mut limits = image::Limits::default();
    (limits.max_image_width, limits.max_image_height) = (Some(LARGEST), Some(LARGEST));
    reader.limits(limits);
    let picture = reader.decode().map_err(|error| wrong(format!("this is no picture: {error}")))?;
    let picture = if picture.width().max(picture.height()) > MOST_PIXELS {
        picture.resize(MOST_PIXELS, MOST_PIXELS, image::imageops::FilterType::CatmullRom)
    } else {
        picture
    };
    let picture = picture.to_rgb32f();
    let pixels = picture.pixels().map(|pixel| Vec3::from_array(pixel.0)).collect();
    Ok(Still { width: picture.width(), height: picture.height(), pixels })
}
