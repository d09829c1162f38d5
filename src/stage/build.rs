//! Plan to stage: everything is built, placed, aimed and checked against the room.

use glam::Vec3;

use super::place::{Marks, upright};
use super::source::{Source, SourceShape};
use super::{
    Camera, Light, Mark, Mesh, Part, Stage, StageError, cloth, fixture, output, room, sitter,
};
use crate::layers::LightKind;
use crate::optics::beam::Beam;
use crate::plan;

/// Name of the room's own light among the layers.
pub const AMBIENT: &str = "ambient";

/// The room's light is let in as a luminous skin this far under the ceiling.
const AMBIENT_GAP_M: f32 = 1e-3;

/// Builds the stage of a plan.
///
/// # Errors
/// A [`StageError`] that names the part, the value and what would be right, where the set cannot
/// stand in its room.
pub fn build(plan: &plan::Plan) -> Result<Stage, StageError> {
    set(plan)?.lit(plan)
}

/// Room, boxes, cloth and sitter: what stays when only lights, boards or the camera move.
#[derive(Debug, Clone)]
pub struct Set {
    room: super::RoomBox,
    meshes: Vec<Mesh>,
    marks: Vec<Mark>,
    notes: Vec<String>,
}

/// Builds the set of a plan, the slow part of its stage.
///
/// # Errors
/// As [`build`].
pub fn set(plan: &plan::Plan) -> Result<Set, StageError> {
    let (room_box, mut meshes) = room::shell(&plan.room)?;
    let mut marks = Vec::new();
    let mut notes = Vec::new();

    meshes.extend(room::boxes(&plan.boxes)?);
    for set_box in &plan.boxes {
        let top = set_box.base.metres + set_box.height.metres;
        marks.push(Mark {
            name: set_box.name.clone(),
            position: Vec3::new(set_box.x.metres as f32, top as f32, set_box.z.metres as f32),
            facing: Vec3::Y,
        });
    }
    for one in &plan.cloths {
        let mesh = cloth::build(one, &room_box, &plan.boxes)?;
        marks.push(middle(&one.name, &mesh));
        meshes.push(mesh);
    }
    if let Some(person) = &plan.sitter {
        let seat = person
            .seat
            .as_ref()
            .and_then(|name| plan.boxes.iter().find(|set_box| &set_box.name == name));
        let body = sitter::build(person, seat)?;
        fits(room_box, &body.meshes)?;
        meshes.extend(body.meshes);
        marks.splice(0..0, body.marks);
        notes.extend(body.warnings);
    }
    Ok(Set { room: room_box, meshes, marks, notes })
}

impl Set {
    /// The stage of a plan that has this very set.
    ///
    /// # Errors
    /// As [`build`].
    pub fn lit(&self, plan: &plan::Plan) -> Result<Stage, StageError> {
        let Self { room: room_box, mut meshes, mut marks, notes } = self.clone();
        let mut lights = Vec::new();
        for light in &plan.lights {
            let source = place_source(light, plan.meter_constant, &marks, room_box)?;
            if light.fixture {
                let fixture = fixture::head(&light.name, &light.modifier, &source, &room_box);
                meshes.extend(fixture);
            }
            lights.push(Light {
                name: light.name.clone(),
                on: light.on,
                kind: LightKind::Flash,
                source,
                also: Vec::new(),
            });
        }
        for board in &plan.boards {
            let around = Marks { marks: &marks, room: room_box };
            let owner = Part::Board(board.name.clone());
            let centre = around.place(&board.place, &owner)?;
            inside(room_box, centre, &owner)?;
            let normal = aim(&around, &board.aim, centre, &owner)?;
            let (_, up) = upright(normal);
            let up = glam::Quat::from_axis_angle(normal, board.roll.to_radians() as f32) * up;
            meshes.extend(fixture::board(board, centre, normal, up)?);
            marks.push(Mark { name: board.name.clone(), position: centre, facing: normal });
        }
        if plan.ambient.is_some() {
            lights.push(ambient(room_box));
        }
        let camera = camera(&plan.camera, &marks, room_box)?;
        Ok(Stage { room: room_box, meshes, lights, marks, camera, notes })
    }
}

/// The vertex nearest to the middle of a cloth, with its normal.
fn middle(name: &str, mesh: &Mesh) -> Mark {
    let centre = mesh.positions.iter().sum::<Vec3>() / mesh.positions.len().max(1) as f32;
    let nearest = (0..mesh.positions.len()).min_by(|&a, &b| {
        let d = |i: usize| mesh.positions[i].distance_squared(centre);
        d(a).total_cmp(&d(b))
    });
    let index = nearest.unwrap_or(0);
    Mark {
        name: name.into(),
        position: mesh.positions.get(index).copied().unwrap_or(centre),
        facing: mesh.normals.get(index).copied().unwrap_or(Vec3::Z),
    }
}

