//! Promise: `trace` agrees with an independent renderer.
//!
//! A stage is exported as glTF, rendered light by light in Mitsuba 3 from that file alone, and
//! compared with our layers by variance. Mean within 0.01 stop a layer, 16×16 blocks within
//! 0.03 stop RMS beyond noise.

#[path = "peers/compare.rs"]
mod compare;
#[path = "peers/driver.rs"]
mod driver;
#[path = "peers/stages.rs"]
mod stages;
#[path = "peers/view.rs"]
mod view;

use std::path::Path;
use std::sync::{LazyLock, Mutex};

use compare::{Difference, compare};
use driver::{Job, Peer};
use foreshadow::export::gltf;
use foreshadow::plan::shipped::SHIPPED;
use foreshadow::stage::Stage;
use foreshadow::trace::{Options, Tracer};
use glam::Vec3;

/// Most that a layer's mean may differ.
const MEAN_STOPS: f64 = 0.01;
/// Most that 16×16 blocks may differ beyond noise, RMS.
const BLOCK_STOPS: f64 = 0.03;
/// The noise of a comparison that may still judge the mean.
const MEAN_NOISE_STOPS: f64 = 0.004;
/// The same for blocks.
const BLOCK_NOISE_STOPS: f64 = 0.03;

/// Independent pictures of each renderer.
const PASSES: u32 = 8;
/// Samples a pixel in each of our pictures.
const OUR_SAMPLES: u32 = 48;
/// The same for Mitsuba, whose paths are noisier under a bounced head.
const THEIR_SAMPLES: u32 = 112;

/// One Mitsuba at a time: each takes every core.
static PEER: LazyLock<Mutex<Peer>> =
    LazyLock::new(|| Mutex::new(Peer::prepare().unwrap_or_else(|fault| panic!("{fault}"))));

fn peer() -> std::sync::MutexGuard<'static, Peer> {
    PEER.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

#[test]
fn sources_in_mitsuba_meet_closed_forms() {
    let printed = peer().script("check_sources.py", &[]).unwrap_or_else(|fault| panic!("{fault}"));
    println!("{printed}");
}

/// The first plans that ship, as they are set. (The rims of the night ferry agree too, but need
/// five times the samples before their noise may judge the mean.)
#[test]
fn shipped_plans_agree() {
    for shipped in SHIPPED.iter().take(2) {
        agree(shipped.name, stages::shipped(shipped));
    }
}

/// Every kind of surface, normal and source that a plan can make.
#[test]
fn studio_layers_agree() {
    agree("studio", stages::studio());
}

/// Nearly all of the light has bounced several times.
#[test]
fn attic_layers_agree() {
    agree("attic", stages::attic());
}

/// Renders every light of the stage in both and asserts that they agree.
fn agree(name: &str, stage: Stage) {
    let peer = peer();
    let stage = &stages::on_equal_terms(stage);
    let file = peer.scratch().join(format!("{name}.glb"));
    gltf::write(stage, &file).expect("the stage exports");
    let mut faults = Vec::new();
    for light in (0..stage.lights.len()).filter(|&light| stage.lights[light].on) {
        let label = format!("{name}, {}", stage.lights[light].name);
        let difference = differ(&peer, &file, stage, light);
        println!("{label}: {}", line(&difference));
        if difference.mean_stops.abs() > MEAN_STOPS
            || difference.block_beyond_noise_stops() > BLOCK_STOPS
        {
            faults.push(format!("{label} differs: {}", line(&difference)));
        }
        if difference.mean_noise_stops > MEAN_NOISE_STOPS
            || difference.block_noise_stops > BLOCK_NOISE_STOPS
        {
            faults.push(format!("{label} is too noisy to judge: {}", line(&difference)));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

fn differ(peer: &Peer, file: &Path, stage: &Stage, light: usize) -> Difference {
    let name = stage.lights[light].name.as_str();
    let size = view::size(&stage.camera, 96);
    let job = Job {
        lights: &[(name, stage.lights[light].source.axial_intensity)],
        size,
        spp: THEIR_SAMPLES,
        passes: PASSES,
        seed: 1,
        integrator: "path",
        variant: "scalar_rgb",
        depth: 24,
        points: 256,
    };
    let theirs = peer.render(file, &job).unwrap_or_else(|fault| panic!("{fault}"));
    println!("  mitsuba {:.1} s, build {:.1} s", theirs.pass_s.iter().sum::<f64>(), theirs.build_s);

    let start = std::time::Instant::now();
    let tracer = Tracer::new(stage, |candidate| candidate.name == name);
    let ours: Vec<Vec<Vec3>> = (0..PASSES)
        .map(|seed| {
            let options = Options {
                width: size.0,
                height: size.1,
                max_samples: OUR_SAMPLES,
                within_stops: None,
                seed: 1000 + seed,
                mix: vec![Vec3::ONE],
                time_limit: None,
            };
            tracer.render(&options, &mut |_| true).layers.remove(0).pixels
        })
        .collect();
    println!("  trace {:.1} s", start.elapsed().as_secs_f64());
    compare(&ours, &theirs.passes, size.0, &view::unlit_pixels(stage, &tracer, &[light], size))
}

fn line(d: &Difference) -> String {
    format!(
        "mean {:+.4} ± {:.4} stop, {} blocks {:.4} of which noise {:.4}, beyond noise {:.4} stop, \
         worst block {:.1} sigma",
        d.mean_stops,
        d.mean_noise_stops,
        d.blocks,
        d.block_stops,
        d.block_noise_stops,
        d.block_beyond_noise_stops(),
        d.worst_z
    )
}
