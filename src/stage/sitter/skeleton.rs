//! The joint skeleton: where bones meet at rest, and where they go for given joint angles.
//!
//! In: [`Proportions`] and [`Angles`]. Out: [`Posed`], one rigid move a bone from rest to pose.
//! At rest the sitter stands straight, facing +z, arms hanging, palms to the thighs; the sitter's
//! own left is +x.

use glam::{Mat3, Vec3};

use super::field::Frame;
use super::pose::{Angles, Bend};
use super::proportions::Proportions;

/// Left (+x) is 0, right is 1.
pub const SIDES: [usize; 2] = [0, 1];

/// +1 for the left side, −1 for the right.
pub fn sign(side: usize) -> f32 {
    if side == 0 { 1.0 } else { -1.0 }
}

/// A bone; sided ones take 0 (left) or 1 (right).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bone {
    /// Hips and buttocks.
    Pelvis,
    /// Loins and belly.
    Spine,
    /// Ribs.
    Chest,
    /// Neck.
    Neck,
    /// Skull.
    Head,
    /// Collar bone.
    Clavicle(usize),
    /// Upper arm.
    UpperArm(usize),
    /// Forearm.
    Forearm(usize),
    /// Hand.
    Hand(usize),
    /// Thigh.
    Thigh(usize),
    /// Lower leg.
    Shank(usize),
    /// Foot.
    Foot(usize),
}

impl Bone {
    fn index(self) -> usize {
        match self {
            Self::Pelvis => 0,
            Self::Spine => 1,
            Self::Chest => 2,
            Self::Neck => 3,
            Self::Head => 4,
            Self::Clavicle(s) => 5 + s,
            Self::UpperArm(s) => 7 + s,
            Self::Forearm(s) => 9 + s,
            Self::Hand(s) => 11 + s,
            Self::Thigh(s) => 13 + s,
            Self::Shank(s) => 15 + s,
            Self::Foot(s) => 17 + s,
        }
    }
}

/// Joints at rest, metres.
#[derive(Debug, Clone)]
pub struct Skeleton {
    /// The joint a bone turns about.
    joints: [Vec3; 19],
    /// The head's own origin at rest: midway between the ear canals.
    pub head_origin: Vec3,
}

impl Skeleton {
    /// The resting skeleton.
    pub fn of(m: &Proportions) -> Self {
        let h = m.stature;
        let tragion = h - m.tragion_top;
        let mut joints = [Vec3::ZERO; 19];
        let mut set = |bone: Bone, at: Vec3| joints[bone.index()] = at;
        set(Bone::Pelvis, Vec3::new(0.0, m.trochanter_height, 0.0));
        set(Bone::Spine, Vec3::new(0.0, 0.585 * h, -0.012));
        set(Bone::Chest, Vec3::new(0.0, 0.690 * h, -0.020));
        set(Bone::Neck, Vec3::new(0.0, m.cervicale_height - 0.022, -0.040));
        let head_origin = Vec3::new(0.0, tragion, 0.004);
        set(Bone::Head, head_origin + Vec3::new(0.0, -0.020, -0.012));
        for s in SIDES {
            let x = sign(s);
            let shoulder =
                Vec3::new(x * (0.5 * m.biacromial - 0.028), m.acromial_height - 0.036, -0.018);
            let elbow = shoulder - Vec3::Y * (m.acromion_radiale - 0.030);
            let wrist = elbow - Vec3::Y * (m.radiale_stylion - 0.004);
            set(Bone::Clavicle(s), Vec3::new(x * 0.022, m.suprasternale_height, 0.03));
            set(Bone::UpperArm(s), shoulder);
            set(Bone::Forearm(s), elbow);
            set(Bone::Hand(s), wrist);
            let hip = Vec3::new(x * 0.250 * m.hip_breadth.min(0.36), m.trochanter_height, 0.0);
            let ankle = Vec3::new(hip.x, m.ankle_height + 0.012, -0.022);
            let knee = Vec3::new(hip.x, m.knee_height - 0.008, 0.004);
            set(Bone::Thigh(s), hip);
            set(Bone::Shank(s), knee);
            set(Bone::Foot(s), ankle);
        }
        Self { joints, head_origin }
    }

