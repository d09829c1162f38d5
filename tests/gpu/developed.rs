//! Development on the card equals `picture`'s, within one level of 255.

use foreshadow::layers::{Layer, Layers, LightKind};
use foreshadow::optics::exposure::Exposure;
use foreshadow::optics::lens::Falloff;
use foreshadow::optics::shutter::Curtains;
use foreshadow::picture::card::{CardLayer, Developer, LensDeveloper};
use foreshadow::picture::{
    Development, Edge, Mix, Picture, Stray, StrayLens, Taking, Tone, View, develop,
};
use glam::{Vec2, Vec3};

use crate::card::card;

/// Layers whose mix runs from black to far over white, in all hues.
fn ramps(lights: usize) -> Layers {
    let (width, height) = (512u32, 48u32);
    let layer = |light: usize| {
        let pixels = (0..width * height).map(|k| {
            let (x, y) = (k % width, k / width);
            let level = 2f32.powf(x as f32 / 24.0 - 8.0) * (1.0 + light as f32 * 0.3);
            let hue = (y + 7 * light as u32) as f32 / height as f32 * std::f32::consts::TAU;
            let tint = |shift: f32| 0.55 + 0.45 * (hue + shift).cos();
            Vec3::new(tint(0.0), tint(2.1), tint(4.2)) * level
        });
        Layer {
            name: format!("light {light}"),
            kind: if light == 1 { LightKind::Continuous } else { LightKind::Flash },
            pixels: pixels.collect(),
            variance: vec![0.0; (width * height) as usize],
        }
    };
    let pixels = (width * height) as usize;
    Layers {
        width,
        height,
        layers: (0..lights).map(layer).collect(),
        depth: vec![1.0; pixels],
        samples: vec![1; pixels],
    }
}

#[test]
fn developed_on_the_card_as_in_rust() {
    let gpu = card();
    let exposure = Exposure { iso: 100.0, f_number: 8.0, shutter_s: 0.008 };
    for lights in [1, 3, 4, 9] {
        let layers = ramps(lights);
        let mix = Mix::new(exposure)
            .with("light 0", Vec3::new(9.0, 6.0, 4.0))
            .with("light 1", Vec3::splat(300.0));
        let mix =
            if lights == 1 { Mix::new(exposure).with("light 0", Vec3::splat(8.0)) } else { mix };
        let buffers: Vec<wgpu::Buffer> = layers
            .layers
            .iter()
            .map(|layer| {
                let padded: Vec<[f32; 4]> =
                    layer.pixels.iter().map(|p| p.extend(0.0).to_array()).collect();
                gpu.storage("layer", &padded).unwrap()
            })
            .collect();
        let buffers: Vec<&wgpu::Buffer> = buffers.iter().collect();
        let developer = Developer::new(gpu, layers.width * layers.height).unwrap();
        for tone in [Tone::Neutral, Tone::Straight] {
            developer.develop(gpu, &buffers, &mix.factors(&layers).unwrap(), tone);
            let ours = develop(&mix.apply(&layers).unwrap(), tone);
            let (mut worst, mut seen) = (0.0f32, [false; 256]);
            for (still, code) in ours.pixels.iter().zip(developer.read(gpu).unwrap()) {
                for c in 0..3 {
                    worst = worst.max((255.0 * still[c] - f32::from(code[c])).abs());
                    seen[usize::from(code[c])] = true;
                }
                assert_eq!(code[3], 255);
            }
            let levels = seen.iter().filter(|&&s| s).count();
            println!(
                "{lights} lights, {tone:?}: off by {worst:.3} of 255 at most, {levels} levels"
            );
            // half a level is what rounding to bytes takes
            assert!(worst <= 1.0, "{lights} lights, {tone:?}: {worst} of 255");
            assert!(levels > 200, "{lights} lights, {tone:?}: only {levels} levels are tested");
        }
    }
}

/// Two lights over a dark ground: a flash with points far over white, and an even steady one.
fn night(width: u32, height: u32) -> Layers {
    let layer = |name: &str, kind, at: &dyn Fn(u32, u32) -> Vec3| Layer {
        name: name.into(),
        kind,
        pixels: (0..width * height).map(|k| at(k % width, k / width)).collect(),
        variance: vec![0.0; (width * height) as usize],
    };
    let lamps = |x: u32, y: u32| {
        let hot = (x % 53 == 20 && y % 37 == 11) || (x < 3 && y > height - 4);
        let ramp = Vec3::new(0.02, 0.03, 0.05) * (x as f32 / width as f32);
        if hot { Vec3::new(90.0, 60.0, 20.0) } else { ramp }
    };
    let sky = |_: u32, y: u32| Vec3::new(0.1, 0.12, 0.2) * (y as f32 / height as f32);
    let pixels = (width * height) as usize;
    Layers {
        width,
        height,
        layers: vec![
            layer("lamps", LightKind::Flash, &lamps),
            layer("sky", LightKind::Continuous, &sky),
        ],
        depth: vec![1.0; pixels],
        samples: vec![1; pixels],
    }
}

fn put(layers: &Layers) -> Vec<wgpu::Buffer> {
    let padded = |layer: &Layer| -> Vec<[f32; 4]> {
        layer.pixels.iter().map(|p| p.extend(0.0).to_array()).collect()
    };
    layers.layers.iter().map(|layer| card().storage("layer", &padded(layer)).unwrap()).collect()
}

