//! From the photographer's places and targets to points in the room.
//!
//! ```text
//!            180 (behind)                 elevation: above the target's horizontal
//!               │                         azimuth:   around it, seen from above
//!   −90 ────── ⊙ ────── +90 (camera right)
//!               │
//!               0 (toward +z, where the camera normally stands)
//! ```

use glam::Vec3;

use super::{Mark, Part, RoomBox, StageError};
use crate::plan::{Length, Place, Target};

/// What targets can refer to.
pub struct Marks<'a> {
    /// Named places of sitter and set.
    pub marks: &'a [Mark],
    /// The room.
    pub room: RoomBox,
}

/// Unit vector of an azimuth and an elevation in degrees.
pub fn direction(azimuth_deg: f64, elevation_deg: f64) -> Vec3 {
    let (az, el) = (azimuth_deg.to_radians(), elevation_deg.to_radians());
    Vec3::new((az.sin() * el.cos()) as f32, el.sin() as f32, (az.cos() * el.cos()) as f32)
}

/// A point from three lengths.
pub fn point(x: Length, y: Length, z: Length) -> Vec3 {
    Vec3::new(x.metres as f32, y.metres as f32, z.metres as f32)
}

/// Face height in metres assumed where a set has no sitter: where a standing adult's would be.
pub const ABSENT_FACE_M: f32 = 1.55;

impl Marks<'_> {
    /// The mark of that name.
    pub fn named(&self, name: &str) -> Option<&Mark> {
        self.marks.iter().find(|mark| mark.name == name)
    }

    fn part(&self, name: &str) -> Vec3 {
        self.named(name).map_or(Vec3::Y * ABSENT_FACE_M, |mark| mark.position)
    }

    /// World point of a target for something that stands at `from`. `owner` is blamed in errors.
    pub fn target(&self, target: &Target, from: Vec3, owner: &Part) -> Result<Vec3, StageError> {
        Ok(match target {
            Target::Face => self.part("face"),
            Target::NearEye => {
                let (l, r) = (self.part("left_eye"), self.part("right_eye"));
                if l.distance(from) <= r.distance(from) { l } else { r }
            }
            Target::Chest => self.part("chest"),
            Target::Hips => self.part("hips"),
            Target::RightHand => self.part("right_hand"),
            Target::LeftHand => self.part("left_hand"),
            Target::Crown => self.part("crown"),
            Target::Feet => {
                let mut feet = self.named("feet").map_or(Vec3::ZERO, |mark| mark.position);
                feet.y = 0.0;
                feet
            }
            Target::Mark => Vec3::ZERO,
            Target::Ceiling => Vec3::new(from.x, self.room.max.y, from.z),
            Target::Named(name) => match self.named(name) {
                Some(mark) => mark.position,
                None => {
                    return Err(StageError::UnknownTarget {
                        owner: owner.clone(),
                        name: name.clone(),
                        known: self.marks.iter().map(|m| m.name.clone()).collect(),
                    });
                }
            },
            Target::Point { x, y, z } => point(*x, *y, *z),
            Target::Toward { azimuth, tilt } => from + direction(*azimuth, *tilt),
        })
    }

    /// World point of a place.
    pub fn place(&self, place: &Place, owner: &Part) -> Result<Vec3, StageError> {
        Ok(match place {
            Place::Around { azimuth, elevation, distance, of } => {
                let centre = self.target(of, Vec3::new(0.0, ABSENT_FACE_M, 3.0), owner)?;
                centre + direction(*azimuth, *elevation) * distance.metres as f32
            }
            Place::Stand { azimuth, distance, height } => {
                direction(*azimuth, 0.0) * distance.metres as f32 + Vec3::Y * height.metres as f32
            }
            Place::At { x, y, z } => point(*x, *y, *z),
        })
    }
}

/// Frame of something that looks along `axis`, held upright: (right, up), right-handed with the
/// axis as (right, up, −axis).
pub fn upright(axis: Vec3) -> (Vec3, Vec3) {
    let side = axis.cross(Vec3::Y);
    let right = if side.length() < 1e-4 { Vec3::X } else { side.normalize() };
    (right, right.cross(axis).normalize())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn azimuth_runs_from_the_camera_to_camera_right() {
        assert!(direction(0.0, 0.0).distance(Vec3::Z) < 1e-6);
        assert!(direction(90.0, 0.0).distance(Vec3::X) < 1e-6);
        assert!(direction(180.0, 0.0).distance(-Vec3::Z) < 1e-6);
        assert!(direction(30.0, 90.0).distance(Vec3::Y) < 1e-6);
    }

    #[test]
    fn upright_frames_are_right_handed() {
        for axis in [Vec3::NEG_Z, Vec3::Y, Vec3::NEG_Y, Vec3::new(0.3, -0.4, 0.5).normalize()] {
            let (right, up) = upright(axis);
            assert!((right.cross(up) + axis).length() < 1e-5);
        }
    }
}
