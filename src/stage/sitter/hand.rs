//! Hands with separate fingers, and feet.
//!
//! In: proportions, skeleton and how far the fingers curl. Out: one [`Part`] each, in the pose.
//! A resting hand hangs along −y, palm toward the body's middle, thumb forward (+z).

use std::f32::consts::TAU;

use glam::{Mat3, Vec3};

use super::field::{Join, Op, Part, Shape};
use super::proportions::Proportions;
use super::skeleton::{Bone, Posed, Skeleton, sign};
use super::torso::Clay;

/// Fingers from index to little: knuckle's place across the hand (of its breadth, + toward the
/// thumb), knuckle's distance from the wrist, three bone lengths (of the hand's length), radius
/// (of its breadth), spread in degrees. Bone shares from common drawing practice, no source.
const FINGERS: [(f32, f32, [f32; 3], f32, f32); 4] = [
    (0.33, 0.515, [0.225, 0.135, 0.105], 0.103, 5.0),
    (0.10, 0.530, [0.240, 0.155, 0.110], 0.106, 1.0),
    (-0.13, 0.505, [0.225, 0.140, 0.108], 0.100, -3.0),
    (-0.34, 0.460, [0.180, 0.105, 0.098], 0.088, -8.0),
];

/// A hand.
pub fn hand(m: &Proportions, skeleton: &Skeleton, posed: &Posed, side: usize, curl: f32) -> Part {
    let mut clay = Clay::new(posed);
    let bone = Bone::Hand(side);
    let x = sign(side);
    let (l, b) = (m.hand_length, m.hand_breadth);
    let wrist = skeleton.joint(bone);
    // Hand coordinates: toward the palm, along the fingers, toward the thumb.
    let at = |palm: f32, along: f32, thumb: f32| wrist + Vec3::new(-x * palm, -along, thumb);

    // Palm: a bar a finger's metacarpal, a web, and the two pads.
    for (across, reach, _, radius, _) in FINGERS {
        let r = radius * b;
        clay.bar(
            bone,
            Op::Add(0.016),
            at(0.0, 0.02 * l, 0.42 * across * b),
            at(-0.001, reach * l, across * b),
            [1.15 * r, 1.25 * r, 1.12 * r, 1.08 * r],
        );
    }
    clay.ball(
        bone,
        Op::Add(0.012),
        at(0.010, 0.20 * l, 0.24 * b),
        Vec3::new(0.012, 0.19 * l, 0.20 * b),
    );
    clay.ball(
        bone,
        Op::Add(0.012),
        at(0.007, 0.24 * l, -0.26 * b),
        Vec3::new(0.011, 0.22 * l, 0.16 * b),
    );
    clay.ball(bone, Op::Add(0.012), at(0.000, 0.30 * l, 0.0), Vec3::new(0.011, 0.22 * l, 0.40 * b));

    for (i, (across, reach, bones, radius, spread)) in FINGERS.into_iter().enumerate() {
        let r = radius * b;
        let more = 1.0 + 0.10 * i as f32;
        let bends = [38.0 * curl * more, 62.0 * curl * more, 34.0 * curl * more];
        let mut from = at(-0.001, reach * l, across * b);
        let mut bend = 4.0f32;
        let side_way = spread.to_radians() * (1.0 - 0.6 * curl);
        for (joint, share) in bones.into_iter().enumerate() {
            bend += bends[joint];
            let (sin, cos) = bend.to_radians().sin_cos();
            let step = Vec3::new(-x * sin, -cos, cos * side_way.tan()) * (share * l);
            let thin = 1.0 - 0.10 * joint as f32;
            let to = from + step;
            let k = if joint == 0 { 0.007 } else { 0.004 };
            clay.bar(
                bone,
                Op::Add(k),
                from,
                to,
                [1.04 * thin * r, 0.92 * thin * r, 0.92 * thin * r, 0.92 * thin * r],
            );
            from = to;
        }
    }
    // Thumb: metacarpal out of the wrist's thumb side, then two bones.
    let r = 0.115 * b;
    let root = at(0.006, 0.10 * l, 0.26 * b);
    let knuckle = at(0.020 + 0.010 * curl, 0.32 * l, 0.56 * b);
    let middle = at(0.030 + 0.022 * curl, 0.48 * l, 0.62 * b);
    let tip = at(0.034 + 0.034 * curl, 0.625 * l, 0.60 * b);
    clay.bar(bone, Op::Add(0.016), root, knuckle, [1.3 * r, 1.35 * r, 1.1 * r, 1.06 * r]);
    clay.bar(bone, Op::Add(0.006), knuckle, middle, [1.06 * r, 0.98 * r, 0.96 * r, 0.98 * r]);
    clay.bar(bone, Op::Add(0.004), middle, tip, [0.98 * r, 1.0 * r, 0.98 * r, 0.80 * r]);

    stub(&mut clay, Bone::Forearm(side), wrist, 0.95 * m.wrist_girth / TAU, 0.84);
    clay.part(Join { at: posed.point(bone, wrist), reach: 0.07, k: 0.020, far: 0.0015 })
}