fn night_taking() -> Taking {
    let exposure = Exposure { iso: 100.0, f_number: 4.0, shutter_s: 0.008 };
    let lights = [("lamps", LightKind::Flash), ("sky", LightKind::Continuous)];
    let unit = Mix::new(exposure).factors_of(lights.into_iter());
    // so that a layer's value is the picture's
    let mix =
        Mix::new(exposure).with("lamps", Vec3::ONE / unit[0]).with("sky", Vec3::ONE / unit[1]);
    Taking::plain(mix, View { half_tan: [0.24, 0.16], pupil_tan: 0.02 })
}

/// Each layer with its pixels on the card.
fn side_by_side<'a>(layers: &'a Layers, buffers: &'a [wgpu::Buffer]) -> Vec<CardLayer<'a>> {
    let pairs = layers.layers.iter().zip(buffers);
    pairs.map(|(layer, pixels)| CardLayer { name: &layer.name, kind: layer.kind, pixels }).collect()
}

/// The filter's glow on the card is the processor's, within 1 % of every pixel.
#[test]
fn the_filter_glows_on_the_card_as_in_rust() {
    let gpu = card();
    for (size, strength) in [((96, 64), 0.125), ((131, 77), 0.5), ((64, 100), 1.0)] {
        let layers = night(size.0, size.1);
        let mut taking = night_taking();
        taking.lens = StrayLens { flare: 0.0, filter: strength };
        let buffers = put(&layers);
        let on_card = side_by_side(&layers, &buffers);
        let mut developer = LensDeveloper::new(gpu, size).unwrap();
        let theirs = developer.linear(gpu, &on_card, &taking).unwrap();
        let ours = taking.picture(&layers).unwrap();
        let plain = night_taking().picture(&layers).unwrap();
        let worst = |a: &[Vec3], b: &[Vec3]| {
            let off = a.iter().zip(b).map(|(a, b)| ((*a - *b) / *b).abs().max_element());
            off.fold(0.0, f32::max)
        };
        let off = worst(&theirs, &ours.pixels);
        let changed = worst(&plain.pixels, &ours.pixels);
        println!("{size:?}, {strength}: off by {:.4} %, the glow is {changed:.2}", 100.0 * off);
        assert!(changed > 0.3, "the glow changes nothing");
        assert!(off < 0.01, "{size:?}, {strength}: off by {off}");
    }
}

/// Filter, flare, ghosts, curtains, fall-off, contrast, black and white: developed as in Rust.
#[test]
fn a_lens_develops_on_the_card_as_in_rust() {
    let gpu = card();
    let size = (120, 83);
    let layers = night(size.0, size.1);
    let buffers = put(&layers);
    let on_card = side_by_side(&layers, &buffers);
    let stray = |light: &str, kind, x: f32| Stray {
        light: light.into(),
        kind,
        on_lens: 2.0,
        tangents: Vec2::new(x, 0.05),
    };
    let plain = night_taking();
    let falloff = Some(Falloff::barrel(2.8, 1.4, 1.5, 0.29));
    let curtains = Some((Curtains::new(1.0 / 500.0, 1.0 / 200.0, None), Edge::Bottom));
    let filter = StrayLens { flare: 0.0, filter: 0.25 };
    let flare = StrayLens { flare: 0.02, filter: 0.25 };
    let strays =
        vec![stray("lamps", LightKind::Flash, 0.4), stray("sky", LightKind::Continuous, -0.1)];
    let takings = [
        plain.clone(),
        Taking { falloff, ..plain.clone() },
        Taking { curtains, lens: filter, ..plain.clone() },
        Taking { lens: flare, stray: strays.clone(), ..plain.clone() },
        Taking { curtains, falloff, lens: flare, stray: strays, ..plain.clone() },
        plain.clone(),
    ];
    let monochrome = Some(Vec3::new(0.5, 0.3, 0.2));
    let developments = [
        Development::from(Tone::Neutral),
        Development { contrast: 1.3, ..Tone::Neutral.into() },
        Development { contrast: 0.8, monochrome, ..Tone::Straight.into() },
    ];
    // one developer through all of them: what it keeps must not go stale
    let mut developer = LensDeveloper::new(gpu, size).unwrap();
    for (number, taking) in takings.iter().enumerate() {
        let picture: Picture = taking.picture(&layers).unwrap();
        for development in developments {
            developer.develop(gpu, &on_card, taking, development).unwrap();
            let ours = develop(&picture, development);
            let mut worst = 0.0f32;
            for (still, code) in ours.pixels.iter().zip(developer.read(gpu).unwrap()) {
                for c in 0..3 {
                    worst = worst.max((255.0 * still[c] - f32::from(code[c])).abs());
                }
            }
            println!("lens {number}, {development:?}: off by {worst:.3} of 255 at most");
            assert!(worst <= 1.0, "lens {number}, {development:?}: {worst} of 255");
        }
    }
    // a dimmer light is mixed anew with its stray light
    let mut dim = takings[3].clone();
    developer.develop(gpu, &on_card, &dim, Tone::Straight).unwrap();
    let before = developer.read(gpu).unwrap();
    dim.mix = dim.mix.clone().with("lamps", Vec3::ZERO);
    developer.develop(gpu, &on_card, &dim, Tone::Straight).unwrap();
    let ours = develop(&dim.picture(&layers).unwrap(), Tone::Straight);
    let after = developer.read(gpu).unwrap();
    assert_ne!(before, after);
    for (still, code) in ours.pixels.iter().zip(after) {
        assert!((255.0 * still.x - f32::from(code[0])).abs() <= 1.0);
    }
}
