//! A picture in the making on the card: which tile has how many samples of which light, and how
//! far each still is from the truth.

use std::time::Duration;

use bytemuck::{Pod, Zeroable};
use glam::Vec3;

use super::super::film::{MIN_SAMPLES, STREAMS, variance};
use super::super::light_paths::{self, MEMBERS, PATHS};
use super::super::{Options, Tracer};
use super::geometry::Landed;
use super::sums::{Sums, TILE_PIXELS, pixels_of};
use super::{GpuTracer, MOST_LIGHTS, MOST_TILES};
use crate::gpu::GpuError;
use crate::layers::{Layer, Layers};
use crate::optics::color::luminance;

/// What a step should take.
const STEP: Duration = Duration::from_millis(6);

/// `Step` of shaders/trace/path.wgsl.
#[repr(C)]
#[derive(Clone, Copy, Pod, Zeroable)]
pub(super) struct Step {
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
pub(super) struct Judge {
    size: [u32; 2],
    first_tile: u32,
    light_count: u32,
    factors: [[f32; 4]; MOST_LIGHTS],
    tiles: [u32; MOST_TILES],
}

/// Light sub-paths of one pass, light by light.
pub struct Pools(Vec<Vec<Landed>>);

impl Pools {
    /// Traces those of pass `pass` on the processor.
    pub fn new(tracer: &Tracer, pass: u32, seed: u32) -> Self {
        let lights = 0..tracer.scene.lights.len();
        Self(
            lights
                .map(|light| {
                    let pool = light_paths::pool(&tracer.scene, light, pass, seed);
                    pool.vertices.iter().map(Landed::from).collect()
                })
                .collect(),
        )
    }
}

/// A picture in the making.
pub struct Session {
    pub(super) sums: Sums,
    size: (u32, u32),
    step: Box<Step>,
    judge: Box<Judge>,
    /// Samples of paths begun, by tile.
    begun: Vec<u32>,
    /// Samples taken, by tile and light.
    taken: Vec<u32>,
    /// Error in stops of each tile in the mix last judged by; infinite until there is enough.
    pub errors: Vec<f32>,
    /// Each light's part of it, by tile and light.
    pub parts: Vec<f32>,
    chunk: usize,
    /// Steps made so far.
    pub steps: u32,
}

impl Session {
    /// Starts a picture of the tracer that `card` was made of.
    ///
    /// # Errors
    /// Where the card has no room.
    pub fn new(card: &GpuTracer, tracer: &Tracer, options: &Options) -> Result<Self, GpuError> {
        let size = (options.width, options.height);
        let lights = tracer.scene.lights.len();
        let sums =
            Sums::new(&card.gpu, &card.layouts, size, lights as u32, &card.todo, &card.judge)?;
        let tiles = sums.tiles as usize;
        let mut judge: Box<Judge> = bytemuck::zeroed_box();
        judge.size = [size.0, size.1];
        judge.light_count = lights as u32;
        let mut made = Self {
            sums,
            size,
            step: first_step(card, tracer, options),
            judge,
            begun: vec![0; tiles],
            taken: vec![0; tiles * lights],
            errors: vec![f32::INFINITY; tiles],
            parts: vec![f32::INFINITY; tiles * lights],
            // few, so that the first step of a slow card is short too
            chunk: 16,
            steps: 0,
        };
        made.set_mix(&options.mix);
        Ok(made)
    }

    /// Pixels across and down.
    pub fn size(&self) -> (u32, u32) {
        self.size
    }

    /// Number of tiles.
    pub fn tiles(&self) -> u32 {
        self.sums.tiles
    }

    /// Number of lights.
    pub fn lights(&self) -> usize {
        self.sums.lights as usize
    }

    /// Bytes of sums on the card.
    pub fn bytes(&self) -> u64 {
        self.sums.bytes()
    }

