//! What the lens sees that it should not: stands, heads and boards in the frame, and heads that
//! shine into it.

use glam::{Vec2, Vec3};

use super::{Note, Severity};
use crate::stage::{Camera, Light, Mesh, Role, Stage};

/// Points of a thing in the frame that are looked at.
const LOOKS: usize = 64;
/// Points are taken along a thing's edges at most so far apart, in metres: a stand's pole has
/// corners at its joints only.
const LOOK_EVERY_M: f32 = 0.05;
/// A head whose intensity toward the lens is above this share of its peak floods it; this is
/// where a beam's field ends by definition.
const FLARE_SHARE: f64 = 0.1;

pub(super) fn notes(stage: &Stage) -> Vec<Note> {
    let mut notes = Vec::new();
    for mesh in stage.meshes.iter().filter(|m| matches!(m.role, Role::Fixture | Role::Board)) {
        if let Some(seen) = seen(mesh, stage) {
            notes.push(Note::new(
                Severity::Caution,
                &mesh.name,
                format!(
                    "it is in the picture: it reaches {:.0} % into the frame from the {}",
                    100.0 * seen.into_frame,
                    seen.edge
                ),
                format!(
                    "move it {:.2} m out of the frame, crop, or plan to retouch it",
                    seen.away_m
                ),
            ));
        }
    }
    for light in stage.lights.iter().filter(|light| light.on && !light.is_room) {
        let off_axis_deg = off_axis(light, &stage.camera).to_degrees();
        if shines_into(light, stage) {
            notes.push(Note::new(
                Severity::Caution,
                &light.name,
                format!("the lens is {off_axis_deg:.0}° off its axis, inside its beam: flare"),
                "shield the lens with a flag, put a grid on the head, or turn it away",
            ));
        }
    }
    notes
}

/// A light's head, reflector and stand.
fn fixture<'a>(stage: &'a Stage, light: &str) -> impl Iterator<Item = &'a Mesh> {
    let parts = ["head", "reflector", "stand"].map(|part| format!("{light} {part}"));
    stage.meshes.iter().filter(move |m| m.role == Role::Fixture && parts.contains(&m.name))
}

/// Whether the camera sees some part of a light's head or stand.
pub(in crate::shoot) fn in_picture(stage: &Stage, light: &str) -> bool {
    fixture(stage, light).any(|mesh| seen(mesh, stage).is_some())
}

/// The boxes that the triangles of a light's head and stand cover in a frame of an aspect, as shares
/// of it from the top left; hidden ones too.
pub(in crate::shoot) fn cover(
    stage: &Stage,
    light: &str,
    aspect: f64,
    mut covered: impl FnMut(Vec2, Vec2),
) {
    let camera = stage.camera.cropped_to(aspect);
    for mesh in fixture(stage, light) {
        for corners in &mesh.triangles {
            let seen = corners.map(|corner| camera.project(mesh.positions[corner as usize]));
            if let [Some((a, _)), Some((b, _)), Some((c, _))] = seen {
                let (low, high) = (a.min(b).min(c), a.max(b).max(c));
                if high.cmpge(Vec2::ZERO).all() && low.cmple(Vec2::ONE).all() {
                    covered(low.max(Vec2::ZERO), high.min(Vec2::ONE));
                }
            }
        }
    }
}

/// How far a thing reaches into the frame.
struct Seen {
    /// The edge that it is nearest to leaving by.
    edge: &'static str,
    /// Share of the frame's width or height from that edge.
    into_frame: f32,
    /// Metres across the line of sight that it must move to leave.
    away_m: f32,
}

