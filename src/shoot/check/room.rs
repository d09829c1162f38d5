//! Whether heads, stands and the camera have room.

use glam::Vec3;

use super::{Held, Note, Severity, held};
use crate::stage::{RoomBox, Source, Stage};

/// A head reaches this far behind its front, in metres (common practice, no source).
const HEAD_M: f32 = 0.30;
/// A stand's legs spread this far from its column, in metres (common practice, no source).
pub(super) const LEGS_M: f32 = 0.40;
/// Nearer than this to a face a lens draws the nose large, in metres (common practice, no source).
const TOO_CLOSE_M: f32 = 1.0;

pub(super) fn notes(stage: &Stage) -> Vec<Note> {
    let mut notes = Vec::new();
    for light in stage.lights.iter().filter(|light| !light.is_room) {
        let into_wall = head(&light.name, &light.source, &stage.room);
        let legs = match held(light, stage) {
            Held::Stand(foot) => legs(&light.name, foot, &stage.room),
            Held::Ceiling => None,
        };
        notes.extend(into_wall.or(legs));
    }
    notes.extend(camera(stage));
    notes
}

/// The surface of the room that is nearest to a point, and how far inside of it the point lies.
fn nearest(room: &RoomBox, point: Vec3) -> (&'static str, f32) {
    let (low, high) = (point - room.min, room.max - point);
    [
        ("the left wall", low.x),
        ("the right wall", high.x),
        ("the back wall", low.z),
        ("the front wall", high.z),
        ("the ceiling", high.y),
        ("the floor", low.y),
    ]
    .into_iter()
    .min_by(|a, b| a.1.total_cmp(&b.1))
    .unwrap_or(("the room", 0.0))
}

fn head(name: &str, source: &Source, room: &RoomBox) -> Option<Note> {
    let [half_width, half_height] = source.shape.half_m();
    let (across, up) = (source.right * half_width as f32, source.up * half_height as f32);
    let corners = [across + up, across - up, up - across, -across - up];
    let front = corners.map(|corner| source.position + corner);
    let back = source.position - HEAD_M * source.axis;
    let (wall, margin) = front
        .into_iter()
        .chain([back])
        .map(|point| nearest(room, point))
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    (margin < 0.0).then(|| {
        Note::new(
            Severity::Problem,
            name,
            format!("the head would reach {:.2} m into {wall}", -margin),
            "move it, lower it, or bring it nearer to what it lights",
        )
    })
}

/// Whether a stand's legs have room round its foot.
fn legs(name: &str, foot: Vec3, room: &RoomBox) -> Option<Note> {
    let column = nearest(room, foot.with_y(0.5 * room.max.y));
    let is_wall = !matches!(column.0, "the ceiling" | "the floor");
    (is_wall && column.1 < LEGS_M).then(|| {
        Note::new(
            Severity::Caution,
            name,
            format!("its stand is {:.2} m from {}; the legs need {LEGS_M} m", column.1, column.0),
            "fold a leg to the wall, use a boom or a wall bracket, or move it",
        )
    })
}

fn camera(stage: &Stage) -> Option<Note> {
    let face = stage.marks.iter().find(|mark| mark.name == "face")?.position;
    let close = stage.camera.position.distance(face);
    (close < TOO_CLOSE_M).then(|| {
        Note::new(
            Severity::Caution,
            "camera",
            format!("the lens is {close:.2} m from the face: the nose will look large"),
            "step back to 1.5 m or more and use a longer lens",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::beam::Beam;
    use crate::stage::SourceShape;

    fn note(position: Vec3, axis: Vec3) -> Option<Note> {
        let right = if axis.y.abs() > 0.9 { Vec3::X } else { axis.cross(Vec3::Y).normalize() };
        let room = RoomBox { min: Vec3::new(-3.0, 0.0, -2.0), max: Vec3::new(3.0, 3.0, 4.0) };
        let source = Source {
            shape: SourceShape::Rectangle { width_m: 1.2, height_m: 0.8 },
            position,
            axis,
            right,
            up: right.cross(axis),
            beam: Beam::Cosine { exponent: 1.0 },
            glow: None,
            axial_intensity: 1.0,
        };
        head("key", &source, &room)
    }

    #[test]
    fn heads_need_room() {
        assert_eq!(note(Vec3::new(1.0, 2.0, 1.0), Vec3::NEG_Z), None);
        // the box's upper edge is 0.2 m through the ceiling
        let high = note(Vec3::new(1.0, 2.8, 1.0), Vec3::NEG_Z).unwrap();
        assert_eq!(high.severity, Severity::Problem);
        assert!(high.what.contains("0.20 m into the ceiling"), "{}", high.what);
        // the head's back is in the wall though its front is not
        let tight = note(Vec3::new(2.9, 1.5, 1.0), Vec3::NEG_X).unwrap();
        assert!(tight.what.contains("the right wall"), "{}", tight.what);
        let room = RoomBox { min: Vec3::new(-3.0, 0.0, -2.0), max: Vec3::new(3.0, 3.0, 4.0) };
        let tight = legs("key", Vec3::new(2.65, 0.0, 1.0), &room).unwrap();
        assert_eq!(tight.severity, Severity::Caution);
        assert!(tight.what.contains("0.35 m from the right wall"), "{}", tight.what);
        assert_eq!(legs("key", Vec3::new(2.5, 0.0, 1.0), &room), None);
    }
}
