//! From a head's stored energy to light at the subject.

/// Luminous energy in lm·s of `energy_ws` stored watt-seconds at `lm_s_per_ws`.
pub fn luminous_energy_lm_s(energy_ws: f64, lm_s_per_ws: f64) -> f64 {
    energy_ws * lm_s_per_ws
}

/// Axial intensity in cd·s of `lm_s` sent into a beam whose [`super::beam::Beam::solid_angle`]
/// is `solid_angle_sr`.
pub fn axial_intensity_cd_s(lm_s: f64, solid_angle_sr: f64) -> f64 {
    lm_s / solid_angle_sr
}

/// Luminous exposure in lx·s, square to a small source, at `distance_m`.
pub fn luminous_exposure_lux_s(intensity_cd_s: f64, distance_m: f64) -> f64 {
    intensity_cd_s / (distance_m * distance_m)
}

/// Solid angle in steradians of a cone of half angle `half_rad`.
pub fn cone_sr(half_rad: f64) -> f64 {
    // 2π(1 − cos) without cancellation.
    2.0 * std::f64::consts::TAU * (0.5 * half_rad).sin().powi(2)
}
