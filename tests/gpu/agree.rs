//! trace-gpu against trace-cpu on every shipped plan, thin lens on.

use foreshadow::layers::Layers;
use foreshadow::optics::color::luminance;
use foreshadow::plan::{self, Folder, Plan, shipped};
use foreshadow::stage;
use foreshadow::trace::gpu::GpuTracer;
use foreshadow::trace::{Options, TILE, Tracer, Under};
use glam::Vec3;

use crate::card::card;

fn options(size: (u32, u32), samples: u32, seed: u32) -> Options {
    Options {
        width: size.0,
        height: size.1,
        max_samples: samples,
        within_stops: None,
        seed,
        mix: Vec::new(),
        time_limit: None,
    }
}

struct Both {
    name: String,
    cpu: Tracer,
    gpu: GpuTracer,
    size: (u32, u32),
}

impl Both {
    fn of(name: &str, text: &str, longest: u32) -> Self {
        Self::of_plan(name, &plan::parse(text, name).unwrap(), longest)
    }

    fn of_plan(name: &str, plan: &Plan, longest: u32) -> Self {
        let stage = stage::build(plan).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(stage.camera.pupil_radius_m > 0.0, "{name}: a pinhole");
        let [w, h] = stage.camera.sensor_m;
        let scale = f64::from(longest) / w.max(h);
        let size = ((w * scale).round() as u32, (h * scale).round() as u32);
        let cpu = Tracer::new(&stage, |light| light.on);
        let gpu = GpuTracer::new(card(), &cpu).unwrap();
        Self { name: name.into(), cpu, gpu, size }
    }

    fn on_card(&self, samples: u32, seed: u32) -> Layers {
        let options = options(self.size, samples, seed);
        self.gpu.render(&self.cpu, &options, &mut |_| true).unwrap().0
    }

    fn on_cores(&self, samples: u32, seed: u32) -> Layers {
        self.cpu.render(&options(self.size, samples, seed), &mut |_| true)
    }
}

fn mean(pixels: &[Vec3]) -> f64 {
    pixels.iter().map(|&p| f64::from(luminance(p))).sum::<f64>() / pixels.len() as f64
}

