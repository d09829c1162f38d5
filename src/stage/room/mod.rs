//! Walls, floor, ceiling and boxes as meshes.
//!
//! In: the plan's [`Room`] and [`SetBox`]es. Out: the room's inside as a [`RoomBox`], one
//! two-triangle mesh for each surface of the shell, one bevelled mesh for each box.

mod boxes;
pub mod paint;
mod window;

use glam::{Vec2, Vec3};
use thiserror::Error;

pub(crate) use boxes::add_bevelled;
pub use boxes::{Block, boxes};
use paint::PaintError;
pub use window::{WallFrame, daylight};

use super::{Mesh, Role, RoomBox};
use crate::optics::surface::Surface;
use crate::plan::{Length, Paint, Room, Wall, Window};

/// Room sides the shell accepts, metres: from a cupboard to a hangar.
const SIDE_M: std::ops::RangeInclusive<f64> = 0.5..=200.0;
/// The mark's distance from the back wall where the plan does not say.
const DEFAULT_FROM_BACK_M: f64 = 2.0;

/// What can be wrong with a room or a box; all are the plan's faults.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RoomError {
    /// A side of the room is no usable length.
    #[error("room {side} is {metres} m; it must be between 0.5 and 200 m")]
    RoomSide {
        /// `"width"`, `"depth"` or `"height"`.
        side: &'static str,
        /// As written.
        metres: f64,
    },
    /// The stage mark is not in the room.
    #[error("the mark is {metres} m from the {wall} wall; it must be between 0 and {most} m")]
    MarkOutside {
        /// `"left"` or `"back"`.
        wall: &'static str,
        /// As written.
        metres: f64,
        /// The room's extent that way.
        most: f64,
    },
    /// A side of a box is no usable length.
    #[error("box \"{name}\": {side} is {metres} m; it must be between 0.01 and 20 m")]
    BoxSide {
        /// The box.
        name: String,
        /// `"width"`, `"height"` or `"depth"`.
        side: &'static str,
        /// As written.
        metres: f64,
    },
    /// A box has no usable place.
    #[error("box \"{name}\": {what} is {value}; {hint}")]
    BoxPlace {
        /// The box.
        name: String,
        /// Which field.
        what: &'static str,
        /// As written.
        value: f64,
        /// What would be right.
        hint: &'static str,
    },
    /// A window that its wall has no room for.
    #[error("window \"{name}\" {what}; make it smaller or move it along the wall")]
    Window {
        /// The window.
        name: String,
        /// What is wrong.
        what: String,
    },
    /// A paint that cannot be.
    #[error("{of}: {source}")]
    Paint {
        /// Which surface.
        of: String,
        /// Why.
        source: PaintError,
    },
}

/// The inside of the room and its six surfaces, each of two triangles that face inward, more
/// where a wall has windows.
///
/// Two triangles a wall is deliberate: regularly tessellated axis-aligned walls make the
/// bounding volume hierarchy an order of magnitude slower to walk.
pub fn shell(room: &Room, windows: &[Window]) -> Result<(RoomBox, Vec<Mesh>), RoomError> {
    let bounds = bounds(room)?;
    let (a, b) = (bounds.min, bounds.max);
    let p = |x: f32, y: f32, z: f32| Vec3::new(x, y, z);
    let wall = |own: &Option<Paint>| own.clone().unwrap_or_else(|| room.walls.clone());
    // counter-clockwise as seen from inside
    let surfaces: [(&str, Paint, [Vec3; 4]); 6] = [
        (
            "floor",
            room.floor.clone(),
            [p(a.x, a.y, b.z), p(b.x, a.y, b.z), p(b.x, a.y, a.z), p(a.x, a.y, a.z)],
        ),
        (
            "ceiling",
            room.ceiling.clone(),
            [p(a.x, b.y, a.z), p(b.x, b.y, a.z), p(b.x, b.y, b.z), p(a.x, b.y, b.z)],
        ),
        (
            "back wall",
            wall(&room.back_wall),
            [p(a.x, a.y, a.z), p(b.x, a.y, a.z), p(b.x, b.y, a.z), p(a.x, b.y, a.z)],
        ),
        (
            "left wall",
            wall(&room.left_wall),
            [p(a.x, a.y, b.z), p(a.x, a.y, a.z), p(a.x, b.y, a.z), p(a.x, b.y, b.z)],
        ),
        (
            "right wall",
            wall(&room.right_wall),
            [p(b.x, a.y, a.z), p(b.x, a.y, b.z), p(b.x, b.y, b.z), p(b.x, b.y, a.z)],
        ),
        (
            "front wall",
            wall(&room.front_wall),
            [p(b.x, a.y, b.z), p(a.x, a.y, b.z), p(a.x, b.y, b.z), p(b.x, b.y, b.z)],
        ),
    ];
    let mut meshes = Vec::new();
    for (name, paint, corners) in surfaces {
        let reflectance = paint::reflectance(&paint)
            .map_err(|source| RoomError::Paint { of: name.into(), source })?;
        let own: Vec<&Window> = windows.iter().filter(|w| wall_name(w.wall) == name).collect();
        let mut mesh = Mesh {
            name: name.into(),
            role: Role::Room,
            positions: corners.to_vec(),
            normals: Vec::new(),
            tints: Vec::new(),
            triangles: vec![[0, 1, 2], [0, 2, 3]],
            surface: Surface::diffuse(name, reflectance),
        };
        if let Some(first) = own.first() {
            let frame = WallFrame::of(first.wall, &bounds);
            pierce(&mut mesh, &frame, &own)?;
            meshes.extend(own.iter().flat_map(|w| window::reveal(w, &frame, reflectance)));
        }
        meshes.push(mesh);
    }
    Ok((bounds, meshes))
}

