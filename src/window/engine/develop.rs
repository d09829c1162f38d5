//! The developing thread: mixes the newest layers with today's gains, with the lights that are
//! looked at, and makes the picture for the screen. A changed power comes no further than here.

use std::sync::Arc;

use glam::Vec3;
use rayon::prelude::*;

use super::{Shared, Shown, State};
use crate::layers::Layers;
use crate::optics::color::luminance;
use crate::picture::{self, Picture, Still, Taking, map};
use crate::plan::Plan;
use crate::shoot::{self, Rays};

/// What lies over the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Overlay {
    /// Nothing.
    #[default]
    None,
    /// Stops from 18 % grey in bands of colour.
    Stops,
    /// What is lost, hatched.
    Clipping,
}

/// What is seen of the layers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Look {
    /// The lights that are seen; `None` for all.
    pub only: Option<Vec<String>>,
    /// What lies over them.
    pub overlay: Overlay,
}

/// Share of pixels at each third of a stop from grey.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Histogram {
    /// From [`Histogram::FROM`] up, in thirds.
    pub shares: Vec<f32>,
    /// Share of pixels at or over the sensor's limit.
    pub clipped: f32,
}

impl Histogram {
    /// Lowest stop shown, from 18 % grey.
    pub const FROM: f32 = -7.0;
    /// Highest.
    pub const TO: f32 = 4.0;

    /// Of a picture.
    pub fn of(picture: &Picture) -> Self {
        let bins = ((Self::TO - Self::FROM) * 3.0) as usize;
        let mut counts = vec![0u32; bins];
        let mut clipped = 0u32;
        for pixel in &picture.pixels {
            let level = luminance(*pixel);
            clipped +=
                u32::from(f64::from(pixel.max_element()) >= crate::optics::exposure::SENSOR_CLIP);
            let at = ((level / 0.18).log2() - Self::FROM) * 3.0;
            // black, too, is a tone: it falls into the lowest bin
            let bin = if at.is_finite() { at.max(0.0) as usize } else { 0 };
            counts[bin.min(bins - 1)] += 1;
        }
        let all = picture.pixels.len().max(1) as f32;
        Self {
            shares: counts.into_iter().map(|count| count as f32 / all).collect(),
            clipped: clipped as f32 / all,
        }
    }
}

/// Works until the window closes, on threads of its own, so that a settling picture does not hold
/// up a power that is turned.
pub(super) fn run(shared: &Shared) {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(2).build().ok();
    let mut last = None;
    let mut open = move |state: &mut State| {
        let (number, standing, layers) = state.layers.clone()?;
        let (plan, look) = (state.wish.as_ref()?.plan.clone(), state.look.clone());
        let rays = state.rays.clone();
        let key = (number, Arc::as_ptr(&plan) as usize, look.clone(), Arc::as_ptr(&rays) as usize);
        let new = last.as_ref() != Some(&key);
        last = Some(key);
        new.then_some((standing, layers, rays, plan, look))
    };
    while let Some((standing, layers, rays, plan, look)) = shared.desk.next(&mut open) {
        let work = || develop(&standing.stage, &plan, &layers, &rays, &look);
        let made = match &pool {
            Some(pool) => pool.install(work),
            None => work(),
        };
        let Some((taking, picture, rgb, histogram)) = made else { continue };
        shared.set(|state| {
            state.shown_count += 1;
            state.shown = Some(Shown {
                number: state.shown_count,
                standing,
                plan,
                layers,
                taking: Arc::new(taking),
                picture: Arc::new(picture),
                rgb: Arc::new(rgb),
                histogram,
            });
        });
    }
}

type Made = (Taking, Picture, Vec<u8>, Histogram);

fn develop(
    stage: &crate::stage::Stage,
    plan: &Plan,
    layers: &Layers,
    rays: &Rays,
    look: &Look,
) -> Option<Made> {
    let names: Vec<String> = layers.layers.iter().map(|layer| layer.name.clone()).collect();
    let on = shoot::lit(plan, &[]);
    let mut taking = shoot::taking(plan, stage, &names, rays);
    for name in names.iter().filter(|name| !on.contains(name)) {
        // kept, and off
        if look.only.as_ref().is_none_or(|only| !only.contains(name)) {
            taking.mix = taking.mix.with(name.clone(), Vec3::ZERO);
        }
    }
    let mut seen = taking.clone();
    if let Some(only) = &look.only {
        for name in names.iter().filter(|name| !only.contains(name)) {
            seen.mix = seen.mix.with(name.clone(), Vec3::ZERO);
        }
    }
    let picture = seen.picture(layers).ok()?;
    let histogram = Histogram::of(&picture);
    let still = match look.overlay {
        Overlay::Stops => bands(&picture),
        Overlay::None => shoot::develop_plan(plan, &picture),
        Overlay::Clipping => {
            let mut still = picture::develop(&picture, shoot::development(plan));
            picture::clipping::mark(&mut still, &picture);
            still
        }
    };
    Some((taking, picture, bytes(&still), histogram))
}

/// The map of stops without its legend, which the window draws itself.
fn bands(picture: &Picture) -> Still {
    let pixels = picture.pixels.par_iter();
    let pixels = pixels.map(|&pixel| map::color_of(f64::from((luminance(pixel) / 0.18).log2())));
    Still { width: picture.width, height: picture.height, pixels: pixels.collect() }
}

/// Eight bits a channel.
fn bytes(still: &Still) -> Vec<u8> {
    let pixels = still.pixels.par_iter();
    pixels
        .flat_map_iter(|pixel| pixel.to_array().map(|v| (v.clamp(0.0, 1.0) * 255.0 + 0.5) as u8))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tones_fall_into_their_thirds() {
        let grey =
            Picture { width: 2, height: 1, pixels: vec![Vec3::splat(0.18), Vec3::splat(2.0)] };
        let histogram = Histogram::of(&grey);
        assert_eq!(histogram.shares[21], 0.5, "grey is seven stops over the lowest");
        assert_eq!(histogram.clipped, 0.5);
        assert!((histogram.shares.iter().sum::<f32>() - 1.0).abs() < 1e-6);
    }
}
