//! The library poses: where pelvis, feet and hands go, solved into joint angles.
//!
//! In: the skeleton, the plan's pose and what is sat on. Out: root place and [`Angles`] inside
//! their ranges, in the sitter's own space (standing mark at the origin, facing +z), with notes on
//! what had to be held back.

use glam::{Mat3, Vec3};

use super::field::Frame;
use super::pose::{Angles, Ankle, Bend, Swing, reach};
use super::proportions::Proportions;
use super::skeleton::{Bone, Posed, SIDES, Skeleton, sign};
use crate::plan::{HeadTurn, Pose};

/// What carries the sitter, in the sitter's own space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ground {
    /// The floor only.
    Floor,
    /// A box with its top at `top`, and its front edge at `front` (z).
    Seat {
        /// Height of the top.
        top: f32,
        /// z of the edge the knees hang over.
        front: f32,
        /// How far it reaches to either side.
        half_width: f32,
        /// How far it reaches back from the front edge.
        depth: f32,
    },
}

/// A solved pose.
#[derive(Debug, Clone)]
pub struct Stance {
    /// Place of the pelvis.
    pub root: Frame,
    /// Joint angles.
    pub angles: Angles,
    /// What had to be held back, or cannot touch ground.
    pub notes: Vec<String>,
}

/// How far flesh is pressed flat where it carries the body.
const PRESSED_M: f32 = 0.006;

/// Solves the plan's pose.
pub fn stance(
    pose: Pose,
    head: HeadTurn,
    m: &Proportions,
    skeleton: &Skeleton,
    ground: Ground,
) -> Stance {
    let mut solver =
        Solver { m, skeleton, root: Frame::IDENTITY, angles: Angles::default(), notes: Vec::new() };
    match (pose, ground) {
        (Pose::Standing, _) => solver.standing(),
        (Pose::Contrapposto, _) => solver.contrapposto(),
        (Pose::SeatedOnBox, Ground::Seat { top, front, .. }) => solver.on_box(top, front),
        (Pose::SeatedOnFloor | Pose::SeatedOnBox, _) => solver.on_floor(),
    }
    solver.angles.neck.rotation += head.turn as f32;
    solver.angles.neck.lateral += head.tilt as f32;
    solver.angles.neck.flexion += head.nod as f32;
    solver.notes.extend(solver.angles.hold());
    Stance { root: solver.root, angles: solver.angles, notes: solver.notes }
}

struct Solver<'a> {
    m: &'a Proportions,
    skeleton: &'a Skeleton,
    root: Frame,
    angles: Angles,
    notes: Vec<String>,
}

