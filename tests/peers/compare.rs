//! Two noisy pictures of the same light, compared by their variance.
//!
//! In: several independent passes from each renderer. Out: the difference of their means and
//! the difference left on 16×16 blocks once the noise that the passes themselves show is
//! subtracted, in stops. Passes, not per-pixel variances, tell the noise: light sub-paths that
//! many pixels share make their errors go together.

use glam::Vec3;

/// Side of a block in pixels.
const BLOCK: u32 = 16;

/// Blocks below this share of the brightest block are black in any print.
const DARKEST: f64 = 1e-3;

/// How two renderers differ on one layer.
#[derive(Debug, Clone, Copy)]
pub struct Difference {
    /// log2 of the ratio of the means, ours over the peer's.
    pub mean_stops: f64,
    /// Standard error of `mean_stops`.
    pub mean_noise_stops: f64,
    /// RMS over blocks of the log2 ratio, as measured.
    pub block_stops: f64,
    /// RMS of the noise expected in it.
    pub block_noise_stops: f64,
    /// Largest block difference in units of its own standard error.
    pub worst_z: f64,
    /// Blocks compared.
    pub blocks: usize,
}

impl Difference {
    /// RMS over blocks beyond noise.
    pub fn block_beyond_noise_stops(&self) -> f64 {
        (self.block_stops.powi(2) - self.block_noise_stops.powi(2)).max(0.0).sqrt()
    }
}

/// Compares passes of a picture `width` across; pixels not in `keep` are left out of both.
pub fn compare(ours: &[Vec<Vec3>], peers: &[Vec<Vec3>], width: u32, keep: &[bool]) -> Difference {
    let whole = |pass: &Vec<Vec3>| average(pass, keep, |_| true);
    let (a, b) = (Estimate::of(ours.iter().map(whole)), Estimate::of(peers.iter().map(whole)));
    let height = keep.len() as u32 / width;
    let mut pairs = Vec::new();
    for y in 0..height.div_ceil(BLOCK) {
        for x in 0..width.div_ceil(BLOCK) {
            let inside = |pixel: usize| {
                let (px, py) = (pixel as u32 % width, pixel as u32 / width);
                px / BLOCK == x && py / BLOCK == y
            };
            let kept = (0..keep.len()).filter(|&p| keep[p] && inside(p)).count() as u32;
            if kept < BLOCK * BLOCK / 4 {
                continue;
            }
            let block = |pass: &Vec<Vec3>| average(pass, keep, inside);
            pairs.push((
                Estimate::of(ours.iter().map(block)),
                Estimate::of(peers.iter().map(block)),
            ));
        }
    }
    let brightest = pairs.iter().map(|(_, peer)| peer.mean).fold(0.0, f64::max);
    pairs.retain(|(_, peer)| peer.mean > DARKEST * brightest);
    let differences: Vec<(f64, f64)> = pairs.iter().map(|(a, b)| log_ratio(a, b)).collect();
    let count = differences.len().max(1) as f64;
    let rms = |values: &dyn Fn(&(f64, f64)) -> f64| {
        (differences.iter().map(|d| values(d).powi(2)).sum::<f64>() / count).sqrt()
    };
    let (mean_stops, mean_noise_stops) = log_ratio(&a, &b);
    Difference {
        mean_stops,
        mean_noise_stops,
        block_stops: rms(&|d| d.0),
        block_noise_stops: rms(&|d| d.1),
        worst_z: differences.iter().map(|d| d.0.abs() / d.1).fold(0.0, f64::max),
        blocks: differences.len(),
    }
}

/// A mean with the variance of the mean, over passes.
struct Estimate {
    mean: f64,
    variance: f64,
}

impl Estimate {
    fn of(passes: impl Iterator<Item = f64>) -> Self {
        let values: Vec<f64> = passes.collect();
        let n = values.len() as f64;
        let mean = values.iter().sum::<f64>() / n;
        let spread = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>();
        Self { mean, variance: spread / (n - 1.0) / n }
    }
}

/// log2 of the ratio and its standard error.
fn log_ratio(a: &Estimate, b: &Estimate) -> (f64, f64) {
    let relative = a.variance / a.mean.powi(2) + b.variance / b.mean.powi(2);
    ((a.mean / b.mean).log2(), relative.sqrt() * std::f64::consts::LOG2_E)
}

fn average(pass: &[Vec3], keep: &[bool], inside: impl Fn(usize) -> bool) -> f64 {
    let chosen = (0..pass.len()).filter(|&p| keep[p] && inside(p));
    let (sum, count) = chosen.fold((0.0, 0_u32), |(sum, n), p| {
        (sum + f64::from(pass[p].dot(Vec3::new(0.2126, 0.7152, 0.0722))), n + 1)
    });
    sum / f64::from(count)
}
