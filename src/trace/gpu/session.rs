//! A picture in the making on the card: which tile has how many samples of which light, and how
//! far each still is from the truth.

use std::time::Duration;

use bytemuck::{Pod, Zeroable};
use glam::Vec3;

use super::super::film::{FIRST_REVIEW, STREAMS, TILE, WORTHWHILE, variance};
use super::super::light_paths::{self, MEMBERS, PATHS};
use super::super::{Options, Tracer, Under};
use super::geometry::{LightPool, Member, POOL_BYTES};
use super::sums::{Sums, TILE_PIXELS, pixels_of};
use super::{GpuTracer, MOST_LIGHTS, MOST_TILES};
use crate::gpu::GpuError;
use crate::layers::{Layer, Layers};
use crate::optics::color::luminance;
use crate::stage::Camera;

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
    tiles: [[u32; 4]; MOST_TILES],
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

impl Step {
    fn look_through(&mut self, camera: &Camera) {
        let half = camera.half_frame();
        self.position = camera.position.to_array();
        self.pupil_radius = camera.pupil_radius_m as f32;
        self.right = camera.right.to_array();
        self.half_width = half.x;
        self.up = camera.up.to_array();
        self.half_height = half.y;
        self.forward = camera.forward.to_array();
        self.focus = camera.focus_m as f32;
    }
}

/// Light sub-paths of one pass, light by light.
pub struct Pools(Vec<LightPool>);

impl Pools {
    /// Traces those of pass `pass` on the processor.
    pub fn new(tracer: &Tracer, pass: u32, seed: u32) -> Self {
        let lights = 0..tracer.scene.lights.len();
        Self(
            lights
                .map(|light| LightPool::from(&light_paths::pool(&tracer.scene, light, pass, seed)))
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
    /// Paths of each stream, by tile.
    begun: Vec<[u32; STREAMS]>,
    /// Paths that looked at each light, by tile and light.
    taken: Vec<u32>,
    /// Lights that a tile's next paths look at, a bit each.
    wanted: Vec<[u32; 3]>,
    /// Paths at which a tile's wanted lights are chosen anew.
    review_at: Vec<u32>,
    /// Error in stops of each tile in the mix last judged by; infinite until there is enough.
    pub errors: Vec<f32>,
    /// Each light's part of it, by tile and light.
    pub parts: Vec<f32>,
    /// Samples before a light's error is known.
    least: u32,
    /// Tiles that stay black.
    left_out: Vec<bool>,
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
            step: first_step(tracer, options),
            judge,
            begun: vec![[0; STREAMS]; tiles],
            taken: vec![0; tiles * lights],
            wanted: vec![mask(0..lights); tiles],
            review_at: vec![FIRST_REVIEW; tiles],
            errors: vec![f32::INFINITY; tiles],
            parts: vec![f32::INFINITY; tiles * lights],
            least: FIRST_REVIEW,
            left_out: vec![false; tiles],
            // few, so that the first step of a slow card is short too
            chunk: 16,
            steps: 0,
        };
        made.set_mix(&options.mix);
        Ok(made)
    }

    /// Puts what lies under the picture already under its tiles, and leaves out those that are
    /// not wanted. What adds little may settle with one path of each stream.
    pub fn lay_over(&mut self, card: &GpuTracer, under: &Under<'_>) {
        let (width, height) = self.size;
        let across = self.sums.across;
        if let Some(wanted) = under.tiles {
            for tile in 0..self.sums.tiles {
                if !wanted(tile % across * TILE, tile / across * TILE) {
                    self.left_out[tile as usize] = true;
                    self.errors[tile as usize] = 0.0;
                }
            }
        }
        let pixels = width as usize * height as usize;
        let Some(base) = under.luminance.filter(|base| base.len() == pixels) else { return };
        self.least = STREAMS as u32;
        for slab in &self.sums.slabs {
            let mut values = vec![0.0f32; slab.tiles.len() * TILE_PIXELS as usize];
            for (slot, tile) in slab.tiles.clone().enumerate() {
                for (inside, from) in pixels_of(tile, across, self.size) {
                    values[slot * TILE_PIXELS as usize + inside] = base[from];
                }
            }
            card.gpu.queue.write_buffer(&slab.base, 0, bytemuck::cast_slice(&values));
        }
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
        let settled = |tile: u32| {
            self.left_out[tile as usize]
                || within_stops.is_some_and(|within| self.errors[tile as usize] <= within)
        };
        (0..self.tiles()).filter(|&tile| !settled(tile)).collect()
    }

