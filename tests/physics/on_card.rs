//! trace-gpu before closed forms and the independent renderer's table, on whatever card there is.

use std::sync::LazyLock;

use foreshadow::gpu::{Choice, Gpu};
use foreshadow::layers::Layers;
use foreshadow::stage::{Mesh, Stage};
use foreshadow::trace::gpu::GpuTracer;
use glam::Vec3;

use crate::edge::{edge_stage, fit};
use crate::rooms::{cone_up, table_room};
use crate::set::{across, camera, close, disc, square, taken, within, y};

static CARD: LazyLock<Gpu> = LazyLock::new(|| match Gpu::open(&Choice::Auto) {
    Ok(gpu) => gpu,
    Err(fault) => panic!("{fault}"),
});

fn render(stage: &Stage, size: [u32; 2], samples: u32, seed: u32) -> Layers {
    let (tracer, options) = taken(stage, size, samples, seed);
    let card = GpuTracer::new(&CARD, &tracer).unwrap();
    card.render(&tracer, &options, &mut |_| true).unwrap().0
}

/// Similar triangles, D·b/a, in five geometries.
#[test]
fn penumbra_width_on_a_card() {
    for (diameter, a, b) in
        [(0.18, 2.5, 1.0f32), (0.6, 1.5, 0.05), (0.05, 1.0, 0.3), (0.4, 3.0, 0.25), (1.2, 4.0, 0.1)]
    {
        let expected = diameter * f64::from(b) / f64::from(a);
        let lamp = disc(0.5 * diameter, Vec3::Z * (a + b), -Vec3::Z, 10.0);
        let stage = edge_stage(vec![lamp], b, expected, vec![]);
        let layers = render(&stage, [96, 12], 48, 5);
        let got = fit(&across(&layers, 0, &stage.camera, f64::from(0.8 * b)), expected);
        eprintln!("{diameter} {a} {b}: {got:?}, expected {expected}");
        assert!(got.error_m < 0.02 * expected, "noise {got:?}");
        close(got.width_m, expected, 0.05);
        within(got.shadow / got.step, 0.0, 0.02);
    }
}

/// Illuminance of a small card held in a room, read off its picture: E = π·L/ρ.
fn illuminance(room: &Stage, at: Vec3, axis: Vec3, seed: u32) -> f64 {
    const REFLECTANCE: f32 = 0.5;
    const SIDE_M: f32 = 0.01;
    let mut stage = room.clone();
    let held: Mesh = square("card", at, axis, SIDE_M, REFLECTANCE);
    stage.meshes.push(held);
    // a fifth of the card, seen from the side so that nothing is in its light's way
    let eye = at + 0.2 * (axis + 0.3 * axis.any_orthonormal_vector());
    stage.camera = camera(eye, at, 0.5);
    let layers = render(&stage, [32, 32], 64, seed);
    let pixels = &layers.layers[0].pixels;
    let mean = pixels.iter().map(|p| y(p.as_dvec3())).sum::<f64>() / pixels.len() as f64;
    std::f64::consts::PI * mean / f64::from(REFLECTANCE)
}

/// Source: Mitsuba 3.9.1, uniform cone of half-angle 40° aimed at the ceiling.
#[test]
fn head_aimed_at_the_ceiling_on_a_card() {
    let room = table_room(vec![cone_up()], 0.5, 0.2);
    for (at, axis, expected) in [
        (Vec3::new(1.0, 1.2, 0.0), Vec3::Y, 0.0818539),
        (Vec3::new(1.0, 1.2, 0.0), -Vec3::X, 0.0492746),
        (Vec3::new(0.0, 1.5, -1.5), -Vec3::Z, 0.016997),
    ] {
        let got: Vec<f64> = (0..4).map(|seed| illuminance(&room, at, axis, seed)).collect();
        let mean = got.iter().sum::<f64>() / 4.0;
        let scatter = got.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / 3.0;
        let noise = (scatter / 4.0).sqrt() / mean;
        eprintln!("{at} {axis}: {mean}, expected {expected}, noise {noise}");
        assert!(noise < 0.008, "noise {noise} is too much to judge by");
        close(mean, expected, 0.02);
    }
    let black = table_room(vec![cone_up()], 0.0, 0.0);
    close(illuminance(&black, Vec3::new(1.0, 1.2, 0.0), Vec3::Y, 9), 0.0726081, 0.02);
}
