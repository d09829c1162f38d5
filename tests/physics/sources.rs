//! Sources near and far: what a flat receptor gets from discs, rectangles, tubes and points.
//! Configuration factors C give E = π·L·C (Howell, 'A Catalog of Radiation Heat Transfer
//! Configuration Factors'); a Lambertian front of area A and axial intensity I has L = I/A.

use foreshadow::optics::beam::Beam;
use foreshadow::stage::{Light, Source, SourceShape, Stage};
use foreshadow::trace::Receptor;
use glam::Vec3;

use crate::set::{
    camera, close, disc, isotropic, light, read, source, stage, steady, stops, within, y,
};

const PI: f64 = std::f64::consts::PI;

fn lit(lights: Vec<Light>) -> Stage {
    stage(vec![], lights, camera(Vec3::new(0.0, 1.0, 3.0), Vec3::Y, 30.0))
}

/// Straight light on a flat receptor, known to a tenth of a per cent.
fn direct(source: Source, at: Vec3, axis: Vec3) -> f64 {
    let got = read(&lit(vec![light("one", source)]), at, axis, Receptor::Flat, 24);
    steady(&got, 0.001);
    assert!(y(got.bounced) == 0.0, "nothing here bounces light");
    y(got.direct)
}

/// E = I/d²: 1 → √2 → 2 → 3 m are 0, −1, −2 and −3.1699 stops.
#[test]
fn inverse_square() {
    let stage = lit(isotropic(Vec3::Y * 4.0).into());
    for (d, drop) in [(1.0f64, 0.0), (2f64.sqrt(), -1.0), (2.0, -2.0), (3.0, -3.169_925)] {
        let at = Vec3::Y * (4.0 - d as f32);
        let got = read(&stage, at, Vec3::Y, Receptor::Flat, 8);
        steady(&got, 0.001);
        within(stops(y(got.direct), 1.0), drop, 0.003);
    }
}

/// E falls with cos θ: 60° is one stop; 45° half a stop.
#[test]
fn tilt() {
    for (deg, drop) in [(0.0f32, 0.0), (45.0, -0.5), (60.0, -1.0), (80.0, -2.525_76)] {
        let (sin, cos) = deg.to_radians().sin_cos();
        let got =
            direct(disc(1e-3, Vec3::Y * 2.0, -Vec3::Y, 4.0), Vec3::ZERO, Vec3::new(sin, cos, 0.0));
        within(stops(got, 1.0), drop, 0.005);
    }
}

/// n equal lights are log2 n stops.
#[test]
fn equal_lights_add() {
    for n in 1..=4 {
        let one = light("one", disc(1e-3, Vec3::Y * 2.0, -Vec3::Y, 4.0));
        let got = read(&lit(vec![one; n]), Vec3::ZERO, Vec3::Y, Receptor::Flat, 8);
        steady(&got, 0.001);
        within(stops(y(got.direct), 1.0), (n as f64).log2(), 0.003);
    }
}

/// Coaxial disc C = r²/(r² + h²); offset by a, with H = h/a, R = r/a, Z = 1 + H² + R²:
/// C = ½[1 − (1 + H² − R²)/√(Z² − 4R²)].
#[test]
fn disc_near_field() {
    for (r, h, aside, c) in [
        (0.3, 1.0f32, 0.0f32, 0.082_568_807),
        (1.0, 1.0, 1.0, 0.276_393_202),
        (0.3, 1.5, 0.8, 0.023_985_719),
    ] {
        let area = PI * r * r;
        let got = direct(disc(r, Vec3::Y * h, -Vec3::Y, area), Vec3::X * aside, Vec3::Y);
        close(got, PI * c, 0.003);
    }
}

/// Unit square at 1 m: under its corner .138531606, under its centre .239456470.
#[test]
fn rectangle_near_field() {
    for (aside, c) in [(0.5f32, 0.138_531_606), (0.0, 0.239_456_470)] {
        let front = source(
            SourceShape::Rectangle { width_m: 1.0, height_m: 1.0 },
            Vec3::Y,
            -Vec3::Y,
            Beam::Cosine { exponent: 1.0 },
            1.0,
        );
        let at = (front.right + front.up) * aside;
        close(direct(front, at, Vec3::Y), PI * c, 0.003);
    }
}

/// Five diameters away a disc is 0.990 % below the inverse square; five sides, a square 1.315 %.
#[test]
fn rule_of_five_diameters() {
    let got = direct(disc(0.5, Vec3::Y * 5.0, -Vec3::Y, 25.0), Vec3::ZERO, Vec3::Y);
    within(got - 1.0, -0.009_90, 0.001);
    let shape = SourceShape::Rectangle { width_m: 1.0, height_m: 1.0 };
    let front = source(shape, Vec3::Y * 5.0, -Vec3::Y, Beam::Cosine { exponent: 1.0 }, 25.0);
    within(direct(front, Vec3::ZERO, Vec3::Y) - 1.0, -0.013_15, 0.001);
}

/// A Lambertian tube far off gives L times its projected area: 2rl·sin θ + πr²·cos θ.
#[test]
fn tube_far_field() {
    let (r, l, d) = (0.02, 0.08, 5.0f32);
    let shape = SourceShape::Tube { radius_m: r, length_m: l };
    // L = 1 where the intensity across is 2rl.
    let tube = source(shape, Vec3::ZERO, Vec3::Y, Beam::Cosine { exponent: 1.0 }, 2.0 * r * l);
    for deg in [0.0f64, 30.0, 90.0, 150.0] {
        let (sin, cos) = deg.to_radians().sin_cos();
        let out = Vec3::new(sin as f32, cos as f32, 0.0);
        let projected = 2.0 * r * l * sin + PI * r * r * cos.abs();
        let expected = projected / f64::from(d * d);
        let got = read(&lit(vec![light("tube", tube.clone())]), out * d, -out, Receptor::Flat, 64);
        steady(&got, 0.004);
        // the near end is l/2 closer: 1.6 % at most, and it is what is seen at 0°
        let near = if deg == 0.0 { (f64::from(d) / (f64::from(d) - 0.5 * l)).powi(2) } else { 1.0 };
        close(y(got.direct), expected * near, 0.015);
    }
}
