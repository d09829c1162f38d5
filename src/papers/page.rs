//! A page: what is drawn where, in millimetres from the top left; text in points.
//!
//! In: the layouts of this module. Out: marks in drawing order, which `draw` turns into SVG, PDF
//! and PNG. Every text knows its box, so that layouts can keep words apart and tests can check it.

use std::sync::Arc;

use glam::DVec2;

use super::typeface;

/// Millimetres in a typographic point (1/72 inch).
pub const MM_PER_PT: f64 = 25.4 / 72.0;
/// No text is printed smaller than this, in points.
pub const SMALLEST_PT: f64 = 7.0;

/// A colour of ink.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// A grey, 0 black to 255 paper.
    Grey(u8),
    /// sRGB.
    Rgb([u8; 3]),
}

impl Ink {
    /// Black.
    pub const BLACK: Self = Self::Grey(0);
    /// Paper.
    pub const WHITE: Self = Self::Grey(255);

    /// `#rrggbb`.
    pub fn hex(self) -> String {
        let [r, g, b] = match self {
            Self::Grey(v) => [v; 3],
            Self::Rgb(rgb) => rgb,
        };
        format!("#{r:02x}{g:02x}{b:02x}")
    }
}

/// A line's width, ink and dashes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Millimetres.
    pub width_mm: f64,
    /// Colour.
    pub ink: Ink,
    /// Dash and gap in millimetres.
    pub dash_mm: Option<[f64; 2]>,
}

impl Pen {
    /// A plain line.
    pub const fn new(width_mm: f64, ink: Ink) -> Self {
        Self { width_mm, ink, dash_mm: None }
    }

    /// The same, dashed.
    #[must_use]
    pub const fn dashed(mut self, dash_mm: f64, gap_mm: f64) -> Self {
        self.dash_mm = Some([dash_mm, gap_mm]);
        self
    }
}

/// Which end of a text its place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// Its left end.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its right end.
    End,
}

/// One line of text.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// Where the baseline begins, is centred, or ends.
    pub at: DVec2,
    /// Points.
    pub size_pt: f64,
    /// Bold face.
    pub bold: bool,
    /// What `at` is.
    pub anchor: Anchor,
    /// Colour.
    pub ink: Ink,
    /// The words.
    pub words: String,
}

impl Text {
    /// Black text that begins at a place.
    pub fn new(at: DVec2, size_pt: f64, words: impl Into<String>) -> Self {
        let words = typeface::printable(&words.into());
        Self { at, size_pt, bold: false, anchor: Anchor::Start, ink: Ink::BLACK, words }
    }

    /// The same in bold.
    #[must_use]
    pub fn bold(mut self) -> Self {
        self.bold = true;
        self
    }

    /// The same with its place at another end.
    #[must_use]
    pub fn anchored(mut self, anchor: Anchor) -> Self {
        self.anchor = anchor;
        self
    }

    /// The same in another ink.
    #[must_use]
    pub fn inked(mut self, ink: Ink) -> Self {
        self.ink = ink;
        self
    }

    /// The box of the line, from the tops of capitals with accents to the feet of descenders.
    pub fn bounds(&self) -> Bounds {
        let width = typeface::width_mm(&self.words, self.size_pt, self.bold);
        let left = match self.anchor {
            Anchor::Start => self.at.x,
            Anchor::Middle => self.at.x - 0.5 * width,
            Anchor::End => self.at.x - width,
        };
        let em = self.size_pt * MM_PER_PT;
        Bounds {
            min: DVec2::new(left, self.at.y - typeface::ASCENT_EM * em),
            max: DVec2::new(left + width, self.at.y + typeface::DESCENT_EM * em),
        }
    }
}

/// An upright box on the page, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Top left.
    pub min: DVec2,
    /// Bottom right.
    pub max: DVec2,
}

impl Bounds {
    /// From its corner and size.
    pub fn new(x: f64, y: f64, width: f64, height: f64) -> Self {
        Self { min: DVec2::new(x, y), max: DVec2::new(x + width, y + height) }
    }

    /// Width and height.
    pub fn size(&self) -> DVec2 {
        self.max - self.min
    }

    /// Its middle.
    pub fn centre(&self) -> DVec2 {
        0.5 * (self.min + self.max)
    }

