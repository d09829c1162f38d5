//! A map of stops: what the picture's tones are, as bands of colour around a chosen tone.
//!
//! In: a linear picture. Out: a still with a legend beside it. Bands are half a stop wide, with
//! their middles at whole and half stops. Lightness climbs by even steps from the darkest band to
//! the lightest, so the map reads in grey too; below the chosen tone bands are blue, the tone
//! itself grey, above it amber to yellow. Blue against yellow is what the common kinds of colour
//! blindness keep; the test simulates all three.
//!
//! ```text
//!   −6 ■■■■■■■■■■■■ 0 ■■■■■■ +3      black under −6¼, white from +3¼
//!      blue       grey   yellow
//! ```

use glam::Vec3;

use super::text::Letters;
use super::{Picture, Still};
use crate::optics::color::luminance;
use crate::optics::exposure::{LENS_FACTOR, METER_CONSTANT, SENSOR_CLIP};

/// Middle of the lowest band, in half stops from the chosen tone.
const LOWEST: i32 = -12;

/// Colours of the bands from −6 to +3 by half stops, sRGB. Their CIE L* goes from 9 to 95 by 4.8.
const BANDS: [u32; 19] = [
    0x001939, 0x002348, 0x002e57, 0x003966, 0x004575, 0x005184, 0x025d93, 0x0669a2, 0x0476b1,
    0x3382b7, 0x5a8db5, 0x7899b3, 0xa1a1a1, 0xd1a773, 0xe1b46d, 0xeec268, 0xf9d264, 0xffe271,
    0xfff1b4,
];

/// Legend's ground and letters.
const GROUND: Vec3 = Vec3::splat(0.13);
const INK: Vec3 = Vec3::splat(0.9);

/// 18 % grey of a picture.
pub const GREY: f64 = 0.18;

/// White paper of reflectance 0.88 under a metered exposure: 0.18·(q·C·0.88/π)/10.
pub fn paper() -> f64 {
    GREY * LENS_FACTOR * METER_CONSTANT * 0.88 / std::f64::consts::PI / 10.0
}

/// The tone that a map is counted from.
#[derive(Debug, Clone, PartialEq)]
pub struct Zero {
    /// How the legend names it: `18 % grey`, `face`.
    pub name: String,
    /// Its linear picture value.
    pub linear: f64,
}

impl Zero {
    /// 18 % grey.
    pub fn grey() -> Self {
        Self { name: "18 % grey".into(), linear: GREY }
    }

    /// White paper.
    pub fn paper() -> Self {
        Self { name: "white paper".into(), linear: paper() }
    }
}

/// Index of the band of so many stops; −1 under the lowest, [`BANDS`]' length over the highest.
fn band(stops: f64) -> i32 {
    let half = (2.0 * stops).round();
    if half.is_nan() || half < f64::from(LOWEST) {
        -1
    } else {
        (half as i32 - LOWEST).min(BANDS.len() as i32)
    }
}

/// Colour of a band, encoded sRGB.
fn color(band: i32) -> Vec3 {
    match usize::try_from(band).ok().map(|index| BANDS.get(index)) {
        None => Vec3::ZERO,
        Some(None) => Vec3::ONE,
        Some(Some(hex)) => {
            let channel = |shift: u32| (hex >> shift & 0xff) as f32 / 255.0;
            Vec3::new(channel(16), channel(8), channel(0))
        }
    }
}

/// Colour of a tone so many stops above the chosen one, encoded sRGB.
pub fn color_of(stops: f64) -> Vec3 {
    color(band(stops))
}

/// The map of a picture, legend at its right.
pub fn stops(picture: &Picture, zero: &Zero) -> Still {
    let pixels: Vec<i32> = picture
        .pixels
        .iter()
        .map(|pixel| band((f64::from(luminance(*pixel)) / zero.linear).log2()))
        .collect();
    let (width, height) = (picture.width as usize, picture.height as usize);
    let legend = Legend::new(height, zero, &pixels);
    let (full_width, full_height) = (width + legend.width, height.max(legend.height));
    let mut still = Still {
        width: full_width as u32,
        height: full_height as u32,
        pixels: vec![GROUND; full_width * full_height],
    };
    for (row, line) in pixels.chunks_exact(width.max(1)).enumerate() {
        let start = row * full_width;
        for (to, band) in still.pixels[start..start + width].iter_mut().zip(line) {
            *to = color(*band);
        }
    }
    legend.draw(&mut still, width);
    still
}

