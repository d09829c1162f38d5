//! The head in its own frame: skull, jaw and their soft covering; the face's features follow in
//! [`super::face`].
//!
//! In: proportions. Out: a [`Part`] in the head's own frame (origin between the ear canals, x to
//! the sitter's left, y up, z out of the face), and [`Chart`], which maps the average head's
//! millimetres, in which everything here is written, to this head's metres.
//!
//! ```text
//!   y  129 crown          z  −97 back of the head
//!       33 brow               94 root of the nose, 98 over the brows
//!       17 pupils             72 eyeball centre, 85 cornea
//!      −16 nose tip          116
//!      −49 mouth              97
//!      −94 underside of chin  93 chin
//! ```

use glam::{Mat3, Vec3};

use super::face;
use super::field::{Join, Op, Part, Prim, Shape};
use super::proportions::Proportions;

/// Maps the average head's millimetres to one head's metres.
#[derive(Debug, Clone, Copy)]
pub struct Chart {
    breadth: f32,
    cheeks: f32,
    up: f32,
    down: f32,
    depth: f32,
    /// Half the distance of the pupils, metres.
    pub half_pupils: f32,
    /// 0 female, 1 male.
    pub male: f32,
    /// −1 slim to +1 heavy.
    pub build: f32,
}

/// Height of the nose's root over the ear canals on the average head.
const SELLION_MM: f32 = 24.0;
/// Depth of the chin's underside under the ear canals on the average head.
const MENTON_MM: f32 = 94.0;

impl Chart {
    /// The chart of one head.
    pub fn of(m: &Proportions) -> Self {
        let up = m.tragion_top / 0.129;
        Self {
            breadth: m.head_breadth / 0.151,
            cheeks: m.bizygomatic / 0.138,
            up,
            down: (m.sellion_menton * 1e3 - SELLION_MM * up) / MENTON_MM,
            depth: m.head_length / 0.195,
            half_pupils: 0.5 * m.interpupillary,
            male: m.male,
            build: m.build,
        }
    }

    /// Factors along x, y, z at a height.
    fn scale(&self, y: f32) -> Vec3 {
        let t = ((y - 10.0) / 50.0).clamp(0.0, 1.0);
        let x = self.cheeks + (self.breadth - self.cheeks) * t;
        Vec3::new(x, if y > 0.0 { self.up } else { self.down }, self.depth)
    }

    /// A point.
    pub fn point(&self, p: [f32; 3]) -> Vec3 {
        Vec3::from(p) * self.scale(p[1]) * 1e-3
    }

    /// A point of this head in the average head's millimetres.
    pub fn millimetres(&self, p: Vec3) -> Vec3 {
        let y = p.y * 1e3 / if p.y > 0.0 { self.up } else { self.down };
        p * 1e3 / self.scale(y)
    }

    /// A length, without direction.
    pub fn length(&self, mm: f32) -> f32 {
        mm * 1e-3 * (self.cheeks + self.depth) * 0.5
    }

    /// Half-axes at a height.
    fn radii(&self, y: f32, r: [f32; 3]) -> Vec3 {
        Vec3::from(r) * self.scale(y) * 1e-3
    }

    /// An eyeball's centre, 0 left, 1 right.
    pub fn eye(&self, side: usize) -> Vec3 {
        let x = super::skeleton::sign(side) * self.half_pupils;
        Vec3 { x, ..self.point([31.5, EYE_MM[1], EYE_MM[2]]) }
    }
}

/// The left eyeball's centre on the average head.
pub const EYE_MM: [f32; 3] = [31.5, 17.0, 71.3];
/// An adult eyeball's radius (about 24 mm across in every adult).
pub const EYEBALL_M: f32 = 0.0120;

/// Collects primitives written for the average head.
pub struct Sculpt<'a> {
    /// The head at hand.
    pub chart: &'a Chart,
    /// Folded in order.
    pub prims: Vec<Prim>,
}

