//! Closed forms and an independent renderer's table through the shadow-mapping engine, on whatever
//! card there is (software Vulkan where there is none).

use std::sync::LazyLock;

use foreshadow::gpu::{Choice, Gpu};
use foreshadow::layers::Layers;
use foreshadow::optics::beam::Beam;
use foreshadow::optics::surface::Surface;
use foreshadow::raster::{Options, Raster};
use foreshadow::stage::{Camera, Role, SourceShape, Stage};
use glam::{Vec2, Vec3};

use crate::edge::{edge_stage, fit};
use crate::rooms::{cone_up, table_room};
use crate::set::{
    across, camera, close, disc, isotropic, light, quad, smooth_ball, source, square, stage,
    within, y,
};

static CARD: LazyLock<Gpu> = LazyLock::new(|| match Gpu::open(&Choice::Auto) {
    Ok(gpu) => gpu,
    Err(fault) => panic!("{fault}"),
});

fn rastered(stage: &Stage, steps: u32, options: Options) -> Layers {
    let mut stage = stage.clone();
    let aspect = f64::from(options.width) / f64::from(options.height);
    stage.camera = stage.camera.cropped_to(aspect);
    let mut raster = Raster::new(&CARD, &stage, |_| true, options).unwrap();
    for _ in 0..steps {
        raster.step().unwrap();
    }
    raster.layers().unwrap()
}

/// Straight light alone.
fn direct(width: u32, height: u32) -> Options {
    Options { landings: 0, ..Options::new(width, height) }
}

/// Similar triangles: D·b/a.
#[test]
fn penumbra_width_of_disc_sources() {
    for (diameter, a, b) in
        [(0.18, 2.5, 1.0f32), (0.6, 1.5, 0.05), (0.18, 2.0, 0.5), (0.05, 1.0, 0.3), (1.2, 4.0, 0.1)]
    {
        let expected = diameter * f64::from(b) / f64::from(a);
        let lamp = disc(0.5 * diameter, Vec3::Z * (a + b), -Vec3::Z, 10.0);
        let stage = edge_stage(vec![lamp], b, expected, vec![]);
        let layers = rastered(&stage, 128, direct(96, 12));
        let got = fit(&across(&layers, 0, &stage.camera, f64::from(0.8 * b)), expected);
        eprintln!("{diameter} {a} {b}: {got:?}, expected {expected}");
        close(got.width_m, expected, 0.10);
        within(got.shadow / got.step, 0.0, 0.02);
    }
}

/// Illuminance that a small grey card shows at `at`, looking along `axis`, by layer.
fn illuminance(mut stage: Stage, at: Vec3, axis: Vec3, (steps, seed): (u32, u32)) -> Vec<f64> {
    const GREY: f32 = 0.2;
    let options = Options { seed, ..Options::new(8, 8) };
    // off the floor by as much as the table's meter, and thin
    stage.meshes.push(square("card", at, axis, 0.01, GREY));
    let side = if axis.y.abs() > 0.5 { axis } else { axis + Vec3::Y * 0.2 };
    stage.camera = camera(at + side.normalize() * 0.3, at, 1.0);
    let layers = rastered(&stage, steps, options);
    let mean =
        |pixels: &[Vec3]| pixels.iter().map(|p| y(p.as_dvec3())).sum::<f64>() / pixels.len() as f64;
    let exitance = |pixels: &[Vec3]| std::f64::consts::PI * mean(pixels) / f64::from(GREY);
    layers.layers.iter().map(|layer| exitance(&layer.pixels)).collect()
}

/// Drawings of a place.
const SEEDS: u32 = 4;

