//! Sums of samples for each pixel and light, their variance, and where more are needed.

use glam::Vec3;

use crate::layers::{Layer, Layers, LightKind};

/// Side of the square blocks that are settled together.
pub const TILE: u32 = 16;

/// Independent sample streams of a pixel. Samples of one low-discrepancy stream are not
/// independent, so their scatter overstates the error many times; that between the means of
/// separately scrambled streams does not (randomised quasi-Monte Carlo, Owen 1997).
pub const STREAMS: usize = 4;

/// Running sums of one pixel and light.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sum {
    /// Σ x.
    pub value: Vec3,
    /// Σ Y of each stream.
    pub streams: [f32; STREAMS],
}

/// Variance of the mean of all streams from their sums; `samples` a multiple of the streams'
/// number for an exact figure.
fn variance(streams: &[f32; STREAMS], samples: f32) -> f32 {
    let each = samples / STREAMS as f32;
    let mean = streams.iter().sum::<f32>() / samples;
    let scatter: f32 = streams.iter().map(|sum| (sum / each - mean).powi(2)).sum();
    scatter / (STREAMS * (STREAMS - 1)) as f32
}

/// One tile's pixels.
#[derive(Debug, Clone)]
pub struct Tile {
    /// First column.
    pub x: u32,
    /// First row.
    pub y: u32,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Samples each pixel has.
    pub samples: u32,
    /// Pixel-major, then light.
    pub sums: Vec<Sum>,
    /// Σ Y of the exposed mix, for each pixel and stream.
    pub mix: Vec<[f32; STREAMS]>,
    /// Luminance of what lies under the mix, one a pixel: layers that are known already.
    pub base: Vec<f32>,
    /// Σ depth.
    pub depth: Vec<f32>,
    /// Today's error in stops.
    pub error_stops: f32,
}

/// Cuts a picture into tiles.
pub fn tiles(width: u32, height: u32, lights: usize) -> Vec<Tile> {
    let mut tiles = Vec::new();
    for y in (0..height).step_by(TILE as usize) {
        for x in (0..width).step_by(TILE as usize) {
            let (w, h) = (TILE.min(width - x), TILE.min(height - y));
            let pixels = (w * h) as usize;
            tiles.push(Tile {
                x,
                y,
                width: w,
                height: h,
                samples: 0,
                sums: vec![Sum::default(); pixels * lights],
                mix: vec![[0.0; STREAMS]; pixels],
                base: vec![0.0; pixels],
                depth: vec![0.0; pixels],
                error_stops: f32::INFINITY,
            });
        }
    }
    tiles
}

/// Puts what lies under a picture (row-major luminance) under its tiles.
pub fn lay_over(tiles: &mut [Tile], base: &[f32], width: u32) {
    for tile in tiles {
        for row in 0..tile.height {
            let from = ((tile.y + row) * width + tile.x) as usize;
            let to = (row * tile.width) as usize;
            let count = tile.width as usize;
            tile.base[to..to + count].copy_from_slice(&base[from..from + count]);
        }
    }
}

/// Pixels darker than this count as this: three stops below the 18 % grey of the mix, about 1 %
/// of a full-scale picture, so that the error of black does not rule.
const DARK_FLOOR: f32 = 0.18 / 8.0;

impl Tile {
    /// Standard error of the mix of the tile's average pixel, in stops of the pixel's level.
    pub fn measure_error(&mut self) {
        let n = self.samples as f32;
        let sum: f32 = self
            .mix
            .iter()
            .zip(&self.base)
            .map(|(streams, base)| {
                let level = (streams.iter().sum::<f32>() / n + base).max(DARK_FLOOR);
                variance(streams, n).sqrt() / level
            })
            .sum();
        let relative = sum / (self.mix.len() as f32 * DEVIATION_BIAS);
        self.error_stops = relative * std::f32::consts::LOG2_E;
    }
}

/// Expectation of the sample standard deviation of four normal values over the true one:
/// √(2/3)·Γ(2)/Γ(3/2), the c₄ of statistical process control.
const DEVIATION_BIAS: f32 = 0.921;

/// Gathers tiles into layers.
pub fn layers(
    tiles: &[Tile],
    width: u32,
    height: u32,
    lights: impl Iterator<Item = (String, LightKind)>,
) -> Layers {
    let pixels = (width * height) as usize;
    let mut layers: Vec<Layer> = lights
        .map(|(name, kind)| Layer {
            name,
            kind,
            pixels: vec![Vec3::ZERO; pixels],
            variance: vec![0.0; pixels],
        })
        .collect();
    let mut depth = vec![0.0; pixels];
    let mut samples = vec![0; pixels];
    for tile in tiles {
        let n = tile.samples.max(1) as f32;
        for row in 0..tile.height {
            for column in 0..tile.width {
                let from = (row * tile.width + column) as usize;
                let to = ((tile.y + row) * width + tile.x + column) as usize;
                depth[to] = tile.depth[from] / n;
                samples[to] = tile.samples;
                let count = layers.len();
                for (light, layer) in layers.iter_mut().enumerate() {
                    let sum = tile.sums[from * count + light];
                    layer.pixels[to] = sum.value / n;
                    layer.variance[to] = variance(&sum.streams, n);
                }
            }
        }
    }
    Layers { width, height, layers, depth, samples }
}
