//! Whether a backdrop fills the frame behind the sitter.

use glam::Vec3;

use super::looks::Looks;
use super::{Note, Severity};
use crate::plan::{Cloth, ClothShape};
use crate::stage::Role;

/// A backdrop that takes less of the frame is not meant to fill it.
const MEANT: f64 = 0.2;
/// Bare wall in the frame from this share on is worth a word.
const SHARE: f64 = 0.003;

pub(super) fn notes(looks: &Looks) -> Vec<Note> {
    looks.plan.cloths.iter().filter_map(|cloth| past_its_edges(looks, cloth)).collect()
}

fn past_its_edges(looks: &Looks, cloth: &Cloth) -> Option<Note> {
    let ClothShape::Backdrop { width, top, behind, x, turn, .. } = &cloth.shape else {
        return None;
    };
    let all = looks.grid.len().max(1) as f64;
    let covers = |mesh: usize| looks.stage.meshes[mesh].name == cloth.name;
    let covered = looks.grid.iter().filter(|look| covers(look.mesh)).count() as f64 / all;
    if covered < MEANT {
        return None;
    }
    // the bar's plane
    let middle = Vec3::new(x.metres as f32, 0.0, -behind.metres as f32);
    let turned = glam::Quat::from_rotation_y(turn.to_radians() as f32);
    let (right, normal) = (turned * Vec3::X, turned * Vec3::Z);
    let half = 0.5 * width.metres;
    let camera = &looks.stage.camera;
    let on_plane = |direction: Vec3| {
        let way = direction.dot(normal);
        let t = (middle - camera.position).dot(normal) / way;
        let at = camera.position + direction * t - middle;
        (way < 0.0 && t > 0.0).then(|| (f64::from(at.dot(right)), f64::from(at.y), t))
    };
    let (mut bare, mut past) = (0.0, [0.0f64; 3]);
    for look in &looks.grid {
        let mesh = &looks.stage.meshes[look.mesh];
        if mesh.role != Role::Room || look.normal.y > 0.5 {
            continue;
        }
        let Some((across, up, t)) = on_plane(look.direction) else { continue };
        if look.at.distance(camera.position) < t {
            continue;
        }
        let over = [-half - across, across - half, up - top.metres];
        if over.iter().any(|by| *by > 0.0) {
            bare += 1.0;
            // what is bare reaches on to the middle between this look and the next
            let rest = f64::from(0.5 * looks.pitch * t * look.direction.dot(camera.forward));
            let over = over.map(|by| if by > 0.0 { by + rest } else { by });
            past = [0, 1, 2].map(|side| past[side].max(over[side]));
        }
    }
    let share = bare / all;
    if share < SHARE {
        return None;
    }
    let sides: Vec<String> = ["at the left", "at the right", "above"]
        .iter()
        .zip(past)
        .filter(|(_, by)| *by > 0.005)
        .map(|(side, by)| format!("{by:.2} m {side}"))
        .collect();
    let wider = width.metres + 2.0 * past[0].max(past[1]);
    let higher = top.metres + past[2];
    let longer = 1e3 * camera.focal_m * (wider / width.metres).max(higher / top.metres);
    let wanted = if past[0].max(past[1]) > 0.005 {
        format!("a cloth {wider:.1} m wide")
    } else {
        format!("a bar at {higher:.1} m")
    };
    Some(Note::new(
        Severity::Caution,
        &cloth.name,
        format!(
            "it is too small for the frame: {} of bare wall shows past it ({:.0} % of the frame)",
            sides.join(" and "),
            (100.0 * share).max(1.0)
        ),
        format!(
            "take {wanted}, a lens of {longer:.0} mm or longer, go nearer, or bring the cloth nearer \
             to the sitter"
        ),
    ))
}
