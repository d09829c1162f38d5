//! The room's own light: the even level, and lamps at their places.
//!
//! Their layers are continuous and white; the mix brings them to the level that the plan says a
//! meter reads, or that their lumens give.

use glam::Vec3;

use super::build::{aim, inside};
use super::place::{Marks, upright};
use super::source::{Source, SourceShape};
use super::{Light, Mesh, Part, Role, RoomBox, StageError};
use crate::layers::LightKind;
use crate::optics::beam::Beam;
use crate::plan::{Lamp, LampForm};
use crate::stage::fixture::{Solid, ball_profile};

/// Name of the room's even light among the layers.
pub const AMBIENT: &str = "ambient";

/// The room's light is let in as a luminous skin this far under the ceiling.
const AMBIENT_GAP_M: f32 = 1e-3;

/// What a lamp's body sends back (white lacquer; assumption).
const LACQUER: Vec3 = Vec3::splat(0.7);

/// A light that burns on.
pub fn steady(name: &str, source: Source) -> Light {
    Light {
        name: name.into(),
        on: true,
        is_room: true,
        kind: LightKind::Continuous,
        source,
        also: Vec::new(),
    }
}

/// Even room light: the whole ceiling glows and sends 1 lm/m² down at unit level; the mix scales
/// it to what the plan says a meter reads at the sitter.
pub fn even(room: RoomBox) -> Light {
    let size = room.max - room.min;
    let centre = (room.min + room.max) * 0.5;
    let area = f64::from(size.x) * f64::from(size.z);
    steady(
        AMBIENT,
        Source {
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
    )
}

/// A lamp that gives 1 lm, and its body.
pub fn lamp(lamp: &Lamp, around: &Marks<'_>) -> Result<(Source, Option<Mesh>), StageError> {
    let owner = Part::Lamp(lamp.name.clone());
    let position = around.place(&lamp.place, &owner)?;
    inside(around.room, position, &owner)?;
    let axis = match lamp.form {
        // a globe has no direction: upright
        LampForm::Globe { .. } => Vec3::NEG_Y,
        _ => aim(around, &lamp.aim, position, &owner)?,
    };
    let (right, up) = upright(axis);
    let (shape, beam) = match lamp.form {
        LampForm::Globe { diameter } => {
            (SourceShape::Ball { radius_m: 0.5 * diameter.metres }, Beam::Cosine { exponent: 1.0 })
        }
        LampForm::Panel { width, height } => (
            SourceShape::Rectangle { width_m: width.metres, height_m: height.metres },
            Beam::Cosine { exponent: 1.0 },
        ),
        LampForm::Spot { diameter, beam, field } => (
            SourceShape::Disc { radius_m: 0.5 * diameter.metres },
            Beam::Dish { beam_rad: beam.to_radians(), field_rad: field.to_radians() },
        ),
    };
    let axial_intensity = match shape.all_round_m2() {
        Some(seen) => seen / (std::f64::consts::PI * shape.area_m2()),
        None => 1.0 / beam.solid_angle(),
    };
    let source = Source { shape, position, axis, right, up, beam, glow: None, axial_intensity };
    let body = body(&lamp.name, &source);
    Ok((source, body))
}

/// What closes a lamp behind its front; a globe shines all round and has a core.
fn body(name: &str, source: &Source) -> Option<Mesh> {
    const BEHIND_M: f32 = 0.002;
    const DEPTH_M: f32 = 0.05;
    let mut solid = Solid::new(format!("{name} body"), Role::Fixture, LACQUER);
    let [half_width, half_height] = source.shape.half_m().map(|half| half as f32);
    match source.shape {
        SourceShape::Ball { radius_m } => {
            let core = ball_profile(radius_m as f32 - BEHIND_M);
            solid.turned(source.position, source.axis, &core);
        }
        SourceShape::Disc { .. } => {
            let profile = [
                [-DEPTH_M, 0.0],
                [-DEPTH_M, half_width],
                [-BEHIND_M, half_width],
                [-BEHIND_M, 0.0],
            ];
            solid.turned(source.position, source.axis, &profile);
        }
        _ => {
            let centre = source.position - source.axis * (BEHIND_M + 0.5 * DEPTH_M);
            let half = Vec3::new(half_width, half_height, 0.5 * DEPTH_M);
            solid.block(centre, half, source.right, source.up);
        }
    }
    Some(solid.into_mesh())
}
