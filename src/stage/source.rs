//! Where light leaves a head: shape, beam, level, and the stream of light samples.
//!
//! A front is an emissive film: it emits to one side (a tube or ball all round), never blocks, and
//! sits a little before its fixture. A light has one or more of them: a dish that shows its tube
//! is two discs in one plane, an umbrella that is shot through is two back to back. All that
//! shapes light beyond that is geometry: doors, snoots, recesses, flags, nets (threads), window
//! openings.
//!
//! Every engine draws from the same functions: a point on a front ([`Emitter::front`]), a ray
//! that leaves it ([`Emitter::emit`]), the fronts that a ray runs through
//! ([`Emitter::crossings`]).
//!
//! What an engine must know, and nothing else:
//!
//! ```text
//!          right × up = −axis … the frame is right-handed as (right, up, back)
//!   up ▲   ┌────────┐         shapes  disc, ring, rectangle, regular polygon, tube, ball
//!      │   │ front  │──► axis beams   cosine, dish, gate, table over (θ, φ)
//!          └────────┘         glow    even, or (1 + r²/h²)^−k about its middle
//!
//!   L(p, ω) = I · beam(ω) · glow(p) / (A cos θ)         glow has mean 1 over the front
//!   a gate:   beam(ω') with tan θ' = tan θ + p/f, times dω'/dω = (cos θ/cos θ')³
//!   a tube, a ball:   L = I/(2 r l), I/(π r²), Lambertian all over
//! ```

use std::f32::consts::{FRAC_1_PI, PI, TAU};

use glam::{Vec2, Vec3};

use super::Light;
use crate::optics::beam::{Beam, BeamSampler};

/// An emitting front with its beam.
#[derive(Debug, Clone, PartialEq)]
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
    /// How evenly the front glows; None is even. A tube is even.
    pub glow: Option<Glow>,
    /// Luminous intensity at full power where the beam is 1 (on the axis, of most):
    /// cd·s for a flash, cd for a continuous light. For a tube: across its length.
    pub axial_intensity: f64,
}

/// Cloth lit from behind: brightest in the middle, luminance as (1 + r²/h²)^−k at r from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glow {
    /// How far behind the cloth the light seems to come from, h in metres.
    pub behind_m: f64,
    /// k: 2 for a Lambertian head at h (cos⁴θ), 1.5 for a bare one, more for a narrow one.
    pub power: f64,
}

/// Shapes of emitting fronts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SourceShape {
    /// A round front.
    Disc {
        /// Metres.
        radius_m: f64,
    },
    /// A round front with a dark hole in its middle.
    Ring {
        /// Outer radius, metres.
        radius_m: f64,
        /// Radius of the hole, metres.
        hole_m: f64,
    },
    /// A rectangular front.
    Rectangle {
        /// Along `right`, metres.
        width_m: f64,
        /// Along `up`, metres.
        height_m: f64,
    },
    /// A front with equal sides and corners, a side on top.
    Polygon {
        /// How many sides, 3 or more.
        sides: u32,
        /// Middle to corner, metres.
        radius_m: f64,
    },
    /// A closed tube along `axis`, centred on `position`, that emits all round.
    Tube {
        /// Metres.
        radius_m: f64,
        /// Metres.
        length_m: f64,
    },
    /// A ball that emits all round.
    Ball {
        /// Metres.
        radius_m: f64,
    },
}

impl SourceShape {
    /// Area that somebody sees who looks across it, where it is Lambertian all over and has no beam
    /// of its own: a tube from the side, a ball from anywhere.
    pub fn all_round_m2(&self) -> Option<f64> {
        match *self {
            Self::Tube { radius_m, length_m } => Some(2.0 * radius_m * length_m),
            Self::Ball { radius_m } => Some(std::f64::consts::PI * radius_m * radius_m),
            _ => None,
        }
    }

