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
mod scenery;
mod shade;
mod shadow;
pub mod shadow_mesh;
mod solid;
mod stream;
#[cfg(test)]
mod tests;
mod timer;

use glam::Vec3;

use crate::gpu::upload::MaterialData;
use crate::gpu::{Gpu, GpuError, Materials};
use crate::layers::{Layer, Layers, LightKind};
use crate::optics::color::luminance;
use crate::optics::sampler::Sampler;
use crate::stage::source::Emitter;
use crate::stage::{Light, Stage};
use gbuffer::{Gbuffer, View};
use scenery::Scenery;
use shade::Shade;
use shadow::{FRONT_LAYERS, LANDING_LAYERS, Shadow};
use stream::{Maps, Stream};
use timer::Timer;

pub use scenery::Change;

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
    /// Texels of a shadow map's side for points of fronts, and for landing points.
    pub map_sizes: [u32; 2],
    /// Landing points of a round, 8 at most; 0 leaves bounced light out.
    pub landings: u32,
    /// Linear picture value that unit luminance of each light gives in today's mix: steers which
    /// light gets the next round, never the layers' values. Empty for all alike.
    pub mix: Vec<Vec3>,
}

/// Landing points for which a round has room beside points of fronts.
const MOST_LANDINGS: u32 = 8;

impl Options {
    /// The usual ones for a size.
    pub fn new(width: u32, height: u32) -> Self {
        Self { width, height, seed: 1, map_sizes: [1024, 512], landings: 7, mix: Vec::new() }
    }
}

/// One light's sums on the card.
struct Lit {
    /// Its number among the stage's lights.
    number: usize,
    name: String,
    kind: LightKind,
    stream: Stream,
    sums: wgpu::Buffer,
    group: wgpu::BindGroup,
}

/// Time of the passes of a step.
#[derive(Debug, Clone, PartialEq)]
pub struct PassTime {
    /// `"gbuffer"`, `"shadow"` or `"shade"`.
    pub pass: &'static str,
    /// Milliseconds in all.
    pub ms: f64,
    /// How many there were.
    pub count: u32,
}

