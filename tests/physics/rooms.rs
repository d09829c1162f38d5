//! Interreflection against closed forms and an independent renderer's table, through the tracer.

use crate::set::{camera, close, even_cone, isotropic, light, quad, read, shell, source, stage, y};
use foreshadow::optics::beam::Beam;
use foreshadow::stage::{Light, SourceShape};
use foreshadow::trace::Receptor;
use glam::Vec3;

fn plain_camera() -> foreshadow::stage::Camera {
    camera(Vec3::new(0.0, 1.0, 3.0), Vec3::Y, 30.0)
}

/// The path-traced room of the reference table: 5 × 4 × 2.8 m, ceiling .8, walls .5, floor .2.
/// The table's z is up; ours is y.
pub fn table_room(lights: Vec<Light>, walls: f32, floor: f32) -> foreshadow::stage::Stage {
    let meshes = shell(Vec3::new(-2.5, 0.0, -2.0), Vec3::new(2.5, 2.8, 2.0), 0.8, walls, floor);
    stage(meshes, lights, plain_camera())
}

/// A beam that is even out to 40° and ends there: the table's cone.
pub fn cone_up() -> Light {
    let beam = even_cone(80.0);
    let at = Vec3::new(0.0, 1.8, 0.0);
    light("cone", source(SourceShape::Disc { radius_m: 1e-3 }, at, Vec3::Y, beam, 1.0))
}

/// Source: Mitsuba 3.9.1 scalar_rgb path integrator, unlimited depth, 512 seeds × 4096 samples.
#[test]
fn isotropic_lamp_in_a_room() {
    let stage = table_room(isotropic(Vec3::new(0.0, 1.8, 0.0)).into(), 0.5, 0.2);
    let at = Vec3::new(1.0, 1.2, 0.0);
    for (at, axis, indirect, direct) in [
        (at, Vec3::Y, 0.256795, 0.378306),
        (at, -Vec3::X, 0.173507, 0.630510),
        (at, Vec3::X, 0.117739, 0.0),
        (Vec3::new(0.0, 0.01, 0.0), Vec3::Y, 0.212479, 0.312100),
    ] {
        let got = read(&stage, at, axis, Receptor::Flat, 128);
        eprintln!("{at} {axis}: {} {} ± {}", y(got.direct), y(got.bounced), got.standard_error);
        close(y(got.bounced), indirect, 0.01);
        if direct > 0.0 {
            close(y(got.direct), direct, 0.005);
        } else {
            assert!(y(got.direct) < 1e-6);
        }
    }
}

/// Source: the same table, uniform cone of half-angle 40° aimed at the ceiling.
#[test]
fn head_aimed_at_the_ceiling() {
    let stage = table_room(vec![cone_up()], 0.5, 0.2);
    for (at, axis, expected) in [
        (Vec3::new(1.0, 1.2, 0.0), Vec3::Y, 0.0818539),
        (Vec3::new(1.0, 1.2, 0.0), -Vec3::X, 0.0492746),
        (Vec3::new(0.0, 1.5, -1.5), -Vec3::Z, 0.016997),
    ] {
        let got = read(&stage, at, axis, Receptor::Flat, 128);
        eprintln!("{at} {axis}: {} ± {}", y(got.bounced), got.standard_error);
        assert!(y(got.direct) < 1e-6);
        close(y(got.bounced), expected, 0.01);
    }
    let black = table_room(vec![cone_up()], 0.0, 0.0);
    let got = read(&black, Vec3::new(1.0, 1.2, 0.0), Vec3::Y, Receptor::Flat, 128);
    close(y(got.bounced), 0.0726081, 0.01);
}

/// Unit cube whose ceiling emits L = 1. Source: the same table.
#[test]
fn unit_cube_with_a_luminous_ceiling() {
    for (rho, expected) in [(0.0, 0.753449), (0.5, 1.2433), (0.8, 2.80487)] {
        let half = 0.5;
        let meshes = shell(Vec3::new(-half, 0.0, -half), Vec3::new(half, 1.0, half), rho, rho, rho);
        let film = source(
            SourceShape::Rectangle { width_m: 1.0, height_m: 1.0 },
            Vec3::new(0.0, 0.9999, 0.0),
            -Vec3::Y,
            Beam::Cosine { exponent: 1.0 },
            1.0,
        );
        let stage = stage(meshes, vec![light("ceiling", film)], plain_camera());
        let got = read(&stage, Vec3::new(0.0, 0.001, 0.0), Vec3::Y, Receptor::Flat, 128);
        eprintln!("rho {rho}: {} ± {}", y(got.direct + got.bounced), got.standard_error);
        close(y(got.direct + got.bounced), expected, 0.01);
    }
}

/// Furnace: all six faces emit L = 1 and reflect ρ = 0.5: E = π/(1 − ρ) everywhere, and a grey
/// body in it looks the same from everywhere (conservation of energy; no reference needed).
#[test]
fn furnace() {
    let meshes = shell(Vec3::splat(-0.5), Vec3::splat(0.5), 0.5, 0.5, 0.5);
    let lights = [Vec3::X, -Vec3::X, Vec3::Y, -Vec3::Y, Vec3::Z, -Vec3::Z].map(|axis| {
        light(
            "face",
            source(
                SourceShape::Rectangle { width_m: 1.0, height_m: 1.0 },
                -axis * 0.499999,
                axis,
                Beam::Cosine { exponent: 1.0 },
                1.0,
            ),
        )
    });
    let stage = stage(meshes, lights.into(), plain_camera());
    let got = read(&stage, Vec3::new(0.1, 0.2, 0.4), Vec3::Y, Receptor::Flat, 128);
    let e = y(got.direct + got.bounced);
    eprintln!("furnace {e} ± {}", got.standard_error);
    close(e, 2.0 * std::f64::consts::PI, 0.001);
}

/// First bounce of an infinite ceiling (derived closed forms, second method numeric):
/// isotropic lamp, lamp and receiver h below: E = 0.4·ρI/h²; Lambertian lamp: ρI/(3h²).
#[test]
fn first_bounce_of_a_wide_ceiling() {
    // 400 m wide stands for infinite: the rest adds under 1e-6
    let w = 200.0;
    let ceiling = quad(
        "ceiling",
        [(-w, -w), (w, -w), (w, w), (-w, w)].map(|(x, z)| Vec3::new(x, 2.0, z)),
        Vec3::splat(0.7),
    );
    for (beam, factor) in
        [(Beam::Cosine { exponent: 0.0 }, 0.4), (Beam::Cosine { exponent: 1.0 }, 1.0 / 3.0)]
    {
        let at = Vec3::new(0.0, 1.0, 0.0);
        let up = source(SourceShape::Disc { radius_m: 1e-3 }, at, Vec3::Y, beam.clone(), 100.0);
        let stage = stage(vec![ceiling.clone()], vec![light("up", up)], plain_camera());
        let got = read(&stage, Vec3::new(0.0, 0.9999, 0.0), Vec3::Y, Receptor::Flat, 128);
        eprintln!("{beam:?}: {} ± {}", y(got.bounced), got.standard_error);
        close(y(got.bounced), factor * 0.7 * 100.0, 0.005);
    }
}
