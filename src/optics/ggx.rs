//! The GGX microfacet distribution (Walter, Marschner, Li & Torrance 2007, 'Microfacet Models
//! for Refraction through Rough Surfaces') with separable Smith masking, G = G1(wo)·G1(wi).
//!
//! α is the distribution's own width; an artist's roughness is often √α. Separable masking is
//! chosen because the reference renderer uses it; the height-correlated form is a few per cent
//! brighter at grazing. Single scattering: what the masking loses is not put back here, a coat
//! lets it through to its base.

use std::f32::consts::{FRAC_1_PI, TAU};

use glam::{DVec3, Vec3};

use super::fresnel;
use super::quadrature::gauss_legendre_unit;

/// Knots of the albedo tables, evenly spaced in the cosine from 0 to 1.
pub const KNOTS: usize = 64;

/// D of an unnormalised half vector (1/sr). Written as α²|h|⁴/(π(α²hz² + hx² + hy²)²), which
/// does not cancel at small α as the textbook form does.
#[inline]
pub fn distribution(h: Vec3, alpha2: f32) -> f32 {
    let length2 = h.length_squared();
    let t = alpha2 * h.z * h.z + (h.x * h.x + h.y * h.y);
    FRAC_1_PI * alpha2 * (length2 / t) * (length2 / t)
}

/// G1(w)/cosθ = 2/(cosθ + √(α² + (1 − α²)cos²θ)); finite at grazing.
#[inline]
pub fn masking_over_cos(cos: f32, alpha2: f32) -> f32 {
    2.0 / (cos + (alpha2 + (1.0 - alpha2) * cos * cos).sqrt())
}

/// f/F in 1/sr: D·G1·G1/(4 cosθo cosθi) for the unnormalised half vector `h` = wo + wi.
#[inline]
pub fn reflection_over_fresnel(wo: Vec3, wi: Vec3, h: Vec3, alpha2: f32) -> f32 {
    0.25 * distribution(h, alpha2) * masking_over_cos(wo.z, alpha2) * masking_over_cos(wi.z, alpha2)
}

/// Density in 1/sr of the direction mirrored at a visible normal: G1(wo)·D/(4 cosθo).
#[inline]
pub fn reflection_pdf(wo: Vec3, h: Vec3, alpha2: f32) -> f32 {
    0.25 * distribution(h, alpha2) * masking_over_cos(wo.z, alpha2)
}

/// A normal that `wo` sees, by spherical caps (Dupuy & Benyoub 2023, 'Sampling Visible GGX
/// Normals with Spherical Caps').
#[inline]
pub fn sample_visible_normal(wo: Vec3, alpha: f32, u: f32, v: f32) -> Vec3 {
    let stretched = Vec3::new(wo.x * alpha, wo.y * alpha, wo.z).normalize();
    let (sin_phi, cos_phi) = (TAU * u).sin_cos();
    let z = (1.0 - v) * (1.0 + stretched.z) - stretched.z;
    let r = (1.0 - z * z).max(0.0).sqrt();
    let cap = stretched + Vec3::new(r * cos_phi, r * sin_phi, z);
    Vec3::new(cap.x * alpha, cap.y * alpha, cap.z.max(0.0)).normalize()
}

/// Where light from one direction goes at a rough boundary, after one scattering; the rest is
/// lost to masking.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Energy {
    /// Directional albedo of the reflection lobe, ∫ f cosθi dωi.
    pub reflected: f64,
    /// Share that crosses to the other side.
    pub transmitted: f64,
}

/// [`Energy`] for light with cosine `cos_o`; `eta` is the far side's index over the near
/// side's, None a perfect mirror. Taken on `n`² Gauss–Legendre nodes over the square that
/// [`sample_visible_normal`] maps (half of it: the lobe is symmetric), where the integrands are
/// F·G1(wi) and (1 − F)·G1(wt).
pub fn energy(cos_o: f64, alpha: f64, eta: Option<f64>, n: usize) -> Energy {
    energy_over_nodes(cos_o, alpha, eta, &gauss_legendre_unit(n))
}

/// [`energy`] at [`KNOTS`] cosines. With `n` = 20 the reflected part of an outer boundary is
/// within 3e-4 of n = 400 for α from 0.02 to 1 (a test holds it).
pub fn energy_table(alpha: f64, eta: f64, n: usize) -> [Energy; KNOTS] {
    let nodes = gauss_legendre_unit(n);
    std::array::from_fn(|k| {
        let cos = (k as f64 / (KNOTS - 1) as f64).max(1e-6);
        energy_over_nodes(cos, alpha, Some(eta), &nodes)
    })
}

fn energy_over_nodes(cos_o: f64, alpha: f64, eta: Option<f64>, nodes: &[(f64, f64)]) -> Energy {
    let wo = DVec3::new((1.0 - cos_o * cos_o).max(0.0).sqrt(), 0.0, cos_o);
    let stretched = DVec3::new(wo.x * alpha, 0.0, wo.z).normalize();
    let a2 = alpha * alpha;
    let g1 = |cos: f64| 2.0 * cos / (cos + (a2 + (1.0 - a2) * cos * cos).sqrt());
    let mut sum = Energy { reflected: 0.0, transmitted: 0.0 };
    for &(u, weight_u) in nodes {
        let (sin_phi, cos_phi) = (std::f64::consts::PI * u).sin_cos();
        for &(v, weight_v) in nodes {
            let z = (1.0 - v) * (1.0 + stretched.z) - stretched.z;
            let r = (1.0 - z * z).max(0.0).sqrt();
            let cap = stretched + DVec3::new(r * cos_phi, r * sin_phi, z);
            let m = DVec3::new(cap.x * alpha, cap.y * alpha, cap.z.max(0.0)).normalize();
            let cos_d = wo.dot(m);
            let weight = weight_u * weight_v;
            let f = eta.map_or(1.0, |eta| fresnel::dielectric_f64(cos_d, eta));
            let cos_i = 2.0 * cos_d * m.z - wo.z;
            if cos_i > 0.0 {
                sum.reflected += weight * f * g1(cos_i);
            }
            if let Some(eta) = eta.filter(|_| f < 1.0) {
                // Snell at the facet: wt = (cos_d/η − cos_t) m − wo/η.
                let cos_t = (1.0 - (1.0 - cos_d * cos_d) / (eta * eta)).max(0.0).sqrt();
                let below = wo.z / eta - (cos_d / eta - cos_t) * m.z;
                if below > 0.0 {
                    sum.transmitted += weight * (1.0 - f) * g1(below);
                }
            }
        }
    }
    sum
}

/// Linear look-up in a table over the cosine.
#[inline]
pub fn lookup(table: &[f32; KNOTS], cos: f32) -> f32 {
    let x = cos.clamp(0.0, 1.0) * (KNOTS - 1) as f32;
    let k = (x as usize).min(KNOTS - 2);
    let t = x - k as f32;
    table[k] + t * (table[k + 1] - table[k])
}

/// Cosine-weighted mean 2 ∫ f μ dμ of a table, exact for the straight pieces that
/// [`lookup`] draws between its knots.
pub fn cosine_mean(table: &[f64; KNOTS]) -> f64 {
    let step = 1.0 / (KNOTS - 1) as f64;
    table
        .windows(2)
        .enumerate()
        .map(|(k, pair)| {
            let (x0, x1) = (k as f64 * step, (k + 1) as f64 * step);
            let (a, b) = (pair[0], pair[1]);
            // ∫ of (a → b)·(x0 → x1) over one step.
            2.0 * step * (a * x0 + b * x1 + 0.5 * (a * x1 + b * x0)) / 3.0
        })
        .sum()
}
