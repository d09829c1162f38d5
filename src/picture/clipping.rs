//! Where detail is lost, drawn over the picture: the warning that cameras and editors blink or
//! paint, here as hatching, so that the picture can still be read through it.
//!
//! ```text
//!   ／／／  orange-red   white in the developed picture, or past what the sensor holds
//!   ＼＼＼  blue         black in the developed picture
//! ```

use glam::Vec3;
use rayon::prelude::*;

use super::{Picture, Still};
use crate::optics::exposure::SENSOR_CLIP;

/// A channel at this code shows no more.
const WHITE: f32 = 254.5 / 255.0;
/// All channels under this code print black.
const BLACK: f32 = 2.5 / 255.0;

const LIGHT_INK: Vec3 = Vec3::new(1.0, 0.25, 0.0);
const DARK_INK: Vec3 = Vec3::new(0.1, 0.45, 1.0);

/// Stripes across the longer side of the picture.
const STRIPES: u32 = 120;

/// Which pixels lose detail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lost {
    /// In the lights.
    Light,
    /// In the darks.
    Dark,
}

/// What a pixel loses, by its linear value and its developed one.
pub fn lost(linear: Vec3, developed: Vec3) -> Option<Lost> {
    if linear.max_element() >= SENSOR_CLIP as f32 || developed.max_element() >= WHITE {
        Some(Lost::Light)
    } else {
        (developed.max_element() < BLACK).then_some(Lost::Dark)
    }
}

/// Hatches the developed picture where it loses detail.
pub fn mark(still: &mut Still, picture: &Picture) {
    let width = still.width as usize;
    let stripe = (still.width.max(still.height) / STRIPES).max(3) as usize;
    let linear = &picture.pixels;
    still.pixels.par_iter_mut().enumerate().for_each(|(i, pixel)| {
        let (x, y) = (i % width, i / width);
        // a stripe is as wide as the gap beside it
        let (rising, falling) = ((x + y) / stripe, (x + stripe * 2 * width - y) / stripe);
        match lost(linear[i], *pixel) {
            Some(Lost::Light) if rising % 2 == 0 => *pixel = LIGHT_INK,
            Some(Lost::Dark) if falling % 2 == 0 => *pixel = DARK_INK,
            _ => {}
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::{Tone, develop};

    #[test]
    fn only_what_is_lost_is_hatched() {
        let (width, height) = (90, 40);
        let pixels: Vec<Vec3> = (0..width * height)
            .map(|i| match (i % width) / 30 {
                0 => Vec3::new(1.5, 0.3, 0.3),
                1 => Vec3::splat(0.18),
                _ => Vec3::splat(1e-5),
            })
            .collect();
        let picture = Picture { width, height, pixels };
        let plain = develop(&picture, Tone::Neutral);
        let mut marked = plain.clone();
        mark(&mut marked, &picture);
        let count = |third: u32, ink: Vec3| {
            let inside = |i: &usize| (*i as u32 % width) / 30 == third;
            (0..marked.pixels.len()).filter(inside).filter(|&i| marked.pixels[i] == ink).count()
        };
        // half of each is ink, the other half the picture
        for (third, ink) in [(0, LIGHT_INK), (2, DARK_INK)] {
            let inked = count(third, ink);
            assert!((540..=660).contains(&inked), "{third}: {inked} of 1200");
        }
        let middle = |i: usize| (i as u32 % width) / 30 == 1;
        assert!(
            (0..marked.pixels.len())
                .filter(|&i| middle(i))
                .all(|i| marked.pixels[i] == plain.pixels[i])
        );
    }
}
