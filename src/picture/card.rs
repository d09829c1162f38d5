//! Development on the graphics card, for a window: as [`super::Mix`] and [`super::develop`] do it,
//! within one level of 255.

use bytemuck::{Pod, Zeroable};
use glam::Vec3;

use super::tone::{Curve, Tone};
use crate::gpu::{Gpu, GpuError, Kernel, Slot, shader};

/// `Develop` of shaders/picture/develop.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
struct Develop {
    pixels: u32,
    lights: u32,
    more: u32,
    last: u32,
    factors: [[f32; 4]; LIGHTS_AT_ONCE],
    middle: [f32; 4],
    middle_slope: [f32; 2],
    straight: u32,
    across: u32,
    shoulder: [f32; 4],
    shoulder_slope: [f32; 2],
    pad: [u32; 2],
}

/// Layers that a dispatch adds.
const LIGHTS_AT_ONCE: usize = 4;
/// Pixels in a row of the dispatch: a card takes so many groups a side only.
const ACROSS: u32 = 1 << 14;

/// The module, assembled.
pub fn module() -> String {
    shader::with_color(include_str!("../../shaders/picture/develop.wgsl"))
}

/// Develops pictures of one size.
#[derive(Debug)]
pub struct Developer {
    kernel: Kernel,
    layout: wgpu::BindGroupLayout,
    pixels: u32,
    linear: wgpu::Buffer,
    /// The picture: a word a pixel, row by row, red in the low byte.
    pub picture: wgpu::Buffer,
}

impl Developer {
    /// For pictures of `pixels` pixels.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn new(gpu: &Gpu, pixels: u32) -> Result<Self, GpuError> {
        use Slot::{Read, Uniform, Write};
        let slots = [Uniform, Read, Read, Read, Read, Write, Write];
        let layout = gpu.layout("develop", wgpu::ShaderStages::COMPUTE, &slots);
        let kernel = gpu.kernel("develop", &module(), "develop_pixels", &[&layout])?;
        let linear = gpu.zeros("linear picture", u64::from(pixels) * 16)?;
        let picture = gpu.zeros("picture", u64::from(pixels) * 4)?;
        gpu.check()?;
        Ok(Self { kernel, layout, pixels, linear, picture })
    }

    /// Puts a development of `layers` (vec4f a pixel each) with the mix's factors on the card's
    /// list of work. Does not wait.
    pub fn develop(&self, gpu: &Gpu, layers: &[&wgpu::Buffer], factors: &[Vec3], tone: Tone) {
        let curve = Curve::new();
        let mut values: Develop = Zeroable::zeroed();
        values.pixels = self.pixels;
        values.across = ACROSS.min(self.pixels);
        values.straight = (tone == Tone::Straight).into();
        (values.middle, values.middle_slope) = curve.middle.ends();
        (values.shoulder, values.shoulder_slope) = curve.shoulder.ends();
        let mut encoder = gpu.device.create_command_encoder(&Default::default());
        let count = layers.len().div_ceil(LIGHTS_AT_ONCE);
        for (number, part) in layers.chunks(LIGHTS_AT_ONCE).enumerate() {
            values.lights = part.len() as u32;
            values.more = (number > 0).into();
            values.last = (number + 1 == count).into();
            for (to, factor) in values.factors.iter_mut().zip(&factors[number * LIGHTS_AT_ONCE..]) {
                *to = factor.extend(0.0).to_array();
            }
            let uniform = gpu.uniform("develop", &values);
            // what is not used may be anything that is bound for reading already
            let layer = |k: usize| part.get(k).copied().unwrap_or(part[0]);
            let buffers =
                [&uniform, layer(0), layer(1), layer(2), layer(3), &self.linear, &self.picture];
            let group = gpu.group("develop", &self.layout, &buffers);
            let mut pass = encoder.begin_compute_pass(&Default::default());
            pass.set_pipeline(&self.kernel.pipeline);
            pass.set_bind_group(0, &group, &[]);
            let rows = self.pixels.div_ceil(values.across);
            pass.dispatch_workgroups(values.across.div_ceil(64), rows, 1);
        }
        gpu.queue.submit([encoder.finish()]);
    }

    /// The picture, red, green, blue, opaque. Waits for the card.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn read(&self, gpu: &Gpu) -> Result<Vec<[u8; 4]>, GpuError> {
        gpu.read(&self.picture, 0, u64::from(self.pixels))
    }
}
