//! How surfaces scatter. Directions are in the local frame, z along the surface normal,
//! both pointing away from the surface.

use std::f32::consts::{FRAC_1_PI, TAU};
use std::sync::Arc;

use glam::Vec3;

/// A surface's scattering, all but its per-point reflectance.
#[derive(Debug, Clone)]
pub struct Surface {
    /// Name for exports and messages.
    pub name: String,
    /// Diffuse reflectance, linear Rec.709.
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
}

/// A rough dielectric layer: refractive index, GGX roughness.
#[derive(Debug, Clone)]
pub struct Coat {
    /// Refractive index against air.
    pub ior: f32,
    /// GGX α.
    pub alpha: f32,
}

/// Velvet's pile.
#[derive(Debug, Clone)]
pub struct Velvet {
    /// Strength of the rim, 0 to 1.
    pub pile: f32,
}

impl Surface {
    /// A matt surface.
    pub fn diffuse(name: impl Into<String>, reflectance: Vec3) -> Self {
        Self { name: name.into(), reflectance, scatter: Scatter::Diffuse }
    }

    /// BRDF f(wo, wi) in 1/sr without the cosine; zero unless both are above the surface.
    /// `reflectance` is the point's diffuse reflectance (the surface's own times any tint).
    pub fn eval(&self, reflectance: Vec3, wo: Vec3, wi: Vec3) -> Vec3 {
        if wo.z <= 0.0 || wi.z <= 0.0 {
            return Vec3::ZERO;
        }
        reflectance * FRAC_1_PI
    }

    /// Density of [`Surface::sample`] in 1/sr at `wi`. Independent of the reflectance's colour
    /// except through its luminance.
    pub fn pdf(&self, _reflectance: Vec3, wo: Vec3, wi: Vec3) -> f32 {
        if wo.z <= 0.0 || wi.z <= 0.0 { 0.0 } else { wi.z * FRAC_1_PI }
    }

    /// A direction drawn for `wo`; `u` picks the lobe (x) and the direction (y, z).
    pub fn sample(&self, _reflectance: Vec3, wo: Vec3, u: Vec3) -> Option<Vec3> {
        if wo.z <= 0.0 {
            return None;
        }
        let (r, phi) = (u.y.sqrt(), TAU * u.z);
        Some(Vec3::new(r * phi.cos(), r * phi.sin(), (1.0 - u.y).max(0.0).sqrt()))
    }
}
