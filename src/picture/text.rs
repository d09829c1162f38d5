//! Letters in pictures: a line of text drawn onto a still.
//!
//! DejaVu Sans Condensed 2.37, cut down: the file of the papers, with its licence beside it.

use ab_glyph::{Font, FontRef, PxScale, ScaleFont, point};
use glam::Vec3;

use super::Still;

const REGULAR: &[u8] = include_bytes!("../papers/typeface/DejaVuSansCondensed.ttf");

/// The typeface at a size.
pub struct Letters {
    font: FontRef<'static>,
    scale: PxScale,
}

impl Letters {
    /// Letters `height` pixels high from descender to ascender; None if the typeface that is
    /// built in cannot be read.
    pub fn new(height: f32) -> Option<Self> {
        FontRef::try_from_slice(REGULAR)
            .ok()
            .map(|font| Self { font, scale: PxScale::from(height) })
    }

    /// Width of a line in pixels.
    pub fn width(&self, text: &str) -> f32 {
        let font = self.font.as_scaled(self.scale);
        text.chars().map(|letter| font.h_advance(font.glyph_id(letter))).sum()
    }

    /// Draws a line with its left end at `x` and its middle at `y`, in encoded sRGB.
    pub fn draw(&self, still: &mut Still, x: f32, y: f32, text: &str, color: Vec3) {
        let font = self.font.as_scaled(self.scale);
        // capitals and figures are what is centred: 0.73 em over the baseline
        let baseline = y + 0.5 * 0.73 * self.scale.y / (font.height() / self.scale.y) * 0.86;
        let mut along = x;
        for letter in text.chars() {
            let id = font.glyph_id(letter);
            let glyph = id.with_scale_and_position(self.scale, point(along, baseline));
            along += font.h_advance(id);
            let Some(outline) = self.font.outline_glyph(glyph) else { continue };
            let bounds = outline.px_bounds();
            outline.draw(|column, row, cover| {
                let (x, y) = (bounds.min.x + column as f32, bounds.min.y + row as f32);
                let inside =
                    x >= 0.0 && y >= 0.0 && x < still.width as f32 && y < still.height as f32;
                if inside {
                    let index = y as usize * still.width as usize + x as usize;
                    let under = still.pixels[index];
                    still.pixels[index] = under.lerp(color, cover.clamp(0.0, 1.0));
                }
            });
        }
    }
}