impl Solver<'_> {
    fn posed(&self) -> Posed {
        self.skeleton.posed(self.root, &self.angles)
    }

    fn span(&self, a: Bone, b: Bone) -> f32 {
        self.skeleton.joint(a).distance(self.skeleton.joint(b))
    }

    /// Height of the ankle joint over a sole that is pressed on the floor.
    fn ankle_height(&self) -> f32 {
        self.skeleton.joint(Bone::Foot(0)).y - 0.5 * PRESSED_M
    }

    /// Puts a flat foot at (x, z), toes turned out by `out` degrees, knee toward `pole`.
    fn plant(&mut self, side: usize, x: f32, z: f32, out: f32, pole: Vec3) {
        self.swing_leg(side, Vec3::new(x, self.ankle_height(), z), pole);
        let shank = self.posed().frame(Bone::Shank(side)).turn;
        let flat = Mat3::from_rotation_y((sign(side) * out).to_radians());
        self.angles.legs[side].ankle = Ankle::of_matrix(&(shank.transpose() * flat));
    }

    fn swing_leg(&mut self, side: usize, ankle: Vec3, pole: Vec3) {
        let lengths = [
            self.span(Bone::Thigh(side), Bone::Shank(side)),
            self.span(Bone::Shank(side), Bone::Foot(side)),
        ];
        let hip = self.posed().frame(Bone::Thigh(side)).shift;
        // Knee and ankle do not lie quite under the hip at rest: aim off by what is missed.
        let mut aim = ankle;
        for _ in 0..4 {
            let (thigh, knee) = reach(hip, aim, pole, lengths, 1.0);
            let leg = &mut self.angles.legs[side];
            leg.hip = Swing::of_matrix(&(self.root.turn.transpose() * thigh), side);
            leg.knee = knee;
            aim += ankle - self.posed().frame(Bone::Foot(side)).shift;
        }
    }

    /// Brings a wrist to `wrist` with the elbow toward `pole`; the fingers point along `fingers`,
    /// the palm faces `palm`.
    fn place_hand(&mut self, side: usize, wrist: Vec3, pole: Vec3, fingers: Vec3, palm: Vec3) {
        self.reach_with(side, wrist, pole);
        let fore = self.posed().frame(Bone::Forearm(side)).turn;
        // The palm lies flat; the fingers point as wished along it.
        let x = -sign(side) * palm.normalize_or(Vec3::X);
        let y = -(fingers - x * fingers.dot(x)).normalize_or(Vec3::NEG_Y);
        let hand = Mat3::from_cols(x, y, x.cross(y));
        self.angles.arms[side].set_hand(&(fore.transpose() * hand), side);
    }

    /// Brings a wrist to `wrist` with the elbow toward `pole`.
    fn reach_with(&mut self, side: usize, wrist: Vec3, pole: Vec3) {
        let lengths = [
            self.span(Bone::UpperArm(side), Bone::Forearm(side)),
            self.span(Bone::Forearm(side), Bone::Hand(side)),
        ];
        let posed = self.posed();
        let clavicle = posed.frame(Bone::Clavicle(side)).turn;
        let shoulder = posed.frame(Bone::UpperArm(side)).shift;
        let (upper, elbow) = reach(shoulder, wrist, pole, lengths, -1.0);
        let arm = &mut self.angles.arms[side];
        arm.shoulder = Swing::of_matrix(&(clavicle.transpose() * upper), side);
        arm.elbow = elbow;
    }

    fn hang_arm(&mut self, side: usize, flexion: f32, abduction: f32, elbow: f32) {
        let arm = &mut self.angles.arms[side];
        arm.shoulder = Swing { flexion, abduction, medial: 12.0 };
        arm.elbow = elbow;
        arm.pronation = 22.0;
        arm.wrist = 6.0;
        arm.curl = 0.42;
    }

    fn standing(&mut self) {
        let hip = self.skeleton.joint(Bone::Thigh(0)).x;
        let drop = self.skeleton.joint(Bone::Foot(0)).y - self.ankle_height();
        self.root.shift = self.skeleton.joint(Bone::Pelvis) - Vec3::Y * (drop + 0.001);
        for s in SIDES {
            self.plant(s, sign(s) * (hip + 0.012), -0.022, 7.0, Vec3::new(0.1 * sign(s), 0.0, 1.0));
            self.hang_arm(s, 1.0, 9.0, 12.0);
        }
    }

    /// Weight on the sitter's right leg; hips and shoulders lean against each other.
    fn contrapposto(&mut self) {
        let (free, bearing) = (0, 1);
        let hip = self.skeleton.joint(Bone::Thigh(0)).x;
        let lean = 6.5f32;
        // The bearing hip rises: the pelvis drops toward the free side (+x).
        self.root.turn = Bend { flexion: 0.0, lateral: lean, rotation: -7.0 }.matrix();
        let leg =
            self.span(Bone::Thigh(1), Bone::Shank(1)) + self.span(Bone::Shank(1), Bone::Foot(1));
        let ankle = Vec3::new(-0.035, self.ankle_height(), -0.03);
        let bearing_hip = Vec3::new(-0.045 - hip, 0.0, 0.0);
        let reach_x = bearing_hip.x - ankle.x;
        let height = ankle.y + ((0.9992 * leg).powi(2) - reach_x * reach_x - 9e-4).sqrt();
        let offset = self.root.turn * Vec3::new(-hip, 0.0, 0.0);
        self.root.shift = Vec3::new(bearing_hip.x, height, 0.0) - offset;
        self.plant(bearing, ankle.x, ankle.z, 10.0, Vec3::new(-0.1, 0.0, 1.0));
        self.plant(free, 0.165, 0.085, 24.0, Vec3::new(0.3, 0.0, 1.0));
        self.angles.spine = Bend { flexion: -2.0, lateral: -lean - 5.5, rotation: 11.0 };
        self.angles.neck = Bend { flexion: 2.0, lateral: 4.0, rotation: -4.0 };
        self.hang_arm(bearing, -3.0, 15.0, 22.0);
        self.hang_arm(free, 6.0, 7.0, 16.0);
    }

    fn on_box(&mut self, top: f32, front: f32) {
        let m = self.m;
        let under_hip = m.sitting_height - (m.stature - m.trochanter_height);
        let thigh = self.span(Bone::Thigh(0), Bone::Shank(0));
        let shank = self.span(Bone::Shank(0), Bone::Foot(0));
        let hip_y = top + under_hip - PRESSED_M;
        let knee_y = self.ankle_height() + shank;
        // A high stool brings the hips forward on the edge, legs longer.
        let z = front - (0.62 * thigh - 0.5 * (hip_y - knee_y).max(0.0)).max(0.12);
        self.root.shift = Vec3::new(0.0, hip_y, z);
        self.root.turn = Bend { flexion: -6.0, ..Bend::default() }.matrix();
        self.angles.spine = Bend { flexion: 11.0, ..Bend::default() };
        self.angles.neck = Bend { flexion: -4.0, ..Bend::default() };
        let drop = (hip_y - knee_y).clamp(-0.9 * thigh, 0.9 * thigh);
        let knee_z = z + (thigh * thigh - drop * drop).sqrt();
        if hip_y - self.ankle_height() > 0.98 * (thigh + shank) {
            self.notes.push(format!("the seat is {top:.2} m high: the feet hang above the floor"));
        }
        for s in SIDES {
            let (x, step) = if s == 0 { (0.155, 0.03) } else { (0.145, -0.05) };
            self.plant(
                s,
                sign(s) * x,
                knee_z - 0.01 + step,
                14.0,
                Vec3::new(0.22 * sign(s), 1.0, 0.9),
            );
        }
        self.hands_on_thighs(0.66);
    }

    fn hands_on_thighs(&mut self, share: f32) {
        let thigh_radius = self.m.thigh_girth / std::f32::consts::TAU;
        for s in SIDES {
            let posed = self.posed();
            let (hip, knee) =
                (posed.frame(Bone::Thigh(s)).shift, posed.frame(Bone::Shank(s)).shift);
            let along = (knee - hip).normalize();
            let top = (Vec3::Y - along * along.y).normalize();
            let height = thigh_radius * (1.02 - 0.42 * share) + 0.030;
            let wrist = hip
                + along * (knee - hip).length() * (share - 0.22 + 0.06 * s as f32)
                + top * height;
            let inward = Vec3::new(-0.45 * sign(s), 0.0, 0.0);
            self.place_hand(s, wrist, Vec3::new(0.85 * sign(s), -0.25, -1.0), along + inward, -top);
            self.angles.arms[s].curl = 0.16;
        }
    }

    /// Left knee raised with the arm over it, right leg stretched out before the sitter.
    fn on_floor(&mut self) {
        let m = self.m;
        let (raised, stretched) = (0, 1);
        let under_hip = m.sitting_height - (m.stature - m.trochanter_height);
        let thigh = self.span(Bone::Thigh(0), Bone::Shank(0));
        let shank = self.span(Bone::Shank(0), Bone::Foot(0));
        self.root.shift = Vec3::new(0.0, under_hip - PRESSED_M, 0.0);
        self.root.turn = Bend { flexion: -19.0, lateral: 0.0, rotation: -5.0 }.matrix();
        self.angles.spine = Bend { flexion: 29.0, lateral: 2.0, rotation: 5.0 };
        self.angles.neck = Bend { flexion: -9.0, lateral: 0.0, rotation: 0.0 };
        self.plant(raised, 0.15, 1.35 * thigh, 8.0, Vec3::new(0.16, 1.0, 0.2));
        // The stretched leg rests on its calf and the back of its heel, toes up and out.
        let heel = 0.235 * m.foot_length;
        let ankle = Vec3::new(-0.20, heel - 0.004, 0.965 * (thigh + shank));
        self.swing_leg(stretched, ankle, Vec3::new(-0.45, 1.0, 0.0));
        self.angles.legs[stretched].ankle = Ankle { dorsiflexion: -16.0, yaw: 0.0, roll: 0.0 };

        let posed = self.posed();
        let knee = posed.frame(Bone::Shank(raised)).shift;
        let over = knee + Vec3::new(-0.045, 0.075, 0.125);
        self.reach_with(raised, over, Vec3::new(0.8, -0.65, -0.1));
        let arm = &mut self.angles.arms[raised];
        (arm.pronation, arm.wrist, arm.curl) = (58.0, 42.0, 0.42);

        let hip = posed.frame(Bone::Thigh(stretched)).shift;
        let knee = posed.frame(Bone::Shank(stretched)).shift;
        let along = (knee - hip).normalize();
        let top = (Vec3::Y - along * along.y).normalize();
        let thick = 0.72 * m.thigh_girth / std::f32::consts::TAU + 0.026;
        let wrist = hip.lerp(knee, 0.44) + top * thick;
        self.reach_with(stretched, wrist, Vec3::new(-0.9, -0.1, -0.6));
        let forearm = wrist - self.posed().frame(Bone::Forearm(stretched)).shift;
        self.place_hand(
            stretched,
            wrist,
            Vec3::new(-0.9, -0.1, -0.6),
            forearm.normalize() + 0.8 * along,
            -top,
        );
        self.angles.arms[stretched].curl = 0.18;
    }
}
