//! The settling thread: builds the set, makes the layers that are missing, first coarse, then
//! fine, then those that the move of another head has touched.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use super::renderer::{Job, Renderer};
use super::store::{Fit, Key, Store};
use super::{Shared, Standing, Status, Wish};
use crate::optics::color::luminance;
use crate::plan::Plan;
use crate::shoot::{self, Rays, keys};
use crate::stage::{self, Set, Stage, StageError};

/// The first look is this much coarser on each side.
const COARSE: u32 = 4;
/// Samples of a first look.
const COARSE_SAMPLES: u32 = 4;
/// Samples a pixel gets at most.
const MOST_SAMPLES: u32 = 4096;
/// A picture that gets better is shown anew so often.
const SHOW_EVERY: Duration = Duration::from_millis(300);

/// Layers as they were handed on: count of what was kept, stage, lights, size.
type HandedOn = (u64, u64, Vec<String>, (u32, u32));

/// How far it is is said so often: every word draws the window anew.
const SAY_EVERY: Duration = Duration::from_millis(200);

struct Settling<'a> {
    shared: &'a Shared,
    renderer: Box<dyn Renderer>,
    store: Store,
    set: Option<(String, Set)>,
    rays: Option<(String, Arc<Rays>)>,
    stages: u64,
    shows: u64,
    fineness: f32,
    seed: u32,
    /// Counts what was kept.
    kept: u64,
    /// What was handed on last: layers, stage, lights, size.
    shown: Option<HandedOn>,
}

/// Works until the window closes.
pub(super) fn run(shared: &Shared, renderer: Box<dyn Renderer>) {
    let mut settling = Settling {
        shared,
        renderer,
        store: Store::default(),
        set: None,
        rays: None,
        stages: 0,
        shows: 0,
        fineness: 0.0,
        seed: 1,
        kept: 0,
        shown: None,
    };
    let mut done = 0;
    while let Some((number, wish)) = next(shared, done) {
        settling.serve(&wish);
        done = number;
    }
}

/// Waits for a wish later than `done`; `None` when the window closes.
fn next(shared: &Shared, done: u64) -> Option<(u64, Wish)> {
    shared.desk.next(|state| {
        let wish = state.wish.clone().filter(|_| state.wish_number != done)?;
        shared.stop.store(false, Ordering::Relaxed);
        Some((state.wish_number, wish))
    })
}

/// What one wish's layers are made for.
struct Task<'a> {
    plan: &'a Plan,
    standing: Standing,
    names: Vec<String>,
    keys: Vec<Key>,
    size: (u32, u32),
    within_stops: f32,
}

