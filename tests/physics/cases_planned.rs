//! Photographers' cases by the whole way: a plan as the photographer writes it, the stage that is
//! built of it, and what the meter or the picture then says. Each by its id, with its source;
//! expected figures and tolerances are the case's own. No formula of the case is called here.
//!
//! The rest of the way through a plan: A04 J02 P10 R01 R02 R08 (`cases_rendered`), A10
//! (`tests/check_notes.rs`).

use foreshadow::layers::Layers;
use foreshadow::optics::fstop;
use foreshadow::picture::{Tone, develop};
use foreshadow::plan::room::Paint;
use foreshadow::plan::{self, Length, Plan};
use foreshadow::shoot::{
    self, Device, DomeAim, Engine, EngineOptions, MeterOptions, MeterPoint, Readings, Settle,
    StillOptions,
};
use foreshadow::stage::{self as set_stage, Stage};
use foreshadow::trace::Tracer;
use glam::Vec3;

use crate::edge::{self, Edge};
use crate::set::{across, close, on_plane, stops, within, y};

const FOOT_M: f64 = 0.3048;

/// A studio painted black, 12 × 12 × 6 m with the mark in its middle.
const BLACK: &str = "width: 12, depth: 12, height: 6, mark: (from_left: 6, from_back: 6), \
    walls: (reflectance: 0), ceiling: (reflectance: 0), floor: (reflectance: 0)";

/// A plan in the black studio, or in another room.
fn plan(room: &str, rest: &str) -> Plan {
    let room = if room.is_empty() { BLACK } else { room };
    let text = format!("(format: 1, room: ({room}), {rest})");
    plan::parse(&text, "case").unwrap_or_else(|error| panic!("{error}\n{text}"))
}

/// A head without its body, aimed at 1.5 m above the mark.
fn head(name: &str, at: [f64; 3], rest: &str) -> String {
    let [x, y, z] = at;
    format!(
        "(name: \"{name}\", fixture: false, place: At(x: {x:.6}, y: {y:.6}, z: {z:.6}), \
         aim: Point(x: 0, y: 1.5, z: 0), {rest}),"
    )
}

const BARE: &str = "modifier: BareTube(diameter: 0.02, length: 0.02)";
const SMALL: &str = "modifier: Dish(diameter: 0.02, beam: 55, field: 85)";

/// What is told about the camera in most cases.
const CAMERA: &str = "camera: (aperture: \"f/8\", place: At(x: 0, y: 1.5, z: 5.5), \
    aim: Point(x: 0, y: 1.5, z: 0), focus: Point(x: 0, y: 1.5, z: 0))";

fn lit(lights: &str) -> Plan {
    plan("", &format!("lights: [{lights}], {CAMERA}"))
}

fn read(plan: &Plan, at: [f64; 3], dome: DomeAim, flat: bool) -> Readings {
    let stage = set_stage::build(plan).unwrap();
    let options =
        MeterOptions { at: MeterPoint::Point(at), dome, flat, spot_degrees: None, seed: 1 };
    shoot::read(plan, &stage, &options).unwrap()
}

/// lx·s of the first light on a flat receptor turned to it.
fn toward_light(plan: &Plan, at: [f64; 3]) -> f64 {
    let name = plan.lights[0].name.clone();
    read(plan, at, DomeAim::Light(name), true).lights[0].flash_lux_s
}

/// All lights, dome toward the camera, at 1.5 m above the mark.
fn all(plan: &Plan) -> Readings {
    read(plan, [0.0, 1.5, 0.0], DomeAim::Camera, false)
}

fn rendered(plan: &Plan, size: (u32, u32), samples: u32) -> (Stage, Layers) {
    let stage = set_stage::build(plan).unwrap();
    let options = StillOptions {
        size: Some(size),
        settle: Settle::Samples(samples),
        only: vec![],
        engine: EngineOptions { engine: Engine::Trace, device: Device::Cpu, adapter: None },
        seed: 4,
    };
    let layers = shoot::layers(plan, &stage, &options, &|_| ()).unwrap();
    (stage, layers)
}

