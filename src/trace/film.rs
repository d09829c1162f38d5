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
pub fn variance(streams: &[f32; STREAMS], samples: f32) -> f32 {
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
    /// Paths that each pixel has of each stream.
    pub stream_paths: [u32; STREAMS],
    /// How many of them looked at each light.
    pub samples: Vec<u32>,
    /// Lights that the next paths look at.
    pub wanted: Vec<usize>,
    /// Pixel-major, then light.
    pub sums: Vec<Sum>,
    /// Luminance of what lies under the mix, one a pixel: layers that are known already.
    base: Vec<f32>,
    /// Paths before the error is measured.
    least: u32,
    /// Σ depth.
    pub depth: Vec<f32>,
    /// Today's error in stops.
    pub error_stops: f32,
    /// Each light's part of it, in relative units.
    light_errors: Vec<f32>,
    review_at: u32,
}

/// Cuts a picture into tiles that look at the lights `asked`.
pub fn tiles(width: u32, height: u32, lights: usize, asked: &[usize]) -> Vec<Tile> {
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
                stream_paths: [0; STREAMS],
                samples: vec![0; lights],
                wanted: asked.to_vec(),
                sums: vec![Sum::default(); pixels * lights],
                base: vec![0.0; pixels],
                least: FIRST_REVIEW,
                depth: vec![0.0; pixels],
                error_stops: f32::INFINITY,
                light_errors: vec![0.0; lights],
                review_at: FIRST_REVIEW,
            });
        }
    }
    tiles
}

/// Puts what lies under a picture (row-major luminance) under its tiles. What adds little to it
/// may settle with one path of each stream.
pub fn lay_over(tiles: &mut [Tile], base: &[f32], width: u32) {
    for tile in tiles {
        tile.least = STREAMS as u32;
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

/// Paths before a tile may be called settled: fewer say too little of their own variance.
pub const FIRST_REVIEW: u32 = 16;

/// A light is left out while a sample of it takes less than this share off the variance of what
/// one of the worst light's does.
pub const WORTHWHILE: f32 = 0.25;

impl Tile {
    /// Paths each pixel has.
    fn paths(&self) -> u32 {
        self.stream_paths.iter().sum()
    }

    /// Standard error of the mix of the tile's average pixel, in stops of the pixel's level;
    /// `levels` holds the luminance that unit luminance of each light gives in the mix. Now and
    /// then also decides which lights are worth more samples.
    pub fn measure_error(&mut self, levels: &[f32]) {
        if self.paths() < self.least {
            return;
        }
        let lights = self.samples.len();
        let gains: Vec<f32> =
            levels.iter().zip(&self.samples).map(|(level, &n)| level / n.max(1) as f32).collect();
        self.light_errors.fill(0.0);
        let mut sum = 0.0;
        for (pixel, base) in self.sums.chunks_exact(lights).zip(&self.base) {
            let mut mix = [0.0; STREAMS];
            for (light, gain) in pixel.iter().zip(&gains) {
                for (mix, stream) in mix.iter_mut().zip(&light.streams) {
                    *mix += stream * gain;
                }
            }
            let level = (mix.iter().sum::<f32>() + base).max(DARK_FLOOR);
            sum += variance(&mix, 1.0).sqrt() / level;
            for ((own, light), gain) in self.light_errors.iter_mut().zip(pixel).zip(&gains) {
                *own += variance(&light.streams, 1.0).sqrt() * gain / level;
            }
        }
        let relative = sum / ((self.sums.len() / lights) as f32 * DEVIATION_BIAS);
        self.error_stops = relative * std::f32::consts::LOG2_E;
    }

    /// Keeps the lights whose next sample is worth its while. Only at doublings of the paths:
    /// between them each light sees a whole run of its low-discrepancy stream.
    pub fn choose(&mut self) {
        if self.paths() < self.review_at {
            return;
        }
        self.review_at = 2 * self.paths();
        let worth: Vec<f32> = self
            .light_errors
            .iter()
            .zip(&self.samples)
            .map(|(error, &n)| if n > 0 { error * error / n as f32 } else { -1.0 })
            .collect();
        let best = worth.iter().copied().fold(0.0, f32::max);
        self.wanted = (0..worth.len()).filter(|&light| worth[light] >= WORTHWHILE * best).collect();
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
        let paths = tile.paths().max(1) as f32;
        for row in 0..tile.height {
            for column in 0..tile.width {
                let from = (row * tile.width + column) as usize;
                let to = ((tile.y + row) * width + tile.x + column) as usize;
                depth[to] = tile.depth[from] / paths;
                samples[to] = tile.paths();
                let count = layers.len();
                for (light, layer) in layers.iter_mut().enumerate() {
                    let sum = tile.sums[from * count + light];
                    let n = tile.samples[light].max(1) as f32;
                    layer.pixels[to] = sum.value / n;
                    layer.variance[to] = variance(&sum.streams, n);
                }
            }
        }
    }
    Layers { width, height, layers, depth, samples }
}
