//! How surfaces scatter. Directions are in the local frame, z along the surface normal,
//! both pointing away from the surface.

use std::f32::consts::{FRAC_1_PI, TAU};
use std::sync::Arc;

use glam::Vec3;

pub use super::coat::Coat;
pub use super::metal::Metal;
pub use super::velvet::Velvet;

/// A surface's scattering, all but its per-point reflectance.
#[derive(Debug, Clone)]
pub struct Surface {
    /// Name for exports and messages.
    pub name: String,
    /// Diffuse reflectance, linear Rec.709; of the base where there is a coat.
    pub reflectance: Vec3,
    /// Shape of the scattering.
    pub scatter: Scatter,
}

/// Shapes of scattering.
#[derive(Debug, Clone)]
pub enum Scatter {
    /// Lambert: f = ρ/π.
    Diffuse,
    /// Rough dielectric over a diffuse base (skin, satin, eyes, gloss paint).
    Coated(Arc<Coat>),
    /// Diffuse base with an asperity rim that brightens toward grazing (velvet).
    Velvet(Arc<Velvet>),
    /// Rough metal (silver and gold boards).
    Metal(Arc<Metal>),
}

impl Surface {
    /// A matt surface.
    pub fn diffuse(name: impl Into<String>, reflectance: Vec3) -> Self {
        Self { name: name.into(), reflectance, scatter: Scatter::Diffuse }
    }

    /// A diffuse base under a rough dielectric of refractive index `ior` and GGX α `alpha`.
    pub fn coated(name: impl Into<String>, base: Vec3, ior: f32, alpha: f32) -> Self {
        let scatter = Scatter::Coated(Arc::new(Coat::new(ior, alpha)));
        Self { name: name.into(), reflectance: base, scatter }
    }

    /// Velvet on a ground of reflectance `ground` with a rim of strength `pile` (0 to 1).
    pub fn velvet(name: impl Into<String>, ground: Vec3, pile: f32) -> Self {
        let scatter = Scatter::Velvet(Arc::new(Velvet::new(pile)));
        Self { name: name.into(), reflectance: ground, scatter }
    }

    /// Rough metal of GGX α `alpha`.
    pub fn metal(name: impl Into<String>, reflectance: Vec3, alpha: f32) -> Self {
        Self {
            name: name.into(),
            reflectance,
            scatter: Scatter::Metal(Arc::new(Metal::new(alpha))),
        }
    }

    /// BRDF f(wo, wi) in 1/sr without the cosine; zero unless both are above the surface.
    /// `reflectance` is the point's diffuse reflectance (the surface's own times any tint).
    #[inline]
    pub fn eval(&self, reflectance: Vec3, wo: Vec3, wi: Vec3) -> Vec3 {
        if wo.z <= 0.0 || wi.z <= 0.0 {
            return Vec3::ZERO;
        }
        match &self.scatter {
            Scatter::Diffuse => reflectance * FRAC_1_PI,
            Scatter::Coated(coat) => coat.eval(reflectance, wo, wi),
            Scatter::Velvet(velvet) => velvet.eval(reflectance, wo, wi),
            Scatter::Metal(metal) => metal.eval(reflectance, wo, wi),
        }
    }

    /// Density of [`Surface::sample`] in 1/sr at `wi`. Independent of the reflectance's colour
    /// except through its luminance.
    #[inline]
    pub fn pdf(&self, reflectance: Vec3, wo: Vec3, wi: Vec3) -> f32 {
        if wo.z <= 0.0 || wi.z <= 0.0 {
            return 0.0;
        }
        match &self.scatter {
            Scatter::Diffuse => wi.z * FRAC_1_PI,
            Scatter::Coated(coat) => coat.pdf(reflectance, wo, wi),
            Scatter::Velvet(velvet) => velvet.pdf(reflectance, wo, wi),
            Scatter::Metal(metal) => metal.pdf(wo, wi),
        }
    }

    /// A direction drawn for `wo`; `u` picks the lobe (x) and the direction (y, z). None where
    /// the draw falls below the surface, which counts as a sample of zero.
    #[inline]
    pub fn sample(&self, reflectance: Vec3, wo: Vec3, u: Vec3) -> Option<Vec3> {
        if wo.z <= 0.0 {
            return None;
        }
        match &self.scatter {
            Scatter::Diffuse => Some(cosine_hemisphere(u.y, u.z)),
            Scatter::Coated(coat) => coat.sample(reflectance, wo, u),
            Scatter::Velvet(velvet) => velvet.sample(reflectance, wo, u),
            Scatter::Metal(metal) => metal.sample(wo, u.y, u.z),
        }
    }

    /// Share of light arriving with cosine `cos` that the surface sends back in all directions.
    pub fn albedo(&self, reflectance: Vec3, cos: f32) -> Vec3 {
        match &self.scatter {
            Scatter::Diffuse => reflectance,
            Scatter::Coated(coat) => coat.albedo(reflectance, cos),
            Scatter::Velvet(velvet) => velvet.albedo(reflectance, cos),
            Scatter::Metal(metal) => metal.albedo(reflectance, cos),
        }
    }
}

/// A direction with density cosθ/π.
#[inline]
pub(super) fn cosine_hemisphere(u: f32, v: f32) -> Vec3 {
    let r = u.sqrt();
    let (sin_phi, cos_phi) = (TAU * v).sin_cos();
    // Never exactly in the plane, where the density would be zero.
    Vec3::new(r * cos_phi, r * sin_phi, (1.0 - u).max(1e-12).sqrt())
}