/// Bands with their names, from the lightest down.
struct Legend {
    letters: Option<Letters>,
    /// Pixels from band to band.
    pitch: f32,
    width: usize,
    height: usize,
    title: [String; 2],
    /// Band, its name, and the share of the picture that it covers.
    rows: Vec<(i32, String, f64)>,
}

impl Legend {
    fn new(picture_height: usize, zero: &Zero, pixels: &[i32]) -> Self {
        let rows = BANDS.len() + 2;
        // two lines of title and a margin
        let pitch = (picture_height as f32 / (rows + 5) as f32).clamp(13.0, 34.0);
        let letters = Letters::new(0.95 * pitch);
        let title = ["stops from".to_owned(), zero.name.clone()];
        // well-known tones, where they fall
        let named = [("18 % grey", GREY), ("white paper", paper()), ("sensor clips", SENSOR_CLIP)]
            .map(|(name, linear)| (name, band((linear / zero.linear).log2())));
        let rows: Vec<(i32, String, f64)> = (-1..=BANDS.len() as i32)
            .rev()
            .map(|band| {
                let half = band + LOWEST;
                let stops = match band {
                    -1 => "less".to_owned(),
                    _ if band == BANDS.len() as i32 => "more".to_owned(),
                    _ if half % 2 != 0 => String::new(),
                    _ if half == 0 => "0".into(),
                    _ => format!("{}{}", if half < 0 { '−' } else { '+' }, half.abs() / 2),
                };
                let name = named.iter().find(|(_, at)| *at == band).map_or("", |(name, _)| *name);
                let count = pixels.iter().filter(|one| **one == band).count();
                let share = count as f64 / pixels.len().max(1) as f64;
                (band, format!("{stops} {name}").trim().to_owned(), share)
            })
            .collect();
        let longest = |letters: &Letters| {
            let lines = rows.iter().map(|(_, name, _)| letters.width(name) + 5.6 * pitch);
            let titles = title.iter().map(|line| letters.width(line) + pitch);
            lines.chain(titles).fold(0.0, f32::max)
        };
        let width = letters.as_ref().map_or(2.0 * pitch, longest).ceil() as usize;
        let height = ((rows.len() as f32 + 4.0) * pitch).ceil() as usize;
        Self { letters, pitch, width, height, title, rows }
    }

    fn draw(&self, still: &mut Still, left: usize) {
        let pitch = self.pitch;
        let x = left as f32 + 0.5 * pitch;
        let line = |row: f32| (row + 0.9) * pitch;
        for (number, (band, name, share)) in self.rows.iter().enumerate() {
            let top = line(number as f32 + 2.1);
            // bands touch, as they do in the picture
            let (from, to) = (top.round() as usize, (top + pitch).round() as usize);
            for y in from..to.min(still.height as usize) {
                let start = y * still.width as usize;
                let end = (x + 1.6 * pitch) as usize;
                still.pixels[start + x as usize..start + end].fill(color(*band));
            }
            let Some(letters) = &self.letters else { continue };
            let middle = top + 0.5 * pitch;
            letters.draw(still, x + 2.0 * pitch, middle, &percent(*share), 0.6 * INK);
            letters.draw(still, x + 4.6 * pitch, middle, name, INK);
        }
        if let Some(letters) = &self.letters {
            for (number, text) in self.title.iter().enumerate() {
                letters.draw(still, x, line(number as f32) + 0.2 * pitch, text, INK);
            }
        }
    }
}

/// Share of the picture, where there is any.
fn percent(share: f64) -> String {
    match 100.0 * share {
        share if share <= 0.0 => String::new(),
        share if share < 0.5 => "<1 %".into(),
        share => format!("{share:.0} %"),
    }
}

#[cfg(test)]
mod tests {
    use glam::Mat3;

    use super::*;
    use crate::optics::color::srgb_decode;

