//! Headings, lines and tables that run down columns and over pages.
//!
//! In: texts and rows in reading order. Out: marks on as many pages as they need; nothing is cut.

use glam::DVec2;

use crate::papers::page::{Anchor, Bounds, Ink, MM_PER_PT, Mark, Page, Pen, SMALLEST_PT, Text};
use crate::papers::typeface::{ASCENT_EM, fitted, leading_mm, wrapped};

/// Size of running text, points.
pub const TEXT_PT: f64 = 7.5;
/// Size of a block's heading, points.
pub const HEADING_PT: f64 = 9.0;
/// Between columns, millimetres.
const GUTTER_MM: f64 = 8.0;
/// Over and under a row's text, millimetres.
const ROW_PAD_MM: f64 = 0.9;
/// Between a table's cells, millimetres.
const CELL_GAP_MM: f64 = 2.0;

const RULE: Pen = Pen::new(0.12, Ink::Grey(140));
const STRONG: Pen = Pen::new(0.35, Ink::BLACK);

/// A table's cell: lines that are wrapped on their own.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cell {
    lines: Vec<(bool, String)>,
}

impl Cell {
    /// Plain lines.
    pub fn new<const N: usize>(lines: [&str; N]) -> Self {
        Self { lines: lines.iter().map(|line| (false, (*line).to_owned())).collect() }
    }

    /// The same with the first line bold.
    #[must_use]
    pub fn bold(mut self) -> Self {
        if let Some(first) = self.lines.first_mut() {
            first.0 = true;
        }
        self
    }

    fn broken(&self, width: f64) -> Vec<(bool, String)> {
        self.lines
            .iter()
            .flat_map(|(bold, line)| {
                wrapped(line, TEXT_PT, *bold, width).into_iter().map(move |line| (*bold, line))
            })
            .collect()
    }
}

/// Text on its way down the pages.
pub struct Flow<'a> {
    /// Starts a page and says where its text may run.
    start: &'a dyn Fn(usize) -> (Page, Bounds),
    pages: Vec<Page>,
    area: Bounds,
    columns: usize,
    column: usize,
    /// Where the columns begin on this page.
    top: f64,
    y: f64,
}

impl<'a> Flow<'a> {
    /// Starts on a first page, one column wide.
    pub fn new(start: &'a dyn Fn(usize) -> (Page, Bounds)) -> Self {
        let (page, area) = start(0);
        Self {
            start,
            pages: vec![page],
            area,
            columns: 1,
            column: 0,
            top: area.min.y,
            y: area.min.y,
        }
    }

    /// From here on so many columns.
    pub fn columns(&mut self, count: usize) {
        if self.y > self.top {
            self.y += 3.0;
        }
        self.columns = count.max(1);
        (self.column, self.top) = (0, self.y);
    }

    /// Goes on in the next column, unless this is the page's last or is empty.
    pub fn next_column(&mut self) {
        if self.column + 1 < self.columns && self.y > self.top {
            self.column += 1;
            self.y = self.top;
        }
    }

    /// The pages.
    pub fn finish(self) -> Vec<Page> {
        self.pages
    }

    fn width(&self) -> f64 {
        let all = self.area.size().x - GUTTER_MM * (self.columns - 1) as f64;
        all / self.columns as f64
    }

    fn left(&self) -> f64 {
        self.area.min.x + self.column as f64 * (self.width() + GUTTER_MM)
    }

    fn page(&mut self) -> &mut Page {
        let last = self.pages.len() - 1;
        &mut self.pages[last]
    }

    /// Goes on where so much height is free; true if that is a new column or page.
    fn need(&mut self, height: f64) -> bool {
        if self.y + height <= self.area.max.y {
            return false;
        }
        if self.column + 1 < self.columns {
            self.column += 1;
            self.y = self.top;
            // a column that starts low may have no room either
            if self.y + height <= self.area.max.y {
                return true;
            }
        }
        let (page, area) = (self.start)(self.pages.len());
        self.pages.push(page);
        (self.area, self.column, self.top, self.y) = (area, 0, area.min.y, area.min.y);
        true
    }

    fn put(&mut self, x: f64, size: f64, bold: bool, words: String) {
        let at = DVec2::new(x, self.y + ASCENT_EM * size * MM_PER_PT);
        let mut text = Text::new(at, size, words);
        text.bold = bold;
        self.page().text(text);
    }

    /// A heading that stays with what follows it.
    pub fn heading(&mut self, words: &str, follows_mm: f64) {
        let height = leading_mm(HEADING_PT) + 3.6;
        self.need(height + follows_mm);
        if self.y > self.top {
            self.y += 2.4;
        }
        self.put(self.left(), HEADING_PT, true, words.to_owned());
        self.y += leading_mm(HEADING_PT) + 0.6;
        let (left, right, y) = (self.left(), self.left() + self.width(), self.y);
        self.page().line(&[DVec2::new(left, y), DVec2::new(right, y)], STRONG);
        self.y += 0.6;
    }