    /// Emitting area in m².
    pub fn area_m2(&self) -> f64 {
        let pi = std::f64::consts::PI;
        match *self {
            Self::Disc { radius_m } => pi * radius_m * radius_m,
            Self::Ring { radius_m, hole_m } => pi * (radius_m * radius_m - hole_m * hole_m),
            Self::Rectangle { width_m, height_m } => width_m * height_m,
            Self::Polygon { sides, radius_m } => {
                let n = f64::from(sides);
                0.5 * n * radius_m * radius_m * (2.0 * pi / n).sin()
            }
            Self::Tube { radius_m, length_m } => 2.0 * pi * radius_m * (length_m + radius_m),
            Self::Ball { radius_m } => 4.0 * pi * radius_m * radius_m,
        }
    }

    /// Half its extent along `right` and `up`, metres (of a tube: seen from the side, turned up).
    pub fn half_m(&self) -> [f64; 2] {
        match *self {
            Self::Disc { radius_m } | Self::Ring { radius_m, .. } => [radius_m; 2],
            Self::Polygon { radius_m, .. } | Self::Ball { radius_m } => [radius_m; 2],
            Self::Rectangle { width_m, height_m } => [0.5 * width_m, 0.5 * height_m],
            Self::Tube { radius_m, length_m } => [radius_m, 0.5 * length_m],
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
    /// Which of the light's fronts.
    pub film: u32,
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

/// A light's fronts made ready for sampling.
#[derive(Debug, Clone)]
pub struct Emitter {
    films: Vec<Film>,
    /// Probability that a sample is of this front or an earlier one.
    cumulative: Vec<f32>,
}

/// One front made ready.
#[derive(Debug, Clone)]
pub struct Film {
    /// Shape of the front.
    pub shape: SourceShape,
    /// Centre of the front.
    pub position: Vec3,
    /// Unit vector along the beam's axis.
    pub axis: Vec3,
    /// Unit vector across.
    pub right: Vec3,
    /// Unit vector up the front.
    pub up: Vec3,
    /// Draws directions.
    pub beam: BeamSampler,
    /// Intensity at full power where the beam is 1, cd·s or cd.
    pub intensity: f32,
    /// m².
    pub area: f32,
    /// [`SourceShape::all_round_m2`].
    pub seen_area: Option<f32>,
    /// Probability that a sample is of this front.
    pub share: f32,
    /// 1/h², k, and what makes the mean 1.
    pub glow: Option<[f32; 3]>,
    /// 1/f of a gate, 1/m; 0 without.
    pub inverse_focus: f32,
}

impl Emitter {
    /// One front.
    pub fn new(source: &Source) -> Self {
        Self::over(std::iter::once(source))
    }

    /// Several fronts that burn together; at least one.
    pub fn several(sources: &[Source]) -> Self {
        Self::over(sources.iter())
    }

    /// All fronts of a light.
    pub fn of(light: &Light) -> Self {
        Self::over(light.fronts())
    }

    fn over<'a>(sources: impl Iterator<Item = &'a Source>) -> Self {
        let mut films: Vec<Film> = sources.map(Film::new).collect();
        let total: f32 = films.iter().map(Film::flux).sum();
        let mut cumulative = Vec::new();
        let mut so_far = 0.0;
        let count = films.len() as f32;
        for film in &mut films {
            film.share = if total > 0.0 { film.flux() / total } else { 1.0 / count };
            so_far += film.share;
            cumulative.push(so_far);
        }
        Self { films, cumulative }
    }

    /// The fronts, the main one first.
    pub fn films(&self) -> &[Film] {
        &self.films
    }

    /// Density of [`Emitter::front`] at a point of a front, 1/m².
    pub fn area_pdf(&self, point: &FrontPoint) -> f32 {
        let film = &self.films[point.film as usize];
        film.share / film.area
    }

    /// A point on one of the fronts: the front by its power, the point uniform on it.
    pub fn front(&self, u: Vec2) -> FrontPoint {
        let last = self.films.len() - 1;
        let index = self.cumulative[..last].partition_point(|c| *c <= u.x);
        let start = if index == 0 { 0.0 } else { self.cumulative[index - 1] };
        let film = &self.films[index];
        let x = if last == 0 { u.x } else { ((u.x - start) / film.share).clamp(0.0, 1.0) };
        let (position, normal) = film.point(Vec2::new(x, u.y));
        FrontPoint { position, normal, film: index as u32 }
    }

    /// Radiance L that leaves a point of a front along `direction`: lm·s/(m²·sr) for a flash.
    /// Zero behind the front.
    pub fn radiance(&self, point: &FrontPoint, direction: Vec3) -> f32 {
        self.films[point.film as usize].radiance(point, direction)
    }

    /// Density of the direction of [`Emitter::emit`] at a point, 1/sr.
    pub fn direction_pdf(&self, point: &FrontPoint, direction: Vec3) -> f32 {
        let film = &self.films[point.film as usize];
        let cos = point.normal.dot(direction);
        match film.shape {
            _ if cos <= 1e-4 => 0.0,
            SourceShape::Tube { .. } | SourceShape::Ball { .. } => cos * FRAC_1_PI,
            _ => {
                let (local, stretch) = film.local(point.position, direction);
                film.beam.pdf(local.z) * stretch
            }
        }
    }

    /// A ray that leaves a front; density follows the beam.
    pub fn emit(&self, u_front: Vec2, u_direction: Vec2) -> Emission {
        let from = self.front(u_front);
        let film = &self.films[from.film as usize];
        let (cos, pdf) = match film.shape {
            SourceShape::Tube { .. } | SourceShape::Ball { .. } => {
                let cos = (1.0 - u_direction.x).sqrt();
                (cos, cos * FRAC_1_PI)
            }
            _ => film.beam.sample(u_direction.x),
        };
        let (sin, phi) = ((1.0 - cos * cos).max(0.0).sqrt(), TAU * u_direction.y);
        let (x, y) = (sin * phi.cos(), sin * phi.sin());
        let (direction, pdf) = match film.shape {
            SourceShape::Tube { .. } | SourceShape::Ball { .. } => {
                let (t, b) = from.normal.any_orthonormal_pair();
                ((t * x + b * y + from.normal * cos).normalize(), pdf)
            }
            _ if film.inverse_focus > 0.0 => {
                let direction = film.focused(from.position, Vec3::new(x, y, cos));
                (direction, pdf * film.local(from.position, direction).1)
            }
            _ => ((film.right * x + film.up * y + film.axis * cos).normalize(), pdf),
        };
        let flux = if pdf > 0.0 {
            let cos = direction.dot(from.normal);
            self.radiance(&from, direction) * cos / (self.area_pdf(&from) * pdf)
        } else {
            0.0
        };
        Emission { from, direction, direction_pdf: pdf, flux }
    }

    /// Calls `visit` with the distance and the point wherever the ray runs into the emitting side
    /// of a front before `t_max`.
    pub fn crossings(
        &self,
        origin: Vec3,
        direction: Vec3,
        t_max: f32,
        mut visit: impl FnMut(f32, FrontPoint),
    ) {
        for (index, film) in self.films.iter().enumerate() {
            if let Some((t, normal)) = film.crossing(origin, direction, t_max) {
                let position = origin + direction * t;
                visit(t, FrontPoint { position, normal, film: index as u32 });
            }
        }
    }

    /// Total flux: lm·s for a flash, lm for a continuous light.
    pub fn flux(&self) -> f32 {
        self.films.iter().map(Film::flux).sum()
    }
}

impl Film {
    fn new(source: &Source) -> Self {
        let inverse_focus = match &source.beam {
            Beam::Gate(gate) if gate.focus_m.is_finite() => (1.0 / gate.focus_m) as f32,
            _ => 0.0,
        };
        let mut film = Self {
            shape: source.shape,
            position: source.position,
            axis: source.axis,
            right: source.right,
            up: source.up,
            beam: BeamSampler::new(source.beam.clone()),
            intensity: source.axial_intensity as f32,
            area: source.shape.area_m2() as f32,
            seen_area: source.shape.all_round_m2().map(|area| area as f32),
            share: 1.0,
            glow: None,
            inverse_focus,
        };
        if let Some(Glow { behind_m, power }) = source.glow {
            film.glow = Some([(1.0 / (behind_m * behind_m)) as f32, power as f32, 1.0]);
            let mean = film.mean_glow();
            film.glow = Some([(1.0 / (behind_m * behind_m)) as f32, power as f32, 1.0 / mean]);
        }
        film
    }

    /// Mean of the glow over an even grid of the sampling square.
    fn mean_glow(&self) -> f32 {
        const SIDE: u32 = 128;
        let sum: f64 = (0..SIDE * SIDE)
            .map(|k| {
                let u = Vec2::new((k % SIDE) as f32 + 0.5, (k / SIDE) as f32 + 0.5) / SIDE as f32;
                f64::from(self.glow(self.point(u).0))
            })
            .sum();
        (sum / f64::from(SIDE * SIDE)) as f32
    }

    fn glow(&self, position: Vec3) -> f32 {
        match self.glow {
            None => 1.0,
            Some([inverse_h2, power, scale]) => {
                scale
                    * (1.0 + (position - self.position).length_squared() * inverse_h2).powf(-power)
            }
        }
    }

    fn radiance(&self, point: &FrontPoint, direction: Vec3) -> f32 {
        let cos = point.normal.dot(direction);
        if cos <= 1e-4 {
            return 0.0;
        }
        if let Some(area) = self.seen_area {
            return self.intensity / area;
        }
        let (local, stretch) = self.local(point.position, direction);
        let intensity = self.intensity * self.beam.toward(local) * stretch;
        intensity * self.glow(point.position) / (self.area * cos)
    }

    /// Direction in the front's frame, as the beam is written, and dω'/dω.
    #[inline]
    fn local(&self, position: Vec3, direction: Vec3) -> (Vec3, f32) {
        let plain =
            Vec3::new(direction.dot(self.right), direction.dot(self.up), direction.dot(self.axis));
        if self.inverse_focus == 0.0 || plain.z <= 0.0 {
            return (plain, 1.0);
        }
        let from = (position - self.position) * self.inverse_focus;
        let shift = Vec2::new(from.dot(self.right), from.dot(self.up));
        let seen = (plain.truncate() / plain.z + shift).extend(1.0).normalize();
        let ratio = seen.z / plain.z;
        (seen, ratio * ratio * ratio)
    }

    /// World direction from a point of a lens for a direction as its gate is written.
    fn focused(&self, position: Vec3, seen: Vec3) -> Vec3 {
        let from = (position - self.position) * self.inverse_focus;
        let shift = Vec2::new(from.dot(self.right), from.dot(self.up));
        let plain = seen.truncate() / seen.z.max(1e-6) - shift;
        (self.right * plain.x + self.up * plain.y + self.axis).normalize()
    }

    /// A uniformly distributed point with its normal.
    fn point(&self, u: Vec2) -> (Vec3, Vec3) {
        match self.shape {
            SourceShape::Disc { radius_m } => {
                let (r, phi) = (radius_m as f32 * u.x.sqrt(), TAU * u.y);
                self.flat(r * phi.cos(), r * phi.sin())
            }
            SourceShape::Ring { radius_m, hole_m } => {
                let (outer, inner) = ((radius_m * radius_m) as f32, (hole_m * hole_m) as f32);
                let r = (inner + u.x * (outer - inner)).sqrt();
                let phi = TAU * u.y;
                self.flat(r * phi.cos(), r * phi.sin())
            }
            SourceShape::Rectangle { width_m, height_m } => {
                self.flat((u.x - 0.5) * width_m as f32, (u.y - 0.5) * height_m as f32)
            }
            SourceShape::Polygon { sides, radius_m } => {
                let n = sides as f32;
                let wedge = (u.y * n).floor().min(n - 1.0);
                let along = u.y * n - wedge;
                let corner =
                    |k: f32| Vec2::from_angle(0.5 * PI + (k - 0.5) * TAU / n) * radius_m as f32;
                // a triangle from the middle: its area grows with the square of the way out
                let p = corner(wedge).lerp(corner(wedge + 1.0), along) * u.x.sqrt();
                self.flat(p.x, p.y)
            }
            SourceShape::Tube { radius_m, length_m } => {
                let (r, l) = (radius_m as f32, length_m as f32);
                let side_share = l / (l + r);
                let phi = TAU * u.y;
                let radial = self.right * phi.cos() + self.up * phi.sin();
                if u.x < side_share {
                    let along = (u.x / side_share - 0.5) * l;
                    (self.position + self.axis * along + radial * r, radial)
                } else {
                    let v = 2.0 * (u.x - side_share) / (1.0 - side_share);
                    let (side, v) = if v < 1.0 { (1.0, v) } else { (-1.0, v - 1.0) };
                    let end = self.position + self.axis * (0.5 * l * side);
                    (end + radial * (r * v.sqrt()), self.axis * side)
                }
            }
            SourceShape::Ball { radius_m } => {
                let along = 1.0 - 2.0 * u.x;
                let (sin, cos) = (TAU * u.y).sin_cos();
                let across = (1.0 - along * along).max(0.0).sqrt();
                let out = self.axis * along + (self.right * cos + self.up * sin) * across;
                (self.position + out * radius_m as f32, out)
            }
        }
    }

    fn flat(&self, x: f32, y: f32) -> (Vec3, Vec3) {
        (self.position + self.right * x + self.up * y, self.axis)
    }

    /// Where the ray first meets the emitting side before `t_max`, with the normal there.
    fn crossing(&self, origin: Vec3, direction: Vec3, t_max: f32) -> Option<(f32, Vec3)> {
        let local = origin - self.position;
        if let SourceShape::Tube { radius_m, length_m } = self.shape {
            let (radius, length) = (radius_m as f32, length_m as f32);
            return self.tube_crossing(local, direction, t_max, radius, length);
        }
        if let SourceShape::Ball { radius_m } = self.shape {
            let (b, c) =
                (local.dot(direction), local.length_squared() - (radius_m * radius_m) as f32);
            let square = b * b - c;
            let t = -b - square.max(0.0).sqrt();
            let out = (local + direction * t) / radius_m as f32;
            return (square > 0.0 && t > 0.0 && t < t_max).then_some((t, out));
        }
        let (t, x, y) = self.plane_crossing(local, direction, t_max)?;
        let inside = match self.shape {
            SourceShape::Disc { radius_m } => x * x + y * y <= (radius_m * radius_m) as f32,
            SourceShape::Ring { radius_m, hole_m } => {
                let r2 = x * x + y * y;
                r2 <= (radius_m * radius_m) as f32 && r2 >= (hole_m * hole_m) as f32
            }
            SourceShape::Rectangle { width_m, height_m } => {
                2.0 * x.abs() <= width_m as f32 && 2.0 * y.abs() <= height_m as f32
            }
            SourceShape::Polygon { sides, radius_m } => {
                // turned so that the nearest side lies straight ahead
                let wedge = TAU / sides as f32;
                let angle = (y.atan2(x) - 0.5 * PI + 0.5 * wedge).rem_euclid(wedge) - 0.5 * wedge;
                x.hypot(y) * angle.cos() <= radius_m as f32 * (0.5 * wedge).cos()
            }
            SourceShape::Tube { .. } | SourceShape::Ball { .. } => false,
        };
        inside.then_some((t, self.axis))
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

    fn flux(&self) -> f32 {
        match self.seen_area {
            Some(seen) => PI * self.area * self.intensity / seen,
            None => self.intensity * self.beam.solid_angle() as f32,
        }
    }
}
