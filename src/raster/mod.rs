//! Shadow mapping on the card: the first look, right in one frame and better with every round.
//!
//! ```text
//!   Stream (a light's samples) ─► shadow (a map a face) ─┐
//!   gbuffer (what the lens sees) ────────────────────────┴─► shade ─► the light's sums ─► Layers
//! ```
//! In: a [`Stage`]. Out: [`Layers`], as `trace` gives them. A round takes some samples of one
//! light: a point of its front, and places where its light lands, which throw it on with their
//! surface's own scattering. The mean over rounds settles near the truth; how near is tested
//! against `trace`.
//!
//! Shadows are found in two pieces. The last stretch of a ray, a texel or two long, is followed
//! through the set's own triangles; a shadow map, drawn from lighter meshes, answers for the
//! rest. So a map's coarseness makes neither acne nor a gap at a contact.

mod gbuffer;
mod landing;
mod receivers;
mod shade;
mod shadow;
pub mod shadow_mesh;
mod solid;
mod stream;

use glam::Vec3;

use crate::gpu::upload::MaterialData;
use crate::gpu::{Gpu, GpuError, Materials, Meshes};
use crate::layers::{Layer, Layers, LightKind};
use crate::optics::sampler::Sampler;
use crate::stage::source::Emitter;
use crate::stage::{Light, Mesh, Role, Stage};
use gbuffer::{Gbuffer, View};
use receivers::Receiver;
use shade::Shade;
use shadow::{Casters, Shadow};
use shadow_mesh::{DEVIATION_M, ShadowMesh};
use solid::{Set, Solid};
use stream::Stream;

/// All shaders, assembled, by name: for their test.
pub fn shaders() -> Vec<(&'static str, String)> {
    vec![
        ("gbuffer", gbuffer::shader().to_owned()),
        ("shadow", shadow::shader().to_owned()),
        ("shade", shade::shader()),
    ]
}

/// What to render.
#[derive(Debug, Clone)]
pub struct Options {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Which of the possible noises.
    pub seed: u32,
    /// Texels of a shadow map's side.
    pub map_size: u32,
    /// Landing points of a round.
    pub landings: u32,
}

impl Options {
    /// The usual ones for a size.
    pub fn new(width: u32, height: u32) -> Self {
        Self { width, height, seed: 1, map_size: 1024, landings: 3 }
    }
}

/// One light's sums on the card.
struct Lit {
    name: String,
    kind: LightKind,
    stream: Stream,
    sums: wgpu::Buffer,
    group: wgpu::BindGroup,
}

/// A stage on the card, and its layers so far.
pub struct Raster {
    gpu: Gpu,
    options: Options,
    stage: Stage,
    set: Set,
    receivers: Vec<Receiver>,
    materials: Materials,
    meshes: Meshes,
    casters: Casters,
    gbuffer: Gbuffer,
    shadow: Shadow,
    shade: Shade,
    set_group: wgpu::BindGroup,
    roots: [u32; 2],
    lights: Vec<Lit>,
    distances: wgpu::Buffer,
    views: u32,
}

impl Raster {
    /// Puts the stage on the card with the lights that `wanted` accepts.
    ///
    /// # Errors
    /// A card that fails, or takes less than the stage needs.
    pub fn new(
        gpu: &Gpu,
        stage: &Stage,
        wanted: impl Fn(&Light) -> bool,
        options: Options,
    ) -> Result<Self, GpuError> {
        let stage = stage.clone();
        let fixture = |mesh: &Mesh| mesh.role == Role::Fixture;
        let set = Set {
            standing: Solid::new(&stage, |mesh| !fixture(mesh)),
            fixtures: Solid::new(&stage, fixture),
        };
        let (mut nodes, mut facets) = (Vec::new(), Vec::new());
        set.standing.flatten(&mut nodes, &mut facets);
        let roots = [0, nodes.len() as u32];
        set.fixtures.flatten(&mut nodes, &mut facets);
        let depth = set.standing.depth().max(set.fixtures.depth());
        if depth + 2 > shade::STACK {
            let (count, most) = (depth, shade::STACK - 2);
            return Err(GpuError::TooMany { what: "levels of the set's boxes", count, most });
        }
        let (nodes, facets) = (gpu.storage("nodes", &nodes)?, gpu.storage("facets", &facets)?);

        let lights: Vec<&Light> = stage.lights.iter().filter(|light| wanted(light)).collect();
        let emitters: Vec<Emitter> = lights.iter().map(|light| Emitter::of(light)).collect();
        let mut data = MaterialData::default();
        for mesh in &stage.meshes {
            data.surface(&mesh.surface);
        }
        for emitter in &emitters {
            data.light(emitter);
        }
        let materials = Materials::new(gpu, &data)?;
        let meshes = Meshes::new(gpu, &stage.meshes)?;
        let light_meshes: Vec<ShadowMesh> =
            stage.meshes.iter().map(shadow_mesh::lighten).collect();
        let casters = Casters::new(gpu, light_meshes.iter())?;

        let size = (options.width, options.height);
        let gbuffer = Gbuffer::new(gpu, size)?;
        let shadow = Shadow::new(gpu, options.map_size)?;
        let shade = Shade::new(gpu, &materials)?;
        let set_group = shade.set_group(gpu, (&nodes, &facets), &gbuffer, &shadow);
        let pixels = u64::from(size.0) * u64::from(size.1);
        let distances = gpu.zeros("distances", pixels * 4)?;
        let receivers = receivers::seen(&stage, &set, &stage.camera);
        let lights = lights
            .into_iter()
            .zip(emitters)
            .enumerate()
            .map(|(index, (light, emitter))| {
                let sums = gpu.zeros("sums", pixels * 16)?;
                let group = shade.sums_group(gpu, &sums, &distances);
                let stream = Stream::new(emitter, index as u32, options.seed, &receivers);
                Ok(Lit { name: light.name.clone(), kind: light.kind, stream, sums, group })
            })
            .collect::<Result<Vec<Lit>, GpuError>>()?;
        gpu.check()?;
        Ok(Self {
            gpu: gpu.clone(),
            options,
            set,
            receivers,
            materials,
            meshes,
            casters,
            gbuffer,
            shadow,
            shade,
            set_group,
            roots,
            lights,
            distances,
            views: 0,
            stage,
        })
    }

