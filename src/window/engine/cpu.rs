//! The path tracer on the processor as the window's engine.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use glam::Vec3;

use super::renderer::{Job, Renderer, Step};
use crate::layers::{Layer, Layers};
use crate::stage::Stage;
use crate::trace::{Options, Run, Tracer, Under};

/// A tracer, and the run under way.
#[derive(Default)]
pub struct Cpu {
    ready: Option<(Arc<Stage>, bool, Tracer)>,
    run: Option<(Job, Run)>,
}

impl Cpu {
    fn all(&self) -> Option<(&Job, Layers)> {
        let (_, _, tracer) = self.ready.as_ref()?;
        let (job, run) = self.run.as_ref()?;
        Some((job, run.layers(tracer)))
    }
}

impl Renderer for Cpu {
    fn take_up(&mut self, stage: &Arc<Stage>, quick: bool) {
        let known = self.ready.as_ref().is_some_and(|(known, was_quick, _)| {
            Arc::ptr_eq(known, stage) && (quick || !was_quick)
        });
        if known {
            return;
        }
        self.run = None;
        let tracer = match quick {
            true => Tracer::for_few_rays(stage, |_| true),
            false => Tracer::new(stage, |_| true),
        };
        self.ready = Some((stage.clone(), quick, tracer));
    }

    fn begin(&mut self, job: Job) {
        let Some((_, _, tracer)) = &self.ready else { return };
        let lights = &tracer.scene.lights;
        let place = |name: &String| lights.iter().position(|light| light.name == *name);
        let asked: Vec<usize> = job.lights.iter().filter_map(place).collect();
        let mut mix = vec![Vec3::ZERO; lights.len()];
        for (at, factor) in asked.iter().zip(&job.mix) {
            mix[*at] = *factor;
        }
        let options = Options {
            width: job.size.0,
            height: job.size.1,
            max_samples: job.most_samples,
            within_stops: Some(job.within_stops),
            seed: job.seed,
            mix,
            time_limit: None,
        };
        let under =
            Under { luminance: (!job.under.is_empty()).then_some(&job.under[..]), tiles: None };
        let run = Run::of_lights(tracer, options, &under, &asked);
        self.run = Some((job, run));
    }

    fn step(&mut self, stop: &AtomicBool) -> Step {
        let (Some((_, _, tracer)), Some((job, run))) = (&self.ready, &mut self.run) else {
            return Step { samples: 0, done: 1.0, error_stops: f32::INFINITY, settled: true };
        };
        match run.pass(tracer, &Under::default(), Some(stop)) {
            Some(now) => Step {
                samples: now.pass,
                done: (job.within_stops / now.error_stops).powi(2).max(now.settled).min(1.0),
                error_stops: now.error_stops,
                settled: now.open == 0,
            },
            None => Step {
                samples: job.most_samples,
                done: 1.0,
                error_stops: f32::INFINITY,
                settled: true,
            },
        }
    }

    fn layers(&self) -> Vec<Layer> {
        let Some((job, mut all)) = self.all() else { return Vec::new() };
        let mut asked = Vec::new();
        for name in &job.lights {
            if let Some(at) = all.layers.iter().position(|layer| layer.name == *name) {
                asked.push(all.layers.swap_remove(at));
            }
        }
        asked
    }

    fn depth(&self) -> Vec<f32> {
        self.all().map(|(_, all)| all.depth).unwrap_or_default()
    }
}
