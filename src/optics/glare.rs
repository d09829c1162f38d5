//! Glare: how a bright point spreads over the picture behind a diffusing sheet.
//!
//! The spread is the family that Spencer, Shirley, Zimmerman & Greenberg published for the eye
//! (1995, 'Physically-Based Glare Effects for Digital Images', photopic weights): a narrow core
//! and two power laws, as light scattered by small particles falls off. θ in degrees, P per
//! steradian, ∫P dΩ = 1 over the hemisphere:
//! ```text
//!   f0 = 2.61·10⁶ e^−(θ/0.02)²    f1 = 20.91/(θ + 0.02)³    f2 = 72.37/(θ + 0.02)²
//!   P(θ) = 0.384 f0 + 0.478 f1 + 0.138 f2
//! ```
//! A diffusion filter sends a share s of the light that way and lets the rest pass, so nothing is
//! lost: picture' = (1 − s)·picture + s·(picture ⊛ P). No measured spread of such a filter was
//! found published; that a filter marked 1 is the whole of P, and one marked 1/8 an eighth of it,
//! is this program's assumption.

use std::f64::consts::PI;

/// Weights of f0, f1, f2.
const WEIGHTS: [f64; 3] = [0.384, 0.478, 0.138];
/// Peak of f0, and factors of f1 and f2.
const SCALES: [f64; 3] = [2.61e6, 20.91, 72.37];
/// Width of the core and offset of the power laws, degrees.
const CORE_DEG: f64 = 0.02;

/// P at `angle_rad` from the point, per steradian.
pub fn spread_per_sr(angle_rad: f64) -> f64 {
    let deg = angle_rad.to_degrees();
    let away = deg + CORE_DEG;
    WEIGHTS[0] * SCALES[0] * (-(deg / CORE_DEG).powi(2)).exp()
        + WEIGHTS[1] * SCALES[1] / away.powi(3)
        + WEIGHTS[2] * SCALES[2] / (away * away)
}

/// Share of the light within `angle_rad` of the point, for angles small enough that sin θ is θ:
/// ∫P 2πθ dθ in closed form, 2 % high at 20°.
pub fn encircled(angle_rad: f64) -> f64 {
    let deg = angle_rad.to_degrees();
    let (a, away) = (CORE_DEG, deg + CORE_DEG);
    let core = 0.5 * a * a * (1.0 - (-(deg / a).powi(2)).exp());
    let cube = 0.5 / a - 1.0 / away + 0.5 * a / (away * away);
    let square = (away / a).ln() + a / away - 1.0;
    let sr_per_deg2 = (PI / 180.0).powi(2);
    2.0 * PI
        * sr_per_deg2
        * (WEIGHTS[0] * SCALES[0] * core
            + WEIGHTS[1] * SCALES[1] * cube
            + WEIGHTS[2] * SCALES[2] * square)
}

/// Stopping down from wide open to this f-number halves what a filter does.
const HALVED_AT: f64 = 16.0;

/// Share s of the light that a filter of `strength` (1/8, 1/4, 1/2, 1) spreads at `f_number`.
///
/// That such a filter does less as the lens is stopped down is common practice, no source; an
/// even sheet of particles would not care. The law 1/(1 + N/16) is this program's assumption.
pub fn filter_share(strength: f64, f_number: f64) -> f64 {
    (strength / (1.0 + f_number / HALVED_AT)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table of the formula over the published constants.
    #[test]
    fn spread_at_published_angles() {
        for (deg, value) in [
            (0.0f64, 2_276_580.0),
            (0.01, 1_161_826.0),
            (0.1, 6477.678),
            (1.0, 19.01774),
            (10.0, 0.1094076),
            (30.0, 0.0114514),
        ] {
            let got = spread_per_sr(deg.to_radians());
            assert!((got / value - 1.0).abs() < 1e-5, "{deg}°: {got}, {value}");
        }
    }

    /// Spencer et al. state that the weights sum to unity over the hemisphere.
    #[test]
    fn nothing_is_lost_over_the_hemisphere() {
        // θ = e^x, since half of it lies within a tenth of a degree
        let (from, to, n) = (1e-6f64.ln(), (0.5 * PI).ln(), 40_000);
        let step = (to - from) / f64::from(n);
        let sum: f64 = (0..n)
            .map(|i| (from + (f64::from(i) + 0.5) * step).exp())
            .map(|theta| spread_per_sr(theta) * 2.0 * PI * theta.sin() * theta * step)
            .sum();
        assert!((sum - 0.9996).abs() < 2e-4, "{sum}");
        let n = 20_000;
        let to = 5f64.to_radians().ln();
        let step = (to - from) / f64::from(n);
        let within: f64 = (0..n)
            .map(|i| (from + (f64::from(i) + 0.5) * step).exp())
            .map(|theta| spread_per_sr(theta) * 2.0 * PI * theta.sin() * theta * step)
            .sum();
        assert!((encircled(5f64.to_radians()) / within - 1.0).abs() < 1e-3);
    }

    #[test]
    fn strength_and_aperture_order_the_share() {
        let shares: Vec<f64> =
            [0.125, 0.25, 0.5, 1.0].iter().map(|&s| filter_share(s, 4.0)).collect();
        assert!(shares.windows(2).all(|pair| (pair[1] / pair[0] - 2.0).abs() < 1e-12));
        assert!(filter_share(0.5, 11.0) < filter_share(0.5, 2.0));
        assert_eq!(filter_share(0.0, 2.0), 0.0);
    }
}
