//! The same seed gives the same picture on any count of cores; another seed gives another noise
//! around the same picture.

use foreshadow::layers::Layers;
use foreshadow::picture::compare::{Noisy, luminances, z_test};
use foreshadow::stage::Stage;
use foreshadow::trace::Receptor;
use glam::Vec3;

use crate::set::{ball, camera, disc, light, read, render, shell, stage};
use foreshadow::optics::surface::Surface;

fn set() -> Stage {
    let mut meshes = shell(Vec3::new(-2.0, 0.0, -2.0), Vec3::new(2.0, 2.6, 2.0), 0.8, 0.5, 0.3);
    let skin = Surface::coated("skin", Vec3::new(0.5, 0.35, 0.28), 1.42, 0.35);
    meshes.push(ball(Vec3::new(0.0, 1.2, 0.0), 0.3, 24, skin));
    let key = disc(0.1, Vec3::new(1.0, 2.0, 1.0), Vec3::new(-1.0, -0.8, -1.0), 500.0);
    let fill = disc(0.1, Vec3::new(-1.0, 1.6, 1.0), Vec3::Y, 500.0);
    let lights = vec![light("key", key), light("fill", fill)];
    stage(meshes, lights, camera(Vec3::new(0.0, 1.3, 1.9), Vec3::new(0.0, 1.2, 0.0), 40.0))
}

fn bits(layers: &Layers) -> Vec<u32> {
    let of = |v: &Vec3| v.to_array().map(f32::to_bits);
    let mut bits = Vec::new();
    for layer in &layers.layers {
        bits.extend(layer.pixels.iter().flat_map(of));
        bits.extend(layer.variance.iter().map(|v| v.to_bits()));
    }
    bits.extend(layers.depth.iter().map(|v| v.to_bits()));
    bits.extend(&layers.samples);
    bits
}

fn on_cores<T: Send>(count: usize, work: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new().num_threads(count).build().unwrap().install(work)
}

#[test]
fn same_seed_on_one_core_and_on_many() {
    let stage = set();
    let draw = || bits(&render(&stage, [40, 40], 6, 11));
    let one = on_cores(1, draw);
    assert!(one == on_cores(5, draw), "layers depend on the count of cores");
    assert!(one == draw(), "layers differ from run to run");
    let at = Vec3::new(0.0, 1.2, 0.4);
    let reading = || read(&stage, at, Vec3::Z, Receptor::Dome, 2);
    assert_eq!(on_cores(1, reading), on_cores(5, reading));
}

#[test]
fn another_seed_is_other_noise_on_the_same_picture() {
    let stage = set();
    let (a, b) = (render(&stage, [40, 40], 48, 1), render(&stage, [40, 40], 48, 2));
    for (a, b) in a.layers.iter().zip(&b.layers) {
        let (left, right) = (luminances(&a.pixels), luminances(&b.pixels));
        let different = left.iter().zip(&right).filter(|(l, r)| l != r).count();
        assert!(different * 10 > left.len() * 9, "{} of {} differ", different, left.len());
        let test = z_test(
            Noisy { mean: &left, variance: &a.variance },
            Noisy { mean: &right, variance: &b.variance },
        )
        .unwrap();
        eprintln!("{}: {test:?}", a.name);
        // pixels of one picture share light paths, so the mean z of 1600 pixels scatters by more
        // than 1/√1600; a fifth of a standard error would be a bias nobody could see
        assert!(test.mean.abs() < 0.2, "{}: {test:?}", a.name);
        // Each variance comes of four streams, so z is nearly Student's t of ν = 6, whose mean
        // square is ν/(ν − 2) = 1.5 and scatters by √(11.25/1600) = 0.084: three of those.
        assert!((test.mean_square - 1.5).abs() < 0.25, "{}: {test:?}", a.name);
    }
}