/// Source: a flash tutorial (Fulton, 'Flash photography basics'): twice the distance, a quarter of
/// the light.
#[test]
fn d01_backdrop_at_twice_the_distance() {
    let set = lit(&head("bare", [0.0, 1.5, 1.2], BARE));
    let (subject, backdrop) = ([0.0, 1.5, 0.0], [0.0, 1.5, -1.2]);
    within(stops(toward_light(&set, backdrop), toward_light(&set, subject)), -2.0, 0.1);
}

/// Source: a lighting exercise of 2013 on subject and wall.
#[test]
fn d02_wall_behind_the_subject() {
    for (feet, drop) in [(12.0, -1.17), (6.0, -2.0), (1.0, -5.61)] {
        let set = lit(&head("bare", [0.0, 1.5, feet * FOOT_M], BARE));
        let wall = [0.0, 1.5, -6.0 * FOOT_M];
        let (wall, subject) = (toward_light(&set, wall), toward_light(&set, [0.0, 1.5, 0.0]));
        within(stops(wall, subject), drop, 0.1);
    }
}

/// Source: a course on modifiers and fall-off: the f-number series read as distances.
#[test]
fn d04_one_step_of_distance_is_one_stop() {
    let at = |distance: f64| {
        toward_light(&lit(&head("key", [0.0, 1.5, distance], SMALL)), [0.0, 1.5, 0.0])
    };
    within(stops(at(2.0), at(2.8)), 0.97, 0.1);
}

/// Source: geometry.
#[test]
fn d07_full_length_evenness() {
    // a tube as thick as it is long, upright: nearly the same all round
    let upright = head("high", [0.0, 2.4, 1.5], BARE)
        .replace("aim: Point(x: 0, y: 1.5, z: 0)", "aim: Ceiling");
    let set = lit(&upright);
    let (face, feet) = ([0.0, 1.6, 0.0], [0.0, 0.1, 0.0]);
    within(stops(toward_light(&set, feet), toward_light(&set, face)), -1.38, 0.15);
}

/// Source: derived, E ~ R²/(R² + d²); a square front of the disc's area stands for it.
#[test]
fn d08_large_source_near_by_falls_off_less() {
    let side = (std::f64::consts::PI * 0.36).sqrt();
    let front = format!("modifier: Panel(width: {side:.4}, height: {side:.4})");
    let at = |distance: f64| {
        toward_light(&lit(&head("large", [0.0, 1.5, distance], &front)), [0.0, 1.5, 0.0])
    };
    let loss = stops(at(0.5), at(1.0));
    within(loss, 1.16, 0.1);
    assert!(loss < 1.5, "a point source would lose two");
}

/// Source: a photographic society's page on guide numbers.
#[test]
fn p01_guide_number() {
    let unit = format!("{SMALL}, head: (output: GuideNumber(32))");
    let got = all(&lit(&head("key", [0.0, 1.5, 4.0], &unit))).total.f_number.unwrap();
    within(2.0 * (got / 8.0).log2(), 0.0, 1.0 / 6.0);
}

/// Source: a question-and-answer thread on guide number and power.
#[test]
fn p04_guide_number_and_power() {
    let unit = |name: &str, power: &str| {
        head(
            name,
            [0.0, 1.5, 3.0],
            &format!("{SMALL}, power: \"{power}\", head: (output: GuideNumber(64))"),
        )
    };
    let guide = |lights: String| 3.0 * all(&lit(&lights)).total.f_number.unwrap();
    let (one, two) = (guide(unit("a", "1/64")), guide(unit("a", "1/64") + &unit("b", "1/64")));
    close(one, 8.0, 0.02);
    close(two, 11.3, 0.02);
    within(2.0 * (two / guide(unit("a", "1/32"))).log2(), 0.0, 0.02);
}

/// Source: a camera owners' thread, checked with test shots.
#[test]
fn p06_adding_units() {
    let unit = |name: &str, power: &str| {
        head(name, [0.0, 1.5, 3.0], &format!("{SMALL}, power: \"{power}\""))
    };
    let level = |lights: String| 2.0 * all(&lit(&lights)).total.f_number.unwrap().log2();
    let three = unit("a", "1/4") + &unit("b", "1/8") + &unit("c", "1/8");
    within(level(three) - level(unit("a", "1/2")), 0.0, 0.1);
}

