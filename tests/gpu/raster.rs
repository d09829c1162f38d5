//! raster against trace-cpu on every shipped plan, thin lens on.

use foreshadow::layers::Layers;
use foreshadow::optics::color::luminance;
use foreshadow::picture::compare::{mean_stops, relative_rms};
use foreshadow::plan::{self, shipped};
use foreshadow::raster::{Options, Raster};
use foreshadow::stage::{self, Stage};
use foreshadow::trace::{self, Tracer};
use glam::Vec3;

use crate::card::card;

/// Longer side of the pictures.
const LONGEST: u32 = 72;
/// Steps of each of two rasterisers, with maps as coarse as small pictures need.
const STEPS: u32 = 20;
const MAPS: [u32; 2] = [512, 128];
/// Samples of each of two tracers.
const SAMPLES: u32 = 96;
/// Side of a tile.
const TILE: u32 = 12;

fn framed(text: &str, name: &str) -> (Stage, (u32, u32)) {
    let mut stage = stage::build(&plan::parse(text, name).unwrap()).unwrap();
    let [w, h] = stage.camera.sensor_m;
    let scale = f64::from(LONGEST) / w.max(h);
    let size = ((w * scale).round() as u32, (h * scale).round() as u32);
    stage.camera = stage.camera.cropped_to(f64::from(size.0) / f64::from(size.1));
    (stage, size)
}

fn levels(layers: &Layers, index: usize) -> Vec<f32> {
    layers.layers[index].pixels.iter().map(|&p| luminance(p)).collect()
}

fn mean_of(a: &[f32], b: &[f32]) -> Vec<f32> {
    a.iter().zip(b).map(|(a, b)| 0.5 * (a + b)).collect()
}

/// What two pictures are off from two references alike: the relative RMS error over pixels above a
/// tenth of the largest, without the noise that each has for itself. Pixel and lens are drawn anew
/// in every view, so a small picture of hair is noisy at the edges in either engine; the mean of the
/// products of two independent differences holds only what both share.
fn shared_error(ours: [&[f32]; 2], truth: [&[f32]; 2]) -> f64 {
    let level = mean_of(truth[0], truth[1]);
    let floor = 0.1 * level.iter().copied().fold(0.0, f32::max);
    let counted = (0..level.len()).filter(|&pixel| level[pixel] > floor);
    let products: Vec<f64> = counted
        .map(|pixel| {
            let off = |k: usize| f64::from((ours[k][pixel] - truth[k][pixel]) / level[pixel]);
            off(0) * off(1)
        })
        .collect();
    (products.iter().sum::<f64>() / products.len() as f64).max(0.0).sqrt()
}

/// The tile that is off most, with its corner and by how many stops; dark ones do not count.
fn worst_tile(ours: &[f32], truth: &[f32], (width, height): (u32, u32)) -> (u32, u32, f64) {
    let sum = |picture: &[f32], x0: u32, y0: u32| -> f64 {
        let rows = (y0..(y0 + TILE).min(height))
            .flat_map(|y| (x0..(x0 + TILE).min(width)).map(move |x| (x, y)));
        rows.map(|(x, y)| f64::from(picture[(y * width + x) as usize])).sum()
    };
    let corners: Vec<(u32, u32)> = (0..height)
        .step_by(TILE as usize)
        .flat_map(|y| (0..width).step_by(TILE as usize).map(move |x| (x, y)))
        .collect();
    let brightest = corners.iter().map(|&(x, y)| sum(truth, x, y)).fold(0.0, f64::max);
    let off = corners
        .into_iter()
        .filter(|&(x, y)| sum(truth, x, y) > 0.1 * brightest)
        .map(|(x, y)| (x, y, (sum(ours, x, y) / sum(truth, x, y)).log2()));
    off.max_by(|a, b| a.2.abs().total_cmp(&b.2.abs())).unwrap_or((0, 0, 0.0))
}

/// Every layer's mean within 0.05 stop of the tracer's, and its e10 under 6 % of what drawing on
/// would not better.
#[test]
fn raster_is_near_the_tracer_on_every_shipped_plan() {
    let mut faults = Vec::new();
    for shipped in shipped::SHIPPED {
        let (stage, (width, height)) = framed(shipped.text, shipped.name);
        let drawn = [1, 2].map(|seed| {
            let options = Options { seed, map_sizes: MAPS, ..Options::new(width, height) };
            let mut raster = Raster::new(card(), &stage, |_| true, options).unwrap();
            for _ in 0..STEPS {
                raster.step().unwrap();
            }
            raster.layers().unwrap()
        });
        let tracer = Tracer::new(&stage, |_| true);
        let traced = [9, 10].map(|seed| {
            let options = trace::Options {
                width,
                height,
                max_samples: SAMPLES,
                within_stops: None,
                seed,
                mix: vec![Vec3::ONE; stage.lights.len()],
                time_limit: None,
            };
            tracer.render(&options, &mut |_| true)
        });
        for (index, layer) in traced[0].layers.iter().enumerate() {
            let [a, b] = [0, 1].map(|k| levels(&drawn[k], index));
            let [t, u] = [0, 1].map(|k| levels(&traced[k], index));
            let (ours, truth) = (mean_of(&a, &b), mean_of(&t, &u));
            let mean = mean_stops(&ours, &truth).unwrap();
            let e10 = shared_error([&a, &b], [&t, &u]);
            let (x, y, off) = worst_tile(&ours, &truth, (width, height));
            println!(
                "{} {}: mean {mean:+.4} stop, e10 {:.2} % ({:.2} % with the noise of both), worst \
                 tile at {x}, {y} {off:+.2} stop",
                shipped.name,
                layer.name,
                100.0 * e10,
                100.0 * relative_rms(&ours, &truth, 0.1).unwrap(),
            );
            if mean.abs() > 0.05 || e10 > 0.06 {
                faults.push(format!("{} {}: {mean:+.4} stop, {e10:.4}", shipped.name, layer.name));
            }
        }
        let depth = |layers: &Layers| layers.depth.iter().sum::<f32>() / layers.depth.len() as f32;
        let off = depth(&drawn[0]) / depth(&traced[0]) - 1.0;
        assert!(off.abs() < 0.005, "{}: depth off by {off}", shipped.name);
    }
    assert!(faults.is_empty(), "{faults:#?}");
}
