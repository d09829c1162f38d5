//! A length gathered on its bar: deep folds whose plan is a chain of loops.
//!
//! The plan curve is that of a compressed strip, whose direction swings as θ = θ₀·sin(2πs/λ)
//! (the first term of Euler's elastica). Above θ₀ = 90° the folds overhang like the letter omega.
//!
//! ```text
//!   seen from above     ╭╮  ╭╮  ╭╮
//!                      ─╯╰──╯╰──╯╰─
//! ```

use glam::{Vec2, Vec3};

use super::crumple::Crumple;
use super::noise::{Rng, smoothstep};
use super::sheet::{Sheet, points_over};
use super::{Frame, lie, spacing_m};
use crate::plan::Cloth;

/// The hanging cloth in world metres: `width` gathered on a bar at `top`, hanging down `drop`.
pub fn sheet(cloth: &Cloth, frame: &Frame, width: f32, top: f32, drop: f32) -> Sheet {
    let mut rng = Rng::new(cloth.seed, 0xD2A);
    let folds = cloth.folds as f32;
    // swing of the plan curve; a flat cloth at 0, well past omega at 1
    let swing = 1.95 * folds.sqrt();
    let pitch = 0.34;
    let (wander, depth, lean) = (rng.noise(), rng.noise(), rng.noise());
    let fullness = 1.0 / mean_cosine(swing).max(0.3);
    let cloth_width = width * fullness;
    let crumple = Crumple::new(Vec2::new(cloth_width, drop), cloth.creases as f32, cloth.seed);
    let spacing = spacing_m(cloth_width * drop);
    let (columns, rows) = (points_over(cloth_width, spacing), points_over(drop, spacing));
    let step = cloth_width / (columns - 1) as f32;
    let plan: Vec<Vec<Vec2>> = (0..rows)
        .map(|row| {
            let s = drop * row as f32 / (rows - 1) as f32;
            let opening = 1.0 - 0.18 * smoothstep(0.0, 0.5 * drop, s);
            let mut at = Vec2::ZERO;
            let mut points = vec![at];
            for column in 1..columns {
                let u = (column as f32 - 0.5) * step;
                let phase = u / pitch + 0.55 * wander.at(u / 0.5, s / 3.6);
                let local = swing * opening * (1.0 + 0.3 * depth.at(u / 0.45, s / 3.0)).min(1.15);
                let theta = local * (std::f32::consts::TAU * phase).sin()
                    + folds * 0.25 * lean.at(u / 0.6, s / 2.6);
                at += step * Vec2::from_angle(theta);
                points.push(at);
            }
            let middle = 0.5 * (points[0] + at);
            // the bar holds the gathered width; below, it hangs as it will
            let squeeze = width / at.x.abs().max(0.1);
            let squeeze = 1.0 + (squeeze - 1.0) * (1.0 - 0.35 * smoothstep(0.0, drop, s));
            points.iter().map(|p| (p - middle) * Vec2::new(squeeze, 1.0)).collect()
        })
        .collect();
    let smooth = Sheet::from_fn(columns, rows, |column, row| {
        let s = drop * row as f32 / (rows - 1) as f32;
        let p = plan[row][column];
        frame.origin + frame.right * p.x + frame.front * p.y + Vec3::Y * (top - s)
    });
    let normals = smooth.normals();
    Sheet::from_fn(columns, rows, |column, row| {
        let i = row * columns + column;
        let p = Vec2::new(
            column as f32 * step - 0.5 * cloth_width,
            drop * (row as f32 / (rows - 1) as f32 - 0.5),
        );
        lie(smooth.points[i] + normals[i] * crumple.height(p))
    })
}

/// ⟨cos(a·sin φ)⟩ over a period: how much of its length a swinging curve covers (Bessel's J₀(a)).
fn mean_cosine(a: f32) -> f32 {
    (0..64).map(|i| (a * (i as f32 / 64.0 * std::f32::consts::TAU).sin()).cos()).sum::<f32>() / 64.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn covered_share_is_bessels_j0() {
        // Abramowitz & Stegun 9.1, table: J0(1) = 0.7651977, J0(2) = 0.2238908
        assert!((mean_cosine(1.0) - 0.765_197_7).abs() < 1e-5);
        assert!((mean_cosine(2.0) - 0.223_890_8).abs() < 1e-5);
    }
}