fn place_source(
    light: &plan::Light,
    meter_constant: f64,
    marks: &[Mark],
    room_box: super::RoomBox,
) -> Result<Source, StageError> {
    let owner = Part::Light(light.name.clone());
    let around = Marks { marks, room: room_box };
    let position = around.place(&light.place, &owner)?;
    inside(room_box, position, &owner)?;
    let axis = aim(&around, &light.aim, position, &owner)?;
    let (right, up) = upright(axis);
    let (shape, beam) = match &light.modifier {
        plan::Modifier::BareTube { diameter, length } => (
            SourceShape::Tube { radius_m: 0.5 * diameter.metres, length_m: length.metres },
            Beam::Cosine { exponent: 1.0 },
        ),
        plan::Modifier::Dish { diameter, beam, field, .. } => (
            SourceShape::Disc { radius_m: 0.5 * diameter.metres },
            Beam::Dish { beam_rad: beam.to_radians(), field_rad: field.to_radians() },
        ),
        plan::Modifier::Panel { width, height, .. } => (
            SourceShape::Rectangle { width_m: width.metres, height_m: height.metres },
            Beam::Cosine { exponent: 1.0 },
        ),
    };
    let axial_intensity =
        output::axial_intensity_cd_s(&light.head, &light.modifier, shape, &beam, meter_constant);
    Ok(Source { shape, position, axis, right, up, beam, glow: None, axial_intensity })
}

/// Unit direction from `from` to a target.
fn aim(
    around: &Marks<'_>,
    target: &plan::Target,
    from: Vec3,
    owner: &Part,
) -> Result<Vec3, StageError> {
    let to = around.target(target, from, owner)?;
    (to - from).try_normalize().ok_or_else(|| StageError::NoDirection {
        owner: owner.clone(),
        x: from.x,
        y: from.y,
        z: from.z,
    })
}

fn inside(room: super::RoomBox, at: Vec3, owner: &Part) -> Result<(), StageError> {
    if at.is_finite() && at.cmpge(room.min).all() && at.cmple(room.max).all() {
        return Ok(());
    }
    Err(StageError::OutsideRoom { owner: owner.clone(), at, room })
}

/// Cloth and hair may brush a wall by this much, in metres.
const BRUSHES_M: f32 = 0.03;

/// Whether the sitter is within ceiling and walls; the floor is what they rest on.
fn fits(room: super::RoomBox, body: &[Mesh]) -> Result<(), StageError> {
    let points = || body.iter().flat_map(|mesh| mesh.positions.iter());
    let low = points().copied().fold(room.max, Vec3::min);
    let high = points().copied().fold(room.min, Vec3::max);
    let turn = "move the mark, turn the sitter or enlarge the room";
    let lower = "raise the ceiling, lower the seat or choose a smaller sitter";
    let worst = [
        ("ceiling", high.y - room.max.y, lower),
        ("left wall", room.min.x - low.x, turn),
        ("right wall", high.x - room.max.x, turn),
        ("back wall", room.min.z - low.z, turn),
        ("front wall", high.z - room.max.z, turn),
    ]
    .into_iter()
    .max_by(|a, b| a.1.total_cmp(&b.1));
    match worst {
        Some((side, by_m, hint)) if by_m > BRUSHES_M => {
            Err(StageError::SitterOutside { by_m, side, hint })
        }
        _ => Ok(()),
    }
}

/// Even room light: the whole ceiling glows and sends 1 lm/m² down at unit level; the mix scales
/// it to what the plan says a meter reads at the sitter.
fn ambient(room: super::RoomBox) -> Light {
    let size = room.max - room.min;
    let centre = (room.min + room.max) * 0.5;
    let area = f64::from(size.x) * f64::from(size.z);
    Light {
        name: AMBIENT.into(),
        on: true,
        kind: LightKind::Continuous,
        source: Source {
            shape: SourceShape::Rectangle {
                width_m: f64::from(size.x),
                height_m: f64::from(size.z),
            },
            position: Vec3::new(centre.x, room.max.y - AMBIENT_GAP_M, centre.z),
            axis: Vec3::NEG_Y,
            right: Vec3::X,
            up: Vec3::Z,
            beam: Beam::Cosine { exponent: 1.0 },
            glow: None,
            axial_intensity: area / std::f64::consts::PI,
        },
        also: Vec::new(),
    }
}

fn camera(
    camera: &plan::Camera,
    marks: &[Mark],
    room_box: super::RoomBox,
) -> Result<Camera, StageError> {
    let around = Marks { marks, room: room_box };
    let position = around.place(&camera.place, &Part::Camera)?;
    inside(room_box, position, &Part::Camera)?;
    let forward = aim(&around, &camera.aim, position, &Part::Camera)?;
    let (right, up) = upright(forward);
    let focus_at = around.target(&camera.focus, position, &Part::Focus)?;
    let focus_m = f64::from((focus_at - position).dot(forward));
    let focal_m = camera.focal_mm * 1e-3;
    if focus_m <= 2.0 * focal_m {
        return Err(StageError::FocusTooNear { focus_m, focal_mm: camera.focal_mm });
    }
    let (w, h) = (camera.format.width_mm * 1e-3, camera.format.height_mm * 1e-3);
    Ok(Camera {
        position,
        right,
        up,
        forward,
        sensor_m: if camera.upright { [h, w] } else { [w, h] },
        focal_m,
        pupil_radius_m: 0.5 * focal_m / camera.aperture.f_number,
        focus_m,
    })
}
