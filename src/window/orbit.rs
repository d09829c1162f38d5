//! The set seen from anywhere: an eye that goes round a point, and what lies under the pointer.

use glam::{Vec2, Vec3};

/// Half the height of the view at unit distance: an angle of 40°.
const HALF_TAN: f32 = 0.364;

/// An eye on a sphere round a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Orbit {
    /// The point, metres.
    pub centre: Vec3,
    /// Degrees round it: 0 from the front, + to camera right.
    pub azimuth: f32,
    /// Degrees above it.
    pub elevation: f32,
    /// Metres from it.
    pub distance: f32,
}

impl Default for Orbit {
    fn default() -> Self {
        Self { centre: Vec3::new(0.0, 1.0, 0.2), azimuth: 32.0, elevation: 26.0, distance: 9.5 }
    }
}

/// The eye's frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eye {
    /// Where it is.
    pub position: Vec3,
    /// To the right of the view.
    pub right: Vec3,
    /// Up the view.
    pub up: Vec3,
    /// Into the view.
    pub forward: Vec3,
    /// Points across and down.
    pub size: Vec2,
}

impl Orbit {
    /// From above, the back wall up.
    pub const ABOVE: (f32, f32) = (0.0, 89.0);
    /// From the camera's side.
    pub const FRONT: (f32, f32) = (0.0, 4.0);
    /// From camera right.
    pub const SIDE: (f32, f32) = (90.0, 4.0);

    /// The eye for a view of this size.
    pub fn eye(&self, size: Vec2) -> Eye {
        let out = direction(self.azimuth, self.elevation);
        let right = direction(self.azimuth + 90.0, 0.0);
        let forward = -out;
        Eye {
            position: self.centre + out * self.distance,
            right,
            up: right.cross(forward),
            forward,
            size,
        }
    }

    /// Turned by a drag of so many points.
    pub fn turn(&mut self, drag: Vec2) {
        self.azimuth = wrapped(self.azimuth - 0.4 * drag.x);
        self.elevation = (self.elevation + 0.4 * drag.y).clamp(-30.0, 89.0);
    }

    /// Moved sideways by a drag of so many points in a view of this size.
    pub fn pan(&mut self, drag: Vec2, size: Vec2) {
        let eye = self.eye(size);
        let metres = self.distance / eye.scale().max(1.0);
        self.centre += (-eye.right * drag.x + eye.up * drag.y) * metres;
    }

    /// Nearer (+) or farther.
    pub fn zoom(&mut self, steps: f32) {
        self.distance = (self.distance * (-0.0018 * steps).exp()).clamp(0.5, 40.0);
    }
}

/// Degrees from −180 to 180.
pub fn wrapped(degrees: f32) -> f32 {
    let turn = degrees.rem_euclid(360.0);
    if turn > 180.0 { turn - 360.0 } else { turn }
}

/// Unit vector of an azimuth and an elevation in degrees.
pub fn direction(azimuth: f32, elevation: f32) -> Vec3 {
    let (az, el) = (azimuth.to_radians(), elevation.to_radians());
    Vec3::new(az.sin() * el.cos(), el.sin(), az.cos() * el.cos())
}

/// Azimuth and elevation in degrees, and distance, of a point seen from another.
pub fn around(point: Vec3, of: Vec3) -> (f32, f32, f32) {
    let to = point - of;
    let distance = to.length();
    let azimuth = to.x.atan2(to.z).to_degrees();
    let elevation = if distance > 1e-6 { (to.y / distance).clamp(-1.0, 1.0).asin() } else { 0.0 };
    (azimuth, elevation.to_degrees(), distance)
}

impl Eye {
    /// Points a metre takes at unit distance.
    pub fn scale(&self) -> f32 {
        // a narrow view shows as much of the set across as a square one
        0.5 * self.size.y.min(1.3 * self.size.x) / HALF_TAN
    }

    /// Where a world point falls in the view, from its upper left, and its distance along the view;
    /// `None` behind the eye.
    pub fn project(&self, point: Vec3) -> Option<(Vec2, f32)> {
        let local = point - self.position;
        let depth = local.dot(self.forward);
        if depth < 0.05 {
            return None;
        }
        let at = Vec2::new(local.dot(self.right), -local.dot(self.up)) * (self.scale() / depth);
        Some((0.5 * self.size + at, depth))
    }