/// Source: derived from the guide number's definition.
#[test]
fn p07_guide_number_at_iso_50() {
    let bare = format!("{BARE}, head: (output: GuideNumber(60))");
    let camera = CAMERA.replace("camera: (", "camera: (iso: 50, ");
    // a bare tube is rated toward what it is aimed at
    let key = head("key", [0.0, 1.5, 4.0], &bare);
    let got = all(&plan("", &format!("lights: [{key}], {camera}"))).total.f_number.unwrap();
    within(2.0 * (got / 10.6).log2(), 0.0, 1.0 / 6.0);
}

/// Source: derived; the trouble is a photo magazine's (2018): the lowest output is still too much
/// wide open.
#[test]
fn p13_too_much_light_wide_open() {
    let over = |power: &str| {
        let unit =
            format!("{SMALL}, power: {power}, head: (output: GuideNumber(60), lowest: \"1/256\")");
        let camera = CAMERA.replace("aperture: \"f/8\"", "iso: 50, aperture: 1.2");
        let light = head("key", [0.0, 1.5, 1.2], &unit);
        all(&plan("", &format!("lights: [{light}], {camera}"))).total
    };
    let full = over("0");
    within(2.0 * (full.f_number.unwrap() / 35.4).log2(), 0.0, 0.2);
    within(full.stops_vs_camera.unwrap(), 9.76, 0.2);
    within(over("\"1/256\"").stops_vs_camera.unwrap(), 1.76, 0.2);
}

/// Source: a flash teacher's page on adding readings (2014).
#[test]
fn r04_sum_of_lights() {
    let unit = |name: &str| {
        let reads = "head: (output: Reading(aperture: \"f/5.6\", distance: 2.5))";
        head(name, [0.0, 1.5, 2.5], &format!("{SMALL}, {reads}"))
    };
    let sum = |names: &[&str]| {
        all(&lit(&names.iter().map(|name| unit(name)).collect::<String>())).total.f_number.unwrap()
    };
    within(2.0 * (sum(&["a", "b"]) / 7.9).log2(), 0.0, 1.0 / 6.0);
    assert_eq!(fstop::marked(sum(&["a", "b"])), "f/8");
    assert_eq!(fstop::marked(sum(&["a", "b", "c", "d"])), "f/11");
}

/// A room with its own light, read at the face's height; no flash but one that is off.
fn room(ev: f64, camera: &str) -> (Plan, f64) {
    let text = format!(
        "(format: 1, ambient: (ev: {ev}), lights: [{}], camera: ({camera}))",
        head("key", [1.0, 2.0, 1.0], SMALL)
    );
    let plan = plan::parse(&text, "room").unwrap();
    let at = [0.0, f64::from(set_stage::ABSENT_FACE_M), 0.02];
    let got = read(&plan, at, DomeAim::Camera, false);
    (plan, got.ambient.unwrap().stops_vs_camera.unwrap())
}

/// Source: a table of exposure values (interiors 5 to 7); a flash teacher's test frame (2011) comes
/// out black at these settings.
#[test]
fn a01_the_room_falls_away() {
    for (ev, under) in [(5.0, 8.0), (7.0, 6.0)] {
        within(room(ev, "iso: 100, shutter: \"1/125\", aperture: \"f/8\"").1, -under, 0.3);
    }
}

/// Source: derived from A01.
#[test]
fn a02_the_room_stays_wide_open() {
    for (ev, under) in [(5.0, 4.2), (7.0, 2.2)] {
        let (plan, got) = room(ev, "iso: 50, shutter: \"1/200\", aperture: 1.2");
        within(got, -under, 0.3);
        let notes = shoot::notes(&plan);
        assert!(notes.iter().any(|note| note.what.contains("tint the shadows")), "{notes:#?}");
    }
}

/// Source: geometry. The head's axis is followed to the ceiling and on as in a mirror.
#[test]
fn b01_ceiling_path_as_in_a_mirror() {
    for (away, tilt, path) in [(3.0, 45.0, 4.24), (6.0, 26.6, 6.71)] {
        let light = head("bounce", [0.0, 1.5, 0.5 * away], SMALL).replace(
            "aim: Point(x: 0, y: 1.5, z: 0)",
            &format!("aim: Toward(azimuth: 180, tilt: {tilt})"),
        );
        let mut set = plan("", &format!("lights: [{light}], {CAMERA}"));
        set.room.height = Length::metres(3.0);
        let stage = set_stage::build(&set).unwrap();
        let source = &stage.lights[0].source;
        let tracer = Tracer::new(&stage, |_| true);
        let up = tracer.scene.intersect(source.position, source.axis).unwrap();
        let normal = up.geometric;
        let on = source.axis - 2.0 * source.axis.dot(normal) * normal;
        let subject = Vec3::new(0.0, 1.5, -0.5 * away as f32);
        let rest = (subject - up.position).dot(on);
        let miss = (up.position + on * rest).distance(subject);
        close(f64::from(up.distance + rest), path, 0.02);
        assert!(f64::from(miss) < 0.02 * path, "the ray misses the subject by {miss} m");
    }
}

