//! Geometry of light on a set: bounce by the mirror rule, spots, shadows' edges, what a beam hits.

use glam::DVec3;

/// Aim and path of light that reaches the subject by way of the ceiling as in a mirror.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MirrorBounce {
    /// Tilt of the head above the horizontal, radians.
    pub head_rad: f64,
    /// Length of the path, head to ceiling to subject, metres.
    pub path_m: f64,
}

/// The mirror path off a ceiling `above_m` over both the head and the subject, who stands
/// `away_m` off. A matt ceiling has no such path; this is the rule of thumb for aiming.
pub fn mirror_bounce(above_m: f64, away_m: f64) -> MirrorBounce {
    MirrorBounce { head_rad: (2.0 * above_m).atan2(away_m), path_m: (2.0 * above_m).hypot(away_m) }
}

/// Diameter in metres of the spot that a beam of full angle `full_rad` makes at `distance_m`.
pub fn spot_diameter_m(full_rad: f64, distance_m: f64) -> f64 {
    2.0 * distance_m * (0.5 * full_rad).tan()
}

/// Width in metres of a shadow's edge: source of `source_m`, edge at `to_edge_m` from it, cloth
/// `behind_m` behind the edge.
pub fn penumbra_m(source_m: f64, to_edge_m: f64, behind_m: f64) -> f64 {
    source_m * behind_m / to_edge_m
}

/// Angle in radians at `from` between the directions to `a` and to `b`: how far off its axis a
/// head that aims at `a` shines on a lens at `b`.
pub fn angle_between_rad(from: DVec3, a: DVec3, b: DVec3) -> f64 {
    (a - from).angle_between(b - from)
}
