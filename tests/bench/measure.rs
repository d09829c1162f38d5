//! Errors from the spread of pictures, the time to reach one, and rates of rays.

use std::f32::consts::TAU;
use std::time::Instant;

use foreshadow::stage::Stage;
use foreshadow::stage::source::Emitter;
use foreshadow::trace::sampler::Sampler;
use foreshadow::trace::{Scene, Tracer};
use glam::{Vec2, Vec3};
use rayon::prelude::*;

/// Relative RMS errors of one picture.
#[derive(Debug, Clone, Copy)]
pub struct Error {
    /// Over pixels above 10 % of the maximum.
    pub e10: f64,
    /// Over pixels above 1 % of the maximum.
    pub e1: f64,
}

/// The error of each of some independent pictures from their spread, relative to `level`, the
/// pixel's value where it counts.
pub fn spread(pictures: &[Vec<f32>], level: &[Option<f64>]) -> Error {
    let count = pictures.len() as f64;
    let brightest = level.iter().flatten().copied().fold(0.0, f64::max);
    let over = |share: f64| {
        let (mut sum, mut pixels) = (0.0, 0.0);
        for (p, &value) in level.iter().enumerate() {
            let Some(value) = value.filter(|&value| value > share * brightest) else { continue };
            let mean = pictures.iter().map(|picture| f64::from(picture[p])).sum::<f64>() / count;
            let squares = pictures.iter().map(|picture| (f64::from(picture[p]) - mean).powi(2));
            sum += squares.sum::<f64>() / (count - 1.0) / (value * value);
            pixels += 1.0;
        }
        (sum / pixels).sqrt()
    };
    Error { e10: over(0.1), e1: over(0.01) }
}

/// Seconds at which a falling curve of (seconds, error) reaches `target`: between two points
/// along their power law, outside them along 1/√t.
pub fn seconds_to(target: f64, curve: &[(f64, f64)]) -> f64 {
    let scaled = |(seconds, error): (f64, f64)| seconds * (error / target).powi(2);
    let Some(reached) = curve.iter().position(|&(_, error)| error <= target) else {
        return curve.last().copied().map_or(f64::NAN, scaled);
    };
    let Some(before) = reached.checked_sub(1) else { return scaled(curve[0]) };
    let ((t0, e0), (t1, e1)) = (curve[before], curve[reached]);
    t0 * (t1 / t0).powf((e0 / target).ln() / (e0 / e1).ln())
}

/// Rays a second on all cores: from the lens, onward from where those land, and from there
/// to the first light.
pub fn rays(stage: &Stage, tracer: &Tracer, (width, height): (u32, u32)) -> Vec<(String, f64)> {
    let scene = &tracer.scene;
    let lens = |index: u32| {
        let sampler = Sampler::new(index / (width * height), index % (width * height), 1);
        let (x, y) = (index % width, index / width % height);
        let place = Vec2::new(x as f32, y as f32) + sampler.pair(0);
        let film = place / Vec2::new(width as f32, height as f32);
        stage.camera.ray(film, sampler.pair(1))
    };
    let count = 16 * width * height;
    let first: Vec<(Vec3, Vec3)> = (0..count).into_par_iter().map(lens).collect();
    let landed: Vec<_> =
        first.par_iter().filter_map(|&(from, way)| scene.intersect(from, way)).collect();
    let onward: Vec<(Vec3, Vec3)> = landed
        .par_iter()
        .enumerate()
        .map(|(index, hit)| {
            let u = Sampler::new(index as u32, 7, 2).pair(0);
            let (z, phi) = (u.x.sqrt(), TAU * u.y);
            let (t, b) = hit.geometric.any_orthonormal_pair();
            let across = (1.0 - z * z).max(0.0).sqrt();
            let way = t * (across * phi.cos()) + b * (across * phi.sin()) + hit.geometric * z;
            (Scene::lifted(hit), way.normalize())
        })
        .collect();
    let emitter = Emitter::new(&stage.lights[0].source);
    let sent = |rays: &[(Vec3, Vec3)]| {
        rate(rays.len(), || {
            rays.par_iter().filter(|&&(from, way)| scene.intersect(from, way).is_some()).count()
        })
    };
    let joined = rate(landed.len(), || {
        landed
            .par_iter()
            .enumerate()
            .filter(|(index, hit)| {
                let front = emitter.front(Sampler::new(*index as u32, 9, 3).pair(0));
                scene.visible(hit.position, hit.geometric, front.position, front.normal)
            })
            .count()
    });
    vec![
        ("first".into(), sent(&first)),
        ("onward".into(), sent(&onward)),
        ("shadow".into(), joined),
    ]
}

/// Rays a second of `work`, which sends `count`, over about a second.
fn rate(count: usize, work: impl Fn() -> usize) -> f64 {
    let begun = Instant::now();
    let mut rounds = 0.0;
    while begun.elapsed().as_secs_f64() < 1.0 {
        std::hint::black_box(work());
        rounds += 1.0;
    }
    rounds * count as f64 / begun.elapsed().as_secs_f64()
}
