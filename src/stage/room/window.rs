//! Windows: openings in a wall with their reveal and bars, and the sky as a film at their outer
//! edge.
//!
//! ```text
//!    inside        │wall│        each point of the film sends the sky's luminance inward:
//!                  │    ┆          I(ω) = A·cos θ·L(−ω)
//!     axis ◄───────┼────┆ film   below the horizon: open ground, ρ·E/π
//!                  │    ┆
//! ```

use std::sync::Arc;

use glam::{DVec3, Vec2, Vec3};

use crate::optics::beam::{Beam, Table};
use crate::optics::sky;
use crate::optics::surface::Surface;
use crate::plan::{self, Sky, Wall};
use crate::stage::fixture::Solid;
use crate::stage::{Mesh, Role, RoomBox, Source, SourceShape};

/// Share of the opening's width and height that all bars take, for each pane (assumption).
const BAR_M: f32 = 0.045;
/// White paint of bars (assumption).
const BARS: Vec3 = Vec3::splat(0.7);

/// A wall's frame: its lower corner on the left of somebody who stands inside and faces it,
/// along it to the right, up, and inward.
#[derive(Debug, Clone, Copy)]
pub struct WallFrame {
    /// World metres.
    pub corner: Vec3,
    /// Unit.
    pub along: Vec3,
    /// Unit, into the room.
    pub inward: Vec3,
    /// Metres.
    pub width: f32,
    /// Metres.
    pub height: f32,
}

impl WallFrame {
    /// That of a wall.
    pub fn of(wall: Wall, room: &RoomBox) -> Self {
        let (a, b) = (room.min, room.max);
        let (corner, along, width) = match wall {
            Wall::Back => (Vec3::new(a.x, a.y, a.z), Vec3::X, b.x - a.x),
            Wall::Front => (Vec3::new(b.x, a.y, b.z), Vec3::NEG_X, b.x - a.x),
            Wall::Left => (Vec3::new(a.x, a.y, b.z), Vec3::NEG_Z, b.z - a.z),
            Wall::Right => (Vec3::new(b.x, a.y, a.z), Vec3::Z, b.z - a.z),
        };
        Self { corner, along, inward: along.cross(Vec3::Y), width, height: b.y - a.y }
    }

    /// World point.
    pub fn at(&self, p: Vec2) -> Vec3 {
        self.corner + self.along * p.x + Vec3::Y * p.y
    }

    /// Lower and upper corner of a window's opening in the wall's own coordinates.
    pub fn opening(&self, window: &plan::Window) -> (Vec2, Vec2) {
        // places along a wall are world x or z
        let axis = self.along.abs();
        let middle = window.along.metres as f32;
        let at = (middle - self.corner.dot(axis)) * self.along.dot(axis);
        let half = 0.5 * window.width.metres as f32;
        let sill = window.sill.metres as f32;
        (Vec2::new(at - half, sill), Vec2::new(at + half, sill + window.height.metres as f32))
    }
}

/// Rectangles of a wall that are left round its openings.
pub fn around(width: f32, height: f32, openings: &[(Vec2, Vec2)]) -> Vec<(Vec2, Vec2)> {
    let mut rows: Vec<f32> = vec![0.0, height];
    rows.extend(openings.iter().flat_map(|(low, high)| [low.y, high.y]));
    rows.sort_by(f32::total_cmp);
    rows.dedup();
    let mut solid: Vec<(Vec2, Vec2)> = Vec::new();
    for pair in rows.windows(2) {
        let middle = 0.5 * (pair[0] + pair[1]);
        let mut cuts: Vec<(f32, f32)> = openings
            .iter()
            .filter(|(low, high)| low.y < middle && middle < high.y)
            .map(|(low, high)| (low.x, high.x))
            .collect();
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut from = 0.0;
        for (left, right) in cuts {
            solid.push((Vec2::new(from, pair[0]), Vec2::new(left, pair[1])));
            from = right;
        }
        solid.push((Vec2::new(from, pair[0]), Vec2::new(width, pair[1])));
    }
    solid.retain(|(low, high)| low.cmplt(*high).all());
    solid
}

