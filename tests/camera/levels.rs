//! What acts on all light alike: neutral filters, fall-off, white paper's tone.

use foreshadow::shoot::{self, DomeAim, MeterOptions, MeterPoint};
use foreshadow::stage;

use crate::set::{close, crate_plan, parse, rendered, taken};

#[test]
fn a_neutral_filter_takes_flash_and_room_alike() {
    let bare = crate_plan("flare: 0,", "");
    let (stage, layers) = rendered(&bare, (24, 36), 2);
    let first = taken(&bare, &stage, &layers);
    for (nd, share) in [("3", 0.125), ("\"ND8\"", 0.125), ("\"0.9 D\"", 0.125_893)] {
        let filtered = crate_plan(&format!("flare: 0, nd: {nd},"), "");
        for (a, b) in taken(&filtered, &stage, &layers).pixels.iter().zip(&first.pixels) {
            let off = (*a - *b * share).abs().max_element();
            assert!(off <= 1e-5 * b.max_element(), "{nd}: {a} of {b}");
        }
    }
    // the meter in the sitter's place has no filter; the camera needs three stops more
    let options = MeterOptions {
        at: MeterPoint::Point([0.0, 1.35, 0.3]),
        dome: DomeAim::Camera,
        flat: false,
        spot_degrees: None,
        seed: 1,
    };
    let read = |nd: &str| {
        let plan = crate_plan(nd, "");
        shoot::read(&plan, &stage, &options).unwrap()
    };
    let (bare, filtered) = (read(""), read("nd: 3,"));
    assert_eq!(bare.total.f_number, filtered.total.f_number);
    assert_eq!(bare.iso, filtered.iso);
    let change = filtered.total.stops_vs_camera.unwrap() - bare.total.stops_vs_camera.unwrap();
    assert!((change + 3.0).abs() < 1e-9, "{change}");
}

#[test]
fn corners_fall_off_as_stated() {
    let even = crate_plan("flare: 0, focal_mm: 24,", "");
    let natural = crate_plan("flare: 0, focal_mm: 24, vignetting: Natural,", "");
    let barrel = |aperture: &str| {
        crate_plan(
            &format!(
                "flare: 0, focal_mm: 24, aperture: \"{aperture}\", \
                 vignetting: Barrel(widest: \"f/2\", corner_stops: 2),"
            ),
            "",
        )
    };
    let (stage, layers) = rendered(&even, (36, 54), 2);
    let first = taken(&even, &stage, &layers);
    let half = stage.camera.half_frame();
    let corner = |picture: &foreshadow::picture::Picture| f64::from(picture.pixels[0].y);
    // the corner pixel's middle lies half a pixel inside
    let tan2 =
        (f64::from(half.x) * 35.0 / 36.0).powi(2) + (f64::from(half.y) * 53.0 / 54.0).powi(2);
    let cos4 = (1.0 + tan2).powi(-2);
    assert!(cos4 < 0.4, "a wide lens: {cos4}");
    close(corner(&taken(&natural, &stage, &layers)) / corner(&first), cos4, 1e-4);
    let gain = |f_number: f64| (8.0 / f_number).powi(2);
    let wide = corner(&taken(&barrel("f/2"), &stage, &layers)) / corner(&first) / gain(2.0);
    let stopped = corner(&taken(&barrel("f/8"), &stage, &layers)) / corner(&first);
    // two stops at the very corner, a little less half a pixel in
    let taken_stops = (wide / cos4).log2();
    assert!((-2.0..-1.85).contains(&taken_stops), "{taken_stops}");
    close(stopped, cos4, 1e-3);
}

/// Case K05 from plan to tones: white paper where the meter reads the camera's aperture.
#[test]
fn k05_white_paper_at_the_reading() {
    let text = |aperture: f64, more: &str| {
        format!(
            r#"(
                format: 1,
                room: (walls: (reflectance: 0.05), ceiling: (reflectance: 0.05), floor: (reflectance: 0.05)),
                boxes: [(name: "paper", width: 1.2, height: 1.2, depth: 0.1,
                         paint: (reflectance: 0.88))],
                lights: [(name: "key", power: "1/16", place: At(x: 1.0, y: 1.6, z: 2.2),
                          aim: Point(x: 0, y: 0.6, z: 0))],
                camera: (
                    flare: 0, focal_mm: 200, aperture: {aperture},
                    place: At(x: 0, y: 0.6, z: 2.9), aim: Point(x: 0, y: 0.6, z: 0.05),
                    focus: Point(x: 0, y: 0.6, z: 0.05),
                ),
                {more}
            )"#
        )
    };
    let plan = parse(&text(8.0, ""));
    let stage = stage::build(&plan).unwrap();
    let options = MeterOptions {
        at: MeterPoint::Point([0.0, 0.6, 0.052]),
        dome: DomeAim::Camera,
        flat: true,
        spot_degrees: None,
        seed: 1,
    };
    let reading = shoot::read(&plan, &stage, &options).unwrap().total.f_number.unwrap();
    let (_, layers) = rendered(&plan, (12, 12), 24);
    for (over, range) in [(0.0, 230.0..=250.0), (1.0, 250.0..=255.0), (1.5, 253.0..=255.0)] {
        let plan = parse(&text(reading * (-0.5f64 * over).exp2(), ""));
        let picture = taken(&plan, &stage, &layers);
        let still = shoot::develop_plan(&plan, &picture);
        let level = still.pixels.iter().map(|p| f64::from(p.y)).sum::<f64>() / 144.0 * 255.0;
        eprintln!("paper at +{over}: {level}");
        assert!(range.contains(&level), "paper at +{over} stops: {level}");
    }
}
