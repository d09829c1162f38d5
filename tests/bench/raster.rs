//! Shadow mapping on the card: milliseconds of a step by pass, time to the first picture after
//! each kind of edit, and seconds to a given error.
//!
//! ```text
//! cargo bench --bench raster [-- PLAN [WxH]]       PLAN: name of a shipped plan
//! ```
//! The truth is a render of `trace` on the same stage, long enough that its own noise is a small
//! part of the error. Nothing here passes or fails: the figures are for reading.

use std::time::Instant;

use foreshadow::gpu::{Choice, Gpu};
use foreshadow::layers::Layers;
use foreshadow::optics::color::luminance;
use foreshadow::picture::compare::relative_rms;
use foreshadow::plan::{self, shipped};
use foreshadow::raster::{Options, PassTime, Raster};
use foreshadow::shoot;
use foreshadow::stage::{self, Role, Stage};
use foreshadow::trace::{self, Tracer};
use glam::Vec3;

/// The error to reach.
const TARGET: f64 = 0.05;
/// Steps after which we give up on it.
const MOST_STEPS: u32 = 512;
/// Samples of the truth.
const TRUTH_SAMPLES: u32 = 256;

/// What was measured.
struct Report {
    /// Putting the stage on the card.
    new_ms: f64,
    /// Of a settled step.
    passes: Vec<PassTime>,
    /// A settled step from call to finished card.
    step_ms: f64,
    /// Edit, and from the call to a finished picture.
    first_ms: Vec<(&'static str, f64)>,
    /// Seconds and steps to e10 of [`TARGET`]; none if it was not reached.
    to_target: Option<(f64, u32)>,
    /// e10 at the end.
    e10: f64,
}

fn ms(begun: Instant) -> f64 {
    begun.elapsed().as_secs_f64() * 1e3
}

/// Luminance of the mix.
fn mixed(layers: &Layers, mix: &[Vec3]) -> Vec<f32> {
    let mut sum = vec![0.0; layers.depth.len()];
    for (layer, &gain) in layers.layers.iter().zip(mix) {
        for (sum, &value) in sum.iter_mut().zip(&layer.pixels) {
            *sum += luminance(value * gain);
        }
    }
    sum
}

/// Measures the engine on a stage; `truth` is the luminance of the mix, if it is known.
fn report(
    gpu: &Gpu,
    stage: &Stage,
    (width, height): (u32, u32),
    mix: &[Vec3],
    truth: Option<&[f32]>,
) -> Report {
    let options = || Options { mix: mix.to_vec(), ..Options::new(width, height) };
    let begun = Instant::now();
    let mut raster = Raster::new(gpu, stage, |_| true, options()).expect("the card takes it");
    gpu.wait().expect("a sound card");
    let new_ms = ms(begun);
    let step = |raster: &mut Raster| {
        raster.step().expect("a sound card");
        gpu.wait().expect("a sound card");
    };
    // the first one compiles
    step(&mut raster);
    let begun = Instant::now();
    step(&mut raster);
    let step_ms = ms(begun);
    let passes = raster.timed_step().expect("a sound card");

    let mut first_ms = Vec::new();
    for (edit, changed) in edits(stage) {
        let begun = Instant::now();
        raster = raster.renew(&changed).expect("the card takes it");
        step(&mut raster);
        first_ms.push((edit, ms(begun)));
        raster = raster.renew(stage).expect("the card takes it");
    }

    let mut raster = Raster::new(gpu, stage, |_| true, options()).expect("the card takes it");
    let (mut seconds, mut e10, mut to_target) = (0.0, f64::NAN, None);
    for steps in 1..=MOST_STEPS {
        let begun = Instant::now();
        step(&mut raster);
        seconds += begun.elapsed().as_secs_f64();
        let Some(truth) = truth else { break };
        if steps.is_power_of_two() || steps % 16 == 0 {
            let picture = mixed(&raster.layers().expect("a sound card"), mix);
            e10 = relative_rms(&picture, truth, 0.1).unwrap_or(f64::NAN);
            if e10 <= TARGET {
                to_target = Some((seconds, steps));
                break;
            }
        }
    }
    Report { new_ms, passes, step_ms, first_ms, to_target, e10 }
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

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if !arguments.iter().any(|a| a == "--bench") {
        println!("raster: a benchmark; run it with `cargo bench --bench raster`");
        return;
    }
    let mut words = arguments.iter().filter(|a| !a.starts_with('-'));
    let name = words.next().map_or("lamplighter", |a| a);
    let (width, height) = words
        .next()
        .and_then(|size| size.split_once('x'))
        .and_then(|(w, h)| Some((w.parse().ok()?, h.parse().ok()?)))
        .unwrap_or((640u32, 960u32));
    let Some(shipped) = shipped::find(name) else {
        eprintln!("no shipped plan is called {name:?}");
        std::process::exit(2);
    };
    let gpu = match Gpu::open(&Choice::Auto) {
        Ok(gpu) => gpu,
        Err(fault) => {
            eprintln!("{fault}");
            std::process::exit(1);
        }
    };
    let plan = plan::parse(shipped.text, shipped.name).expect("a shipped plan is good");
    let mut stage = stage::build(&plan).expect("a shipped plan's set stands");
    stage.camera = stage.camera.cropped_to(f64::from(width) / f64::from(height));
    let names: Vec<String> = stage.lights.iter().map(|light| light.name.clone()).collect();
    let mix = shoot::mix(&plan, &stage, &names)
        .factors_of(stage.lights.iter().map(|light| (light.name.as_str(), light.kind)));
    println!("{name}, {width}×{height}, {}", gpu.info.name);
    let options = trace::Options {
        width,
        height,
        max_samples: TRUTH_SAMPLES,
        within_stops: None,
        seed: 7,
        mix: mix.clone(),
        time_limit: None,
    };
    let truth = Tracer::new(&stage, |_| true).render(&options, &mut |_| true);
    let report = report(&gpu, &stage, (width, height), &mix, Some(&mixed(&truth, &mix)));
    println!("  stage to the card {:10.1} ms", report.new_ms);
    println!("  a step            {:10.1} ms, of it on the card:", report.step_ms);
    for PassTime { pass, ms, count } in &report.passes {
        println!("    {pass:15} {ms:10.2} ms in {count}");
    }
    for (edit, ms) in &report.first_ms {
        println!("  first picture after {edit:18} {ms:8.1} ms");
    }
    match report.to_target {
        Some((seconds, steps)) => {
            println!("  e10 of {:.0} % after {seconds:.2} s, {steps} steps", 100.0 * TARGET)
        }
        None => println!("  e10 still {:.1} % after {MOST_STEPS} steps", 100.0 * report.e10),
    }
}
