//! The whole body as one field, and its skin as meshes: trunk and limbs coarse, head, hands and
//! feet fine, each fine region in its own frame so that it looks the same in every pose.
//!
//! ```text
//!      fine head ┌────┐
//!   ─ ─ cut ─ ─ ─│    │─ ─ ─   the same surface on both sides of a cut; the coarse skin runs
//!     coarse   ──┘    └──      on a little below the fine one, sinking inward
//! ```

use glam::{Mat3, Vec3};
use rayon::prelude::*;

use super::cut::keep;
use super::field::{Field, Frame, Shape};
use super::head::{self, Chart};
use super::mesher::{Grid, Shell, graded, mesh};
use super::proportions::Proportions;
use super::skeleton::{Bone, Posed, SIDES, Skeleton};
use super::stance::{Ground, Stance};
use super::{hand, limbs, torso};

/// How far above wrist and ankle hands and feet are cut off.
const CUT_M: f32 = 0.020;
/// How far the coarse skin runs on under the fine one.
const COVERED_M: f32 = 0.012;
/// How far before the cut it starts to sink.
const STARTS_M: f32 = 0.010;
/// Skin this near to a region's own part belongs to the region.
const OWN_M: f32 = 0.005;

/// A posed body, in the sitter's own space.
#[derive(Debug)]
pub struct Body {
    /// Measures.
    pub measures: Proportions,
    /// The head's chart.
    pub chart: Chart,
    /// The skeleton in its pose.
    pub posed: Posed,
    /// Everything.
    pub field: Field,
}

impl Body {
    /// Builds the field.
    pub fn of(measures: Proportions, skeleton: &Skeleton, stance: &Stance, ground: Ground) -> Self {
        let posed = skeleton.posed(stance.root, &stance.angles);
        let chart = Chart::of(&measures);
        let (m, k) = (&measures, skeleton);
        let mut parts = vec![torso::trunk(m, k, &posed)];
        for s in SIDES {
            parts.push(limbs::arm(m, k, &posed, s));
            parts.push(limbs::leg(m, k, &posed, s));
        }
        for s in SIDES {
            parts.push(hand::foot(m, k, &posed, s));
            parts.push(hand::hand(m, k, &posed, s, stance.angles.arms[s].curl));
        }
        let head = Field { parts: vec![head::head(&chart)], rests: Vec::new() };
        parts.extend(head.moved(&posed.head()).parts);
        let field = Field { parts, rests: rests(ground) };
        Self { measures, chart, posed, field }
    }

    /// The frame a fine region is meshed in, and the plane (point, direction into the region)
    /// that bounds it, in that frame. Hands and feet are cut square to forearm and shank.
    fn region(&self, bone: Bone) -> (Frame, Vec3, Vec3) {
        let (frame, above) = match bone {
            Bone::Hand(s) => (self.posed.frame(bone), self.posed.frame(Bone::Forearm(s)).turn),
            Bone::Foot(s) => (self.posed.frame(bone), self.posed.frame(Bone::Shank(s)).turn),
            _ => {
                let (at, into) = (Vec3::new(0.0, -0.116, -0.01), Vec3::new(0.0, 0.94, 0.34));
                return (self.posed.head(), at, into);
            }
        };
        let into = frame.turn.transpose() * (above * Vec3::NEG_Y);
        (frame, into * -CUT_M, into)
    }

    /// The part a fine region shows where other parts may come near; the head needs none.
    fn own_part(&self, bone: Bone) -> Option<Field> {
        let index = match bone {
            Bone::Foot(s) => 5 + 2 * s,
            Bone::Hand(s) => 6 + 2 * s,
            _ => return None,
        };
        Some(Field { parts: vec![self.field.parts[index].clone()], rests: Vec::new() })
    }

    /// The skin: coarse body first, then head, hands, feet.
    pub fn skin(&self) -> Vec<(String, Shell)> {
        let fine: Vec<Bone> = [Bone::Head]
            .into_iter()
            .chain(SIDES.map(Bone::Hand))
            .chain(SIDES.map(Bone::Foot))
            .collect();
        let coarse = || ("skin".to_string(), self.coarse(&fine));
        let detail = || {
            fine.par_iter().map(|&bone| (region_name(bone), self.fine(bone))).collect::<Vec<_>>()
        };
        let (body, mut rest) = rayon::join(coarse, detail);
        rest.insert(0, body);
        rest
    }

    fn fine(&self, bone: Bone) -> Shell {
        let (frame, at, into) = self.region(bone);
        let local = self.field.moved(&frame.inverse());
        let mut shell = mesh(&local, &self.grid(bone));
        let own = self.own_part(bone).map(|part| part.moved(&frame.inverse()));
        shell = keep(&shell, |p| {
            let depth = (p - at).dot(into);
            own.as_ref().map_or(depth, |own| depth.min(OWN_M - own.at(p)))
        });
        for (p, n) in shell.positions.iter_mut().zip(&mut shell.normals) {
            *p = frame.point(*p);
            *n = frame.direction(*n);
        }
        shell
    }

