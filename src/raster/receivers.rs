//! What the camera sees, as a coarse sample of points: shadow maps are fitted to it, and light
//! samples are chosen for it.
//!
//! ```text
//!              ╱╲  face: the pyramid of directions from a light point in which receivers lie,
//!   light ●───╱  ╲ with bounds left/right, low/high as tangents about its own axis.
//!            ╲    ╲   Where they fill more than a pyramid holds: faces of a cube.
//! ```

use bytemuck::{Pod, Zeroable};
use glam::{Vec2, Vec3};

use super::solid::Set;
use crate::optics::sampler::Sampler;
use crate::stage::{Camera, Stage};

/// A point that the camera sees.
#[derive(Debug, Clone, Copy)]
pub struct Receiver {
    /// World metres.
    pub position: Vec3,
    /// Geometric normal on the camera's side.
    pub normal: Vec3,
    /// Metres that one step between receivers spans here.
    pub spacing_m: f32,
}

/// Receivers across and down the frame.
const ACROSS: u32 = 64;
const DOWN: u32 = 64;

/// The points that a grid of rays from the lens meets.
pub fn seen(stage: &Stage, set: &Set, camera: &Camera) -> Vec<Receiver> {
    let half = camera.half_frame();
    (0..ACROSS * DOWN)
        .filter_map(|index| {
            // the outer ring lies on the frame's edge
            let column = (index % ACROSS) as f32 / (ACROSS - 1) as f32;
            let row = (index / ACROSS) as f32 / (DOWN - 1) as f32;
            let lens = Sampler::new(index, 0, 0x5eed).pair(0);
            let (from, way) = camera.ray(Vec2::new(column, row), lens);
            let hit = set.intersect(stage, from, way)?;
            let spacing_m = 2.0 * half.max_element() / (ACROSS - 1) as f32 * hit.distance;
            Some(Receiver { position: hit.position, normal: hit.geometric, spacing_m })
        })
        .collect()
}

/// `Face` of shaders/raster/faces.wgsl: one shadow map's view.
#[repr(C)]
#[derive(Debug, Clone, Copy, PartialEq, Pod, Zeroable)]
pub struct Face {
    /// Where it looks from, world metres.
    pub from: [f32; 3],
    /// Layer of the map.
    pub layer: u32,
    /// Unit.
    pub right: [f32; 3],
    /// Nothing is drawn nearer, metres.
    pub near: f32,
    /// Unit.
    pub up: [f32; 3],
    /// Size of a texel at unit distance.
    pub texel: f32,
    /// Unit, along its axis.
    pub forward: [f32; 3],
    /// Texels of the map's side.
    pub map_size: f32,
    /// Tangents: middle x, middle y, half width, half height.
    pub bounds: [f32; 4],
    /// 1 where it is drawn from coarse meshes.
    pub coarse: u32,
    /// How far those may be off, metres.
    pub deviation: f32,
    /// Nothing.
    pub pad: [u32; 2],
}

/// Widest pyramid: tangent of half its angle, 72°.
const WIDEST: f32 = 3.0;

/// The faces that hold all receivers in front of a light point.
pub fn faces(from: Vec3, normal: Vec3, near: f32, receivers: &[Receiver]) -> Vec<Face> {
    let ahead: Vec<(Vec3, f32)> = receivers
        .iter()
        .filter_map(|r| {
            let span = r.position - from;
            let distance = span.length();
            let lit = span.dot(normal) > -r.spacing_m;
            (lit && distance > 1e-6).then(|| (span / distance, r.spacing_m / distance))
        })
        .collect();
    if ahead.is_empty() {
        return Vec::new();
    }
    let middle = ahead.iter().map(|(way, _)| *way).sum::<Vec3>().normalize_or(normal);
    if let Some(bounds) = bounds(&ahead, middle) {
        return vec![face(from, middle, near, bounds)];
    }
    let (t, b) = normal.any_orthonormal_pair();
    [normal, t, -t, b, -b]
        .into_iter()
        .filter(|axis| {
            let (right, up) = axis.any_orthonormal_pair();
            ahead.iter().any(|(way, margin)| {
                let z = way.dot(*axis);
                let reach = z * (1.0 + margin) + margin;
                z > -margin && way.dot(right).abs() <= reach && way.dot(up).abs() <= reach
            })
        })
        .map(|axis| face(from, axis, near, [-1.0, 1.0, -1.0, 1.0]))
        .collect()
}

/// Share of the receivers that a pyramid may leave out: those are traced.
const LEFT_OUT: usize = 32;

/// Least and greatest tangents about `axis`, with room for what lies between receivers; None
/// where more than a few need more than the widest pyramid.
fn bounds(ahead: &[(Vec3, f32)], axis: Vec3) -> Option<[f32; 4]> {
    let (right, up) = axis.any_orthonormal_pair();
    let mut bounds = [f32::MAX, f32::MIN, f32::MAX, f32::MIN];
    let mut left_out = 0;
    for &(way, margin) in ahead {
        let z = way.dot(axis);
        let (x, y) = (way.dot(right) / z, way.dot(up) / z);
        if z <= 0.0 || x.abs() > WIDEST || y.abs() > WIDEST {
            left_out += 1;
            continue;
        }
        // a step along a direction spreads with the square of the secant
        let room = margin.min(0.2) * (1.0 + x * x + y * y);
        bounds[0] = bounds[0].min(x - room);
        bounds[1] = bounds[1].max(x + room);
        bounds[2] = bounds[2].min(y - room);
        bounds[3] = bounds[3].max(y + room);
    }
    (left_out * LEFT_OUT < ahead.len()).then_some(bounds)
}

fn face(from: Vec3, axis: Vec3, near: f32, [left, right, low, high]: [f32; 4]) -> Face {
    let (across, up) = axis.any_orthonormal_pair();
    Face {
        from: from.to_array(),
        layer: 0,
        right: across.to_array(),
        near,
        up: up.to_array(),
        texel: 0.0,
        forward: axis.to_array(),
        map_size: 0.0,
        bounds: [
            0.5 * (left + right),
            0.5 * (low + high),
            (0.5 * (right - left)).max(1e-3),
            (0.5 * (high - low)).max(1e-3),
        ],
        coarse: 0,
        deviation: 0.0,
        pad: [0; 2],
    }
}
