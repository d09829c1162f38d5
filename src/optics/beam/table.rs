//! Intensity tabulated over the hemisphere before a front.

use std::f64::consts::{FRAC_PI_2, TAU};

use glam::Vec3;

/// Intensity over angle θ from the axis (evenly from 0 to 90°) and azimuth φ (evenly round,
/// from the right toward up); linear between. One azimuth is a round beam.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Angles from the axis, at least 2.
    rings: usize,
    /// Azimuths, at least 1.
    sectors: usize,
    /// Ring-major.
    values: Vec<f32>,
    /// Mean of each ring.
    means: Vec<f64>,
}

impl Table {
    /// A table of `intensity(θ, φ)` in radians, never negative.
    pub fn new(rings: usize, sectors: usize, intensity: impl Fn(f64, f64) -> f64) -> Self {
        let (rings, sectors) = (rings.max(2), sectors.max(1));
        let mut values = Vec::with_capacity(rings * sectors);
        for ring in 0..rings {
            let theta = FRAC_PI_2 * ring as f64 / (rings - 1) as f64;
            for sector in 0..sectors {
                let phi = TAU * sector as f64 / sectors as f64;
                values.push(intensity(theta, phi).max(0.0) as f32);
            }
        }
        let mean = |row: &[f32]| row.iter().map(|v| f64::from(*v)).sum::<f64>() / sectors as f64;
        let means = values.chunks(sectors).map(mean).collect();
        Self { rings, sectors, values, means }
    }

    /// Number of angles from the axis and of azimuths.
    pub fn size(&self) -> (usize, usize) {
        (self.rings, self.sectors)
    }

    /// All values, ring by ring from the axis.
    pub fn values(&self) -> &[f32] {
        &self.values
    }

    /// Toward a unit direction in the front's frame.
    pub fn toward(&self, local: Vec3) -> f32 {
        if local.z <= 0.0 {
            return 0.0;
        }
        let theta = local.x.hypot(local.y).atan2(local.z);
        let last = self.rings - 1;
        let at = theta / std::f32::consts::FRAC_PI_2 * last as f32;
        let ring = (at as usize).min(last - 1);
        let t = at - ring as f32;
        let row = |ring: usize| &self.values[ring * self.sectors..(ring + 1) * self.sectors];
        let (inner, outer) = (row(ring), row(ring + 1));
        if self.sectors == 1 {
            return inner[0] + t * (outer[0] - inner[0]);
        }
        let turn = local.y.atan2(local.x) / std::f32::consts::TAU;
        let at = turn.rem_euclid(1.0) * self.sectors as f32;
        let sector = (at as usize).min(self.sectors - 1);
        let (s, next) = (at - sector as f32, (sector + 1) % self.sectors);
        let across = |row: &[f32]| row[sector] + s * (row[next] - row[sector]);
        let (a, b) = (across(inner), across(outer));
        a + t * (b - a)
    }

    /// Mean over all azimuths at `theta` radians from the axis.
    pub fn mean_around(&self, theta: f64) -> f64 {
        let last = self.rings - 1;
        let at = (theta / FRAC_PI_2).clamp(0.0, 1.0) * last as f64;
        let ring = (at as usize).min(last - 1);
        self.means[ring] + (at - ring as f64) * (self.means[ring + 1] - self.means[ring])
    }

    /// ∫ over the hemisphere, exact for what lies between the knots: for a line from a to b over
    /// [θ0, θ1] with slope s, ∫ v sin θ dθ = a cos θ0 − b cos θ1 + s (sin θ1 − sin θ0).
    pub fn solid_angle(&self) -> f64 {
        let step = FRAC_PI_2 / (self.rings - 1) as f64;
        let zones = self.means.windows(2).enumerate().map(|(ring, ends)| {
            let (a, b) = (step * ring as f64, step * (ring + 1) as f64);
            let slope = (ends[1] - ends[0]) / step;
            ends[0] * a.cos() - ends[1] * b.cos() + slope * (b.sin() - a.sin())
        });
        TAU * zones.sum::<f64>()
    }

    /// Largest value.
    pub fn peak(&self) -> f64 {
        self.values.iter().copied().fold(0.0f32, f32::max).into()
    }

    /// Angle from the axis inside which all but a millionth of the peak lies.
    pub(super) fn reach_rad(&self) -> f64 {
        let dark = 1e-6 * self.peak() as f32;
        let lit = self.values.chunks(self.sectors).rposition(|row| row.iter().any(|v| *v > dark));
        let outermost = lit.map_or(1, |ring| (ring + 1).min(self.rings - 1));
        FRAC_PI_2 * outermost as f64 / (self.rings - 1) as f64
    }
}