/// Light that comes off a ceiling of that reflectance onto an up-facing meter, lx·s.
fn bounced(reflectance: f64, unit: &str, lamp_below: f64, meter_below: f64) -> f64 {
    let light = head("up", [0.0, 6.0 - lamp_below, 0.0], unit)
        .replace("aim: Point(x: 0, y: 1.5, z: 0)", "aim: Ceiling");
    let mut set = plan("", &format!("lights: [{light}], {CAMERA}"));
    set.room.ceiling = Paint::grey(reflectance);
    let at = [0.0, 6.0 - meter_below, 0.0];
    let up = DomeAim::Toward(MeterPoint::Point([0.0, 6.0, 0.0]));
    read(&set, at, up, true).lights[0].bounced_lux_s
}

/// Source: a film forum's reckoning (f/10 in a mirror, f/5 for a grey ceiling, then f/4 from
/// experience); a matt ceiling gives what the experience says.
#[test]
fn b02_ceiling_bounce_exposure() {
    let unit =
        "modifier: Dish(diameter: 0.04, beam: 55, field: 85), head: (output: GuideNumber(28))";
    let lux_s = bounced(0.25, unit, 1.2, 1.6);
    let reads = (lux_s * 100.0 / 250.0).sqrt();
    within(2.0 * (reads / 4.2).log2(), 0.0, 1.0 / 3.0);
}

/// Source: derived, E = ρ·I·Ω/(π·d²).
#[test]
fn b04_ceiling_as_a_matt_source() {
    let unit = "modifier: Dish(diameter: 0.04, beam: 60, field: 60.01)";
    let direct = toward_light(&lit(&head("key", [0.0, 1.5, 2.0], unit)), [0.0, 1.5, 0.0]);
    let at = |lamp_below: f64| stops(bounced(0.8, unit, lamp_below, 1.2), direct);
    let usual = at(0.9);
    within(usual, -0.75, 0.6);
    for moved in [0.4, 1.4] {
        within(at(moved) - usual, 0.0, 0.5);
    }
}

/// The picture of a flag's edge, `b` before the back wall and `a` before a head of that modifier,
/// seen from behind the flag: the edge's shadow, one fit a light.
fn shadow_edge(
    room: &str,
    modifiers: &[&str],
    a: f64,
    b: f64,
    width_m: f64,
    samples: u32,
) -> Vec<Edge> {
    let lights: String = modifiers
        .iter()
        .enumerate()
        .map(|(k, modifier)| head(&format!("light {k}"), [0.0, 1.5, a], modifier))
        .collect();
    let flag = "boards: [(name: \"flag\", kind: Flag, width: 1.5, height: 1.2, \
                place: At(x: -0.75, y: 1.5, z: 0), aim: Toward(azimuth: 0, tilt: 0))],";
    let from = 0.8 * b;
    // 6 mm of frame over 2.4 times the penumbra
    let focal_mm = 6.0 * from / (2.4 * width_m);
    let camera = format!(
        "camera: (upright: false, format: (width_mm: 6, height_mm: 4), focal_mm: {focal_mm:.3}, \
         aperture: \"f/64\", place: At(x: 0, y: 1.5, z: {:.4}), \
         aim: Point(x: 0, y: 1.5, z: {:.4}), \
         focus: Point(x: 0, y: 1.5, z: {:.4}))",
        from - b,
        -b,
        -b
    );
    let mut set = plan(room, &format!("lights: [{lights}], {flag} {camera}"));
    set.room.back_wall = Some(Paint::grey(0.5));
    set.room.mark.as_mut().unwrap().from_back = Length::metres(b);
    let (stage, layers) = rendered(&set, (96, 12), samples);
    (0..modifiers.len())
        .map(|layer| edge::fit(&across(&layers, layer, &stage.camera, from), width_m))
        .collect()
}

