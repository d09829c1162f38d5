//! The stage on the card: surfaces with their tables, fronts of lights, meshes to draw.

use std::ops::Range;

use bytemuck::Zeroable;
use glam::Vec3;

use super::device::Gpu;
use super::error::GpuError;
use super::kernel::Slot;
use super::layout::{Film, MOST_FILMS, Surface, Vertex};
use crate::optics::beam::Beam;
use crate::optics::surface::{self, Scatter};
use crate::stage::source::{self, Emitter};
use crate::stage::{Mesh, SourceShape};

/// Surfaces and lights on the card: bind group 0 of every pass over the scene.
#[derive(Debug)]
pub struct Materials {
    /// Films (uniform), surfaces, tables.
    pub layout: wgpu::BindGroupLayout,
    /// Bound.
    pub group: wgpu::BindGroup,
    /// Which films are each light's, in the order given.
    pub lights: Vec<Range<u32>>,
}

/// What [`Materials`] are made of, before it is on the card.
#[derive(Debug, Clone, Default)]
pub struct MaterialData {
    /// One a mesh.
    pub surfaces: Vec<Surface>,
    /// All fronts of all lights.
    pub films: Vec<Film>,
    /// Which films are each light's.
    pub lights: Vec<Range<u32>>,
    /// Albedos, beams.
    pub tables: Vec<f32>,
}

impl MaterialData {
    /// Adds a surface.
    pub fn surface(&mut self, surface: &surface::Surface) {
        let at = self.tables.len() as u32;
        let (kind, shape) = match &surface.scatter {
            Scatter::Diffuse => (0, [0.0; 4]),
            Scatter::Coated(coat) => {
                self.tables.extend(coat.reflected_table());
                self.tables.extend(coat.transmittance_table());
                let mean = coat.mean_transmittance();
                (1, [coat.ior(), coat.alpha(), mean, coat.internal_reflectance()])
            }
            Scatter::Velvet(velvet) => {
                self.tables.extend(velvet.rim_table());
                (2, [velvet.pile(), velvet.sheen_scale(), velvet.mean_rim(), 0.0])
            }
            Scatter::Metal(metal) => (3, [metal.alpha(), metal.scale(), 0.0, 0.0]),
        };
        let reflectance = surface.reflectance.to_array();
        self.surfaces.push(Surface { reflectance, kind, shape, albedo_at: at, pad: [0; 3] });
    }

    /// Adds a light with all its fronts.
    pub fn light(&mut self, emitter: &Emitter) {
        let first = self.films.len() as u32;
        let mut cumulative = 0.0;
        for film in emitter.films() {
            cumulative += film.share;
            let made = self.film(film, cumulative);
            self.films.push(made);
        }
        self.lights.push(first..self.films.len() as u32);
    }

    fn film(&mut self, film: &source::Film, cumulative: f32) -> Film {
        let sampler_at = self.tables.len() as u32;
        let (edges, sums, density) = film.beam.rings();
        self.tables.extend(edges);
        self.tables.extend(sums);
        self.tables.extend(density);
        let (shape, sides, size) = match film.shape {
            SourceShape::Disc { radius_m } => (0, 0, [radius_m, 0.0]),
            SourceShape::Ring { radius_m, hole_m } => (1, 0, [radius_m, hole_m]),
            SourceShape::Rectangle { width_m, height_m } => (2, 0, [width_m, height_m]),
            SourceShape::Polygon { sides, radius_m } => (3, sides, [radius_m, 0.0]),
            SourceShape::Tube { radius_m, length_m } => (4, 0, [radius_m, length_m]),
            SourceShape::Ball { radius_m } => (5, 0, [radius_m, 0.0]),
        };
        let table_at = self.tables.len() as u32;
        let mut shutters = [0.0; 4];
        let (beam, beam_shape) = match film.beam.beam() {
            Beam::Cosine { exponent } => (0, [*exponent as f32, 0.0]),
            Beam::Dish { beam_rad, field_rad } => {
                let k = std::f64::consts::LOG2_10.log2() / (field_rad / beam_rad).log2();
                (1, [k as f32, (2.0 / beam_rad) as f32])
            }
            Beam::Gate(gate) => {
                let limits = [gate.across[0], gate.across[1], gate.upward[0], gate.upward[1]];
                // a shutter that is left out may lie at infinity, which shaders need not know
                shutters = limits.map(|tangent| tangent.clamp(-1e6, 1e6) as f32);
                (2, [gate.iris.min(1e6) as f32, 0.0])
            }
            Beam::Table(table) => {
                self.tables.extend(table.values());
                let (rings, sectors) = table.size();
                (3, [rings as f32, sectors as f32])
            }
        };
        Film {
            position: film.position.to_array(),
            shape,
            axis: film.axis.to_array(),
            beam,
            right: film.right.to_array(),
            sides,
            up: film.up.to_array(),
            sampler_at,
            size: size.map(|metres| metres as f32),
            reach: film.beam.reach_rad(),
            intensity: film.intensity,
            beam_shape,
            table_at,
            inverse_focus: film.inverse_focus,
            shutters,
            glow: film.glow.unwrap_or_default(),
            area: film.area,
            seen_area: film.seen_area.unwrap_or_default(),
            share: film.share,
            cumulative,
            pad: 0,
        }
    }