    /// The same with `by` more on every side.
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        Self { min: self.min - by, max: self.max + by }
    }

    /// Area shared with another, mm².
    pub fn overlap(&self, other: &Self) -> f64 {
        let shared = self.max.min(other.max) - self.min.max(other.min);
        shared.x.max(0.0) * shared.y.max(0.0)
    }

    /// Whether another lies within.
    pub fn holds(&self, other: &Self) -> bool {
        self.min.cmple(other.min).all() && self.max.cmpge(other.max).all()
    }
}

/// Something drawn.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// Loops and lines: each a list of points; filled by the odd-even rule.
    Lines {
        /// The lines.
        lines: Vec<Vec<DVec2>>,
        /// Whether each returns to its start.
        closed: bool,
        /// Outline.
        pen: Option<Pen>,
        /// Inside.
        fill: Option<Ink>,
    },
    /// A circle.
    Circle {
        /// Middle.
        centre: DVec2,
        /// Millimetres.
        radius: f64,
        /// Outline.
        pen: Option<Pen>,
        /// Inside.
        fill: Option<Ink>,
    },
    /// A line of text.
    Text(Text),
    /// A picture.
    Picture {
        /// Where.
        place: Bounds,
        /// JPEG or PNG.
        file: Arc<[u8]>,
    },
    /// Marks that are cut off at a frame.
    Framed {
        /// The frame.
        frame: Bounds,
        /// What is inside.
        marks: Vec<Mark>,
    },
}

/// A page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Millimetres.
    pub width_mm: f64,
    /// Millimetres.
    pub height_mm: f64,
    /// In drawing order.
    pub marks: Vec<Mark>,
}

impl Page {
    /// White paper.
    pub fn new([width_mm, height_mm]: [f64; 2]) -> Self {
        Self { width_mm, height_mm, marks: Vec::new() }
    }

    /// Adds text.
    pub fn text(&mut self, text: Text) {
        if !text.words.is_empty() {
            self.marks.push(Mark::Text(text));
        }
    }

    /// Adds a line from place to place.
    pub fn line(&mut self, points: &[DVec2], pen: Pen) {
        self.marks.push(line(points, pen));
    }

    /// Adds a rectangle.
    pub fn rectangle(&mut self, place: Bounds, pen: Option<Pen>, fill: Option<Ink>) {
        self.marks.push(rectangle(place, pen, fill));
    }

    /// Every text on the page.
    pub fn texts(&self) -> Vec<&Text> {
        fn of<'a>(marks: &'a [Mark], found: &mut Vec<&'a Text>) {
            for mark in marks {
                match mark {
                    Mark::Text(text) => found.push(text),
                    Mark::Framed { marks, .. } => of(marks, found),
                    _ => {}
                }
            }
        }
        let mut found = Vec::new();
        of(&self.marks, &mut found);
        found
    }
}

/// An open line.
pub fn line(points: &[DVec2], pen: Pen) -> Mark {
    Mark::Lines { lines: vec![points.to_vec()], closed: false, pen: Some(pen), fill: None }
}

/// A rectangle.
pub fn rectangle(place: Bounds, pen: Option<Pen>, fill: Option<Ink>) -> Mark {
    let (a, b) = (place.min, place.max);
    let corners = vec![a, DVec2::new(b.x, a.y), b, DVec2::new(a.x, b.y)];
    Mark::Lines { lines: vec![corners], closed: true, pen, fill }
}

/// Sizes of paper and of a screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 297 × 210 mm (ISO 216).
    #[default]
    A4,
    /// 420 × 297 mm (ISO 216).
    A3,
    /// 11 × 8.5 inches (ANSI/ASME Y14.1).
    Letter,
    /// 1920 × 1080 pixels at 96 a inch.
    Screen,
}

impl Paper {
    /// Width and height in millimetres, lying.
    pub fn size_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [297.0, 210.0],
            Self::A3 => [420.0, 297.0],
            Self::Letter => [279.4, 215.9],
            Self::Screen => [508.0, 285.75],
        }
    }

    /// Pixels an inch where the page is written as pixels.
    pub fn pixels_per_inch(self) -> f64 {
        match self {
            Self::Screen => 96.0,
            _ => 200.0,
        }
    }

    /// Margin in millimetres: what office printers leave white (common practice, no source).
    pub fn margin_mm(self) -> f64 {
        10.0
    }
}
