//! Cloth laid on the floor: most of it touches, creases and a few low wrinkles stand up.

use glam::{Vec2, Vec3};

use super::crumple::Crumple;
use super::noise::Rng;
use super::sheet::{Sheet, points_over};
use super::{Frame, lie, spacing_m};
use crate::plan::Cloth;

/// The lying cloth in world metres; `width` along the frame's right, `depth` toward its front.
pub fn sheet(cloth: &Cloth, frame: &Frame, width: f32, depth: f32) -> Sheet {
    let mut rng = Rng::new(cloth.seed, 0xF100);
    let (long, short) = (rng.noise(), rng.noise());
    let crumple = Crumple::new(Vec2::new(width, depth), cloth.creases as f32, cloth.seed);
    let folds = cloth.folds as f32;
    let turn = Vec2::from_angle(rng.between(0.0, std::f32::consts::PI));
    let spacing = spacing_m(width * depth);
    let (columns, rows) = (points_over(width, spacing), points_over(depth, spacing));
    Sheet::from_fn(columns, rows, |column, row| {
        let p = Vec2::new(
            width * (column as f32 / (columns - 1) as f32 - 0.5),
            depth * (row as f32 / (rows - 1) as f32 - 0.5),
        );
        // wrinkles pushed up where the cloth was not pulled straight: long one way, rare
        let q = turn.rotate(p);
        let wrinkle = 0.022 * (long.at(q.x / 0.9, q.y / 0.22) - 0.35).max(0.0)
            + 0.010 * (short.at(q.x / 0.5, q.y / 0.13) - 0.3).max(0.0);
        let height = 0.6 * crumple.height(p) + folds * wrinkle - 0.001 * cloth.creases as f32;
        lie(frame.origin + frame.right * p.x + frame.front * p.y + Vec3::Y * height)
    })
}
