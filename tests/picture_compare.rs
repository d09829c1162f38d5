//! The measures that budgets are stated in, on pictures whose difference is known.

use foreshadow::picture::compare::{Noisy, block_error, mean_stops, relative_rms, z_test};

/// Normal deviates by Box & Muller (1958) on a multiplicative generator; the same every time.
fn normals(count: usize, seed: u64) -> Vec<f64> {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    let mut uniform = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    };
    (0..count)
        .map(|_| (-2.0 * uniform().ln()).sqrt() * (std::f64::consts::TAU * uniform()).cos())
        .collect()
}

const WIDTH: usize = 100;
const COUNT: usize = WIDTH * 90;

/// A ramp from 1 to 10, with a black band at the top.
fn reference() -> Vec<f32> {
    (0..COUNT)
        .map(|i| if i / WIDTH < 16 { 0.0 } else { 1.0 + 9.0 * (i % WIDTH) as f32 / WIDTH as f32 })
        .collect()
}

fn noisy(reference: &[f32], gain: f32, sigma: f32, seed: u64) -> (Vec<f32>, Vec<f32>) {
    let mean = reference
        .iter()
        .zip(normals(reference.len(), seed))
        .map(|(&r, n)| gain * r * (1.0 + sigma * n as f32))
        .collect();
    let variance = reference.iter().map(|&r| (gain * r * sigma).powi(2)).collect();
    (mean, variance)
}

#[test]
fn a_known_gain_is_measured() {
    let reference = reference();
    let brighter: Vec<f32> = reference.iter().map(|v| v * 1.1).collect();
    let e10 = relative_rms(&brighter, &reference, 0.1).unwrap();
    assert!((e10 - 0.1).abs() < 1e-6, "{e10}");
    assert!((mean_stops(&brighter, &reference).unwrap() - 1.1f64.log2()).abs() < 1e-6);
    let exact = Noisy { mean: &brighter, variance: &[] };
    let truth = Noisy { mean: &reference, variance: &[] };
    let blocks = block_error(exact, truth, WIDTH, 16, 0.01).unwrap();
    assert!((blocks.rms_stops - 1.1f64.log2()).abs() < 1e-6);
    assert_eq!(blocks.noise_stops, 0.0);
    // 7 × 6 blocks less the row that is all black.
    assert_eq!(blocks.blocks, 35);
    assert!(z_test(exact, truth).is_none());
}

#[test]
fn dark_pixels_count_in_e1_only() {
    let reference = vec![10.0, 0.5, 0.01];
    let test = vec![10.0, 0.6, 5.0];
    assert_eq!(relative_rms(&test, &reference, 0.1), Some(0.0));
    let e1 = relative_rms(&test, &reference, 0.01).unwrap();
    assert!((e1 - (0.04f64 / 2.0).sqrt()).abs() < 1e-6, "{e1}");
    assert_eq!(relative_rms(&[0.0], &[0.0], 0.1), None);
    assert_eq!(mean_stops(&[0.0], &[1.0]), None);
}

#[test]
fn noise_is_told_from_a_difference() {
    let reference = reference();
    let (a, var_a) = noisy(&reference, 1.0, 0.1, 1);
    let (b, var_b) = noisy(&reference, 1.0, 0.1, 2);
    let (off, var_off) = noisy(&reference, 1.03, 0.1, 3);
    let a = Noisy { mean: &a, variance: &var_a };
    let b = Noisy { mean: &b, variance: &var_b };
    let off = Noisy { mean: &off, variance: &var_off };

    let same = z_test(a, b).unwrap();
    assert_eq!(same.pixels, COUNT - 16 * WIDTH);
    assert!((same.mean_square - 1.0).abs() < 0.06, "{same:?}");
    assert!(same.mean.abs() < 0.04 && same.chance > 0.01, "{same:?}");
    let blocks = block_error(a, b, WIDTH, 16, 0.01).unwrap();
    assert!(blocks.beyond_noise_stops() < blocks.noise_stops, "{blocks:?}");
    assert!((blocks.rms_stops / blocks.noise_stops - 1.0).abs() < 0.3, "{blocks:?}");

    let differ = z_test(a, off).unwrap();
    assert!(differ.mean < -0.15, "{differ:?}");
    let blocks = block_error(off, a, WIDTH, 16, 0.01).unwrap();
    assert!((blocks.beyond_noise_stops() - 1.03f64.log2()).abs() < 0.008, "{blocks:?}");
}

#[test]
fn the_chance_of_a_worst_pixel_is_the_normal_tail() {
    // Two-sided tails of the normal distribution (Abramowitz & Stegun 1964, table 26.1).
    for (z, tail) in
        [(1.0, 0.317_310_5), (2.0, 0.045_500_26), (3.0, 2.699_796e-3), (5.0, 5.733_031e-7)]
    {
        let one = z_test(
            Noisy { mean: &[z as f32], variance: &[1.0] },
            Noisy { mean: &[0.0], variance: &[] },
        )
        .unwrap();
        assert!((one.chance / tail - 1.0f64).abs() < 1e-6, "z {z}: {} {tail}", one.chance);
    }
    // A thousand pixels make a rare one a thousand times likelier.
    let mut mean = vec![0.0f32; 1000];
    mean[7] = 5.0;
    let many = z_test(
        Noisy { mean: &mean, variance: &[1.0; 1000] },
        Noisy { mean: &[0.0; 1000], variance: &[] },
    )
    .unwrap();
    assert!((many.chance / 5.731_5e-4 - 1.0).abs() < 1e-3, "{}", many.chance);
}