    /// One more path of stream `stream` for each pixel of some tiles, looking at the lights that
    /// the tile wants. Streams take turns: four calls with the same tiles make a round.
    pub fn sample(&mut self, card: &GpuTracer, pools: &Pools, tiles: &[u32], stream: usize) {
        self.step.stream = stream as u32;
        for (light, pool) in pools.0.iter().enumerate() {
            let at = light * POOL_BYTES;
            let after = at + MEMBERS * size_of::<Member>();
            let queue = &card.gpu.queue;
            queue.write_buffer(&card.held.pools, at as u64, bytemuck::cast_slice(&pool.members));
            queue.write_buffer(&card.held.pools, after as u64, bytemuck::cast_slice(&pool.landed));
            let films = &card.held.materials.lights[light];
            self.step.lights[light] = [films.start, films.len() as u32, pool.blocks, 0];
        }
        for slab in &self.sums.slabs {
            self.step.first_tile = slab.tiles.start;
            let inside: Vec<u32> =
                tiles.iter().copied().filter(|tile| slab.tiles.contains(tile)).collect();
            for part in inside.chunks(self.chunk) {
                self.step.tile_count = part.len() as u32;
                for (entry, &tile) in self.step.tiles.iter_mut().zip(part) {
                    let each = self.begun[tile as usize][stream];
                    let [a, b, c] = self.wanted[tile as usize];
                    *entry = [(tile - slab.tiles.start) | each << 16, a, b, c];
                }
                card.gpu.queue.write_buffer(&card.todo, 0, bytemuck::bytes_of(&*self.step));
                let groups = [&card.held.materials.group, &card.held.group, &slab.group];
                card.dispatch(&card.paths, &groups, 4 * part.len() as u32);
                self.steps += 1;
            }
        }
        let lights = self.lights();
        for &tile in tiles {
            self.begun[tile as usize][stream] += 1;
            for light in (0..lights).filter(|&light| has(self.wanted[tile as usize], light)) {
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
                    let known = samples >= self.least;
                    enough &= known || self.judge.factors[light][0] == 0.0;
                    self.parts[of_tile + light] =
                        if known { found[at + 1 + light] } else { f32::INFINITY };
                }
                self.errors[tile as usize] = if enough { found[at] } else { f32::INFINITY };
            }
        }
        Ok(())
    }

    /// Keeps for some tiles the lights whose next sample is worth its while, as trace-cpu does.
    pub fn choose(&mut self, tiles: &[u32]) {
        let mut due = Vec::new();
        for &tile in tiles {
            let paths: u32 = self.begun[tile as usize].iter().sum();
            if paths >= self.review_at[tile as usize] {
                self.review_at[tile as usize] = 2 * paths;
                due.push(tile);
            }
        }
        self.choose_now(&due);
    }

    /// The same at once, for a mix that changes while one looks.
    pub fn choose_now(&mut self, tiles: &[u32]) {
        let lights = self.lights();
        for &tile in tiles {
            let of_tile = tile as usize * lights..(tile as usize + 1) * lights;
            let worth: Vec<f32> = self.parts[of_tile.clone()]
                .iter()
                .zip(&self.taken[of_tile])
                .map(|(error, &n)| error * error / n.max(1) as f32)
                .collect();
            let best = worth.iter().copied().fold(0.0, f32::max);
            let kept = (0..lights).filter(|&light| worth[light] >= WORTHWHILE * best);
            self.wanted[tile as usize] = mask(kept);
        }
    }

    /// Looks through another camera from the next sample on.
    pub fn look_through(&mut self, camera: &Camera) {
        self.step.look_through(camera);
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
                    let begun: u32 = self.begun[tile as usize].iter().sum();
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

/// A bit for each of these lights.
fn mask(lights: impl Iterator<Item = usize>) -> [u32; 3] {
    let mut mask = [0; 3];
    for light in lights {
        mask[light / 32] |= 1 << (light % 32);
    }
    mask
}

fn has(mask: [u32; 3], light: usize) -> bool {
    mask[light / 32] >> (light % 32) & 1 == 1
}

fn first_step(tracer: &Tracer, options: &Options) -> Box<Step> {
    let mut step: Box<Step> = bytemuck::zeroed_box();
    step.look_through(&tracer.camera);
    step.size = [options.width, options.height];
    step.seed = options.seed;
    step.light_count = tracer.scene.lights.len() as u32;
    step.paths = PATHS as f32;
    step
}
