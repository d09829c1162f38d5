//! The interactive engines: seconds to an error of the rasteriser and of the slide, milliseconds of
//! a rasteriser's step by pass, first pictures after edits.

use std::time::Instant;

use foreshadow::gpu::Gpu;
use foreshadow::layers::Layers;
use foreshadow::optics::color::luminance;
use foreshadow::picture::Tone;
use foreshadow::picture::compare::relative_rms;
use foreshadow::raster::{self, PassTime, Raster};
use foreshadow::settle::Slide;
use foreshadow::stage::{Role, Stage};
use foreshadow::trace::Options;
use glam::Vec3;

/// Steps after which we give up on an error.
const MOST_STEPS: u32 = 512;
/// Nor longer than this, seconds.
const MOST_S: f64 = 25.0;

/// A set framed to a picture, its lit lights, and what each is worth in the mix.
pub struct Scene {
    /// Framed.
    pub stage: Stage,
    /// In the stage's order.
    pub names: Vec<String>,
    /// Likewise.
    pub mix: Vec<Vec3>,
    /// Pixels.
    pub size: (u32, u32),
}

impl Scene {
    fn raster(&self, gpu: &Gpu) -> Raster {
        let (width, height) = self.size;
        let options =
            raster::Options { mix: self.mix.clone(), ..raster::Options::new(width, height) };
        Raster::new(gpu, &self.stage, |light| self.names.contains(&light.name), options)
            .expect("the card takes it")
    }

    fn slide(&self, gpu: &Gpu) -> Slide {
        let options = Options {
            width: self.size.0,
            height: self.size.1,
            max_samples: 0,
            within_stops: None,
            seed: 3,
            mix: self.mix.clone(),
            time_limit: None,
        };
        Slide::new(gpu, &self.stage, &self.names, options).expect("the card takes it")
    }
}

/// Luminance of the mix.
pub fn mixed(layers: &Layers, mix: &[Vec3]) -> Vec<f32> {
    let mut sum = vec![0.0; layers.depth.len()];
    for (layer, &gain) in layers.layers.iter().zip(mix) {
        for (sum, &value) in sum.iter_mut().zip(&layer.pixels) {
            *sum += luminance(value * gain);
        }
    }
    sum
}

/// Seconds, steps and error where the work of `step` first came within `target` of the truth.
fn reach(
    target: f64,
    truth: &[f32],
    mut step: impl FnMut(),
    mut picture: impl FnMut() -> Vec<f32>,
) -> String {
    let (mut seconds, mut e10) = (0.0, f64::NAN);
    for steps in 1..=MOST_STEPS {
        let begun = Instant::now();
        step();
        seconds += begun.elapsed().as_secs_f64();
        if steps.is_power_of_two() || steps % 8 == 0 {
            e10 = relative_rms(&picture(), truth, 0.1).unwrap_or(f64::NAN);
            if e10 <= target {
                return format!("e10 {:.1} % after {seconds:.3} s, {steps} steps", 100.0 * e10);
            }
            if seconds > MOST_S {
                return format!(
                    "e10 still {:.1} % after {seconds:.1} s, {steps} steps",
                    100.0 * e10
                );
            }
        }
    }
    format!("e10 still {:.1} % after {seconds:.1} s, {MOST_STEPS} steps", 100.0 * e10)
}

/// Seconds to an error of the rasteriser.
pub fn raster_to_target(gpu: &Gpu, scene: &Scene, target: f64, truth: &[f32]) -> String {
    let raster = std::cell::RefCell::new(scene.raster(gpu));
    let step = || {
        raster.borrow_mut().step().expect("a sound card");
        gpu.wait().expect("a sound card");
    };
    reach(target, truth, step, || {
        mixed(&raster.borrow().layers().expect("a sound card"), &scene.mix)
    })
}

