//! The picture's sums on the card, cut into slabs that each fit one buffer.

use std::ops::Range;

use super::super::film::TILE;
use crate::gpu::{Gpu, GpuError, Slot};

/// Pixels of a tile, whether or not all are inside the picture.
pub const TILE_PIXELS: u64 = (TILE * TILE) as u64;

/// Tiles of a slab: what an entry of the list has bits for.
const MOST_TILES_OF_SLAB: u64 = 1 << 16;

/// A run of tiles with buffers of their own.
#[derive(Debug)]
pub struct Slab {
    /// Which tiles, row by row from the top left.
    pub tiles: Range<u32>,
    /// Σ value, Σ depth by tile, light, pixel: vec4f each.
    pub values: wgpu::Buffer,
    /// Σ luminance of each stream, likewise.
    pub spreads: wgpu::Buffer,
    /// Luminance of what lies under the picture, by tile and pixel.
    pub base: wgpu::Buffer,
    /// 1/samples of each stream, by tile and light.
    pub weights: wgpu::Buffer,
    /// Error of each tile in stops: of the mix, then of each light.
    pub errors: wgpu::Buffer,
    /// What to do, values, spreads.
    pub group: wgpu::BindGroup,
    /// What to judge, spreads, weights, errors, base.
    pub judged: wgpu::BindGroup,
}

/// All sums of a picture.
#[derive(Debug)]
pub struct Sums {
    /// In order.
    pub slabs: Vec<Slab>,
    /// Tiles across.
    pub across: u32,
    /// Tiles in all.
    pub tiles: u32,
    /// Lights.
    pub lights: u32,
}

/// Bindings of a slab, for pipelines.
#[derive(Debug)]
pub struct Layouts {
    /// What to do, values, spreads.
    pub group: wgpu::BindGroupLayout,
    /// What to judge, spreads, weights, errors, base.
    pub judged: wgpu::BindGroupLayout,
}

impl Layouts {
    /// On this card.
    pub fn new(gpu: &Gpu) -> Self {
        let compute = wgpu::ShaderStages::COMPUTE;
        let judged = [Slot::Uniform, Slot::Read, Slot::Read, Slot::Write, Slot::Read];
        Self {
            group: gpu.layout("sums", compute, &[Slot::Uniform, Slot::Write, Slot::Write]),
            judged: gpu.layout("errors", compute, &judged),
        }
    }
}

impl Sums {
    /// Zeros for a picture. `todo` and `judge` are bound with every slab.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn new(
        gpu: &Gpu,
        layouts: &Layouts,
        (width, height): (u32, u32),
        lights: u32,
        todo: &wgpu::Buffer,
        judge: &wgpu::Buffer,
    ) -> Result<Self, GpuError> {
        let across = width.div_ceil(TILE);
        let count = across * height.div_ceil(TILE);
        let tile_bytes = TILE_PIXELS * u64::from(lights) * 16;
        let most = (gpu.most_bytes() / tile_bytes).clamp(1, MOST_TILES_OF_SLAB) as u32;
        let mut slabs = Vec::new();
        for first in (0..count).step_by(most as usize) {
            let tiles = first..(first + most).min(count);
            let number = tiles.len() as u64;
            let values = gpu.zeros("sums of light", number * tile_bytes)?;
            let spreads = gpu.zeros("sums of streams", number * tile_bytes)?;
            let weights = gpu.zeros("weights of tiles", number * u64::from(lights) * 4)?;
            let errors = gpu.zeros("errors of tiles", number * u64::from(lights + 1) * 4)?;
            let group = gpu.group("sums", &layouts.group, &[todo, &values, &spreads]);
            let base = gpu.zeros("luminance under the sums", number * TILE_PIXELS * 4)?;
            let buffers = [judge, &spreads, &weights, &errors, &base];
            let judged = gpu.group("errors", &layouts.judged, &buffers);
            slabs.push(Slab { tiles, values, spreads, base, weights, errors, group, judged });
        }
        gpu.check()?;
        Ok(Self { slabs, across, tiles: count, lights })
    }

    /// Bytes on the card.
    pub fn bytes(&self) -> u64 {
        self.slabs.iter().map(|slab| slab.values.size() + slab.spreads.size()).sum()
    }
}

/// A tile's pixels: (index within the tile, index within the picture).
pub fn pixels_of(
    tile: u32,
    across: u32,
    (width, height): (u32, u32),
) -> impl Iterator<Item = (usize, usize)> {
    let (x0, y0) = (tile % across * TILE, tile / across * TILE);
    let rows = 0..TILE.min(height - y0);
    rows.flat_map(move |y| {
        (0..TILE.min(width - x0)).map(move |x| {
            let inside = (y * TILE + x) as usize;
            (inside, ((y0 + y) * width + x0 + x) as usize)
        })
    })
}
