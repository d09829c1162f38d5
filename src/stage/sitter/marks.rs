//! Named places on the sitter, found on the surface itself.
//!
//! In: a [`Body`]. Out: [`Mark`]s in the sitter's own space, each facing out of the surface (the
//! face and its parts face where the head looks).

use glam::Vec3;

use super::body::Body;
use super::head::EYEBALL_M;
use super::skeleton::{Bone, SIDES, sign};
use crate::stage::Mark;

/// All marks.
pub fn marks(body: &Body) -> Vec<Mark> {
    let head = body.posed.head();
    let forward = head.direction(Vec3::Z);
    let mut marks = Vec::new();
    let mut add = |name: &str, position: Vec3, facing: Vec3| {
        marks.push(Mark { name: name.into(), position, facing: facing.normalize_or(Vec3::Z) });
    };
    // Where the average head's line from `from` along `dir` meets the skin.
    let skin = |at: [f32; 3], dir: Vec3| {
        let inside = head.point(body.chart.point(at));
        let out = head.direction(dir.normalize_or(Vec3::Z));
        body.field.meet(inside + out * 0.12, -out, 0.2).unwrap_or(inside)
    };
    let ahead = Vec3::Z;
    add("face", skin([0.0, 4.0, 80.0], ahead), forward);
    add("nose_tip", skin([0.0, -15.5, 95.0], ahead), forward);
    add("mouth", skin([0.0, -50.0, 80.0], ahead), forward);
    add("chin", skin([0.0, -81.0, 75.0], ahead), forward);
    add("forehead", skin([0.0, 62.0, 60.0], ahead), forward);
    add("crown", skin([0.0, 60.0, -8.0], Vec3::Y), head.direction(Vec3::Y));
    let names = [
        [
            "left_eye",
            "left_cheek",
            "left_ear",
            "left_hand",
            "left_shoulder",
            "left_knee",
            "left_foot",
        ],
        [
            "right_eye",
            "right_cheek",
            "right_ear",
            "right_hand",
            "right_shoulder",
            "right_knee",
            "right_foot",
        ],
    ];
    let mut feet = Vec3::ZERO;
    for s in SIDES {
        let x = sign(s);
        let [eye, cheek, ear, hand, shoulder, knee, foot] = names[s];
        add(eye, head.point(body.chart.eye(s) + Vec3::Z * (EYEBALL_M + 0.0008)), forward);
        add(
            cheek,
            skin([x * 38.0, -18.0, 60.0], Vec3::new(0.35 * x, 0.0, 1.0)),
            head.direction(Vec3::new(0.35 * x, 0.0, 1.0)),
        );
        add(ear, skin([x * 70.0, 6.0, -14.0], Vec3::X * x), head.direction(Vec3::X * x));
        let palm = body.posed.frame(Bone::Hand(s));
        let back = palm.direction(Vec3::X * x);
        let knuckles = palm.point(Vec3::new(0.0, -0.40 * body.measures.hand_length, 0.0));
        add(hand, body.field.meet(knuckles + back * 0.08, -back, 0.1).unwrap_or(knuckles), back);
        let joint = body.posed.frame(Bone::UpperArm(s)).shift;
        add(
            shoulder,
            body.field.meet(joint + Vec3::Y * 0.2, -Vec3::Y, 0.25).unwrap_or(joint),
            Vec3::Y,
        );
        let shank = body.posed.frame(Bone::Shank(s));
        let cap = shank.direction(Vec3::new(0.0, 0.35, 1.0)).normalize_or(Vec3::Z);
        add(knee, body.field.meet(shank.shift + cap * 0.2, -cap, 0.22).unwrap_or(shank.shift), cap);
        let sole = body.posed.frame(Bone::Foot(s));
        let ball = sole.point(Vec3::new(0.0, 0.0, 0.10));
        let instep = body.field.meet(ball + Vec3::Y * 0.2, -Vec3::Y, 0.3).unwrap_or(ball);
        add(foot, instep, Vec3::Y);
        feet += instep * 0.5;
    }
    add("feet", feet, Vec3::Y);
    let chest = body.posed.frame(Bone::Chest);
    let out = chest.direction(Vec3::Z);
    let h = body.measures.stature;
    let breastbone = body.posed.point(Bone::Chest, Vec3::new(0.0, 0.755 * h, 0.0));
    add("chest", body.field.meet(breastbone + out * 0.3, -out, 0.4).unwrap_or(breastbone), out);
    let pelvis = body.posed.frame(Bone::Pelvis);
    let out = pelvis.direction(Vec3::Z);
    let belly = body.posed.point(Bone::Pelvis, Vec3::new(0.0, 0.55 * h, 0.0));
    add("hips", body.field.meet(belly + out * 0.4, -out, 0.5).unwrap_or(belly), out);
    marks
}
