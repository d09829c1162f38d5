//! The signed-distance field the body is modelled in: primitives, smooth joins, sculpting dents.
//!
//! In: primitives in one frame, grouped into parts. Out: distance (metres, negative inside) at
//! a point, and the few primitives that matter near a block, so that meshing stays cheap.
//!
//! ```text
//!   part = prim ∪ₖ prim ∪ₖ prim − dent …        (folded in order)
//!   body = part ∪ₖ₍ₚ₎ part ∪ₖ₍ₚ₎ part …          k fades away from the joint: no webbing
//!   settled = body − what it rests on           (flesh flattens on seat and floor)
//! ```

use glam::{Mat3, Vec3};

use super::mesher::Solid;

/// A rigid move: `p ↦ turn·p + shift`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Columns are the frame's axes.
    pub turn: Mat3,
    /// The frame's origin.
    pub shift: Vec3,
}

impl Frame {
    /// No move.
    pub const IDENTITY: Self = Self { turn: Mat3::IDENTITY, shift: Vec3::ZERO };

    /// A point of this frame, seen from outside.
    pub fn point(&self, p: Vec3) -> Vec3 {
        self.turn * p + self.shift
    }

    /// A direction of this frame, seen from outside.
    pub fn direction(&self, d: Vec3) -> Vec3 {
        self.turn * d
    }

    /// The opposite move.
    pub fn inverse(&self) -> Self {
        let turn = self.turn.transpose();
        Self { turn, shift: -(turn * self.shift) }
    }
}

/// Solids. Lengths in metres.
#[derive(Debug, Clone, Copy)]
pub enum Shape {
    /// A rounded bar from `a` to `b` whose radius follows a cubic Bézier, squeezed by `flat`
    /// (≤ 1) along `flat_axis`.
    Limb {
        /// Start.
        a: Vec3,
        /// End.
        b: Vec3,
        /// Bézier radii from `a` to `b`.
        radii: [f32; 4],
        /// Unit vector of the squeeze, across the bar.
        flat_axis: Vec3,
        /// Thickness along `flat_axis` relative to across.
        flat: f32,
    },
    /// An ellipsoid with its own axes (columns of `axes`).
    Ellipsoid {
        /// Centre.
        centre: Vec3,
        /// Rotation from its own axes.
        axes: Mat3,
        /// Half-axes.
        radii: Vec3,
    },
    /// A box with rounded edges.
    Slab {
        /// Centre.
        centre: Vec3,
        /// Rotation from its own axes.
        axes: Mat3,
        /// Half-extents.
        half: Vec3,
        /// Edge radius.
        round: f32,
    },
    /// The wedge between two lids in front of an eyeball: an almond in the frontal plane, as
    /// deep as `floor` before the eyeball's centre plane, and never into the eyeball.
    Almond {
        /// Eyeball centre.
        centre: Vec3,
        /// Rotation from the eye's own axes (x lateral, y up, z out of the face).
        axes: Mat3,
        /// Eyeball radius left standing.
        ball: f32,
        /// Depth of the canthi's floor before the centre plane.
        floor: f32,
        /// Inner and outer corner, then lid heights above and below the line of the corners.
        opening: Opening,
    },
}

/// The almond between the lids, in the eye's own frontal plane, metres.
#[derive(Debug, Clone, Copy)]
pub struct Opening {
    /// Inner corner, lateral coordinate and height.
    pub inner: [f32; 2],
    /// Outer corner.
    pub outer: [f32; 2],
    /// Height of the upper lid's margin over the line of the corners.
    pub upper: f32,
    /// Depth of the lower lid's margin under it.
    pub lower: f32,
}

impl Opening {
    /// Heights of the lower and upper margin at lateral coordinate `x`.
    pub fn margins(&self, x: f32) -> (f32, f32) {
        let t = (x - self.inner[0]) / (self.outer[0] - self.inner[0]);
        let line = self.inner[1] + t * (self.outer[1] - self.inner[1]);
        let c = t.clamp(0.0, 1.0);
        // The upper lid peaks medially, the lower one laterally.
        let up = arch(c.powf(0.86));
        let low = arch(c.powf(1.18));
        (line - self.lower * low, line + self.upper * up)
    }

    /// Below zero inside the almond; about metres.
    pub fn distance(&self, x: f32, y: f32) -> f32 {
        let (low, up) = self.margins(x);
        let ends = (self.inner[0] - x).max(x - self.outer[0]);
        // The margins slope by up to about 1 near the corners: 0.8 keeps the scale near true.
        (0.8 * (y - up).max(low - y)).max(ends)
    }
}

/// A lid's arch: 0 at the corners, 1 in the middle, fuller than a parabola.
fn arch(t: f32) -> f32 {
    (4.0 * t * (1.0 - t)).max(0.0).powf(0.8)
}