/// Source: Mitsuba 3.9.1 scalar_rgb path integrator, 512 seeds × 4096 samples: the room of 5 × 4 ×
/// 2.8 m, ceiling .8, walls .5, floor .2. Irradiance for each unit of the source.
#[test]
fn room_bounce_against_the_path_traced_table() {
    let at = Vec3::new(1.0, 1.2, 0.0);
    for (at, axis, expected) in [
        (at, Vec3::Y, 0.081_853_9),
        (at, -Vec3::X, 0.049_274_6),
        (Vec3::new(0.0, 1.5, -1.5), -Vec3::Z, 0.016_997),
    ] {
        // light that comes twice and thrice round is noisy: several drawings
        let drawn: Vec<f64> = (1..=SEEDS)
            .map(|seed| illuminance(table_room(vec![cone_up()], 0.5, 0.2), at, axis, (96, seed))[0])
            .collect();
        let got = drawn.iter().sum::<f64>() / f64::from(SEEDS);
        let scatter = drawn.iter().map(|one| (one - got).powi(2)).sum::<f64>();
        let noise = (scatter / f64::from(SEEDS * (SEEDS - 1))).sqrt() / got;
        eprintln!(
            "cone {at} {axis}: {got}, expected {expected}: {:.4}, noise {noise:.4}",
            got / expected - 1.0
        );
        close(got, expected, 0.02);
    }
    for (axis, expected) in
        [(Vec3::Y, 0.256_795 + 0.378_306), (-Vec3::X, 0.173_507 + 0.630_510), (Vec3::X, 0.117_739)]
    {
        let lamps = isotropic(Vec3::new(0.0, 1.8, 0.0)).into();
        let got: f64 = illuminance(table_room(lamps, 0.5, 0.2), at, axis, (64, 1)).iter().sum();
        eprintln!("isotropic {axis}: {got}, expected {expected}: {:.4}", got / expected - 1.0);
        close(got, expected, 0.02);
    }
}

/// A camera straight above, its frame `width` metres wide on the floor.
fn above(width: f32) -> Camera {
    // no nearer than a lens comes
    let height = (2.0 * width).max(0.4);
    let field = 2.0 * (0.5 * width / height).atan().to_degrees();
    let mut camera = camera(Vec3::Y * height, Vec3::ZERO, f64::from(field));
    camera.right = Vec3::X;
    camera.up = Vec3::NEG_Z;
    camera
}

/// Nothing detaches and nothing leaks from half a millimetre to ten metres, however coarse the map:
///
/// ```text
///     ╲ 45°            light from the upper left
///   ▓▓▓▓╲┐ h           board's edge at x = 0, h over the floor
///   ─────╲▁▁▁▁▁▁       in shadow for 0 < x < h, lit beyond
///        0  h
/// ```
#[test]
fn shadows_hold_from_half_a_millimetre_to_ten_metres() {
    const SIZE: u32 = 64;
    for h in [0.0005f32, 0.002, 0.01, 0.05, 0.5, 2.0, 10.0] {
        let floor = square("floor", Vec3::ZERO, Vec3::Y, 100.0 * h.max(0.1), 0.5);
        let reach = 40.0 * h.max(0.1);
        let board = quad(
            "board",
            [(-reach, -reach), (0.0, -reach), (0.0, reach), (-reach, reach)]
                .map(|(x, z)| Vec3::new(x, h, z)),
            Vec3::ZERO,
        );
        let far = 30.0 * h.max(0.1);
        let lamp = disc(1e-5, Vec3::new(-far, far, 0.0), Vec3::new(1.0, -1.0, 0.0), 100.0);
        let stage = stage(vec![floor, board], vec![light("lamp", lamp)], above(8.0 * h));
        for map in [1024, 128, 16] {
            let mut options = direct(SIZE, SIZE);
            options.map_sizes = [map, map];
            let layers = rastered(&stage, 4, options);
            let pixels = &layers.layers[0].pixels;
            let lit = y(pixels[(SIZE * SIZE / 2 + 7 * SIZE / 8) as usize].as_dvec3());
            assert!(lit > 0.0);
            // where a column looks on the floor, in units of h
            let place = |column: u32| ((column as f32 + 0.5) / SIZE as f32 - 0.5) * 8.0;
            for column in 0..SIZE {
                let (x, pixel) = (place(column), 8.0 / SIZE as f32);
                // the perspective of a shadow edge over so small a frame: h/30 at most
                let shadow = x > pixel && x < 1.0 - 1.5 * pixel - 0.04;
                let open = x > 1.0 + 1.5 * pixel + 0.04;
                for row in 0..SIZE {
                    let share = y(pixels[(row * SIZE + column) as usize].as_dvec3()) / lit;
                    let place = format!("h {h}, map {map}, x {x:.3} h, row {row}: {share:.3}");
                    assert!(!shadow || share == 0.0, "light in the shadow: {place}");
                    assert!(!open || (share - 1.0).abs() < 0.2, "shadow in the light: {place}");
                }
            }
        }
    }
}

