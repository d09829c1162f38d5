//! The slide: first look, passing over, renewal.

use foreshadow::picture::Tone;
use foreshadow::plan::{self, shipped};
use foreshadow::settle::Slide;
use foreshadow::shoot;
use foreshadow::stage;
use foreshadow::trace::Options;
use glam::Vec3;

use crate::card::card;

const SIZE: (u32, u32) = (72, 48);

/// Mean level of a developed picture, 0 to 1.
fn level(picture: &[[u8; 4]]) -> f32 {
    let sum: u32 =
        picture.iter().map(|[r, g, b, _]| u32::from(*r) + u32::from(*g) + u32::from(*b)).sum();
    sum as f32 / (picture.len() as f32 * 765.0)
}

#[test]
fn a_picture_slides_from_first_look_to_truth() {
    let shipped = shipped::SHIPPED[0];
    let plan = plan::parse(shipped.text, shipped.name).unwrap();
    let stage = stage::build(&plan).unwrap();
    let names: Vec<String> =
        stage.lights.iter().filter(|light| light.on).map(|light| light.name.clone()).collect();
    let mix = shoot::mix(&plan, &stage, &names);
    let lit = stage.lights.iter().filter(|light| light.on);
    let factors = mix.factors_of(lit.map(|light| (light.name.as_str(), light.kind)));
    let options = Options {
        width: SIZE.0,
        height: SIZE.1,
        max_samples: 0,
        within_stops: None,
        seed: 3,
        mix: factors.clone(),
        time_limit: None,
    };
    let mut slide = Slide::new(card(), &stage, &names, options).unwrap();
    assert!(slide.within_stops().is_infinite());

    // one step shows every light: neither black nor of a wrong exposure
    slide.step().unwrap();
    slide.develop(Tone::Neutral).unwrap();
    let first = level(&slide.read().unwrap());
    let first_error = slide.within_stops();
    let mut levels = vec![first];
    for _ in 0..14 {
        slide.step().unwrap();
        slide.develop(Tone::Neutral).unwrap();
        levels.push(level(&slide.read().unwrap()));
    }
    let settled = *levels.last().unwrap();
    println!("levels {levels:?}, within {first_error} then {} stops", slide.within_stops());
    assert!((first / settled - 1.0).abs() < 0.25, "first look {first}, settled {settled}");
    // no jump between any two frames once the first few are in
    for pair in levels[2..].windows(2) {
        assert!((pair[1] / pair[0] - 1.0).abs() < 0.05, "a jump from {} to {}", pair[0], pair[1]);
    }
    assert!(slide.within_stops() < 0.7 * first_error, "{} stops", slide.within_stops());

    // power renews nothing
    let samples: Vec<u32> = (0..names.len()).map(|light| slide.samples(light)).collect();
    assert!(samples.iter().all(|&n| n >= 16), "{samples:?}");
    let mut brighter = factors.clone();
    brighter[0] = factors[0] * Vec3::splat(2.0);
    slide.set_mix(&brighter).unwrap();
    let kept: Vec<u32> = (0..names.len()).map(|light| slide.samples(light)).collect();
    assert_eq!(samples, kept);

    // a light that moves renews its own layer alone
    let mut moved = stage.clone();
    let light = moved.lights.iter_mut().find(|light| light.name == names[0]).unwrap();
    light.source.position += 0.05 * light.source.right;
    let mut slide = slide.change(&moved).unwrap();
    assert_eq!(slide.samples(0), 0);
    assert_eq!(slide.samples(1), samples[1]);
    slide.step().unwrap();
    slide.develop(Tone::Neutral).unwrap();
    let after = level(&slide.read().unwrap());
    assert!(after > 0.7 * settled, "dark after a move: {after} against {settled}");
}