/// The end of the limb above, just under its skin, so that hand and foot reach past their cut.
fn stub(clay: &mut Clay, limb: Bone, joint: Vec3, radius: f32, flat: f32) {
    let (a, b) = (joint + Vec3::Y * 0.045, joint);
    let shape = Shape::Limb { a, b, radii: [0.98 * radius; 4], flat_axis: Vec3::X, flat };
    clay.put(limb, Op::Add(0.012), shape);
}

/// A bare foot.
pub fn foot(m: &Proportions, skeleton: &Skeleton, posed: &Posed, side: usize) -> Part {
    let mut clay = Clay::new(posed);
    let bone = Bone::Foot(side);
    let x = sign(side);
    let (l, b) = (m.foot_length, m.foot_breadth);
    let ankle = skeleton.joint(bone);
    // Foot coordinates from the sole's heel end: outward, up, forward. The joint stands a quarter
    // of the foot before the heel.
    let at =
        |out: f32, up: f32, fore: f32| Vec3::new(ankle.x + x * out, up, ankle.z - 0.235 * l + fore);
    let k = Op::Add(0.025);
    clay.ball(bone, k, at(0.0, 0.030, 0.135 * l), Vec3::new(0.33 * b, 0.034, 0.135 * l));
    clay.bar(
        bone,
        Op::Add(0.03),
        at(0.0, ankle.y - 0.006, 0.24 * l),
        at(-0.10 * b, 0.030, 0.60 * l),
        [0.036, 0.034, 0.026, 0.022],
    );
    clay.bar(
        bone,
        k,
        at(0.16 * b, 0.024, 0.22 * l),
        at(0.30 * b, 0.017, 0.62 * l),
        [0.026, 0.022, 0.019, 0.017],
    );
    clay.ball(bone, k, at(0.0, 0.020, 0.66 * l), Vec3::new(0.49 * b, 0.022, 0.11 * l));
    clay.ball(
        bone,
        Op::Add(0.015),
        at(-0.33 * b, 0.020, 0.70 * l),
        Vec3::new(0.17 * b, 0.021, 0.09 * l),
    );
    // Toes from great to little.
    let toes = [
        (-0.33, 1.00, 0.135, 0.0150),
        (-0.10, 0.985, 0.082, 0.0115),
        (0.08, 0.955, 0.078, 0.0110),
        (0.24, 0.915, 0.076, 0.0105),
        (0.385, 0.865, 0.078, 0.0105),
    ];
    for (across, end, _, r) in toes {
        let end_z = end * l - r;
        clay.bar(
            bone,
            Op::Add(0.006),
            at(across * b * 0.9, 0.021, 0.72 * l),
            at(across * b, r + 0.001, end_z),
            [1.15 * r, 0.95 * r, 0.95 * r, 1.0 * r],
        );
    }
    // The sole is flat where it stands.
    clay.put(
        bone,
        Op::Carve(0.006),
        Shape::Slab {
            centre: at(0.0, -0.05, 0.5 * l),
            axes: Mat3::IDENTITY,
            half: Vec3::new(0.2, 0.05, 0.3),
            round: 0.001,
        },
    );
    stub(&mut clay, Bone::Shank(side), ankle, 0.96 * m.ankle_girth / TAU, 1.0);
    clay.part(Join { at: posed.point(bone, ankle), reach: 0.09, k: 0.030, far: 0.002 })
}
