//! Rough dielectric over a diffuse base: skin, satin, eyes, gloss paint.
//!
//! ```text
//!   f = F D G1 G1 / (4 cosθo cosθi)  +  ρ/π · T(θo) T(θi) / (n² (1 − ρ·F_int))
//! ```
//! T(θ) = 1 − directional albedo of the first term: all that the lobe does not send back goes
//! into the base. F_int, the share of diffuse light thrown back from inside, follows from
//! T by (1 − F_int) = T̄/n², T̄ = 2 ∫ T μ dμ. That is Saunderson's correction with a rough
//! boundary; with a white base the whole returns exactly what arrives, at every angle.
//!
//! [`Coat::single_scatter`] keeps the equation and fills T and F_int the way Mitsuba 3's
//! `roughplastic` does: only what crosses the facets in one go. That loses light to masking (at
//! n 1.4, α 0.3 a white base returns 0.72 of what arrives at normal incidence), so it
//! serves to compare renderers on equal terms, not to show a set.

use std::f32::consts::FRAC_1_PI;

use glam::Vec3;

use super::ggx::{self, KNOTS};
use super::{color, fresnel};

/// A rough dielectric layer: refractive index, GGX roughness, and the tables they give.
#[derive(Debug, Clone)]
pub struct Coat {
    ior: f32,
    alpha: f32,
    /// Directional albedo of the reflection lobe, over the cosine.
    reflected: [f32; KNOTS],
    /// T, over the cosine.
    transmittance: [f32; KNOTS],
    mean_transmittance: f32,
    internal_reflectance: f32,
}

/// What a lobe choice needs for one outgoing direction.
struct Weights {
    specular: f32,
    diffuse: f32,
}

impl Coat {
    /// A coat of refractive index `ior` against air (held to 1.01..3) and GGX width `alpha`
    /// (held to 0.005..1). Builds its tables in about a millisecond.
    pub fn new(ior: f32, alpha: f32) -> Self {
        let (ior, alpha) = held(ior, alpha);
        let eta = f64::from(ior);
        let table = ggx::energy_table(f64::from(alpha), eta, 20);
        let through = table.map(|energy| 1.0 - energy.reflected);
        let internal = 1.0 - ggx::cosine_mean(&through) / (eta * eta);
        Self::with_tables(ior, alpha, table.map(|energy| energy.reflected), through, internal)
    }

    /// The same coat with the reference renderer's tables (see the head of this file).
    pub fn single_scatter(ior: f32, alpha: f32) -> Self {
        let (ior, alpha) = held(ior, alpha);
        let (eta, width) = (f64::from(ior), f64::from(alpha));
        let outside = ggx::energy_table(width, eta, 64);
        let inside = ggx::energy_table(width, 1.0 / eta, 64);
        // Its mean is over the knots with equal weight, ends included: 1.5 % under the integral.
        let mean = |k: usize| 2.0 * inside[k].reflected * k as f64 / (KNOTS - 1) as f64;
        let internal = (0..KNOTS).map(mean).sum::<f64>() / KNOTS as f64;
        let through = outside.map(|energy| energy.transmitted);
        Self::with_tables(ior, alpha, outside.map(|energy| energy.reflected), through, internal)
    }

    fn with_tables(
        ior: f32,
        alpha: f32,
        reflected: [f64; KNOTS],
        through: [f64; KNOTS],
        internal: f64,
    ) -> Self {
        Self {
            ior,
            alpha,
            reflected: reflected.map(|share| share as f32),
            transmittance: through.map(|share| share as f32),
            mean_transmittance: ggx::cosine_mean(&through) as f32,
            internal_reflectance: internal as f32,
        }
    }

    /// Refractive index against air.
    pub fn ior(&self) -> f32 {
        self.ior
    }

    /// GGX α.
    pub fn alpha(&self) -> f32 {
        self.alpha
    }

    /// Albedo of the reflection lobe over the cosine, evenly from 0 to 1.
    pub fn reflected_table(&self) -> &[f32; KNOTS] {
        &self.reflected
    }

