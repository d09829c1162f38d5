//! Crates and plinths with bevelled edges, so that edges catch light.
//!
//! In: the plan's [`SetBox`]es. Out: a mesh each, and [`Block`], the solid that cloth falls on.

use glam::Vec3;

use super::RoomError;
use super::paint;
use crate::optics::surface::Surface;
use crate::plan::SetBox;
use crate::stage::{Mesh, Role};

/// Width of the bevel along each face, metres (a planed wooden edge; assumption).
const BEVEL_M: f32 = 0.006;

/// An upright block turned about the vertical.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Middle of the block, world metres.
    pub centre: Vec3,
    /// Half extents along its own axes, metres.
    pub half: Vec3,
    /// Unit vector along its width.
    pub along: Vec3,
    /// Unit vector along its depth.
    pub across: Vec3,
}

impl Block {
    /// The solid of a box of the plan, checked.
    pub fn new(set_box: &SetBox) -> Result<Self, RoomError> {
        let name = || set_box.name.clone();
        let sides =
            [("width", set_box.width), ("height", set_box.height), ("depth", set_box.depth)];
        for (side, length) in sides {
            if !(0.01..=20.0).contains(&length.metres) {
                return Err(RoomError::BoxSide { name: name(), side, metres: length.metres });
            }
        }
        let near = |v: f64| v.abs() <= 200.0;
        let places = [
            ("x", set_box.x.metres, near(set_box.x.metres), "it must be within 200 m"),
            ("z", set_box.z.metres, near(set_box.z.metres), "it must be within 200 m"),
            (
                "base",
                set_box.base.metres,
                (0.0..=200.0).contains(&set_box.base.metres),
                "it must be 0 (on the floor) or above",
            ),
            ("turn", set_box.turn, set_box.turn.is_finite(), "it must be an angle in degrees"),
        ];
        for (what, value, right, hint) in places {
            if !right {
                return Err(RoomError::BoxPlace { name: name(), what, value, hint });
            }
        }
        let half = Vec3::new(
            0.5 * set_box.width.metres as f32,
            0.5 * set_box.height.metres as f32,
            0.5 * set_box.depth.metres as f32,
        );
        let (sin, cos) = (set_box.turn.to_radians() as f32).sin_cos();
        Ok(Self {
            centre: Vec3::new(
                set_box.x.metres as f32,
                set_box.base.metres as f32 + half.y,
                set_box.z.metres as f32,
            ),
            half,
            along: Vec3::new(cos, 0.0, -sin),
            across: Vec3::new(sin, 0.0, cos),
        })
    }

    /// World point to the block's own axes.
    pub fn own_from_world(&self, p: Vec3) -> Vec3 {
        let d = p - self.centre;
        Vec3::new(d.dot(self.along), d.y, d.dot(self.across))
    }

    /// Direction in the block's own axes to world.
    pub fn world_from_own(&self, d: Vec3) -> Vec3 {
        self.along * d.x + Vec3::Y * d.y + self.across * d.z
    }

    /// Signed distance to the surface in metres (negative inside) and the unit direction out.
    pub fn distance(&self, p: Vec3) -> (f32, Vec3) {
        let own = self.own_from_world(p);
        let q = own.abs() - self.half;
        let sign = Vec3::new(1f32.copysign(own.x), 1f32.copysign(own.y), 1f32.copysign(own.z));
        let outside = q.max(Vec3::ZERO);
        let length = outside.length();
        if length > 0.0 {
            return (length, self.world_from_own(sign * outside / length));
        }
        let axis = if q.x > q.y && q.x > q.z {
            Vec3::X
        } else if q.y > q.z {
            Vec3::Y
        } else {
            Vec3::Z
        };
        (q.max_element(), self.world_from_own(sign * axis))
    }

    /// The same block, larger by `by` metres on every side.
    pub fn grown(&self, by: f32) -> Self {
        Self { half: self.half + Vec3::splat(by), ..*self }
    }

    /// The four upright edges' feet in plan, world x and z with y at the base.
    pub fn footprint(&self) -> [Vec3; 4] {
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
            .map(|(i, k)| self.centre + self.world_from_own(self.half * Vec3::new(i, -1.0, k)))
    }
}

/// One bevelled mesh for each box.
pub fn boxes(set_boxes: &[SetBox]) -> Result<Vec<Mesh>, RoomError> {
    set_boxes
        .iter()
        .map(|set_box| {
            let block = Block::new(set_box)?;
            let reflectance = paint::reflectance(&set_box.paint).map_err(|source| {
                RoomError::Paint { of: format!("box \"{}\"", set_box.name), source }
            })?;
            let mut mesh = Mesh {
                name: set_box.name.clone(),
                role: Role::SetBox,
                positions: Vec::new(),
                normals: Vec::new(),
                tints: Vec::new(),
                triangles: Vec::new(),
                surface: Surface::diffuse(set_box.name.clone(), reflectance),
            };
            add_bevelled(&mut mesh, &block, BEVEL_M);
            Ok(mesh)
        })
        .collect()
}