/// A head-sized ball of 40,000 triangles, thrown on its own lighter shadow mesh: Lambert's cosine
/// wherever it is lit, with neither acne nor a dark rim, and black beyond the terminator.
#[test]
fn a_smooth_body_has_no_acne() {
    let radius = 0.11f32;
    let mut ball = smooth_ball(Vec3::ZERO, radius, 100, Surface::diffuse("ball", Vec3::splat(0.5)));
    ball.role = Role::Skin;
    let lamp_at = Vec3::new(-1.2, 1.0, 1.4);
    let shape = SourceShape::Disc { radius_m: 1e-4 };
    let lamp = source(shape, lamp_at, -lamp_at, Beam::Cosine { exponent: 0.0 }, 1.0);
    let view = camera(Vec3::Z * 2.0, Vec3::ZERO, 7.0);
    const SIZE: u32 = 96;
    let (mut worst, mut lit) = (0.0f64, 0);
    for map in [1024, 256, 64] {
        let mut options = direct(SIZE, SIZE);
        options.map_sizes = [map, map];
        let layers = rastered(
            &stage(vec![ball.clone()], vec![light("lamp", lamp.clone())], view),
            8,
            options,
        );
        for index in 0..SIZE * SIZE {
            let film =
                (Vec2::new((index % SIZE) as f32, (index / SIZE) as f32) + 0.5) / SIZE as f32;
            let (from, way) = view.ray(film, Vec2::ZERO);
            let middle = -from.dot(way);
            let off = (from + way * middle).length();
            if off > 0.93 * radius {
                continue;
            }
            let point = from + way * (middle - (radius * radius - off * off).sqrt());
            let (normal, span) = (point.normalize(), lamp_at - point);
            let cos = f64::from(normal.dot(span.normalize()));
            let got = y(layers.layers[0].pixels[index as usize].as_dvec3());
            let distance2 = f64::from(span.length_squared());
            let expected = 0.5 / std::f64::consts::PI * cos / distance2;
            if cos > 0.2 {
                let off = (got / expected - 1.0).abs();
                worst = worst.max(off);
                lit += 1;
                assert!(off < 0.06, "map {map}, cos {cos:.3}: {got}, expected {expected}");
            } else if cos < -0.05 {
                assert!(got == 0.0, "map {map}: light behind the terminator, cos {cos:.3}");
            }
        }
    }
    eprintln!("worst of {lit} pixels: {:.3} %", 100.0 * worst);
    assert!(lit > 5000);
}

/// A change renews what it concerns: another layer keeps its values, a moved light loses them.
#[test]
fn moving_a_light_renews_its_layer_alone() {
    let floor = square("floor", Vec3::ZERO, Vec3::Y, 4.0, 0.5);
    let lamp = |x: f32| disc(0.1, Vec3::new(x, 1.5, 0.0), -Vec3::Y, 10.0);
    let lights = |x: f32| vec![light("still", lamp(0.0)), light("moved", lamp(x))];
    let first = stage(vec![floor.clone()], lights(0.5), above(1.0));
    let second = stage(vec![floor.clone()], lights(-1.5), above(1.0));
    let mut raster = Raster::new(&CARD, &first, |_| true, Options::new(16, 16)).unwrap();
    for _ in 0..8 {
        raster.step().unwrap();
    }
    let before = raster.layers().unwrap();
    let mut raster = raster.renew(&second).unwrap();
    let after = raster.layers().unwrap();
    assert_eq!(before.layers[0].pixels, after.layers[0].pixels);
    assert!(after.layers[1].pixels.iter().all(|p| *p == Vec3::ZERO));
    // one step shows it where it stands now, near the level it settles to
    raster.step().unwrap();
    let mean = |layers: &Layers, k: usize| {
        layers.layers[k].pixels.iter().map(|p| y(p.as_dvec3())).sum::<f64>()
    };
    let shown = mean(&raster.layers().unwrap(), 1);
    let fresh = rastered(&second, 32, Options::new(16, 16));
    close(shown, mean(&fresh, 1), 0.15);
    // a new camera renews all
    let mut turned = second.clone();
    turned.camera = above(2.0);
    let raster = raster.renew(&turned).unwrap();
    let cleared = raster.layers().unwrap();
    assert!(cleared.layers.iter().all(|l| l.pixels.iter().all(|p| *p == Vec3::ZERO)));
    assert_eq!(raster.rounds(), 0);
}
