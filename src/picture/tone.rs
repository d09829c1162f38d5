//! Tone: from linear picture values to sRGB, after contrast and black and white.
//!
//! The neutral curve works on sRGB-encoded values, where equal steps look about equal:
//! ```text
//!  1.0 ┤                            ____---- white: linear 2.0, 1.3 stops over paper
//!      │                       _--‾
//!  240 ┤                    _/‾             paper: reflectance 0.88 at the metered exposure
//!      │                 _/
//!      │              _/  S: a little steeper than the sRGB curve itself
//!  118 ┤           _/                       mid-grey: linear 0.18
//!      │        _/   straight: sRGB as it is
//!    0 ┼──────/─────────────────────────────
//! ```
//! Two cubic Hermite pieces join at the paper, with continuous slope everywhere: 1 at mid-grey,
//! 0 at white. Fritsch & Carlson (1980, 'Monotone Piecewise Cubic Interpolation') give the
//! bound on slopes that keeps it rising. The curve's shape is our own choice; it is nowhere more
//! than 18 levels over plain sRGB (near linear 0.6) before the roll-off takes it below.
//!
//! It is applied to the brightest channel and the others keep their ratio to it, so coloured
//! light keeps its hue; above white the colour fades, as film and sensors do. Contrast is a power
//! of the same channel about mid-grey: each stop of the scene becomes so many of the picture.

use glam::Vec3;
use rayon::prelude::*;

use super::Picture;
use crate::optics::color::{srgb_decode, srgb_encode};
use crate::optics::exposure::{LENS_FACTOR, METER_CONSTANT};

/// How linear values become tones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tone {
    /// Mid-grey kept, white paper near 240 of 255, highlights rolled off.
    #[default]
    Neutral,
    /// The sRGB curve alone, clipped at linear 1.
    Straight,
}

/// How a picture is developed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Development {
    /// The curve.
    pub tone: Tone,
    /// Stops of the picture for each stop of the scene, about mid-grey.
    pub contrast: f32,
    /// How much red, green and blue count in black and white; only the proportions matter.
    pub monochrome: Option<Vec3>,
}

impl From<Tone> for Development {
    fn from(tone: Tone) -> Self {
        Self { tone, contrast: 1.0, monochrome: None }
    }
}

impl Development {
    /// Black and white and contrast, before the curve.
    fn prepared(&self, linear: Vec3) -> Vec3 {
        let linear = match self.monochrome {
            Some(mix) => Vec3::splat((mix.dot(linear) / mix.element_sum()).max(0.0)),
            None => linear.max(Vec3::ZERO),
        };
        let peak = linear.max_element();
        if self.contrast == 1.0 || peak <= 0.0 {
            return linear;
        }
        linear * (peak / GREY).powf(self.contrast - 1.0)
    }
}

/// A developed picture: sRGB-encoded, 0 to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Still {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Row-major from the top left.
    pub pixels: Vec<Vec3>,
}

/// Mid-grey, where the neutral curve leaves the straight one.
const GREY: f32 = 0.18;
/// Reflectance of good white paper.
const PAPER_REFLECTANCE: f64 = 0.88;
/// Where paper lands.
const PAPER_CODE: f32 = 240.0 / 255.0;
/// Linear value that becomes white.
const WHITE: f32 = 2.0;
/// How fast colour fades above linear 1.
const FADE: f32 = 0.25;

/// Develops a picture.
pub fn develop(picture: &Picture, development: impl Into<Development>) -> Still {
    let development = development.into();
    let curve = Curve::new();
    let pixels = picture
        .pixels
        .par_iter()
        .map(|&linear| development.prepared(linear))
        .map(|linear| match development.tone {
            Tone::Neutral => curve.tone(linear),
            Tone::Straight => encode(linear.clamp(Vec3::ZERO, Vec3::ONE)),
        })
        .collect();
    Still { width: picture.width, height: picture.height, pixels }
}

fn encode(linear: Vec3) -> Vec3 {
    Vec3::new(srgb_encode(linear.x), srgb_encode(linear.y), srgb_encode(linear.z))
}

/// One cubic Hermite piece.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    x: [f32; 2],
    y: [f32; 2],
    slope: [f32; 2],
}

impl Piece {
    /// Its ends (x, x, y, y) and the slopes there.
    pub(super) fn ends(&self) -> ([f32; 4], [f32; 2]) {
        ([self.x[0], self.x[1], self.y[0], self.y[1]], self.slope)
    }

    fn at(&self, x: f32) -> f32 {
        let width = self.x[1] - self.x[0];
        let t = (x - self.x[0]) / width;
        let s = 1.0 - t;
        s * s * ((1.0 + 2.0 * t) * self.y[0] + t * width * self.slope[0])
            + t * t * ((1.0 + 2.0 * s) * self.y[1] - s * width * self.slope[1])
    }
}

/// The neutral curve over sRGB-encoded values.
pub(super) struct Curve {
    pub(super) middle: Piece,
    pub(super) shoulder: Piece,
}

impl Curve {
    pub(super) fn new() -> Self {
        // Linear value of metered paper: 0.18·(q·C·ρ/π)/10.
        let paper = 0.18 * LENS_FACTOR * METER_CONSTANT * PAPER_REFLECTANCE / std::f64::consts::PI;
        let paper = srgb_encode((paper / 10.0) as f32);
        let (grey, white) = (srgb_encode(GREY), srgb_encode(WHITE));
        // At most three times the shoulder's mean slope, to stay monotone; a third under that
        // spreads the roll-off.
        let joint = 2.0 * (1.0 - PAPER_CODE) / (white - paper);
        Self {
            middle: Piece { x: [grey, paper], y: [grey, PAPER_CODE], slope: [1.0, joint] },
            shoulder: Piece { x: [paper, white], y: [PAPER_CODE, 1.0], slope: [joint, 0.0] },
        }
    }

    /// Encoded to encoded.
    fn at(&self, encoded: f32) -> f32 {
        if encoded <= self.middle.x[0] {
            encoded
        } else if encoded <= self.shoulder.x[0] {
            self.middle.at(encoded)
        } else if encoded < self.shoulder.x[1] {
            self.shoulder.at(encoded)
        } else {
            1.0
        }
    }

    fn tone(&self, linear: Vec3) -> Vec3 {
        let linear = linear.max(Vec3::ZERO);
        let peak = linear.max_element();
        if peak <= GREY {
            return encode(linear);
        }
        let shown = srgb_decode(self.at(srgb_encode(peak)));
        // Starts with slope 0 at linear 1, so that no edge shows where it sets in.
        let over = FADE * (peak - 1.0).max(0.0).powi(2) / peak;
        let fade = over / (1.0 + over);
        encode((linear * (shown / peak)).lerp(Vec3::splat(shown), fade))
    }
}