impl Shape {
    /// Signed distance in metres, exact or close near the surface.
    pub fn distance(&self, p: Vec3) -> f32 {
        match *self {
            Self::Limb { a, b, radii, flat_axis, flat } => {
                let (ab, ap) = (b - a, p - a);
                let t = (ap.dot(ab) / ab.length_squared().max(1e-12)).clamp(0.0, 1.0);
                let mut off = ap - ab * t;
                let u = 1.0 - t;
                let r = radii[0] * u * u * u
                    + 3.0 * radii[1] * u * u * t
                    + 3.0 * radii[2] * u * t * t
                    + radii[3] * t * t * t;
                if flat < 1.0 {
                    let along = off.dot(flat_axis);
                    off += flat_axis * (along / flat - along);
                    let stretched = off.length();
                    let shrink = if stretched > 1e-9 {
                        (off - flat_axis * (along / flat - along)).length() / stretched
                    } else {
                        flat
                    };
                    return (stretched - r) * shrink.max(flat);
                }
                off.length() - r
            }
            Self::Ellipsoid { centre, axes, radii } => {
                let q = axes.transpose() * (p - centre);
                let k0 = (q / radii).length();
                let k1 = (q / (radii * radii)).length();
                if k1 < 1e-6 { -radii.min_element() } else { k0 * (k0 - 1.0) / k1 }
            }
            Self::Slab { centre, axes, half, round } => {
                let q = (axes.transpose() * (p - centre)).abs() - half + Vec3::splat(round);
                q.max(Vec3::ZERO).length() + q.max_element().min(0.0) - round
            }
            Self::Almond { centre, axes, ball, floor, opening } => {
                let q = axes.transpose() * (p - centre);
                // The eyelids' edges fan out from the eye: scale the almond with depth.
                let fan = 1.0 + 0.012 * (q.z / ball - 1.0);
                opening.distance(q.x / fan, q.y / fan).max(ball - q.length()).max(floor - q.z)
            }
        }
    }

    /// Centre and radius of a ball around the solid.
    fn ball(&self) -> (Vec3, f32) {
        match *self {
            Self::Limb { a, b, radii, .. } => {
                let r = radii.iter().fold(0.0f32, |m, r| m.max(*r));
                ((a + b) * 0.5, (b - a).length() * 0.5 + r)
            }
            Self::Ellipsoid { centre, radii, .. } => (centre, radii.max_element()),
            Self::Slab { centre, half, .. } => (centre, half.length()),
            Self::Almond { centre, .. } => (centre, 0.045),
        }
    }

    /// The same solid, moved.
    pub fn moved(&self, frame: &Frame) -> Self {
        let mut shape = *self;
        match &mut shape {
            Self::Limb { a, b, flat_axis, .. } => {
                *a = frame.point(*a);
                *b = frame.point(*b);
                *flat_axis = frame.direction(*flat_axis);
            }
            Self::Ellipsoid { centre, axes, .. }
            | Self::Slab { centre, axes, .. }
            | Self::Almond { centre, axes, .. } => {
                *centre = frame.point(*centre);
                *axes = frame.turn * *axes;
            }
        }
        shape
    }
}

/// What a primitive does to the solid so far.
#[derive(Debug, Clone, Copy)]
pub enum Op {
    /// Smooth union over a blend width in metres.
    Add(f32),
    /// Smooth subtraction over a blend width in metres.
    Carve(f32),
    /// Raises (or dents, if negative) the surface inside the shape's ball, an ellipsoid's own
    /// ellipsoid, by a smooth bell of this height in metres.
    Raise(f32),
}

/// A solid and what it does.
#[derive(Debug, Clone, Copy)]
pub struct Prim {
    /// The solid.
    pub shape: Shape,
    /// What it does.
    pub op: Op,
}

impl Prim {
    fn apply(&self, d: f32, p: Vec3) -> f32 {
        match self.op {
            Op::Add(k) => smooth_min(d, self.shape.distance(p), k),
            Op::Carve(k) => -smooth_min(-d, self.shape.distance(p), k),
            Op::Raise(height) => match self.shape {
                Shape::Ellipsoid { centre, axes, radii } => {
                    let q2 = (axes.transpose() * (p - centre) / radii).length_squared();
                    if q2 >= 1.0 { d } else { d - height * (1.0 - q2).powi(3) }
                }
                _ => d - height,
            },
        }
    }

    /// Whether it can change a surface that lies within `radius` of `centre`.
    fn matters(&self, centre: Vec3, radius: f32) -> bool {
        let (c, r) = self.shape.ball();
        let reach = match self.op {
            Op::Add(k) | Op::Carve(k) => k,
            Op::Raise(_) => 0.0,
        };
        let near = c.distance(centre) < r + radius + reach;
        match self.op {
            Op::Raise(_) => near,
            // The slack covers ellipsoids, whose far distance is an estimate.
            _ => near && self.shape.distance(centre) < 1.35 * (radius + reach) + 0.002,
        }
    }
}

