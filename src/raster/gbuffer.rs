//! What the lens sees of the set: depth and attributes of the nearest surface of each pixel,
//! drawn again for every jitter of pixel and lens (Haeberli & Akeley 1990, 'The Accumulation
//! Buffer'). Depth is near/distance in 32 bits of floating point: precise near and far.

use bytemuck::{Pod, Zeroable};
use glam::Vec2;
use std::f32::consts::TAU;
use std::mem::offset_of;

use super::timer::Timer;
use crate::gpu::layout::Vertex;
use crate::gpu::{Gpu, GpuError, Meshes, Slot};
use crate::stage::Camera;

const SHADER: &str = concat!(
    include_str!("../../shaders/raster/view.wgsl"),
    include_str!("../../shaders/raster/gbuffer.wgsl")
);

/// Nothing nearer to the lens is drawn, metres.
const NEAR_M: f32 = 0.01;
const ATTRIBUTES: wgpu::TextureFormat = wgpu::TextureFormat::Rgba32Uint;
/// Of this and of shadow maps.
pub const DEPTH: wgpu::TextureFormat = wgpu::TextureFormat::Depth32Float;

/// The assembled shader, for its test.
pub fn shader() -> &'static str {
    SHADER
}

/// `View` of shaders/raster/view.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Pod, Zeroable)]
pub struct View {
    /// Lens point, world metres.
    pub origin: [f32; 3],
    /// Metres.
    pub near: f32,
    /// Unit.
    pub right: [f32; 3],
    /// Lens point over focus distance.
    pub shear_x: f32,
    /// Unit.
    pub up: [f32; 3],
    /// Lens point over focus distance.
    pub shear_y: f32,
    /// Unit.
    pub forward: [f32; 3],
    /// Nothing.
    pub pad: u32,
    /// Tangents of half the frame.
    pub half: [f32; 2],
    /// Where in the pixel, 0 to 1.
    pub jitter: [f32; 2],
    /// Pixels.
    pub size: [u32; 2],
    /// Nothing.
    pub pad_after: [u32; 2],
}

impl View {
    /// The view from the point of the pupil that `lens` (uniform in the unit square) picks.
    pub fn new(camera: &Camera, size: (u32, u32), jitter: Vec2, lens: Vec2) -> Self {
        let (r, phi) = (camera.pupil_radius_m as f32 * lens.x.sqrt(), TAU * lens.y);
        let off = Vec2::from_angle(phi) * r;
        let shear = off / camera.focus_m as f32;
        Self {
            origin: (camera.position + camera.right * off.x + camera.up * off.y).to_array(),
            near: NEAR_M,
            right: camera.right.to_array(),
            shear_x: shear.x,
            up: camera.up.to_array(),
            shear_y: shear.y,
            forward: camera.forward.to_array(),
            pad: 0,
            half: camera.half_frame().to_array(),
            jitter: jitter.to_array(),
            size: [size.0, size.1],
            pad_after: [0; 2],
        }
    }
}

/// The pass and its targets.
pub struct Gbuffer {
    pipeline: wgpu::RenderPipeline,
    group: wgpu::BindGroup,
    /// [`View`].
    pub view: wgpu::Buffer,
    /// Normals, tint, surface.
    pub attributes: wgpu::TextureView,
    /// near/distance.
    pub depths: wgpu::TextureView,
}