/// Seconds to an error of the slide.
pub fn slide_to_target(gpu: &Gpu, scene: &Scene, target: f64, truth: &[f32]) -> String {
    let slide = std::cell::RefCell::new(scene.slide(gpu));
    let step = || {
        slide.borrow_mut().step().expect("a sound card");
        gpu.wait().expect("a sound card");
    };
    reach(target, truth, step, || {
        let mut slide = slide.borrow_mut();
        slide.develop(Tone::Neutral).expect("a sound card");
        slide.linear().expect("a sound card").into_iter().map(luminance).collect()
    })
}

/// Milliseconds of a rasteriser's step by pass.
pub fn raster_by_pass(gpu: &Gpu, scene: &Scene) {
    let (width, height) = scene.size;
    let begun = Instant::now();
    let mut raster = scene.raster(gpu);
    gpu.wait().expect("a sound card");
    let new_ms = ms(begun);
    // the first one warms up
    for _ in 0..3 {
        raster.step().expect("a sound card");
    }
    gpu.wait().expect("a sound card");
    let begun = Instant::now();
    raster.step().expect("a sound card");
    gpu.wait().expect("a sound card");
    println!(
        "raster at {width}×{height}: stage to the card {new_ms:.1} ms, a step {:.2} ms",
        ms(begun)
    );
    for PassTime { pass, ms, count } in raster.timed_step().expect("a sound card") {
        println!("  {pass:15} {ms:9.3} ms on the card, in {count}");
    }
}

/// From an edit to the first developed picture of the slide.
pub fn first_pictures(gpu: &Gpu, scene: &Scene) {
    let (width, height) = scene.size;
    println!("first picture after an edit at {width}×{height} (slide, developed):");
    let develop = |slide: &mut Slide| {
        slide.develop(Tone::Neutral).expect("a sound card");
        gpu.wait().expect("a sound card");
    };
    let mut slide = scene.slide(gpu);
    for _ in 0..4 {
        slide.step().expect("a sound card");
    }
    develop(&mut slide);
    let mut brighter = scene.mix.clone();
    brighter[0] *= 2.0;
    let begun = Instant::now();
    slide.set_mix(&brighter).expect("a sound card");
    develop(&mut slide);
    println!("  power, gel, shutter, ISO  {:8.2} ms", ms(begun));
    for (edit, changed) in edits(&scene.stage) {
        let begun = Instant::now();
        slide = slide.change(&changed).expect("the card takes it");
        let changed_ms = ms(begun);
        slide.step().expect("a sound card");
        develop(&mut slide);
        println!("  {edit:25} {:8.2} ms, of it {changed_ms:.2} to take over the set", ms(begun));
        slide = slide.change(&scene.stage).expect("the card takes it");
        slide.step().expect("a sound card");
        develop(&mut slide);
    }
    println!("  the same of the rasteriser alone:");
    let mut raster = scene.raster(gpu);
    let step = |raster: &mut Raster| {
        raster.step().expect("a sound card");
        gpu.wait().expect("a sound card");
    };
    step(&mut raster);
    for (edit, changed) in edits(&scene.stage) {
        let begun = Instant::now();
        raster = raster.renew(&changed).expect("the card takes it");
        step(&mut raster);
        println!("  {edit:25} {:8.2} ms", ms(begun));
        raster = raster.renew(&scene.stage).expect("the card takes it");
        step(&mut raster);
    }
}

/// The stage after each kind of edit.
fn edits(stage: &Stage) -> Vec<(&'static str, Stage)> {
    let mut moved = stage.clone();
    moved.lights[0].source.position += Vec3::X * 0.05;
    let mut turned = stage.clone();
    turned.camera.position += stage.camera.right * 0.05;
    let mut posed = stage.clone();
    for mesh in posed.meshes.iter_mut().filter(|mesh| mesh.role == Role::Skin) {
        for position in &mut mesh.positions {
            position.x += 0.01;
        }
    }
    vec![("a light moved", moved), ("the camera moved", turned), ("skin posed", posed)]
}

fn ms(begun: Instant) -> f64 {
    begun.elapsed().as_secs_f64() * 1e3
}
