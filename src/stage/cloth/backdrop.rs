//! Cloth hung from a bar, straight to a hem above the floor or sweeping out onto it.
//!
//! ```text
//!   bar ●───            s = 0
//!       │ ◄ folds run down, small near the clips, wide and merged below
//!       │
//!       ╰╮   radius
//!   ─────╰────────      sweep on the floor
//! ```

use glam::{Vec2, Vec3};

use super::crumple::Crumple;
use super::noise::{Noise, Rng, smoothstep};
use super::sheet::{Sheet, points_over};
use super::{Frame, lie, spacing_m};
use crate::plan::Cloth;

/// The hem hangs this far above the floor, metres.
const HEM_M: f32 = 0.008;
/// Largest radius of the turn from wall to floor, metres.
const TURN_M: f32 = 0.38;
/// Pitch of the clips on the bar, metres (common practice, no source).
const CLIPS_M: f32 = 0.55;

/// The path of the cloth in section: how far forward and how high after `s` metres from the bar.
#[derive(Debug, Clone, Copy)]
struct Path {
    straight: f32,
    radius: f32,
    run: f32,
}

impl Path {
    fn new(top: f32, sweep: f32) -> Self {
        if sweep <= 0.0 {
            return Self { straight: top - HEM_M, radius: 0.0, run: 0.0 };
        }
        let radius = TURN_M.min(0.6 * sweep).min(0.5 * top);
        Self { straight: top - radius, radius, run: sweep - radius }
    }

    fn turn_length(&self) -> f32 {
        self.radius * std::f32::consts::FRAC_PI_2
    }

    fn length(&self) -> f32 {
        self.straight + self.turn_length() + self.run
    }

    /// Forward and below the bar, and the normal (forward, up).
    fn at(&self, s: f32) -> (Vec2, Vec2) {
        if s <= self.straight {
            return (Vec2::new(0.0, -s), Vec2::X);
        }
        let t = s - self.straight;
        if t < self.turn_length() {
            let (sin, cos) = (t / self.radius).sin_cos();
            let at = Vec2::new(self.radius * (1.0 - cos), -self.straight - self.radius * sin);
            return (at, Vec2::new(cos, sin));
        }
        let forward = self.radius + t - self.turn_length();
        (Vec2::new(forward, -self.straight - self.radius), Vec2::Y)
    }
}

/// Folds that a hung width falls into.
#[derive(Debug, Clone)]
struct Hanging {
    noises: [Noise; 5],
    clips: Vec<f32>,
    strength: f32,
}

impl Hanging {
    fn new(width: f32, strength: f32, rng: &mut Rng) -> Self {
        let count = (width / CLIPS_M).round().max(1.0) as usize;
        let clips = (0..=count)
            .map(|i| {
                let jitter = if i == 0 || i == count { 0.0 } else { rng.between(-0.15, 0.15) };
                width * ((i as f32 + jitter) / count as f32 - 0.5)
            })
            .collect();
        Self { noises: std::array::from_fn(|_| rng.noise()), clips, strength }
    }

    /// Height out of the plane at `u` across and `s` down, metres.
    fn height(&self, u: f32, s: f32) -> f32 {
        if self.strength == 0.0 {
            return 0.0;
        }
        let across = u + 0.05 * self.noises[0].at(u / 0.8, s / 1.6);
        let fold = |noise: &Noise, pitch: f32, run: f32| noise.at(across / pitch, s / run);
        let narrow = 0.014 * fold(&self.noises[1], 0.13, 1.1) * (-s / 0.9).exp();
        let middle = 0.034
            * fold(&self.noises[2], 0.27, 2.4)
            * smoothstep(0.0, 0.7, s)
            * (1.0 - 0.5 * smoothstep(1.0, 2.6, s));
        let wide = 0.085 * fold(&self.noises[3], 0.55, 4.5) * smoothstep(0.1, 2.2, s);
        self.strength * (narrow + middle + wide + self.drag(u, s))
    }

    /// Folds that fan out below the clips.
    fn drag(&self, u: f32, s: f32) -> f32 {
        self.clips
            .iter()
            .map(|clip| {
                let d = Vec2::new(u - clip, s + 0.01);
                let r = d.length();
                let angle = d.x.atan2(d.y);
                let spoke = self.noises[4].at(angle * 3.2 + clip * 17.0, clip * 5.0 + 0.5);
                0.016 * spoke * (r / 0.08).min(1.0) * (-r / 0.35).exp()
            })
            .sum()
    }

    /// How far the cloth sags below the bar between clips, metres.
    fn sag(&self, u: f32, s: f32) -> f32 {
        let next = self.clips.partition_point(|c| *c < u).clamp(1, self.clips.len() - 1);
        let (left, right) = (self.clips[next - 1], self.clips[next]);
        let t = ((u - left) / (right - left)).clamp(0.0, 1.0);
        self.strength * 0.03 * 4.0 * t * (1.0 - t) * (-s / 0.3).exp()
    }
}

/// The hung cloth in world metres.
pub fn sheet(cloth: &Cloth, frame: &Frame, width: f32, top: f32, sweep: f32) -> Sheet {
    let path = Path::new(top, sweep);
    let length = path.length();
    let mut rng = Rng::new(cloth.seed, 0xBAC);
    let hanging = Hanging::new(width, cloth.folds as f32, &mut rng);
    let crumple = Crumple::new(Vec2::new(width, length), cloth.creases as f32, cloth.seed);
    let spacing = spacing_m(width * length);
    let (columns, rows) = (points_over(width, spacing), points_over(length, spacing));
    // hanging folds die where the cloth is carried by the floor
    let carried = path.straight + 0.6 * path.turn_length();
    Sheet::from_fn(columns, rows, |column, row| {
        let u = width * (column as f32 / (columns - 1) as f32 - 0.5);
        let s = length * row as f32 / (rows - 1) as f32;
        let (at, normal) = path.at(s);
        let hung =
            if sweep > 0.0 { 1.0 - smoothstep(carried - 0.5, carried + 0.3, s) } else { 1.0 };
        let height = hung * hanging.height(u, s) + crumple.height(Vec2::new(u, s - 0.5 * length));
        let forward = at.x + normal.x * height;
        let up = top + at.y + normal.y * height - hung * hanging.sag(u, s);
        let world = frame.origin + frame.right * u + frame.front * forward + Vec3::Y * up;
        if sweep > 0.0 { lie(world) } else { world }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_path_is_continuous_and_ends_where_the_sweep_ends() {
        let path = Path::new(2.8, 1.5);
        let (end, normal) = path.at(path.length());
        assert!((end - Vec2::new(1.5, -2.8)).length() < 1e-5);
        assert_eq!(normal, Vec2::Y);
        for s in [path.straight, path.straight + path.turn_length()] {
            let (a, b) = (path.at(s - 1e-4).0, path.at(s + 1e-4).0);
            assert!((a.distance(b) - 2e-4).abs() < 1e-5);
        }
    }
}
