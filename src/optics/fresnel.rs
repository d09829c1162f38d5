//! Unpolarised Fresnel reflectance of a dielectric, its hemispherical mean, and what a clear
//! skin does to a diffuse base (Saunderson 1942).

use super::quadrature::integrate_unit;

/// Reflectance at the boundary of a dielectric, unpolarised. `cos_i` is the cosine of incidence
/// on the side the light comes from, `eta` that other side's refractive index over this one's;
/// 1 beyond the critical angle when `eta` < 1.
#[inline]
pub fn dielectric(cos_i: f32, eta: f32) -> f32 {
    // r_s = (c − ηt)/(c + ηt), r_p = (ηc − t)/(ηc + t) with t the cosine of refraction.
    let c = cos_i.clamp(0.0, 1.0);
    let t2 = 1.0 - (1.0 - c * c) / (eta * eta);
    if t2 <= 0.0 {
        return 1.0;
    }
    let t = t2.sqrt();
    let s = (c - eta * t) / (c + eta * t);
    let p = (eta * c - t) / (eta * c + t);
    0.5 * (s * s + p * p)
}

/// [`dielectric`] in double precision, for tables.
pub fn dielectric_f64(cos_i: f64, eta: f64) -> f64 {
    let c = cos_i.clamp(0.0, 1.0);
    let t2 = 1.0 - (1.0 - c * c) / (eta * eta);
    if t2 <= 0.0 {
        return 1.0;
    }
    let t = t2.sqrt();
    let s = (c - eta * t) / (c + eta * t);
    let p = (eta * c - t) / (eta * c + t);
    0.5 * (s * s + p * p)
}

/// Reflectance at normal incidence: ((n − 1)/(n + 1))².
pub fn normal_incidence(ior: f64) -> f64 {
    ((ior - 1.0) / (ior + 1.0)).powi(2)
}

/// Brewster's angle in radians, where the p-polarised part vanishes.
pub fn brewster_rad(ior: f64) -> f64 {
    ior.atan()
}

/// Share of diffuse light that a smooth boundary reflects, arriving from the air:
/// F_ext = 2 ∫ F μ dμ.
pub fn hemispherical_external(ior: f64) -> f64 {
    2.0 * integrate_unit(128, |mu| dielectric_f64(mu, ior) * mu)
}

/// The same from inside, by (1 − F_int) = (1 − F_ext)/n² (reciprocity of the étendue).
pub fn hemispherical_internal(ior: f64) -> f64 {
    1.0 - (1.0 - hemispherical_external(ior)) / (ior * ior)
}

/// Saunderson's correction (J. Opt. Soc. Am. 32, 1942): of diffuse light on a smooth boundary
/// over a base of reflectance `base`, the share that comes back out of the base, without the
/// boundary's own reflection.
pub fn saunderson_diffuse(base: f64, external: f64, internal: f64) -> f64 {
    (1.0 - external) * (1.0 - internal) * base / (1.0 - internal * base)
}
