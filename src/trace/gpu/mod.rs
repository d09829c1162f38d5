//! The tracer's second back end: the same estimator on the graphics card.
//!
//! ```text
//!   processor                              card
//!   BVH, light sub-paths of each pass ──►  paths of each pixel, joined to lights and pools
//!   which tiles go on ◄── errors ────────  sums by tile, light, pixel
//! ```
//! Same numbers from the same streams, so that it agrees with the processor sample by sample but
//! for rounding. A pass is cut into steps that each keep the card busy for a few milliseconds.

mod geometry;
mod sums;

use std::sync::mpsc;
use std::time::{Duration, Instant};

use bytemuck::{Pod, Zeroable};
use glam::Vec3;

use super::film::{MIN_SAMPLES, STREAMS, TILE, variance};
use super::light_paths::{self, MEMBERS, PATHS};
use super::{Options, Progress, Tracer};
use crate::gpu::upload::MaterialData;
use crate::gpu::{Gpu, GpuError, Kernel, Materials, Slot, shader};
use crate::layers::{Layer, Layers};
use crate::optics::color::luminance;
use geometry::Landed;
use sums::{Layouts, Sums, TILE_PIXELS, pixels_of};

/// Lights that shaders have room for; `MOST_LIGHTS` there.
const MOST_LIGHTS: usize = 72;
/// Tiles of a step; `MOST_TILES` in the shaders.
const MOST_TILES: usize = 4096;
/// What a step should take.
const STEP: Duration = Duration::from_millis(6);

/// `Step` of shaders/trace/path.wgsl.
#[repr(C)]
#[derive(Clone, Copy, Pod, Zeroable)]
struct Step {
    position: [f32; 3],
    pupil_radius: f32,
    right: [f32; 3],
    half_width: f32,
    up: [f32; 3],
    half_height: f32,
    forward: [f32; 3],
    focus: f32,
    size: [u32; 2],
    seed: u32,
    stream: u32,
    first_tile: u32,
    light_count: u32,
    paths: f32,
    tile_count: u32,
    lights: [[u32; 4]; MOST_LIGHTS],
    tiles: [u32; MOST_TILES],
}

/// `Judge` of shaders/trace/judge.wgsl.
#[repr(C)]
#[derive(Clone, Copy, Pod, Zeroable)]
struct Judge {
    size: [u32; 2],
    first_tile: u32,
    light_count: u32,
    factors: [[f32; 4]; MOST_LIGHTS],
    tiles: [u32; MOST_TILES],
}

/// The module of the pass that samples, for a tree of `depth` levels.
pub fn path_module(depth: u32) -> String {
    let stack = format!("const STACK: u32 = {}u;\n", depth.max(1));
    let passes = [
        stack.as_str(),
        include_str!("../../../shaders/trace/bvh.wgsl"),
        include_str!("../../../shaders/trace/vertex.wgsl"),
        include_str!("../../../shaders/trace/path.wgsl"),
    ];
    shader::with_scene(&passes.join("\n"))
}

/// The module of the pass that judges tiles.
pub fn judge_module() -> String {
    include_str!("../../../shaders/trace/judge.wgsl").into()
}

/// A tracer on a card.
#[derive(Debug)]
pub struct GpuTracer {
    gpu: Gpu,
    materials: Materials,
    layouts: Layouts,
    /// Nodes, corners, facets, pools.
    scene: wgpu::BindGroup,
    pools: wgpu::Buffer,
    todo: wgpu::Buffer,
    judge: wgpu::Buffer,
    paths: Kernel,
    judges: Kernel,
    bytes: u64,
}

/// How a render on a card went.
#[derive(Debug, Clone, Copy, Default)]
pub struct Cost {
    /// Passes done.
    pub passes: u32,
    /// Steps they were cut into.
    pub steps: u32,
    /// Time waited for the card.
    pub card: Duration,
    /// Of it, waited for light sub-paths from the processor.
    pub pools: Duration,
    /// On the card: scene and sums.
    pub bytes: u64,
}