    /// Samples that a tile has of a light.
    pub fn samples(&self, tile: u32, light: usize) -> u32 {
        self.taken[tile as usize * self.lights() + light]
    }

    /// Picture value of a unit of each light today: what the next judgement goes by. Renews
    /// no sample.
    pub fn set_mix(&mut self, mix: &[Vec3]) {
        for light in 0..self.lights() {
            self.judge.factors[light][0] = luminance(mix.get(light).copied().unwrap_or(Vec3::ONE));
        }
    }

    /// Forgets one light's layer.
    pub fn renew(&mut self, card: &GpuTracer, light: usize) {
        let lights = self.lights();
        let mut encoder = card.gpu.device.create_command_encoder(&Default::default());
        for slab in &self.sums.slabs {
            for slot in 0..slab.tiles.len() {
                let at = (slot * lights + light) as u64 * TILE_PIXELS * 16;
                for buffer in [&slab.values, &slab.spreads] {
                    encoder.clear_buffer(buffer, at, Some(TILE_PIXELS * 16));
                }
            }
        }
        card.gpu.queue.submit([encoder.finish()]);
        for tile in 0..self.tiles() as usize {
            self.taken[tile * lights + light] = 0;
            self.errors[tile] = f32::INFINITY;
            self.parts[tile * lights + light] = f32::INFINITY;
        }
    }

    /// Tiles that are not yet within so many stops.
    pub fn open(&self, within_stops: Option<f32>) -> Vec<u32> {
        let settled =
            |tile: u32| within_stops.is_some_and(|within| self.errors[tile as usize] <= within);
        (0..self.tiles()).filter(|&tile| !settled(tile)).collect()
    }

    /// One more sample of stream `stream` for each pixel of some tiles, of the lights that are
    /// wanted. Streams take turns: four calls with the same tiles and lights make a round.
    pub fn sample(
        &mut self,
        card: &GpuTracer,
        pools: &Pools,
        tiles: &[u32],
        wanted: &[bool],
        stream: u32,
    ) {
        self.step.stream = stream;
        for (light, pool) in pools.0.iter().enumerate() {
            let at = light * MEMBERS * size_of::<Landed>();
            card.gpu.queue.write_buffer(&card.pools, at as u64, bytemuck::cast_slice(pool));
            self.step.lights[light][2] = pool.len() as u32;
            self.step.lights[light][3] = wanted[light].into();
        }
        for slab in &self.sums.slabs {
            self.step.first_tile = slab.tiles.start;
            let inside: Vec<u32> =
                tiles.iter().copied().filter(|tile| slab.tiles.contains(tile)).collect();
            for part in inside.chunks(self.chunk) {
                self.step.tile_count = part.len() as u32;
                for (entry, &tile) in self.step.tiles.iter_mut().zip(part) {
                    let each = self.begun[tile as usize] / STREAMS as u32;
                    *entry = (tile - slab.tiles.start) | each << 16;
                }
                card.gpu.queue.write_buffer(&card.todo, 0, bytemuck::bytes_of(&*self.step));
                let groups = [&card.materials.group, &card.scene, &slab.group];
                card.dispatch(&card.paths, &groups, 4 * part.len() as u32);
                self.steps += 1;
            }
        }
        let lights = self.lights();
        for &tile in tiles {
            self.begun[tile as usize] += 1;
            for light in (0..lights).filter(|&light| wanted[light]) {
                self.taken[tile as usize * lights + light] += 1;
            }
        }
    }

    /// Cuts coming steps so that each takes a few milliseconds, from what `tiles` tiles took.
    pub fn pace(&mut self, took: Duration, tiles: usize) {
        let per_tile = took.as_secs_f64() / tiles.max(1) as f64;
        self.chunk = ((STEP.as_secs_f64() / per_tile) as usize).clamp(1, MOST_TILES);
    }

