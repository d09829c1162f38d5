//! The camera at its place, and the frame that a photographer asks for: so much of the sitter, so
//! large, with the camera moved or the lens chosen for it.
//!
//! ```text
//!   ┌────────┐ ─┬─        part: what of the sitter lies between the top of the hair and the cut
//!   │   ◯    │  │ ─┐
//!   │  ╱█╲   │ 1  │ height      the frame's middle is the part's, `rise` above it if asked
//!   │───█────│  │ ─┘ ◄ cut
//!   └────────┘ ─┴─        distance: along the line from the part to the camera's place
//! ```

use glam::{Vec2, Vec3};
use thiserror::Error;

use super::build::{aim, inside};
use super::place::{Marks, upright};
use super::{Camera, Mesh, Part, Role, RoomBox, StageError};
use crate::plan::{self, Extent, FramedBy, Framing};

/// Why a frame cannot be had.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FramingError {
    /// There is nothing there to frame.
    #[error("camera framing: there is no {what} on this set to frame; name another part")]
    Nothing {
        /// What was asked for.
        what: String,
    },
    /// The room is too small for the lens.
    #[error(
        "camera framing: the frame takes {needs_m:.2} m with {focal_mm:.0} mm, and the room leaves {has_m:.2} m; use a lens of {fits_mm:.0} mm, write `by: Lens`, or enlarge the room"
    )]
    NoRoom {
        /// Distance wanted, metres.
        needs_m: f32,
        /// Distance there is, metres.
        has_m: f32,
        /// The plan's lens.
        focal_mm: f64,
        /// A lens that does it from there.
        fits_mm: f64,
    },
    /// No lens does it from there.
    #[error(
        "camera framing: from its place the camera would need a lens of {focal_mm:.0} mm; move it, or write `by: Distance`"
    )]
    NoLens {
        /// Focal length wanted.
        focal_mm: f64,
    },
    /// The search for place or lens came to no end.
    #[error(
        "camera framing: the camera would stand inside what it frames; ask for less of the frame"
    )]
    TooNear,
}

/// Focal lengths that a framing may choose, millimetres, as for the plan's own.
const LENSES_MM: std::ops::RangeInclusive<f64> = 3.0..=2000.0;

/// Rounds of the search; each brings the share to the square root of its error or better.
const ROUNDS: u32 = 40;

/// The camera of a plan on its set.
pub(super) fn camera(
    planned: &plan::Camera,
    around: &Marks<'_>,
    meshes: &[Mesh],
) -> Result<Camera, StageError> {
    let place = around.place(&planned.place, &Part::Camera)?;
    inside(around.room, place, &Part::Camera)?;
    let stand = Stand { planned, around };
    let Some(framing) = &planned.framing else {
        let forward = aim(around, &planned.aim, place, &Part::Camera)?;
        return stand.camera(place, forward, planned.focal_mm);
    };
    let points = extent(&framing.part, around, meshes)?;
    match framing.by {
        FramedBy::Lens => stand.lens_for(place, framing, &points),
        FramedBy::Distance => stand.distance_for(place, framing, &points),
    }
}

/// The points that are to fill the frame.
fn extent(part: &Extent, around: &Marks<'_>, meshes: &[Mesh]) -> Result<Vec<Vec3>, StageError> {
    let of = |wanted: &dyn Fn(&Mesh) -> bool| -> Vec<Vec3> {
        meshes.iter().filter(|mesh| wanted(mesh)).flat_map(|m| m.positions.clone()).collect()
    };
    let mark = |name: &str| around.named(name).map_or(Vec3::ZERO, |mark| mark.position);
    let body =
        |mesh: &Mesh| matches!(mesh.role, Role::Skin | Role::Eye | Role::Hair | Role::Garment);
    let above =
        |cut: f32| -> Vec<Vec3> { of(&body).into_iter().filter(|point| point.y >= cut).collect() };
    let points = match part {
        Extent::Head => {
            // hands and shoulders may be as high: the head is what is within a span of its middle
            let (chin, crown) = (mark("chin"), mark("crown"));
            let middle = chin.midpoint(crown);
            let reach = 1.1 * chin.distance(crown);
            let near = |p: &Vec3| p.distance(middle) < reach && p.y >= chin.y.min(crown.y);
            of(&body).into_iter().filter(near).collect()
        }
        Extent::HeadAndShoulders => above(mark("left_shoulder").y.min(mark("right_shoulder").y)),
        Extent::Bust => above(mark("chest").y),
        Extent::HalfLength => above(mark("hips").y),
        Extent::ThreeQuarter => above(mark("left_knee").y.min(mark("right_knee").y)),
        Extent::FullLength => of(&body),
        Extent::Named(name) => of(&|mesh: &Mesh| mesh.name == *name),
    };
    if points.is_empty() {
        let what = match part {
            Extent::Named(name) => format!("\"{name}\""),
            _ => "sitter".into(),
        };
        return Err(FramingError::Nothing { what }.into());
    }
    Ok(points)
}

/// A plan's camera on its set, still to be placed.
struct Stand<'a> {
    planned: &'a plan::Camera,
    around: &'a Marks<'a>,
}