/// Source: derived, D·b/a; the construction is a journal article's ('Hard and soft light').
#[test]
fn s01_shadow_edge_width() {
    let dish = "modifier: Dish(diameter: 0.18, beam: 55, field: 85)";
    let got = shadow_edge("", &[dish], 2.5, 1.0, 0.072, 48)[0];
    assert!(got.error_m < 0.02 * 0.072, "{got:?}");
    close(got.width_m, 0.072, 0.15);
}

/// Source: widths derived; the faint second outline is described by a hard-light teacher (2024)
/// and a maker's page.
#[test]
fn s07_two_edges_of_a_tube_in_its_dish() {
    let dish = |diameter: f64| format!("modifier: Dish(diameter: {diameter}, beam: 55, field: 85)");
    let inner = shadow_edge("", &[&dish(0.04)], 2.0, 0.5, 0.01, 48)[0];
    let outer = shadow_edge("", &[&dish(0.18)], 2.0, 0.5, 0.045, 48)[0];
    close(inner.width_m, 0.01, 0.25);
    close(outer.width_m, 0.045, 0.25);
}

/// Source: derived, (a + b)/a.
#[test]
fn s03_shadow_size() {
    let light = head("key", [0.0, 1.5, 2.0], SMALL);
    let board = "boards: [(name: \"head\", kind: Flag, width: 0.16, height: 1.2, \
                 place: At(x: 0, y: 1.5, z: 0), aim: Toward(azimuth: 0, tilt: 0))],";
    let camera = "camera: (upright: false, focal_mm: 60, aperture: \"f/64\", \
                  place: At(x: 0, y: 1.5, z: -0.1), aim: Point(x: 0, y: 1.5, z: -1), \
                  focus: Point(x: 0, y: 1.5, z: -1))";
    let mut set = plan("", &format!("lights: [{light}], {board} {camera}"));
    set.room.back_wall = Some(Paint::grey(0.5));
    set.room.mark.as_mut().unwrap().from_back = Length::metres(1.0);
    let (stage, layers) = rendered(&set, (160, 16), 8);
    let profile = across(&layers, 0, &stage.camera, 0.9);
    let lit = profile[0].1;
    let pixel = profile[1].0 - profile[0].0;
    let width: f64 = profile.iter().map(|(_, v)| (1.0 - v / lit).max(0.0) * pixel).sum();
    close(width, 0.24, 0.05);
}

/// Source: derived, b·tan(az) sideways and (b/cos az)·tan(el) down.
#[test]
fn s04_shadow_place() {
    let (az, el) = (45f64.to_radians(), 30f64.to_radians());
    let far = 5.0;
    let at = [far * az.sin() * el.cos(), 1.5 + far * el.sin(), far * az.cos() * el.cos()];
    let light = head("key", at, "modifier: Dish(diameter: 0.02, beam: 120, field: 160)");
    let board = format!(
        "boards: [(name: \"head\", kind: Flag, width: 0.1, height: 0.1, \
         place: At(x: 0, y: 1.5, z: 0), aim: Point(x: {:.4}, y: {:.4}, z: {:.4}))],",
        at[0], at[1], at[2]
    );
    let camera = "camera: (upright: false, focal_mm: 14, aperture: \"f/64\", \
                  place: At(x: -1, y: 0.8, z: -0.15), aim: Point(x: -1, y: 0.8, z: -1), \
                  focus: Point(x: -1, y: 0.8, z: -1))";
    let mut set = plan("", &format!("lights: [{light}], {board} {camera}"));
    set.room.back_wall = Some(Paint::grey(0.5));
    set.room.mark.as_mut().unwrap().from_back = Length::metres(1.0);
    let size = [80, 80];
    let (stage, layers) = rendered(&set, (80, 80), 4);
    let view = stage.camera.cropped_to(1.0);
    let level = |i: u32| y(layers.layers[0].pixels[i as usize].as_dvec3());
    let lit = (0..6400).map(level).fold(0.0, f64::max);
    let is_dark = |row: u32, column: u32| level(row * size[0] + column) < 0.2 * lit;
    // rows as wide as the board; below it hangs the shadow of its stand
    let width = |row: u32| (0..size[0]).filter(|&column| is_dark(row, column)).count();
    let widest = (0..size[1]).map(width).max().unwrap();
    let (mut sum, mut dark) = (Vec3::ZERO, 0.0);
    for row in (0..size[1]).filter(|&row| 3 * width(row) > 2 * widest) {
        for column in (0..size[0]).filter(|&column| is_dark(row, column)) {
            sum += on_plane(&view, size, column, row, -1.0);
            dark += 1.0;
        }
    }
    assert!(dark > 10.0, "no shadow in the frame");
    let shadow = sum / dark;
    close(f64::from(-shadow.x), 1.0, 0.1);
    close(1.5 - f64::from(shadow.y), 0.82, 0.1);
}

