//! A still by shadow mapping.

use super::ShootError;
use super::engine::drawing_card;
use super::options::{Progress, Settle, StillOptions};
use crate::layers::Layers;
use crate::picture::Mix;
use crate::raster::{Options, Raster};
use crate::stage::Stage;

/// Steps at most while a picture settles; past them the engine's own floor of error rules.
const MOST_STEPS: u32 = 512;

/// Draws the layers of the lights `names` of a framed stage.
pub fn render(
    stage: &Stage,
    mix: &Mix,
    (width, height): (u32, u32),
    options: &StillOptions,
    progress: &(dyn Fn(Progress) + Sync),
    names: &[String],
) -> Result<Layers, ShootError> {
    let gpu = drawing_card(&options.engine)?;
    let wanted = stage.lights.iter().filter(|light| names.contains(&light.name));
    let factors = mix.factors_of(wanted.map(|light| (light.name.as_str(), light.kind)));
    let asked = Options { seed: options.seed as u32, mix: factors, ..Options::new(width, height) };
    let mut raster = Raster::new(&gpu, stage, |light| names.contains(&light.name), asked)?;
    let (most, within) = match options.settle {
        Settle::Samples(count) => (count, None),
        Settle::Within { stops } => (MOST_STEPS, Some(stops as f32)),
    };
    for step in 1..=most {
        raster.step()?;
        gpu.wait()?;
        let error = raster.error_stops();
        let done = match within {
            Some(within) => f64::from((within / error).powi(2)).min(1.0),
            None => f64::from(step) / f64::from(most),
        };
        progress(Progress { done, step: "drawing" });
        if within.is_some_and(|within| error <= within) {
            break;
        }
    }
    Ok(raster.layers()?)
}
