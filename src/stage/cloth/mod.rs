//! Cloth as meshes: hung, swept, thrown over boxes, in folds.
//!
//! In: a plan's [`Cloth`], the room and the boxes. Out: one [`Mesh`] of vertices at most 2 cm
//! apart, two-sided, with creases and folds that are geometry. The same seed gives the same mesh.
//!
//! A cloth is a [`sheet::Sheet`] of points. [`crumple`] gives the creases of having been folded
//! and crushed, the file of each way to put cloth up its folds, [`xpbd`] lets cloth fall.

mod backdrop;
mod crumple;
mod drapery;
mod floor;
pub(crate) mod noise;
mod over;
mod sheet;
mod xpbd;

use std::sync::Arc;

use glam::Vec3;
use thiserror::Error;

use super::room::paint::{self, PaintError};
use super::room::{Block, RoomError};
use super::{Mesh, RoomBox};
use crate::optics::surface::{Coat, Scatter, Surface, Velvet};
use crate::plan::{Cloth, ClothShape, Fabric, Finish, SetBox};

/// Spacing of vertices on small cloths and the most on large ones, metres.
const SPACING_M: [f32; 2] = [0.008, 0.016];
/// Triangles that a cloth aims at most.
const TRIANGLES: f32 = 240_000.0;
/// Kept between cloth and walls, metres.
const WALL_M: f32 = 0.002;
/// Kept between cloth and floor, metres.
const FLOOR_M: f32 = 0.0008;

/// What can be wrong with a cloth; all are the plan's faults.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ClothError {
    /// A number out of its range.
    #[error("cloth \"{cloth}\": {what} is {value}; {hint}")]
    Value {
        /// The cloth.
        cloth: String,
        /// Which field.
        what: &'static str,
        /// As written.
        value: f64,
        /// What would be right.
        hint: &'static str,
    },
    /// It reaches through a wall or the ceiling.
    #[error("cloth \"{cloth}\" reaches {by_m:.2} m through the {side}; {hint}")]
    OutsideRoom {
        /// The cloth.
        cloth: String,
        /// How far, metres.
        by_m: f32,
        /// Which wall.
        side: &'static str,
        /// What would be right.
        hint: &'static str,
    },
    /// It lies over a box that is not there.
    #[error("cloth \"{cloth}\" lies over box \"{name}\", which the plan lacks; it has {known}")]
    UnknownBox {
        /// The cloth.
        cloth: String,
        /// The name as written.
        name: String,
        /// The boxes there are.
        known: String,
    },
    /// It lies over nothing.
    #[error("cloth \"{cloth}\" names no box to lie over; name one, or lay it on the `Floor`")]
    NoBox {
        /// The cloth.
        cloth: String,
    },
    /// One of the boxes it lies over is wrong.
    #[error(transparent)]
    Box(#[from] RoomError),
    /// A paint that cannot be.
    #[error("cloth \"{cloth}\": {source}")]
    Paint {
        /// The cloth.
        cloth: String,
        /// Why.
        source: PaintError,
    },
}

/// Where a cloth is put up: its own axes in the world.
#[derive(Debug, Clone, Copy)]
struct Frame {
    origin: Vec3,
    right: Vec3,
    front: Vec3,
}

impl Frame {
    fn new(x: f64, z: f64, turn_deg: f64) -> Self {
        let (sin, cos) = (turn_deg.to_radians() as f32).sin_cos();
        Self {
            origin: Vec3::new(x as f32, 0.0, z as f32),
            right: Vec3::new(cos, 0.0, -sin),
            front: Vec3::new(sin, 0.0, cos),
        }
    }
}

/// The cloth as it is put up in the room.
pub fn build(cloth: &Cloth, room: &RoomBox, boxes: &[SetBox]) -> Result<Mesh, ClothError> {
    let check = Check { cloth };
    for (what, value) in [("creases", cloth.creases), ("folds", cloth.folds)] {
        check.within(what, value, 0.0, 1.0, "it must be between 0 and 1")?;
    }
    let surface = fabric_surface(&cloth.name, &cloth.fabric)
        .map_err(|source| ClothError::Paint { cloth: cloth.name.clone(), source })?;
    let mut sheet = match &cloth.shape {
        ClothShape::Backdrop { width, top, behind, x, turn, sweep } => {
            let width = check.side("width", width.metres)?;
            let top = check.side("top", top.metres)?;
            let sweep = check.within(
                "sweep",
                sweep.metres,
                0.0,
                20.0,
                "it must be between 0 (a hem above the floor) and 20 m",
            )?;
            let frame = check.frame(x.metres, -behind.metres, *turn)?;
            backdrop::sheet(cloth, &frame, width, top, sweep)
        }
        ClothShape::Floor { width, depth, x, z, turn } => {
            let width = check.side("width", width.metres)?;
            let depth = check.side("depth", depth.metres)?;
            floor::sheet(cloth, &check.frame(x.metres, z.metres, *turn)?, width, depth)
        }
        ClothShape::Drapery { width, top, drop, x, z, turn } => {
            let width = check.side("width", width.metres)?;
            let top = check.side("top", top.metres)?;
            let drop = check.side("drop", drop.metres)?;
            drapery::sheet(cloth, &check.frame(x.metres, z.metres, *turn)?, width, top, drop)
        }
        ClothShape::Over { boxes: names, overhang } => {
            let overhang = check.side("overhang", overhang.metres)?;
            let blocks = check.blocks(names, boxes)?;
            over::sheet(cloth, &blocks, overhang)
        }
    };
    check.inside(&mut sheet.points, room)?;
    Ok(sheet.into_mesh(&cloth.name, surface))
}