    /// [`Coat::transmittance`] over the cosine, evenly from 0 to 1.
    pub fn transmittance_table(&self) -> &[f32; KNOTS] {
        &self.transmittance
    }

    /// Cosine-weighted mean of the transmittance.
    pub fn mean_transmittance(&self) -> f32 {
        self.mean_transmittance
    }

    /// Share of light from the direction with cosine `cos` that enters the base.
    #[inline]
    pub fn transmittance(&self, cos: f32) -> f32 {
        ggx::lookup(&self.transmittance, cos)
    }

    /// Share of the base's diffuse light that the boundary throws back down.
    pub fn internal_reflectance(&self) -> f32 {
        self.internal_reflectance
    }

    /// Share of light from the direction with cosine `cos` that leaves again, any way, over a
    /// base of reflectance `base`.
    pub fn albedo(&self, base: Vec3, cos: f32) -> Vec3 {
        let through = self.transmittance(cos);
        Vec3::splat(ggx::lookup(&self.reflected, cos))
            + through * self.mean_transmittance * self.escape(base)
    }

    /// The base that looks like the diffuse reflectance `seen` once under this coat, its sheen
    /// left out: undoes Saunderson's correction. For skin and paint given by measured colour.
    pub fn base_for(&self, seen: Vec3) -> Vec3 {
        // seen = T̄² ρ/(n²(1 − ρF)) solved for ρ.
        let through = (self.mean_transmittance / self.ior).powi(2);
        seen / (Vec3::splat(through) + self.internal_reflectance * seen)
    }

    /// ρ/(n²(1 − ρ·F_int)).
    #[inline]
    fn escape(&self, base: Vec3) -> Vec3 {
        let inverse_n2 = 1.0 / (self.ior * self.ior);
        base * inverse_n2 / (Vec3::ONE - self.internal_reflectance * base)
    }

    /// BRDF in 1/sr; both directions above the surface.
    #[inline]
    pub(super) fn eval(&self, base: Vec3, wo: Vec3, wi: Vec3) -> Vec3 {
        let alpha2 = self.alpha * self.alpha;
        let h = wo + wi;
        let cos_d = wo.dot(h) / h.length();
        let specular =
            fresnel::dielectric(cos_d, self.ior) * ggx::reflection_over_fresnel(wo, wi, h, alpha2);
        let through = FRAC_1_PI * self.transmittance(wo.z) * self.transmittance(wi.z);
        Vec3::splat(specular) + through * self.escape(base)
    }

    #[inline]
    fn weights(&self, base: Vec3, cos_o: f32) -> Weights {
        let through = self.transmittance(cos_o);
        let diffuse = through * self.mean_transmittance * color::luminance(self.escape(base));
        // A tiny share of each keeps both lobes reachable whatever the base.
        let lobe = ggx::lookup(&self.reflected, cos_o);
        let specular = (lobe / (lobe + diffuse).max(1e-6)).clamp(0.02, 0.98);
        Weights { specular, diffuse: 1.0 - specular }
    }

    #[inline]
    pub(super) fn pdf(&self, base: Vec3, wo: Vec3, wi: Vec3) -> f32 {
        let share = self.weights(base, wo.z);
        share.specular * ggx::reflection_pdf(wo, wo + wi, self.alpha * self.alpha)
            + share.diffuse * FRAC_1_PI * wi.z
    }

    #[inline]
    pub(super) fn sample(&self, base: Vec3, wo: Vec3, u: Vec3) -> Option<Vec3> {
        if u.x < self.weights(base, wo.z).specular {
            let m = ggx::sample_visible_normal(wo, self.alpha, u.y, u.z);
            let wi = 2.0 * wo.dot(m) * m - wo;
            (wi.z > 0.0).then_some(wi)
        } else {
            Some(super::surface::cosine_hemisphere(u.y, u.z))
        }
    }
}

/// The ranges in which the tables are sound.
fn held(ior: f32, alpha: f32) -> (f32, f32) {
    (ior.clamp(1.01, 3.0), alpha.clamp(0.005, 1.0))
}
