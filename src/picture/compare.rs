//! How far two renderings of one view are apart, by the measures the budgets are stated in.
//! Luminance in, in any unit that both share; black is taken as 'no light to compare'.

use crate::optics::color;
use glam::Vec3;

/// Luminances of pixels.
pub fn luminances(pixels: &[Vec3]) -> Vec<f32> {
    pixels.iter().map(|&pixel| color::luminance(pixel)).collect()
}

/// Relative RMS error over the pixels whose reference is above `share` of its maximum: e10 for
/// 0.1, e1 for 0.01. None where no pixel is.
pub fn relative_rms(test: &[f32], reference: &[f32], share: f32) -> Option<f64> {
    let floor = share * reference.iter().copied().fold(0.0, f32::max);
    let (mut sum, mut count) = (0.0, 0u64);
    for (&test, &reference) in test.iter().zip(reference).filter(|(_, r)| **r > floor) {
        sum += (f64::from(test) / f64::from(reference) - 1.0).powi(2);
        count += 1;
    }
    (count > 0).then(|| (sum / count as f64).sqrt())
}

/// Stops by which the mean of `test` is over the mean of `reference`; None if either is black.
pub fn mean_stops(test: &[f32], reference: &[f32]) -> Option<f64> {
    let sum = |values: &[f32]| values.iter().map(|&v| f64::from(v)).sum::<f64>();
    let (test, reference) = (sum(test), sum(reference));
    (test > 0.0 && reference > 0.0).then(|| (test / reference).log2())
}

/// A noisy rendering: mean estimates and the variances of those means.
#[derive(Debug, Clone, Copy)]
pub struct Noisy<'a> {
    /// Luminance, one a pixel.
    pub mean: &'a [f32],
    /// Variance of the mean, one a pixel; empty where there is no noise.
    pub variance: &'a [f32],
}

impl Noisy<'_> {
    fn variance(&self, i: usize) -> f64 {
        self.variance.get(i).map_or(0.0, |&v| f64::from(v))
    }
}

/// RMS of stops between block means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockError {
    /// As measured.
    pub rms_stops: f64,
    /// What the stated variances alone would make.
    pub noise_stops: f64,
    /// Blocks compared.
    pub blocks: usize,
}

impl BlockError {
    /// What is left when the noise is taken out, in quadrature; 0 when the noise explains all.
    pub fn beyond_noise_stops(&self) -> f64 {
        (self.rms_stops.powi(2) - self.noise_stops.powi(2)).max(0.0).sqrt()
    }
}

/// Compares means over blocks of `side` × `side` pixels (clipped at the right and lower edges),
/// leaving out blocks whose reference is under `share` of the brightest block's. None where
/// nothing is left.
pub fn block_error(
    test: Noisy,
    reference: Noisy,
    width: usize,
    side: usize,
    share: f64,
) -> Option<BlockError> {
    let columns = width.div_ceil(side);
    let rows = (reference.mean.len() / width.max(1)).div_ceil(side);
    // Sums over each block: test, its variance, reference, its variance.
    let mut sums = vec![[0.0f64; 4]; columns * rows];
    for i in 0..reference.mean.len().min(test.mean.len()) {
        let block = &mut sums[(i / width / side) * columns + i % width / side];
        block[0] += f64::from(test.mean[i]);
        block[1] += test.variance(i);
        block[2] += f64::from(reference.mean[i]);
        block[3] += reference.variance(i);
    }
    let brightest = sums.iter().map(|block| block[2]).fold(0.0, f64::max);
    let (mut rms, mut noise, mut blocks) = (0.0, 0.0, 0usize);
    for [test, test_variance, reference, reference_variance] in sums {
        if test > 0.0 && reference > share * brightest {
            rms += (test / reference).log2().powi(2);
            // d log2 x = dx/(x ln 2).
            noise += (test_variance / (test * test) + reference_variance / (reference * reference))
                / std::f64::consts::LN_2.powi(2);
            blocks += 1;
        }
    }
    let mean = |sum: f64| (sum / blocks as f64).sqrt();
    (blocks > 0).then(|| BlockError { rms_stops: mean(rms), noise_stops: mean(noise), blocks })
}

/// Whether two noisy renderings could be of the same picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZTest {
    /// Mean of z² over the pixels; 1 where only noise differs and variances are right.
    pub mean_square: f64,
    /// Mean of z; 0 where there is no bias.
    pub mean: f64,
    /// Largest |z|.
    pub worst: f64,
    /// Chance of so large a worst value by noise alone (Šidák 1967, for all pixels together).
    pub chance: f64,
    /// Pixels compared: those with any variance.
    pub pixels: usize,
}

/// Pixel by pixel z = (a − b)/√(var a + var b). The chance holds for normal noise: pixels of a
/// few samples have heavier tails. None where no pixel has variance.
pub fn z_test(a: Noisy, b: Noisy) -> Option<ZTest> {
    let (mut square, mut sum, mut worst, mut pixels) = (0.0, 0.0, 0.0f64, 0usize);
    for i in 0..a.mean.len().min(b.mean.len()) {
        let variance = a.variance(i) + b.variance(i);
        if variance > 0.0 {
            let z = (f64::from(a.mean[i]) - f64::from(b.mean[i])) / variance.sqrt();
            square += z * z;
            sum += z;
            worst = worst.max(z.abs());
            pixels += 1;
        }
    }
    let n = pixels as f64;
    // 1 − (1 − p)ⁿ without losing a tiny p.
    let one = two_sided(worst);
    let chance = -(n * (-one).ln_1p()).exp_m1();
    (pixels > 0).then(|| ZTest { mean_square: square / n, mean: sum / n, worst, chance, pixels })
}

/// Chance of a normal deviate beyond ±z: erfc(z/√2).
fn two_sided(z: f64) -> f64 {
    let x = z * std::f64::consts::FRAC_1_SQRT_2;
    if x < 2.0 {
        // erf x = 2/√π Σ (−1)ᵏ x^(2k+1)/(k!(2k + 1)) (Abramowitz & Stegun 1964, 7.1.5).
        let (mut term, mut sum) = (x, x);
        for k in 1..60 {
            term *= -x * x / f64::from(k);
            sum += term / f64::from(2 * k + 1);
        }
        1.0 - std::f64::consts::FRAC_2_SQRT_PI * sum
    } else {
        // √π e^(x²) erfc x = 1/(x + ½/(x + 1/(x + 3⁄2/(x + …)))) (same, 7.1.14).
        let tail = (1..80).rev().fold(x, |inner, k| x + 0.5 * f64::from(k) / inner);
        (-x * x).exp() / (tail * std::f64::consts::PI.sqrt())
    }
}