    /// Full-strength simulation in linear RGB (Machado, Oliveira & Fernandes 2009, 'A
    /// physiologically-based model for simulation of color vision deficiency', IEEE TVCG 15(6),
    /// tables for severity 1.0), rows as printed.
    const VISIONS: [(&str, [[f32; 3]; 3]); 4] = [
        ("common", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
        (
            "protanope",
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ],
        ),
        (
            "deuteranope",
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ],
        ),
        (
            "tritanope",
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ],
        ),
    ];

    /// CIE L*a*b* of a linear Rec.709 colour with its own white.
    fn lab(rgb: Vec3) -> [f32; 3] {
        let x = (0.412_456 * rgb.x + 0.357_576 * rgb.y + 0.180_438 * rgb.z) / 0.950_47;
        let y = luminance(rgb);
        let z = (0.019_334 * rgb.x + 0.119_192 * rgb.y + 0.950_304 * rgb.z) / 1.088_83;
        let f = |t: f32| {
            let d = 6.0f32 / 29.0;
            if t > d.powi(3) { t.cbrt() } else { t / (3.0 * d * d) + 4.0 / 29.0 }
        };
        let (x, y, z) = (f(x), f(y), f(z));
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn seen(vision: &[[f32; 3]; 3], band: i32) -> [f32; 3] {
        let shown = color(band);
        let linear = Vec3::from_array(shown.to_array().map(srgb_decode));
        let matrix = Mat3::from_cols_array_2d(vision).transpose();
        lab((matrix * linear).clamp(Vec3::ZERO, Vec3::ONE))
    }

    #[test]
    fn the_simulation_keeps_white() {
        for (name, rows) in VISIONS {
            for row in rows {
                assert!((row.iter().sum::<f32>() - 1.0).abs() < 2e-6, "{name}: {row:?}");
            }
        }
    }

    /// Each band is lighter than the one below it and told from every other, for every vision:
    /// a difference of 2.3 in L*a*b* is the just noticeable one (Mahy et al. 1994).
    #[test]
    fn bands_are_told_apart_by_everybody() {
        for (name, vision) in VISIONS {
            let all: Vec<_> = (-1..=BANDS.len() as i32).map(|band| seen(&vision, band)).collect();
            for (number, pair) in all.windows(2).enumerate() {
                let rise = pair[1][0] - pair[0][0];
                assert!(rise > 2.3, "{name}: band {number} rises by {rise}");
            }
            for (i, a) in all.iter().enumerate() {
                // whole stops apart
                for b in &all[(i + 2).min(all.len())..] {
                    let apart = (0..3).map(|k| (a[k] - b[k]).powi(2)).sum::<f32>().sqrt();
                    assert!(apart > 6.0, "{name}: {i} and another are {apart} apart");
                }
            }
        }
    }

    #[test]
    fn bands_lie_around_their_stops() {
        for (stops, hex) in [(0.0, 0xa1a1a1), (0.24, 0xa1a1a1), (-0.26, 0x7899b3), (3.0, 0xfff1b4)]
        {
            let got = color_of(stops) * 255.0;
            let expected = [hex >> 16, hex >> 8 & 0xff, hex & 0xff].map(|c: u32| c as f32);
            assert!(got.distance(Vec3::from_array(expected)) < 0.01, "{stops}: {got}");
        }
        assert_eq!(color_of(f64::NEG_INFINITY), Vec3::ZERO);
        assert_eq!(color_of(f64::NAN), Vec3::ZERO);
        assert_eq!(color_of(-6.3), Vec3::ZERO);
        assert_eq!(color_of(40.0), Vec3::ONE);
    }

    /// A strip of known tones: each pixel has its band's colour, the legend says its share.
    #[test]
    fn a_strip_of_tones() {
        let tones = [-7.0f32, -6.0, -1.0, 0.0, 1.5, 3.0, 9.0, 0.0];
        let pixels = tones.map(|stops| Vec3::splat(0.18 * stops.exp2())).to_vec();
        let still = stops(&Picture { width: 8, height: 1, pixels }, &Zero::grey());
        assert!(still.width > 8 && still.height > 20 * 13, "{} {}", still.width, still.height);
        for (pixel, stops) in still.pixels.iter().zip(tones) {
            assert_eq!(*pixel, color_of(stops.into()), "{stops}");
        }
        // right of the bands there are letters alone; small ones hardly fill a pixel
        let right = |i: usize| i % still.width as usize > 8 + 3 * 13;
        let ink = still.pixels.iter().enumerate().filter(|(i, p)| right(*i) && p.y > 0.4).count();
        assert!(ink > 100, "the legend has letters: {ink}");
        assert_eq!(percent(0.25), "25 %");
        assert_eq!(percent(0.001), "<1 %");
    }
}