    /// A joint at rest.
    pub fn joint(&self, bone: Bone) -> Vec3 {
        self.joints[bone.index()]
    }

    /// Where every bone goes.
    pub fn posed(&self, root: Frame, angles: &Angles) -> Posed {
        let mut frames = [Frame::IDENTITY; 19];
        let place = |parent: &Frame, from: Bone, bone: Bone, turn: Mat3| {
            let step = self.joint(bone) - self.joint(from);
            Frame { turn: parent.turn * turn, shift: parent.point(step) }
        };
        let pelvis = root;
        let spine = place(&pelvis, Bone::Pelvis, Bone::Spine, angles.spine.scaled(0.55).matrix());
        let chest = place(&spine, Bone::Spine, Bone::Chest, angles.spine.scaled(0.45).matrix());
        let neck = place(&chest, Bone::Chest, Bone::Neck, angles.neck.scaled(0.45).matrix());
        // The skull turns the rest of the way, so that the sum is exact.
        let whole = angles.neck.matrix();
        let skull = angles.neck.scaled(0.45).matrix().transpose() * whole;
        let head = place(&neck, Bone::Neck, Bone::Head, skull);
        let mut put = |bone: Bone, frame: Frame| frames[bone.index()] = frame;
        put(Bone::Pelvis, pelvis);
        put(Bone::Spine, spine);
        put(Bone::Chest, chest);
        put(Bone::Neck, neck);
        put(Bone::Head, head);
        for s in SIDES {
            let arm = &angles.arms[s];
            let lift = Bend { flexion: 0.0, lateral: -sign(s) * arm.shrug, rotation: 0.0 };
            let clavicle = place(&chest, Bone::Chest, Bone::Clavicle(s), lift.matrix());
            let upper =
                place(&clavicle, Bone::Clavicle(s), Bone::UpperArm(s), arm.shoulder.matrix(s));
            let fore = place(
                &upper,
                Bone::UpperArm(s),
                Bone::Forearm(s),
                Mat3::from_rotation_x(-arm.elbow.to_radians()),
            );
            let hand = place(&fore, Bone::Forearm(s), Bone::Hand(s), arm.hand_matrix(s));
            let leg = &angles.legs[s];
            let thigh = place(&pelvis, Bone::Pelvis, Bone::Thigh(s), leg.hip.matrix(s));
            let shank = place(
                &thigh,
                Bone::Thigh(s),
                Bone::Shank(s),
                Mat3::from_rotation_x(leg.knee.to_radians()),
            );
            let foot = place(&shank, Bone::Shank(s), Bone::Foot(s), leg.ankle.matrix());
            put(Bone::Clavicle(s), clavicle);
            put(Bone::UpperArm(s), upper);
            put(Bone::Forearm(s), fore);
            put(Bone::Hand(s), hand);
            put(Bone::Thigh(s), thigh);
            put(Bone::Shank(s), shank);
            put(Bone::Foot(s), foot);
        }
        Posed { frames, rest: self.clone() }
    }
}

/// The skeleton in a pose.
#[derive(Debug, Clone)]
pub struct Posed {
    /// World from bone, the bone's origin at its joint.
    frames: [Frame; 19],
    rest: Skeleton,
}

impl Posed {
    /// World from bone.
    pub fn frame(&self, bone: Bone) -> Frame {
        self.frames[bone.index()]
    }

    /// The move that takes what is modelled at rest on `bone` to its pose.
    pub fn rest_move(&self, bone: Bone) -> Frame {
        let frame = self.frame(bone);
        Frame { turn: frame.turn, shift: frame.shift - frame.turn * self.rest.joint(bone) }
    }

    /// A point modelled at rest on `bone`, in its pose.
    pub fn point(&self, bone: Bone, at_rest: Vec3) -> Vec3 {
        self.rest_move(bone).point(at_rest)
    }

    /// World from the head's own frame (origin between the ear canals, x to the sitter's left,
    /// y up, z out of the face).
    pub fn head(&self) -> Frame {
        let frame = self.frame(Bone::Head);
        Frame { turn: frame.turn, shift: self.point(Bone::Head, self.rest.head_origin) }
    }
}
