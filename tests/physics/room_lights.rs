//! The room's own light through the whole path: lamps and windows read what the plan says.

use foreshadow::plan;
use foreshadow::shoot::{self, DomeAim, MeterOptions, MeterPoint, ShootError};
use foreshadow::stage;
use foreshadow::trace::{Receptor, Tracer};
use glam::Vec3;

use crate::set::{close, y};

fn read(text: &str, at: MeterPoint) -> Result<shoot::Readings, ShootError> {
    let plan = plan::parse(text, "test").unwrap_or_else(|error| panic!("{error}"));
    let options =
        MeterOptions { at, dome: DomeAim::Camera, flat: false, spot_degrees: None, seed: 3 };
    shoot::meter(&plan, &options, &|_| {})
}

fn at_face() -> MeterPoint {
    MeterPoint::Point([0.0, 1.55, 0.0])
}

/// EV at ISO 100 is 2.5·2^EV lx with C = 250.
#[test]
fn room_lights_read_their_ev() {
    for (field, ev) in [
        ("lamps: [(name: \"pendant\", place: At(x: 0.5, y: 2.4, z: 0.4), level: Ev(5))]", 5.0f64),
        (
            "lamps: [(name: \"tile\", form: Panel(width: 0.6, height: 0.6), place: At(x: 0, y: 2.9, z: 1), level: Ev(6.5))]",
            6.5,
        ),
        (
            "lamps: [(name: \"spot\", form: Spot(diameter: 0.1, beam: 30, field: 50), place: At(x: -1, y: 2.5, z: 1.5), aim: Face, level: Ev(4))]",
            4.0,
        ),
        ("windows: [(name: \"north\", wall: Left, width: 1.4, height: 1.5, ev: 8)]", 8.0),
        (
            "windows: [(name: \"south\", wall: Right, along: 0.6, width: 1, height: 1.2, panes: (2, 3), sky: Clear(sun_azimuth: 40, sun_elevation: 35), ev: 9)]",
            9.0,
        ),
        ("ambient: (ev: 6)", 6.0),
    ] {
        let got = read(&format!("(format: 1, {field})"), at_face()).unwrap();
        close(got.ambient.unwrap().lux, 2.5 * ev.exp2(), 0.02);
    }
    // together they add
    let got = read(
        "(format: 1, ambient: (ev: 5), lamps: [(name: \"pendant\", place: At(x: 1, y: 2.4, z: 1), level: Ev(5))])",
        at_face(),
    )
    .unwrap();
    close(got.ambient.unwrap().lux, 2.5 * 64.0, 0.02);
}

/// A globe of 1000 lm in a black room gives 1000/4π cd to every side.
#[test]
fn a_globe_by_lumens() {
    let text = "(format: 1, room: (walls: (reflectance: 0), ceiling: (reflectance: 0), floor: (reflectance: 0)), \
                lamps: [(name: \"globe\", place: At(x: 0, y: 1.5, z: 0), level: Lumens(1000))])";
    let plan = plan::parse(text, "test").unwrap();
    let stage = stage::build(&plan).unwrap();
    let tracer = Tracer::new(&stage, |_| true);
    for out in [Vec3::X, Vec3::NEG_Z, Vec3::new(0.6, 0.5, 0.62).normalize()] {
        let got = tracer.meter(Vec3::Y * 1.5 + out * 1.4, -out, Receptor::Flat, 16, 1)[0];
        // the layer is of 1 lm
        close(y(got.direct) * 1.4 * 1.4, 1.0 / (4.0 * std::f64::consts::PI), 0.01);
    }
}

