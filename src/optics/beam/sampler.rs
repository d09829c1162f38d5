//! Directions drawn from a beam by a table of rings around its axis.

use std::f64::consts::{FRAC_PI_2, TAU};

use glam::Vec3;

use super::Beam;
use crate::optics::quadrature::integrate_unit;

/// Bins of a [`BeamSampler`].
const BINS: usize = 512;

/// Draws directions nearly in proportion to a beam's intensity: a table of [`BINS`] rings with
/// even density within each. All but a few rings share the angles where the beam has light, so
/// a narrow spot is resolved as well as a wide dish; the rest of the hemisphere keeps a small
/// share, so that the density is above zero wherever the intensity is.
#[derive(Debug, Clone)]
pub struct BeamSampler {
    beam: Beam,
    solid_angle_sr: f64,
    /// Ring edges as 1 − cosθ, growing from 0 to 1.
    edges: Vec<f32>,
    /// Cumulative probability at each edge, from 0 to 1.
    cumulative: Vec<f32>,
    /// Density of each ring in 1/sr.
    density: Vec<f32>,
    /// What turns θ into a ring number: rings up to `reach`, then wide ones.
    reach_rad: f32,
}

/// Rings beyond the beam's reach.
const OUTER: usize = 8;

impl BeamSampler {
    /// Tables of `beam`.
    pub fn new(beam: Beam) -> Self {
        let reach = beam.reach_rad();
        let inner = BINS - OUTER;
        let angles: Vec<f64> = (0..=BINS)
            .map(|k| {
                if k <= inner {
                    reach * k as f64 / inner as f64
                } else {
                    reach + (FRAC_PI_2 - reach) * (k - inner) as f64 / OUTER as f64
                }
            })
            .collect();
        let rings: Vec<(f64, f64)> = angles
            .windows(2)
            .map(|edge| {
                let solid_angle = TAU * 2.0 * half_sine2(edge[0], edge[1]);
                let flux = TAU
                    * (edge[1] - edge[0])
                    * integrate_unit(6, |x| {
                        let (sin, cos) = (edge[0] + x * (edge[1] - edge[0])).sin_cos();
                        beam.relative_intensity(cos) * sin
                    });
                (solid_angle, flux)
            })
            .collect();
        let total: f64 = rings.iter().map(|(_, flux)| flux).sum();
        // A floor of 10⁻⁵ of the mean intensity.
        let floor = 1e-5 * total / TAU;
        let weights: Vec<f64> = rings.iter().map(|(omega, flux)| flux + floor * omega).collect();
        let sum: f64 = weights.iter().sum();
        let mut cumulative = vec![0.0f32];
        let mut so_far = 0.0;
        for weight in &weights {
            so_far += weight;
            cumulative.push((so_far / sum) as f32);
        }
        cumulative[BINS] = 1.0;
        let density = rings
            .iter()
            .zip(&weights)
            .map(
                |((omega, _), weight)| {
                    if *omega > 0.0 { (weight / sum / omega) as f32 } else { 0.0 }
                },
            )
            .collect();
        let edges = angles.iter().map(|&theta| (2.0 * half_sine2(0.0, theta)) as f32).collect();
        let solid_angle_sr = beam.solid_angle();
        Self { beam, solid_angle_sr, edges, cumulative, density, reach_rad: reach as f32 }
    }

    /// [`Beam::toward`] of the beam drawn from.
    #[inline]
    pub fn toward(&self, local: Vec3) -> f32 {
        self.beam.toward(local)
    }

    /// The beam drawn from.
    pub fn beam(&self) -> &Beam {
        &self.beam
    }

    /// What it draws with, for other engines: ring edges as 1 − cosθ, cumulative probability at
    /// each edge, density of each ring in 1/sr.
    pub fn rings(&self) -> (&[f32], &[f32], &[f32]) {
        (&self.edges, &self.cumulative, &self.density)
    }

    /// Angle in radians inside which all but a few rings lie.
    pub fn reach_rad(&self) -> f32 {
        self.reach_rad
    }

    /// [`Beam::solid_angle`] of the beam drawn from, kept.
    pub fn solid_angle(&self) -> f64 {
        self.solid_angle_sr
    }

    /// (cosθ, density in 1/sr) of a direction for `u` in [0, 1); its azimuth is uniform.
    #[inline]
    pub fn sample(&self, u: f32) -> (f32, f32) {
        let ring = self.cumulative.partition_point(|&c| c <= u).clamp(1, BINS) - 1;
        let (low, high) = (self.cumulative[ring], self.cumulative[ring + 1]);
        let t = if high > low { ((u - low) / (high - low)).clamp(0.0, 1.0) } else { 0.5 };
        let versine = self.edges[ring] + t * (self.edges[ring + 1] - self.edges[ring]);
        (1.0 - versine, self.density[ring])
    }

    /// Density in 1/sr at `cos_theta`; zero behind the front.
    #[inline]
    pub fn pdf(&self, cos_theta: f32) -> f32 {
        if cos_theta <= 0.0 {
            return 0.0;
        }
        self.density[self.ring(1.0 - cos_theta.min(1.0))]
    }

    /// The ring that holds `versine` = 1 − cosθ.
    #[inline]
    fn ring(&self, versine: f32) -> usize {
        let inner = BINS - OUTER;
        // θ = 2 asin √(versine/2) does not lose the small angles as acos would.
        let theta = 2.0 * (0.5 * versine).sqrt().min(1.0).asin();
        let guess = if theta < self.reach_rad {
            (theta / self.reach_rad * inner as f32) as usize
        } else {
            let rest = (std::f32::consts::FRAC_PI_2 - self.reach_rad).max(1e-9);
            inner + ((theta - self.reach_rad) / rest * OUTER as f32) as usize
        };
        // Rounding may put the guess one ring off: the edges decide.
        let mut ring = guess.min(BINS - 1);
        while ring > 0 && versine < self.edges[ring] {
            ring -= 1;
        }
        while ring + 1 < BINS && versine >= self.edges[ring + 1] {
            ring += 1;
        }
        ring
    }
}

/// sin²(b/2) − sin²(a/2) = (cos a − cos b)/2, without cancellation.
fn half_sine2(a: f64, b: f64) -> f64 {
    (0.5 * (a + b)).sin() * (0.5 * (b - a)).sin()
}
