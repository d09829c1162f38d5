//! Where a meter is held, and what its readings mean.

use glam::Vec3;

use crate::stage::{ABSENT_FACE_M, Stage};

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
