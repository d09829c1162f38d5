//! Where a meter is held, and what its readings mean.

use glam::Vec3;

use crate::stage::{ABSENT_FACE_M, Role, Stage};
use crate::trace::Scene;

/// Distance of the receptor before the surface it stands for, metres: a meter held close to the
/// skin without touching it.
const BEFORE_SURFACE_M: f32 = 0.02;

/// Position of a meter held at a named mark and the direction the surface there looks to. A set
/// without the mark is read at standing face height above the stage mark, toward +z; above any
/// box that fills that place.
pub fn held_at(stage: &Stage, name: &str) -> (Vec3, Vec3) {
    let mark = stage.marks.iter().find(|mark| mark.name == name);
    if let Some(mark) = mark {
        return (mark.position + mark.facing * BEFORE_SURFACE_M, mark.facing);
    }
    let mut place = Vec3::Y * ABSENT_FACE_M;
    let mut boxes: Vec<(Vec3, Vec3)> = stage
        .meshes
        .iter()
        .filter(|mesh| mesh.role == Role::SetBox)
        .map(|mesh| {
            let points = || mesh.positions.iter().copied();
            (points().fold(Vec3::MAX, Vec3::min), points().fold(Vec3::MIN, Vec3::max))
        })
        .collect();
    // from below up, so that a stack is climbed
    boxes.sort_by(|a, b| a.0.y.total_cmp(&b.0.y));
    for (low, high) in boxes {
        if place.cmpge(low).all() && place.cmple(high).all() {
            place.y = high.y + BEFORE_SURFACE_M;
        }
    }
    (place, Vec3::Z)
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
