//! The gate of a lens spot: an iris and four shutters that the lens throws as a sharp-edged patch.

use std::f64::consts::{FRAC_PI_2, TAU};

use glam::Vec3;

use crate::optics::quadrature::integrate_unit;

/// An even patch. Limits are tangents of the angle from the axis, seen along the axis.
///
/// A lens brings the gate to a point at one distance: a ray that leaves the lens at x goes where
/// the ray from its centre would that meets it there,
///
/// ```text
///   tan θ' = tan θ + x/f        f: distance at which the edge is sharp
/// ```
///
/// so the edge is as wide as the lens at the lens, sharp at f, and widens again behind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gate {
    /// Tangent of the iris's half angle.
    pub iris: f64,
    /// Shutters: left and right limit (left negative where it does not cross the axis).
    pub across: [f64; 2],
    /// Shutters: lower and upper limit.
    pub upward: [f64; 2],
    /// Distance at which the edge is sharp, metres.
    pub focus_m: f64,
}

impl Gate {
    /// 1 inside, 0 outside.
    #[inline]
    pub fn toward(&self, local: Vec3) -> f32 {
        if local.z <= 0.0 {
            return 0.0;
        }
        let (x, y) = (f64::from(local.x / local.z), f64::from(local.y / local.z));
        let open = x * x + y * y <= self.iris * self.iris
            && (self.across[0]..=self.across[1]).contains(&x)
            && (self.upward[0]..=self.upward[1]).contains(&y);
        if open { 1.0 } else { 0.0 }
    }

    /// Share of the circle at that angle round the axis which is open.
    pub fn mean_around(&self, cos_theta: f64) -> f64 {
        const STEPS: u32 = 360;
        let sin = (1.0 - cos_theta * cos_theta).max(0.0).sqrt();
        let open: f32 = (0..STEPS)
            .map(|k| {
                let (y, x) = (TAU * (f64::from(k) + 0.5) / f64::from(STEPS)).sin_cos();
                self.toward(Vec3::new((sin * x) as f32, (sin * y) as f32, cos_theta as f32))
            })
            .sum();
        f64::from(open) / f64::from(STEPS)
    }

    /// Solid angle of the opening, sr: ∫∫ dx dy/(1 + x² + y²)^{3/2} over it, the inner integral in
    /// closed form y/((1 + x²)√(1 + x² + y²)).
    pub fn solid_angle(&self) -> f64 {
        let (left, right) = (self.across[0].max(-self.iris), self.across[1].min(self.iris));
        if left >= right {
            return 0.0;
        }
        // x = r sin t takes the iris's vertical tangents out of the integrand
        let (from, to) = ((left / self.iris).asin(), (right / self.iris).asin());
        let up_to = |x: f64, y: f64| y / ((1.0 + x * x) * (1.0 + x * x + y * y).sqrt());
        const PIECES: u32 = 64;
        let step = (to - from) / f64::from(PIECES);
        (0..PIECES)
            .map(|k| {
                let start = from + step * f64::from(k);
                step * integrate_unit(8, |u| {
                    let (sin, cos) = (start + u * step).clamp(-FRAC_PI_2, FRAC_PI_2).sin_cos();
                    let (x, half) = (self.iris * sin, self.iris * cos);
                    let low = (-half).max(self.upward[0]);
                    let high = half.min(self.upward[1]);
                    if high > low {
                        (up_to(x, high) - up_to(x, low)) * self.iris * cos
                    } else {
                        0.0
                    }
                })
            })
            .sum()
    }
}
