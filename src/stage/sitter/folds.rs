//! Relief of worn cloth: what hangs falls in long folds of uneven width, what is pulled draws
//! slanting lines, and what is bent or stacked breaks across the limb.
//!
//! In: a body, which piece, a point. Out: how far the cloth stands out there, in metres. The
//! amounts are chosen by eye, no source.

use glam::Vec3;

use super::body::Body;
use super::noise::{ease, rough, value};
use super::skeleton::{Bone, SIDES, sign};
use crate::plan::GarmentCut;

/// What a layer is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Piece {
    /// Over trunk and arms.
    Top(GarmentCut),
    /// Two legs.
    Trousers,
}

/// A point seen from a limb's bone.
struct OnBone {
    /// Share of the bone, 0 to 1.
    t: f32,
    /// Distance from its line.
    off: f32,
    /// The bone's length.
    long: f32,
    /// The point in the bone's own axes, from its joint.
    own: Vec3,
}

impl OnBone {
    fn of(body: &Body, from: Bone, to: Bone, p: Vec3) -> Self {
        let frame = body.posed.frame(from);
        let ab = body.posed.frame(to).shift - frame.shift;
        let t = (p - frame.shift).dot(ab) / ab.length_squared();
        let off = (p - frame.shift - ab * t.clamp(0.0, 1.2)).length();
        Self { t, off, long: ab.length(), own: frame.turn.transpose() * (p - frame.shift) }
    }

    /// Soft folds that run along the limb, a few around it.
    fn along(&self, shift: f32) -> f32 {
        let ring = Vec3::new(self.own.x, 0.0, self.own.z).normalize_or(Vec3::Z);
        value(Vec3::new(1.7 * ring.x + shift, self.own.y / 0.17, 1.7 * ring.z))
    }

    /// Breaks across the limb that slant and run into each other, `pitch` metres apart.
    fn across(&self, pitch: f32, shift: f32) -> f32 {
        let around = self.own.x.atan2(self.own.z);
        let wander = 0.8 * (around + shift).sin() + 1.4 * value(self.own / 0.06);
        let ridge = (std::f32::consts::TAU * self.own.y / pitch + wander).sin();
        (0.3 + 0.7 * ridge.abs()) * ridge * (0.45 + 0.55 * value(self.own / 0.045 + Vec3::ONE))
    }
}

/// How far the cloth stands out at `p`.
pub fn folds(body: &Body, piece: Piece, p: Vec3) -> f32 {
    let small = 0.0004 * rough(p / 0.016);
    small
        + match piece {
            Piece::Trousers => legs(body, p),
            Piece::Top(cut) => {
                let (sleeve, bare) = sleeves(body, cut, p);
                bare * trunk(body, cut, p) + sleeve
            }
        }
}

/// Sleeves, and how much of the point is not on one.
fn sleeves(body: &Body, cut: GarmentCut, p: Vec3) -> (f32, f32) {
    if cut == GarmentCut::BareShoulders {
        return (0.0, 1.0);
    }
    let (mut depth, mut bare) = (0.0, 1.0f32);
    for s in SIDES {
        let upper = OnBone::of(body, Bone::UpperArm(s), Bone::Forearm(s), p);
        let fore = OnBone::of(body, Bone::Forearm(s), Bone::Hand(s), p);
        let elbow = 1.0 - 0.35 * ease(0.10, 0.34, (upper.t - 1.0).abs() * upper.long);
        for (at, last) in [(upper, false), (fore, true)] {
            let here = ease(0.15, 0.08, at.off)
                * ease(0.02, 0.40, at.t + if last { 1.0 } else { 0.0 })
                * ease(1.30, 1.0, at.t);
            if here <= 0.0 {
                continue;
            }
            bare = bare.min(1.0 - here);
            let breaks = if cut == GarmentCut::Robe { 0.10 + 0.75 * elbow * elbow } else { 0.2 };
            depth += here
                * (0.0045 * at.along(3.0 * s as f32)
                    + 0.0034 * breaks * at.across(0.075, s as f32));
        }
    }
    (depth, bare)
}