impl Stand<'_> {
    /// At a place, looking somewhere, with a lens.
    fn camera(&self, position: Vec3, forward: Vec3, focal_mm: f64) -> Result<Camera, StageError> {
        let planned = self.planned;
        let (right, up) = upright(forward);
        let focus_at = self.around.target(&planned.focus, position, &Part::Focus)?;
        let focus_m = f64::from((focus_at - position).dot(forward));
        let focal_m = focal_mm * 1e-3;
        if focus_m <= 2.0 * focal_m {
            return Err(StageError::FocusTooNear { focus_m, focal_mm });
        }
        let (w, h) = (planned.format.width_mm * 1e-3, planned.format.height_mm * 1e-3);
        Ok(Camera {
            position,
            right,
            up,
            forward,
            sensor_m: if planned.upright { [h, w] } else { [w, h] },
            focal_m,
            pupil_radius_m: 0.5 * focal_m / planned.aperture.f_number,
            focus_m,
        })
    }

    /// Turned so that the points lie in the frame as asked, and the share of it that they take.
    fn framed(
        &self,
        position: Vec3,
        focal_mm: f64,
        framing: &Framing,
        points: &[Vec3],
    ) -> Result<(Camera, f64), StageError> {
        let middle = bounds(points).0;
        let mut forward = (middle - position).try_normalize().ok_or(FramingError::TooNear)?;
        let mut share = 0.0;
        let mut camera = self.camera(position, forward, focal_mm)?;
        for _ in 0..4 {
            let half = camera.half_frame();
            let (mut low, mut high) = (Vec2::MAX, Vec2::MIN);
            for point in points {
                let Some((film, _)) = camera.project(*point) else {
                    return Err(FramingError::TooNear.into());
                };
                (low, high) = (low.min(film), high.max(film));
            }
            share = f64::from(high.y - low.y);
            let middle = 0.5 * (low + high) + Vec2::new(0.0, framing.rise as f32);
            let off = (2.0 * middle - 1.0) * half;
            forward = (camera.forward + camera.right * off.x - camera.up * off.y).normalize();
            camera = self.camera(position, forward, focal_mm)?;
        }
        Ok((camera, share))
    }

    fn lens_for(
        &self,
        place: Vec3,
        framing: &Framing,
        points: &[Vec3],
    ) -> Result<Camera, StageError> {
        let mut focal_mm = self.planned.focal_mm;
        for _ in 0..ROUNDS {
            let (camera, share) = self.framed(place, focal_mm, framing, points)?;
            if (share / framing.height - 1.0).abs() < 1e-4 {
                return Ok(camera);
            }
            focal_mm *= framing.height / share;
            if !LENSES_MM.contains(&focal_mm) {
                return Err(FramingError::NoLens { focal_mm }.into());
            }
        }
        Err(FramingError::TooNear.into())
    }

    fn distance_for(
        &self,
        place: Vec3,
        framing: &Framing,
        points: &[Vec3],
    ) -> Result<Camera, StageError> {
        let (middle, radius) = bounds(points);
        let along = (place - middle).try_normalize().ok_or(FramingError::TooNear)?;
        let focal_mm = self.planned.focal_mm;
        let mut distance_m = place.distance(middle).max(2.0 * radius);
        for _ in 0..ROUNDS {
            let at = middle + along * distance_m;
            let (camera, share) = self.framed(at, focal_mm, framing, points)?;
            if (share / framing.height - 1.0).abs() < 1e-4 {
                let has_m = room_along(self.around.room, middle, along);
                if distance_m > has_m {
                    let wall = middle + along * (0.99 * has_m);
                    let fits = self.lens_for(wall, framing, points)?;
                    let fits_mm = (1e3 * fits.focal_m).floor();
                    let needs_m = distance_m;
                    return Err(FramingError::NoRoom { needs_m, has_m, focal_mm, fits_mm }.into());
                }
                return Ok(camera);
            }
            // the near points' depth makes the share fall faster than the distance grows
            distance_m *= (share / framing.height).powf(0.8) as f32;
            distance_m = distance_m.clamp(0.3 * radius, 1e4);
        }
        Err(FramingError::TooNear.into())
    }
}

/// Middle of the points' box and the distance of the farthest from it.
fn bounds(points: &[Vec3]) -> (Vec3, f32) {
    let low = points.iter().copied().fold(Vec3::MAX, Vec3::min);
    let high = points.iter().copied().fold(Vec3::MIN, Vec3::max);
    let middle = low.midpoint(high);
    (middle, points.iter().map(|p| p.distance(middle)).fold(0.0, f32::max))
}

/// Metres from a point to the room's surface along a direction.
fn room_along(room: RoomBox, from: Vec3, along: Vec3) -> f32 {
    (0..3)
        .map(|axis| match along[axis] {
            a if a > 1e-6 => (room.max[axis] - from[axis]) / a,
            a if a < -1e-6 => (room.min[axis] - from[axis]) / a,
            _ => f32::INFINITY,
        })
        .fold(f32::INFINITY, f32::min)
}