    /// A paragraph.
    pub fn paragraph(&mut self, words: &str) {
        for line in wrapped(words, TEXT_PT, false, self.width()) {
            self.need(leading_mm(TEXT_PT));
            self.put(self.left(), TEXT_PT, false, line);
            self.y += leading_mm(TEXT_PT);
        }
        self.y += 0.6;
    }

    /// An item with a box to tick.
    pub fn item(&mut self, words: &str) {
        let indent = 4.4;
        let lines = wrapped(words, TEXT_PT, false, self.width() - indent);
        self.need(leading_mm(TEXT_PT) * lines.len() as f64);
        let tick = Bounds::new(self.left() + 0.2, self.y + 0.35, 2.4, 2.4);
        self.page().rectangle(tick, Some(Pen::new(0.2, Ink::BLACK)), None);
        for line in lines {
            self.put(self.left() + indent, TEXT_PT, false, line);
            self.y += leading_mm(TEXT_PT);
        }
        self.y += 0.5;
    }

    /// A term in bold with what is said of it.
    pub fn term(&mut self, term: &str, words: &str, term_share: f64) {
        self.row(
            &[Cell::new([term]).bold(), Cell::new([words])],
            &[term_share, 1.0 - term_share],
            false,
        );
    }

    /// A table: its head comes again on every new column or page.
    pub fn table(&mut self, head: &[&str], shares: &[f64], rows: &[Vec<Cell>]) {
        let head: Vec<Cell> = head.iter().map(|words| Cell::new([*words]).bold()).collect();
        let first = rows.first().map_or(0.0, |row| self.height(row, shares));
        self.need(self.height(&head, shares) + first);
        self.row(&head, shares, true);
        for row in rows {
            if self.need(self.height(row, shares)) {
                self.row(&head, shares, true);
            }
            self.row(row, shares, true);
        }
        self.y += 0.8;
    }

    fn widths(&self, shares: &[f64]) -> Vec<f64> {
        let all: f64 = shares.iter().sum();
        let width = self.width() - CELL_GAP_MM * (shares.len() - 1) as f64;
        shares.iter().map(|share| width * share / all).collect()
    }

    fn height(&self, cells: &[Cell], shares: &[f64]) -> f64 {
        let widths = self.widths(shares);
        let lines = cells.iter().zip(&widths).map(|(cell, width)| cell.broken(*width).len()).max();
        lines.unwrap_or(0) as f64 * leading_mm(TEXT_PT) + 2.0 * ROW_PAD_MM
    }

    fn row(&mut self, cells: &[Cell], shares: &[f64], ruled: bool) {
        let height = self.height(cells, shares);
        self.need(height);
        let widths = self.widths(shares);
        let (top, left, width) = (self.y, self.left(), self.width());
        let mut x = left;
        for (cell, cell_width) in cells.iter().zip(&widths) {
            self.y = top + ROW_PAD_MM;
            for (bold, words) in cell.broken(*cell_width) {
                self.put(x, TEXT_PT, bold, words);
                self.y += leading_mm(TEXT_PT);
            }
            x += cell_width + CELL_GAP_MM;
        }
        self.y = top + height;
        if ruled {
            let y = self.y;
            self.page().line(&[DVec2::new(left, y), DVec2::new(left + width, y)], RULE);
        }
    }
}

/// A page's head: title at the left, words at the right, a line under both. Gives the y below it.
pub fn head(page: &mut Page, margin: f64, title: &str, aside: &str, under: &str) -> f64 {
    const TITLE_PT: f64 = 14.0;
    let right = page.width_mm - margin;
    let base = margin + 0.8 * ASCENT_EM * TITLE_PT * MM_PER_PT;
    let aside = fitted(aside, TEXT_PT + 1.0, false, 0.45 * (right - margin));
    let aside = Text::new(DVec2::new(right, base), TEXT_PT + 1.0, aside).anchored(Anchor::End);
    let room = aside.bounds().min.x - margin - 5.0;
    let title = fitted(title, TITLE_PT, true, room);
    page.text(Text::new(DVec2::new(margin, base), TITLE_PT, title).bold());
    page.text(aside);
    let mut y = base + 2.2;
    if !under.is_empty() {
        let words = fitted(under, SMALLEST_PT, false, right - margin);
        y += leading_mm(SMALLEST_PT) + 0.8;
        page.text(Text::new(DVec2::new(margin, y), SMALLEST_PT, words).inked(Ink::Grey(60)));
        y += 1.6;
    }
    page.marks.push(Mark::Lines {
        lines: vec![vec![DVec2::new(margin, y), DVec2::new(right, y)]],
        closed: false,
        pen: Some(STRONG),
        fill: None,
    });
    y + 2.0
}
