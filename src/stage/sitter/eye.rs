//! Eyeballs: sclera, iris and pupil on one polar mesh with a bulging cornea.
//!
//! In: centre, gaze. Out: a [`Mesh`] with tints. Corneal radius 7.8 mm and index 1.376 are those
//! of Gullstrand's schematic eye; the iris is 11.8 mm across (common anatomy, from memory).

use std::f32::consts::{PI, TAU};

use glam::{Mat3, Vec3};

use super::head::EYEBALL_M;
use crate::optics::surface::Surface;
use crate::stage::{Mesh, Role};

const CORNEA_M: f32 = 0.0078;
const LIMBUS_M: f32 = 0.0059;
const PUPIL_M: f32 = 0.0019;
/// Meridians.
const ROUND: usize = 56;

/// Linear reflectance of sclera and iris (hazel brown); chosen by eye, no source.
const SCLERA: Vec3 = Vec3::new(0.60, 0.555, 0.52);
const IRIS: Vec3 = Vec3::new(0.095, 0.050, 0.026);

/// An eyeball at `centre` whose own axes are `axes` (z is the line of sight).
pub fn eyeball(name: &str, centre: Vec3, axes: Mat3, surface: Surface) -> Mesh {
    let mut mesh = Mesh {
        name: name.into(),
        role: Role::Eye,
        positions: Vec::new(),
        normals: Vec::new(),
        tints: Vec::new(),
        triangles: Vec::new(),
        surface,
    };
    // Rings by angle from the line of sight: close together over pupil and iris.
    let mut rings: Vec<f32> = (0..=24).map(|i| 0.56 * i as f32 / 24.0).collect();
    rings.extend((1..=22).map(|i| 0.56 + (PI - 0.56) * i as f32 / 22.0));
    for (i, &polar) in rings.iter().enumerate() {
        let h = 2e-3;
        let (r0, r1) = (profile(polar - h), profile(polar + h));
        let around = if polar == 0.0 || i + 1 == rings.len() { 1 } else { ROUND };
        for k in 0..around {
            let (sin, cos) = (TAU * k as f32 / ROUND as f32).sin_cos();
            let radial = Vec3::new(cos, sin, 0.0);
            let out = |a: f32, r: f32| radial * (r * a.sin()) + Vec3::Z * (r * a.cos());
            let at = out(polar, profile(polar));
            let along = out(polar + h, r1) - out(polar - h, r0);
            let normal = along.cross(Vec3::new(-sin, cos, 0.0));
            let normal = if around == 1 { at } else { normal };
            mesh.positions.push(centre + axes * at);
            mesh.normals.push((axes * normal).normalize());
            mesh.tints.push(tint(polar.sin() * profile(polar), cos.atan2(sin), polar > 1.2));
        }
    }
    let start = |ring: usize| if ring == 0 { 0 } else { 1 + (ring - 1) * ROUND };
    for ring in 0..rings.len() - 1 {
        for k in 0..ROUND {
            let next = (k + 1) % ROUND;
            let at = |r: usize, k: usize| {
                (start(r) + if r == 0 || r + 1 == rings.len() { 0 } else { k }) as u32
            };
            let (a, b, c, d) = (at(ring, k), at(ring + 1, k), at(ring + 1, next), at(ring, next));
            if a != d {
                mesh.triangles.push([a, c, d]);
            }
            if b != c {
                mesh.triangles.push([a, b, c]);
            }
        }
    }
    mesh
}

/// Distance from the eyeball's centre at an angle from the line of sight.
fn profile(polar: f32) -> f32 {
    let polar = polar.abs();
    // The cornea's own sphere passes through the limbus.
    let limbus_z = (EYEBALL_M * EYEBALL_M - LIMBUS_M * LIMBUS_M).sqrt();
    let cornea_z = limbus_z - (CORNEA_M * CORNEA_M - LIMBUS_M * LIMBUS_M).sqrt();
    let (sin, cos) = polar.sin_cos();
    let inside = CORNEA_M * CORNEA_M - (cornea_z * sin).powi(2);
    if inside <= 0.0 || cos <= 0.0 {
        return EYEBALL_M;
    }
    let cornea = cornea_z * cos + inside.sqrt();
    // Rounded into the sclera over a fraction of a millimetre.
    -super::field::smooth_min(-EYEBALL_M, -cornea, 0.0006)
}

fn tint(rho: f32, around: f32, behind: bool) -> Vec3 {
    let step = |edge: f32, soft: f32| ((rho - edge) / soft + 0.5).clamp(0.0, 1.0);
    if behind {
        return SCLERA;
    }
    // Fibres of the iris, a lighter collar round the pupil, a dark ring at the limbus.
    let fibres = 1.0 + 0.30 * (around * 23.0).sin() * (around * 9.0 + 1.3).cos();
    let collar = 1.0 + 0.7 * (-((rho - 0.0030) / 0.0009).powi(2)).exp();
    let iris = IRIS * (fibres * collar) * (1.0 - 0.7 * step(LIMBUS_M - 0.0004, 0.0012));
    let open = iris * step(PUPIL_M, 0.0004) + Vec3::splat(0.002);
    let white = SCLERA * (1.0 - 0.22 * step(0.0095, 0.006));
    open.lerp(white, step(LIMBUS_M + 0.0001, 0.0009))
}