/// A stage on the card, and its layers so far.
pub struct Raster {
    gpu: Gpu,
    options: Options,
    scenery: Scenery,
    materials: Materials,
    gbuffer: Gbuffer,
    /// For points of fronts, and for landing points.
    shadows: [Shadow; 2],
    shade: Shade,
    set_group: wgpu::BindGroup,
    lights: Vec<Lit>,
    distances: wgpu::Buffer,
    /// Views that are in `distances`.
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
        mut options: Options,
    ) -> Result<Self, GpuError> {
        options.landings = options.landings.min(MOST_LANDINGS);
        let size = (options.width, options.height);
        let chosen: Vec<usize> =
            (0..stage.lights.len()).filter(|&number| wanted(&stage.lights[number])).collect();
        let scenery = Scenery::new(gpu, stage)?;
        let materials = Materials::new(gpu, &material_data(stage, &chosen))?;
        let gbuffer = Gbuffer::new(gpu, size)?;
        let shadows = [
            Shadow::new(gpu, options.map_sizes[0], FRONT_LAYERS)?,
            Shadow::new(gpu, options.map_sizes[1], LANDING_LAYERS)?,
        ];
        let shade = Shade::new(gpu, &materials)?;
        let held = (&scenery.nodes, &scenery.facets);
        let set_group = shade.set_group(gpu, held, &gbuffer, [&shadows[0], &shadows[1]]);
        let pixels = u64::from(size.0) * u64::from(size.1);
        let distances = gpu.zeros("distances", pixels * 4)?;
        let lights = chosen
            .into_iter()
            .map(|number| {
                let light = &stage.lights[number];
                let sums = gpu.zeros("sums", pixels * 16)?;
                let group = shade.sums_group(gpu, &sums, &distances);
                let stream = stream(&scenery, number, &options);
                Ok(Lit { number, name: light.name.clone(), kind: light.kind, stream, sums, group })
            })
            .collect::<Result<Vec<Lit>, GpuError>>()?;
        gpu.check()?;
        Ok(Self {
            gpu: gpu.clone(),
            options,
            scenery,
            materials,
            gbuffer,
            shadows,
            shade,
            set_group,
            lights,
            distances,
            views: 0,
        })
    }

    /// Takes over a changed stage and renews what the change concerns: layers of lights that
    /// moved, or all of them where camera, set or surfaces changed. The next [`Raster::step`]
    /// shows every renewed light. Power, gel and exposure are no part of a stage and renew
    /// nothing.
    ///
    /// # Errors
    /// A card that fails, or takes less than the stage needs.
    pub fn renew(mut self, stage: &Stage) -> Result<Self, GpuError> {
        let change = Change::between(&self.scenery.stage, stage);
        if change.lights {
            let names: Vec<String> = self.lights.iter().map(|lit| lit.name.clone()).collect();
            let gpu = self.gpu.clone();
            return Self::new(&gpu, stage, |light| names.contains(&light.name), self.options);
        }
        self.scenery = self.scenery.renewed(&self.gpu, stage, &change)?;
        let numbers: Vec<usize> = self.lights.iter().map(|lit| lit.number).collect();
        let data = material_data(stage, &numbers);
        if change.surfaces || !change.moved.is_empty() {
            self.materials = Materials::new(&self.gpu, &data)?;
        }
        let held = (&self.scenery.nodes, &self.scenery.facets);
        let [fronts, landings] = &self.shadows;
        self.set_group = self.shade.set_group(&self.gpu, held, &self.gbuffer, [fronts, landings]);
        let mut encoder = self.gpu.device.create_command_encoder(&Default::default());
        if change.all() {
            encoder.clear_buffer(&self.distances, 0, None);
            self.views = 0;
        }
        for lit in &mut self.lights {
            if change.all() || change.moved.contains(&lit.number) {
                encoder.clear_buffer(&lit.sums, 0, None);
                lit.stream = stream(&self.scenery, lit.number, &self.options);
            }
        }
        self.gpu.queue.submit([encoder.finish()]);
        self.gpu.check()?;
        Ok(self)
    }

    /// What unit luminance of each light is worth in today's mix from now on.
    pub fn set_mix(&mut self, mix: Vec<Vec3>) {
        self.options.mix = mix;
    }

    /// Triangles that are drawn; that throw shadows of fronts, and of landing points.
    pub fn triangles(&self) -> [u32; 3] {
        let drawn = self.scenery.meshes.ranges.last().map_or(0, |range| range.end / 3);
        let [fine, coarse] = &self.scenery.casters;
        [drawn, fine.triangles(), coarse.triangles()]
    }

    /// Rounds of the light with the fewest.
    pub fn rounds(&self) -> u32 {
        self.lights.iter().map(|lit| lit.stream.rounds).min().unwrap_or(0)
    }

    /// How settled the mix is: the likely error of its mean level from what is still to be drawn,
    /// in stops. What the engine cannot better by drawing on is not in it: its tests state that.
    pub fn error_stops(&self) -> f32 {
        let (mut square, mut level) = (0.0f32, 0.0f32);
        for (index, lit) in self.lights.iter().enumerate() {
            let gain = self.options.mix.get(index).map_or(1.0, |&mix| luminance(mix));
            square += (gain * lit.stream.unsettled()).powi(2);
            level += gain * lit.stream.level();
        }
        if level > 0.0 { (1.0 + square.sqrt() / level).log2() } else { 0.0 }
    }

    /// One more view, shared by as many rounds as there are lights: first every light that has
    /// none, then those with most error left in today's mix.
    ///
    /// # Errors
    /// A card that fails.
    pub fn step(&mut self) -> Result<(), GpuError> {
        self.step_with(None)
    }

    /// [`Raster::step`] with the time of each pass on the card; empty where it has no clock.
    ///
    /// # Errors
    /// A card that fails.
    pub fn timed_step(&mut self) -> Result<Vec<PassTime>, GpuError> {
        let timer = Timer::new(&self.gpu);
        self.step_with(timer.as_ref())?;
        let Some(timer) = timer else { return Ok(Vec::new()) };
        let times = timer.read(&self.gpu)?;
        Ok(times.into_iter().map(|(pass, ms, count)| PassTime { pass, ms, count }).collect())
    }

    fn step_with(&mut self, timer: Option<&Timer>) -> Result<(), GpuError> {
        let size = (self.options.width, self.options.height);
        let sampler = Sampler::new(self.views, 0, self.options.seed ^ 0x1e45);
        let camera = &self.scenery.stage.camera;
        let view = View::new(camera, size, sampler.pair(0), sampler.pair(1));
        self.views += 1;
        let mut encoder = self.gpu.device.create_command_encoder(&Default::default());
        self.gbuffer.draw(&self.gpu, &mut encoder, &self.scenery.meshes, &view, timer);
        self.gpu.queue.submit([encoder.finish()]);
        for round in 0..self.lights.len() {
            let Some(index) = self.neediest() else { break };
            self.round(index, round == 0, timer)?;
        }
        self.gpu.check()
    }

    /// The light whose next round betters the mix most.
    fn neediest(&self) -> Option<usize> {
        let need = |index: usize| {
            let stream = &self.lights[index].stream;
            match self.options.mix.get(index) {
                // a light without a round comes first, whatever it is worth
                _ if stream.rounds == 0 => f32::INFINITY,
                Some(&mix) => luminance(mix) * stream.unsettled(),
                None => 1.0 / stream.rounds as f32,
            }
        };
        (0..self.lights.len()).max_by(|&a, &b| need(a).total_cmp(&need(b)))
    }

    fn round(
        &mut self,
        index: usize,
        sums_depth: bool,
        timer: Option<&Timer>,
    ) -> Result<(), GpuError> {
        let size = (self.options.width, self.options.height);
        let [front, landing] = self.options.map_sizes;
        let lit = &mut self.lights[index];
        let scenery = &self.scenery;
        let mut drawn = lit.stream.next(
            (&scenery.stage, &scenery.set, &scenery.receivers),
            self.materials.lights[index].clone(),
            self.options.landings,
            Maps { front, landing },
        );
        drawn.round.roots = scenery.roots;
        drawn.round.sums_depth = u32::from(sums_depth);
        let mut encoder = self.gpu.device.create_command_encoder(&Default::default());
        for (coarse, (shadow, casters)) in self.shadows.iter().zip(&scenery.casters).enumerate() {
            let faces = drawn.faces.iter().copied().filter(|face| face.coarse == coarse as u32);
            shadow.draw(&self.gpu, &mut encoder, casters, faces, timer);
        }
        let groups = [&self.materials.group, &self.set_group, &lit.group];
        self.shade.add(&self.gpu, &mut encoder, groups, size, &drawn.round, timer);
        // uniforms are written before the next submission: one for each round
        self.gpu.queue.submit([encoder.finish()]);
        Ok(())
    }

    /// A light's sums on the card (vec4f a pixel, row by row) and 1/their count; None before its
    /// first round.
    pub fn look(&self, index: usize) -> Option<(&wgpu::Buffer, f32)> {
        let lit = &self.lights[index];
        (lit.stream.rounds > 0).then(|| (&lit.sums, 1.0 / lit.stream.rounds as f32))
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
        let views = self.views.max(1) as f32;
        let distances: Vec<f32> = self.gpu.read(&self.distances, 0, pixels)?;
        let depth = distances.iter().map(|sum| sum / views).collect();
        let samples = vec![self.rounds(); pixels as usize];
        Ok(Layers { width, height, layers, depth, samples })
    }
}

