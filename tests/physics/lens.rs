//! The thin lens: how large a point out of focus is drawn.

use foreshadow::stage::Camera;
use glam::Vec3;

use crate::set::{close, disc, light, on_plane, render, stage, y};

/// A lens at the origin that looks to −z, its frame `width_m` across at distance `at_m`.
pub fn lens(focal_m: f64, f_number: f64, focus_m: f64, at_m: f64, width_m: f64) -> Camera {
    let v = focal_m * focus_m / (focus_m - focal_m);
    let side = width_m * v / at_m;
    Camera {
        position: Vec3::ZERO,
        right: Vec3::X,
        up: Vec3::Y,
        forward: -Vec3::Z,
        sensor_m: [side, side],
        focal_m,
        pupil_radius_m: 0.5 * focal_m / f_number,
        focus_m,
    }
}

/// Blur on the film f²/(N(s − f)) · |x − s|/x: 85 mm f/1.8 focused at 2 m, point at 4 m:
/// 1.048013 mm.
#[test]
fn blur_disc_of_a_bright_point() {
    let (focal, focus, far) = (0.085, 2.0, 4.0);
    let camera = lens(focal, 1.8, focus, far, 0.08);
    let patch = 0.004;
    let front = disc(patch, -Vec3::Z * far as f32, Vec3::Z, 1.0);
    let set = stage(vec![], vec![light("patch", front)], camera);
    let size = [64, 64];
    let layers = render(&set, size, 64, 1);
    let mut pinhole = camera;
    pinhole.pupil_radius_m = 0.0;
    let (mut sum, mut square) = (0.0, 0.0);
    for row in 0..size[1] {
        for column in 0..size[0] {
            let level = y(layers.layers[0].pixels[(row * size[0] + column) as usize].as_dvec3());
            let at = on_plane(&pinhole, size, column, row, -far as f32);
            sum += level;
            square += level * f64::from(at.truncate().length_squared());
        }
    }
    // ⟨r²⟩ of a uniform disc is R²/2; the patch adds its own, a pixel its square's s²/6
    let pixel = 0.08 / f64::from(size[0]);
    let spread = square / sum - 0.5 * patch * patch - pixel * pixel / 6.0;
    let at_point = 2.0 * (2.0 * spread).sqrt();
    let on_film = at_point * camera.image_distance_m() / far;
    eprintln!("blur disc {} mm", on_film * 1e3);
    close(on_film * 1e3, 1.048_013, 0.02);
}
