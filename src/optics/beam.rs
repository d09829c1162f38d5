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

/// TEMP
#[derive(Debug, Clone)]
pub struct BeamSampler {
    beam: Beam,
    cdf: Vec<f32>,
    cos: Vec<f32>,
}
impl BeamSampler {
    /// t
    pub fn new(beam: Beam) -> Self {
        let n = 512;
        let cos: Vec<f32> = (0..=n)
            .map(|i| (std::f64::consts::FRAC_PI_2 * i as f64 / n as f64).cos().max(0.0) as f32)
            .collect();
        let mut cdf = vec![0.0f32];
        let mut acc = 0.0;
        for i in 0..n {
            let a = std::f64::consts::FRAC_PI_2 * i as f64 / n as f64;
            let b = std::f64::consts::FRAC_PI_2 * (i + 1) as f64 / n as f64;
            let m = (beam.relative_intensity(a.cos()).max(beam.relative_intensity(b.cos())) + 1e-6)
                * f64::from(cos[i] - cos[i + 1]);
            acc += m;
            cdf.push(acc as f32);
        }
        for c in &mut cdf {
            *c /= acc as f32;
        }
        Self { beam, cdf, cos }
    }
    /// t
    pub fn sample(&self, u: f32) -> (f32, f32) {
        let i = self.cdf.partition_point(|&c| c <= u).clamp(1, self.cdf.len() - 1) - 1;
        let f = (u - self.cdf[i]) / (self.cdf[i + 1] - self.cdf[i]);
        let c = self.cos[i] + (self.cos[i + 1] - self.cos[i]) * f;
        (c, self.bin_pdf(i))
    }
    fn bin_pdf(&self, i: usize) -> f32 {
        (self.cdf[i + 1] - self.cdf[i]) / (self.cos[i] - self.cos[i + 1]) / std::f32::consts::TAU
    }
    /// t
    pub fn pdf(&self, cos: f32) -> f32 {
        if cos <= 0.0 {
            return 0.0;
        }
        let i = self.cos.partition_point(|&c| c >= cos).clamp(1, self.cos.len() - 1) - 1;
        self.bin_pdf(i)
    }
    /// t
    pub fn relative_intensity_f32(&self, cos: f32) -> f32 {
        self.beam.relative_intensity(f64::from(cos)) as f32
    }
    /// t
    pub fn solid_angle(&self) -> f64 {
        let n = 20000;
        (0..n)
            .map(|i| {
                let t = (i as f64 + 0.5) / n as f64 * std::f64::consts::FRAC_PI_2;
                self.beam.relative_intensity(t.cos()) * t.sin()
            })
            .sum::<f64>()
            * std::f64::consts::FRAC_PI_2
            / n as f64
            * std::f64::consts::TAU
    }
}
