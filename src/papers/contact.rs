//! Stills with captions on pages: series, sweep and board.
//!
//! In: encoded stills, each with a heading, lines and perhaps its colours. Out: pages on which all
//! pictures are equally high and as large as the paper allows; more pages where they would get
//! too small to judge.

use std::ops::Range;
use std::sync::Arc;

use glam::DVec2;

use super::page::{Anchor, Bounds, Ink, MM_PER_PT, Mark, Page, Paper, Pen, SMALLEST_PT, Text};
use super::palette::Swatch;
use super::typeface::{ASCENT_EM, fitted, leading_mm, wrapped};

/// A still with its words.
#[derive(Debug, Clone)]
pub struct Frame {
    /// JPEG or PNG.
    pub file: Arc<[u8]>,
    /// Pixels across and down.
    pub size: (u32, u32),
    /// In bold under the picture; may have several lines.
    pub heading: String,
    /// Under that, each wrapped to the picture's width.
    pub lines: Vec<String>,
    /// Its main colours, drawn as a strip; empty for none.
    pub swatches: Vec<Swatch>,
}

/// What goes on the pages.
#[derive(Debug, Clone)]
pub struct Contact {
    /// Large, at the top left.
    pub title: String,
    /// At the top right: place, day, camera.
    pub aside: String,
    /// Under the title.
    pub note: String,
    /// The stills in reading order.
    pub frames: Vec<Frame>,
    /// So many in a row, for a grid whose rows and columns mean something.
    pub columns: Option<usize>,
    /// Colours of all stills together, along the foot; empty for none.
    pub palette: Vec<Swatch>,
    /// Size of the pages.
    pub paper: Paper,
}

/// Between pictures, millimetres.
const GAP_MM: f64 = 4.0;
/// A picture that would get narrower than this goes to another page, millimetres.
const NARROWEST_MM: f64 = 20.0;
/// Height of a picture's strip of colours, millimetres.
const STRIP_MM: f64 = 2.4;
/// Height of the palette with its names, millimetres.
const PALETTE_MM: f64 = 17.0;

/// Sizes of text for a paper, points.
struct Sizes {
    title: f64,
    heading: f64,
    line: f64,
}

impl Sizes {
    fn of(paper: Paper) -> Self {
        // larger sheets are read from farther off
        let scale = match paper {
            Paper::A4 | Paper::Letter => 1.0,
            Paper::A3 => 1.25,
            Paper::Screen => 1.6,
        };
        Self { title: 14.0 * scale, heading: 8.0 * scale, line: SMALLEST_PT * scale }
    }
}

impl Frame {
    fn aspect(&self) -> f64 {
        f64::from(self.size.0) / f64::from(self.size.1.max(1))
    }

    /// Heading and lines as they break at a width: bold or not, size, words.
    fn words(&self, sizes: &Sizes, width: f64) -> Vec<(bool, f64, String)> {
        let heading = self.heading.split('\n');
        let heading = heading.flat_map(|line| wrapped(line, sizes.heading, true, width));
        let lines = self.lines.iter().flat_map(|line| wrapped(line, sizes.line, false, width));
        let heading = heading.map(|words| (true, sizes.heading, words));
        heading.chain(lines.map(|words| (false, sizes.line, words))).collect()
    }

    fn caption_mm(&self, sizes: &Sizes, width: f64) -> f64 {
        let words: f64 =
            self.words(sizes, width).iter().map(|(_, size, _)| leading_mm(*size)).sum();
        words + 1.2 + if self.swatches.is_empty() { 0.0 } else { STRIP_MM + 0.8 }
    }
}

/// The pages.
pub fn pages(contact: &Contact) -> Vec<Page> {
    let sizes = Sizes::of(contact.paper);
    let [width, height] = contact.paper.size_mm();
    let margin = contact.paper.margin_mm();
    let top = margin + leading_mm(sizes.title) + leading_mm(sizes.line) + 3.0;
    let foot = if contact.palette.is_empty() { 0.0 } else { PALETTE_MM };
    let area = Bounds::new(margin, top, width - 2.0 * margin, height - top - margin - foot);
    let count = contact.frames.len().max(1);
    // as few pages as leave the pictures wide enough; one picture a page always does
    let per_page = (1..=count)
        .map(|pages| count.div_ceil(pages))
        .map(|per_page| match contact.columns {
            // whole rows only
            Some(columns) if per_page > columns => per_page.div_ceil(columns) * columns,
            _ => per_page,
        })
        .find(|&per_page| {
            contact.frames.chunks(per_page).all(|frames| {
                let narrowest = frames.iter().map(Frame::aspect).fold(f64::MAX, f64::min);
                best(frames, contact.columns, area, &sizes)
                    .is_some_and(|(_, high)| high * narrowest >= NARROWEST_MM)
            })
        })
        .unwrap_or(1);
    let chunks: Vec<&[Frame]> = contact.frames.chunks(per_page).collect();
    let number_of = chunks.len();
    chunks
        .iter()
        .enumerate()
        .map(|(number, frames)| {
            let mut page = Page::new(contact.paper.size_mm());
            head(&mut page, contact, &sizes, (number + 1, number_of));
            if let Some((rows, high)) = best(frames, contact.columns, area, &sizes) {
                place(&mut page, frames, &rows, high, area, &sizes);
            }
            if !contact.palette.is_empty() {
                let strip = Bounds::new(
                    margin,
                    height - margin - PALETTE_MM + 3.0,
                    area.size().x,
                    PALETTE_MM - 3.0,
                );
                palette(&mut page, &contact.palette, strip, &sizes);
            }
            page
        })
        .collect()
}

