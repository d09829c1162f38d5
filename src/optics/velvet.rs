//! Velvet: a diffuse ground under a pile whose standing fibres catch light toward grazing.
//!
//! ```text
//!   f = √ρ · p · S(wo, wi)  +  ρ/π · (1 − pE(θo)) (1 − pE(θi)) / (1 − pĒ)
//! ```
//! S is the sheen lobe of Estevez & Kulla (2017, 'Production Friendly Microfacet Sheen BRDF'),
//! D ∝ sinⁿθ of the half vector, with the smooth visibility 1/(4(μo + μi − μoμi)) of Neubelt &
//! Pettineo (2013, 'Crafting a Next-Gen Material Pipeline for The Order: 1886'), scaled so that
//! its directional albedo E reaches 1 at grazing and nowhere more. The ground gets what
//! the pile leaves, so the whole never returns more than arrives; with ρ = 1 it returns all.
//!
//! n = 8 (a narrow rim, no `powf`) and the rim's colour √ρ (one bounce on a fibre, where
//! the ground's ρ is many) are choices of this program, not measured values.

use std::f32::consts::{FRAC_1_PI, TAU};

use glam::Vec3;

use super::color;
use super::ggx::{self, KNOTS};
use super::quadrature::gauss_legendre_unit;

/// Velvet's pile.
#[derive(Debug, Clone)]
pub struct Velvet {
    pile: f32,
    sheen_scale: f32,
    /// Pile's albedo E over the cosine.
    rim: [f32; KNOTS],
    mean_rim: f32,
}

impl Velvet {
    /// A pile of strength `pile`, held to 0..1: its albedo at grazing.
    pub fn new(pile: f32) -> Self {
        let nodes = gauss_legendre_unit(24);
        let raw: [f64; KNOTS] =
            std::array::from_fn(|k| raw_albedo((k as f64 / (KNOTS - 1) as f64).max(1e-6), &nodes));
        let peak = raw.iter().copied().fold(f64::MIN, f64::max);
        let rim = raw.map(|albedo| albedo / peak);
        Self {
            pile: pile.clamp(0.0, 1.0),
            sheen_scale: (1.0 / peak) as f32,
            rim: rim.map(|albedo| albedo as f32),
            mean_rim: ggx::cosine_mean(&rim) as f32,
        }
    }

    /// Strength of the rim: the pile's albedo at grazing, 0 to 1.
    pub fn pile(&self) -> f32 {
        self.pile
    }

    /// What scales the sheen so that its albedo at grazing is 1.
    pub fn sheen_scale(&self) -> f32 {
        self.sheen_scale
    }

    /// The sheen's albedo over the cosine, evenly from 0 to 1.
    pub fn rim_table(&self) -> &[f32; KNOTS] {
        &self.rim
    }

    /// Cosine-weighted mean of the sheen's albedo.
    pub fn mean_rim(&self) -> f32 {
        self.mean_rim
    }

    /// Share of light from the direction with cosine `cos` that leaves again over a ground of
    /// reflectance `ground`.
    pub fn albedo(&self, ground: Vec3, cos: f32) -> Vec3 {
        let rim = self.pile * ggx::lookup(&self.rim, cos);
        rim * fibre(ground) + (1.0 - rim) * ground
    }

    /// What the pile leaves at `cos`.
    #[inline]
    fn left(&self, cos: f32) -> f32 {
        1.0 - self.pile * ggx::lookup(&self.rim, cos)
    }

    /// BRDF in 1/sr; both directions above the surface.
    #[inline]
    pub(super) fn eval(&self, ground: Vec3, wo: Vec3, wi: Vec3) -> Vec3 {
        let h = wo + wi;
        let sin2 = (h.x * h.x + h.y * h.y) / h.length_squared();
        let sin4 = sin2 * sin2;
        let sheen = self.sheen_scale * raw_sheen(sin4 * sin4, wo.z, wi.z);
        let base =
            FRAC_1_PI * self.left(wo.z) * self.left(wi.z) / (1.0 - self.pile * self.mean_rim);
        self.pile * sheen * fibre(ground) + base * ground
    }

    /// Chance that the pile is sampled for `cos_o`.
    #[inline]
    fn rim_share(&self, ground: Vec3, cos_o: f32) -> f32 {
        let rim = (1.0 - self.left(cos_o)) * color::luminance(fibre(ground));
        let base = self.left(cos_o) * color::luminance(ground);
        (rim / (rim + base).max(1e-6)).clamp(0.02, 0.98)
    }

    #[inline]
    pub(super) fn pdf(&self, ground: Vec3, wo: Vec3, wi: Vec3) -> f32 {
        let share = self.rim_share(ground, wo.z);
        share / TAU + (1.0 - share) * FRAC_1_PI * wi.z
    }

    #[inline]
    pub(super) fn sample(&self, ground: Vec3, wo: Vec3, u: Vec3) -> Option<Vec3> {
        if u.x < self.rim_share(ground, wo.z) {
            // Evenly over the hemisphere, as Estevez & Kulla advise for so flat a lobe.
            let (sin_phi, cos_phi) = (TAU * u.z).sin_cos();
            let r = (1.0 - u.y * u.y).max(0.0).sqrt();
            Some(Vec3::new(r * cos_phi, r * sin_phi, u.y.max(1e-6)))
        } else {
            Some(super::surface::cosine_hemisphere(u.y, u.z))
        }
    }
}

/// √ρ, each channel.
#[inline]
fn fibre(ground: Vec3) -> Vec3 {
    Vec3::new(ground.x.sqrt(), ground.y.sqrt(), ground.z.sqrt())
}

/// D·V with D = (n + 2)/2π · sinⁿθ, n = 8.
#[inline]
fn raw_sheen(sin8: f32, cos_o: f32, cos_i: f32) -> f32 {
    5.0 * FRAC_1_PI * sin8 / (4.0 * (cos_o + cos_i - cos_o * cos_i))
}

fn raw_albedo(cos_o: f64, nodes: &[(f64, f64)]) -> f64 {
    let sin_o = (1.0 - cos_o * cos_o).max(0.0).sqrt();
    let mut sum = 0.0;
    for &(cos_i, weight_cos) in nodes {
        let sin_i = (1.0 - cos_i * cos_i).sqrt();
        for &(u, weight_phi) in nodes {
            // Half the circle, doubled: φ = πu.
            let cos_phi = (std::f64::consts::PI * u).cos();
            let cross = 2.0 * sin_o * sin_i * cos_phi;
            let flat2 = sin_o * sin_o + sin_i * sin_i + cross;
            let sin2 = flat2 / (flat2 + (cos_o + cos_i).powi(2));
            let f = f64::from(raw_sheen(sin2.powi(4) as f32, cos_o as f32, cos_i as f32));
            sum += weight_cos * weight_phi * std::f64::consts::TAU * f * cos_i;
        }
    }
    sum
}
