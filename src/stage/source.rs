//! Where light leaves a head: shape, beam, level, and the stream of light samples.
//!
//! A front is an emissive film: it emits from one side (a tube all round), never blocks, and
//! sits a little before its fixture. Every engine draws from the same functions: a point on
//! the front ([`Emitter::front`]), a ray that leaves it ([`Emitter::emit`]), a ray that meets
//! it ([`Emitter::crossing`]).
//!
//! ```text
//!          right × up = −axis … the frame is right-handed as (right, up, back)
//!   up ▲   ┌────────┐
//!      │   │ front  │──► axis      I(θ) = I(0) · beam(θ)
//!          └────────┘              L(θ) = I(θ) / (A cos θ)
//! ```

use std::f32::consts::{FRAC_1_PI, PI, TAU};

use glam::{Vec2, Vec3};

use crate::optics::beam::{Beam, BeamSampler};

/// An emitting front with its beam.
#[derive(Debug, Clone)]
pub struct Source {
    /// Shape of the emitting front.
    pub shape: SourceShape,
    /// Centre of the front.
    pub position: Vec3,
    /// Unit vector along the beam's axis.
    pub axis: Vec3,
    /// Unit vector across, to the right of somebody looking along the axis.
    pub right: Vec3,
    /// Unit vector up the front.
    pub up: Vec3,
    /// Angular distribution (a tube is Lambertian all over and ignores it).
    pub beam: Beam,
    /// Axial luminous intensity at full power: cd·s for a flash, cd for a continuous light.
    /// For a tube: across its length.
    pub axial_intensity: f64,
}

/// Shapes of emitting fronts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SourceShape {
    /// A round front.
    Disc {
        /// Metres.
        radius_m: f64,
    },
    /// A rectangular front.
    Rectangle {
        /// Along `right`, metres.
        width_m: f64,
        /// Along `up`, metres.
        height_m: f64,
    },
    /// A closed tube along `axis`, centred on `position`, that emits all round.
    Tube {
        /// Metres.
        radius_m: f64,
        /// Metres.
        length_m: f64,
    },
}

impl SourceShape {
    /// Emitting area in m².
    pub fn area_m2(&self) -> f64 {
        let pi = std::f64::consts::PI;
        match *self {
            Self::Disc { radius_m } => pi * radius_m * radius_m,
            Self::Rectangle { width_m, height_m } => width_m * height_m,
            Self::Tube { radius_m, length_m } => 2.0 * pi * radius_m * (length_m + radius_m),
        }
    }
}

/// A point on a front with the outward normal there.
#[derive(Debug, Clone, Copy)]
pub struct FrontPoint {
    /// World metres.
    pub position: Vec3,
    /// Unit, outward.
    pub normal: Vec3,
}

/// A ray that leaves a front.
#[derive(Debug, Clone, Copy)]
pub struct Emission {
    /// Where it leaves.
    pub from: FrontPoint,
    /// Unit direction.
    pub direction: Vec3,
    /// Density of the direction given the point, 1/sr.
    pub direction_pdf: f32,
    /// L·cos θ / (pdf of point · pdf of direction): flux the ray stands for, lm·s or lm.
    pub flux: f32,
}

/// A [`Source`] made ready for sampling.
#[derive(Debug, Clone)]
pub struct Emitter {
    shape: SourceShape,
    position: Vec3,
    axis: Vec3,
    right: Vec3,
    up: Vec3,
    beam: BeamSampler,
    intensity: f32,
    area: f32,
}

impl Emitter {
    /// Tabulates the beam.
    pub fn new(source: &Source) -> Self {
        Self {
            shape: source.shape,
            position: source.position,
            axis: source.axis,
            right: source.right,
            up: source.up,
            beam: BeamSampler::new(source.beam),
            intensity: source.axial_intensity as f32,
            area: source.shape.area_m2() as f32,
        }
    }

    /// Density of [`Emitter::front`], 1/m².
    pub fn area_pdf(&self) -> f32 {
        1.0 / self.area
    }

    /// A uniformly distributed point on the front.
    pub fn front(&self, u: Vec2) -> FrontPoint {
        match self.shape {
            SourceShape::Disc { radius_m } => {
                let (r, phi) = (radius_m as f32 * u.x.sqrt(), TAU * u.y);
                self.flat(r * phi.cos(), r * phi.sin())
            }
            SourceShape::Rectangle { width_m, height_m } => {
                self.flat((u.x - 0.5) * width_m as f32, (u.y - 0.5) * height_m as f32)
            }
            SourceShape::Tube { radius_m, length_m } => {
                let (r, l) = (radius_m as f32, length_m as f32);
                let side_share = l / (l + r);
                let phi = TAU * u.y;
                let radial = self.right * phi.cos() + self.up * phi.sin();
                if u.x < side_share {
                    let along = (u.x / side_share - 0.5) * l;
                    let position = self.position + self.axis * along + radial * r;
                    FrontPoint { position, normal: radial }
                } else {
                    let v = 2.0 * (u.x - side_share) / (1.0 - side_share);
                    let (side, v) = if v < 1.0 { (1.0, v) } else { (-1.0, v - 1.0) };
                    let position =
                        self.position + self.axis * (0.5 * l * side) + radial * (r * v.sqrt());
                    FrontPoint { position, normal: self.axis * side }
                }
            }
        }
    }