/// Source: a lighting teacher's report on black and white rooms.
#[test]
fn s09_a_white_room_fills_the_shadow_and_keeps_its_edge() {
    let dish = "modifier: Dish(diameter: 0.18, beam: 55, field: 85)";
    let edge = |paint: f64, samples: u32| {
        let paint = format!("(reflectance: {paint})");
        let room = format!(
            "width: 4, depth: 5, height: 2.8, mark: (from_left: 2, from_back: 1), \
             walls: {paint}, ceiling: {paint}, floor: {paint}"
        );
        shadow_edge(&room, &[dish], 2.5, 1.0, 0.072, samples)[0]
    };
    let (black, white) = (edge(0.0, 48), edge(0.85, 600));
    for one in [black, white] {
        assert!(one.error_m < 0.025 * 0.072, "{one:?}");
    }
    close(white.width_m, black.width_m, 0.05);
    assert!(black.shadow.abs() < 0.01 * black.step, "{black:?}");
    assert!(white.shadow > 0.1 * white.step, "the white room hardly fills: {white:?}");
}

/// Luminance times time of the first light at a point, by the spot meter at the camera.
fn spot(plan: &Plan, at: [f64; 3]) -> f64 {
    let stage = set_stage::build(plan).unwrap();
    let options = MeterOptions {
        at: MeterPoint::Point(at),
        dome: DomeAim::Camera,
        flat: true,
        spot_degrees: Some(0.3),
        seed: 1,
    };
    let got = shoot::read(plan, &stage, &options).unwrap();
    got.spot.unwrap().lights[0].cd_s_per_m2
}

/// Source: derived; a photographer's post (2008) on folds that vanish head-on and come up from 45°.
/// A fold is two boards that lean away from each other by 10°.
#[test]
fn k01_crease_contrast_against_rake() {
    let (sin, cos) = 10f64.to_radians().sin_cos();
    let flank = |side: f64| [side * 0.05 * cos, 1.5, -0.05 * sin];
    let board = |name: &str, side: f64| {
        let [x, y, z] = flank(side);
        format!(
            "(name: \"{name}\", kind: Reflector(reflectance: 0.5), width: 0.1, height: 0.3, \
             place: At(x: {x:.5}, y: {y}, z: {z:.5}), aim: Toward(azimuth: {}, tilt: 0)),",
            10.0 * side
        )
    };
    let boards = board("left", -1.0) + &board("right", 1.0);
    let contrast = |deg: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        let light = head("rake", [5.0 * sin, 1.5, 5.0 * cos], SMALL);
        let set = plan("", &format!("lights: [{light}], boards: [{boards}], {CAMERA}"));
        (spot(&set, flank(1.0)), spot(&set, flank(-1.0)))
    };
    for (deg, expected) in [(0.0, 0.0), (45.0, 0.51), (70.0, 1.53)] {
        let (lit, unlit) = contrast(deg);
        within(stops(lit, unlit), expected, 0.2);
    }
    let (lit, unlit) = contrast(81.0);
    assert!(unlit < 1e-3 * lit, "the far flank is in its own shadow from 80°: {unlit} of {lit}");
    let (lit, unlit) = contrast(79.0);
    assert!(unlit > 1e-3 * lit, "{unlit} of {lit}");
}