impl Sculpt<'_> {
    /// Any shape, as it is.
    pub fn put(&mut self, op: Op, shape: Shape) {
        self.prims.push(Prim { shape, op });
    }

    fn scaled(&self, op: Op) -> Op {
        match op {
            Op::Add(k) => Op::Add(self.chart.length(k)),
            Op::Carve(k) => Op::Carve(self.chart.length(k)),
            Op::Raise(h) => Op::Raise(self.chart.length(h)),
        }
    }

    /// An ellipsoid turned by degrees about x (nods its top forward), y (turns its front to +x),
    /// z (leans its top to −x).
    pub fn ball(&mut self, op: Op, c: [f32; 3], r: [f32; 3], turn: [f32; 3]) {
        let axes = Mat3::from_rotation_y(turn[1].to_radians())
            * Mat3::from_rotation_x(turn[0].to_radians())
            * Mat3::from_rotation_z(turn[2].to_radians());
        let shape = Shape::Ellipsoid {
            centre: self.chart.point(c),
            axes,
            radii: self.chart.radii(c[1], r),
        };
        self.put(self.scaled(op), shape);
    }

    /// The ellipsoid and its mirror image.
    pub fn balls(&mut self, op: Op, c: [f32; 3], r: [f32; 3], turn: [f32; 3]) {
        self.ball(op, c, r, turn);
        self.ball(op, [-c[0], c[1], c[2]], r, [turn[0], -turn[1], -turn[2]]);
    }

    /// A bar with Bézier radii.
    pub fn bar(&mut self, op: Op, a: [f32; 3], b: [f32; 3], radii: [f32; 4]) {
        let shape = Shape::Limb {
            a: self.chart.point(a),
            b: self.chart.point(b),
            radii: radii.map(|r| self.chart.length(r)),
            flat_axis: Vec3::X,
            flat: 1.0,
        };
        self.put(self.scaled(op), shape);
    }

    /// A bent bar through points with a radius each, smoothed (Catmull & Rom 1974), and its
    /// mirror image.
    pub fn cords(&mut self, op: Op, points: &[([f32; 3], f32)]) {
        const STEPS: usize = 4;
        let knot = |i: isize| {
            let (p, r) = points[i.clamp(0, points.len() as isize - 1) as usize];
            Vec3::from(p).extend(r)
        };
        let mut from = knot(0);
        for i in 0..points.len() as isize - 1 {
            let (a, b, c, d) = (knot(i - 1), knot(i), knot(i + 1), knot(i + 2));
            for step in 1..=STEPS {
                let t = step as f32 / STEPS as f32;
                let cubic = a * -1.0 + b * 3.0 - c * 3.0 + d;
                let square = a * 2.0 - b * 5.0 + c * 4.0 - d;
                let to = b + (((cubic * t + square) * t) + (c - a)) * (0.5 * t);
                let lerp = |u: f32| from.w + (to.w - from.w) * u;
                let radii = [from.w, lerp(1.0 / 3.0), lerp(2.0 / 3.0), to.w];
                self.bars(op, from.truncate().into(), to.truncate().into(), radii);
                from = to;
            }
        }
    }

    /// The bar and its mirror image.
    pub fn bars(&mut self, op: Op, a: [f32; 3], b: [f32; 3], radii: [f32; 4]) {
        self.bar(op, a, b, radii);
        self.bar(op, [-a[0], a[1], a[2]], [-b[0], b[1], b[2]], radii);
    }
}

/// The whole head but its eyeballs.
pub fn head(chart: &Chart) -> Part {
    let mut s = Sculpt { chart, prims: Vec::new() };
    skull(&mut s);
    face::features(&mut s);
    let at = chart.point([0.0, -40.0, -5.0]);
    Part { prims: s.prims, join: Join { at, reach: 0.16, k: 0.018, far: 0.010 } }
}

