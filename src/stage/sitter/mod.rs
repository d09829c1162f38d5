//! The sitter: skeleton, signed-distance body, meshes and marks.
//!
//! In: the plan's [`plan::Sitter`] and the box sat on. Out: [`SitterBody`] in world metres.
//!
//! ```text
//!   proportions ─► skeleton ─► stance (joint angles) ─► body (field) ─► mesher ─► skin
//!                                                         ├─► eye, hair, headwrap, garment
//!                                                         └─► marks
//! ```

mod body;
mod cut;
mod eye;
mod face;
mod field;
mod folds;
mod garment;
mod hair;
mod hand;
mod head;
mod headwrap;
mod hem;
mod limbs;
mod marks;
mod mesher;
mod noise;
mod pose;
mod proportions;
mod skeleton;
mod skin;
mod stance;
mod tint;
mod torso;
mod unpinch;

#[cfg(test)]
mod tests;

use glam::{Mat3, Vec3};
use rayon::prelude::*;
use thiserror::Error;

use self::body::Body;
use self::field::Frame;
use self::garment::Garment;
use self::mesher::Shell;
use self::proportions::Proportions;
use self::skeleton::{SIDES, Skeleton};
use self::stance::{Ground, stance};
use self::tint::Palette;
use super::Mark;
use super::cloth::fabric_surface;
use super::mesh::{Mesh, Role};
use super::room::paint::PaintError;
use crate::optics::color::parse_hex;
use crate::optics::surface::Surface;
use crate::plan::{self, Pose, SetBox};

/// The sitter's meshes and named places.
#[derive(Debug)]
pub struct SitterBody {
    /// Skin, eyes, hair, cloth.
    pub meshes: Vec<Mesh>,
    /// Named places.
    pub marks: Vec<Mark>,
    /// What had to be changed or will look wrong.
    pub warnings: Vec<String>,
}

