//! A rendering that can be looked at, left and taken up again between its passes.
//!
//! In: a [`Tracer`] and what to render. Out: after every pass, how far it is and the layers so far.
//! [`Tracer::render`] is such a run to its end.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use glam::Vec3;
use rayon::prelude::*;

use super::film::{self, STREAMS, Tile};
use super::light_paths::{self, Pool};
use super::{Options, Progress, Tracer, Under};
use crate::layers::Layers;
use crate::optics::color::luminance;

/// Paths of each pixel that share a pass's pools: more once few tiles are left, whose paths would
/// take less time than the pools.
pub(super) fn repeats_of(open: usize, tiles: usize) -> u32 {
    match tiles / open.max(1) {
        0..8 => 1,
        8..32 => 2,
        _ => 4,
    }
}

/// The sums of a rendering under way.
pub struct Run {
    options: Options,
    tiles: Vec<Tile>,
    /// Luminance that unit luminance of each light has in the mix.
    levels: Vec<f32>,
    pass: u32,
    paths: u32,
    repeats: u32,
    start: Instant,
}

impl Run {
    /// Ready for its first pass over all of the tracer's lights.
    pub fn new(tracer: &Tracer, options: Options, under: &Under<'_>) -> Self {
        let all: Vec<usize> = (0..tracer.scene.lights.len()).collect();
        Self::of_lights(tracer, options, under, &all)
    }

    /// The same over some of them, by their place in the scene; the others' layers stay black.
    pub fn of_lights(
        tracer: &Tracer,
        options: Options,
        under: &Under<'_>,
        asked: &[usize],
    ) -> Self {
        let (width, height) = (options.width, options.height);
        let lights = tracer.scene.lights.len();
        let mut tiles = film::tiles(width, height, lights, asked);
        let base = under.luminance.filter(|base| base.len() == width as usize * height as usize);
        if let Some(base) = base {
            film::lay_over(&mut tiles, base, width);
        }
        let levels = (0..lights)
            .map(|light| luminance(options.mix.get(light).copied().unwrap_or(Vec3::ONE)))
            .collect();
        Self { options, tiles, levels, pass: 0, paths: 0, repeats: 1, start: Instant::now() }
    }

    /// One more pass over what has not settled; `None` once every pixel has its most samples.
    /// `stop`, when it turns true, leaves the rest of the pass out; the layers stay unbiased.
    pub fn pass(
        &mut self,
        tracer: &Tracer,
        under: &Under<'_>,
        stop: Option<&AtomicBool>,
    ) -> Option<Progress> {
        if self.paths >= self.options.max_samples {
            return None;
        }
        let Self { options, tiles, levels, .. } = self;
        let settled = |tile: &Tile| {
            let left_out = under.tiles.is_some_and(|wanted| !wanted(tile.x, tile.y));
            left_out || options.within_stops.is_some_and(|within| tile.error_stops <= within)
        };
        let wanted =
            |light: usize| tiles.iter().any(|tile| !settled(tile) && tile.wanted.contains(&light));
        let pools: Vec<Pool> = (0..levels.len())
            .map(|light| match wanted(light) {
                true => light_paths::pool(&tracer.scene, light, self.pass, options.seed),
                false => Pool::default(),
            })
            .collect();
        let stream = self.pass as usize % STREAMS;
        let repeats = self.repeats;
        let stopped = || stop.is_some_and(|stop| stop.load(Ordering::Relaxed));
        tiles.par_iter_mut().filter(|tile| !settled(tile)).for_each(|tile| {
            if stopped() {
                return;
            }
            for _ in 0..repeats {
                tracer.sample_tile(tile, options, stream, &pools);
            }
            if stream + 1 == STREAMS {
                tile.measure_error(levels);
                if options.within_stops.is_some() {
                    tile.choose();
                }
            }
        });
        let open = tiles.iter().filter(|tile| !settled(tile)).count();
        if stream + 1 == STREAMS && options.within_stops.is_some() {
            self.repeats = repeats_of(open, tiles.len());
        }
        let error = tiles.iter().map(|tile| tile.error_stops).sum::<f32>() / tiles.len() as f32;
        let settled = 1.0 - open as f32 / tiles.len() as f32;
        self.pass += 1;
        self.paths += repeats;
        Some(Progress {
            pass: self.paths,
            settled,
            open,
            error_stops: error,
            elapsed: self.start.elapsed(),
        })
    }

    /// Whether the time that was given has run out.
    pub fn out_of_time(&self) -> bool {
        self.options.time_limit.is_some_and(|limit| self.start.elapsed() >= limit)
    }

    /// The layers so far.
    pub fn layers(&self, tracer: &Tracer) -> Layers {
        let lights = tracer.scene.lights.iter().map(|light| (light.name.clone(), light.kind));
        film::layers(&self.tiles, self.options.width, self.options.height, lights)
    }
}
