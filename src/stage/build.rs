//! Plan to stage: everything is built, placed, aimed and checked against the room.

use glam::Vec3;

use super::fixture::Front;
use super::place::{Marks, upright};
use super::source::Source;
use super::{
    Light, Mark, Mesh, Part, Stage, StageError, ambient, cloth, fixture, framing, modifier, room,
    sitter,
};
use crate::layers::LightKind;
use crate::plan;

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
    let (room_box, mut meshes) = room::shell(&plan.room, &plan.windows)?;
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
            let (mouth, mut sources) =
                place_light(light, plan, &Marks { marks: &marks, room: room_box })?;
            if light.fixture {
                meshes.extend(fixture::head(light, mouth, &sources, &room_box));
            }
            let kind = if light.head.output.is_continuous() {
                LightKind::Continuous
            } else {
                LightKind::Flash
            };
            let source = sources.remove(0);
            lights.push(Light {
                name: light.name.clone(),
                on: light.on,
                is_room: false,
                kind,
                source,
                also: sources,
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
            meshes.extend(fixture::board(board, centre, normal, up, &plan.folder.0)?);
            marks.push(Mark { name: board.name.clone(), position: centre, facing: normal });
        }
        let around = Marks { marks: &marks, room: room_box };
        for lamp in &plan.lamps {
            let (source, mesh) = ambient::lamp(lamp, &around)?;
            meshes.extend(mesh);
            lights.push(ambient::steady(&lamp.name, source));
        }
        for window in &plan.windows {
            let frame = room::WallFrame::of(window.wall, &room_box);
            lights.push(ambient::steady(&window.name, room::daylight(window, &frame)));
        }
        if plan.ambient.is_some() {
            lights.push(ambient::even(room_box));
        }
        let around = Marks { marks: &marks, room: room_box };
        let camera = framing::camera(&plan.camera, &around, &meshes)?;
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

/// Where a light's mouth is and what leaves it at full power.
fn place_light(
    light: &plan::Light,
    plan: &plan::Plan,
    around: &Marks<'_>,
) -> Result<(Front, Vec<Source>), StageError> {
    let owner = Part::Light(light.name.clone());
    let position = around.place(&light.place, &owner)?;
    inside(around.room, position, &owner)?;
    let axis = aim(around, &light.aim, position, &owner)?;
    let (right, up) = upright(axis);
    let mouth = Front { position, axis, right, up };
    let unit = modifier::fronts(light, mouth, &plan.folder.0)?;
    let sources = modifier::scaled(unit, &light.head, plan.meter_constant)
        .map_err(|none| none.blame(owner))?;
    Ok((mouth, sources))
}

/// Unit direction from `from` to a target.
pub(super) fn aim(
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

pub(super) fn inside(room: super::RoomBox, at: Vec3, owner: &Part) -> Result<(), StageError> {
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