/// With the same seed both follow the same paths but for rounding: far closer than noise.
fn same_picture(both: &Both) {
    let (ours, theirs) = (both.on_cores(4, 5), both.on_card(4, 5));
    assert_eq!(ours.samples, theirs.samples);
    let mut faults = Vec::new();
    for (a, b) in ours.layers.iter().zip(&theirs.layers) {
        let (cpu, gpu) = (mean(&a.pixels), mean(&b.pixels));
        assert!(cpu > 0.0, "{} {}: black", both.name, a.name);
        let near = a.pixels.iter().zip(&b.pixels).filter(|(a, b)| {
            let (a, b) = (luminance(**a), luminance(**b));
            (a - b).abs() <= 0.01 * a.max(b)
        });
        let share = near.count() as f64 / a.pixels.len() as f64;
        let line = format!(
            "{} {}: mean off by {:.5}, {:.2} % of pixels within 1 %",
            both.name,
            a.name,
            gpu / cpu - 1.0,
            100.0 * share
        );
        println!("{line}");
        if (gpu / cpu - 1.0).abs() >= 0.01 || share <= 0.95 {
            faults.push(line);
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
    let along = ours.depth.iter().zip(&theirs.depth).filter(|(a, b)| (*a - *b).abs() < 0.01);
    assert!(along.count() as f64 > 0.98 * ours.depth.len() as f64, "{}: depth", both.name);
}

#[test]
fn the_same_seed_gives_the_same_picture() {
    for shipped in shipped::SHIPPED {
        same_picture(&Both::of(shipped.name, shipped.text, 72));
    }
}

/// A photometric file whose light goes up and down, more to one side.
fn lm63() -> String {
    let gammas: Vec<f64> = (0..=18).map(|k| 10.0 * f64::from(k)).collect();
    let planes = [0.0, 90.0, 180.0, 270.0, 360.0];
    let row = |values: Vec<f64>| {
        let words: Vec<String> = values.iter().map(|v| format!("{v:.2}")).collect();
        words.join(" ") + "\r\n"
    };
    let mut text = String::from("IESNA:LM-63-2002\r\nTILT=NONE\r\n");
    text += "1 -1 1 19 5 1 2 -0.10 -0.10 0\r\n1 1 25\r\n";
    text += &row(gammas.clone());
    text += &row(planes.to_vec());
    for plane in planes {
        let side = if plane == 90.0 { 1.5 } else { 1.0 };
        text += &row(gammas.iter().map(|g| side * (60.0 + 40.0 * g.to_radians().cos())).collect());
    }
    text
}

/// Fields of a light of every kind there is.
const KINDS: [&str; 24] = [
    "modifier: BareTube()",
    "modifier: Lantern()",
    "modifier: ShortDish()",
    "modifier: Dish()",
    "modifier: Dish(), head: (tube: (share: 0.4))",
    "modifier: LongThrow()",
    "modifier: Dish(), grid: 20",
    "modifier: Dish(), grid: 10",
    "modifier: Dish(), doors: (top: 20, bottom: 0, left: 8, right: 8)",
    "modifier: Dish(), cloth: ()",
    "modifier: Snoot()",
    "modifier: LensSpot(beam: 22, focus: 2.7, shutters: (left: 0.2, bottom: 0.15))",
    "modifier: BeautyDish()",
    "modifier: BeautyDish(), grid: 30",
    "modifier: Ring()",
    "modifier: SoftBox()",
    "modifier: SoftBox(width: 0.3, height: 1.4)",
    "modifier: SoftBox(width: 0.3, height: 1.4, recess: 0.06), grid: 35",
    "modifier: Octagon()",
    "modifier: BounceUmbrella()",
    "modifier: ShootThrough()",
    "modifier: Scrim()",
    "modifier: Photometric(file: \"lamp.ies\"), head: (output: AsFiled)",
    "modifier: Photometric(file: \"lamp.ies\", loss: 1), head: (output: Efficacy(lm_s_per_ws: 35))",
];

/// A plan with a light of every kind, boards of every kind, lamps, windows, velvet and a sitter.
fn everything() -> (tempfile::TempDir, Plan) {
    let lights: Vec<String> = KINDS
        .iter()
        .enumerate()
        .map(|(number, fields)| {
            let (azimuth, height) =
                (14.0 * number as f64 - 160.0, 1.3 + 0.05 * (number % 7) as f64);
            format!(
                "(name: \"l{number}\", {fields}, fixture: false, \
                 place: Stand(azimuth: {azimuth}, distance: 1.9, height: {height}), \
                 aim: Point(x: 0, y: 1.2, z: 0))"
            )
        })
        .collect();
    let boards: Vec<String> = [
        "White",
        "Silver",
        "Gold",
        "Black",
        "Flag",
        "Net(stops: 1)",
        "CutOut(Leaves(seed: 7, count: 30))",
        "Reflector(reflectance: 0.5)",
    ]
    .iter()
    .enumerate()
    .map(|(number, kind)| {
        let azimuth = 45.0 * number as f64 - 20.0;
        format!(
            "(name: \"b{number}\", kind: {kind}, width: 0.4, height: 0.6, \
                 place: Stand(azimuth: {azimuth}, distance: 1.3, height: 1.2), \
                 aim: Point(x: 0, y: 1.2, z: 0))"
        )
    })
    .collect();
    let text = format!(
        "(format: 1, room: (width: 6, depth: 6, height: 3), ambient: (ev: 3), \
         lamps: [(name: \"pendant\", place: At(x: 0.5, y: 2.4, z: 0.4), level: Ev(5)), \
         (name: \"tile\", form: Panel(width: 0.6, height: 0.6), place: At(x: 0, y: 2.9, z: 1), level: Ev(6.5)), \
         (name: \"spot\", form: Spot(diameter: 0.1, beam: 30, field: 50), place: At(x: -1, y: 2.5, z: 1.5), \
         aim: Face, level: Ev(4))], \
         windows: [(name: \"south\", wall: Right, along: 0.6, width: 1, height: 1.2, panes: (2, 3), \
         sky: Clear(sun_azimuth: 40, sun_elevation: 35), ev: 9)], \
         cloths: [(name: \"velvet\", fabric: (finish: Velvet, paint: (reflectance: 0.05, color: \"#402030\")), \
         shape: Backdrop(width: 2.7, top: 2.5, behind: 1, sweep: 1), creases: 0.6)], \
         sitter: (hair: (style: Bun), garment: (cut: Tunic, fabric: (paint: (reflectance: 0.3)))), \
         camera: (focal_mm: 50, aperture: \"f/2.8\", place: Stand(azimuth: 10, distance: 2.5, height: 1.5), aim: Face), \
         boards: [{}], lights: [{}])",
        boards.join(", "),
        lights.join(", ")
    );
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("lamp.ies"), lm63()).unwrap();
    let mut plan = plan::parse(&text, "everything").unwrap_or_else(|error| panic!("{error}"));
    plan.folder = Folder(folder.path().to_owned());
    (folder, plan)
}

#[test]
fn every_kind_of_light_and_surface_gives_the_same_picture() {
    let (_folder, plan) = everything();
    same_picture(&Both::of_plan("everything", &plan, 48));
}

/// What lies under a picture, and tiles that are not wanted, count on the card as on the cores.
#[test]
fn layers_laid_over_others_settle_alike() {
    let both = Both::of(shipped::SHIPPED[0].name, shipped::SHIPPED[0].text, 72);
    let pixels = both.size.0 as usize * both.size.1 as usize;
    let bright = vec![4.0; pixels];
    let wanted = |x: u32, _: u32| x < 2 * TILE;
    let under = Under { luminance: Some(&bright), tiles: Some(&wanted) };
    let options = Options {
        within_stops: Some(0.05),
        mix: vec![Vec3::splat(1e-3); both.cpu.scene.lights.len()],
        ..options(both.size, 256, 5)
    };
    let cores = both.cpu.render_over(&options, &under, &mut |_| true);
    let card = both.gpu.render_over(&both.cpu, &options, &under, &mut |_| true).unwrap().0;
    assert_eq!(cores.samples, card.samples);
    assert!(cores.samples.iter().all(|&n| n < 16), "bright enough to settle at once");
    let (a, b) = (mean(&cores.layers[0].pixels), mean(&card.layers[0].pixels));
    assert!(a > 0.0 && (b / a - 1.0).abs() < 0.01, "{a} {b}");
    let left_out = card.layers[0].pixels.iter().enumerate();
    let mut beyond = left_out.filter(|(at, _)| *at as u32 % both.size.0 >= 2 * TILE);
    assert!(beyond.all(|(_, pixel)| *pixel == Vec3::ZERO), "tiles that were not wanted");
}

/// Mean and variance of the mean.
fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let scatter = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, scatter / n)
}