/// Source: derived, cos 70°. The cloth hangs pressed flat.
#[test]
fn k03_raking_dims_cloth() {
    let cloth = "cloths: [(name: \"sheet\", fabric: (paint: (reflectance: 0.5)), \
                 shape: Backdrop(width: 3, top: 3, behind: 0.5), creases: 0, folds: 0)],";
    let at = |deg: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        let light =
            head("key", [3.0 * sin, 1.5, 3.0 * cos - 0.5], SMALL).replace("z: 0)", "z: -0.5)");
        let set = plan("", &format!("lights: [{light}], {cloth} {CAMERA}"));
        spot(&set, [0.0, 1.5, -0.5])
    };
    within(stops(at(70.0), at(0.0)), -1.55, 0.1);
}

/// Source: derived, (f/N)·b/s; the remedy (open up, pull the subject forward) is a blog's (2013).
/// The edge of a white board far behind the focus is smeared as a disc source smears a shadow.
#[test]
fn k04_creases_against_depth_of_field() {
    for (f_number, smear_mm, sensor_mm) in [(1.2, 42.5, 3.0), (8.0, 6.4, 3.0)] {
        let smear = smear_mm * 1e-3;
        let board = "boards: [(name: \"white\", kind: Reflector(reflectance: 0.8), width: 2, \
                     height: 2, place: At(x: 1, y: 1.5, z: -1.5), aim: Toward(azimuth: 0, tilt: 0))],";
        let light = head("key", [0.0, 1.5, 4.0], SMALL);
        let camera = format!(
            "camera: (upright: false, format: (width_mm: {sensor_mm}, height_mm: 3), focal_mm: 85, \
             aperture: {f_number}, place: At(x: 0, y: 1.5, z: 2.5), \
             aim: Point(x: 0, y: 1.5, z: 0), focus: Point(x: 0, y: 1.5, z: 0))"
        );
        let set = plan("", &format!("lights: [{light}], {board} {camera}"));
        let (stage, layers) = rendered(&set, (600, 16), 64);
        let profile = across(&layers, 0, &stage.camera, 4.0);
        let near: Vec<_> = profile.into_iter().filter(|(x, _)| x.abs() < 1.3 * smear).collect();
        let got = edge::fit(&near, smear);
        // known to half of what is asked
        assert!(got.error_m < 0.05 * smear, "{got:?}");
        close(got.width_m, smear, 0.1);
    }
}

/// Sources: two pages on white backgrounds (a university's, a magazine's of 2011).
#[test]
fn k05_white_paper_tone() {
    let set = |aperture: f64| {
        let paper = "cloths: [(name: \"paper\", fabric: (paint: (reflectance: 0.88)), \
                     shape: Backdrop(width: 3, top: 3, behind: 0), creases: 0, folds: 0)],";
        let light =
            head("key", [1.0, 2.5, 3.0], "modifier: Dish(diameter: 0.2, beam: 90, field: 120)");
        let camera = format!(
            "camera: (focal_mm: 300, aperture: {aperture:.5}, place: At(x: 0, y: 1.5, z: 5), \
             aim: Point(x: 0, y: 1.5, z: 0), focus: Point(x: 0, y: 1.5, z: 0))"
        );
        plan("", &format!("lights: [{light}], {paper} {camera}"))
    };
    let metered = set(8.0);
    let along = DomeAim::Toward(MeterPoint::Point([0.0, 1.5, 5.0]));
    let reads = read(&metered, [0.0, 1.5, 0.02], along, true).total.f_number.unwrap();
    for (over, low, high) in [(0.0, 230.0, 250.0), (1.0, 250.0, 255.0), (1.5, 253.0, 255.0)] {
        let plan = set(reads * (-0.5f64 * over).exp2());
        let (stage, layers) = rendered(&plan, (12, 12), 16);
        let names: Vec<String> = layers.layers.iter().map(|l| l.name.clone()).collect();
        let picture = shoot::mix(&plan, &stage, &names).apply(&layers).unwrap();
        let still = develop(&picture, Tone::Neutral);
        let mean = still.pixels.iter().map(|p| f64::from(p.y)).sum::<f64>() / 144.0 * 255.0;
        assert!((low..=high).contains(&mean), "paper at +{over} stops: {mean}");
    }
}

