//! Trunk and neck of the resting body.
//!
//! In: proportions and skeleton. Out: a [`Part`] in the pose.

use glam::{Mat3, Vec3};

use super::field::{Join, Op, Part, Prim, Shape};
use super::proportions::Proportions;
use super::skeleton::{Bone, Posed, SIDES, Skeleton, sign};

/// Collects primitives modelled at rest, each carried to its pose by its bone.
pub struct Clay<'a> {
    posed: &'a Posed,
    prims: Vec<Prim>,
}

impl<'a> Clay<'a> {
    /// Nothing yet.
    pub fn new(posed: &'a Posed) -> Self {
        Self { posed, prims: Vec::new() }
    }

    /// Adds a primitive that moves with `bone`.
    pub fn put(&mut self, bone: Bone, op: Op, shape: Shape) {
        let shape = shape.moved(&self.posed.rest_move(bone));
        self.prims.push(Prim { shape, op });
    }

    /// An ellipsoid along the resting axes.
    pub fn ball(&mut self, bone: Bone, op: Op, centre: Vec3, radii: Vec3) {
        self.put(bone, op, Shape::Ellipsoid { centre, axes: Mat3::IDENTITY, radii });
    }

    /// A round bar.
    pub fn bar(&mut self, bone: Bone, op: Op, a: Vec3, b: Vec3, radii: [f32; 4]) {
        self.put(bone, op, Shape::Limb { a, b, radii, flat_axis: Vec3::X, flat: 1.0 });
    }

    /// A bar from one bone's point to another's, both modelled at rest.
    pub fn strap(&mut self, op: Op, from: (Bone, Vec3), to: (Bone, Vec3), radii: [f32; 4]) {
        let (a, b) = (self.posed.point(from.0, from.1), self.posed.point(to.0, to.1));
        let shape = Shape::Limb { a, b, radii, flat_axis: Vec3::X, flat: 1.0 };
        self.prims.push(Prim { shape, op });
    }

    /// The finished part.
    pub fn part(self, join: Join) -> Part {
        Part { prims: self.prims, join }
    }
}

/// Trunk and neck.
pub fn trunk(m: &Proportions, skeleton: &Skeleton, posed: &Posed) -> Part {
    let mut clay = Clay::new(posed);
    let h = m.stature;
    let v = Vec3::new;
    let (cb, cd) = (0.5 * m.chest_breadth, 0.5 * m.chest_depth);
    let (wb, wd) = (0.5 * m.waist_breadth, 0.5 * m.waist_depth);
    let (hb, bd) = (0.5 * m.hip_breadth, 0.5 * m.buttock_depth);
    let female = 1.0 - m.male;
    let k = Op::Add(0.075);

    // Ribs: narrow at the top, widest at the eighth, and the back a little flat.
    let chest = Bone::Chest;
    clay.ball(chest, k, v(0.0, 0.772 * h, -0.012), v(0.86 * cb, 0.078 * h, 0.76 * cd));
    clay.ball(chest, k, v(0.0, 0.722 * h, -0.004), v(0.98 * cb, 0.088 * h, 0.86 * cd));
    clay.ball(Bone::Spine, k, v(0.0, 0.655 * h, 0.000), v(0.93 * wb, 0.080 * h, 0.93 * wd));
    clay.ball(Bone::Spine, k, v(0.0, 0.600 * h, 0.004), v(0.97 * wb, 0.075 * h, 0.97 * wd));
    clay.ball(Bone::Pelvis, k, v(0.0, 0.545 * h, -0.004), v(0.96 * hb, 0.072 * h, 0.80 * bd));
    clay.ball(Bone::Pelvis, k, v(0.0, 0.512 * h, -0.006), v(0.90 * hb, 0.050 * h, 0.72 * bd));

    let soft = Op::Add(0.045);
    for s in SIDES {
        let x = sign(s);
        clay.ball(
            Bone::Pelvis,
            soft,
            v(x * 0.44 * hb, 0.512 * h, -0.40 * bd),
            v(0.47 * hb, 0.052 * h, 0.60 * bd),
        );
        let shoulder = skeleton.joint(Bone::UpperArm(s));
        let tip = v(x * 0.5 * m.biacromial, m.acromial_height - 0.016, -0.022);
        // Breast muscle, running into the arm; and the breast itself.
        clay.strap(
            Op::Add(0.035),
            (chest, v(x * 0.045, 0.742 * h, 0.62 * cd)),
            (Bone::Clavicle(s), shoulder + v(-x * 0.030, -0.022, 0.030)),
            [0.036 + 0.006 * m.male, 0.046, 0.040, 0.024],
        );
        let soft_tissue = 0.010 + 0.030 * female + 0.006 * m.build.max(-0.5);
        clay.ball(
            chest,
            Op::Add(0.045),
            v(x * 0.52 * cb, 0.722 * h, 0.56 * cd),
            v(0.068, 0.062, soft_tissue + 0.034),
        );
        // Shoulder blade and the broad back muscle.
        clay.ball(
            chest,
            Op::Add(0.05),
            v(x * 0.60 * cb, 0.775 * h, -0.66 * cd),
            v(0.058, 0.080, 0.034),
        );
        clay.strap(
            Op::Add(0.05),
            (Bone::Clavicle(s), shoulder + v(-x * 0.030, -0.055, -0.022)),
            (chest, v(x * 0.80 * cb, 0.700 * h, -0.030)),
            [0.026, 0.042, 0.040, 0.030],
        );
        // Trapezius from skull and neck to the shoulder's tip; collar bone.
        let r = m.neck_girth / std::f32::consts::TAU;
        let nape = v(x * 0.36 * r, m.cervicale_height - 0.004, -0.044);
        let trap = 0.013 + 0.007 * m.male;
        clay.strap(
            Op::Add(0.048),
            (Bone::Neck, nape),
            (Bone::Clavicle(s), tip + v(-x * 0.042, -0.004, -0.012)),
            [0.34 * r, 1.15 * trap, trap, 0.017],
        );
        clay.strap(
            Op::Add(0.030),
            (chest, v(x * 0.030, m.suprasternale_height - 0.006, 0.052)),
            (Bone::Clavicle(s), tip + v(-x * 0.012, -0.002, 0.006)),
            [0.0125, 0.010, 0.012, 0.018],
        );
        // The hollow over the collar bone.
        clay.ball(
            chest,
            Op::Raise(-0.006),
            v(x * 0.085, m.acromial_height + 0.020, 0.028),
            v(0.045, 0.045, 0.045),
        );
    }
    // Breastbone's furrow, spine's furrow, navel.
    clay.ball(chest, Op::Raise(-0.005), v(0.0, 0.735 * h, cd * 0.9), v(0.030, 0.075, 0.06));
    clay.ball(chest, Op::Raise(-0.007), v(0.0, 0.740 * h, -cd), v(0.030, 0.140, 0.06));
    clay.ball(Bone::Spine, Op::Raise(-0.009), v(0.0, 0.640 * h, -wd), v(0.034, 0.130, 0.06));
    clay.ball(Bone::Spine, Op::Raise(-0.008), v(0.0, 0.602 * h, wd), v(0.014, 0.012, 0.05));

    neck(&mut clay, m, skeleton);
    clay.part(Join { at: v(0.0, 0.0, 0.0), reach: 1.0, k: 0.0, far: 0.0 })
}

