//! Sums of samples for each pixel and light, their variance, and where more are needed.

use glam::Vec3;

use crate::layers::{Layer, Layers, LightKind};
use crate::optics::color::luminance;

/// Side of the square blocks that are settled together.
pub const TILE: u32 = 16;

/// Running sums of one pixel and light.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sum {
    /// Σ x.
    pub value: Vec3,
    /// Σ Y².
    pub square: f32,
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
    /// Σ Y and Σ Y² of the developed mix, for each pixel.
    pub mix: Vec<[f32; 2]>,
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
                mix: vec![[0.0; 2]; pixels],
                depth: vec![0.0; pixels],
                error_stops: f32::INFINITY,
            });
        }
    }
    tiles
}

/// Pixels darker than this count as this: five stops below the 18 % grey of the mix.
const DARK_FLOOR: f32 = 0.18 / 32.0;

impl Tile {
    /// Root mean square over the tile's pixels of the standard error of the mix, in stops of
    /// the pixel's level.
    pub fn measure_error(&mut self) {
        let n = self.samples as f32;
        let mut sum = 0.0;
        for &[value, square] in &self.mix {
            let mean = value / n;
            let variance = (square / n - mean * mean).max(0.0) / (n - 1.0).max(1.0);
            let level = mean.max(DARK_FLOOR);
            sum += variance / (level * level);
        }
        let relative = (sum / self.mix.len() as f32).sqrt();
        self.error_stops = relative * std::f32::consts::LOG2_E;
    }
}

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
                    let mean = sum.value / n;
                    let y = luminance(mean);
                    layer.pixels[to] = mean;
                    layer.variance[to] = (sum.square / n - y * y).max(0.0) / (n - 1.0).max(1.0);
                }
            }
        }
    }
    Layers { width, height, layers, depth, samples }
}