/// What of a thing's edges lies in the frame with nothing before it.
fn seen(mesh: &Mesh, stage: &Stage) -> Option<Seen> {
    let along = |[a, b, c]: [u32; 3]| {
        let [a, b, c] = [a, b, c].map(|corner| mesh.positions[corner as usize]);
        [(a, b), (b, c), (c, a)].into_iter().flat_map(|(from, to)| {
            let steps = (from.distance(to) / LOOK_EVERY_M).ceil().max(1.0) as u32;
            (0..steps).map(move |step| from.lerp(to, step as f32 / steps as f32))
        })
    };
    let framed: Vec<_> = mesh
        .triangles
        .iter()
        .flat_map(|corners| along(*corners))
        .filter(|point| in_frame(&stage.camera, *point))
        .collect();
    let step = framed.len().div_ceil(LOOKS).max(1);
    let visible = framed.into_iter().step_by(step).filter(|point| {
        stage
            .meshes
            .iter()
            .filter(|other| other.name != mesh.name || other.role != mesh.role)
            .all(|other| !blocks(other, stage.camera.position, *point))
    });
    // how far in the farthest point lies, from each edge, and what that is in metres
    let mut reach =
        [("left", 0.0f32, 0.0f32), ("right", 0.0, 0.0), ("top", 0.0, 0.0), ("bottom", 0.0, 0.0)];
    let mut any = false;
    let frame = 2.0 * stage.camera.half_frame();
    for point in visible {
        let Some((film, depth)) = stage.camera.project(point) else { continue };
        any = true;
        let inward = [film.x, 1.0 - film.x, film.y, 1.0 - film.y];
        let side = [frame.x, frame.x, frame.y, frame.y];
        for ((reach, inward), side) in reach.iter_mut().zip(inward).zip(side) {
            reach.1 = reach.1.max(inward);
            reach.2 = reach.2.max(inward * side * depth);
        }
    }
    let nearest = reach.into_iter().min_by(|a, b| a.2.total_cmp(&b.2))?;
    any.then_some(Seen { edge: nearest.0, into_frame: nearest.1, away_m: nearest.2 })
}

/// Whether a point projects into the image area.
fn in_frame(camera: &Camera, point: Vec3) -> bool {
    let inside = |at: f32| (0.0..=1.0).contains(&at);
    camera.project(point).is_some_and(|(film, _)| inside(film.x) && inside(film.y))
}

/// Angle between a head's axis and the way from it to the lens, in radians.
fn off_axis(light: &Light, camera: &Camera) -> f64 {
    let to_lens = (camera.position - light.source.position).as_dvec3();
    to_lens.angle_between(light.source.axis.as_dvec3())
}

/// Whether the lens lies in the beam of a head before it, with nothing between.
fn shines_into(light: &Light, stage: &Stage) -> bool {
    let camera = &stage.camera;
    let toward_head = light.source.position - camera.position;
    let share = light.source.beam.relative_intensity(off_axis(light, camera).cos());
    // a hood keeps off what comes from beside or behind the lens
    toward_head.normalize_or_zero().dot(camera.forward) > 0.2
        && share >= FLARE_SHARE
        && stage
            .meshes
            .iter()
            .filter(|mesh| mesh.role != Role::Fixture)
            .all(|mesh| !blocks(mesh, camera.position, light.source.position))
}

/// Whether a triangle of `mesh` crosses the open segment between two points.
fn blocks(mesh: &Mesh, from: Vec3, to: Vec3) -> bool {
    let ray = to - from;
    mesh.triangles.iter().any(|corners| {
        let [a, b, c] = corners.map(|corner| mesh.positions[corner as usize]);
        crosses(from, ray, a, b, c).is_some_and(|share| share > 1e-4 && share < 0.999)
    })
}