/// What the plan asks that no sitter can do.
#[derive(Debug, Error, PartialEq)]
pub enum SitterError {
    /// A number outside what this sitter can be.
    #[error("sitter's {field} is {value}; it must be {range}")]
    OutOfRange {
        /// The plan's field.
        field: &'static str,
        /// What the plan says.
        value: f64,
        /// What it may be.
        range: &'static str,
    },
    /// Seated on a box, but on none.
    #[error("the sitter is seated on a box, but the plan names no box in `seat`")]
    NoSeat,
    /// A hair colour that is not one.
    #[error("sitter's hair color is \"{value}\"; write it as \"#rrggbb\"")]
    BadColor {
        /// What the plan says.
        value: String,
    },
    /// A cloth's colour or reflectance.
    #[error("sitter's cloth: {0}")]
    Cloth(#[from] PaintError),
}

/// Builds the sitter of a plan, seated on `seat` if the pose needs one.
pub fn build(sitter: &plan::Sitter, seat: Option<&SetBox>) -> Result<SitterBody, SitterError> {
    check(sitter)?;
    let measures =
        Proportions::of(sitter.height.metres as f32, sitter.build as f32, sitter.proportion as f32);
    let skeleton = Skeleton::of(&measures);
    let (place, ground) = place(sitter, seat)?;
    let stance = stance(sitter.pose, sitter.head, &measures, &skeleton, ground);
    let body = Body::of(measures, &skeleton, &stance, ground);

    let color = parse_hex(&sitter.hair.color)
        .ok_or_else(|| SitterError::BadColor { value: sitter.hair.color.clone() })?;
    let surface = skin::skin(sitter.skin, sitter.sheen as f32);
    let palette =
        Palette { skin: skin::seen_skin(sitter.skin), hair: color, style: sitter.hair.style };
    let head = body.posed.head();
    let mut meshes = Vec::new();
    let garment = sitter.garment.as_ref().map(|worn| (worn, Garment::on(&body, worn.cut)));
    if let Some((worn, garment)) = &garment {
        let surface = fabric_surface("garment", &worn.fabric)?;
        meshes.push(as_mesh("garment", Role::Garment, garment.shell(), surface));
    }
    for (name, mut shell) in body.skin() {
        if let Some((_, garment)) = &garment {
            shell = cut::keep(&shell, |p| garment.shows(p));
        }
        let mut mesh = as_mesh(&name, Role::Skin, shell, surface.clone());
        if name == "head" {
            let inward = head.inverse();
            mesh.tints = mesh
                .positions
                .par_iter()
                .map(|p| tint::tint(&body.chart, &palette, inward.point(*p)))
                .collect();
        }
        meshes.push(mesh);
    }
    for (side, name) in SIDES.into_iter().zip(["left eye", "right eye"]) {
        meshes.push(eye::eyeball(name, head.point(body.chart.eye(side)), head.turn, skin::eye()));
    }
    if let Some(cloth) = &sitter.headwrap {
        let surface = fabric_surface("headwrap", cloth)?;
        let shell = moved(headwrap::headwrap(&body.chart), &head);
        meshes.push(as_mesh("headwrap", Role::Garment, shell, surface));
    } else if let Some(mass) = hair::hair(&body.chart, sitter.hair.style) {
        meshes.push(as_mesh("hair", Role::Hair, moved(mass, &head), skin::hair(color)));
    }
    for mesh in &mut meshes {
        for (p, n) in mesh.positions.iter_mut().zip(&mut mesh.normals) {
            *p = place.point(*p);
            *n = place.direction(*n);
            if mesh.role == Role::Garment {
                p.y = above_floor(p.y);
            }
        }
    }
    let mut marks = marks::marks(&body);
    for mark in &mut marks {
        mark.position = place.point(mark.position);
        mark.facing = place.direction(mark.facing);
    }
    Ok(SitterBody { meshes, marks, warnings: stance.notes })
}

/// Cloth that would hang through the floor lies on it: heights under 2 cm are drawn together
/// above it, smoothly and in order, so that layers stay apart.
fn above_floor(y: f32) -> f32 {
    const LYING_M: f32 = 0.02;
    if y < LYING_M { LYING_M * ((y - LYING_M) / LYING_M).exp() } else { y }
}

fn moved(mut shell: Shell, frame: &Frame) -> Shell {
    for (p, n) in shell.positions.iter_mut().zip(&mut shell.normals) {
        *p = frame.point(*p);
        *n = frame.direction(*n);
    }
    shell
}

fn as_mesh(name: &str, role: Role, shell: Shell, surface: Surface) -> Mesh {
    Mesh {
        name: name.into(),
        role,
        positions: shell.positions,
        normals: shell.normals,
        tints: Vec::new(),
        triangles: shell.triangles,
        surface,
    }
}

fn check(sitter: &plan::Sitter) -> Result<(), SitterError> {
    let fields = [
        ("height", sitter.height.metres, 1.2, 2.2, "between 1.20 m and 2.20 m"),
        ("build", sitter.build, -1.0, 1.0, "between -1 (slim) and 1 (heavy)"),
        ("proportion", sitter.proportion, 0.0, 1.0, "between 0 (female) and 1 (male)"),
        ("skin", f64::from(sitter.skin), 1.0, 10.0, "a step from 1 (lightest) to 10 (darkest)"),
        ("sheen", sitter.sheen, 0.0, 1.0, "between 0 (powdered) and 1 (oiled)"),
        ("turn", sitter.turn, -360.0, 360.0, "between -360° and 360°"),
        ("head.turn", sitter.head.turn, -180.0, 180.0, "between -180° and 180°"),
        ("head.tilt", sitter.head.tilt, -180.0, 180.0, "between -180° and 180°"),
        ("head.nod", sitter.head.nod, -180.0, 180.0, "between -180° and 180°"),
        ("x", sitter.x.metres, -100.0, 100.0, "within 100 m of the mark"),
        ("z", sitter.z.metres, -100.0, 100.0, "within 100 m of the mark"),
    ];
    for (field, value, low, high, range) in fields {
        // Written so that NaN fails too.
        if !(low..=high).contains(&value) {
            return Err(SitterError::OutOfRange { field, value, range });
        }
    }
    Ok(())
}

/// World from the sitter's own space, and what carries the sitter there.
fn place(sitter: &plan::Sitter, seat: Option<&SetBox>) -> Result<(Frame, Ground), SitterError> {
    let turn = Mat3::from_rotation_y((sitter.turn as f32).to_radians());
    if sitter.pose != Pose::SeatedOnBox {
        let shift = Vec3::new(sitter.x.metres as f32, 0.0, sitter.z.metres as f32);
        return Ok((Frame { turn, shift }, Ground::Floor));
    }
    let seat = seat.ok_or(SitterError::NoSeat)?;
    let shift = Vec3::new(seat.x.metres as f32, 0.0, seat.z.metres as f32);
    // How far the box reaches from its centre the way the sitter faces, and across.
    let apart = (sitter.turn - seat.turn).to_radians();
    let (sin, cos) = (apart.sin().abs().max(1e-6), apart.cos().abs().max(1e-6));
    let (half_x, half_z) = (0.5 * seat.width.metres, 0.5 * seat.depth.metres);
    let front = (half_z / cos).min(half_x / sin) as f32;
    let half_width = (half_x / cos).min(half_z / sin) as f32;
    let top = (seat.base.metres + seat.height.metres) as f32;
    Ok((Frame { turn, shift }, Ground::Seat { top, front, half_width, depth: 2.0 * front }))
}
