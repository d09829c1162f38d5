//! Beam shapes: luminous intensity over angle from the axis, relative to the axis.

/// A rotationally symmetric beam.
#[derive(Debug, Clone, Copy, PartialEq)]
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
}

impl Beam {
    /// I(θ)/I(0); zero behind the front.
    pub fn relative_intensity(&self, cos_theta: f64) -> f64 {
        if cos_theta <= 0.0 {
            return 0.0;
        }
        match *self {
            Beam::Cosine { exponent } => cos_theta.powf(exponent),
            Beam::Dish { beam_rad, field_rad } => {
                let k = std::f64::consts::LOG2_10.log2() / (field_rad / beam_rad).log2();
                let theta = cos_theta.min(1.0).acos();
                (-(theta / (0.5 * beam_rad)).powf(k)).exp2()
            }
        }
    }
}
