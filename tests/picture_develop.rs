//! Mixing and tone: what changes without a new ray, and where tones land.

use foreshadow::layers::{Layer, Layers, LightKind};
use foreshadow::optics::color;
use foreshadow::optics::exposure::{Exposure, METER_CONSTANT, lambertian_luminance};
use foreshadow::picture::{Mix, MixError, Picture, Tone, develop};
use glam::Vec3;

const METERED: Exposure = Exposure { iso: 100.0, f_number: 8.0, shutter_s: 1.0 / 125.0 };

/// A flash key, a flash rim and the room, each with a shape of its own.
fn layers() -> Layers {
    let (width, height) = (32u32, 20u32);
    let count = (width * height) as usize;
    let layer = |name: &str, kind, f: &dyn Fn(f32, f32) -> Vec3| Layer {
        name: name.to_owned(),
        kind,
        pixels: (0..count)
            .map(|i| {
                let (x, y) = (i as u32 % width, i as u32 / width);
                f(x as f32 / width as f32, y as f32 / height as f32)
            })
            .collect(),
        variance: vec![0.25; count],
    };
    Layers {
        width,
        height,
        layers: vec![
            layer("key", LightKind::Flash, &|x, y| 10.0 * x * Vec3::new(1.0, 0.9, 0.8) + y),
            layer("rim", LightKind::Flash, &|x, y| Vec3::splat(40.0 * (x * y).powi(4))),
            layer("ambient", LightKind::Continuous, &|_, y| 30.0 * y * Vec3::new(1.0, 0.8, 0.5)),
        ],
        depth: vec![3.0; count],
        samples: vec![64; count],
    }
}

/// The same set 'rendered' with each light at another setting: linear light makes it a product.
fn rendered_with(scale: [Vec3; 3]) -> Layers {
    let mut layers = layers();
    for (layer, scale) in layers.layers.iter_mut().zip(scale) {
        for pixel in &mut layer.pixels {
            *pixel *= scale;
        }
    }
    layers
}

#[test]
fn a_remix_equals_a_new_rendering() {
    let warm = color::light_gain(3200.0, 5600.0);
    let gains = [Vec3::splat(0.25), warm * 0.5, Vec3::ONE];
    let remixed =
        Mix::new(METERED).with("key", gains[0]).with("rim", gains[1]).apply(&layers()).unwrap();
    let rendered = Mix::new(METERED).apply(&rendered_with(gains)).unwrap();
    for (a, b) in remixed.pixels.iter().zip(&rendered.pixels) {
        assert!((a - b).abs().max_element() <= 2e-6 * b.max_element(), "{a} {b}");
    }
}

#[test]
fn the_camera_acts_as_cameras_do() {
    let one = |exposure| Mix::new(exposure).with("key", Vec3::ZERO).apply(&layers()).unwrap();
    let only = |name: &str, exposure| {
        let mut mix = Mix::new(exposure);
        for other in ["key", "rim", "ambient"].iter().filter(|other| **other != name) {
            mix = mix.with(*other, Vec3::ZERO);
        }
        mix.apply(&layers()).unwrap()
    };
    let mean = |picture: &Picture| {
        picture.pixels.iter().map(|p| f64::from(p.y)).sum::<f64>() / picture.pixels.len() as f64
    };
    let stops =
        |name: &str, exposure| (mean(&only(name, exposure)) / mean(&only(name, METERED))).log2();

    let slower = Exposure { shutter_s: 2.0 * METERED.shutter_s, ..METERED };
    assert!(stops("key", slower).abs() < 1e-9);
    assert!((stops("ambient", slower) - 1.0).abs() < 1e-6);
    let wider = Exposure { f_number: 5.656_854_25, ..METERED };
    assert!((stops("key", wider) - 1.0).abs() < 1e-6);
    assert!((stops("ambient", wider) - 1.0).abs() < 1e-6);
    let faster = Exposure { iso: 400.0, ..METERED };
    assert!((stops("rim", faster) - 2.0).abs() < 1e-6);

    // A light at zero gives nothing, and lights add.
    let sum: f64 = ["rim", "ambient"].iter().map(|name| mean(&only(name, METERED))).sum();
    assert!((mean(&one(METERED)) / sum - 1.0).abs() < 1e-6);
}

#[test]
fn variance_scales_with_the_square() {
    let layers = layers();
    let mix = Mix::new(METERED)
        .with("key", Vec3::splat(2.0))
        .with("rim", Vec3::ZERO)
        .with("ambient", Vec3::ZERO);
    let factor = METERED.linear_from_flash(2.0) as f32;
    for variance in mix.variance(&layers).unwrap() {
        assert!((variance / (0.25 * factor * factor) - 1.0).abs() < 1e-5);
    }
}

