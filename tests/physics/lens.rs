//! The thin lens: how large a point out of focus is drawn.

use foreshadow::optics::lens::{blur_disc_mm, depth_of_field};
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

/// Diameter on the film in mm of the blur of a bright point, measured in a rendered picture.
fn measured_mm(focal_mm: f64, f_number: f64, focus_m: f64, point_m: f64) -> f64 {
    let wanted_mm = blur_disc_mm(focal_mm, f_number, 1e3 * focus_m, 1e3 * point_m);
    let image_mm = focal_mm * focus_m / (focus_m - 1e-3 * focal_mm);
    let spot_m = wanted_mm * point_m / image_mm;
    // a point: a source a sixteenth as wide as its blur, in a frame one and a half times as wide
    let (patch, frame) = (spot_m / 32.0, 1.5 * spot_m);
    let camera = lens(1e-3 * focal_mm, f_number, focus_m, point_m, frame);
    let front = disc(patch, -Vec3::Z * point_m as f32, Vec3::Z, 1.0);
    let set = stage(vec![], vec![light("patch", front)], camera);
    let size = [64, 64];
    let layers = render(&set, size, 64, 1);
    let mut pinhole = camera;
    pinhole.pupil_radius_m = 0.0;
    let (mut sum, mut square) = (0.0, 0.0);
    for row in 0..size[1] {
        for column in 0..size[0] {
            let level = y(layers.layers[0].pixels[(row * size[0] + column) as usize].as_dvec3());
            let at = on_plane(&pinhole, size, column, row, -point_m as f32);
            sum += level;
            square += level * f64::from(at.truncate().length_squared());
        }
    }
    // ⟨r²⟩ of a uniform disc is R²/2; the patch adds its own, a pixel its square's s²/6
    let pixel = frame / f64::from(size[0]);
    let spread = square / sum - 0.5 * patch * patch - pixel * pixel / 6.0;
    1e3 * 2.0 * (2.0 * spread).sqrt() * camera.image_distance_m() / point_m
}

/// Blur on the film f²/(N(s − f)) · |x − s|/x: three of the check values, worked out apart from
/// this program, and the two of case K04.
#[test]
fn blur_disc_of_a_bright_point() {
    for (focal_mm, f_number, focus_m, point_m, blur_mm) in [
        (85.0, 1.8, 2.0, 4.0, 1.048_013),
        (85.0, 8.0, 2.0, 4.0, 0.235_803),
        (50.0, 2.0, 1.5, 3.0, 0.431_034),
        // K04: a smear of 42.5 and 6.4 mm at 4 m, as the lens draws it on the film
        (85.0, 1.2, 2.5, 4.0, 42.5 * 0.085 * 2.5 / (2.5 - 0.085) / 4.0),
        (85.0, 8.0, 2.5, 4.0, 6.375 * 0.085 * 2.5 / (2.5 - 0.085) / 4.0),
    ] {
        let got = measured_mm(focal_mm, f_number, focus_m, point_m);
        eprintln!("{focal_mm} mm f/{f_number} at {focus_m} m, point at {point_m} m: {got} mm");
        close(got, blur_mm, 0.05);
    }
}

/// Case F01: 85 mm f/1.2 at 12 ft, circle of confusion 0.03 mm: 'about 5 in' of depth, 5.1 by the
/// formula. At its limits the picture's blur is the circle.
#[test]
fn f01_depth_of_field_in_the_picture() {
    let focus_m = 12.0 * 0.3048;
    let depth = depth_of_field(85.0, 1.2, 0.03, 1e3 * focus_m);
    let inches = (depth.far_mm - depth.near_mm) / 25.4;
    assert!((inches - 5.1).abs() < 0.12 * 5.1, "{inches}");
    for limit_mm in [depth.near_mm, depth.far_mm] {
        let got = measured_mm(85.0, 1.2, focus_m, 1e-3 * limit_mm);
        eprintln!("at {limit_mm} mm: {got} mm");
        close(got, 0.03, 0.05);
    }
}
