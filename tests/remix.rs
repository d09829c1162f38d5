//! The promise of the layers: power, gel, colour temperature, shutter, aperture and ISO are gains
//! at the mix and need no new rays. Each change is mixed from layers rendered once, and compared
//! with a fresh render of the changed plan.

use foreshadow::layers::Layers;
use foreshadow::picture::Picture;
use foreshadow::plan::{self, Plan};
use foreshadow::shoot::{self, Device, Engine, EngineOptions, Settle, StillOptions};
use foreshadow::stage;
use glam::Vec3;

/// Two flashes and the room's light on a crate and a wall; `{...}` are today's settings.
fn plan(key: &str, camera: &str) -> Plan {
    let text = format!(
        r#"(
            format: 1,
            boxes: [(name: "crate", width: 0.5, height: 1.3, depth: 0.5, turn: 25.0)],
            lights: [
                (name: "key", {key} place: At(x: -1.2, y: 2.2, z: 1.5), aim: Named("crate")),
                (name: "fill", power: -6, place: At(x: 1.0, y: 1.5, z: 1.8), aim: Ceiling),
            ],
            ambient: (ev: 9.0),
            camera: ({camera} place: At(x: 0.0, y: 1.5, z: 2.8), aim: Named("crate")),
        )"#
    );
    plan::parse(&text, "remix").unwrap_or_else(|error| panic!("{error}"))
}

fn options(samples: u32) -> StillOptions {
    StillOptions {
        size: Some((32, 48)),
        settle: Settle::Samples(samples),
        only: vec![],
        engine: EngineOptions { engine: Engine::Trace, device: Device::Cpu, adapter: None },
        seed: 9,
    }
}

fn layers(plan: &Plan, samples: u32) -> Layers {
    let stage = stage::build(plan).unwrap();
    shoot::layers(plan, &stage, &options(samples), &|_| ()).unwrap()
}

fn mixed(plan: &Plan, layers: &Layers) -> Picture {
    let stage = stage::build(plan).unwrap();
    let names: Vec<String> = layers.layers.iter().map(|layer| layer.name.clone()).collect();
    shoot::mix(plan, &stage, &names).apply(layers).unwrap()
}

fn worst_relative(a: &Picture, b: &Picture) -> f32 {
    let of = |(a, b): (&Vec3, &Vec3)| ((*a - *b).abs() / b.max(Vec3::splat(1e-9))).max_element();
    a.pixels.iter().zip(&b.pixels).map(of).fold(0.0, f32::max)
}

fn level(picture: &Picture) -> f64 {
    picture.pixels.iter().map(|p| f64::from(p.element_sum())).sum()
}

fn same_layers(a: &Layers, b: &Layers) -> bool {
    a.samples == b.samples
        && a.depth == b.depth
        && a.layers.len() == b.layers.len()
        && a.layers
            .iter()
            .zip(&b.layers)
            .all(|(a, b)| a.name == b.name && a.pixels == b.pixels && a.variance == b.variance)
}

const BEFORE_KEY: &str = "power: \"1/32\",";
const BEFORE_CAMERA: &str = "aperture: \"f/8\", shutter: \"1/60\", iso: 100,";

#[test]
fn power_gel_shutter_and_iso_need_no_new_rays() {
    let before = plan(BEFORE_KEY, BEFORE_CAMERA);
    let kept = layers(&before, 6);
    let untouched = kept.clone();
    let first = mixed(&before, &kept);
    assert!(level(&first) > 0.0);
    for (what, key, camera) in [
        ("power", "power: -7,", BEFORE_CAMERA),
        (
            "gel",
            "power: \"1/32\", gel: Color(color: \"#ff8040\", transmission: 0.6),",
            BEFORE_CAMERA,
        ),
        ("mired", "power: \"1/32\", gel: Mired(shift: 131.0, transmission: 0.63),", BEFORE_CAMERA),
        ("shutter", BEFORE_KEY, "aperture: \"f/8\", shutter: \"1/4\", iso: 100,"),
        ("iso", BEFORE_KEY, "aperture: \"f/8\", shutter: \"1/60\", iso: 800,"),
        ("white", BEFORE_KEY, "white_balance: 3200.0, aperture: \"f/8\", shutter: \"1/60\","),
    ] {
        let after = plan(key, camera);
        let remixed = mixed(&after, &kept);
        let fresh = layers(&after, 6);
        assert!(same_layers(&fresh, &kept), "{what}: the layers themselves changed");
        let off = worst_relative(&remixed, &mixed(&after, &fresh));
        assert!(off <= 1e-4, "{what}: mixed and rendered differ by {off}");
        assert!(worst_relative(&remixed, &first) > 0.05, "{what} changes nothing to be seen");
    }
    assert!(same_layers(&kept, &untouched), "mixing changed the layers");
}

/// A light's mix is linear in its power: two stops are a factor of four, the others stand.
#[test]
fn one_power_moves_one_light() {
    let (full, less) = (plan("power: 0,", BEFORE_CAMERA), plan("power: -2,", BEFORE_CAMERA));
    let kept = layers(&full, 4);
    let (full, less) = (mixed(&full, &kept), mixed(&less, &kept));
    let least = mixed(&plan("power: -4,", BEFORE_CAMERA), &kept);
    for ((full, less), least) in full.pixels.iter().zip(&less.pixels).zip(&least.pixels) {
        let (all, quarter) = ((*full - *less).element_sum(), (*less - *least).element_sum());
        assert!((all - 4.0 * quarter).abs() <= 1e-3 * all.abs() + 1e-6, "{all} and {quarter}");
    }
}

/// The aperture's exposure is a gain; its depth of field is geometry, so a picture that is to
/// show the new blur is rendered anew. At small apertures the two agree within the noise.
#[test]
fn aperture_is_a_gain_where_all_is_sharp() {
    let before = plan(BEFORE_KEY, BEFORE_CAMERA);
    let after = plan(BEFORE_KEY, "aperture: \"f/11\", shutter: \"1/60\", iso: 100,");
    let kept = layers(&before, 48);
    let (first, remixed) = (mixed(&before, &kept), mixed(&after, &kept));
    let gain = level(&remixed) / level(&first);
    assert!((gain / (8.0f64 / 11.0).powi(2) - 1.0).abs() < 1e-4, "gain {gain}");
    let fresh = mixed(&after, &layers(&after, 48));
    let off = level(&remixed) / level(&fresh) - 1.0;
    assert!(off.abs() < 0.005, "f/11 mixed from f/8's layers is off by {off}");
}
