//! Shadow maps: depth of the nearest caster for each face of the samples of a round, drawn from
//! the lighter meshes into the layers of one array.

use std::ops::Range;

use bytemuck::Zeroable;
use glam::Vec3;

use super::gbuffer::{DEPTH, clear_depth, nearer_wins};
use super::receivers::Face;
use super::shadow_mesh::ShadowMesh;
use super::timer::Timer;
use crate::gpu::{Gpu, GpuError};

const SHADER: &str = concat!(
    include_str!("../../shaders/raster/faces.wgsl"),
    include_str!("../../shaders/raster/shadow.wgsl")
);

/// Faces of all points of fronts of a round.
pub const FRONT_LAYERS: usize = 13;
/// Faces of all landing points of a round.
pub const LANDING_LAYERS: usize = 27;
/// Faces of a round; `MOST_FACES` of shaders/raster/shade.wgsl.
pub const MOST_FACES: usize = FRONT_LAYERS + LANDING_LAYERS;

/// The assembled shader, for its test.
pub fn shader() -> &'static str {
    SHADER
}

/// Shadow casters on the card.
pub struct Casters {
    positions: wgpu::Buffer,
    indices: wgpu::Buffer,
    meshes: Vec<Caster>,
}

/// One mesh among them.
struct Caster {
    indices: Range<u32>,
    low: Vec3,
    high: Vec3,
}

impl Casters {
    /// All of them in one.
    pub fn new<'a>(
        gpu: &Gpu,
        meshes: impl Iterator<Item = &'a ShadowMesh>,
    ) -> Result<Self, GpuError> {
        let (mut positions, mut indices) = (Vec::new(), Vec::<u32>::new());
        let mut ranges = Vec::new();
        for mesh in meshes {
            let (first, start) = (positions.len() as u32, indices.len() as u32);
            positions.extend(mesh.positions.iter().map(Vec3::to_array));
            indices.extend(mesh.triangles.iter().flatten().map(|&i| first + i));
            ranges.push(Caster {
                indices: start..indices.len() as u32,
                low: mesh.positions.iter().copied().fold(Vec3::INFINITY, Vec3::min),
                high: mesh.positions.iter().copied().fold(Vec3::NEG_INFINITY, Vec3::max),
            });
        }
        Ok(Self {
            positions: gpu.filled("casters", &positions, wgpu::BufferUsages::VERTEX)?,
            indices: gpu.filled("caster corners", &indices, wgpu::BufferUsages::INDEX)?,
            meshes: ranges,
        })
    }

    /// Triangles.
    pub fn triangles(&self) -> u32 {
        self.meshes.last().map_or(0, |mesh| mesh.indices.end / 3)
    }
}

impl Caster {
    /// Whether any of it may lie in the pyramid of a face.
    fn may_be_in(&self, face: &Face) -> bool {
        let [from, right, up, forward] =
            [face.from, face.right, face.up, face.forward].map(Vec3::from);
        let [mid_x, mid_y, half_x, half_y] = face.bounds;
        let corners: [Vec3; 8] = std::array::from_fn(|i| {
            let pick = |axis: usize| if i >> axis & 1 == 0 { self.low } else { self.high };
            let offset = Vec3::new(pick(0).x, pick(1).y, pick(2).z) - from;
            Vec3::new(offset.dot(right), offset.dot(up), offset.dot(forward))
        });
        let outside = |side: &dyn Fn(Vec3) -> f32| corners.iter().all(|&c| side(c) < 0.0);
        !(outside(&|c| c.z)
            || outside(&|c| (mid_x + half_x) * c.z - c.x)
            || outside(&|c| c.x - (mid_x - half_x) * c.z)
            || outside(&|c| (mid_y + half_y) * c.z - c.y)
            || outside(&|c| c.y - (mid_y - half_y) * c.z))
    }
}

/// The pass and its maps.
pub struct Shadow {
    pipeline: wgpu::RenderPipeline,
    faces: Vec<(wgpu::Buffer, wgpu::BindGroup)>,
    layers: Vec<wgpu::TextureView>,
    /// All layers.
    pub maps: wgpu::TextureView,
}

