//! Seconds to a given error: `trace` beside Mitsuba 3 on the same plan, cores, size and depth.
//!
//! ```text
//! cargo bench --bench engines [-- PLAN]       PLAN: name of a shipped plan
//! ```
//! Error e10 is the relative RMS error over pixels above 10 % of the picture's maximum, e1 over
//! those above 1 %. Every engine is judged alike: several independent pictures, the spread of
//! each pixel over them, relative to the level that the longest of our renders show. Mitsuba
//! renders the mix of all lights in one go (we make a layer for each), with its error scaled by
//! 1/√t to the target; ours is read off a ladder of renders and scaled only past its last rung.
//! Nothing here passes or fails: the ratios are for reading.

#[path = "../peers/driver.rs"]
mod driver;
#[path = "../peers/stages.rs"]
#[expect(dead_code, reason = "the peer test uses the rest")]
mod stages;
#[path = "../peers/view.rs"]
mod view;

mod measure;

use std::time::Instant;

use driver::{Job, Peer};
use foreshadow::optics::color::luminance;
use foreshadow::plan::{self, shipped};
use foreshadow::stage::{self, Stage};
use foreshadow::trace::{Options, Tracer};
use foreshadow::{export, shoot};
use glam::Vec3;
use measure::{Error, spread};

/// Longer side of the picture.
const LONGEST: u32 = 240;
/// Independent pictures for an error.
const PICTURES: u32 = 4;
/// The error to reach.
const TARGET: f64 = 0.05;
/// No render of the ladder takes longer than about this.
const LONGEST_RENDER_S: f64 = 12.0;
/// Most edges of a path, for either renderer.
const DEPTH: u32 = 24;

/// A light with what its layer is worth in today's mix.
struct Lit {
    name: String,
    gain: f32,
    intensity: f64,
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if !arguments.iter().any(|a| a == "--bench") {
        println!("engines: a benchmark; run it with `cargo bench --bench engines`");
        return;
    }
    let name = arguments.iter().find(|a| !a.starts_with('-')).map_or("lamplighter", |a| a);
    let Some(shipped) = shipped::find(name) else {
        eprintln!("no shipped plan is called {name:?}");
        std::process::exit(2);
    };
    let plan = plan::parse(shipped.text, shipped.name).expect("a shipped plan is good");
    let begun = Instant::now();
    let built = stage::build(&plan).expect("a shipped plan's set stands");
    let built_s = begun.elapsed().as_secs_f64();
    let stage = stages::on_equal_terms(built);

    let lights = lights(&plan, &stage);
    let tracer = Tracer::new(&stage, |light| lights.iter().any(|lit| lit.name == light.name));
    let size = view::size(&stage.camera, LONGEST);
    let cores = std::thread::available_parallelism().map_or(1, |n| n.get());
    println!("{name}, {}×{}, {cores} cores, paths of up to {DEPTH} edges", size.0, size.1);
    println!("  meshes {built_s:.2} s, {} triangles", tracer.scene.triangle_count());
    println!("  BVH    {:.2} s", tracer.scene.build_time.as_secs_f64());
    for (kind, rate) in measure::rays(&stage, &tracer, size) {
        println!("  {kind:7} {:.2} million rays/s", rate / 1e6);
    }

    let shown: Vec<usize> = (0..stage.lights.len()).collect();
    let keep = view::unlit_pixels(&stage, &tracer, &shown, size);
    let (level, ours) = climb(&tracer, &lights, size, &keep);
    println!("{:30} {:>9} {:>9}", "seconds to 5 %", "e10", "e1");
    println!("{:30} {:9.2} {:9.2}", "trace", ours.0, ours.1);
    match Peer::prepare() {
        Ok(peer) => against(&peer, &stage, &lights, size, &level, ours),
        Err(fault) => println!("Mitsuba cannot be had: {fault}"),
    }
}

/// The flashes that are lit and the room's light, each with its place in the mix.
fn lights(plan: &plan::Plan, stage: &Stage) -> Vec<Lit> {
    let wanted = |light: &&stage::Light| {
        light.on && (light.name != stage::AMBIENT || plan.ambient.is_some())
    };
    let lit: Vec<&stage::Light> = stage.lights.iter().filter(wanted).collect();
    let names: Vec<String> = lit.iter().map(|light| light.name.clone()).collect();
    let mix = shoot::mix(plan, stage, &names);
    let factors = mix.factors_of(lit.iter().map(|light| (light.name.as_str(), light.kind)));
    lit.iter()
        .zip(factors)
        .map(|(light, factor)| Lit {
            name: light.name.clone(),
            gain: luminance(factor),
            intensity: light.source.axial_intensity * f64::from(luminance(factor)),
        })
        .collect()
}

