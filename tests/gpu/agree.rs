//! trace-gpu against trace-cpu on every shipped plan, thin lens on.

use foreshadow::layers::Layers;
use foreshadow::optics::color::luminance;
use foreshadow::plan::{self, shipped};
use foreshadow::stage;
use foreshadow::trace::gpu::GpuTracer;
use foreshadow::trace::{Options, Tracer};
use glam::Vec3;

use crate::card::card;

fn options(size: (u32, u32), samples: u32, seed: u32) -> Options {
    Options {
        width: size.0,
        height: size.1,
        max_samples: samples,
        within_stops: None,
        seed,
        mix: Vec::new(),
        time_limit: None,
    }
}

struct Both {
    name: &'static str,
    cpu: Tracer,
    gpu: GpuTracer,
    size: (u32, u32),
}

impl Both {
    fn of(name: &'static str, text: &str, longest: u32) -> Self {
        let plan = plan::parse(text, name).unwrap();
        let stage = stage::build(&plan).unwrap();
        assert!(stage.camera.pupil_radius_m > 0.0, "{name}: a pinhole");
        let [w, h] = stage.camera.sensor_m;
        let scale = f64::from(longest) / w.max(h);
        let size = ((w * scale).round() as u32, (h * scale).round() as u32);
        let lit: Vec<&str> = plan.lights.iter().filter(|l| l.on).map(|l| l.name.as_str()).collect();
        let cpu = Tracer::new(&stage, |light| {
            lit.contains(&light.name.as_str()) || light.name == stage::AMBIENT
        });
        let gpu = GpuTracer::new(card(), &cpu).unwrap();
        Self { name, cpu, gpu, size }
    }

    fn on_card(&self, samples: u32, seed: u32) -> Layers {
        let options = options(self.size, samples, seed);
        self.gpu.render(&self.cpu, &options, &mut |_| true).unwrap().0
    }

    fn on_cores(&self, samples: u32, seed: u32) -> Layers {
        self.cpu.render(&options(self.size, samples, seed), &mut |_| true)
    }
}

fn mean(pixels: &[Vec3]) -> f64 {
    pixels.iter().map(|&p| f64::from(luminance(p))).sum::<f64>() / pixels.len() as f64
}

/// With the same seed both follow the same paths but for rounding: far closer than noise.
#[test]
fn the_same_seed_gives_the_same_picture() {
    for shipped in shipped::SHIPPED {
        let both = Both::of(shipped.name, shipped.text, 72);
        let (ours, theirs) = (both.on_cores(4, 5), both.on_card(4, 5));
        assert_eq!(ours.samples, theirs.samples);
        for (a, b) in ours.layers.iter().zip(&theirs.layers) {
            let (cpu, gpu) = (mean(&a.pixels), mean(&b.pixels));
            let near = a.pixels.iter().zip(&b.pixels).filter(|(a, b)| {
                let (a, b) = (luminance(**a), luminance(**b));
                (a - b).abs() <= 0.01 * a.max(b)
            });
            let share = near.count() as f64 / a.pixels.len() as f64;
            println!(
                "{} {}: mean off by {:.5}, {:.2} % of pixels within 1 %",
                both.name,
                a.name,
                gpu / cpu - 1.0,
                100.0 * share
            );
            assert!((gpu / cpu - 1.0).abs() < 0.01, "{} {}: {cpu} {gpu}", both.name, a.name);
            assert!(share > 0.95, "{} {}: {share}", both.name, a.name);
        }
        let along = ours.depth.iter().zip(&theirs.depth).filter(|(a, b)| (*a - *b).abs() < 0.01);
        assert!(along.count() as f64 > 0.98 * ours.depth.len() as f64, "{}: depth", both.name);
    }
}

/// Mean and variance of the mean.
fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let scatter = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, scatter / n)
}

/// Means of a layer's blocks of 8 × 8 pixels.
fn blocks(layers: &Layers, layer: usize) -> Vec<f64> {
    const SIDE: u32 = 8;
    let pixels = &layers.layers[layer].pixels;
    let corners = (0..layers.height / SIDE)
        .flat_map(|y| (0..layers.width / SIDE).map(move |x| (x * SIDE, y * SIDE)));
    corners
        .map(|(x0, y0)| {
            let rows = (y0..y0 + SIDE).flat_map(|y| (x0..x0 + SIDE).map(move |x| (x, y)));
            let inside: Vec<Vec3> =
                rows.map(|(x, y)| pixels[(y * layers.width + x) as usize]).collect();
            mean(&inside)
        })
        .collect()
}

/// Independent seeds on either side: equal within noise. Student's t with 4 + 4 pictures has 6
/// degrees of freedom: |t| is over 5.96 once in a thousand, and the mean of t² is 6/4.
#[test]
fn equal_within_noise_light_by_light() {
    const PICTURES: u32 = 4;
    let (mut squares, mut count) = (0.0, 0);
    for shipped in shipped::SHIPPED {
        let both = Both::of(shipped.name, shipped.text, 48);
        let cores: Vec<Layers> = (0..PICTURES).map(|seed| both.on_cores(16, 21 + seed)).collect();
        let card: Vec<Layers> = (0..PICTURES).map(|seed| both.on_card(16, 11 + seed)).collect();
        for layer in 0..cores[0].layers.len() {
            let means = |all: &[Layers]| -> Vec<f64> {
                all.iter().map(|layers| mean(&layers.layers[layer].pixels)).collect()
            };
            let ((a, va), (b, vb)) = (moments(&means(&cores)), moments(&means(&card)));
            let t = (a - b) / (va + vb).sqrt();
            let noise = (va + vb).sqrt() / a;
            let name = &cores[0].layers[layer].name;
            println!("{} {name}: off by {:.4}, noise {noise:.4}, t {t:.2}", both.name, b / a - 1.0);
            assert!(t.abs() < 5.96, "{} {name}: t = {t}", both.name);
            assert!(noise < 0.08, "{} {name}: noise {noise} says too little", both.name);
            let split = |all: &[Layers]| -> Vec<Vec<f64>> {
                all.iter().map(|layers| blocks(layers, layer)).collect()
            };
            let (ours, theirs) = (split(&cores), split(&card));
            for block in 0..ours[0].len() {
                let of = |all: &[Vec<f64>]| all.iter().map(|one| one[block]).collect::<Vec<f64>>();
                let ((a, va), (b, vb)) = (moments(&of(&ours)), moments(&of(&theirs)));
                if va + vb > 0.0 {
                    squares += (a - b).powi(2) / (va + vb);
                    count += 1;
                }
            }
        }
    }
    let mean_square = squares / f64::from(count);
    println!("mean t² of {count} blocks: {mean_square:.3}, expected 1.5");
    assert!(count > 200 && mean_square < 1.9, "{count} blocks, mean t² {mean_square}");
}
