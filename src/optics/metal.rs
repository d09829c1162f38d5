//! Rough metal: silver and gold reflector cloth, foil.
//!
//! ```text
//!   f = ρ · D G1 G1 / (4 cosθo cosθi)        ρ: reflectance of the metal, by colour
//! ```
//! GGX with one scattering (see [`super::ggx`]); the rise of a metal's reflectance toward grazing
//! is small and left out. What masking loses is made good at α's mean albedo, so that ρ is what
//! the surface sends back in all of diffuse light.

use glam::Vec3;

use super::ggx::{self, KNOTS};

/// A rough mirror: GGX α and the tables it gives.
#[derive(Debug, Clone)]
pub struct Metal {
    alpha: f32,
    /// Directional albedo for ρ = 1, over the cosine.
    albedo: [f32; KNOTS],
    /// 1 over the mean albedo of one scattering.
    scale: f32,
}

impl Metal {
    /// A metal of GGX width `alpha` (held to 0.02..1).
    pub fn new(alpha: f32) -> Self {
        let alpha = alpha.clamp(0.02, 1.0);
        let once: [f64; KNOTS] = std::array::from_fn(|k| {
            let cos = (k as f64 / (KNOTS - 1) as f64).max(1e-6);
            ggx::energy(cos, f64::from(alpha), None, 20).reflected
        });
        let scale = 1.0 / ggx::cosine_mean(&once);
        Self { alpha, albedo: once.map(|share| (share * scale) as f32), scale: scale as f32 }
    }

    /// GGX α.
    pub fn alpha(&self) -> f32 {
        self.alpha
    }

    /// 1 over the mean albedo of one scattering.
    pub fn scale(&self) -> f32 {
        self.scale
    }

    /// BRDF in 1/sr.
    #[inline]
    pub fn eval(&self, reflectance: Vec3, wo: Vec3, wi: Vec3) -> Vec3 {
        let alpha2 = self.alpha * self.alpha;
        reflectance * (self.scale * ggx::reflection_over_fresnel(wo, wi, wo + wi, alpha2))
    }

    /// Density of [`Metal::sample`], 1/sr.
    #[inline]
    pub fn pdf(&self, wo: Vec3, wi: Vec3) -> f32 {
        ggx::reflection_pdf(wo, wo + wi, self.alpha * self.alpha)
    }

    /// A direction mirrored at a visible normal.
    #[inline]
    pub fn sample(&self, wo: Vec3, u: f32, v: f32) -> Option<Vec3> {
        let m = ggx::sample_visible_normal(wo, self.alpha, u, v);
        let wi = m * (2.0 * wo.dot(m)) - wo;
        (wi.z > 0.0).then(|| wi.normalize())
    }

    /// Share of light arriving with cosine `cos` that is sent back.
    pub fn albedo(&self, reflectance: Vec3, cos: f32) -> Vec3 {
        reflectance * ggx::lookup(&self.albedo, cos)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// White metal returns all of diffuse light, and its own draws find the albedo it states.
    #[test]
    fn white_metal_loses_nothing_on_the_whole() {
        for alpha in [0.1, 0.3, 0.6] {
            let metal = Metal::new(alpha);
            let mean = ggx::cosine_mean(&metal.albedo.map(f64::from));
            assert!((mean - 1.0).abs() < 1e-4, "{alpha}: {mean}");
            for cos in [0.2f32, 0.6, 1.0] {
                let wo = Vec3::new((1.0 - cos * cos).sqrt(), 0.0, cos);
                let (mut sum, side) = (0.0f64, 200u32);
                for k in 0..side * side {
                    let (u, v) = ((k % side) as f32 + 0.5, (k / side) as f32 + 0.5);
                    let (u, v) = (u / side as f32, v / side as f32);
                    if let Some(wi) = metal.sample(wo, u, v) {
                        let share = metal.eval(Vec3::ONE, wo, wi).x * wi.z / metal.pdf(wo, wi);
                        sum += f64::from(share);
                    }
                }
                let got = sum / f64::from(side * side);
                let stated = f64::from(metal.albedo(Vec3::ONE, cos).x);
                assert!((got / stated - 1.0).abs() < 0.01, "{alpha} {cos}: {got} {stated}");
            }
        }
    }
}