/// Reveal and bars of a window.
pub fn reveal(window: &plan::Window, frame: &WallFrame, wall: Vec3) -> Vec<Mesh> {
    let (low, high) = frame.opening(window);
    let out = -frame.inward * window.thickness.metres as f32;
    let corners = [low, Vec2::new(high.x, low.y), high, Vec2::new(low.x, high.y)];
    let name = format!("{} reveal", window.name);
    let mut reveal = Solid::of(name.clone(), Role::Room, Surface::diffuse(name, wall));
    for k in 0..4 {
        let (a, b) = (frame.at(corners[k]), frame.at(corners[(k + 1) % 4]));
        reveal.quad([a, b, b + out, a + out]);
    }
    let mut bars = Solid::new(format!("{} bars", window.name), Role::Room, BARS);
    let (rows, columns) = window.panes;
    let size = high - low;
    let middle = 0.5 * out;
    let mut bar = |centre: Vec2, half: Vec2| {
        let half = Vec3::new(half.x, half.y, 0.5 * BAR_M);
        bars.block(frame.at(centre) + middle, half, frame.along, Vec3::Y);
    };
    for k in 1..columns {
        let x = low.x + size.x * k as f32 / columns as f32;
        bar(Vec2::new(x, low.y + 0.5 * size.y), Vec2::new(0.5 * BAR_M, 0.5 * size.y));
    }
    for k in 1..rows {
        let y = low.y + size.y * k as f32 / rows as f32;
        bar(Vec2::new(low.x + 0.5 * size.x, y), Vec2::new(0.5 * size.x, 0.5 * BAR_M));
    }
    [reveal, bars].map(Solid::into_mesh).into_iter().filter(|m| !m.triangles.is_empty()).collect()
}

/// The sky of a window as a film at the outer edge of its opening; 1 lm for each square metre.
pub fn daylight(window: &plan::Window, frame: &WallFrame) -> Source {
    let (low, high) = frame.opening(window);
    let out = frame.inward * window.thickness.metres as f32;
    let (width_m, height_m) = (f64::from(high.x - low.x), f64::from(high.y - low.y));
    // seen along the way the light goes in, right is along the wall to the left
    let axis = frame.inward;
    let right = axis.cross(Vec3::Y);
    let (number, azimuth, elevation) = match window.sky {
        Sky::Overcast => (1, 0.0, 45.0),
        Sky::Even => (5, 0.0, 45.0),
        Sky::Clear { sun_azimuth, sun_elevation } => (12, sun_azimuth, sun_elevation),
        Sky::General { number, sun_azimuth, sun_elevation } => (number, sun_azimuth, sun_elevation),
    };
    // looking out: x to the right, y up, z out
    let (az, el): (f64, f64) = (azimuth.to_radians(), elevation.to_radians());
    let sun = DVec3::new(el.cos() * az.sin(), el.sin(), el.cos() * az.cos());
    let sky = sky::Sky::new(number, sun);
    let ground = window.ground * sky.horizontal() / std::f64::consts::PI;
    let intensity = |theta: f64, phi: f64| {
        // a ray going (x, y, z) in the film's frame comes from (x, −y, z) as seen looking out
        let from = DVec3::new(theta.sin() * phi.cos(), -theta.sin() * phi.sin(), theta.cos());
        let luminance = if from.y > 1e-9 { sky.luminance(from) } else { ground };
        theta.cos().max(0.0) * luminance
    };
    let table = Table::new(181, 180, intensity);
    let (peak, whole) = (table.peak(), table.solid_angle());
    let table = Table::new(181, 180, |theta, phi| intensity(theta, phi) / peak);
    Source {
        shape: SourceShape::Rectangle { width_m, height_m },
        position: frame.at(0.5 * (low + high)) - out,
        axis,
        right,
        up: Vec3::Y,
        beam: Beam::Table(Arc::new(table)),
        glow: None,
        axial_intensity: width_m * height_m * peak / whole,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_left_of_a_wall_is_wall_less_openings() {
        let openings = [
            (Vec2::new(1.0, 0.9), Vec2::new(2.0, 2.1)),
            (Vec2::new(3.0, 0.5), Vec2::new(3.5, 1.5)),
        ];
        let area: f32 =
            around(5.0, 3.0, &openings).iter().map(|(a, b)| (b.x - a.x) * (b.y - a.y)).sum();
        assert!((area - (15.0 - 1.2 - 0.5)).abs() < 1e-5, "{area}");
    }

    #[test]
    fn walls_face_inward() {
        let room = RoomBox { min: Vec3::new(-3.0, 0.0, -2.0), max: Vec3::new(3.0, 3.0, 3.0) };
        for wall in [Wall::Left, Wall::Right, Wall::Back, Wall::Front] {
            let frame = WallFrame::of(wall, &room);
            let middle = frame.at(Vec2::new(0.5 * frame.width, 1.0));
            let inside = middle + frame.inward * 0.5;
            assert!(inside.cmpgt(room.min).all() && inside.cmplt(room.max).all(), "{wall:?}");
        }
    }
}