/// Share of `ray` at which it crosses a triangle (Möller & Trumbore 1997, 'Fast, minimum storage
/// ray/triangle intersection').
fn crosses(from: Vec3, ray: Vec3, a: Vec3, b: Vec3, c: Vec3) -> Option<f32> {
    let (ab, ac) = (b - a, c - a);
    let p = ray.cross(ac);
    let det = ab.dot(p);
    if det.abs() < 1e-12 {
        return None;
    }
    let s = from - a;
    let u = s.dot(p) / det;
    let q = s.cross(ab);
    let v = ray.dot(q) / det;
    (u >= 0.0 && v >= 0.0 && u + v <= 1.0).then(|| ac.dot(q) / det)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layers::LightKind;
    use crate::optics::beam::Beam;
    use crate::optics::surface::Surface;
    use crate::stage::{RoomBox, Source, SourceShape};

    /// The set of case G03: head at (0, 1.6, 0), camera 3 m before it, a rim light behind.
    fn stage(field_deg: f64) -> Stage {
        let position = Vec3::new(1.0, 2.2, -1.2);
        let axis = (Vec3::new(0.0, 1.6, 0.0) - position).normalize();
        let right = axis.cross(Vec3::Y).normalize();
        let field_rad = f64::to_radians(field_deg);
        let source = Source {
            shape: SourceShape::Disc { radius_m: 0.09 },
            position,
            axis,
            right,
            up: right.cross(axis),
            beam: Beam::Dish { beam_rad: 0.6 * field_rad, field_rad },
            glow: None,
            axial_intensity: 1000.0,
        };
        Stage {
            room: RoomBox { min: Vec3::new(-3.0, 0.0, -3.0), max: Vec3::new(3.0, 3.0, 4.0) },
            meshes: Vec::new(),
            lights: vec![Light {
                name: "rim".into(),
                on: true,
                is_room: false,
                kind: LightKind::Flash,
                source,
                also: Vec::new(),
            }],
            marks: Vec::new(),
            notes: Vec::new(),
            camera: Camera {
                position: Vec3::new(0.0, 1.5, 3.0),
                right: Vec3::X,
                up: Vec3::Y,
                forward: Vec3::NEG_Z,
                sensor_m: [0.024, 0.036],
                focal_m: 0.085,
                pupil_radius_m: 0.005,
                focus_m: 3.0,
            },
        }
    }

    fn square(name: &str, role: Role, centre: Vec3, half: f32) -> Mesh {
        let corner = |x: f32, y: f32| centre + half * Vec3::new(x, y, 0.0);
        Mesh {
            name: name.into(),
            role,
            positions: vec![
                corner(-1.0, -1.0),
                corner(1.0, -1.0),
                corner(1.0, 1.0),
                corner(-1.0, 1.0),
            ],
            normals: Vec::new(),
            tints: Vec::new(),
            triangles: vec![[0, 1, 2], [0, 2, 3]],
            surface: Surface::diffuse("grey", Vec3::splat(0.2)),
        }
    }

    /// Case G03: the lens is 28° off the beam's axis; a 20° grid keeps it dark, an open dish of
    /// half-angle 30° does not.
    #[test]
    fn rim_light_into_the_lens() {
        let open = stage(60.0);
        let off = off_axis(&open.lights[0], &open.camera).to_degrees();
        assert!((off - 28.0).abs() < 1.0, "{off}");
        assert!(shines_into(&open.lights[0], &open));
        let gridded = stage(40.0);
        assert!(!shines_into(&gridded.lights[0], &gridded));
    }

    #[test]
    fn a_flag_before_the_lens_keeps_it_dark() {
        let mut set = stage(60.0);
        let between = set.camera.position.lerp(set.lights[0].source.position, 0.3);
        set.meshes.push(square("flag", Role::Board, between, 0.2));
        assert!(!shines_into(&set.lights[0], &set));
    }

    #[test]
    fn a_board_in_the_frame_is_seen_unless_hidden() {
        let mut set = stage(40.0);
        set.meshes.push(square("flag", Role::Board, Vec3::new(0.1, 1.5, -0.5), 0.1));
        assert_eq!(notes(&set).len(), 1, "{:?}", notes(&set));
        set.meshes.push(square("cloth", Role::Cloth, Vec3::new(0.0, 1.5, 0.5), 1.0));
        assert_eq!(notes(&set).len(), 0);
        set.meshes.push(square("wide", Role::Board, Vec3::new(2.0, 1.5, 1.0), 0.1));
        assert_eq!(notes(&set).len(), 0, "outside the frame");
    }
}