/// Our renders with twice the samples each time; the level of each pixel kept, and the seconds
/// to the target.
fn climb(
    tracer: &Tracer,
    lights: &[Lit],
    size: (u32, u32),
    keep: &[bool],
) -> (Vec<Option<f64>>, (f64, f64)) {
    let mut rungs: Vec<(f64, Vec<Vec<f32>>)> = Vec::new();
    let mut samples = 2;
    while rungs.last().is_none_or(|(seconds, _)| *seconds < 0.5 * LONGEST_RENDER_S) {
        let begun = Instant::now();
        let pictures = (0..PICTURES).map(|seed| mixed(tracer, lights, size, samples, seed));
        let pictures: Vec<Vec<f32>> = pictures.collect();
        rungs.push((begun.elapsed().as_secs_f64() / f64::from(PICTURES), pictures));
        samples *= 2;
    }
    let (_, best) = rungs.last().expect("at least one rung");
    let level: Vec<Option<f64>> = (0..keep.len())
        .map(|p| {
            let sum: f64 = best.iter().map(|picture| f64::from(picture[p])).sum();
            keep[p].then_some(sum / f64::from(PICTURES))
        })
        .collect();
    let errors: Vec<(f64, Error)> =
        rungs.iter().map(|(seconds, pictures)| (*seconds, spread(pictures, &level))).collect();
    let seconds = |error: fn(&Error) -> f64| {
        let curve: Vec<(f64, f64)> = errors.iter().map(|(s, e)| (*s, error(e))).collect();
        measure::seconds_to(TARGET, &curve)
    };
    (level, (seconds(|e| e.e10), seconds(|e| e.e1)))
}

fn mixed(tracer: &Tracer, lights: &[Lit], size: (u32, u32), samples: u32, seed: u32) -> Vec<f32> {
    let options = Options {
        width: size.0,
        height: size.1,
        max_samples: samples,
        within_stops: None,
        seed,
        mix: lights.iter().map(|lit| Vec3::splat(lit.gain)).collect(),
        time_limit: None,
    };
    let layers = tracer.render(&options, &mut |_| true);
    let mut picture = vec![0.0; (size.0 * size.1) as usize];
    for (layer, lit) in layers.layers.iter().zip(lights) {
        for (sum, &value) in picture.iter_mut().zip(&layer.pixels) {
            *sum += lit.gain * luminance(value);
        }
    }
    picture
}

/// Every Mitsuba variant and integrator that runs here, as seconds and as a ratio to ours.
fn against(
    peer: &Peer,
    stage: &Stage,
    lights: &[Lit],
    size: (u32, u32),
    level: &[Option<f64>],
    ours: (f64, f64),
) {
    let file = peer.scratch().join("bench.glb");
    export::gltf::write(stage, &file).expect("the stage exports");
    let intensities: Vec<(&str, f64)> =
        lights.iter().map(|lit| (lit.name.as_str(), lit.intensity)).collect();
    let mut fastest: Option<(f64, f64)> = None;
    for variant in ["scalar_rgb", "llvm_ad_rgb"] {
        for integrator in ["path", "ptracer"] {
            let label = format!("Mitsuba {variant} {integrator}");
            let job = Job {
                lights: &intensities,
                size,
                spp: 8,
                passes: 2,
                seed: 1,
                integrator,
                variant,
                depth: DEPTH,
                // compiled variants unroll every emitter
                points: 16,
            };
            match theirs(peer, &file, &job, level) {
                Ok((seconds, build_s)) => {
                    let (e10, e1) = seconds;
                    let ratio = (e10 / ours.0, e1 / ours.1);
                    println!(
                        "{label:30} {e10:9.1} {e1:9.1}   {:.1} and {:.1} times ours; built in {build_s:.1} s",
                        ratio.0, ratio.1
                    );
                    let least = |a: f64, b: f64| a.min(b);
                    fastest = Some(fastest.map_or(seconds, |f| (least(f.0, e10), least(f.1, e1))));
                }
                Err(fault) => println!("{label:30} did not run: {}", last_line(&fault)),
            }
        }
    }
    if let Some((e10, e1)) = fastest {
        println!(
            "fastest Mitsuba over trace: {:.1} times (e10), {:.1} times (e1)",
            e10 / ours.0,
            e1 / ours.1
        );
    }
}

/// Seconds to e10 and e1, and to build the scene.
fn theirs(
    peer: &Peer,
    file: &std::path::Path,
    job: &Job,
    level: &[Option<f64>],
) -> Result<((f64, f64), f64), String> {
    // The first pass of a compiled variant compiles; the last one tells the rate.
    let trial = peer.render(file, job)?;
    let pass_s = trial.pass_s.last().copied().unwrap_or(f64::NAN).max(1e-3);
    // As long as one of ours; memory of compiled variants bounds the samples in flight.
    let spp = ((f64::from(job.spp) * 0.3 * LONGEST_RENDER_S / pass_s) as u32).clamp(4, 96);
    let long = Job { spp, passes: PICTURES + 1, seed: 100, ..job.clone() };
    let rendered = peer.render(file, &long)?;
    let pictures: Vec<Vec<f32>> = rendered.passes[1..]
        .iter()
        .map(|pass| pass.iter().map(|&pixel| luminance(pixel)).collect())
        .collect();
    let pass_s = rendered.pass_s[1..].iter().sum::<f64>() / f64::from(PICTURES);
    let error = spread(&pictures, level);
    let scaled = |error: f64| pass_s * (error / TARGET).powi(2);
    Ok(((scaled(error.e10), scaled(error.e1)), rendered.build_s))
}

fn last_line(text: &str) -> &str {
    text.lines().rev().map(str::trim).find(|line| !line.is_empty()).unwrap_or("no word")
}