impl Gbuffer {
    /// Makes the pipeline and targets of `size` pixels.
    pub fn new(gpu: &Gpu, size: (u32, u32)) -> Result<Self, GpuError> {
        let view = gpu.uniform("view", &View::zeroed());
        let layout = gpu.layout("view", wgpu::ShaderStages::VERTEX_FRAGMENT, &[Slot::Uniform]);
        let group = gpu.group("view", &layout, &[&view]);
        let module = gpu.module("gbuffer", SHADER)?;
        let target = |format, label| {
            let texture = gpu.device.create_texture(&wgpu::TextureDescriptor {
                label: Some(label),
                size: wgpu::Extent3d { width: size.0, height: size.1, depth_or_array_layers: 1 },
                mip_level_count: 1,
                sample_count: 1,
                dimension: wgpu::TextureDimension::D2,
                format,
                usage: wgpu::TextureUsages::RENDER_ATTACHMENT
                    | wgpu::TextureUsages::TEXTURE_BINDING,
                view_formats: &[],
            });
            texture.create_view(&Default::default())
        };
        let pipeline = gpu.device.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some("gbuffer"),
            layout: Some(&gpu.pipeline_layout("gbuffer", &[&layout])),
            vertex: wgpu::VertexState {
                module: &module,
                entry_point: Some("vertex"),
                compilation_options: Default::default(),
                buffers: &[Some(wgpu::VertexBufferLayout {
                    array_stride: size_of::<Vertex>() as u64,
                    step_mode: wgpu::VertexStepMode::Vertex,
                    attributes: &vertex_attributes(),
                })],
            },
            primitive: wgpu::PrimitiveState::default(),
            depth_stencil: Some(nearer_wins()),
            multisample: Default::default(),
            fragment: Some(wgpu::FragmentState {
                module: &module,
                entry_point: Some("fragment"),
                compilation_options: Default::default(),
                targets: &[Some(ATTRIBUTES.into())],
            }),
            multiview_mask: None,
            cache: None,
        });
        Ok(Self {
            pipeline,
            group,
            view,
            attributes: target(ATTRIBUTES, "attributes"),
            depths: target(DEPTH, "depths"),
        })
    }

    /// Draws what `view` sees.
    pub fn draw(
        &self,
        gpu: &Gpu,
        encoder: &mut wgpu::CommandEncoder,
        meshes: &Meshes,
        view: &View,
        timer: Option<&Timer>,
    ) {
        gpu.queue.write_buffer(&self.view, 0, bytemuck::bytes_of(view));
        let mut pass = encoder.begin_render_pass(&wgpu::RenderPassDescriptor {
            label: Some("gbuffer"),
            color_attachments: &[Some(wgpu::RenderPassColorAttachment {
                view: &self.attributes,
                depth_slice: None,
                resolve_target: None,
                ops: wgpu::Operations {
                    load: wgpu::LoadOp::Clear(wgpu::Color::TRANSPARENT),
                    store: wgpu::StoreOp::Store,
                },
            })],
            depth_stencil_attachment: Some(clear_depth(&self.depths)),
            timestamp_writes: timer.and_then(|timer| timer.render("gbuffer")),
            occlusion_query_set: None,
            multiview_mask: None,
        });
        pass.set_pipeline(&self.pipeline);
        pass.set_bind_group(0, &self.group, &[]);
        pass.set_vertex_buffer(0, meshes.vertices.slice(..));
        pass.set_index_buffer(meshes.indices.slice(..), wgpu::IndexFormat::Uint32);
        let last = meshes.ranges.last().map_or(0, |range| range.end);
        pass.draw_indexed(0..last, 0, 0..1);
    }
}

/// Position, surface, normal and tint of a [`Vertex`].
fn vertex_attributes() -> [wgpu::VertexAttribute; 4] {
    use wgpu::VertexFormat::{Float32x3, Uint32};
    let attribute = |shader_location, format, offset: usize| wgpu::VertexAttribute {
        format,
        offset: offset as u64,
        shader_location,
    };
    [
        attribute(0, Float32x3, offset_of!(Vertex, position)),
        attribute(1, Uint32, offset_of!(Vertex, surface)),
        attribute(2, Float32x3, offset_of!(Vertex, normal)),
        attribute(3, Float32x3, offset_of!(Vertex, tint)),
    ]
}

/// Depth state of a near/distance map.
pub fn nearer_wins() -> wgpu::DepthStencilState {
    wgpu::DepthStencilState {
        format: DEPTH,
        depth_write_enabled: Some(true),
        depth_compare: Some(wgpu::CompareFunction::Greater),
        stencil: Default::default(),
        bias: Default::default(),
    }
}

/// Begins with nothing anywhere.
pub fn clear_depth(view: &wgpu::TextureView) -> wgpu::RenderPassDepthStencilAttachment<'_> {
    wgpu::RenderPassDepthStencilAttachment {
        view,
        depth_ops: Some(wgpu::Operations {
            load: wgpu::LoadOp::Clear(0.0),
            store: wgpu::StoreOp::Store,
        }),
        stencil_ops: None,
    }
}
