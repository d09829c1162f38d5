//! Creases that a cloth keeps from having been folded and crushed.
//!
//! A cloth in a bag is folded over and over, and each fold goes through every layer. Seen on the
//! cloth laid out again, a fold is a straight line that kinks where it meets an earlier one and
//! changes there from ridge to valley. So the pattern is made the way it is made in a bag: a point
//! is reflected about each fold's line that it lies beyond, and every later fold is measured in
//! the folded packet.
//!
//! ```text
//!        on the cloth               a crease in section
//!      ────\  ridge                       /\      slope at the line: `slope`
//!           \__________                __/  \__   falls off over `reach`
//!           /  valley
//!      ____/
//! ```

use glam::Vec2;

use super::noise::{Noise, Rng, smoothstep};

/// Radius to which a crease line of linen opens again, metres (assumption: a few times its thickness).
const CREST_M: f32 = 0.004;

/// Length over which a ridge gives way to a valley at an earlier fold, in reaches (assumption).
const DYING: f32 = 0.6;
/// The most folds of a packet.
const MOST_FOLDS: usize = 24;

/// One fold through the packet.
#[derive(Debug, Clone)]
struct Fold {
    across: Vec2,
    offset: f32,
    slope: f32,
    reach: f32,
    strength: Noise,
    patch: f32,
    cover: f32,
}

/// A sequence of folds made one after another.
#[derive(Debug, Clone)]
struct Packet {
    folds: Vec<Fold>,
}

impl Packet {
    /// Height in metres above the flat cloth at `p`.
    fn height(&self, p: Vec2) -> f32 {
        let mut q = p;
        let mut height = 0.0;
        // distances to the lines of the folds made so far
        let mut beyond = [0.0f32; MOST_FOLDS];
        for (made, fold) in self.folds.iter().enumerate() {
            let d = q.dot(fold.across) - fold.offset;
            beyond[made] = d;
            if d > 0.0 {
                q -= 2.0 * d * fold.across;
            }
            if d.abs() > 7.0 * fold.reach {
                continue;
            }
            // a ridge that comes to an earlier fold dies there and goes on as a valley
            let flip = (DYING * fold.reach).powi(2);
            let side: f32 = beyond[..made].iter().map(|d| -d / (d * d + flip).sqrt()).product();
            let strength = fold.strength.at(p.x / fold.patch, p.y / fold.patch);
            let kept = smoothstep(-fold.cover - 0.2, 0.8 - fold.cover, strength);
            let away = (d * d + CREST_M * CREST_M).sqrt() - CREST_M;
            height += side * kept * fold.slope * fold.reach * (-away / fold.reach).exp();
        }
        height
    }
}

/// All creases of a cloth.
#[derive(Debug, Clone)]
pub struct Crumple {
    packets: Vec<Packet>,
    billow: [Noise; 2],
    warp: [Noise; 2],
    strength: f32,
}

impl Crumple {
    /// The creases of a cloth of `size` metres (points run from −size/2 to size/2), at `creases` 0 to 1.
    pub fn new(size: Vec2, creases: f32, seed: u64) -> Self {
        let mut rng = Rng::new(seed, 0xC2EA5E);
        let mut packets = vec![pressed(size, &mut rng)];
        // few large facets, their breaks, and the fine crinkle between
        packets.push(crushed(size, 9, 0.24, 0.20, &mut rng));
        packets.push(crushed(size, 12, 0.10, 0.24, &mut rng));
        packets.push(crushed(size, 14, 0.045, 0.26, &mut rng));
        packets.push(crushed(size, 16, 0.025, 0.24, &mut rng));
        Self {
            packets,
            billow: [rng.noise(), rng.noise()],
            warp: [rng.noise(), rng.noise()],
            strength: creases,
        }
    }

    /// Height in metres above the flat cloth at `p`; exactly 0 where there are no creases.
    pub fn height(&self, p: Vec2) -> f32 {
        if self.strength == 0.0 {
            return 0.0;
        }
        // lines in real cloth wander a little with its weave
        let wander = Vec2::new(
            self.warp[0].at(p.x / 0.35, p.y / 0.35),
            self.warp[1].at(p.x / 0.35, p.y / 0.35),
        ) * 0.012;
        let q = p + wander;
        let lines: f32 = self.packets.iter().map(|packet| packet.height(q)).sum();
        // what the creases force on the cloth between them
        let billow = 0.006 * self.billow[0].at(p.x / 0.45, p.y / 0.45)
            + 0.0025 * self.billow[1].at(p.x / 0.17, p.y / 0.17);
        self.strength * (lines + billow)
    }
}