    fn flat(&self, x: f32, y: f32) -> FrontPoint {
        let position = self.position + self.right * x + self.up * y;
        FrontPoint { position, normal: self.axis }
    }

    /// Radiance L that leaves along `direction` from a point with normal `normal`:
    /// lm·s/(m²·sr) for a flash. Zero behind the front.
    pub fn radiance(&self, normal: Vec3, direction: Vec3) -> f32 {
        let cos = normal.dot(direction);
        if cos <= 1e-4 {
            return 0.0;
        }
        match self.shape {
            SourceShape::Tube { radius_m, length_m } => {
                self.intensity / (2.0 * radius_m * length_m) as f32
            }
            _ => self.intensity * self.beam.relative_intensity_f32(cos) / (self.area * cos),
        }
    }

    /// Density of the direction of [`Emitter::emit`] at a point, 1/sr.
    pub fn direction_pdf(&self, normal: Vec3, direction: Vec3) -> f32 {
        let cos = normal.dot(direction);
        match self.shape {
            _ if cos <= 1e-4 => 0.0,
            SourceShape::Tube { .. } => cos * FRAC_1_PI,
            _ => self.beam.pdf(cos),
        }
    }

    /// A ray that leaves the front; density follows the beam.
    pub fn emit(&self, u_front: Vec2, u_direction: Vec2) -> Emission {
        let from = self.front(u_front);
        let (cos, pdf) = match self.shape {
            SourceShape::Tube { .. } => {
                let cos = (1.0 - u_direction.x).sqrt();
                (cos, cos * FRAC_1_PI)
            }
            _ => self.beam.sample(u_direction.x),
        };
        let (sin, phi) = ((1.0 - cos * cos).max(0.0).sqrt(), TAU * u_direction.y);
        let (t, b) = from.normal.any_orthonormal_pair();
        let direction =
            (t * (sin * phi.cos()) + b * (sin * phi.sin()) + from.normal * cos).normalize();
        let flux = if pdf > 0.0 {
            self.radiance(from.normal, direction) * cos * self.area / pdf
        } else {
            0.0
        };
        Emission { from, direction, direction_pdf: pdf, flux }
    }

    /// Where the ray first meets the emitting side before `t_max`, with the normal there.
    pub fn crossing(&self, origin: Vec3, direction: Vec3, t_max: f32) -> Option<(f32, Vec3)> {
        let local = origin - self.position;
        match self.shape {
            SourceShape::Disc { radius_m } => {
                let (t, x, y) = self.plane_crossing(local, direction, t_max)?;
                (x * x + y * y <= (radius_m * radius_m) as f32).then_some((t, self.axis))
            }
            SourceShape::Rectangle { width_m, height_m } => {
                let (t, x, y) = self.plane_crossing(local, direction, t_max)?;
                (2.0 * x.abs() <= width_m as f32 && 2.0 * y.abs() <= height_m as f32)
                    .then_some((t, self.axis))
            }
            SourceShape::Tube { radius_m, length_m } => {
                self.tube_crossing(local, direction, t_max, radius_m as f32, length_m as f32)
            }
        }
    }

    fn plane_crossing(&self, local: Vec3, direction: Vec3, t_max: f32) -> Option<(f32, f32, f32)> {
        let toward = direction.dot(self.axis);
        if toward >= -1e-6 {
            return None;
        }
        let t = -local.dot(self.axis) / toward;
        if !(t > 0.0 && t < t_max) {
            return None;
        }
        let p = local + direction * t;
        Some((t, p.dot(self.right), p.dot(self.up)))
    }

    fn tube_crossing(
        &self,
        local: Vec3,
        direction: Vec3,
        t_max: f32,
        radius: f32,
        length: f32,
    ) -> Option<(f32, Vec3)> {
        let (oz, dz) = (local.dot(self.axis), direction.dot(self.axis));
        let (o, d) = (local - self.axis * oz, direction - self.axis * dz);
        let (a, b, c) = (d.dot(d), o.dot(d), o.dot(o) - radius * radius);
        let mut nearest: Option<(f32, Vec3)> = None;
        let mut offer = |t: f32, n: Vec3| {
            if t > 0.0 && t < t_max && nearest.is_none_or(|(best, _)| t < best) {
                nearest = Some((t, n));
            }
        };
        let disc = b * b - a * c;
        if a > 1e-12 && disc > 0.0 {
            let t = (-b - disc.sqrt()) / a;
            if 2.0 * (oz + dz * t).abs() <= length {
                offer(t, (o + d * t) / radius);
            }
        }
        for side in [-1.0f32, 1.0] {
            if dz * side < -1e-6 {
                let t = (side * 0.5 * length - oz) / dz;
                if (o + d * t).length_squared() <= radius * radius {
                    offer(t, self.axis * side);
                }
            }
        }
        nearest
    }

    /// Total flux: lm·s for a flash, lm for a continuous light.
    pub fn flux(&self) -> f32 {
        match self.shape {
            SourceShape::Tube { .. } => PI * self.area * self.radiance(self.axis, self.axis),
            _ => self.intensity * self.beam.solid_angle() as f32,
        }
    }
}