/// Adds a block with bevelled edges. Bevels share the faces' vertices and normals, so shading
/// rounds them while the faces stay flat.
///
/// ```text
///      ___________
///     /           \      a corner has one vertex on each of its three faces; the bevel of an
///    |  face       |     edge joins two faces' vertices, the corner itself is one triangle
/// ```
pub(crate) fn add_bevelled(mesh: &mut Mesh, block: &Block, bevel_m: f32) {
    let bevel = bevel_m.min(0.3 * block.half.min_element());
    let first = mesh.positions.len() as u32;
    // vertex of corner (sx, sy, sz as bits) on the face of `axis`
    let index = |corner: usize, axis: usize| first + (corner * 3 + axis) as u32;
    let sign = |corner: usize, axis: usize| if corner >> axis & 1 == 1 { 1.0 } else { -1.0 };
    for corner in 0..8 {
        for axis in 0..3 {
            let mut own = block.half - Vec3::splat(bevel);
            own[axis] = block.half[axis];
            let mut normal = Vec3::ZERO;
            normal[axis] = sign(corner, axis);
            for (i, o) in own.as_mut().iter_mut().enumerate() {
                *o *= sign(corner, i);
            }
            mesh.positions.push(block.centre + block.world_from_own(own));
            mesh.normals.push(block.world_from_own(normal));
        }
    }
    let mut outward = |a: u32, b: u32, c: u32| {
        let [pa, pb, pc] = [a, b, c].map(|i| mesh.positions[i as usize]);
        let out = (pa + pb + pc) / 3.0 - block.centre;
        let flip = (pb - pa).cross(pc - pa).dot(out) < 0.0;
        mesh.triangles.push(if flip { [a, c, b] } else { [a, b, c] });
    };
    for axis in 0..3 {
        let (u, v) = ((axis + 1) % 3, (axis + 2) % 3);
        for side in 0..2 {
            let c = |i: usize, j: usize| index(side << axis | i << u | j << v, axis);
            outward(c(0, 0), c(1, 0), c(1, 1));
            outward(c(0, 0), c(1, 1), c(0, 1));
        }
        // the four edges that run along `axis`
        for (i, j) in [(0, 0), (1, 0), (1, 1), (0, 1)] {
            let c = |end: usize, face: usize| index(end << axis | i << u | j << v, face);
            outward(c(0, u), c(1, u), c(1, v));
            outward(c(0, u), c(1, v), c(0, v));
        }
    }
    for corner in 0..8 {
        outward(index(corner, 0), index(corner, 1), index(corner, 2));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Length, Paint};

    fn crate_box() -> SetBox {
        SetBox {
            name: "crate".into(),
            width: Length::metres(0.6),
            height: Length::metres(0.4),
            depth: Length::metres(0.5),
            x: Length::metres(0.2),
            z: Length::metres(-0.1),
            base: Length::metres(0.3),
            turn: 30.0,
            paint: Paint::grey(0.3),
        }
    }

    #[test]
    fn a_box_is_closed_and_has_its_volume_less_the_bevels() {
        let mesh = &boxes(&[crate_box()]).unwrap()[0];
        let volume: f32 = mesh
            .triangles
            .iter()
            .map(|t| t.map(|i| mesh.positions[i as usize]))
            .map(|[a, b, c]| a.dot(b.cross(c)) / 6.0)
            .sum();
        // each of the 12 edges loses a right-angled prism of legs 6 mm: 6 m of edge · 18 mm² / m
        let expected = 0.6 * 0.4 * 0.5 - 4.0 * (0.6 + 0.4 + 0.5) * 0.5 * BEVEL_M * BEVEL_M;
        assert!((volume - expected).abs() < 1e-5, "{volume} against {expected}");
        let lowest = mesh.positions.iter().map(|p| p.y).fold(f32::MAX, f32::min);
        assert!((lowest - 0.3).abs() < 1e-6);
    }

    #[test]
    fn turning_is_anticlockwise_from_above() {
        let block = Block::new(&crate_box()).unwrap();
        // seen from above x is right and z is down the page: anticlockwise takes +x toward −z
        assert!((block.along - Vec3::new(0.866_025_4, 0.0, -0.5)).length() < 1e-6);
    }

    #[test]
    fn distance_is_zero_on_faces_and_grows_outward() {
        let block = Block::new(&crate_box()).unwrap();
        let top = block.centre + Vec3::Y * block.half.y;
        let (d, out) = block.distance(top + Vec3::Y * 0.1);
        assert!((d - 0.1).abs() < 1e-6 && (out - Vec3::Y).length() < 1e-6);
        let (d, _) = block.distance(top - Vec3::Y * 0.05);
        assert!((d + 0.05).abs() < 1e-6);
    }

    #[test]
    fn a_box_that_cannot_be_says_why() {
        let thin = SetBox { depth: Length::metres(0.0), ..crate_box() };
        assert!(matches!(boxes(&[thin]), Err(RoomError::BoxSide { side: "depth", .. })));
        let sunk = SetBox { base: Length::metres(-0.1), ..crate_box() };
        let message = boxes(&[sunk]).unwrap_err().to_string();
        assert!(message.contains("on the floor"), "{message}");
    }
}