    /// Renews the errors of some tiles, after whole rounds. Waits for the card.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn measure(&mut self, card: &GpuTracer, tiles: &[u32]) -> Result<(), GpuError> {
        let lights = self.lights();
        self.send_weights(card);
        for slab in &self.sums.slabs {
            self.judge.first_tile = slab.tiles.start;
            let inside: Vec<u32> =
                tiles.iter().copied().filter(|tile| slab.tiles.contains(tile)).collect();
            for part in inside.chunks(MOST_TILES) {
                for (entry, &tile) in self.judge.tiles.iter_mut().zip(part) {
                    *entry = tile - slab.tiles.start;
                }
                card.gpu.queue.write_buffer(&card.judge, 0, bytemuck::bytes_of(&*self.judge));
                card.dispatch(&card.judges, &[&slab.judged], part.len() as u32);
            }
            let count = slab.tiles.len() * (lights + 1);
            let found: Vec<f32> = card.gpu.read(&slab.errors, 0, count as u64)?;
            for tile in inside {
                let at = (tile - slab.tiles.start) as usize * (lights + 1);
                let of_tile = tile as usize * lights;
                let taken = &self.taken[of_tile..of_tile + lights];
                let mut enough = true;
                for (light, &samples) in taken.iter().enumerate() {
                    let known = samples >= MIN_SAMPLES;
                    enough &= known || self.judge.factors[light][0] == 0.0;
                    self.parts[of_tile + light] =
                        if known { found[at + 1 + light] } else { f32::INFINITY };
                }
                self.errors[tile as usize] = if enough { found[at] } else { f32::INFINITY };
            }
        }
        Ok(())
    }

    /// Brings the card's weights (1/samples of a stream) up to date.
    pub(super) fn send_weights(&self, card: &GpuTracer) {
        let lights = self.lights();
        for slab in &self.sums.slabs {
            let range = slab.tiles.start as usize * lights..slab.tiles.end as usize * lights;
            let weights: Vec<f32> = self.taken[range]
                .iter()
                .map(|&n| if n == 0 { 0.0 } else { STREAMS as f32 / n as f32 })
                .collect();
            card.gpu.queue.write_buffer(&slab.weights, 0, bytemuck::cast_slice(&weights));
        }
    }

    /// Reads the sums back as layers.
    ///
    /// # Errors
    /// Where the card went away.
    pub fn layers(&self, card: &GpuTracer, tracer: &Tracer) -> Result<Layers, GpuError> {
        let (width, height) = self.size;
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
        let (across, lights) = (self.sums.across, self.lights());
        let per_tile = TILE_PIXELS * lights as u64;
        for slab in &self.sums.slabs {
            // a row of tiles at a time, so that the copy is small beside the layers
            for first in slab.tiles.clone().step_by(across as usize) {
                let last = (first + across).min(slab.tiles.end);
                let at = u64::from(first - slab.tiles.start) * per_tile;
                let count = u64::from(last - first) * per_tile;
                let values: Vec<[f32; 4]> = card.gpu.read(&slab.values, at, count)?;
                let spreads: Vec<[f32; STREAMS]> = card.gpu.read(&slab.spreads, at, count)?;
                for tile in first..last {
                    let begun = self.begun[tile as usize];
                    let start = u64::from(tile - first) * per_tile;
                    for (inside, to) in pixels_of(tile, across, (width, height)) {
                        samples[to] = begun;
                        for (light, layer) in layers.iter_mut().enumerate() {
                            let n = self.taken[tile as usize * lights + light].max(1) as f32;
                            let from = (start + light as u64 * TILE_PIXELS) as usize + inside;
                            let [r, g, b, along] = values[from];
                            if light == 0 {
                                depth[to] = along / begun.max(1) as f32;
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

fn first_step(card: &GpuTracer, tracer: &Tracer, options: &Options) -> Box<Step> {
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
    for (to, films) in step.lights.iter_mut().zip(&card.materials.lights) {
        *to = [films.start, films.len() as u32, 0, 1];
    }
    step
}