/// Even sky over white ground is one luminance: E on a plane that faces the window is π·L times
/// the configuration factor of the opening, at any distance.
#[test]
fn an_even_window_is_a_lambertian_rectangle() {
    let text = "(format: 1, room: (walls: (reflectance: 0), ceiling: (reflectance: 0), floor: (reflectance: 0)), \
                windows: [(name: \"w\", wall: Back, sill: 1, width: 1.2, height: 1.2, thickness: 0.01, ground: 1, sky: Even, ev: 8)])";
    let plan = plan::parse(text, "test").unwrap();
    let stage = stage::build(&plan).unwrap();
    let tracer = Tracer::new(&stage, |_| true);
    // centre of a rectangle a × b at h, four corners: F = (2/π)·[…] with A = a/2h, B = b/2h
    let factor = |h: f64| {
        let a: f64 = 0.6 / h;
        let root = (1.0 + a * a).sqrt();
        4.0 / (2.0 * std::f64::consts::PI) * 2.0 * a / root * (a / root).atan()
    };
    for h in [0.5, 1.0, 2.0] {
        // the film lies 1 cm behind the wall, which is 2 m behind the mark
        let at = Vec3::new(0.0, 1.6, -2.01 + h as f32);
        let got = tracer.meter(at, Vec3::NEG_Z, Receptor::Flat, 32, 1)[0];
        // 1 lm for each square metre: π·L = 1
        close(y(got.direct), factor(h), 0.015);
    }
}

/// Overcast sky: twice as much from above as from below is lost toward the floor by a high window;
/// a clear sky is brighter on the sun's side.
#[test]
fn skies_have_their_direction() {
    let lit = |sky: &str, at: Vec3, facing: Vec3| {
        let text = format!(
            "(format: 1, room: (walls: (reflectance: 0), ceiling: (reflectance: 0), floor: (reflectance: 0)), \
             windows: [(name: \"w\", wall: Back, sill: 1, width: 1, height: 1, ground: 0.1, sky: {sky}, ev: 8)])"
        );
        let stage = stage::build(&plan::parse(&text, "test").unwrap()).unwrap();
        y(Tracer::new(&stage, |_| true).meter(at, facing, Receptor::Flat, 16, 1)[0].direct)
    };
    let toward = |at: Vec3| (Vec3::new(0.0, 1.5, -2.0) - at).normalize();
    let (low, high) = (Vec3::new(0.0, 0.3, -0.8), Vec3::new(0.0, 2.7, -0.8));
    assert!(lit("Overcast", low, toward(low)) > 3.0 * lit("Overcast", high, toward(high)));
    // the sun to the right of somebody looking out shines toward the left of the room (as they
    // look), which is the camera's left of the back window … looking out through the back wall is
    // looking the camera's way: right is +x, its light goes to −x
    let sky = "Clear(sun_azimuth: 40, sun_elevation: 20)";
    let (left, right) = (Vec3::new(-1.2, 1.2, -0.8), Vec3::new(1.2, 1.2, -0.8));
    assert!(lit(sky, left, toward(left)) > 1.5 * lit(sky, right, toward(right)));
}

/// No sitter and a crate where the face would be: the level is read above the crate. In a sealed
/// place it is an error that says where, not a black picture.
#[test]
fn ambient_in_a_box_is_no_black_picture() {
    let crate_there = "boxes: [(name: \"crate\", width: 1, height: 1.8, depth: 1)]";
    let got = read(
        &format!("(format: 1, ambient: (ev: 6), {crate_there})"),
        MeterPoint::Point([0.0, 1.82, 0.0]),
    )
    .unwrap();
    close(got.ambient.unwrap().lux, 2.5 * 64.0, 0.03);
    let cell = "boxes: [(name: \"block\", width: 1, height: 3, depth: 1)]";
    let error = read(&format!("(format: 1, ambient: (ev: 6), {cell})"), at_face()).unwrap_err();
    let told = error.to_string();
    assert!(told.contains("ambient") && told.contains("1.55") || told.contains("3.0"), "{told}");
}

/// A continuous lamp among the heads counts for the shutter time and keeps its own line.
#[test]
fn a_lamp_among_the_heads() {
    let read_at = |shutter: &str| {
        let text = format!(
            "(format: 1, lights: [(name: \"lamp\", head: (output: Lux(lux: 1000, distance: 1.5)), place: At(x: 0, y: 1.55, z: 1.5), aim: Point(x: 0, y: 1.55, z: 0))], camera: (shutter: \"{shutter}\"))"
        );
        read(&text, at_face()).unwrap()
    };
    let (slow, fast) = (read_at("1/60"), read_at("1/120"));
    assert_eq!(slow.lights.len(), 1);
    assert!(slow.ambient.is_none());
    close(slow.lights[0].direct_lux_s, 1000.0 / 60.0, 0.02);
    close(fast.lights[0].direct_lux_s, 1000.0 / 120.0, 0.02);
}
