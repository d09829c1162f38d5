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

use super::film::{MIN_SAMPLES, STREAMS, TILE};
use super::light_paths::MEMBERS;
use super::{Options, Progress, Tracer};
use crate::gpu::upload::MaterialData;
use crate::gpu::{Gpu, GpuError, Kernel, Materials, Slot, shader};
use crate::layers::Layers;
use geometry::Landed;
use session::{Judge, Step};
pub use session::{Pools, Session};
pub use show::{FirstLook, Shower};
use sums::Layouts;

/// Lights that shaders have room for; `MOST_LIGHTS` there.
const MOST_LIGHTS: usize = 72;
/// Tiles of a step; `MOST_TILES` in the shaders.
const MOST_TILES: usize = 4096;

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
        let mut session = Session::new(self, tracer, options)?;
        let mut cost = Cost { bytes: self.bytes + session.bytes(), ..Cost::default() };
        let all = vec![true; session.lights()];
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
            for pass in 0..options.max_samples {
                let open = session.open(options.within_stops);
                let waited = Instant::now();
                let Ok(pools) = ready.recv() else { break };
                cost.pools += waited.elapsed();
                let begun = Instant::now();
                session.sample(self, &pools, &open, &all, pass % STREAMS as u32);
                self.gpu.wait()?;
                let took = begun.elapsed();
                session.pace(took, open.len());
                cost.card += took;
                cost.passes += 1;
                if pass + 1 >= MIN_SAMPLES && (pass + 1).is_multiple_of(STREAMS as u32) {
                    session.measure(self, &open)?;
                }
                let left = session.open(options.within_stops).len();
                let tiles = session.errors.len();
                let go_on = progress(Progress {
                    pass: pass + 1,
                    settled: 1.0 - left as f32 / tiles as f32,
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
