//! Whether a light is mirrored in the eyes: without a catchlight they look dead.

use glam::Vec3;

use super::looks::Looks;
use super::{Note, Severity};
use crate::stage::{Light, Role};

/// Half the side of the square that is looked at round an eye, metres: an eye's opening is some
/// 30 mm wide and 11 mm high.
const HALF_M: f32 = 0.015;
/// Looks along the square's side: 0.15 mm apart, half the image that a dish of 18 cm leaves in a
/// cornea at 2.5 m.
const SIDE: u32 = 200;
/// Fewer looks than this that meet an eye, and it is as good as hidden.
const SEEN: u32 = 200;

pub(super) fn notes(looks: &Looks) -> Option<Note> {
    let eyes = ["left_eye", "right_eye"].map(|name| looks.mark(name));
    let open: Vec<_> = eyes
        .into_iter()
        .flatten()
        .filter_map(|(eye, facing)| mirrored(looks, eye).map(|lit| (eye, facing, lit)))
        .collect();
    if open.is_empty() || open.iter().any(|(_, _, lit)| *lit) {
        return None;
    }
    let (light, off_deg, shut) = open
        .iter()
        .flat_map(|(eye, facing, _)| {
            looks.lights().map(|light| {
                let before = *eye + 0.02 * *facing;
                let shut = looks.blocker(before, *facing, light).map(|(mesh, _)| mesh.name.clone());
                (light, off_middle_deg(looks, *eye, *facing, light), shut)
            })
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let why = match shut {
        Some(name) => format!("and {name} stands before it"),
        None => "where lid or brow cover it".into(),
    };
    Some(Note::new(
        Severity::Caution,
        "sitter",
        format!(
            "no head is mirrored in the eyes: the nearest to it, \"{}\", would show {off_deg:.0}° \
             off the middle of the eye, {why}",
            light.name
        ),
        format!(
            "clear its way, lower it or bring it toward the lens by {:.0}° or so (eyes are open to \
             about 20°), turn the face to it, or add a weak light near the lens",
            // the mirrored place moves by half of what the light does
            (2.0 * (off_deg - 20.0)).max(5.0)
        ),
    ))
}

/// Whether a head is mirrored in the eye as the lens sees it; None where the eye is hidden.
fn mirrored(looks: &Looks, eye: Vec3) -> Option<bool> {
    let camera = &looks.stage.camera;
    let planned: Vec<bool> = looks
        .tracer
        .scene
        .lights
        .iter()
        .map(|light| looks.plan.lights.iter().any(|planned| planned.name == light.name))
        .collect();
    let mut seen = 0;
    for row in 0..SIDE {
        for column in 0..SIDE {
            let across = |step: u32| (2.0 * (step as f32 + 0.5) / SIDE as f32 - 1.0) * HALF_M;
            let at = eye + camera.right * across(column) + camera.up * across(row);
            let direction = (at - camera.position).normalize();
            let Some(hit) = looks.tracer.scene.intersect(camera.position, direction) else {
                continue;
            };
            if looks.stage.meshes[hit.surface as usize].role != Role::Eye {
                continue;
            }
            seen += 1;
            let mirror = (direction - 2.0 * direction.dot(hit.shading) * hit.shading).normalize();
            let from = hit.position + hit.geometric * 1e-4;
            let fronts = looks.tracer.fronts_seen(from, mirror);
            if fronts.iter().zip(&planned).any(|(front, planned)| *planned && *front > 0.0) {
                return Some(true);
            }
        }
    }
    (seen >= SEEN).then_some(false)
}

/// How far from the middle of the eye a light is mirrored: the angle between the eye's axis and
/// the line half-way between light and lens.
fn off_middle_deg(looks: &Looks, eye: Vec3, facing: Vec3, light: &Light) -> f64 {
    let to_light = (light.source.position - eye).normalize_or(facing);
    let to_lens = (looks.stage.camera.position - eye).normalize_or(facing);
    let halfway = (to_light + to_lens).normalize_or(facing);
    f64::from(halfway.angle_between(facing)).to_degrees()
}