    /// Direction through a point of the view.
    pub fn ray(&self, at: Vec2) -> Vec3 {
        let off = (at - 0.5 * self.size) / self.scale();
        (self.forward + self.right * off.x - self.up * off.y).normalize()
    }

    /// A thing at `point` moved by a drag in the plane that faces the eye.
    pub fn dragged(&self, point: Vec3, drag: Vec2) -> Vec3 {
        let depth = (point - self.position).dot(self.forward).max(0.05);
        point + (self.right * drag.x - self.up * drag.y) * (depth / self.scale())
    }

    /// Where the ray through a point of the view meets a level plane.
    pub fn on_level(&self, at: Vec2, height: f32) -> Option<Vec3> {
        let ray = self.ray(at);
        let t = (height - self.position.y) / ray.y;
        (ray.y.abs() > 1e-4 && t > 0.0).then(|| self.position + ray * t)
    }

    /// Where the ray through a point of the view meets a sphere on the side that faces the eye;
    /// beside it, the point of the rim nearest to the ray.
    pub fn on_sphere(&self, at: Vec2, centre: Vec3, radius: f32, far_side: bool) -> Vec3 {
        let ray = self.ray(at);
        let to = centre - self.position;
        let along = to.dot(ray);
        let off = (to.length_squared() - along * along).max(0.0);
        let inside = radius * radius - off;
        if inside >= 0.0 {
            let half = inside.sqrt();
            return self.position + ray * if far_side { along + half } else { along - half };
        }
        let nearest = self.position + ray * along;
        centre + (nearest - centre).normalize_or(Vec3::Y) * radius
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: Vec2 = Vec2::new(800.0, 600.0);

    #[test]
    fn what_is_projected_lies_on_its_ray() {
        let eye = Orbit::default().eye(SIZE);
        for point in [Vec3::ZERO, Vec3::new(1.2, 2.0, -1.0), Vec3::new(-2.0, 0.5, 1.5)] {
            let (at, _) = eye.project(point).unwrap();
            let ray = eye.ray(at);
            let off = (point - eye.position).cross(ray).length();
            assert!(off < 1e-4, "{point}: {off}");
        }
    }

    #[test]
    fn right_and_up_are_as_the_front_sees_them() {
        let front = Orbit { azimuth: 0.0, elevation: 0.0, ..Orbit::default() }.eye(SIZE);
        let (middle, _) = front.project(Vec3::new(0.0, 1.0, 0.0)).unwrap();
        let (right, _) = front.project(Vec3::new(1.0, 1.0, 0.0)).unwrap();
        let (up, _) = front.project(Vec3::new(0.0, 2.0, 0.0)).unwrap();
        assert!(right.x > middle.x + 50.0 && (right.y - middle.y).abs() < 1e-2);
        assert!(up.y < middle.y - 50.0);
        let above = Orbit { azimuth: 0.0, elevation: 89.0, ..Orbit::default() }.eye(SIZE);
        let (back, _) = above.project(Vec3::new(0.0, 0.0, -2.0)).unwrap();
        let (front, _) = above.project(Vec3::new(0.0, 0.0, 2.0)).unwrap();
        assert!(back.y < front.y, "the back wall is up");
    }

    #[test]
    fn a_sphere_is_met_where_it_faces() {
        let eye = Orbit::default().eye(SIZE);
        let centre = Vec3::new(0.0, 1.5, 0.0);
        let (at, _) = eye.project(centre).unwrap();
        let near = eye.on_sphere(at, centre, 2.0, false);
        let far = eye.on_sphere(at, centre, 2.0, true);
        assert!((near.distance(centre) - 2.0).abs() < 1e-3);
        assert!(near.distance(eye.position) < far.distance(eye.position));
        let beside = eye.on_sphere(Vec2::new(5.0, 5.0), centre, 0.5, false);
        assert!((beside.distance(centre) - 0.5).abs() < 1e-3);
    }

    #[test]
    fn around_reads_what_direction_writes() {
        for (azimuth, elevation, distance) in [(-60.0, 35.0, 2.5), (170.0, -10.0, 1.0)] {
            let point = Vec3::Y + direction(azimuth, elevation) * distance;
            let (a, e, d) = around(point, Vec3::Y);
            assert!((a - azimuth).abs() < 1e-3 && (e - elevation).abs() < 1e-3);
            assert!((d - distance).abs() < 1e-4);
        }
    }
}