#[test]
fn a_misspelt_light_is_told() {
    let error = Mix::new(METERED).with("kay", Vec3::ONE).apply(&layers()).unwrap_err();
    assert!(matches!(&error, MixError::UnknownLayer { name, .. } if name == "kay"));
    assert_eq!(error.to_string(), "no layer is named \"kay\"; there are key, rim, ambient");
}

fn picture(pixels: Vec<Vec3>) -> Picture {
    Picture { width: pixels.len() as u32, height: 1, pixels }
}

fn code(linear: Vec3, tone: Tone) -> Vec3 {
    develop(&picture(vec![linear]), tone).pixels[0] * 255.0
}

/// 8-bit code of a matt surface at the sitter's reading plus `stops`.
fn surface_code(reflectance: f64, stops: f64) -> f32 {
    let lux_s = METERED.metered_lux_s(METER_CONSTANT) * stops.exp2();
    let linear = METERED.linear_from_flash(lambertian_luminance(lux_s, reflectance));
    code(Vec3::splat(linear as f32), Tone::Neutral).x
}

#[test]
fn k05_white_paper_at_the_reading_is_near_240() {
    for reflectance in [0.85, 0.88, 0.90] {
        let level = surface_code(reflectance, 0.0);
        assert!((level - 240.0).abs() < 10.0, "ρ {reflectance}: {level}");
        assert!(level < 254.0);
        for stops in [1.0, 1.5] {
            assert!(surface_code(reflectance, stops) > 245.0, "ρ {reflectance} +{stops}");
        }
    }
}

#[test]
fn mid_grey_and_shadows_are_kept() {
    assert!((code(Vec3::splat(0.18), Tone::Neutral).x - 117.646).abs() < 0.01);
    for linear in [0.0, 0.001, 0.02, 0.1, 0.18] {
        let (neutral, straight) =
            (code(Vec3::splat(linear), Tone::Neutral), code(Vec3::splat(linear), Tone::Straight));
        assert!((neutral - straight).abs().max_element() < 1e-3);
    }
}

#[test]
fn the_neutral_curve_stays_near_srgb() {
    let most = (0..200)
        .map(|k| Vec3::splat(k as f32 / 200.0))
        .map(|v| (code(v, Tone::Neutral) - code(v, Tone::Straight)).x)
        .fold(0.0, f32::max);
    assert!((17.0..18.0).contains(&most), "{most}");
}

#[test]
fn the_curve_rises_smoothly_to_white() {
    let n = 4000;
    let linear: Vec<f32> = (0..n).map(|k| 2.4 * k as f32 / n as f32).collect();
    let still = develop(&picture(linear.iter().map(|&v| Vec3::splat(v)).collect()), Tone::Neutral);
    let slopes: Vec<f32> = linear
        .windows(2)
        .zip(still.pixels.windows(2))
        .map(|(x, y)| (y[1].x - y[0].x) / (color::srgb_encode(x[1]) - color::srgb_encode(x[0])))
        .collect();
    // The first steps are too short in linear values to hold many digits.
    for (pair, linear) in slopes.windows(2).zip(&linear).skip(20) {
        assert!(pair[0] > -1e-3, "falls at {linear}: {}", pair[0]);
        assert!(pair[0] < 1.35, "steep at {linear}: {}", pair[0]);
        assert!((pair[1] - pair[0]).abs() < 0.06, "kink at {linear}");
    }
    assert!(still.pixels[n - 1].x > 1.0 - 1e-6);
    // Still below white well over the paper.
    assert!(code(Vec3::splat(1.4), Tone::Neutral).x < 254.0);
}

#[test]
fn coloured_light_keeps_its_hue_and_fades_when_it_burns_out() {
    let hue = |c: Vec3| (c.y - c.z) / (c.x - c.z);
    let decode = |c: Vec3| {
        let c = c / 255.0;
        Vec3::new(color::srgb_decode(c.x), color::srgb_decode(c.y), color::srgb_decode(c.z))
    };
    let orange = Vec3::new(1.0, 0.4, 0.1);
    for strength in [0.1, 0.5, 1.0, 1.8, 4.0, 20.0] {
        let shown = decode(code(orange * strength, Tone::Neutral));
        assert!((hue(shown) - hue(orange)).abs() < 2e-3, "× {strength}: {shown}");
    }
    let saturation = |c: Vec3| 1.0 - c.min_element() / c.max_element();
    let at = |strength: f32| saturation(decode(code(orange * strength, Tone::Neutral)));
    assert!((at(0.5) - 0.9).abs() < 1e-3);
    assert!(at(4.0) < at(1.0) && at(50.0) < 0.1, "{} {} {}", at(1.0), at(4.0), at(50.0));
    // Out-of-gamut negatives do no harm.
    assert!(code(Vec3::new(0.5, -0.1, 0.2), Tone::Neutral).is_finite());
}
