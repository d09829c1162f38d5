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
mod session;
mod show;
mod sums;

use std::sync::mpsc;
use std::time::{Duration, Instant};

use bytemuck::Zeroable;

use super::film::{STREAMS, TILE};
use super::{Options, Progress, Tracer, Under, repeats_of};
use crate::gpu::upload::MaterialData;
use crate::gpu::{Gpu, GpuError, Kernel, Materials, Slot, shader};
use crate::layers::Layers;
use geometry::POOL_BYTES;
use session::{Judge, Step};
pub use session::{Pools, Session};
pub use show::{FirstLook, Shower};
use sums::Layouts;

/// Lights that shaders have room for; `MOST_LIGHTS` there.
const MOST_LIGHTS: usize = 72;
/// Tiles of a step; `MOST_TILES` in the shaders.
const MOST_TILES: usize = 2048;

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

/// The module of the pass that shows tiles.
pub fn show_module() -> String {
    include_str!("../../../shaders/trace/show.wgsl").into()
}

/// A tracer on a card.
#[derive(Debug)]
pub struct GpuTracer {
    gpu: Gpu,
    held: Held,
    layouts: Layouts,
    todo: wgpu::Buffer,
    judge: wgpu::Buffer,
    paths: Kernel,
    judges: Kernel,
    /// Levels of nodes that the pipeline's stack is made for.
    depth: u32,
}

/// The scene on the card.
#[derive(Debug)]
struct Held {
    materials: Materials,
    layout: wgpu::BindGroupLayout,
    /// Nodes, corners, facets, pools.
    group: wgpu::BindGroup,
    pools: wgpu::Buffer,
    bytes: u64,
}

impl Held {
    fn new(gpu: &Gpu, tracer: &Tracer) -> Result<Self, GpuError> {
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
        let pools = gpu.zeros("pools", (count.max(1) * POOL_BYTES) as u64)?;
        let layout = gpu.layout("scene", wgpu::ShaderStages::COMPUTE, &[Slot::Read; 4]);
        let group = gpu.group("scene", &layout, &[&nodes, &corners, &facets, &pools]);
        let bytes = nodes.size() + corners.size() + facets.size() + pools.size();
        Ok(Self { materials, layout, group, pools, bytes })
    }

    /// The pipeline that samples, for a tree of `depth` levels.
    fn kernel(&self, gpu: &Gpu, layouts: &Layouts, depth: u32) -> Result<Kernel, GpuError> {
        let groups = [&self.materials.layout, &self.layout, &layouts.group];
        gpu.kernel("paths", &path_module(depth), "sample_tiles", &groups)
    }
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
        let layouts = Layouts::new(gpu);
        let held = Held::new(gpu, tracer)?;
        let depth = geometry::depth(&tracer.scene.bvh).next_multiple_of(8);
        let paths = held.kernel(gpu, &layouts, depth)?;
        let judges = gpu.kernel("judge", &judge_module(), "judge_tiles", &[&layouts.judged])?;
        gpu.check()?;
        Ok(Self {
            gpu: gpu.clone(),
            held,
            layouts,
            todo: gpu.uniform("step", &Step::zeroed()),
            judge: gpu.uniform("judge", &Judge::zeroed()),
            paths,
            judges,
            depth,
        })
    }

    /// Takes over another tracer of as many lights: its triangles, surfaces and fronts. Sessions
    /// go on; which of their layers are out of date is for the caller to say.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn put(&mut self, tracer: &Tracer) -> Result<(), GpuError> {
        self.held = Held::new(&self.gpu, tracer)?;
        let depth = geometry::depth(&tracer.scene.bvh);
        if depth > self.depth {
            self.depth = depth.next_multiple_of(8);
            self.paths = self.held.kernel(&self.gpu, &self.layouts, self.depth)?;
        }
        self.gpu.check()
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
        self.render_over(tracer, options, &Under::default(), progress)
    }

    /// Renders layers that are to be added to others, as [`Tracer::render_over`] does.
    ///
    /// # Errors
    /// Where the card has no room, or goes away.
    pub fn render_over(
        &self,
        tracer: &Tracer,
        options: &Options,
        under: &Under<'_>,
        progress: &mut dyn FnMut(Progress) -> bool,
    ) -> Result<(Layers, Cost), GpuError> {
        let start = Instant::now();
        let mut session = Session::new(self, tracer, options)?;
        session.lay_over(self, under);
        let mut cost = Cost { bytes: self.held.bytes + session.bytes(), ..Cost::default() };
        std::thread::scope(|scope| {
            let (sender, ready) = mpsc::sync_channel(STREAMS);
            // light sub-paths of coming passes, while the card works; ends when nobody listens
            scope.spawn(move || {
                for pass in 0..options.max_samples {
                    if sender.send(Pools::new(tracer, pass, options.seed)).is_err() {
                        return;
                    }
                }
            });
            let (mut paths, mut repeats) = (0, 1);
            while paths < options.max_samples {
                let open = session.open(options.within_stops);
                let stream = cost.passes as usize % STREAMS;
                let waited = Instant::now();
                let Ok(pools) = ready.recv() else { break };
                cost.pools += waited.elapsed();
                let begun = Instant::now();
                for _ in 0..repeats {
                    session.sample(self, &pools, &open, stream);
                }
                self.gpu.wait()?;
                let took = begun.elapsed();
                session.pace(took, repeats as usize * open.len());
                cost.card += took;
                cost.passes += 1;
                paths += repeats;
                if stream + 1 == STREAMS {
                    session.measure(self, &open)?;
                    if options.within_stops.is_some() {
                        session.choose(&open);
                        let left = session.open(options.within_stops).len();
                        repeats = repeats_of(left, session.errors.len());
                    }
                }
                let left = session.open(options.within_stops).len();
                let tiles = session.errors.len();
                let go_on = progress(Progress {
                    pass: paths,
                    settled: 1.0 - left as f32 / tiles as f32,
                    open: left,
                    error_stops: session.errors.iter().sum::<f32>() / tiles as f32,
                    elapsed: start.elapsed(),
                });
                let late = options.time_limit.is_some_and(|limit| start.elapsed() >= limit);
                if left == 0 || !go_on || late {
                    break;
                }
            }
            drop(ready);
            cost.steps = session.steps;
            Ok((session.layers(self, tracer)?, cost))
        })
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
}

const _: () = assert!(TILE == 16, "shaders are written for tiles of 16 × 16");
