//! Development on the card equals `picture`'s, within one level of 255.

use foreshadow::layers::{Layer, Layers, LightKind};
use foreshadow::optics::exposure::Exposure;
use foreshadow::picture::card::Developer;
use foreshadow::picture::{Mix, Tone, develop};
use glam::Vec3;

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