/// Source: a stage-lighting answer (0.018 m a degree and metre). A beam that falls to half at the
/// grid's angle draws its half-level circle there.
#[test]
fn g01_spot_size_of_a_narrow_beam() {
    for (deg, expected) in [(10.0f64, 0.35), (20.0, 0.71), (30.0, 1.07)] {
        let beam = format!("modifier: Dish(diameter: 0.04, beam: {deg}, field: {})", 1.6 * deg);
        let light = head("spot", [0.0, 1.5, 0.0], &beam)
            .replace("aim: Point(x: 0, y: 1.5, z: 0)", "aim: Point(x: 0, y: 1.5, z: -2)");
        let focal_mm = 36.0 * 1.5 / (1.5 * expected);
        let camera = format!(
            "camera: (upright: false, focal_mm: {focal_mm:.3}, aperture: \"f/64\", \
             place: At(x: 0, y: 1.5, z: -0.5), aim: Point(x: 0, y: 1.5, z: -2), \
             focus: Point(x: 0, y: 1.5, z: -2))"
        );
        let mut set = plan("", &format!("lights: [{light}], {camera}"));
        set.room.back_wall = Some(Paint::grey(0.5));
        set.room.mark.as_mut().unwrap().from_back = Length::metres(2.0);
        let (stage, layers) = rendered(&set, (120, 4), 24);
        let profile = across(&layers, 0, &stage.camera, 1.5);
        let peak = (58..62).map(|i| profile[i].1).sum::<f64>() / 4.0;
        let pixel = profile[1].0 - profile[0].0;
        let got = profile.iter().filter(|(_, v)| *v > 0.5 * peak).count() as f64 * pixel;
        close(got, expected, 0.15);
    }
}

/// Source: derived; the trouble is a camera site's ('unwanted backlight'). The note says by how
/// many degrees the lens is off the beam's axis.
#[test]
fn g03_rim_light_and_the_lens() {
    let notes = |half_deg: f64| {
        let modifier = format!(
            "modifier: Dish(diameter: 0.18, beam: {}, field: {})",
            1.2 * half_deg,
            2.0 * half_deg
        );
        let light =
            head("rim", [1.0, 2.2, -1.2], &modifier).replace("y: 1.5, z: 0)", "y: 1.6, z: 0)");
        let camera = "camera: (place: At(x: 0, y: 1.5, z: 3), aim: Point(x: 0, y: 1.6, z: 0), \
                      focus: Point(x: 0, y: 1.6, z: 0))";
        shoot::notes(&plan("", &format!("lights: [{light}], {camera}")))
    };
    assert!(notes(20.0).iter().all(|note| !note.what.contains("flare")), "a 20° grid spares it");
    let open = notes(30.0);
    let flare =
        open.iter().find(|note| note.what.contains("flare")).expect("an open dish does not");
    let degrees = flare.what.split('°').next().unwrap().rsplit(' ').next().unwrap();
    within(degrees.parse().unwrap(), 28.0, 1.0);
}

/// Source: derived from a published 5500 K to about 3200 K. Behind +131 mired a head of 5500 K is
/// what a camera balanced for tungsten sees as white.
#[test]
fn t02_mired_shift() {
    let light = head(
        "key",
        [0.0, 1.5, 3.0],
        &format!("{SMALL}, head: (kelvin: 5500), gel: Mired(shift: 131, transmission: 1.0)"),
    );
    let card = "boards: [(name: \"card\", kind: Reflector(reflectance: 0.18), width: 1, \
                height: 1, place: At(x: 0, y: 1.5, z: 0), aim: Toward(azimuth: 0, tilt: 0))],";
    let set = plan("", &format!("lights: [{light}], {card} {CAMERA}"));
    let (stage, layers) = rendered(&set, (4, 4), 4);
    let names: Vec<String> = layers.layers.iter().map(|l| l.name.clone()).collect();
    let cast = |mired: f64| {
        let mut balanced = set.clone();
        balanced.camera.white_balance = 1e6 / mired;
        let picture = shoot::mix(&balanced, &stage, &names).apply(&layers).unwrap();
        let sum = picture.pixels.iter().sum::<Vec3>();
        f64::from(sum.x / sum.z).log2()
    };
    // where red and blue are even, by bisection
    let (mut low, mut high) = (1e6 / 5500.0, 1e6 / 2500.0);
    assert!(cast(low) > 0.0 && cast(high) < 0.0);
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if cast(middle) > 0.0 { low = middle } else { high = middle }
    }
    close(0.5 * (low + high) - 1e6 / 5500.0, 131.0, 0.05);
    within(1e6 / high, 3200.0, 60.0);
}
