//! Where a meter is held, and what its readings mean.

use glam::Vec3;

use crate::stage::{ABSENT_FACE_M, Role, Stage};
use crate::trace::Scene;

/// Distance of the receptor before the surface it stands for, metres: a meter held close to the
/// skin without touching it.
const BEFORE_SURFACE_M: f32 = 0.02;

/// Position of a meter held at a named mark and the direction the surface there looks to. A set
/// without the mark is read at standing face height above the stage mark, toward +z.
pub fn held_at(stage: &Stage, name: &str) -> (Vec3, Vec3) {
    stage
        .marks
        .iter()
        .find(|mark| mark.name == name)
        .map_or((Vec3::Y * ABSENT_FACE_M, Vec3::Z), |mark| {
            (mark.position + mark.facing * BEFORE_SURFACE_M, mark.facing)
        })
}

/// How much of the sitter's own body may lie between a part of it and the side that a light
/// strikes, metres: a head, a chest or a thigh is not thicker.
const BODY_M: f32 = 0.35;

/// Position of a meter that is turned toward a light at `light` when it is to read what falls on
/// the sitter at `at`: there, or, where the sitter's own body shades that place (a rim light
/// behind the head), before the side that the light strikes on its way there.
pub fn held_toward(stage: &Stage, scene: &Scene, at: Vec3, light: Vec3) -> Vec3 {
    let distance = at.distance(light);
    let reach = BODY_M.min(distance);
    if reach < 2.0 * BEFORE_SURFACE_M {
        return at;
    }
    let toward = (light - at) / distance;
    let from = at + toward * reach;
    let is_sitter =
        |role: Role| matches!(role, Role::Skin | Role::Eye | Role::Hair | Role::Garment);
    match scene.intersect(from, -toward) {
        // the scene has one surface a mesh, in the stage's order
        Some(hit)
            if hit.distance < reach
                && stage.meshes.get(hit.surface as usize).is_some_and(|m| is_sitter(m.role)) =>
        {
            hit.position + toward * BEFORE_SURFACE_M
        }
        _ => at,
    }
}