impl Shadow {
    /// Makes the pipeline and `count` maps of `size` texels a side.
    pub fn new(gpu: &Gpu, size: u32, count: usize) -> Result<Self, GpuError> {
        let texture = gpu.device.create_texture(&wgpu::TextureDescriptor {
            label: Some("shadow maps"),
            size: wgpu::Extent3d { width: size, height: size, depth_or_array_layers: count as u32 },
            mip_level_count: 1,
            sample_count: 1,
            dimension: wgpu::TextureDimension::D2,
            format: DEPTH,
            usage: wgpu::TextureUsages::RENDER_ATTACHMENT | wgpu::TextureUsages::TEXTURE_BINDING,
            view_formats: &[],
        });
        let layers = (0..count as u32)
            .map(|layer| {
                texture.create_view(&wgpu::TextureViewDescriptor {
                    dimension: Some(wgpu::TextureViewDimension::D2),
                    base_array_layer: layer,
                    array_layer_count: Some(1),
                    ..Default::default()
                })
            })
            .collect();
        let layout = gpu.layout("face", wgpu::ShaderStages::VERTEX, &[crate::gpu::Slot::Uniform]);
        let faces = (0..count)
            .map(|_| {
                let buffer = gpu.uniform("face", &Face::zeroed());
                let group = gpu.group("face", &layout, &[&buffer]);
                (buffer, group)
            })
            .collect();
        let module = gpu.module("shadow", SHADER)?;
        let pipeline = gpu.device.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some("shadow"),
            layout: Some(&gpu.pipeline_layout("shadow", &[&layout])),
            vertex: wgpu::VertexState {
                module: &module,
                entry_point: Some("vertex"),
                compilation_options: Default::default(),
                buffers: &[Some(wgpu::VertexBufferLayout {
                    array_stride: 12,
                    step_mode: wgpu::VertexStepMode::Vertex,
                    attributes: &wgpu::vertex_attr_array![0 => Float32x3],
                })],
            },
            primitive: wgpu::PrimitiveState::default(),
            depth_stencil: Some(nearer_wins()),
            multisample: Default::default(),
            fragment: None,
            multiview_mask: None,
            cache: None,
        });
        let maps = texture.create_view(&wgpu::TextureViewDescriptor {
            dimension: Some(wgpu::TextureViewDimension::D2Array),
            ..Default::default()
        });
        Ok(Self { pipeline, faces, layers, maps })
    }

    /// Draws the maps of `faces`, each into its layer.
    pub fn draw(
        &self,
        gpu: &Gpu,
        encoder: &mut wgpu::CommandEncoder,
        casters: &Casters,
        faces: impl Iterator<Item = Face>,
        timer: Option<&Timer>,
    ) {
        for face in faces {
            let (buffer, group) = &self.faces[face.layer as usize];
            gpu.queue.write_buffer(buffer, 0, bytemuck::bytes_of(&face));
            let mut pass = encoder.begin_render_pass(&wgpu::RenderPassDescriptor {
                label: Some("shadow"),
                color_attachments: &[],
                depth_stencil_attachment: Some(clear_depth(&self.layers[face.layer as usize])),
                timestamp_writes: timer.and_then(|timer| timer.render("shadow")),
                occlusion_query_set: None,
                multiview_mask: None,
            });
            pass.set_pipeline(&self.pipeline);
            pass.set_viewport(0.0, 0.0, face.map_size, face.map_size, 0.0, 1.0);
            pass.set_bind_group(0, group, &[]);
            pass.set_vertex_buffer(0, casters.positions.slice(..));
            pass.set_index_buffer(casters.indices.slice(..), wgpu::IndexFormat::Uint32);
            for mesh in casters.meshes.iter().filter(|mesh| mesh.may_be_in(&face)) {
                pass.draw_indexed(mesh.indices.clone(), 0, 0..1);
            }
        }
    }
}
