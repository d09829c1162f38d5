//! Arms and legs of the resting body, down to wrist and ankle.
//!
//! In: proportions and skeleton. Out: one [`Part`] a limb, in the pose.

use std::f32::consts::TAU;

use glam::Vec3;

use super::field::{Join, Op, Part, Shape};
use super::proportions::Proportions;
use super::skeleton::{Bone, Posed, Skeleton, sign};
use super::torso::Clay;

/// Blend width where limbs only lie against the body: a crease.
const CREASE_M: f32 = 0.003;

/// An arm from the deltoid to the wrist.
pub fn arm(m: &Proportions, skeleton: &Skeleton, posed: &Posed, side: usize) -> Part {
    let mut clay = Clay::new(posed);
    let x = sign(side);
    let v = |a: f32, b: f32, c: f32| Vec3::new(x * a, b, c);
    let shoulder = skeleton.joint(Bone::UpperArm(side));
    let elbow = skeleton.joint(Bone::Forearm(side));
    let wrist = skeleton.joint(Bone::Hand(side));
    let upper = Bone::UpperArm(side);
    let fore = Bone::Forearm(side);
    // The survey's girths are of flexed muscle; at rest they are about a tenth less.
    let biceps = 0.90 * m.biceps_girth / TAU;
    let forearm = 0.93 * m.forearm_girth / TAU;
    let wrist_r = m.wrist_girth / TAU;
    let long = shoulder.y - elbow.y;

    clay.bar(
        upper,
        Op::Add(0.03),
        shoulder,
        elbow,
        [0.92 * biceps, 0.98 * biceps, 0.80 * biceps, 0.76 * biceps],
    );
    // Deltoid: out to the body's greatest breadth.
    let out = 0.5 * m.bideltoid - shoulder.x.abs();
    let cap = 0.80 * biceps + 0.006;
    clay.bar(
        upper,
        Op::Add(0.035),
        shoulder + v(out - cap, -0.012, 0.002),
        shoulder + v(out - 0.86 * cap - 0.004, -0.42 * long, 0.002),
        [0.92 * cap, 1.02 * cap, 0.62 * cap, 0.42 * cap],
    );
    // Biceps before, triceps behind.
    clay.ball(
        upper,
        Op::Add(0.025),
        shoulder + v(0.002, -0.56 * long, 0.45 * biceps),
        Vec3::new(0.60 * biceps, 0.26 * long, 0.62 * biceps),
    );
    clay.ball(
        upper,
        Op::Add(0.025),
        shoulder + v(0.002, -0.48 * long, -0.42 * biceps),
        Vec3::new(0.66 * biceps, 0.30 * long, 0.64 * biceps),
    );
    // Elbow's point.
    clay.ball(
        fore,
        Op::Add(0.018),
        elbow + v(0.0, -0.002, -0.62 * biceps),
        Vec3::new(0.020, 0.022, 0.016),
    );

    // The wrist is broad where the palm is flat: flat across x at rest.
    clay.put(
        fore,
        Op::Add(0.028),
        Shape::Limb {
            a: elbow,
            b: wrist,
            radii: [0.80 * biceps, 1.18 * forearm, 0.86 * wrist_r, 1.10 * wrist_r],
            flat_axis: Vec3::X,
            flat: 0.84,
        },
    );
    clay.ball(
        fore,
        Op::Add(0.03),
        elbow + v(0.012, -0.052, 0.010),
        Vec3::new(0.62 * forearm, 0.070, 0.62 * forearm),
    );
    clay.ball(
        fore,
        Op::Add(0.012),
        wrist + v(0.008, 0.010, -0.60 * wrist_r),
        Vec3::new(0.010, 0.012, 0.011),
    );

    let join = Join { at: posed.point(upper, shoulder), reach: 0.16, k: 0.045, far: CREASE_M };
    clay.part(join)
}

/// A leg from the hip to the ankle.
pub fn leg(m: &Proportions, skeleton: &Skeleton, posed: &Posed, side: usize) -> Part {
    let mut clay = Clay::new(posed);
    let x = sign(side);
    let v = |a: f32, b: f32, c: f32| Vec3::new(x * a, b, c);
    let hip = skeleton.joint(Bone::Thigh(side));
    let knee = skeleton.joint(Bone::Shank(side));
    let ankle = skeleton.joint(Bone::Foot(side));
    let thigh = Bone::Thigh(side);
    let shank = Bone::Shank(side);
    let thigh_r = m.thigh_girth / TAU;
    let calf_r = m.calf_girth / TAU;
    let ankle_r = m.ankle_girth / TAU;
    let (upper, lower) = (hip.y - knee.y, knee.y - ankle.y);

    clay.bar(
        thigh,
        Op::Add(0.04),
        hip + v(0.006, -0.010, 0.0),
        knee,
        [0.92 * thigh_r, 1.00 * thigh_r, 0.66 * thigh_r, 0.92 * calf_r],
    );
    // Front and back of the thigh.
    clay.ball(
        thigh,
        Op::Add(0.04),
        hip + v(0.010, -0.48 * upper, 0.28 * thigh_r),
        Vec3::new(0.70 * thigh_r, 0.36 * upper, 0.66 * thigh_r),
    );
    clay.ball(
        thigh,
        Op::Add(0.04),
        hip + v(0.0, -0.40 * upper, -0.26 * thigh_r),
        Vec3::new(0.70 * thigh_r, 0.34 * upper, 0.66 * thigh_r),
    );
    // Knee cap; calf, higher on the outside; shin.
    clay.ball(
        shank,
        Op::Add(0.022),
        knee + v(0.0, 0.012, 0.80 * calf_r),
        Vec3::new(0.026, 0.030, 0.016),
    );
    clay.bar(
        shank,
        Op::Add(0.03),
        knee,
        ankle,
        [0.90 * calf_r, 1.06 * calf_r, 0.62 * calf_r, 1.02 * ankle_r],
    );
    clay.ball(
        shank,
        Op::Add(0.03),
        knee + v(0.014, -0.27 * lower, -0.34 * calf_r),
        Vec3::new(0.56 * calf_r, 0.20 * lower, 0.66 * calf_r),
    );
    clay.ball(
        shank,
        Op::Add(0.03),
        knee + v(-0.016, -0.31 * lower, -0.34 * calf_r),
        Vec3::new(0.56 * calf_r, 0.20 * lower, 0.66 * calf_r),
    );
    for (side_x, up) in [(0.88 * ankle_r, 0.0), (-0.86 * ankle_r, 0.008)] {
        clay.ball(
            shank,
            Op::Add(0.012),
            ankle + v(side_x, up, 0.004),
            Vec3::new(0.010, 0.016, 0.015),
        );
    }
    // Heel cord.
    clay.bar(
        shank,
        Op::Add(0.02),
        ankle + v(0.0, 0.10, -0.034),
        ankle + v(0.0, -0.010, -0.036),
        [0.014, 0.010, 0.009, 0.012],
    );

    let join = Join { at: posed.point(thigh, hip), reach: 0.20, k: 0.06, far: CREASE_M };
    clay.part(join)
}