    fn coarse(&self, fine: &[Bone]) -> Shell {
        let (min, max) = self.extent();
        let mut shell = mesh(&self.field, &self.coarse_grid(min, max));
        for &bone in fine {
            let (frame, at, into) = self.region(bone);
            let inward = frame.inverse();
            let depth = |p: Vec3| (inward.point(p) - at).dot(into);
            let own = self.own_part(bone);
            shell = keep(&shell, |p| {
                let short = COVERED_M - depth(p);
                match &own {
                    Some(own) if short <= 0.0 => short.max(own.at(p) - OWN_M),
                    _ => short,
                }
            });
            for (p, n) in shell.positions.iter_mut().zip(&shell.normals) {
                let t = if own.as_ref().is_some_and(|own| own.at(*p) > OWN_M) {
                    0.0
                } else {
                    ((depth(*p) + STARTS_M) / (0.8 * STARTS_M)).clamp(0.0, 1.0)
                };
                *p -= *n * (0.0003 * t);
            }
        }
        shell
    }

    /// Closer lines about the neck, where the coarse skin meets the fine head.
    fn coarse_grid(&self, min: Vec3, max: Vec3) -> Grid {
        const WIDE: f32 = 0.0095;
        let neck = self.posed.frame(Bone::Neck).shift;
        let axis = |a: usize, below: f32, above: f32| {
            graded(&[
                (min[a], WIDE),
                (neck[a] - below - 0.06, WIDE),
                (neck[a] - below, 0.0055),
                (neck[a] + above, 0.0055),
                (neck[a] + above + 0.06, WIDE),
                (max[a], WIDE),
            ])
        };
        Grid { lines: [axis(0, 0.08, 0.08), axis(1, 0.03, 0.06), axis(2, 0.04, 0.10)] }
    }

    /// A box around everything, with room for the grid.
    pub fn extent(&self) -> (Vec3, Vec3) {
        let mut min = Vec3::splat(f32::MAX);
        let mut max = Vec3::splat(f32::MIN);
        let mut add = |p: Vec3, r: f32| {
            min = min.min(p - Vec3::splat(r));
            max = max.max(p + Vec3::splat(r));
        };
        add(self.posed.head().point(Vec3::new(0.0, 0.04, 0.0)), 0.16);
        for (bone, r) in [(Bone::Pelvis, 0.26), (Bone::Spine, 0.24), (Bone::Chest, 0.24)] {
            add(self.posed.frame(bone).shift, r);
        }
        for s in SIDES {
            for (bone, r) in [
                (Bone::UpperArm(s), 0.12),
                (Bone::Forearm(s), 0.09),
                (Bone::Hand(s), 0.23),
                (Bone::Thigh(s), 0.16),
                (Bone::Shank(s), 0.12),
                (Bone::Foot(s), 0.28),
            ] {
                add(self.posed.frame(bone).shift, r);
            }
        }
        min.y = min.y.max(-0.02);
        (min, max)
    }

    fn grid(&self, bone: Bone) -> Grid {
        match bone {
            Bone::Head => Grid {
                lines: [
                    graded(&[
                        (-0.108, 0.003),
                        (-0.092, 0.0016),
                        (-0.068, 0.0016),
                        (-0.050, 0.0014),
                        (-0.046, 0.0010),
                        (-0.016, 0.0010),
                        (-0.010, 0.0012),
                        (0.010, 0.0012),
                        (0.016, 0.0010),
                        (0.046, 0.0010),
                        (0.050, 0.0014),
                        (0.068, 0.0016),
                        (0.092, 0.0016),
                        (0.108, 0.003),
                    ]),
                    graded(&[
                        (-0.160, 0.006),
                        (-0.105, 0.0032),
                        (-0.075, 0.0018),
                        (-0.062, 0.0012),
                        (-0.056, 0.0009),
                        (-0.043, 0.0009),
                        (-0.036, 0.0012),
                        (-0.010, 0.0012),
                        (0.004, 0.0010),
                        (0.030, 0.0010),
                        (0.044, 0.0013),
                        (0.060, 0.0030),
                        (0.092, 0.0030),
                        (0.108, 0.0045),
                        (0.150, 0.0045),
                    ]),
                    graded(&[
                        (-0.135, 0.0048),
                        (-0.045, 0.0040),
                        (-0.030, 0.0017),
                        (0.008, 0.0017),
                        (0.020, 0.0026),
                        (0.050, 0.0022),
                        (0.062, 0.0013),
                        (0.130, 0.0013),
                    ]),
                ],
            },
            Bone::Hand(_) => {
                Grid::even(Vec3::new(-0.11, -0.225, -0.09), Vec3::new(0.11, 0.03, 0.10), 0.0029)
            }
            _ => Grid::even(Vec3::new(-0.10, -0.11, -0.12), Vec3::new(0.10, 0.03, 0.25), 0.0045),
        }
    }
}

fn region_name(bone: Bone) -> String {
    match bone {
        Bone::Head => "head".into(),
        Bone::Hand(0) => "left hand".into(),
        Bone::Hand(_) => "right hand".into(),
        Bone::Foot(0) => "left foot".into(),
        _ => "right foot".into(),
    }
}

/// The solids that flatten what rests on them.
fn rests(ground: Ground) -> Vec<(Shape, f32)> {
    // Thick slabs with the top at `top`.
    let slab = |top: f32, middle_z: f32, half: Vec3| Shape::Slab {
        centre: Vec3::new(0.0, top - half.y, middle_z),
        axes: Mat3::IDENTITY,
        half,
        round: 0.004,
    };
    let floor = (slab(0.0, 0.0, Vec3::new(4.0, 0.5, 4.0)), 0.004);
    match ground {
        Ground::Floor => vec![floor],
        Ground::Seat { top, front, half_width, depth } => {
            let half = Vec3::new(half_width, 0.5 * top, 0.5 * depth);
            vec![floor, (slab(top, front - 0.5 * depth, half), 0.006)]
        }
    }
}
