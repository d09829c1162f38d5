//! Shadow maps: depth of the nearest caster for each face of the samples of a round, drawn from
//! the lighter meshes into the layers of one array.

use bytemuck::Zeroable;

use super::gbuffer::{DEPTH, clear_depth, nearer_wins};
use super::receivers::Face;
use super::shadow_mesh::ShadowMesh;
use crate::gpu::{Gpu, GpuError};

const SHADER: &str = concat!(
    include_str!("../../shaders/raster/faces.wgsl"),
    include_str!("../../shaders/raster/shadow.wgsl")
);

/// Layers: faces of all samples of a round; `MOST_FACES` of shaders/raster/shade.wgsl.
pub const MOST_FACES: usize = 16;

/// The assembled shader, for its test.
pub fn shader() -> &'static str {
    SHADER
}

/// Shadow casters on the card.
pub struct Casters {
    positions: wgpu::Buffer,
    indices: wgpu::Buffer,
    count: u32,
}

impl Casters {
    /// All of them in one.
    pub fn new<'a>(
        gpu: &Gpu,
        meshes: impl Iterator<Item = &'a ShadowMesh>,
    ) -> Result<Self, GpuError> {
        let (mut positions, mut indices) = (Vec::new(), Vec::<u32>::new());
        for mesh in meshes {
            let first = positions.len() as u32;
            positions.extend(mesh.positions.iter().map(glam::Vec3::to_array));
            indices.extend(mesh.triangles.iter().flatten().map(|&i| first + i));
        }
        Ok(Self {
            positions: gpu.filled("casters", &positions, wgpu::BufferUsages::VERTEX)?,
            indices: gpu.filled("caster corners", &indices, wgpu::BufferUsages::INDEX)?,
            count: indices.len() as u32,
        })
    }

    /// Triangles.
    pub fn triangles(&self) -> u32 {
        self.count / 3
    }
}

/// The pass and its maps.
pub struct Shadow {
    pipeline: wgpu::RenderPipeline,
    faces: Vec<(wgpu::Buffer, wgpu::BindGroup)>,
    layers: Vec<wgpu::TextureView>,
    /// All layers.
    pub maps: wgpu::TextureView,
    /// Texels of a side.
    pub size: u32,
}

impl Shadow {
    /// Makes the pipeline and maps of `size` texels a side.
    pub fn new(gpu: &Gpu, size: u32) -> Result<Self, GpuError> {
        let texture = gpu.device.create_texture(&wgpu::TextureDescriptor {
            label: Some("shadow maps"),
            size: wgpu::Extent3d {
                width: size,
                height: size,
                depth_or_array_layers: MOST_FACES as u32,
            },
            mip_level_count: 1,
            sample_count: 1,
            dimension: wgpu::TextureDimension::D2,
            format: DEPTH,
            usage: wgpu::TextureUsages::RENDER_ATTACHMENT | wgpu::TextureUsages::TEXTURE_BINDING,
            view_formats: &[],
        });
        let layers = (0..MOST_FACES as u32)
            .map(|layer| {
                texture.create_view(&wgpu::TextureViewDescriptor {
                    dimension: Some(wgpu::TextureViewDimension::D2),
                    base_array_layer: layer,
                    array_layer_count: Some(1),
                    ..Default::default()
                })
            })
            .collect();
        let layout =
            gpu.layout("face", wgpu::ShaderStages::VERTEX, &[crate::gpu::Slot::Uniform]);
        let faces = (0..MOST_FACES)
            .map(|_| {
                let buffer = gpu.uniform("face", &Face::zeroed());
                let group = gpu.group("face", &layout, &[&buffer]);
                (buffer, group)
            })
            .collect();
        let module = gpu.module("shadow", SHADER)?;
        let pipeline = gpu.device.create_render_pipeline(&wgpu::RenderPipelineDescriptor {
            label: Some("shadow"),
            layout: Some(&gpu.device.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
                label: Some("shadow"),
                bind_group_layouts: &[Some(&layout)],
                immediate_size: 0,
            })),
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
        Ok(Self { pipeline, faces, layers, maps, size })
    }

    /// Draws the maps of `faces`, each into its layer.
    pub fn draw(
        &self,
        gpu: &Gpu,
        encoder: &mut wgpu::CommandEncoder,
        casters: &Casters,
        faces: &[Face],
        mut timing: impl FnMut(usize) -> Option<wgpu::RenderPassTimestampWrites<'static>>,
    ) {
        for (index, face) in faces.iter().enumerate() {
            let (buffer, group) = &self.faces[face.layer as usize];
            gpu.queue.write_buffer(buffer, 0, bytemuck::bytes_of(face));
            let mut pass = encoder.begin_render_pass(&wgpu::RenderPassDescriptor {
                label: Some("shadow"),
                color_attachments: &[],
                depth_stencil_attachment: Some(clear_depth(&self.layers[face.layer as usize])),
                timestamp_writes: timing(index),
                occlusion_query_set: None,
                multiview_mask: None,
            });
            pass.set_pipeline(&self.pipeline);
            pass.set_bind_group(0, group, &[]);
            pass.set_vertex_buffer(0, casters.positions.slice(..));
            pass.set_index_buffer(casters.indices.slice(..), wgpu::IndexFormat::Uint32);
            pass.draw_indexed(0..casters.count, 0, 0..1);
        }
    }
}
