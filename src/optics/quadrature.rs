//! Gauss–Legendre nodes for the tables that surfaces and beams build once.

use std::f64::consts::PI;

/// Nodes and weights of the `n`-point rule on [0, 1], by Newton's method on the Legendre
/// recurrence (Abramowitz & Stegun 1964, 25.4.29).
pub fn gauss_legendre_unit(n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .map(|i| {
            let mut x = (PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
            let mut slope = 1.0;
            // Newton converges quadratically from this guess: 8 rounds are ample at any n.
            for _ in 0..8 {
                let (mut p, mut before) = (1.0, 0.0);
                for k in 1..=n {
                    let k = k as f64;
                    (p, before) = (((2.0 * k - 1.0) * x * p - (k - 1.0) * before) / k, p);
                }
                slope = n as f64 * (x * p - before) / (x * x - 1.0);
                x -= p / slope;
            }
            (0.5 * (1.0 - x), 1.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// ∫ f over [0, 1].
pub fn integrate_unit(n: usize, f: impl Fn(f64) -> f64) -> f64 {
    gauss_legendre_unit(n).into_iter().map(|(x, w)| w * f(x)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn polynomials_to_degree_2n_minus_1_are_exact() {
        for n in [1, 2, 5, 16, 64] {
            for degree in [0, 1, 2 * n - 1] {
                let sum = integrate_unit(n, |x| x.powi(degree as i32));
                let exact = 1.0 / (degree as f64 + 1.0);
                assert!((sum - exact).abs() < 1e-13, "n {n} degree {degree}: {sum} {exact}");
            }
        }
    }
}
