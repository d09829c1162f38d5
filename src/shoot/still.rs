//! A still: plan to stage to layers to picture to file.

use glam::Vec3;

use super::ShootError;
use super::engine;
use super::gains;
use super::options::{Engine, Progress, Settle, StillOptions};
use super::output::Output;
use super::rastered;
use super::stopping::stopped;
use super::take::{develop_plan, record, take};
use crate::layers::Layers;
use crate::picture::{FileFormat, Still, Taking, encode_taken, holds, write_exr_taken};
use crate::plan::Plan;
use crate::stage::{self, Stage};
use crate::trace::{Options, Tracer, Under};

/// Long side of a still where no size is asked for.
const LONG_SIDE: f64 = 960.0;
/// Samples a pixel gets at most while a picture settles.
const MOST_SAMPLES: u32 = 4096;

/// Pixels times lights that a still may have: 100 million, which takes 5 to 7 GB. A pixel holds
/// 28 bytes of sums and 16 of layer for each light, and about 40 of its own; an EXR's bytes come
/// on top (66 bytes a pixel and light were measured in all, with three lights).
const MOST_LIGHT_PIXELS: u64 = 100_000_000;

/// Names of the lights a picture is made of: those that are on, or those asked for; the room's
/// own last.
pub fn lit(plan: &Plan, only: &[String]) -> Vec<String> {
    let wanted =
        |name: &str, on: bool| if only.is_empty() { on } else { only.iter().any(|o| o == name) };
    // a room level far below what the camera records is still a layer: the shutter may change
    let ambient = plan.ambient.as_ref().map(|_| (stage::AMBIENT, true));
    let lamps = plan.lamps.iter().map(|lamp| (lamp.name.as_str(), true));
    let windows = plan.windows.iter().map(|window| (window.name.as_str(), true));
    let lights = plan.lights.iter().map(|light| (light.name.as_str(), light.on));
    let all = lights.chain(lamps).chain(windows).chain(ambient);
    all.filter(|(name, on)| wanted(name, *on)).map(|(name, _)| name.to_owned()).collect()
}

/// Whether the layers of so large a picture find room in memory.
fn fits(size: (u32, u32), lights: usize) -> Result<(), ShootError> {
    let pixels = u64::from(size.0) * u64::from(size.1);
    if pixels * lights as u64 <= MOST_LIGHT_PIXELS {
        return Ok(());
    }
    Err(ShootError::TooLarge {
        megapixels: pixels as f64 * 1e-6,
        lights,
        most_megapixels: MOST_LIGHT_PIXELS as f64 * 1e-6 / lights as f64,
    })
}

/// Renders the layers of a plan's stage.
pub fn layers(
    plan: &Plan,
    stage: &Stage,
    options: &StillOptions,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Layers, ShootError> {
    layers_over(plan, stage, options, &Under::default(), progress)
}

/// Renders layers that will be added to others.
pub(super) fn layers_over(
    plan: &Plan,
    stage: &Stage,
    options: &StillOptions,
    under: &Under<'_>,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Layers, ShootError> {
    let names = lit(plan, &options.only);
    if names.is_empty() {
        return Err(ShootError::Dark);
    }
    let (width, height) = size(stage, options);
    fits((width, height), names.len())?;
    let mut framed = stage.clone();
    framed.camera = stage.camera.cropped_to(f64::from(width) / f64::from(height));
    progress(Progress { done: 0.0, step: "building" });
    if options.engine.engine == Engine::Raster {
        let mix = gains::try_mix(plan, stage, &names)?;
        return rastered::render(&framed, &mix, (width, height), options, progress, &names);
    }
    let tracer = Tracer::new(&framed, |light| names.contains(&light.name));
    let mix = gains::try_mix(plan, stage, &names)?;
    let factors = mix.factors_of(tracer.scene.lights.iter().map(|l| (l.name.as_str(), l.kind)));
    let (max_samples, within_stops) = match options.settle {
        Settle::Samples(count) => (count, None),
        Settle::Within { stops } => (MOST_SAMPLES, Some(stops as f32)),
    };
    let trace = Options {
        width,
        height,
        max_samples,
        within_stops,
        seed: options.seed as u32,
        mix: factors,
        time_limit: None,
    };
    let note = |step| progress(Progress { done: 0.0, step });
    let layers = engine::render(&tracer, &options.engine, &trace, under, &note, &mut |now| {
        let done = match within_stops {
            // error falls with the root of the work
            Some(within) => f64::from((within / now.error_stops).powi(2).max(now.settled)),
            None => f64::from(now.pass) / f64::from(max_samples),
        };
        progress(Progress { done, step: "settling" });
        !stopped()
    });
    if stopped() { Err(ShootError::Stopped) } else { layers }
}

/// Renders a still and writes it to its place.
pub fn still(
    plan: &Plan,
    options: &StillOptions,
    output: &Output,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<(), ShootError> {
    if let Some(size) = options.size {
        // refused before the set is built
        fits(size, lit(plan, &options.only).len())?;
    }
    let stage = stage::build(plan)?;
    let record = record(plan, &stage)?;
    holds(&record, output.format)?;
    let layers = layers(plan, &stage, options, progress)?;
    let picture = take(plan, &stage, &layers)?;
    let bytes = match output.format {
        FileFormat::Exr => write_exr_taken(&layers, &picture, Some(&record))?,
        format => {
            let still = develop_plan(plan, &picture);
            encode_taken(&still, format, Some(&record))?
        }
    };
    output.write(&bytes)?;
    Ok(())
}

/// Pixels of a still: as asked for, else the camera's format.
pub(super) fn size(stage: &Stage, options: &StillOptions) -> (u32, u32) {
    options.size.unwrap_or_else(|| default_size(stage, LONG_SIDE))
}

/// The camera's format with a long side of so many pixels.
pub fn default_size(stage: &Stage, long_side: f64) -> (u32, u32) {
    let [w, h] = stage.camera.sensor_m;
    let scale = long_side / w.max(h);
    ((w * scale).round() as u32, (h * scale).round() as u32)
}

/// What the plan's camera shows of some layers with only the lights that `on` accepts.
pub(super) fn developed(
    plan: &Plan,
    layers: &Layers,
    taking: &Taking,
    on: impl Fn(&str) -> bool,
) -> Result<Still, ShootError> {
    let mut taking = taking.clone();
    for layer in layers.layers.iter().filter(|layer| !on(&layer.name)) {
        taking.mix = taking.mix.with(layer.name.clone(), Vec3::ZERO);
    }
    Ok(develop_plan(plan, &taking.picture(layers)?))
}
