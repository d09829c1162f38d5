//! Shading of what the lens sees by the samples of one round, added to the light's sums.

use bytemuck::{Pod, Zeroable};

use super::gbuffer::Gbuffer;
use super::receivers::Face;
use super::shadow::{MOST_FACES, Shadow};
use super::timer::Timer;
use crate::gpu::shader::with_scene;
use crate::gpu::{Gpu, GpuError, Kernel, Materials, Slot};

/// `MOST_SAMPLES` of the shader.
pub const MOST_SAMPLES: usize = 12;
/// `STACK` of the shader: levels of a hierarchy that it can walk.
pub const STACK: usize = 64;

/// The assembled shader, for its test.
pub fn shader() -> String {
    with_scene(concat!(
        include_str!("../../shaders/raster/view.wgsl"),
        include_str!("../../shaders/raster/faces.wgsl"),
        include_str!("../../shaders/raster/near.wgsl"),
        include_str!("../../shaders/raster/shade.wgsl")
    ))
}

/// Kinds of [`Sample`].
pub mod kind {
    /// A point of a light's front.
    pub const FRONT: u32 = 0;
    /// A place where its light lands.
    pub const LANDING: u32 = 1;
}

/// `Sample` of shaders/raster/shade.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Pod, Zeroable)]
pub struct Sample {
    /// World metres.
    pub position: [f32; 3],
    /// See [`kind`].
    pub kind: u32,
    /// Unit, on the side it lights.
    pub normal: [f32; 3],
    /// Film or surface.
    pub which: u32,
    /// Unit.
    pub shading: [f32; 3],
    /// On the estimate.
    pub weight: f32,
    /// Unit, to where its light came from.
    pub outgoing: [f32; 3],
    /// r⁴ of its softened fall-off, m⁴.
    pub soft: f32,
    /// lm·s or lm.
    pub flux: [f32; 3],
    /// Its first face among the round's.
    pub first_face: u32,
    /// Diffuse reflectance.
    pub reflectance: [f32; 3],
    /// How many faces it has.
    pub faces: u32,
}

/// `Round` of shaders/raster/shade.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Pod, Zeroable)]
pub struct Round {
    /// The first `count` are in use.
    pub samples: [Sample; MOST_SAMPLES],
    /// Their shadow maps.
    pub faces: [Face; MOST_FACES],
    /// Samples.
    pub count: u32,
    /// The light's first front.
    pub first_film: u32,
    /// How many fronts it has.
    pub films: u32,
    /// 1 where distances are summed too.
    pub sums_depth: u32,
    /// Where the two hierarchies begin.
    pub roots: [u32; 2],
    /// Of this round among its light's.
    pub number: u32,
    /// Which noise the close rays have.
    pub seed: u32,
    /// r⁴ of landing points, m⁴.
    pub landing_soft: f32,
    /// r⁴ of fronts, m⁴.
    pub front_soft: f32,
    /// Weight of what close fronts bring.
    pub front_weight: f32,
    /// Length of a close ray, metres; 0 for none.
    pub close: f32,
}

/// The pass.
pub struct Shade {
    kernel: Kernel,
    set_layout: wgpu::BindGroupLayout,
    sums_layout: wgpu::BindGroupLayout,
    round: wgpu::Buffer,
}

impl Shade {
    /// Makes the pipeline.
    pub fn new(gpu: &Gpu, materials: &Materials) -> Result<Self, GpuError> {
        let set_layout = set_layout(gpu);
        let stages = wgpu::ShaderStages::COMPUTE;
        let sums_layout = gpu.layout("sums", stages, &[Slot::Write, Slot::Write]);
        let groups = [&materials.layout, &set_layout, &sums_layout];
        let kernel = gpu.kernel("shade", &shader(), "shade", &groups)?;
        let round = gpu.uniform("round", &Round::zeroed());
        Ok(Self { kernel, set_layout, sums_layout, round })
    }

    /// Binds what a round reads.
    pub fn set_group(
        &self,
        gpu: &Gpu,
        (nodes, facets): (&wgpu::Buffer, &wgpu::Buffer),
        gbuffer: &Gbuffer,
        [fronts, landings]: [&Shadow; 2],
    ) -> wgpu::BindGroup {
        let texture = wgpu::BindingResource::TextureView;
        let resources = [
            nodes.as_entire_binding(),
            facets.as_entire_binding(),
            gbuffer.view.as_entire_binding(),
            self.round.as_entire_binding(),
            texture(&gbuffer.attributes),
            texture(&gbuffer.depths),
            texture(&fronts.maps),
            texture(&landings.maps),
        ];
        let entries: Vec<wgpu::BindGroupEntry> = resources
            .into_iter()
            .enumerate()
            .map(|(binding, resource)| wgpu::BindGroupEntry { binding: binding as u32, resource })
            .collect();
        gpu.device.create_bind_group(&wgpu::BindGroupDescriptor {
            label: Some("set"),
            layout: &self.set_layout,
            entries: &entries,
        })
    }

    /// Binds what a light's rounds add to.
    pub fn sums_group(
        &self,
        gpu: &Gpu,
        sums: &wgpu::Buffer,
        distances: &wgpu::Buffer,
    ) -> wgpu::BindGroup {
        gpu.group("sums", &self.sums_layout, &[sums, distances])
    }

    /// Adds one round to a light's sums.
    pub fn add(
        &self,
        gpu: &Gpu,
        encoder: &mut wgpu::CommandEncoder,
        groups: [&wgpu::BindGroup; 3],
        (width, height): (u32, u32),
        round: &Round,
        timer: Option<&Timer>,
    ) {
        gpu.queue.write_buffer(&self.round, 0, bytemuck::bytes_of(round));
        let mut pass = encoder.begin_compute_pass(&wgpu::ComputePassDescriptor {
            label: Some("shade"),
            timestamp_writes: timer.and_then(|timer| timer.compute("shade")),
        });
        pass.set_pipeline(&self.kernel.pipeline);
        for (index, group) in groups.into_iter().enumerate() {
            pass.set_bind_group(index as u32, group, &[]);
        }
        pass.dispatch_workgroups(width.div_ceil(8), height.div_ceil(8), 1);
    }
}

fn set_layout(gpu: &Gpu) -> wgpu::BindGroupLayout {
    let buffer =
        |ty| wgpu::BindingType::Buffer { ty, has_dynamic_offset: false, min_binding_size: None };
    let texture = |sample_type, view_dimension| wgpu::BindingType::Texture {
        sample_type,
        view_dimension,
        multisampled: false,
    };
    let read = || buffer(wgpu::BufferBindingType::Storage { read_only: true });
    let uniform = || buffer(wgpu::BufferBindingType::Uniform);
    let (flat, array) = (wgpu::TextureViewDimension::D2, wgpu::TextureViewDimension::D2Array);
    let kinds = [
        read(),
        read(),
        uniform(),
        uniform(),
        texture(wgpu::TextureSampleType::Uint, flat),
        texture(wgpu::TextureSampleType::Depth, flat),
        texture(wgpu::TextureSampleType::Depth, array),
        texture(wgpu::TextureSampleType::Depth, array),
    ];
    let entries: Vec<wgpu::BindGroupLayoutEntry> = kinds
        .into_iter()
        .enumerate()
        .map(|(binding, ty)| wgpu::BindGroupLayoutEntry {
            binding: binding as u32,
            visibility: wgpu::ShaderStages::COMPUTE,
            ty,
            count: None,
        })
        .collect();
    gpu.device.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
        label: Some("set"),
        entries: &entries,
    })
}