impl Settling<'_> {
    fn stopped(&self) -> bool {
        self.shared.stop.load(Ordering::Relaxed)
    }

    fn stage(&mut self, plan: &Plan) -> Result<Stage, StageError> {
        let key = keys::set_key(plan);
        if self.set.as_ref().is_none_or(|(known, _)| *known != key) {
            self.set = Some((key, stage::set(plan)?));
        }
        match &self.set {
            Some((_, set)) => set.lit(plan),
            None => stage::build(plan),
        }
    }

    fn serve(&mut self, wish: &Wish) {
        let plan = &*wish.plan;
        let mut names = shoot::lit(plan, &[]);
        if let Some(also) = &wish.also
            && !names.contains(also)
            && plan.lights.iter().any(|light| light.name == *also)
        {
            names.push(also.clone());
        }
        let keys: Vec<Key> = names.iter().map(|name| Key::of(plan, name)).collect();
        let standing = match self.standing(wish) {
            Ok(standing) => standing,
            Err(fault) => {
                self.shared.set(|state| state.status = Status::Fault(Arc::new(fault)));
                return;
            }
        };
        if names.is_empty() {
            self.shared.set(|state| {
                state.status = Status::Dark;
                state.layers = None;
                state.shown = None;
            });
            return;
        }
        if self.fineness != wish.within_stops {
            self.fineness = wish.within_stops;
            self.store.unsettle();
        }
        self.store.retain(plan);
        let size = shoot::default_size(&standing.stage, f64::from(wish.long_side));
        let size = (size.0.max(8), size.1.max(8));
        let task = Task { plan, standing, names, keys, size, within_stops: wish.within_stops };
        self.settle(&task);
    }

    /// Builds the stage unless the one that stands is of this work.
    fn standing(&mut self, wish: &Wish) -> Result<Standing, StageError> {
        let key = wish.work_key();
        let known = self.shared.lock().standing.clone();
        if let Some(known) = known
            && (Arc::ptr_eq(&known.plan, &wish.plan)
                || Wish { plan: known.plan.clone(), ..wish.clone() }.work_key() == key)
        {
            return Ok(known);
        }
        self.shared.set(|state| state.status = Status::Building);
        let stage = Arc::new(self.stage(&wish.plan)?);
        self.stages += 1;
        let standing = Standing { number: self.stages, plan: wish.plan.clone(), stage };
        self.shared.set(|state| state.standing = Some(standing.clone()));
        Ok(standing)
    }

    fn with_fit(&self, task: &Task, wanted: &[Fit]) -> Vec<usize> {
        (0..task.names.len())
            .filter(|&i| wanted.contains(&self.store.fit(&task.names[i], &task.keys[i], task.size)))
            .collect()
    }

    fn settle(&mut self, task: &Task) {
        let missing = self.with_fit(task, &[Fit::Missing]);
        // the room's level is needed before its light can be seen at all
        let is_room = |i: &usize| !task.plan.lights.iter().any(|one| one.name == task.names[*i]);
        if missing.iter().any(is_room) {
            self.trace_rays(task);
        }
        if missing.is_empty() {
            self.show(task);
        } else {
            let stale = self.stale(task);
            self.shared.set(|state| {
                state.status = Status::Settling { done: 0.0, error_stops: f32::INFINITY, stale };
            });
            self.coarse(task, &missing);
        }
        if self.stopped() {
            return;
        }
        self.trace_rays(task);
        // first what has just had its coarse look, which is kept as rough
        let rough = self.with_fit(task, &[Fit::Missing, Fit::Rough]);
        let first: Vec<usize> =
            rough.into_iter().filter(|i| missing.is_empty() || missing.contains(i)).collect();
        if !first.is_empty() && !self.fine(task, &first) {
            return;
        }
        let rest = self.with_fit(task, &[Fit::Near, Fit::Rough, Fit::Missing]);
        if !rest.is_empty() && !self.fine(task, &rest) {
            return;
        }
        let error_stops = self.store.error_stops(&task.names);
        self.shared.set(|state| state.status = Status::Settled { error_stops });
    }

    /// Rays of this set, unless they are known.
    fn trace_rays(&mut self, task: &Task) {
        let key = format!("{:?}", task.keys);
        if self.rays.as_ref().is_some_and(|(known, _)| *known == key) {
            return;
        }
        let rays = Arc::new(shoot::rays(task.plan, &task.standing.stage, &task.names));
        self.rays = Some((key, rays.clone()));
        self.shared.set(|state| state.rays = rays);
    }

    /// A first look at what is missing: few pixels, few samples, whole or not at all.
    fn coarse(&mut self, task: &Task, missing: &[usize]) {
        let size = (task.size.0.div_ceil(COARSE), task.size.1.div_ceil(COARSE));
        self.renderer.take_up(&task.standing.stage, true);
        let job = self.job(task, missing, size, COARSE_SAMPLES);
        self.renderer.begin(job);
        let go_on = AtomicBool::new(false);
        for _ in 0..COARSE_SAMPLES {
            let step = self.renderer.step(&go_on);
            self.keep(task, missing, size, step.samples);
            self.show(task);
            if step.settled || self.stopped() {
                break;
            }
        }
    }

    /// The settled picture; whether it came to its end.
    fn fine(&mut self, task: &Task, which: &[usize]) -> bool {
        self.renderer.take_up(&task.standing.stage, false);
        if self.stopped() {
            return false;
        }
        let job = self.job(task, which, task.size, MOST_SAMPLES);
        self.renderer.begin(job);
        let shared = self.shared;
        let mut shown = Instant::now();
        let mut said = Instant::now();
        loop {
            shared.rest();
            let step = self.renderer.step(&shared.stop);
            if self.stopped() {
                return false;
            }
            if step.settled || said.elapsed() >= SAY_EVERY {
                said = Instant::now();
                let stale = self.stale(task);
                shared.set(|state| {
                    state.status =
                        Status::Settling { done: step.done, error_stops: step.error_stops, stale };
                });
            }
            let due = step.settled || shown.elapsed() >= SHOW_EVERY;
            if due && self.keep(task, which, task.size, step.samples) {
                if step.settled {
                    for &i in which {
                        self.store.settle(&task.names[i], step.error_stops);
                    }
                }
                self.show(task);
                shown = Instant::now();
            }
            if step.settled {
                return true;
            }
        }
    }

    fn stale(&self, task: &Task) -> Vec<String> {
        let stale = self.with_fit(task, &[Fit::Missing, Fit::Near]);
        stale.into_iter().map(|i| task.names[i].clone()).collect()
    }

    fn job(&mut self, task: &Task, which: &[usize], size: (u32, u32), most: u32) -> Job {
        let plan = self.newest(task);
        let rays = self.rays.as_ref().map(|(_, rays)| rays.clone()).unwrap_or_default();
        let taking = shoot::taking(&plan, &task.standing.stage, &task.names, &rays);
        let stage = &task.standing.stage;
        let factor = |name: &str| {
            let kind = stage.lights.iter().find(|light| light.name == name).map(|light| light.kind);
            kind.map_or(glam::Vec3::ZERO, |kind| taking.mix.factor(name, kind))
        };
        let lights: Vec<String> = which.iter().map(|&i| task.names[i].clone()).collect();
        let others: Vec<String> =
            task.names.iter().filter(|name| !lights.contains(name)).cloned().collect();
        let under = match self.store.layers(&others, size) {
            Some(layers) => {
                let mut sum = vec![0.0; size.0 as usize * size.1 as usize];
                for layer in &layers.layers {
                    let factor = factor(&layer.name);
                    for (sum, pixel) in sum.iter_mut().zip(&layer.pixels) {
                        *sum += luminance(factor * *pixel);
                    }
                }
                sum
            }
            None => Vec::new(),
        };
        let mix = lights.iter().map(|name| factor(name)).collect();
        self.seed = self.seed.wrapping_add(1);
        let within_stops = task.within_stops;
        Job { lights, size, within_stops, most_samples: most, mix, under, seed: self.seed }
    }

    /// The plan as it is now: its gains may have changed since the work began.
    fn newest(&self, task: &Task) -> Arc<Plan> {
        let state = self.shared.lock();
        state.wish.as_ref().map_or_else(|| task.standing.plan.clone(), |wish| wish.plan.clone())
    }

    /// Keeps what the job has, where it is better than what is kept.
    fn keep(&mut self, task: &Task, which: &[usize], size: (u32, u32), samples: u32) -> bool {
        let better =
            which.iter().any(|&i| self.store.is_better(&task.names[i], &task.keys[i], samples));
        if !better {
            return false;
        }
        for layer in self.renderer.layers() {
            if let Some(&i) = which.iter().find(|&&i| task.names[i] == layer.name) {
                self.store.keep(layer, task.keys[i].clone(), size, samples);
            }
        }
        self.store.depth = (size, self.renderer.depth());
        self.kept += 1;
        true
    }

    /// Hands the layers on to be developed, unless they have been.
    fn show(&mut self, task: &Task) {
        let key = (self.kept, task.standing.number, task.names.clone(), task.size);
        if self.shown.as_ref() == Some(&key) && self.shared.lock().layers.is_some() {
            return;
        }
        self.shown = Some(key);
        let Some(layers) = self.store.layers(&task.names, task.size) else { return };
        self.shows += 1;
        let made = (self.shows, task.standing.clone(), Arc::new(layers));
        self.shared.set(|state| state.layers = Some(made));
    }
}
