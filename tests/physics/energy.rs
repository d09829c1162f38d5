//! Conservation of energy: closed cavities and furnaces, where the answer needs no reference.

use foreshadow::optics::beam::Beam;
use foreshadow::optics::surface::Surface;
use foreshadow::stage::{Light, Mesh, SourceShape, Stage};
use foreshadow::trace::{Receptor, Tracer};
use glam::Vec3;

use crate::set::{
    ball, camera, close, isotropic, light, read, render, shell, smooth_ball, source, square, stage,
    steady, y,
};

/// A sphere of reflectance ρ around a lamp of 1 cd·s: E = I/R² · 1/(1 − ρ) all over it.
#[test]
fn closed_cavity() {
    for rho in [0.3f32, 0.5, 0.8] {
        let wall = Surface::diffuse("wall", Vec3::splat(rho));
        let meshes = vec![ball(Vec3::ZERO, 1.0, 96, wall)];
        let lights = isotropic(Vec3::ZERO).into();
        let stage = stage(meshes, lights, camera(Vec3::Z * 0.5, Vec3::ZERO, 30.0));
        // the plane of the two half lamps is avoided
        let out = Vec3::new(0.6, 0.48, 0.64).normalize();
        let got = read(&stage, out * 0.995, -out, Receptor::Flat, 48);
        steady(&got, 0.002);
        eprintln!("rho {rho}: {} + {} ± {}", y(got.direct), y(got.bounced), got.standard_error);
        close(y(got.direct), 1.0 / 0.995f64.powi(2), 0.002);
        close(y(got.bounced), f64::from(rho / (1.0 - rho)), 0.006);
    }
}

/// A 1 m box whose faces emit L = 1 and reflect ρ: radiance 1/(1 − ρ) everywhere.
fn furnace(rho: f32, mut inside: Vec<Mesh>) -> Stage {
    let mut meshes = shell(Vec3::splat(-0.5), Vec3::splat(0.5), rho, rho, rho);
    meshes.append(&mut inside);
    let lights: Vec<Light> = [Vec3::X, -Vec3::X, Vec3::Y, -Vec3::Y, Vec3::Z, -Vec3::Z]
        .map(|axis| {
            let shape = SourceShape::Rectangle { width_m: 1.0, height_m: 1.0 };
            let beam = Beam::Cosine { exponent: 1.0 };
            light("face", source(shape, -axis * 0.499_999, axis, beam, 1.0))
        })
        .into();
    stage(meshes, lights, camera(Vec3::new(0.0, 0.0, 0.45), Vec3::ZERO, 20.0))
}

/// Pixels across a furnace picture.
const SIDE: u32 = 64;

/// Mean radiance of the middle of the frame, with its noise as a share.
fn seen(stage: &Stage, samples: u32) -> (f64, f64) {
    let layers = render(stage, [SIDE, SIDE], samples, 2);
    let (mut sum, mut variance) = (0.0, 0.0);
    for layer in &layers.layers {
        sum += layer.pixels.iter().map(|p| y(p.as_dvec3())).sum::<f64>();
        variance += layer.variance.iter().map(|&v| f64::from(v)).sum::<f64>();
    }
    (sum / f64::from(SIDE * SIDE), variance.sqrt() / sum)
}

#[test]
fn furnace_with_a_matt_ball() {
    let ball = ball(Vec3::ZERO, 0.2, 48, Surface::diffuse("matt", Vec3::ONE));
    let (level, noise) = seen(&furnace(0.0, vec![ball]), 32);
    eprintln!("matt: {level} ± {:.3} %", noise * 100.0);
    assert!(noise < 0.001);
    close(level, 1.0, 0.001);
}

/// A white base under a coat, rough or smooth, sends everything back.
#[test]
fn furnace_with_a_coated_ball() {
    for alpha in [0.1, 0.3, 0.6] {
        let surface = Surface::coated("coated", Vec3::ONE, 1.45, alpha);
        for ball in
            [ball(Vec3::ZERO, 0.2, 48, surface.clone()), smooth_ball(Vec3::ZERO, 0.2, 48, surface)]
        {
            let kind = if ball.normals.is_empty() { "facets" } else { "smooth" };
            let (level, noise) = seen(&furnace(0.0, vec![ball]), 32);
            eprintln!("coat {alpha} {kind}: {level} ± {:.3} %", noise * 100.0);
            assert!(noise < 0.002);
            close(level, 1.0, 0.005);
        }
    }
}

/// In a white surround a reciprocal surface looks as bright as its directional albedo, from
/// wherever it is seen.
#[test]
fn furnace_shows_the_albedo() {
    for surface in [
        Surface::velvet("velvet", Vec3::splat(0.05), 0.5),
        Surface::velvet("velvet", Vec3::splat(0.4), 1.0),
        Surface::coated("skin", Vec3::splat(0.35), 1.42, 0.4),
        Surface::coated("satin", Vec3::splat(0.1), 1.5, 0.25),
    ] {
        let mut panel = square("panel", Vec3::ZERO, Vec3::Y, 0.4, 0.0);
        panel.surface = surface.clone();
        let stage = furnace(0.0, vec![panel]);
        let tracer = Tracer::new(&stage, |_| true);
        for deg in [5.0f32, 60.0] {
            let (sin, cos) = deg.to_radians().sin_cos();
            let from = Vec3::new(sin, cos, 0.0);
            let found = tracer.spot(from * 0.4, -from, 0.005, 24, 1);
            let level: f64 = found.iter().map(|one| y(one.direct + one.bounced)).sum();
            let noise: f64 =
                found.iter().map(|one| one.standard_error.powi(2)).sum::<f64>().sqrt() / level;
            let expected = y(surface.albedo(surface.reflectance, cos).as_dvec3());
            eprintln!("{} {deg}°: {level} ± {:.3} %, {expected}", surface.name, noise * 100.0);
            assert!(noise < 0.003, "noise {noise}");
            close(level, expected, 0.003);
        }
    }
}

/// A grey furnace holds 1/(1 − ρ), whatever white thing stands in it.
#[test]
fn grey_furnace_with_white_things() {
    let things =
        [Surface::diffuse("matt", Vec3::ONE), Surface::coated("coated", Vec3::ONE, 1.5, 0.3)];
    for surface in things {
        let name = surface.name.clone();
        let stage = furnace(0.5, vec![ball(Vec3::ZERO, 0.2, 32, surface)]);
        let (level, noise) = seen(&stage, 32);
        eprintln!("{name}: {level} ± {:.3} %", noise * 100.0);
        assert!(noise < 0.002);
        close(level, 2.0, 0.005);
    }
}

/// Rays along an axis hit whatever the sign of their zeros.
#[test]
fn rays_along_the_axes_hit() {
    let stage = furnace(0.0, vec![]);
    let tracer = Tracer::new(&stage, |_| true);
    for zero in [0.0f32, -0.0] {
        for one in [1.0f32, -1.0] {
            for direction in
                [Vec3::new(one, zero, zero), Vec3::new(zero, one, zero), Vec3::new(zero, zero, one)]
            {
                for from in [Vec3::ZERO, Vec3::new(0.1, 0.2, -0.3)] {
                    assert!(
                        tracer.scene.intersect(from, direction).is_some(),
                        "{from} {direction:?}"
                    );
                }
            }
        }
    }
}