    fn padded_films(&self) -> Result<Vec<Film>, GpuError> {
        if self.films.len() > MOST_FILMS {
            let count = self.films.len();
            return Err(GpuError::TooMany { what: "fronts of lights", count, most: MOST_FILMS });
        }
        let mut films = self.films.clone();
        films.resize(MOST_FILMS, Film::zeroed());
        Ok(films)
    }
}

impl Materials {
    /// Puts surfaces and lights on the card.
    ///
    /// # Errors
    /// Where there is more of it than the card takes.
    pub fn new(gpu: &Gpu, data: &MaterialData) -> Result<Self, GpuError> {
        let films = gpu.filled("fronts", &data.padded_films()?, wgpu::BufferUsages::UNIFORM)?;
        let surfaces = gpu.storage("surfaces", &data.surfaces)?;
        let tables = gpu.storage("tables", &data.tables)?;
        let stages = wgpu::ShaderStages::COMPUTE | wgpu::ShaderStages::VERTEX_FRAGMENT;
        let layout = gpu.layout("materials", stages, &[Slot::Uniform, Slot::Read, Slot::Read]);
        let group = gpu.group("materials", &layout, &[&films, &surfaces, &tables]);
        Ok(Self { layout, group, lights: data.lights.clone() })
    }
}

/// Meshes to draw, with flat faces given normals of their own.
#[derive(Debug)]
pub struct Meshes {
    /// [`Vertex`] each.
    pub vertices: wgpu::Buffer,
    /// u32 each.
    pub indices: wgpu::Buffer,
    /// Range of indices of each mesh, in the stage's order.
    pub ranges: Vec<Range<u32>>,
}

impl Meshes {
    /// Puts meshes on the card; surface i is mesh i's.
    ///
    /// # Errors
    /// Where there is more of it than the card takes.
    pub fn new(gpu: &Gpu, meshes: &[Mesh]) -> Result<Self, GpuError> {
        let (mut vertices, mut indices, mut ranges) = (Vec::new(), Vec::new(), Vec::new());
        for (surface, mesh) in meshes.iter().enumerate() {
            let start = indices.len() as u32;
            push(mesh, surface as u32, &mut vertices, &mut indices);
            ranges.push(start..indices.len() as u32);
        }
        use wgpu::BufferUsages as Use;
        Ok(Self {
            vertices: gpu.filled("vertices", &vertices, Use::VERTEX | Use::STORAGE)?,
            indices: gpu.filled("indices", &indices, Use::INDEX | Use::STORAGE)?,
            ranges,
        })
    }
}

fn push(mesh: &Mesh, surface: u32, vertices: &mut Vec<Vertex>, indices: &mut Vec<u32>) {
    let first = vertices.len() as u32;
    let tint = |i: usize| mesh.tints.get(i).copied().unwrap_or(Vec3::ONE).to_array();
    let vertex = |i: usize, normal: Vec3| Vertex {
        position: mesh.positions[i].to_array(),
        surface,
        normal: normal.to_array(),
        pad: 0,
        tint: tint(i),
        pad_after: 0,
    };
    if mesh.normals.is_empty() {
        for triangle in &mesh.triangles {
            let [a, b, c] = triangle.map(|i| mesh.positions[i as usize]);
            let normal = (b - a).cross(c - a).normalize_or(Vec3::Y);
            for &corner in triangle {
                indices.push(vertices.len() as u32);
                vertices.push(vertex(corner as usize, normal));
            }
        }
    } else {
        vertices.extend((0..mesh.positions.len()).map(|i| vertex(i, mesh.normals[i])));
        indices.extend(mesh.triangles.iter().flatten().map(|&i| first + i));
    }
}