fn wall_name(wall: Wall) -> &'static str {
    match wall {
        Wall::Left => "left wall",
        Wall::Right => "right wall",
        Wall::Back => "back wall",
        Wall::Front => "front wall",
    }
}

/// Cuts the windows' openings out of a wall.
fn pierce(wall: &mut Mesh, frame: &WallFrame, windows: &[&Window]) -> Result<(), RoomError> {
    let mut openings: Vec<(Vec2, Vec2)> = Vec::new();
    for window in windows {
        let (low, high) = frame.opening(window);
        let wrong = |what: String| Err(RoomError::Window { name: window.name.clone(), what });
        let most = Vec2::new(frame.width, frame.height);
        if !(low.cmpgt(Vec2::ZERO).all() && high.cmplt(most).all()) {
            return wrong(format!(
                "reaches over the edge of its wall, which is {:.2} m wide and {:.2} m high",
                most.x, most.y
            ));
        }
        let meets = |(a, b): &(Vec2, Vec2)| low.cmplt(*b).all() && high.cmpgt(*a).all();
        if let Some(other) = openings.iter().position(meets) {
            return wrong(format!("overlaps window \"{}\"", windows[other].name));
        }
        openings.push((low, high));
    }
    wall.positions.clear();
    wall.triangles.clear();
    for (low, high) in window::around(frame.width, frame.height, &openings) {
        let first = wall.positions.len() as u32;
        let corners = [low, Vec2::new(high.x, low.y), high, Vec2::new(low.x, high.y)];
        wall.positions.extend(corners.map(|p| frame.at(p)));
        wall.triangles.extend([[first, first + 1, first + 2], [first, first + 2, first + 3]]);
    }
    Ok(())
}

/// The room's inside around the mark, checked.
fn bounds(room: &Room) -> Result<RoomBox, RoomError> {
    let side = |side, length: Length| {
        if SIDE_M.contains(&length.metres) {
            Ok(length.metres)
        } else {
            Err(RoomError::RoomSide { side, metres: length.metres })
        }
    };
    let (width, depth, height) =
        (side("width", room.width)?, side("depth", room.depth)?, side("height", room.height)?);
    let (from_left, from_back) = match &room.mark {
        Some(mark) => (mark.from_left.metres, mark.from_back.metres),
        None => (0.5 * width, DEFAULT_FROM_BACK_M.min(0.5 * depth)),
    };
    for (wall, metres, most) in [("left", from_left, width), ("back", from_back, depth)] {
        if !(metres > 0.0 && metres < most) {
            return Err(RoomError::MarkOutside { wall, metres, most });
        }
    }
    Ok(RoomBox {
        min: Vec3::new(-from_left as f32, 0.0, -from_back as f32),
        max: Vec3::new((width - from_left) as f32, height as f32, (depth - from_back) as f32),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Mark;

    #[test]
    fn every_surface_of_the_shell_faces_the_middle_of_the_room() {
        let (bounds, meshes) = shell(&Room::default(), &[]).unwrap();
        let middle = 0.5 * (bounds.min + bounds.max);
        assert_eq!(meshes.len(), 6);
        for mesh in &meshes {
            assert_eq!(mesh.triangles.len(), 2);
            for t in &mesh.triangles {
                let [a, b, c] = t.map(|i| mesh.positions[i as usize]);
                let normal = (b - a).cross(c - a);
                assert!(normal.dot(middle - a) > 0.0, "{} faces outward", mesh.name);
            }
        }
    }

    #[test]
    fn the_shell_closes_over_the_area_of_a_box() {
        let (_, meshes) = shell(&Room::default(), &[]).unwrap();
        let area: f32 = meshes
            .iter()
            .flat_map(|m| m.triangles.iter().map(|t| t.map(|i| m.positions[i as usize])))
            .map(|[a, b, c]| 0.5 * (b - a).cross(c - a).length())
            .sum();
        // 6 × 5 × 3 m: 2·(30 + 18 + 15)
        assert!((area - 126.0).abs() < 1e-3, "{area}");
    }

    #[test]
    fn the_mark_is_the_origin() {
        let room = Room {
            mark: Some(Mark { from_left: Length::metres(1.0), from_back: Length::metres(1.5) }),
            ..Room::default()
        };
        let (bounds, _) = shell(&room, &[]).unwrap();
        assert_eq!(bounds.min, Vec3::new(-1.0, 0.0, -1.5));
        assert_eq!(bounds.max, Vec3::new(5.0, 3.0, 3.5));
    }

    #[test]
    fn a_room_that_cannot_be_says_why() {
        let flat = Room { height: Length::metres(f64::NAN), ..Room::default() };
        assert!(matches!(shell(&flat, &[]), Err(RoomError::RoomSide { side: "height", .. })));
        let outside = Room {
            mark: Some(Mark { from_left: Length::metres(7.0), from_back: Length::metres(1.0) }),
            ..Room::default()
        };
        assert!(matches!(shell(&outside, &[]), Err(RoomError::MarkOutside { wall: "left", .. })));
        let bright = Room { ceiling: Paint::grey(1.2), ..Room::default() };
        assert!(shell(&bright, &[]).unwrap_err().to_string().starts_with("ceiling: "));
    }
}
