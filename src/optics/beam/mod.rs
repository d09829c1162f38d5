//! Beam shapes: luminous intensity over direction, relative to the axis; their solid angle, their
//! beam and field angles, and directions drawn from them.
//!
//! Directions are in the frame of the front: x to the right of somebody who looks along the axis,
//! y up, z along the axis. Nothing leaves toward z ≤ 0.
//!
//! ```text
//!   Cosine   cosⁿθ                      soft fronts; n = 1 is Lambertian
//!   Dish     2^−(θ/θb)^k                open reflectors, by beam and field angle
//!   Gate     1 inside an iris and four shutters, 0 outside; sharp at one distance
//!   Table    θ × φ, bilinear            photometric files, grids, sky through a window
//! ```

mod gate;
mod sampler;
mod screen;
mod table;

use std::f32::consts::LOG2_10;
use std::f64::consts::{FRAC_PI_2, TAU};
use std::sync::Arc;

use glam::{DVec3, Vec3};

pub use gate::Gate;
pub use sampler::BeamSampler;
pub use screen::{Screen, screened};
pub use table::Table;

use super::quadrature::integrate_unit;

/// How intensity goes with direction.
#[derive(Debug, Clone, PartialEq)]
pub enum Beam {
    /// I(θ) = cosⁿθ; n = 1 is a Lambertian front.
    Cosine {
        /// The exponent n.
        exponent: f64,
    },
    /// I(θ) = 2^−(θ/θb)^k through 50 % at half the beam angle and 10 % at half the field angle.
    Dish {
        /// Full angle at 50 % of the peak, radians.
        beam_rad: f64,
        /// Full angle at 10 % of the peak, radians.
        field_rad: f64,
    },
    /// Even inside a lens spot's gate.
    Gate(Gate),
    /// Tabulated; its unit is the table's own (a photometric file: the peak).
    Table(Arc<Table>),
}

impl Beam {
    /// I(θ)/I(0); zero behind the front. Of a beam that is not round: the mean around the axis.
    pub fn relative_intensity(&self, cos_theta: f64) -> f64 {
        if cos_theta <= 0.0 {
            return 0.0;
        }
        match self {
            Beam::Cosine { exponent } => cos_theta.powf(*exponent),
            Beam::Dish { beam_rad, field_rad } => {
                let k = std::f64::consts::LOG2_10.log2() / (field_rad / beam_rad).log2();
                let theta = cos_theta.min(1.0).acos();
                (-(theta / (0.5 * beam_rad)).powf(k)).exp2()
            }
            Beam::Gate(gate) => gate.mean_around(cos_theta),
            Beam::Table(table) => table.mean_around(cos_theta.min(1.0).acos()),
        }
    }

    /// [`Beam::relative_intensity`] of a round beam in single precision, for rays.
    #[inline]
    pub fn relative_intensity_f32(&self, cos_theta: f32) -> f32 {
        if cos_theta <= 0.0 {
            return 0.0;
        }
        match self {
            Beam::Cosine { exponent: 1.0 } => cos_theta,
            Beam::Cosine { exponent } => cos_theta.powf(*exponent as f32),
            Beam::Dish { beam_rad, field_rad } => {
                let (beam, field) = (*beam_rad as f32, *field_rad as f32);
                let k = LOG2_10.log2() / (field / beam).log2();
                // acos as 2 asin √((1 − cosθ)/2): exact near the axis, where it matters.
                let theta = 2.0 * (0.5 * (1.0 - cos_theta.min(1.0))).sqrt().asin();
                (-(k * (2.0 * theta / beam).log2()).exp2()).exp2()
            }
            Beam::Gate(_) | Beam::Table(_) => self.relative_intensity(f64::from(cos_theta)) as f32,
        }
    }

    /// Relative intensity toward a unit direction in the front's frame, for rays.
    #[inline]
    pub fn toward(&self, local: Vec3) -> f32 {
        match self {
            Beam::Gate(gate) => gate.toward(local),
            Beam::Table(table) => table.toward(local),
            _ => self.relative_intensity_f32(local.z),
        }
    }

    /// Full angle in radians at which the beam falls to `share` of what it has on its axis, across
    /// the plane at `azimuth_rad` (0: to the right); the outermost such angle on each side, both
    /// sides together. 50 % is the beam angle, 10 % the field angle. None for a beam that is dark on
    /// its axis.
    pub fn full_angle_rad(&self, share: f64, azimuth_rad: f64) -> Option<f64> {
        let at = |theta: f64, azimuth: f64| {
            let local =
                DVec3::new(theta.sin() * azimuth.cos(), theta.sin() * azimuth.sin(), theta.cos());
            match self {
                Beam::Gate(_) | Beam::Table(_) => f64::from(self.toward(local.as_vec3())),
                _ => self.relative_intensity(local.z),
            }
        };
        let level = share * at(0.0, azimuth_rad);
        if level <= 0.0 {
            return None;
        }
        let side = |azimuth: f64| {
            const STEPS: usize = 1800;
            let theta = |k: usize| FRAC_PI_2 * k as f64 / STEPS as f64;
            let last = (0..STEPS).rev().find(|&k| at(theta(k), azimuth) >= level).unwrap_or(0);
            let (mut inside, mut outside) = (theta(last), theta(last + 1));
            for _ in 0..40 {
                let middle = 0.5 * (inside + outside);
                if at(middle, azimuth) >= level { inside = middle } else { outside = middle }
            }
            0.5 * (inside + outside)
        };
        Some(side(azimuth_rad) + side(azimuth_rad + 0.5 * TAU))
    }

    /// ∫ I/I(0) dΩ in steradians: luminous flux for each candela on the axis.
    pub fn solid_angle(&self) -> f64 {
        match self {
            Beam::Table(table) => table.solid_angle(),
            Beam::Gate(gate) => gate.solid_angle(),
            _ => self.solid_angle_within(0.0, FRAC_PI_2),
        }
    }

    /// The same between two angles from the axis, radians.
    pub fn solid_angle_within(&self, from_rad: f64, to_rad: f64) -> f64 {
        const PIECES: usize = 16;
        let step = (to_rad - from_rad) / PIECES as f64;
        (0..PIECES)
            .map(|k| from_rad + k as f64 * step)
            .map(|start| {
                step * integrate_unit(24, |x| {
                    let (sin, cos) = (start + x * step).sin_cos();
                    self.relative_intensity(cos) * sin
                })
            })
            .sum::<f64>()
            * TAU
    }

    /// Angle from the axis in radians inside which all but 10⁻⁶ of the peak intensity lies.
    fn reach_rad(&self) -> f64 {
        if let Beam::Table(table) = self {
            return table.reach_rad();
        }
        let lit = |theta: f64| self.relative_intensity(theta.cos()) > 1e-6;
        let (mut inside, mut outside) = (0.0, FRAC_PI_2);
        if lit(outside - 1e-9) {
            return outside;
        }
        for _ in 0..50 {
            let middle = 0.5 * (inside + outside);
            if lit(middle) {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        outside
    }
}
