//! Path tracing on the processor: the ground truth, the meter's eye, and the engine where there
//! is no GPU.
//!
//! In: a [`Stage`]. Out: [`Layers`], one linear picture a light at unit setting, with variance;
//! or the light on a meter's receptor ([`Tracer::meter`]). Light sub-paths from the heads
//! ([`light_paths`]) and paths from the lens ([`estimate`]) are joined wherever they can see each
//! other and weighted so that nothing counts twice; a head aimed at the ceiling is sampled where
//! it lands. Unbiased; the same seed gives the same numbers on any count of cores.

mod estimate;
mod film;
pub mod gpu;
mod into_lens;
mod light_paths;
mod receptor;
mod run;
pub mod scene;
mod spot;
mod vertex;

use std::time::Duration;

use glam::{Vec2, Vec3};

pub use crate::optics::sampler;
pub use film::TILE;
pub use into_lens::IntoLens;
pub use receptor::Incident;
pub use run::Run;
use run::repeats_of;
pub use scene::Scene;
pub use vertex::Receptor;

use crate::layers::Layers;
use crate::optics::color::luminance;
use crate::stage::{Camera, Light, Stage};
use estimate::{Gathered, gather, seen_front};
use film::{STREAMS, Tile};
use light_paths::Pool;
use sampler::Sampler;
use vertex::Vertex;

/// What to render and when to stop.
#[derive(Debug, Clone)]
pub struct Options {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Most samples a pixel gets.
    pub max_samples: u32,
    /// Stop a tile when its error in the mix is below this many stops; `None` takes
    /// `max_samples` everywhere.
    pub within_stops: Option<f32>,
    /// Which of the possible noises.
    pub seed: u32,
    /// Linear picture value (18 % grey = 0.18) that unit luminance of each of the scene's
    /// lights gives in today's mix: steers where samples go, never the layers' values.
    pub mix: Vec<Vec3>,
    /// Stop early after this long.
    pub time_limit: Option<Duration>,
}

/// What lies under a render already.
#[derive(Default, Clone, Copy)]
pub struct Under<'a> {
    /// Luminance that other layers have in today's mix, row-major.
    pub luminance: Option<&'a [f32]>,
    /// Whether the square of [`TILE`] pixels whose corner this is is rendered at all; the others
    /// stay black.
    pub tiles: Option<&'a (dyn Fn(u32, u32) -> bool + Sync)>,
}

/// Where a render stands.
#[derive(Debug, Clone, Copy)]
pub struct Progress {
    /// Passes done.
    pub pass: u32,
    /// Share of tiles that have settled, 0 to 1.
    pub settled: f32,
    /// Tiles that have not.
    pub open: usize,
    /// Standard error of the average pixel, in stops.
    pub error_stops: f32,
    /// Since the start.
    pub elapsed: Duration,
}

/// A stage ready for rays.
pub struct Tracer {
    /// Geometry and lights.
    pub scene: Scene,
    camera: Camera,
}

impl Tracer {
    /// Prepares the stage with the lights that `wanted` accepts.
    pub fn new(stage: &Stage, wanted: impl Fn(&Light) -> bool) -> Self {
        Self { scene: Scene::new(stage, wanted), camera: stage.camera }
    }

    /// The same, for some thousands of rays: ready sooner, slower a ray.
    pub fn for_few_rays(stage: &Stage, wanted: impl Fn(&Light) -> bool) -> Self {
        Self { scene: Scene::for_few_rays(stage, wanted), camera: stage.camera }
    }

    /// Luminance of the front of each of the scene's lights where a ray runs into it before it
    /// meets a surface; 0 where it does not.
    pub fn fronts_seen(&self, origin: Vec3, direction: Vec3) -> Vec<f32> {
        let hit = self.scene.intersect(origin, direction);
        let reach = hit.map_or(f32::INFINITY, |hit| hit.distance);
        (0..self.scene.lights.len())
            .map(|light| seen_front(&self.scene, light, origin, direction, reach))
            .collect()
    }

    /// Renders the layers. `progress` is called after every pass and may end the work by
    /// returning false.
    pub fn render(&self, options: &Options, progress: &mut dyn FnMut(Progress) -> bool) -> Layers {
        self.render_over(options, &Under::default(), progress)
    }

    /// Renders layers that are to be added to others, whose luminance is `under`: errors are
    /// relative to the sum. A layer that adds little where others are bright may then settle
    /// with one path of each stream.
    pub fn render_over(
        &self,
        options: &Options,
        under: &Under<'_>,
        progress: &mut dyn FnMut(Progress) -> bool,
    ) -> Layers {
        let mut run = Run::new(self, options.clone(), under);
        while let Some(now) = run.pass(self, under, None) {
            let go_on = progress(now);
            if now.open == 0 || !go_on || run.out_of_time() {
                break;
            }
        }
        run.layers(self)
    }

    /// One more path for each pixel of a tile.
    fn sample_tile(&self, tile: &mut Tile, options: &Options, stream: usize, pools: &[Pool]) {
        let lights = self.scene.lights.len();
        let mut found = vec![Gathered::default(); lights];
        let wanted = std::mem::take(&mut tile.wanted);
        let index = tile.stream_paths[stream];
        for row in 0..tile.height {
            for column in 0..tile.width {
                let pixel = (row * tile.width + column) as usize;
                let (x, y) = (tile.x + column, tile.y + row);
                let sampler = Sampler::new(
                    index,
                    y * options.width + x,
                    options.seed.wrapping_mul(STREAMS as u32).wrapping_add(stream as u32),
                );
                found.fill(Gathered::default());
                let depth =
                    self.sample_pixel(x, y, options, &sampler, (pools, &wanted), &mut found);
                tile.depth[pixel] += depth;
                for &light in &wanted {
                    let value = found[light].direct + found[light].bounced;
                    let sum = &mut tile.sums[pixel * lights + light];
                    sum.value += value;
                    sum.streams[stream] += luminance(value);
                }
            }
        }
        for &light in &wanted {
            tile.samples[light] += 1;
        }
        tile.stream_paths[stream] += 1;
        tile.wanted = wanted;
    }

    fn sample_pixel(
        &self,
        x: u32,
        y: u32,
        options: &Options,
        sampler: &Sampler,
        (pools, wanted): (&[Pool], &[usize]),
        found: &mut [Gathered],
    ) -> f32 {
        let jitter = sampler.pair(0);
        let film = Vec2::new(
            (x as f32 + jitter.x) / options.width as f32,
            (y as f32 + jitter.y) / options.height as f32,
        );
        let (origin, direction) = self.camera.ray(film, sampler.pair(1));
        let hit = self.scene.intersect(origin, direction);
        let reach = hit.as_ref().map_or(f32::INFINITY, |hit| hit.distance);
        for &light in wanted {
            let seen = seen_front(&self.scene, light, origin, direction, reach);
            found[light].direct += Vec3::splat(seen);
        }
        let Some(hit) = hit else { return 0.0 };
        let vertex = Vertex::at_hit(&self.scene, &hit, direction);
        gather(&self.scene, pools, wanted, vertex, sampler, found);
        hit.distance * direction.dot(self.camera.forward)
    }
}
