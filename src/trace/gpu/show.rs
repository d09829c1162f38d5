//! What a picture in the making shows of each light, row by row: the tracer's mean, faded in over
//! a first look where there is one.

use bytemuck::{Pod, Zeroable};

use super::session::Session;
use super::{GpuTracer, show_module};
use crate::gpu::{GpuError, Kernel, Slot};

/// `Show` of shaders/trace/show.wgsl.
#[repr(C)]
#[derive(Clone, Copy, Pod, Zeroable)]
struct Show {
    size: [u32; 2],
    first_tile: u32,
    light_count: u32,
    light: u32,
    raster_weight: f32,
    tile_count: u32,
    pad: u32,
}

/// A first look at a light by another engine.
#[derive(Debug, Clone, Copy)]
pub struct FirstLook<'a> {
    /// Sums, vec4f a pixel, row by row.
    pub sums: &'a wgpu::Buffer,
    /// 1/their count.
    pub weight: f32,
    /// Share of the path tracer in each tile, 0 to 1.
    pub shares: &'a [f32],
}

/// Shows sessions.
#[derive(Debug)]
pub struct Shower {
    kernel: Kernel,
    layout: wgpu::BindGroupLayout,
    show: wgpu::Buffer,
}

impl Shower {
    /// On the tracer's card.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn new(card: &GpuTracer) -> Result<Self, GpuError> {
        let gpu = &card.gpu;
        let slots = [Slot::Uniform, Slot::Read, Slot::Read, Slot::Read, Slot::Read, Slot::Write];
        let layout = gpu.layout("show", wgpu::ShaderStages::COMPUTE, &slots);
        let kernel = gpu.kernel("show", &show_module(), "show_tiles", &[&layout])?;
        Ok(Self { kernel, layout, show: gpu.uniform("show", &Show::zeroed()) })
    }

    /// Writes a light's picture so far to `shown`, vec4f a pixel, row by row.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn show(
        &self,
        card: &GpuTracer,
        session: &Session,
        light: usize,
        first: Option<FirstLook<'_>>,
        shown: &wgpu::Buffer,
    ) -> Result<(), GpuError> {
        let gpu = &card.gpu;
        session.send_weights(card);
        let shares = gpu.storage("shares", first.map_or(&[] as &[f32], |look| look.shares))?;
        let nothing = gpu.storage::<[f32; 4]>("no first look", &[])?;
        for slab in &session.sums.slabs {
            let show = Show {
                size: session.size().into(),
                first_tile: slab.tiles.start,
                light_count: session.lights() as u32,
                light: light as u32,
                raster_weight: first.map_or(0.0, |look| look.weight),
                tile_count: slab.tiles.len() as u32,
                pad: 0,
            };
            gpu.queue.write_buffer(&self.show, 0, bytemuck::bytes_of(&show));
            let look = first.map_or(&nothing, |look| look.sums);
            let buffers = [&self.show, &slab.values, &slab.weights, &shares, look, shown];
            let group = gpu.group("show", &self.layout, &buffers);
            card.dispatch(&self.kernel, &[&group], slab.tiles.len() as u32);
        }
        gpu.check()
    }
}