impl GpuTracer {
    /// Puts a tracer's scene on a card and makes the pipelines.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn new(gpu: &Gpu, tracer: &Tracer) -> Result<Self, GpuError> {
        let scene = &tracer.scene;
        let count = scene.lights.len();
        if count > MOST_LIGHTS {
            return Err(GpuError::TooMany { what: "lights", count, most: MOST_LIGHTS });
        }
        let mut data = MaterialData::default();
        scene.surfaces.iter().for_each(|surface| data.surface(surface));
        scene.lights.iter().for_each(|light| data.light(&light.emitter));
        let materials = Materials::new(gpu, &data)?;

        let nodes = gpu.storage("nodes", &scene.bvh.nodes)?;
        let corners = gpu.storage("corners", &geometry::corners(scene))?;
        let facets = gpu.storage("facets", &geometry::facets(scene))?;
        let pools = gpu.zeros("pools", (count.max(1) * MEMBERS * size_of::<Landed>()) as u64)?;
        let compute = wgpu::ShaderStages::COMPUTE;
        let scene_layout = gpu.layout("scene", compute, &[Slot::Read; 4]);
        let group = gpu.group("scene", &scene_layout, &[&nodes, &corners, &facets, &pools]);

        let layouts = Layouts::new(gpu);
        let module = path_module(geometry::depth(&scene.bvh));
        let groups = [&materials.layout, &scene_layout, &layouts.group];
        let paths = gpu.kernel("paths", &module, "sample_tiles", &groups)?;
        let judges = gpu.kernel("judge", &judge_module(), "judge_tiles", &[&layouts.judged])?;
        let bytes = nodes.size() + corners.size() + facets.size() + pools.size();
        gpu.check()?;
        Ok(Self {
            gpu: gpu.clone(),
            materials,
            layouts,
            scene: group,
            pools,
            todo: gpu.uniform("step", &Step::zeroed()),
            judge: gpu.uniform("judge", &Judge::zeroed()),
            paths,
            judges,
            bytes,
        })
    }

    /// Renders the layers as [`Tracer::render`] does, of the tracer that this was made of.
    ///
    /// # Errors
    /// Where the card has no room, or goes away.
    pub fn render(
        &self,
        tracer: &Tracer,
        options: &Options,
        progress: &mut dyn FnMut(Progress) -> bool,
    ) -> Result<(Layers, Cost), GpuError> {
        let start = Instant::now();
        let size = (options.width, options.height);
        let lights = tracer.scene.lights.len() as u32;
        let sums = Sums::new(&self.gpu, &self.layouts, size, lights, &self.todo, &self.judge)?;
        let mut film = Film::new(&sums);
        let mut cost = Cost { bytes: self.bytes + sums.bytes(), ..Cost::default() };
        let mut step = self.first_step(tracer, options);
        let mut judge = first_judge(options, lights);
        // as few as one tile, so that the first step of a slow card is short too
        let mut chunk = 16usize;
        std::thread::scope(|scope| {
            let (sender, ready) = mpsc::sync_channel::<Vec<Vec<Landed>>>(STREAMS);
            // light sub-paths of coming passes, while the card works; ends when nobody listens
            scope.spawn(move || {
                for pass in 0..options.max_samples {
                    let pools = (0..lights as usize).map(|light| {
                        let pool = light_paths::pool(&tracer.scene, light, pass, options.seed);
                        pool.vertices.iter().map(Landed::from).collect()
                    });
                    if sender.send(pools.collect()).is_err() {
                        return;
                    }
                }
            });
            for pass in 0..options.max_samples {
                let open = film.open(options.within_stops);
                let waited = Instant::now();
                let Ok(pools) = ready.recv() else { break };
                cost.pools += waited.elapsed();
                self.send_pools(&pools, &mut step);
                step.stream = pass % STREAMS as u32;
                let begun = Instant::now();
                let done = self.sample(&sums, &film, &open, &mut step, chunk);
                film.count(&open);
                let is_judged =
                    pass + 1 >= MIN_SAMPLES && (pass + 1).is_multiple_of(STREAMS as u32);
                if is_judged {
                    self.measure(&sums, &mut film, &open, &mut judge)?;
                } else {
                    self.gpu.wait()?;
                }
                let took = begun.elapsed();
                cost.card += took;
                cost.steps += done;
                cost.passes += 1;
                let per_tile = took.as_secs_f64() / open.len().max(1) as f64;
                chunk = ((STEP.as_secs_f64() / per_tile) as usize).clamp(1, MOST_TILES);

                let left = film.open(options.within_stops).len();
                let tiles = film.samples.len();
                let go_on = progress(Progress {
                    pass: pass + 1,
                    settled: 1.0 - left as f32 / tiles as f32,
                    error_stops: film.errors.iter().sum::<f32>() / tiles as f32,
                    elapsed: start.elapsed(),
                });
                let late = options.time_limit.is_some_and(|limit| start.elapsed() >= limit);
                if left == 0 || !go_on || late {
                    break;
                }
            }
            drop(ready);
            let layers = self.layers(tracer, &sums, &film, size)?;
            Ok((layers, cost))
        })
    }

    fn first_step(&self, tracer: &Tracer, options: &Options) -> Box<Step> {
        let camera = &tracer.camera;
        let half = camera.half_frame();
        let mut step: Box<Step> = bytemuck::zeroed_box();
        step.position = camera.position.to_array();
        step.pupil_radius = camera.pupil_radius_m as f32;
        step.right = camera.right.to_array();
        step.half_width = half.x;
        step.up = camera.up.to_array();
        step.half_height = half.y;
        step.forward = camera.forward.to_array();
        step.focus = camera.focus_m as f32;
        step.size = [options.width, options.height];
        step.seed = options.seed;
        step.light_count = tracer.scene.lights.len() as u32;
        step.paths = PATHS as f32;
        for (to, films) in step.lights.iter_mut().zip(&self.materials.lights) {
            *to = [films.start, films.len() as u32, 0, 1];
        }
        step
    }

    fn send_pools(&self, pools: &[Vec<Landed>], step: &mut Step) {
        for (light, pool) in pools.iter().enumerate() {
            let at = light * MEMBERS * size_of::<Landed>();
            self.gpu.queue.write_buffer(&self.pools, at as u64, bytemuck::cast_slice(pool));
            step.lights[light][2] = pool.len() as u32;
        }
    }

    /// One more sample of each pixel of the open tiles; how many steps it took.
    fn sample(&self, sums: &Sums, film: &Film, open: &[u32], step: &mut Step, chunk: usize) -> u32 {
        let mut steps = 0;
        for slab in &sums.slabs {
            step.first_tile = slab.tiles.start;
            let inside: Vec<u32> =
                open.iter().copied().filter(|tile| slab.tiles.contains(tile)).collect();
            for tiles in inside.chunks(chunk) {
                step.tile_count = tiles.len() as u32;
                for (entry, &tile) in step.tiles.iter_mut().zip(tiles) {
                    let each = film.samples[tile as usize] / STREAMS as u32;
                    *entry = (tile - slab.tiles.start) | each << 16;
                }
                self.gpu.queue.write_buffer(&self.todo, 0, bytemuck::bytes_of(step));
                let groups = [&self.materials.group, &self.scene, &slab.group];
                self.dispatch(&self.paths, &groups, 4 * tiles.len() as u32);
                steps += 1;
            }
        }
        steps
    }

    /// Renews the errors of the open tiles.
    fn measure(
        &self,
        sums: &Sums,
        film: &mut Film,
        open: &[u32],
        judge: &mut Judge,
    ) -> Result<(), GpuError> {
        for slab in &sums.slabs {
            judge.first_tile = slab.tiles.start;
            let inside: Vec<u32> =
                open.iter().copied().filter(|tile| slab.tiles.contains(tile)).collect();
            for tiles in inside.chunks(MOST_TILES) {
                for (entry, &tile) in judge.tiles.iter_mut().zip(tiles) {
                    let each = film.samples[tile as usize] / STREAMS as u32;
                    *entry = (tile - slab.tiles.start) | each << 16;
                }
                self.gpu.queue.write_buffer(&self.judge, 0, bytemuck::bytes_of(judge));
                self.dispatch(&self.judges, &[&slab.judged], tiles.len() as u32);
            }
            let errors: Vec<f32> = self.gpu.read(&slab.errors, 0, slab.tiles.len() as u64)?;
            for tile in inside {
                film.errors[tile as usize] = errors[(tile - slab.tiles.start) as usize];
            }
        }
        Ok(())
    }

    fn dispatch(&self, kernel: &Kernel, groups: &[&wgpu::BindGroup], count: u32) {
        let mut encoder = self.gpu.device.create_command_encoder(&Default::default());
        {
            let mut pass = encoder.begin_compute_pass(&Default::default());
            pass.set_pipeline(&kernel.pipeline);
            for (index, group) in groups.iter().enumerate() {
                pass.set_bind_group(index as u32, *group, &[]);
            }
            pass.dispatch_workgroups(count, 1, 1);
        }
        self.gpu.queue.submit([encoder.finish()]);
    }

    /// Reads the sums back as layers.
    fn layers(
        &self,
        tracer: &Tracer,
        sums: &Sums,
        film: &Film,
        (width, height): (u32, u32),
    ) -> Result<Layers, GpuError> {
        let pixels = (width * height) as usize;
        let mut layers: Vec<Layer> = tracer
            .scene
            .lights
            .iter()
            .map(|light| Layer {
                name: light.name.clone(),
                kind: light.kind,
                pixels: vec![Vec3::ZERO; pixels],
                variance: vec![0.0; pixels],
            })
            .collect();
        let (mut depth, mut samples) = (vec![0.0; pixels], vec![0; pixels]);
        let per_tile = TILE_PIXELS * u64::from(sums.lights);
        for slab in &sums.slabs {
            // a row of tiles at a time, so that the copy is small beside the layers
            for first in slab.tiles.clone().step_by(sums.across as usize) {
                let last = (first + sums.across).min(slab.tiles.end);
                let at = u64::from(first - slab.tiles.start) * per_tile;
                let count = u64::from(last - first) * per_tile;
                let values: Vec<[f32; 4]> = self.gpu.read(&slab.values, at, count)?;
                let spreads: Vec<[f32; STREAMS]> = self.gpu.read(&slab.spreads, at, count)?;
                for tile in first..last {
                    let taken = film.samples[tile as usize];
                    let n = taken.max(1) as f32;
                    let start = u64::from(tile - first) * per_tile;
                    for (inside, to) in pixels_of(tile, sums.across, (width, height)) {
                        samples[to] = taken;
                        for (light, layer) in layers.iter_mut().enumerate() {
                            let from = (start + light as u64 * TILE_PIXELS) as usize + inside;
                            let [r, g, b, along] = values[from];
                            if light == 0 {
                                depth[to] = along / n;
                            }
                            layer.pixels[to] = Vec3::new(r, g, b) / n;
                            layer.variance[to] = variance(&spreads[from], n);
                        }
                    }
                }
            }
        }
        Ok(Layers { width, height, layers, depth, samples })
    }
}

