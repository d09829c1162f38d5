//! Development on the graphics card, for a window: as [`Mix`], [`Taking`] and [`develop`] do it,
//! within one level of 255.
//!
//! ```text
//!   layers ─mix─► linear ──► filter's glow ──► finish ──► picture
//!             └──────── nothing of a lens ─────────────────▲
//! ```
//!
//! [`Mix`]: super::Mix
//! [`Taking`]: super::Taking
//! [`develop`]: super::develop

mod glow;
mod lens;

use bytemuck::{Pod, Zeroable};
use glam::Vec3;

use super::tone::{Curve, Development, Tone};
use crate::gpu::{Gpu, GpuError, Kernel, Slot, shader};
pub use lens::{CardLayer, LensDeveloper};

/// `Tone` of shaders/picture/tone.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
struct ToneOnCard {
    middle: [f32; 4],
    shoulder: [f32; 4],
    middle_slope: [f32; 2],
    shoulder_slope: [f32; 2],
    monochrome: [f32; 4],
    contrast: f32,
    straight: u32,
    pad: [u32; 2],
}

impl From<Development> for ToneOnCard {
    fn from(development: Development) -> Self {
        let curve = Curve::new();
        let (middle, middle_slope) = curve.middle.ends();
        let (shoulder, shoulder_slope) = curve.shoulder.ends();
        let monochrome = development
            .monochrome
            .map_or([0.0; 4], |mix| (mix / mix.element_sum()).extend(1.0).to_array());
        Self {
            middle,
            shoulder,
            middle_slope,
            shoulder_slope,
            monochrome,
            contrast: development.contrast,
            straight: (development.tone == Tone::Straight).into(),
            pad: [0; 2],
        }
    }
}

/// `Develop` of shaders/picture/develop.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
struct Develop {
    tone: ToneOnCard,
    pixels: u32,
    lights: u32,
    more: u32,
    last: u32,
    factors: [[f32; 4]; LIGHTS_AT_ONCE],
    across: u32,
    pad: [u32; 3],
}

/// Layers that a dispatch adds.
const LIGHTS_AT_ONCE: usize = 4;
/// Pixels in a row of the dispatch: a card takes so many groups a side only.
const ACROSS: u32 = 1 << 14;

/// The modules, assembled, by name.
pub fn modules() -> Vec<(&'static str, String)> {
    vec![("develop", module()), ("glow", glow::module()), ("finish", lens::module())]
}

/// A pass that tones.
fn with_tone(pass: &str) -> String {
    shader::with_color(&[include_str!("../../../shaders/picture/tone.wgsl"), pass].join("\n"))
}

fn module() -> String {
    with_tone(include_str!("../../../shaders/picture/develop.wgsl"))
}

/// Develops pictures of one size.
#[derive(Debug)]
pub struct Developer {
    kernel: Kernel,
    layout: wgpu::BindGroupLayout,
    pixels: u32,
    linear: wgpu::Buffer,
    /// Bound where there is no layer.
    nothing: wgpu::Buffer,
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
        let nothing = gpu.zeros("no layer", 16)?;
        let picture = gpu.zeros("picture", u64::from(pixels) * 4)?;
        gpu.check()?;
        Ok(Self { kernel, layout, pixels, linear, nothing, picture })
    }

    /// Puts a development of `layers` (vec4f a pixel each) with the mix's factors on the card's
    /// list of work, as a lens without filter, flare or fall-off shows them. Does not wait.
    pub fn develop(
        &self,
        gpu: &Gpu,
        layers: &[&wgpu::Buffer],
        factors: &[Vec3],
        development: impl Into<Development>,
    ) {
        let mut encoder = gpu.device.create_command_encoder(&Default::default());
        let tone = Some(development.into());
        self.mix(gpu, &mut encoder, (layers, factors), &self.linear, tone);
        gpu.queue.submit([encoder.finish()]);
    }

    /// Adds layers up in `linear`, and tones the sum into the picture where `tone` says how.
    fn mix(
        &self,
        gpu: &Gpu,
        encoder: &mut wgpu::CommandEncoder,
        (layers, factors): (&[&wgpu::Buffer], &[Vec3]),
        linear: &wgpu::Buffer,
        tone: Option<Development>,
    ) {
        let mut values: Develop = Zeroable::zeroed();
        values.tone = tone.unwrap_or(Tone::Neutral.into()).into();
        values.pixels = self.pixels;
        values.across = ACROSS.min(self.pixels);
        let count = layers.len().div_ceil(LIGHTS_AT_ONCE).max(1);
        for number in 0..count {
            let from = number * LIGHTS_AT_ONCE;
            let part = &layers[from..layers.len().min(from + LIGHTS_AT_ONCE)];
            values.lights = part.len() as u32;
            values.more = (number > 0).into();
            values.last = (tone.is_some() && number + 1 == count).into();
            for (to, factor) in values.factors.iter_mut().zip(factors.iter().skip(from)) {
                *to = factor.extend(0.0).to_array();
            }
            let uniform = gpu.uniform("develop", &values);
            let layer = |k: usize| part.get(k).copied().unwrap_or(&self.nothing);
            let buffers = [&uniform, layer(0), layer(1), layer(2), layer(3), linear, &self.picture];
            let group = gpu.group("develop", &self.layout, &buffers);
            self.dispatch(encoder, &self.kernel, &group);
        }
    }

    /// A thread for each pixel.
    fn dispatch(
        &self,
        encoder: &mut wgpu::CommandEncoder,
        kernel: &Kernel,
        group: &wgpu::BindGroup,
    ) {
        let across = ACROSS.min(self.pixels);
        let mut pass = encoder.begin_compute_pass(&Default::default());
        pass.set_pipeline(&kernel.pipeline);
        pass.set_bind_group(0, group, &[]);
        pass.dispatch_workgroups(across.div_ceil(64), self.pixels.div_ceil(across), 1);
    }

    /// The picture, red, green, blue, opaque. Waits for the card.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn read(&self, gpu: &Gpu) -> Result<Vec<[u8; 4]>, GpuError> {
        gpu.read(&self.picture, 0, u64::from(self.pixels))
    }
}
