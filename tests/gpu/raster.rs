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
const STEPS: u32 = 96;
const SAMPLES: u32 = 160;

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

/// Relative noise of the reference over the pixels that e10 counts.
fn noise(layers: &Layers, index: usize) -> f64 {
    let level = levels(layers, index);
    let floor = 0.1 * level.iter().copied().fold(0.0, f32::max);
    let variance = &layers.layers[index].variance;
    let counted = level.iter().zip(variance).filter(|(level, _)| **level > floor);
    let shares: Vec<f64> = counted.map(|(l, v)| f64::from(v / (l * l))).collect();
    (shares.iter().sum::<f64>() / shares.len() as f64).sqrt()
}

/// Every layer's mean within 0.05 stop of the tracer's, e10 under 6 % beyond the tracer's noise.
#[test]
#[ignore = "four minutes on two cores, and four of eleven layers are over 6 % after 40 steps (worst 10.8 %)"]
fn raster_is_near_the_tracer_on_every_shipped_plan() {
    let mut faults = Vec::new();
    for shipped in shipped::SHIPPED {
        let (stage, (width, height)) = framed(shipped.text, shipped.name);
        let mut raster =
            Raster::new(card(), &stage, |_| true, Options::new(width, height)).unwrap();
        for _ in 0..STEPS {
            raster.step().unwrap();
        }
        let ours = raster.layers().unwrap();
        let options = trace::Options {
            width,
            height,
            max_samples: SAMPLES,
            within_stops: None,
            seed: 9,
            mix: vec![Vec3::ONE; stage.lights.len()],
            time_limit: None,
        };
        let truth = Tracer::new(&stage, |_| true).render(&options, &mut |_| true);
        for (index, layer) in truth.layers.iter().enumerate() {
            let (a, b) = (levels(&ours, index), levels(&truth, index));
            let mean = mean_stops(&a, &b).unwrap();
            let e10 = relative_rms(&a, &b, 0.1).unwrap();
            let noise = noise(&truth, index);
            let beyond = (e10 * e10 - noise * noise).max(0.0).sqrt();
            println!(
                "{} {}: mean {mean:+.4} stop, e10 {:.2} % with {:.2} % of the tracer's noise: {:.2} %",
                shipped.name,
                layer.name,
                100.0 * e10,
                100.0 * noise,
                100.0 * beyond
            );
            if mean.abs() > 0.05 || beyond > 0.06 {
                faults
                    .push(format!("{} {}: {mean:+.4} stop, {beyond:.4}", shipped.name, layer.name));
            }
        }
        let depth = |layers: &Layers| layers.depth.iter().sum::<f32>() / layers.depth.len() as f32;
        let off = depth(&ours) / depth(&truth) - 1.0;
        assert!(off.abs() < 0.005, "{}: depth off by {off}", shipped.name);
    }
    assert!(faults.is_empty(), "{faults:#?}");
}
