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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Length, Paint};

    const ROOM: RoomBox =
        RoomBox { min: Vec3::new(-3.0, 0.0, -2.0), max: Vec3::new(3.0, 3.0, 3.0) };

    fn m(metres: f64) -> Length {
        Length::metres(metres)
    }

    fn cloth(shape: ClothShape, creases: f64, folds: f64) -> Cloth {
        let fabric = Fabric { paint: Paint::grey(0.5), finish: Finish::Matte };
        Cloth { name: "linen".into(), fabric, shape, creases, folds, seed: 3 }
    }

    fn backdrop(sweep: f64) -> ClothShape {
        let (width, top, behind) = (m(2.7), m(2.6), m(1.2));
        ClothShape::Backdrop { width, top, behind, x: m(0.0), turn: 0.0, sweep: m(sweep) }
    }

    fn floor() -> ClothShape {
        ClothShape::Floor { width: m(2.0), depth: m(1.5), x: m(0.0), z: m(0.3), turn: 20.0 }
    }

    fn drapery() -> ClothShape {
        let (width, top, drop) = (m(0.9), m(2.4), m(2.3));
        ClothShape::Drapery { width, top, drop, x: m(0.5), z: m(0.0), turn: 10.0 }
    }

    fn crates() -> Vec<SetBox> {
        let set_box = |name: &str, size: [f64; 3], base: f64, turn: f64| SetBox {
            name: name.into(),
            width: m(size[0]),
            height: m(size[1]),
            depth: m(size[2]),
            x: m(0.0),
            z: m(0.0),
            base: m(base),
            turn,
            paint: Paint::grey(0.3),
        };
        vec![
            set_box("low", [0.6, 0.4, 0.5], 0.0, 15.0),
            set_box("high", [0.4, 0.3, 0.35], 0.4, -10.0),
        ]
    }

    fn over() -> ClothShape {
        ClothShape::Over { boxes: vec!["low".into(), "high".into()], overhang: m(0.6) }
    }

    fn built(shape: ClothShape, creases: f64, folds: f64) -> Mesh {
        build(&cloth(shape, creases, folds), &ROOM, &crates()).unwrap()
    }

    fn longest_edge(mesh: &Mesh) -> f32 {
        let p = |i: u32| mesh.positions[i as usize];
        mesh.triangles
            .iter()
            .flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)])
            .map(|(a, b)| p(a).distance(p(b)))
            .fold(0.0, f32::max)
    }

    #[test]
    fn a_stretched_uncreased_backdrop_is_exactly_plane() {
        for p in built(backdrop(0.0), 0.0, 0.0).positions {
            assert_eq!(p.z, -1.2);
        }
    }

    #[test]
    fn every_cloth_is_whole_inside_the_room_and_above_the_floor() {
        for shape in [backdrop(0.0), backdrop(1.8), floor(), drapery(), over()] {
            let mesh = built(shape.clone(), 1.0, 1.0);
            assert!(mesh.triangles.len() < 260_000);
            for (p, n) in mesh.positions.iter().zip(&mesh.normals) {
                assert!(p.is_finite() && (n.length() - 1.0).abs() < 1e-4);
                assert!(p.y >= 0.0005, "{shape:?}: {p}");
                assert!(p.cmple(ROOM.max).all() && p.z >= ROOM.min.z && p.x >= ROOM.min.x);
            }
        }
    }

    #[test]
    fn vertices_of_procedural_cloth_are_within_two_centimetres() {
        for shape in [backdrop(0.0), backdrop(1.8), floor(), drapery()] {
            let longest = longest_edge(&built(shape.clone(), 0.5, 0.5));
            assert!(longest <= 0.02, "{shape:?}: {longest}");
        }
    }

    #[test]
    fn cloth_lies_on_most_of_the_floor_it_covers() {
        let mesh = built(floor(), 0.5, 0.5);
        let touching = mesh.positions.iter().filter(|p| p.y < 0.003).count();
        assert!(2 * touching > mesh.positions.len(), "{touching} of {}", mesh.positions.len());
    }

    #[test]
    fn the_same_seed_gives_the_same_mesh_and_another_gives_another() {
        for shape in [backdrop(0.0), over()] {
            let first = built(shape.clone(), 0.5, 0.5);
            assert_eq!(first.positions, built(shape.clone(), 0.5, 0.5).positions);
            let other = Cloth { seed: 4, ..cloth(shape, 0.5, 0.5) };
            assert_ne!(first.positions, build(&other, &ROOM, &crates()).unwrap().positions);
        }
    }

    /// Vertices, edge middles and triangle middles all keep out of the boxes as the plan gives them,
    /// less the bevel that `room::boxes` takes off their edges.
    #[test]
    fn thrown_cloth_never_enters_a_box_and_touches_it() {
        let blocks: Vec<Block> = crates().iter().map(|b| Block::new(b).unwrap()).collect();
        let mesh = built(over(), 1.0, 0.5);
        let inside = |p: Vec3| blocks.iter().map(|b| b.distance(p).0).fold(f32::MAX, f32::min);
        let mut nearest = f32::MAX;
        for t in &mesh.triangles {
            let [a, b, c] = t.map(|i| mesh.positions[i as usize]);
            for p in [a, b, c, 0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a), (a + b + c) / 3.0] {
                nearest = nearest.min(inside(p));
            }
        }
        // a 6 mm bevel lies 6/√2 = 4.2 mm under the sharp edge and 6·2/√3 = 6.9 mm under the corner
        assert!((-0.004..0.008).contains(&nearest), "{nearest}");
        let top = blocks[1].centre.y + blocks[1].half.y;
        let lying = mesh.positions.iter().filter(|p| (p.y - top - 0.007).abs() < 0.004).count();
        assert!(lying > 500, "only {lying} vertices lie on the upper box");
    }

    /// Case 'crease contrast against rake': flanks of slope α under light θ from the normal differ
    /// by log2(cos(θ − α)/cos(θ + α)): 1.53 stops at 70° and 10°, 0.51 at 45°, none head on.
    #[test]
    fn raking_light_brings_up_creases_as_their_slopes_say() {
        let mesh = built(backdrop(0.0), 0.5, 0.0);
        let mut slopes: Vec<f32> =
            mesh.normals.iter().map(|n| (n.x / n.z).atan().to_degrees()).collect();
        slopes.sort_by(f32::total_cmp);
        let share = |q: f32| slopes[(q * (slopes.len() - 1) as f32) as usize];
        // typical flanks, one standard deviation to either side along the light's direction
        let (away, toward) = (share(0.16), share(0.84));
        assert!(toward > 2.0 && toward < 10.0 && away < -2.0 && away > -10.0, "{away} {toward}");
        let contrast = |theta: f32| {
            let light = Vec3::new(theta.to_radians().sin(), 0.0, theta.to_radians().cos());
            let mean = |side: &dyn Fn(f32) -> bool| {
                let lit: Vec<f32> = mesh
                    .normals
                    .iter()
                    .filter(|n| side((n.x / n.z).atan().to_degrees()))
                    .map(|n| n.dot(light).max(0.0))
                    .collect();
                lit.iter().sum::<f32>() / lit.len() as f32
            };
            (mean(&|s| (s - toward).abs() < 0.3) / mean(&|s| (s - away).abs() < 0.3)).log2()
        };
        for theta in [45.0f32, 70.0] {
            let cos = |slope: f32| (theta - slope).to_radians().cos();
            let expected = (cos(toward) / cos(away)).log2();
            let got = contrast(theta);
            assert!((got - expected).abs() < 0.05, "{theta}°: {got} against {expected}");
        }
        assert!(contrast(0.0).abs() < 0.05);
    }

    #[test]
    fn creases_grow_with_their_slider() {
        let rms = |creases: f64| {
            let mesh = built(backdrop(0.0), creases, 0.0);
            let sum: f32 = mesh.normals.iter().map(|n| 1.0 - n.z * n.z).sum();
            (sum / mesh.normals.len() as f32).sqrt().asin().to_degrees()
        };
        let (half, full) = (rms(0.5), rms(1.0));
        assert!((3.0..12.0).contains(&half) && full > 1.7 * half, "{half}° {full}°");
    }

    #[test]
    fn a_cloth_that_cannot_be_says_why() {
        let error = |shape, creases| build(&cloth(shape, creases, 0.5), &ROOM, &crates());
        assert!(error(backdrop(0.0), 1.5).unwrap_err().to_string().contains("between 0 and 1"));
        assert!(error(backdrop(0.0), f64::NAN).is_err());
        let far =
            ClothShape::Floor { width: m(9.0), depth: m(2.0), x: m(0.0), z: m(0.0), turn: 0.0 };
        let message = error(far, 0.5).unwrap_err().to_string();
        assert!(message.contains("through the left wall"), "{message}");
        let ghost = ClothShape::Over { boxes: vec!["ghost".into()], overhang: m(0.5) };
        let message = error(ghost, 0.5).unwrap_err().to_string();
        assert!(message.contains("\"low\", \"high\""), "{message}");
        let none = ClothShape::Over { boxes: vec![], overhang: m(0.5) };
        assert!(matches!(error(none, 0.5), Err(ClothError::NoBox { .. })));
    }
}