/// The head without features, which hair and wraps lie on.
pub fn scalp(chart: &Chart) -> Part {
    let mut s = Sculpt { chart, prims: Vec::new() };
    skull(&mut s);
    Part { prims: s.prims, join: Join { at: Vec3::ZERO, reach: 1.0, k: 0.0, far: 0.0 } }
}

fn skull(s: &mut Sculpt) {
    let none = [0.0; 3];
    let male = s.chart.male;
    let fat = s.chart.build;
    // Braincase: parietal, frontal, occipital.
    s.ball(Op::Add(0.0), [0.0, 53.0, -14.0], [74.5, 76.0, 83.0], none);
    s.ball(Op::Add(30.0), [0.0, 60.0, 26.0], [60.0, 58.0, 67.0], none);
    s.ball(Op::Add(30.0), [0.0, 18.0, -40.0], [60.0, 48.0, 55.0], none);
    // Under the braincase, between the jaws.
    s.ball(Op::Add(24.0), [0.0, -10.0, 20.0], [60.0, 56.0, 52.0], none);
    // Middle face down to the teeth.
    s.ball(Op::Add(18.0), [0.0, -6.0, 46.0], [49.0, 52.0, 43.0], none);
    s.ball(Op::Add(16.0), [0.0, -42.0, 56.0], [36.0, 38.0, 37.0], none);
    // Brow ridge.
    let brow = 7.6 + 1.8 * male;
    s.bars(Op::Add(14.0), [8.0, 33.0, 85.5], [31.0, 37.5, 79.0], [brow, brow, brow, brow]);
    s.bars(Op::Add(14.0), [31.0, 37.5, 79.0], [46.0, 31.5, 65.5], [brow, brow, 7.0, 5.5]);
    // Cheekbone and its arch to the ear.
    s.bars(Op::Add(20.0), [36.0, -7.0, 63.5], [54.5, -1.0, 45.0], [13.0, 14.0, 12.0, 10.5]);
    s.bars(Op::Add(18.0), [54.5, -1.0, 45.0], [61.0, -1.0, 6.0], [10.5, 9.0, 8.5, 8.0]);
    // The cheekbone's upright beside the eye.
    s.bars(Op::Add(24.0), [45.0, 31.0, 63.0], [46.5, 0.0, 57.0], [5.5, 5.5, 6.5, 9.0]);
    // What lies between arch and jaw.
    s.balls(Op::Add(20.0), [50.0, -14.0, 26.0], [15.6, 25.0, 28.0], none);
    // Jaw: ramus, body, chin.
    let gonion = 41.5 + 4.0 * male;
    s.bars(Op::Add(20.0), [55.0, -6.0, 12.0], [gonion, -52.0, 16.0], [12.0, 12.0, 11.0, 10.0]);
    s.bars(Op::Add(18.0), [gonion, -52.0, 16.0], [14.0, -78.2, 71.0], [10.0, 11.0, 11.0, 12.0]);
    s.ball(Op::Add(14.0), [0.0, -78.2, 74.0], [17.0 + 3.0 * male, 14.5, 18.0], none);
    // Floor of the mouth.
    s.ball(Op::Add(18.0), [0.0, -66.0, 34.0], [38.0, 22.0, 42.0], none);
    // Chewing muscle and cheek.
    s.balls(Op::Add(22.0), [46.5, -24.0, 24.0], [13.5, 36.0, 28.0], [0.0, 15.0, 8.0]);
    s.balls(Op::Add(24.0), [34.0, -31.0, 48.5], [23.4 + 3.0 * fat, 34.0, 30.0], [0.0, 25.0, 0.0]);
    // Temple: muscle behind the cheekbone's upright, a shallow hollow over it.
    s.balls(Op::Add(16.0), [46.5, 20.0, 45.0], [9.0, 21.0, 17.0], [0.0, 20.0, 0.0]);
    s.balls(Op::Raise(-0.5), [60.0, 36.0, 48.0], [24.0, 30.0, 30.0], none);
}
