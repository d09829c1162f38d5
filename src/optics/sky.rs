//! Luminance of the sky: the fifteen types of the CIE Standard General Sky (ISO 15469:2004,
//! CIE S 011/E:2003).
//!
//! ```text
//!   L/Lz = f(χ)·φ(Z) / (f(Zs)·φ(0))
//!   φ(Z) = 1 + a·exp(b/cos Z)                            gradation, Z from the zenith
//!   f(χ) = 1 + c·(exp(dχ) − exp(dπ/2)) + e·cos²χ          indicatrix, χ from the sun
//! ```
//! Parameters from memory of the standard and of Darula & Kittler (2002, 'CIE general sky standard
//! defining luminance distributions'); the gradations were seen in a published copy.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use glam::DVec3;

/// a, b, c, d, e of types 1 to 15.
const TYPES: [[f64; 5]; 15] = [
    [4.0, -0.70, 0.0, -1.0, 0.0],
    [4.0, -0.70, 2.0, -1.5, 0.15],
    [1.1, -0.80, 0.0, -1.0, 0.0],
    [1.1, -0.80, 2.0, -1.5, 0.15],
    [0.0, -1.00, 0.0, -1.0, 0.0],
    [0.0, -1.00, 2.0, -1.5, 0.15],
    [0.0, -1.00, 5.0, -2.5, 0.30],
    [0.0, -1.00, 10.0, -3.0, 0.45],
    [-1.0, -0.55, 2.0, -1.5, 0.15],
    [-1.0, -0.55, 5.0, -2.5, 0.30],
    [-1.0, -0.55, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 10.0, -3.0, 0.45],
    [-1.0, -0.32, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 16.0, -3.0, 0.30],
    [-1.0, -0.15, 24.0, -2.8, 0.15],
];

/// A sky with its sun in one place; y is up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sky {
    parameters: [f64; 5],
    sun: DVec3,
    /// f(Zs)·φ(0).
    zenith: f64,
}

impl Sky {
    /// The sky of that number (held to 1..15) with the sun toward a unit vector.
    pub fn new(number: u32, sun: DVec3) -> Self {
        let parameters = TYPES[(number.clamp(1, 15) - 1) as usize];
        let mut sky = Self { parameters, sun, zenith: 1.0 };
        sky.zenith = sky.indicatrix(sun.y.clamp(-1.0, 1.0).acos()) * sky.gradation(1.0);
        sky
    }

    fn gradation(&self, cos_z: f64) -> f64 {
        let [a, b, ..] = self.parameters;
        1.0 + a * (b / cos_z.max(1e-6)).exp()
    }

    fn indicatrix(&self, chi: f64) -> f64 {
        let [_, _, c, d, e] = self.parameters;
        1.0 + c * ((d * chi).exp() - (d * FRAC_PI_2).exp()) + e * chi.cos().powi(2)
    }

    /// Luminance toward a unit vector above the horizon, relative to the zenith's.
    pub fn luminance(&self, toward: DVec3) -> f64 {
        let chi = self.sun.dot(toward).clamp(-1.0, 1.0).acos();
        self.indicatrix(chi) * self.gradation(toward.y) / self.zenith
    }

    /// Illuminance on open level ground for each unit of zenith luminance.
    pub fn horizontal(&self) -> f64 {
        const STEPS: u32 = 180;
        let mut sum = 0.0;
        for i in 0..STEPS {
            let z = FRAC_PI_2 * (f64::from(i) + 0.5) / f64::from(STEPS);
            for j in 0..2 * STEPS {
                let azimuth = PI * (f64::from(j) + 0.5) / f64::from(STEPS);
                let toward = DVec3::new(z.sin() * azimuth.sin(), z.cos(), z.sin() * azimuth.cos());
                sum += self.luminance(toward) * z.cos() * z.sin();
            }
        }
        sum * FRAC_PI_2 * TAU / f64::from(2 * STEPS * STEPS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CIE overcast: the horizon has a third of the zenith; type 5 is even, so E = π·L.
    #[test]
    fn known_skies() {
        let overcast = Sky::new(1, DVec3::Y);
        let horizon = overcast.luminance(DVec3::new(0.0, 1e-4, 1.0).normalize());
        assert!((horizon - 1.0 / 3.0).abs() < 0.003, "{horizon}");
        // Moon & Spencer's overcast sky, (1 + 2 sin γ)/3, which type 1 replaces, gives 7π/9
        let level = overcast.horizontal();
        assert!((level / (7.0 * PI / 9.0) - 1.0).abs() < 0.03, "{level}");
        let even = Sky::new(5, DVec3::new(0.3, 0.5, 0.2).normalize());
        assert!((even.horizontal() - PI).abs() < 1e-3);
        assert_eq!(even.luminance(DVec3::new(0.6, 0.8, 0.0)), 1.0);
    }

    #[test]
    fn every_sky_is_one_at_the_zenith_and_brighter_toward_its_sun() {
        let sun = DVec3::new(0.0, 0.5, 0.75f64.sqrt());
        for number in 1..=15 {
            let sky = Sky::new(number, sun);
            assert!((sky.luminance(DVec3::Y) - 1.0).abs() < 1e-12);
            let away = DVec3::new(0.0, 0.5, -sun.z);
            assert!(sky.luminance(sun) >= sky.luminance(away), "{number}");
        }
    }
}