/// Folded square in halves to be put away: straight lines along and across.
fn pressed(size: Vec2, rng: &mut Rng) -> Packet {
    let mut folds = Vec::new();
    for (axis, length) in [(Vec2::X, size.x), (Vec2::Y, size.y)] {
        let mut extent = length;
        let mut middle = 0.0;
        // packets end at about a forearm's length
        while extent > 0.55 {
            let offset = middle + rng.between(-0.02, 0.02) * extent;
            folds.push(Fold {
                across: axis,
                offset,
                slope: rng.between(0.13, 0.20),
                reach: rng.between(0.04, 0.07),
                strength: rng.noise(),
                patch: 0.6,
                cover: 0.5,
            });
            // what lies beyond is folded back onto −extent/2..offset
            middle = offset - 0.25 * extent;
            extent *= 0.5;
        }
    }
    Packet { folds }
}

/// Crushed: folds in every direction, through an ever smaller packet.
fn crushed(size: Vec2, count: usize, reach: f32, slope: f32, rng: &mut Rng) -> Packet {
    let mut folds: Vec<Fold> = Vec::new();
    // the points that stand for the packet's outline, folded along
    let mut outline: Vec<Vec2> = (0..64)
        .map(|_| Vec2::new(rng.between(-0.5, 0.5) * size.x, rng.between(-0.5, 0.5) * size.y))
        .collect();
    for _ in 0..count {
        let across = Vec2::from_angle(rng.between(0.0, std::f32::consts::TAU));
        let spans = outline.iter().map(|q| q.dot(across));
        let low = spans.clone().fold(f32::MAX, f32::min);
        let high = spans.fold(f32::MIN, f32::max);
        let offset = low + (high - low) * rng.between(0.35, 0.75);
        let size = rng.between(0.5, 1.4);
        let hard = rng.unit();
        folds.push(Fold {
            across,
            offset,
            // few folds are pressed hard, most only touched
            slope: slope * (0.35 + 1.2 * hard * hard) * if rng.unit() < 0.5 { -1.0 } else { 1.0 },
            reach: reach * size,
            strength: rng.noise(),
            patch: rng.between(0.25, 0.7),
            cover: rng.between(-0.1, 0.3),
        });
        for q in &mut outline {
            let d = q.dot(across) - offset;
            if d > 0.0 {
                *q -= 2.0 * d * across;
            }
        }
    }
    Packet { folds }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_creases_is_exactly_flat() {
        let crumple = Crumple::new(Vec2::new(3.0, 3.0), 0.0, 5);
        for i in 0..100 {
            assert_eq!(crumple.height(Vec2::new(i as f32 * 0.03 - 1.5, 0.01 * i as f32)), 0.0);
        }
    }

    #[test]
    fn a_fold_keeps_its_slope_beside_the_line_and_kinks_at_an_earlier_one() {
        let fold = |across: Vec2, slope: f32| Fold {
            across,
            offset: 0.0,
            slope,
            reach: 0.05,
            strength: Rng::new(0, 0).noise(),
            patch: 1e9,
            // far below any noise: kept in full everywhere
            cover: 2.0,
        };
        // first fold leaves no crease; the second then runs at 45° and mirrors at x = 0
        let packet = Packet { folds: vec![fold(Vec2::X, 0.0), fold(Vec2::ONE.normalize(), 0.2)] };
        let (on_left, on_right) = (Vec2::new(-0.4, 0.4), Vec2::new(0.4, 0.4));
        assert!(packet.height(on_left) > 0.009, "a ridge before the fold");
        assert!(packet.height(on_right) < -0.009, "a valley beyond it");
        assert!(packet.height(Vec2::ZERO).abs() < 1e-6, "level where they meet");
        assert!(packet.height(Vec2::new(0.4, -0.4)).abs() < 1e-4, "nothing straight on");
        let along = Vec2::ONE.normalize();
        let (a, b) = (on_left + along * 0.010, on_left + along * 0.012);
        let slope = (packet.height(a) - packet.height(b)) / 0.002;
        // 0.2·exp(−11 mm / 50 mm) = 0.16, less the rounding of the crest
        assert!((slope - 0.16).abs() < 0.02, "{slope}");
    }
}
