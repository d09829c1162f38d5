//! A diffusion filter's glow on the card: [`super::super::glare::spread`] with the same kernel.
//!
//! The two cosine transforms are products with matrices of cosines, exact for every size: four
//! passes over the picture.

use bytemuck::{Pod, Zeroable};

use crate::gpu::{Gpu, GpuError, Kernel, Slot};
use crate::picture::glare;
use crate::picture::view::Frame;

/// `Turn` of shaders/picture/glow.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
struct Turn {
    lines: u32,
    length: u32,
    stride: u32,
    step: u32,
    back: u32,
    finish: u32,
    share: f32,
    pad: u32,
}

/// Outputs and lines of a group of threads, as in the shader.
const GROUP: [u32; 2] = [16, 32];

/// The module.
pub(super) fn module() -> String {
    include_str!("../../../shaders/picture/glow.wgsl").into()
}

/// Spreads pictures of one frame.
#[derive(Debug)]
pub(super) struct Glow {
    kernel: Kernel,
    layout: wgpu::BindGroupLayout,
    frame: Frame,
    /// For lines across, and down.
    cosines: [wgpu::Buffer; 2],
    spectrum: wgpu::Buffer,
    between: [wgpu::Buffer; 2],
}

impl Glow {
    /// For a frame.
    pub(super) fn new(gpu: &Gpu, frame: &Frame) -> Result<Self, GpuError> {
        let [w, h] = frame.size;
        let slots = [Slot::Uniform, Slot::Read, Slot::Write, Slot::Read, Slot::Read];
        let layout = gpu.layout("glow", wgpu::ShaderStages::COMPUTE, &slots);
        let kernel = gpu.kernel("glow", &module(), "turn_lines", &[&layout])?;
        let spread = glare::Kernel::new(frame);
        let mut spectrum = glare::spectrum(&spread);
        // an even share of the whole is the lowest frequency alone
        spectrum[0] += spread.veil;
        let scale = 4.0 / (w as f32 * h as f32);
        spectrum.iter_mut().for_each(|value| *value *= scale);
        let cosines = |length: u32| {
            let turn = std::f64::consts::TAU / f64::from(4 * length);
            let values: Vec<f32> =
                (0..4 * length).map(|m| (f64::from(m) * turn).cos() as f32).collect();
            gpu.storage("cosines", &values)
        };
        let bytes = u64::from(w) * u64::from(h) * 16;
        let made = Self {
            kernel,
            layout,
            frame: *frame,
            cosines: [cosines(w)?, cosines(h)?],
            spectrum: gpu.storage("spectrum", &spectrum)?,
            between: [gpu.zeros("turned", bytes)?, gpu.zeros("turned", bytes)?],
        };
        gpu.check()?;
        Ok(made)
    }

    /// The frame it is for.
    pub(super) fn frame(&self) -> &Frame {
        &self.frame
    }

    /// Spreads `share` of each pixel's light of a linear picture, vec4f a pixel.
    pub(super) fn spread(
        &self,
        gpu: &Gpu,
        encoder: &mut wgpu::CommandEncoder,
        picture: &wgpu::Buffer,
        share: f32,
    ) {
        let [w, h] = self.frame.size;
        let [one, other] = &self.between;
        let across = Turn { lines: h, length: w, stride: w, step: 1, ..Turn::zeroed() };
        let down = Turn { lines: w, length: h, stride: 1, step: w, ..Turn::zeroed() };
        let [along_rows, along_columns] = &self.cosines;
        let passes = [
            (across, picture, one, along_rows),
            (Turn { finish: 1, ..down }, one, other, along_columns),
            (Turn { back: 1, ..down }, other, one, along_columns),
            (Turn { back: 1, finish: 2, share, ..across }, one, picture, along_rows),
        ];
        for (turn, from, to, cosines) in passes {
            let uniform = gpu.uniform("turn", &turn);
            let buffers = [&uniform, from, to, cosines, &self.spectrum];
            let group = gpu.group("glow", &self.layout, &buffers);
            let mut pass = encoder.begin_compute_pass(&Default::default());
            pass.set_pipeline(&self.kernel.pipeline);
            pass.set_bind_group(0, &group, &[]);
            let groups = [turn.length.div_ceil(GROUP[0]), turn.lines.div_ceil(GROUP[1])];
            pass.dispatch_workgroups(groups[0], groups[1], 1);
        }
    }
}
