//! What the window asks of an engine: layers in small steps.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use glam::Vec3;

use crate::layers::Layer;
use crate::stage::Stage;

/// A rendering that is begun.
#[derive(Debug, Clone)]
pub struct Job {
    /// Names of the lights whose layers are made.
    pub lights: Vec<String>,
    /// Pixels across and down.
    pub size: (u32, u32),
    /// Stop where the error is within this many stops.
    pub within_stops: f32,
    /// Most samples of a pixel.
    pub most_samples: u32,
    /// Value in the mix of unit luminance of each of the lights: steers the samples.
    pub mix: Vec<Vec3>,
    /// Luminance of the other layers in the mix, row-major; empty for none.
    pub under: Vec<f32>,
    /// Which of the possible noises.
    pub seed: u32,
}

/// Where a job stands after a step.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    /// Samples that every pixel has had.
    pub samples: u32,
    /// Share done, 0 to 1.
    pub done: f32,
    /// Error of the average pixel, stops.
    pub error_stops: f32,
    /// Nothing is left to do.
    pub settled: bool,
}

/// An engine. It takes up a stage, begins a job on it, and is stepped until that is settled or
/// something else is wanted.
pub trait Renderer: Send {
    /// Takes up a stage; `quick` where only a first look is wanted of it.
    fn take_up(&mut self, stage: &Arc<Stage>, quick: bool);
    /// Begins a job on the stage; what was under way is dropped.
    fn begin(&mut self, job: Job);
    /// Does a part of it, shorter than a second; `stop` cuts it short.
    fn step(&mut self, stop: &AtomicBool) -> Step;
    /// The job's layers so far, in its order.
    fn layers(&self) -> Vec<Layer>;
    /// Distance of the first surface, metres, row-major.
    fn depth(&self) -> Vec<f32>;
}