fn neck(clay: &mut Clay, m: &Proportions, skeleton: &Skeleton) {
    let v = Vec3::new;
    // Less than the girth's own radius: the straps stand out from the column, and the more so
    // the slimmer it is.
    let r = (0.86 + 0.10 * m.male) * m.neck_girth / std::f32::consts::TAU;
    let skull = skeleton.head_origin;
    let base = v(0.0, m.cervicale_height - 0.050, -0.026);
    clay.strap(
        Op::Add(0.045),
        (Bone::Chest, base),
        (Bone::Head, skull + v(0.0, -0.022, -0.012)),
        [0.92 * r, 0.68 * r, 0.68 * r, 0.78 * r],
    );
    // Windpipe and voice box, nearer the front than the column.
    let box_at = v(0.0, skull.y - 0.122, 0.49 * r);
    clay.strap(
        Op::Add(0.034),
        (Bone::Neck, box_at + v(0.0, 0.022, -0.004)),
        (Bone::Chest, v(0.0, m.suprasternale_height + 0.010, 0.030)),
        [0.31 * r, 0.28 * r, 0.27 * r, 0.25 * r],
    );
    clay.ball(
        Bone::Neck,
        Op::Add(0.014),
        box_at + v(0.0, 0.010, 0.008 + 0.006 * m.male),
        v(0.010, 0.013, 0.010),
    );
    for s in SIDES {
        let x = sign(s);
        // Sternomastoid: from behind the ear to the notch.
        clay.strap(
            Op::Add(0.034),
            (Bone::Head, skull + v(x * (0.030 + 0.36 * r), -0.020, -0.026)),
            (Bone::Chest, v(x * 0.019, m.suprasternale_height + 0.002, 0.040)),
            [0.20 * r, 0.19 * r, 0.17 * r, 0.13 * r],
        );
        // Nape: from under the skull's back down beside the spine.
        clay.strap(
            Op::Add(0.034),
            (Bone::Head, skull + v(x * 0.024, -0.012, -0.048)),
            (Bone::Chest, v(x * 0.026, m.cervicale_height - 0.030, -0.052)),
            [0.32 * r, 0.34 * r, 0.34 * r, 0.36 * r],
        );
    }
    // The notch itself.
    clay.ball(
        Bone::Chest,
        Op::Raise(-0.0045),
        v(0.0, m.suprasternale_height + 0.010, 0.050),
        v(0.026, 0.030, 0.04),
    );
}