fn trunk(body: &Body, cut: GarmentCut, p: Vec3) -> f32 {
    let q = p - body.posed.frame(Bone::Pelvis).shift;
    // Long folds at uneven angles, of uneven depth, that deepen and merge downward.
    let fall = ease(0.30, -0.40, q.y);
    let angle = q.x.atan2(q.z);
    let ring = Vec3::new(angle.sin(), 0.0, angle.cos());
    let warp = 0.34 * value(ring * 1.9 + Vec3::Y * (q.y * 0.9))
        + 0.12 * value(ring * 4.3 + Vec3::Y * (q.y * 2.2));
    let ridge = |n: f32, phase: f32| {
        let around = angle + warp;
        let s =
            (around * n + phase + 0.5 * value(ring * 2.3 + Vec3::Y * (q.y * 1.6 + phase))).sin();
        let strong = 0.62 + 0.5 * value(ring * 2.7 + Vec3::Y * (q.y * 0.8 + 7.0 * phase));
        // Full rolls between narrow valleys.
        strong * (0.85 - (0.5 - 0.5 * s).powf(1.9) * 1.5)
    };
    let loose = if cut == GarmentCut::Tunic { 0.55 } else { 1.0 };
    let long_folds = loose * fall * (0.0125 * ridge(8.0, 0.4) + 0.0050 * ridge(15.0, 2.1));
    // Drag lines: slanting from the shoulders, steep, long.
    let slant = Vec3::new(q.x + 0.34 * q.x.signum() * q.y.max(0.0), 0.15 * q.y, q.z);
    let crest = |v: f32| (1.0 - v.abs()).powi(3) - 0.3;
    let drag = 0.0030 * (0.6 - value(slant / 0.075).powi(2) * 2.4)
        + 0.0034 * crest(value(slant / 0.11 + Vec3::splat(5.0)))
        + 0.0012 * rough(slant / 0.028);
    long_folds + drag * ease(-0.5, 0.15, q.y) * ease(0.50, 0.36, q.y) * (1.0 - 0.4 * fall)
}

/// Trousers: smooth over seat and thigh, drawn to the crotch, broken behind the knee and stacked
/// over the foot.
fn legs(body: &Body, p: Vec3) -> f32 {
    let mut depth = 0.0;
    let near = SIDES.map(|s| {
        let thigh = OnBone::of(body, Bone::Thigh(s), Bone::Shank(s), p);
        let shank = OnBone::of(body, Bone::Shank(s), Bone::Foot(s), p);
        (thigh, shank)
    });
    let off = |i: usize| near[i].0.off.min(near[i].1.off);
    let left = ease(0.03, -0.03, off(0) - off(1));
    for s in SIDES {
        let share = if s == 0 { left } else { 1.0 - left };
        let (thigh, shank) = &near[s];
        let lower = ease(-0.06, 0.10, shank.t);
        let bent = 1.0
            - body
                .posed
                .frame(Bone::Thigh(s))
                .turn
                .y_axis
                .dot(body.posed.frame(Bone::Shank(s)).turn.y_axis);
        let crotch = ease(0.45, 0.05, thigh.t)
            * ease(0.02, -0.06, sign(s) * thigh.own.x)
            * ease(-0.06, 0.04, thigh.t);
        let slant = Vec3::new(thigh.own.x, thigh.own.y + 1.1 * sign(s) * thigh.own.x, thigh.own.z);
        let upper = 0.0040 * thigh.along(2.0 + s as f32) + 0.0035 * crotch * value(slant / 0.035);
        let knee = ease(0.30, 0.02, shank.t.abs() + 0.4 * (shank.own.z / 0.06).max(0.0));
        let stack = ease(0.55, 0.92, shank.t);
        let below = 0.0048 * shank.along(5.0 + s as f32)
            + 0.0050 * stack * shank.across(0.062, 2.0 * s as f32);
        let breaks = 0.0045 * knee * (0.25 + bent.min(1.0)) * shank.across(0.045, s as f32);
        depth += share * (upper * (1.0 - lower) + below * lower + breaks);
    }
    depth
}
