//! A thin lens: where a point of the film looks.
//!
//! ```text
//!   film        lens                 plane of focus
//!    │◄── v ──►│◄─────── s ────────►│     1/f = 1/s + 1/v
//! ```

use glam::{Vec2, Vec3};
use std::f32::consts::TAU;

/// A thin-lens camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// Centre of the entrance pupil.
    pub position: Vec3,
    /// Unit vector to the right of the frame.
    pub right: Vec3,
    /// Unit vector up the frame.
    pub up: Vec3,
    /// Unit vector along the optical axis into the scene.
    pub forward: Vec3,
    /// Image area in metres, as held (width across the frame).
    pub sensor_m: [f64; 2],
    /// Focal length in metres.
    pub focal_m: f64,
    /// Radius of the entrance pupil in metres, f/(2N).
    pub pupil_radius_m: f64,
    /// Distance of the plane of focus along the axis in metres.
    pub focus_m: f64,
}

impl Camera {
    /// The same camera with its frame cropped to an aspect (width over height).
    #[must_use]
    pub fn cropped_to(mut self, aspect: f64) -> Self {
        let [w, h] = self.sensor_m;
        self.sensor_m = if w / h > aspect { [h * aspect, h] } else { [w, w / aspect] };
        self
    }

    /// Lens to film, v = f·s/(s − f).
    pub fn image_distance_m(&self) -> f64 {
        self.focal_m * self.focus_m / (self.focus_m - self.focal_m)
    }

    /// Half the frame's width and height at unit distance.
    pub fn half_frame(&self) -> Vec2 {
        let v = self.image_distance_m();
        Vec2::new((0.5 * self.sensor_m[0] / v) as f32, (0.5 * self.sensor_m[1] / v) as f32)
    }

    /// Ray of the point `film` (0..1 from the top left of the frame) through the point of the
    /// pupil that `lens` (uniform in the unit square) picks. Unit direction.
    pub fn ray(&self, film: Vec2, lens: Vec2) -> (Vec3, Vec3) {
        let half = self.half_frame();
        let across = (2.0 * film.x - 1.0) * half.x;
        let upward = (1.0 - 2.0 * film.y) * half.y;
        let focus = self.focus_m as f32;
        let target =
            self.position + (self.forward + self.right * across + self.up * upward) * focus;
        let origin = self.position + self.on_pupil(lens, self.pupil_radius_m as f32);
        (origin, (target - origin).normalize())
    }

    /// Offset from the pupil's centre that `u`, uniform in the unit square, picks evenly.
    pub fn on_pupil(&self, u: Vec2, radius_m: f32) -> Vec3 {
        let (r, phi) = (radius_m * u.x.sqrt(), TAU * u.y);
        self.right * (r * phi.cos()) + self.up * (r * phi.sin())
    }

    /// Where a world point falls on the frame (0..1 from the top left) and its distance along
    /// the axis; `None` behind the lens.
    pub fn project(&self, point: Vec3) -> Option<(Vec2, f32)> {
        let local = point - self.position;
        let depth = local.dot(self.forward);
        if depth <= 1e-6 {
            return None;
        }
        let half = self.half_frame();
        let x = local.dot(self.right) / depth / half.x;
        let y = local.dot(self.up) / depth / half.y;
        Some((Vec2::new(0.5 + 0.5 * x, 0.5 - 0.5 * y), depth))
    }
}