/// Means of a layer's blocks of 8 × 8 pixels.
fn blocks(layers: &Layers, layer: usize) -> Vec<f64> {
    const SIDE: u32 = 8;
    let pixels = &layers.layers[layer].pixels;
    let corners = (0..layers.height / SIDE)
        .flat_map(|y| (0..layers.width / SIDE).map(move |x| (x * SIDE, y * SIDE)));
    corners
        .map(|(x0, y0)| {
            let rows = (y0..y0 + SIDE).flat_map(|y| (x0..x0 + SIDE).map(move |x| (x, y)));
            let inside: Vec<Vec3> =
                rows.map(|(x, y)| pixels[(y * layers.width + x) as usize]).collect();
            mean(&inside)
        })
        .collect()
}

/// Independent seeds on either side: equal within noise. Student's t with 4 + 4 pictures has 6
/// degrees of freedom: |t| is over 5.96 once in a thousand, and the mean of t² is 6/4.
#[test]
fn equal_within_noise_light_by_light() {
    const PICTURES: u32 = 4;
    let (mut squares, mut count) = (0.0, 0);
    for shipped in shipped::SHIPPED {
        let both = Both::of(shipped.name, shipped.text, 48);
        let cores: Vec<Layers> = (0..PICTURES).map(|seed| both.on_cores(24, 21 + seed)).collect();
        let card: Vec<Layers> = (0..PICTURES).map(|seed| both.on_card(24, 11 + seed)).collect();
        for layer in 0..cores[0].layers.len() {
            let means = |all: &[Layers]| -> Vec<f64> {
                all.iter().map(|layers| mean(&layers.layers[layer].pixels)).collect()
            };
            let ((a, va), (b, vb)) = (moments(&means(&cores)), moments(&means(&card)));
            let t = (a - b) / (va + vb).sqrt();
            let noise = (va + vb).sqrt() / a;
            let name = &cores[0].layers[layer].name;
            println!("{} {name}: off by {:.4}, noise {noise:.4}, t {t:.2}", both.name, b / a - 1.0);
            assert!(t.abs() < 5.96, "{} {name}: t = {t}", both.name);
            assert!(noise < 0.08, "{} {name}: noise {noise} says too little", both.name);
            let split = |all: &[Layers]| -> Vec<Vec<f64>> {
                all.iter().map(|layers| blocks(layers, layer)).collect()
            };
            let (ours, theirs) = (split(&cores), split(&card));
            for block in 0..ours[0].len() {
                let of = |all: &[Vec<f64>]| all.iter().map(|one| one[block]).collect::<Vec<f64>>();
                let ((a, va), (b, vb)) = (moments(&of(&ours)), moments(&of(&theirs)));
                if va + vb > 0.0 {
                    squares += (a - b).powi(2) / (va + vb);
                    count += 1;
                }
            }
        }
    }
    let mean_square = squares / f64::from(count);
    println!("mean t² of {count} blocks: {mean_square:.3}, expected 1.5");
    assert!(count > 200 && mean_square < 1.9, "{count} blocks, mean t² {mean_square}");
}
