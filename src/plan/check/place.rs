//! Places and targets: whether they name what is there and lie inside the room.
//!
//! ```text
//!            back wall                    x right, z toward the camera, from the mark
//!     ┌──────────┬─────────────┐
//!     │          │ from_back   │  azimuth a, distance d:  x = d·sin a,  z = d·cos a
//!     │from_left │             │
//!     ├──────────×─► x         │
//!     │          ▼ z           │
//!     └────────────────────────┘ front wall, behind the camera
//! ```

use super::{At, Faults};
use crate::plan::{Length, Place, Plan, Room, Target};

/// Inside of the room from the mark, in metres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bounds {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) back: f64,
    pub(super) front: f64,
    pub(super) height: f64,
}

impl Bounds {
    pub(super) fn new(room: &Room) -> Self {
        let (width, depth) = (room.width.metres, room.depth.metres);
        let (from_left, from_back) = match &room.mark {
            Some(mark) => (mark.from_left.metres, mark.from_back.metres),
            None => (0.5 * width, 2.0),
        };
        Self {
            left: -from_left,
            right: width - from_left,
            back: -from_back,
            front: depth - from_back,
            height: room.height.metres,
        }
    }

    /// The wall or the like that a point is beyond, and by how much.
    pub(super) fn beyond(&self, x: f64, y: f64, z: f64) -> Option<(&'static str, f64)> {
        [
            ("the left wall", self.left - x),
            ("the right wall", x - self.right),
            ("the back wall", self.back - z),
            ("the front wall", z - self.front),
            ("the ceiling", y - self.height),
            ("the floor", -y),
        ]
        .into_iter()
        .filter(|(_, by)| *by > 1e-9)
        .max_by(|a, b| a.1.total_cmp(&b.1))
    }

    fn diagonal(&self) -> f64 {
        (self.right - self.left).hypot(self.front - self.back).hypot(self.height)
    }
}

impl Place {
    /// The place in metres from the mark, where it does not depend on the sitter or the set.
    pub(super) fn floor_point(&self) -> Option<[f64; 3]> {
        match self {
            Place::Around { .. } => None,
            Place::Stand { azimuth, distance, height } => {
                let (sin, cos) = azimuth.to_radians().sin_cos();
                Some([distance.metres * sin, height.metres, distance.metres * cos])
            }
            Place::At { x, y, z } => Some([x.metres, y.metres, z.metres]),
        }
    }
}

impl Faults {
    /// A point given by plain coordinates must lie in the room.
    pub(super) fn inside(&mut self, at: &At, point: [f64; 3], bounds: &Bounds) {
        let [x, y, z] = point;
        if let Some((wall, by)) = bounds.beyond(x, y, z) {
            let side = match wall {
                "the ceiling" => format!("the room is {} high", Length::metres(bounds.height)),
                "the floor" => "heights are from the floor up".into(),
                _ => format!(
                    "from the mark the room reaches x {:.2} to {:.2} m, z {:.2} to {:.2} m",
                    bounds.left, bounds.right, bounds.back, bounds.front
                ),
            };
            self.add(
                at,
                format!("({x:.2}, {y:.2}, {z:.2}) m is {by:.2} m beyond {wall}"),
                format!("{side}; move it or enlarge the room"),
            );
        }
    }

    pub(super) fn place(&mut self, at: &At, place: &Place, plan: &Plan, bounds: &Bounds) {
        match place {
            Place::Around { azimuth, elevation, distance, of } => {
                self.degrees(&at.field("azimuth"), *azimuth, 360.0);
                self.degrees(&at.field("elevation"), *elevation, 90.0);
                self.length(&at.field("distance"), *distance, 0.05, bounds.diagonal().max(0.05));
                self.target(&at.field("of"), of, plan, bounds);
                if matches!(of, Target::Toward { .. }) {
                    self.add(
                        &at.field("of"),
                        "a direction has no place to stand around",
                        "name a part of the sitter, a thing of the set, or a `Point`",
                    );
                }
            }
            Place::Stand { azimuth, distance, .. } => {
                self.degrees(&at.field("azimuth"), *azimuth, 360.0);
                self.length(&at.field("distance"), *distance, 0.0, 1000.0);
            }
            Place::At { .. } => {}
        }
        if let Some(point) = place.floor_point() {
            self.inside(at, point, bounds);
        }
    }

    pub(super) fn target(&mut self, at: &At, target: &Target, plan: &Plan, bounds: &Bounds) {
        match target {
            Target::Named(name) => {
                let cloths = plan.cloths.iter().map(|c| c.name.as_str());
                let boxes = plan.boxes.iter().map(|b| b.name.as_str());
                let boards = plan.boards.iter().map(|b| b.name.as_str());
                self.reference(at, name, "cloth, box or board", cloths.chain(boxes).chain(boards));
            }
            Target::Point { x, y, z } => self.inside(at, [x.metres, y.metres, z.metres], bounds),
            Target::Toward { azimuth, tilt } => {
                self.degrees(&at.field("azimuth"), *azimuth, 360.0);
                self.degrees(&at.field("tilt"), *tilt, 90.0);
            }
            Target::Mark | Target::Ceiling => {}
            // without a sitter these are judged where a face would be
            Target::Face
            | Target::NearEye
            | Target::Chest
            | Target::Hips
            | Target::RightHand
            | Target::LeftHand
            | Target::Feet
            | Target::Crown => {}
        }
    }
}