/// Cubic smooth minimum (Quilez' polynomial family): C² where the two meet, equal to `min`
/// where they differ by more than `k`.
pub fn smooth_min(a: f32, b: f32, k: f32) -> f32 {
    if k <= 0.0 {
        return a.min(b);
    }
    let h = ((k - (a - b).abs()) / k).max(0.0);
    a.min(b) - h * h * h * k * (1.0 / 6.0)
}

/// How a part grows out of the parts before it: blend width `k` at `at`, fading to
/// `far` (a crease) over `reach`. All metres.
#[derive(Debug, Clone, Copy)]
pub struct Join {
    /// Where the parts grow together.
    pub at: Vec3,
    /// Distance over which the blend fades.
    pub reach: f32,
    /// Blend width at the joint.
    pub k: f32,
    /// Blend width far from it.
    pub far: f32,
}

impl Join {
    /// Blend width at a point.
    pub fn width(&self, p: Vec3) -> f32 {
        let t = (p.distance(self.at) / self.reach).clamp(0.0, 1.0);
        let s = 1.0 - t * t * (3.0 - 2.0 * t);
        self.far + (self.k - self.far) * s
    }
}

/// A group of primitives folded on its own, then joined.
#[derive(Debug, Clone)]
pub struct Part {
    /// Folded in order.
    pub prims: Vec<Prim>,
    /// How it joins the parts before it.
    pub join: Join,
}

/// The whole solid.
#[derive(Debug, Clone, Default)]
pub struct Field {
    /// Joined in order.
    pub parts: Vec<Part>,
    /// What the body rests on: its surface is flattened there, over this blend width in metres.
    pub rests: Vec<(Shape, f32)>,
}

/// What matters near a block of a [`Field`].
#[derive(Debug, Clone, Default)]
pub struct Near {
    parts: Vec<(Join, Vec<Prim>)>,
    rests: Vec<(Shape, f32)>,
}

impl Near {
    /// Whether nothing is near.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }
}

/// Where nothing is near.
const FAR_M: f32 = 1.0;

impl Field {
    /// The same solid, moved.
    pub fn moved(&self, frame: &Frame) -> Self {
        let parts = self
            .parts
            .iter()
            .map(|part| Part {
                prims: part
                    .prims
                    .iter()
                    .map(|prim| Prim { shape: prim.shape.moved(frame), op: prim.op })
                    .collect(),
                join: Join { at: frame.point(part.join.at), ..part.join },
            })
            .collect();
        let rests = self.rests.iter().map(|(s, k)| (s.moved(frame), *k)).collect();
        Self { parts, rests }
    }

    /// Distance at a point, from every primitive.
    pub fn at(&self, p: Vec3) -> f32 {
        self.distance(&self.near(p, 0.03), p)
    }

    /// First point along a ray from outside where the surface is met, within `reach` metres.
    pub fn meet(&self, from: Vec3, toward: Vec3, reach: f32) -> Option<Vec3> {
        let near = self.near(from + toward * (reach * 0.5), reach * 0.5 + 0.05);
        let mut t = 0.0;
        while t < reach {
            let d = self.distance(&near, from + toward * t);
            if d < 5e-5 {
                return Some(from + toward * t);
            }
            t += (0.7 * d).max(5e-5);
        }
        None
    }
}

impl Solid for Field {
    type Near = Near;

    fn near(&self, centre: Vec3, radius: f32) -> Near {
        let mut near = Near::default();
        let matter = |prims: &mut Vec<Prim>, reach: f32| {
            prims.retain(|prim| prim.matters(centre, reach));
            prims.iter().any(|prim| matches!(prim.op, Op::Add(_)))
        };
        for part in &self.parts {
            let reach = radius + part.join.width(centre).max(part.join.far) + 0.01;
            let mut prims = part.prims.clone();
            if matter(&mut prims, reach) {
                near.parts.push((part.join, prims));
            }
        }
        // A part with none beside it to blend with needs only what shapes its own surface here.
        if let [(_, prims)] = near.parts.as_mut_slice()
            && !matter(prims, radius + 0.003)
        {
            near.parts.clear();
        }
        near.rests.extend(
            self.rests.iter().filter(|(s, k)| s.distance(centre) < 1.3 * (radius + k) + 0.01),
        );
        near
    }

    fn distance(&self, near: &Near, p: Vec3) -> f32 {
        let mut d = FAR_M;
        for (join, prims) in &near.parts {
            let part = prims.iter().fold(FAR_M, |d, prim| prim.apply(d, p));
            d = if d >= FAR_M { part } else { smooth_min(d, part, join.width(p)) };
        }
        near.rests.iter().fold(d, |d, (rest, k)| -smooth_min(-d, rest.distance(p), *k))
    }
}