    /// Triangles that are drawn, and that throw shadows.
    pub fn triangles(&self) -> (u32, u32) {
        let drawn = self.meshes.ranges.last().map_or(0, |range| range.end / 3);
        (drawn, self.casters.triangles())
    }

    /// One more view, and a round of every light.
    ///
    /// # Errors
    /// A card that fails.
    pub fn step(&mut self) -> Result<(), GpuError> {
        let size = (self.options.width, self.options.height);
        let sampler = Sampler::new(self.views, 0, self.options.seed ^ 0x1e45);
        let view = View::new(&self.stage.camera, size, sampler.pair(0), sampler.pair(1));
        self.views += 1;
        let mut encoder = self.gpu.device.create_command_encoder(&Default::default());
        self.gbuffer.draw(&self.gpu, &mut encoder, &self.meshes, &view, None);
        self.gpu.queue.submit([encoder.finish()]);
        for (index, lit) in self.lights.iter_mut().enumerate() {
            let films = self.materials.lights[index].clone();
            let landings = self.options.landings;
            let mut drawn =
                lit.stream.next(&self.stage, &self.set, &self.receivers, films, landings);
            drawn.finish(self.roots, self.shadow.size, index == 0);
            let mut encoder = self.gpu.device.create_command_encoder(&Default::default());
            self.shadow.draw(&self.gpu, &mut encoder, &self.casters, &drawn.faces, |_| None);
            let groups = [&self.materials.group, &self.set_group, &lit.group];
            self.shade.add(&self.gpu, &mut encoder, groups, size, &drawn.round, None);
            // each round's own uniforms: written before its own submission
            self.gpu.queue.submit([encoder.finish()]);
        }
        self.gpu.check()
    }

    /// The layers so far.
    ///
    /// # Errors
    /// A card that fails.
    pub fn layers(&self) -> Result<Layers, GpuError> {
        let (width, height) = (self.options.width, self.options.height);
        let pixels = u64::from(width) * u64::from(height);
        let mut layers = Vec::new();
        for lit in &self.lights {
            let sums: Vec<[f32; 4]> = self.gpu.read(&lit.sums, 0, pixels)?;
            layers.push(layer(lit, &sums));
        }
        let depth = if self.lights.is_empty() {
            vec![0.0; pixels as usize]
        } else {
            self.gpu.read(&self.distances, 0, pixels)?
        };
        let views = self.views.max(1) as f32;
        let depth = depth.iter().map(|sum| sum / views).collect();
        let samples = vec![self.views; pixels as usize];
        Ok(Layers { width, height, layers, depth, samples })
    }
}

fn layer(lit: &Lit, sums: &[[f32; 4]]) -> Layer {
    let rounds = lit.stream.rounds.max(1) as f32;
    let mean = |sum: &[f32; 4]| Vec3::new(sum[0], sum[1], sum[2]) / rounds;
    let pixels: Vec<Vec3> = sums.iter().map(mean).collect();
    let variance = sums
        .iter()
        .zip(&pixels)
        .map(|(sum, &mean)| {
            let level = crate::optics::color::luminance(mean);
            // rounds that were independent would scatter so; a low-discrepancy stream does better
            (sum[3] / rounds - level * level).max(0.0) / (rounds - 1.0).max(1.0)
        })
        .collect();
    Layer { name: lit.name.clone(), kind: lit.kind, pixels, variance }
}

impl stream::Drawn {
    fn finish(&mut self, roots: [u32; 2], map_size: u32, sums_depth: bool) {
        for face in &mut self.faces {
            face.texel = 2.0 * face.bounds[2].max(face.bounds[3]) / map_size as f32;
        }
        self.round.faces[..self.faces.len()].copy_from_slice(&self.faces);
        self.round.roots = roots;
        self.round.map_size = map_size as f32;
        self.round.deviation = DEVIATION_M;
        self.round.sums_depth = u32::from(sums_depth);
    }
}
