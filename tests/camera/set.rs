//! Small sets by plan, their layers, and pictures of them by the plan's camera.

use foreshadow::layers::Layers;
use foreshadow::picture::Picture;
use foreshadow::plan::{self, Plan};
use foreshadow::shoot::{self, Device, Engine, EngineOptions, Settle, StillOptions};
use foreshadow::stage::{self, Stage};
use glam::Vec3;

pub fn parse(text: &str) -> Plan {
    plan::parse(text, "test").unwrap_or_else(|error| panic!("{error}"))
}

/// A flash, a steady room and a grey crate; `camera` adds to the camera's fields, `more` to the
/// plan's.
pub fn crate_plan(camera: &str, more: &str) -> Plan {
    parse(&format!(
        r#"(
            format: 1,
            boxes: [(name: "crate", width: 0.5, height: 1.3, depth: 0.5, turn: 25.0)],
            lights: [(
                name: "key",
                power: "1/32",
                place: At(x: -1.2, y: 2.2, z: 1.5),
                aim: Named("crate"),
            )],
            ambient: (ev: 9.0),
            camera: ({camera} place: At(x: 0.0, y: 1.5, z: 2.8), aim: Named("crate")),
            {more}
        )"#
    ))
}

pub fn options(size: (u32, u32), samples: u32) -> StillOptions {
    StillOptions {
        size: Some(size),
        settle: Settle::Samples(samples),
        only: vec![],
        engine: EngineOptions { engine: Engine::Trace, device: Device::Cpu, adapter: None },
        seed: 9,
    }
}

/// A plan's stage and layers.
pub fn rendered(plan: &Plan, size: (u32, u32), samples: u32) -> (Stage, Layers) {
    let stage = stage::build(plan).unwrap();
    let layers = shoot::layers(plan, &stage, &options(size, samples), &|_| ()).unwrap();
    (stage, layers)
}

/// The picture that the plan's camera takes of layers rendered before.
pub fn taken(plan: &Plan, stage: &Stage, layers: &Layers) -> Picture {
    shoot::take(plan, stage, layers).unwrap()
}

/// The layers with only the light `name` left, the others black.
pub fn alone(layers: &Layers, name: &str) -> Layers {
    let mut layers = layers.clone();
    for layer in layers.layers.iter_mut().filter(|layer| layer.name != name) {
        layer.pixels.fill(Vec3::ZERO);
    }
    layers
}

pub fn sum(picture: &Picture) -> f64 {
    picture.pixels.iter().map(|pixel| f64::from(pixel.element_sum())).sum()
}

#[track_caller]
pub fn close(got: f64, wanted: f64, relative: f64) {
    assert!((got / wanted - 1.0).abs() <= relative, "{got}, wanted {wanted} within {relative}");
}