fn first_judge(options: &Options, lights: u32) -> Box<Judge> {
    let mut judge: Box<Judge> = bytemuck::zeroed_box();
    judge.size = [options.width, options.height];
    judge.light_count = lights;
    for (light, factor) in judge.factors.iter_mut().enumerate().take(lights as usize) {
        factor[0] = luminance(options.mix.get(light).copied().unwrap_or(Vec3::ONE));
    }
    judge
}

/// Where each tile stands.
struct Film {
    samples: Vec<u32>,
    errors: Vec<f32>,
}

impl Film {
    fn new(sums: &Sums) -> Self {
        let count = sums.slabs.last().map_or(0, |slab| slab.tiles.end as usize);
        Self { samples: vec![0; count], errors: vec![f32::INFINITY; count] }
    }

    /// Tiles that have not settled.
    fn open(&self, within: Option<f32>) -> Vec<u32> {
        let settled = |tile: u32| within.is_some_and(|within| self.errors[tile as usize] <= within);
        (0..self.errors.len() as u32).filter(|&tile| !settled(tile)).collect()
    }

    fn count(&mut self, open: &[u32]) {
        for &tile in open {
            self.samples[tile as usize] += 1;
        }
    }
}

const _: () = assert!(TILE == 16, "shaders are written for tiles of 16 × 16");