/// How a fabric scatters.
///
/// Satin: a dielectric of cellulose or silk (index 1.54, Morton & Hearle 2008, table 24.1 range
/// 1.53–1.60) under α = 0.35, since threads spread the gloss (assumption). Velvet: half-strength pile
/// (assumption).
pub fn fabric_surface(name: &str, fabric: &Fabric) -> Result<Surface, PaintError> {
    let reflectance = paint::reflectance(&fabric.paint)?;
    let scatter = match fabric.finish {
        Finish::Matte => Scatter::Diffuse,
        Finish::Satin => Scatter::Coated(Arc::new(Coat::new(1.54, 0.35))),
        Finish::Velvet => Scatter::Velvet(Arc::new(Velvet::new(0.5))),
    };
    Ok(Surface { name: name.into(), reflectance, scatter })
}

/// Vertex spacing for a cloth of `area` m².
fn spacing_m(area: f32) -> f32 {
    (2.0 * area / TRIANGLES).sqrt().clamp(SPACING_M[0], SPACING_M[1])
}

/// Lays a point on the floor where it would be below it, without a corner in the surface.
fn lie(p: Vec3) -> Vec3 {
    let above = p.y - FLOOR_M;
    // smooth maximum of 0 and the height, 1 mm wide
    Vec3::new(p.x, FLOOR_M + 0.5 * (above + (above * above + 1e-6).sqrt()), p.z)
}

/// Checks that know whose cloth it is.
struct Check<'a> {
    cloth: &'a Cloth,
}

impl Check<'_> {
    fn within(
        &self,
        what: &'static str,
        value: f64,
        low: f64,
        high: f64,
        hint: &'static str,
    ) -> Result<f32, ClothError> {
        if (low..=high).contains(&value) {
            return Ok(value as f32);
        }
        Err(ClothError::Value { cloth: self.cloth.name.clone(), what, value, hint })
    }

    fn side(&self, what: &'static str, metres: f64) -> Result<f32, ClothError> {
        self.within(what, metres, 0.05, 20.0, "it must be between 0.05 and 20 m")
    }

    fn frame(&self, x: f64, z: f64, turn_deg: f64) -> Result<Frame, ClothError> {
        let hint = "it must be within 200 m of the mark";
        self.within("x", x, -200.0, 200.0, hint)?;
        self.within("place toward or away from the camera", z, -200.0, 200.0, hint)?;
        self.within("turn", turn_deg, -3600.0, 3600.0, "it must be an angle in degrees")?;
        Ok(Frame::new(x, z, turn_deg))
    }

    fn blocks(&self, names: &[String], boxes: &[SetBox]) -> Result<Vec<Block>, ClothError> {
        let cloth = || self.cloth.name.clone();
        if names.is_empty() {
            return Err(ClothError::NoBox { cloth: cloth() });
        }
        names
            .iter()
            .map(|name| {
                let set_box = boxes.iter().find(|b| b.name == *name).ok_or_else(|| {
                    let known: Vec<_> = boxes.iter().map(|b| format!("\"{}\"", b.name)).collect();
                    let known = if known.is_empty() { "none".into() } else { known.join(", ") };
                    ClothError::UnknownBox { cloth: cloth(), name: name.clone(), known }
                })?;
                Ok(Block::new(set_box)?)
            })
            .collect()
    }

    /// Cloth may be pressed flat against a wall by its own folds, but not hang beyond it.
    fn inside(&self, points: &mut [Vec3], room: &RoomBox) -> Result<(), ClothError> {
        const PRESSED_M: f32 = 0.15;
        let mut low = Vec3::MAX;
        let mut high = Vec3::MIN;
        for p in points.iter() {
            low = low.min(*p);
            high = high.max(*p);
        }
        let move_hint = "move it, make it smaller or make the room larger";
        for (side, by_m, allowed) in [
            ("left wall", room.min.x - low.x, PRESSED_M),
            ("right wall", high.x - room.max.x, PRESSED_M),
            ("back wall", room.min.z - low.z, PRESSED_M),
            ("front wall", high.z - room.max.z, PRESSED_M),
            ("ceiling", high.y - room.max.y, 0.0),
        ] {
            if by_m > allowed {
                let cloth = self.cloth.name.clone();
                return Err(ClothError::OutsideRoom { cloth, by_m, side, hint: move_hint });
            }
        }
        let (low, high) = (room.min + Vec3::splat(WALL_M), room.max - Vec3::splat(WALL_M));
        for p in points {
            *p = Vec3::new(p.x.clamp(low.x, high.x), p.y, p.z.clamp(low.z, high.z));
        }
        Ok(())
    }
}