/// Surfaces, and the fronts of the lights of those numbers.
fn material_data(stage: &Stage, lights: &[usize]) -> MaterialData {
    let mut data = MaterialData::default();
    for mesh in &stage.meshes {
        data.surface(&mesh.surface);
    }
    for &number in lights {
        data.light(&Emitter::of(&stage.lights[number]));
    }
    data
}

fn stream(scenery: &Scenery, number: usize, options: &Options) -> Stream {
    let emitter = Emitter::of(&scenery.stage.lights[number]);
    Stream::new(emitter, number as u32, options.seed, &scenery.receivers)
}

fn layer(lit: &Lit, sums: &[[f32; 4]]) -> Layer {
    let rounds = lit.stream.rounds.max(1) as f32;
    let mean = |sum: &[f32; 4]| Vec3::new(sum[0], sum[1], sum[2]) / rounds;
    let pixels: Vec<Vec3> = sums.iter().map(mean).collect();
    let variance = sums
        .iter()
        .zip(&pixels)
        .map(|(sum, &mean)| {
            let level = luminance(mean);
            // rounds that were independent would scatter so; a low-discrepancy stream does better
            (sum[3] / rounds - level * level).max(0.0) / (rounds - 1.0).max(1.0)
        })
        .collect();
    Layer { name: lit.name.clone(), kind: lit.kind, pixels, variance }
}