fn head(page: &mut Page, contact: &Contact, sizes: &Sizes, (number, of): (usize, usize)) {
    let margin = contact.paper.margin_mm();
    let right = page.width_mm - margin;
    let base = margin + ASCENT_EM * sizes.title * MM_PER_PT * 0.85;
    let counted = if of > 1 { format!("  {number}/{of}") } else { String::new() };
    let aside = Text::new(DVec2::new(right, base), sizes.heading, contact.aside.clone() + &counted)
        .anchored(Anchor::End);
    let room = aside.bounds().min.x - margin - 6.0;
    let title = fitted(&contact.title, sizes.title, true, room);
    page.text(Text::new(DVec2::new(margin, base), sizes.title, title).bold());
    page.text(aside);
    let note = fitted(&contact.note, sizes.line, false, right - margin);
    let under = base + leading_mm(sizes.line) + 1.2;
    page.text(Text::new(DVec2::new(margin, under), sizes.line, note).inked(Ink::Grey(70)));
}

/// The split into rows that makes the pictures highest, and that height.
fn best(
    frames: &[Frame],
    columns: Option<usize>,
    area: Bounds,
    sizes: &Sizes,
) -> Option<(Vec<Range<usize>>, f64)> {
    let count = frames.len();
    let widths = match columns {
        Some(columns) => columns.max(1)..=columns.max(1),
        None => 1..=count.max(1),
    };
    widths
        .map(|per_row| {
            let rows: Vec<Range<usize>> =
                (0..count).step_by(per_row).map(|at| at..(at + per_row).min(count)).collect();
            let high = highest(frames, &rows, area, sizes);
            (rows, high)
        })
        .filter(|(_, high)| *high > 0.0)
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

/// How high the pictures can be in these rows, millimetres; 0 where they do not fit.
fn highest(frames: &[Frame], rows: &[Range<usize>], area: Bounds, sizes: &Sizes) -> f64 {
    let size = area.size();
    let by_width = rows
        .iter()
        .map(|row| {
            let aspects: f64 = frames[row.clone()].iter().map(Frame::aspect).sum();
            (size.x - GAP_MM * (row.len() - 1) as f64) / aspects
        })
        .fold(size.y, f64::min);
    let mut high = by_width;
    while high > 5.0 {
        let all: f64 =
            rows.iter().map(|row| high + captions(&frames[row.clone()], high, sizes)).sum();
        if all + GAP_MM * (rows.len() - 1) as f64 <= size.y {
            return high;
        }
        high *= 0.985;
    }
    0.0
}

fn captions(row: &[Frame], high: f64, sizes: &Sizes) -> f64 {
    row.iter().map(|frame| frame.caption_mm(sizes, high * frame.aspect())).fold(0.0, f64::max)
}

fn place(
    page: &mut Page,
    frames: &[Frame],
    rows: &[Range<usize>],
    high: f64,
    area: Bounds,
    sizes: &Sizes,
) {
    let mut top = area.min.y;
    for row in rows {
        let row = &frames[row.clone()];
        let mut left = area.min.x;
        for frame in row {
            let wide = high * frame.aspect();
            let bounds = Bounds::new(left, top, wide, high);
            page.marks.push(Mark::Picture { place: bounds, file: frame.file.clone() });
            page.rectangle(bounds, Some(Pen::new(0.12, Ink::Grey(110))), None);
            let mut base = bounds.max.y + 1.2;
            if !frame.swatches.is_empty() {
                strip(page, &frame.swatches, Bounds::new(left, base - 0.2, wide, STRIP_MM));
                base += STRIP_MM + 0.8;
            }
            for (bold, size, words) in frame.words(sizes, wide) {
                let at = DVec2::new(left, base + ASCENT_EM * size * MM_PER_PT);
                let mut text = Text::new(at, size, words);
                text.bold = bold;
                page.text(text);
                base += leading_mm(size);
            }
            left += wide + GAP_MM;
        }
        top += high + captions(row, high, sizes) + GAP_MM;
    }
}

/// Colours side by side, each as wide as its share.
fn strip(page: &mut Page, swatches: &[Swatch], place: Bounds) {
    let all: f64 = swatches.iter().map(|swatch| swatch.share).sum();
    let mut left = place.min.x;
    for swatch in swatches {
        let wide = place.size().x * swatch.share / all.max(1e-9);
        let part = Bounds::new(left, place.min.y, wide, place.size().y);
        page.rectangle(part, None, Some(Ink::Rgb(swatch.rgb)));
        left += wide;
    }
    page.rectangle(place, Some(Pen::new(0.12, Ink::Grey(110))), None);
}

/// Colours side by side, equally wide, each with its name and share.
fn palette(page: &mut Page, swatches: &[Swatch], place: Bounds, sizes: &Sizes) {
    let words = leading_mm(sizes.line);
    let wide = (place.size().x + GAP_MM) / swatches.len() as f64 - GAP_MM;
    for (number, swatch) in swatches.iter().enumerate() {
        let left = place.min.x + number as f64 * (wide + GAP_MM);
        let patch = Bounds::new(left, place.min.y, wide, place.size().y - words - 0.8);
        let ink = Ink::Rgb(swatch.rgb);
        page.rectangle(patch, Some(Pen::new(0.12, Ink::Grey(110))), Some(ink));
        let name = format!("{}  {:.0} %", ink.hex(), 100.0 * swatch.share);
        let name = fitted(&name, sizes.line, false, wide);
        let base = place.max.y - 0.24 * sizes.line * MM_PER_PT;
        page.text(Text::new(DVec2::new(left, base), sizes.line, name));
    }
}
