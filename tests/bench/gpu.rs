//! What the graphics card gives: seconds to an error of trace-gpu, rasteriser and slide beside
//! trace-cpu on the same plan and size, first pictures after edits, ms a step by pass, re-mixing,
//! memory, how a step's cost grows.
//!
//! ```text
//! cargo bench --bench gpu [-- PLAN]       PLAN: name of a shipped plan
//! ```
//! The same command on any card; on software Vulkan with smaller pictures, as the output says.
//! Errors of the tracer are the spread of independent pictures, as in the bench `engines`; those of
//! rasteriser and slide are against a long render. Each part prints what it has at once, and one
//! that fails is named and passed over. Nothing here passes or fails: the ratios are for reading.

mod looks;
#[expect(dead_code, reason = "the bench of engines uses the rest")]
mod measure;

use std::time::Instant;

use foreshadow::gpu::{Choice, Gpu};
use foreshadow::layers::LightKind;
use foreshadow::optics::beam::Beam;
use foreshadow::optics::exposure::Exposure;
use foreshadow::optics::surface::Surface;
use foreshadow::picture::card::{CardLayer, Developer, LensDeveloper};
use foreshadow::picture::{Mix, StrayLens, Taking, Tone, View};
use foreshadow::plan::{self, shipped};
use foreshadow::raster::{self, Raster};
use foreshadow::stage::{self, Light, Mesh, Role, Source, SourceShape, Stage};
use foreshadow::trace::gpu::{GpuTracer, Pools, Session, Shower};
use foreshadow::trace::{Options, Tracer};
use foreshadow::{shoot, trace};
use glam::Vec3;
use looks::{Scene, mixed};
use measure::spread;

/// Independent pictures for an error.
const PICTURES: u32 = 3;
/// The error to reach.
const TARGET: f64 = 0.05;
/// No rung of a ladder takes longer than about this for one picture.
const LONGEST_S: f64 = 2.5;

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if !arguments.iter().any(|a| a == "--bench") {
        println!("gpu: a benchmark; run it with `cargo bench --bench gpu`");
        return;
    }
    let name = arguments.iter().find(|a| !a.starts_with('-')).map_or("lamplighter", |a| a);
    let Some(shipped) = shipped::find(name) else {
        eprintln!("no shipped plan is called {name:?}");
        std::process::exit(2);
    };
    let gpu = match Gpu::open(&Choice::Auto) {
        Ok(gpu) => gpu,
        Err(fault) => {
            eprintln!("{fault}");
            std::process::exit(1);
        }
    };
    let plan = plan::parse(shipped.text, shipped.name).expect("a shipped plan is good");
    let stage = stage::build(&plan).expect("a shipped plan's set stands");
    let cores = std::thread::available_parallelism().map_or(1, |n| n.get());
    println!("{name} on {} ({:?}), {cores} cores", gpu.info.name, gpu.info.backend);
    let sizes: &[(u32, u32)] =
        if gpu.is_real() { &[(960, 640), (1920, 1080)] } else { &[(240, 160)] };
    for &size in sizes {
        part("time to an error", &mut || to_target(&gpu, &plan, &stage, size));
    }
    for &size in sizes {
        let looks = || scene(&plan, &stage, size);
        part("first looks", &mut || looks_to_target(&gpu, &looks()));
        part("first pictures", &mut || looks::first_pictures(&gpu, &looks()));
    }
    for &size in sizes {
        part("passes of the tracer", &mut || by_pass(&gpu, &plan, &stage, size));
        part("passes of the rasteriser", &mut || {
            looks::raster_by_pass(&gpu, &scene(&plan, &stage, size));
        });
    }
    let real = gpu.is_real();
    part("re-mix", &mut || remixed(&gpu, if real { (3840, 2160) } else { (1920, 1080) }));
    part("filter", &mut || filtered(&gpu, if real { (1920, 1080) } else { (480, 320) }));
    part("growth", &mut || growth(&gpu));
}

/// Does a part of the work; a failure is told and the rest goes on.
fn part(what: &str, work: &mut dyn FnMut()) {
    let begun = Instant::now();
    let done = std::panic::catch_unwind(std::panic::AssertUnwindSafe(work));
    let outcome = if done.is_ok() { "took" } else { "FAILED after" };
    println!("[{what} {outcome} {:.1} s]", begun.elapsed().as_secs_f64());
}

/// The plan's set framed to a size.
fn scene(plan: &plan::Plan, stage: &Stage, size: (u32, u32)) -> Scene {
    let (tracer, mix) = framed(plan, stage, size);
    let names = tracer.scene.lights.iter().map(|light| light.name.clone()).collect();
    let mut stage = stage.clone();
    stage.camera = stage.camera.cropped_to(f64::from(size.0) / f64::from(size.1));
    Scene { stage, names, mix, size }
}

/// Rasteriser and slide against a long render.
fn looks_to_target(gpu: &Gpu, scene: &Scene) {
    let tracer = Tracer::new(&scene.stage, |light| scene.names.contains(&light.name));
    let samples = if gpu.is_real() { 768 } else { 192 };
    let asked = options(scene.size, samples, 99, &scene.mix);
    let truth = if gpu.is_real() {
        let card = GpuTracer::new(gpu, &tracer).expect("the scene fits");
        card.render(&tracer, &asked, &mut |_| true).expect("the card stays").0
    } else {
        tracer.render(&asked, &mut |_| true)
    };
    let truth = mixed(&truth, &scene.mix);
    println!("{}×{}, to e10 of 5 % of {samples} samples:", scene.size.0, scene.size.1);
    println!("  slide    {}", looks::slide_to_target(gpu, scene, TARGET, &truth));
    println!("  raster   {}", looks::raster_to_target(gpu, scene, TARGET, &truth));
    match gpu.device.generate_allocator_report() {
        Some(report) => println!(
            "  memory on the card: {} MB used, {} MB reserved",
            report.total_allocated_bytes >> 20,
            report.total_reserved_bytes >> 20
        ),
        None => println!("  memory on the card: the driver does not say"),
    }
}

/// A tracer of the plan's lit lights, framed to a size, and what each is worth in the mix.
fn framed(plan: &plan::Plan, stage: &Stage, (w, h): (u32, u32)) -> (Tracer, Vec<Vec3>) {
    let names: Vec<String> = stage
        .lights
        .iter()
        .filter(|light| light.on && (light.name != stage::AMBIENT || plan.ambient.is_some()))
        .map(|light| light.name.clone())
        .collect();
    let mut stage = stage.clone();
    stage.camera = stage.camera.cropped_to(f64::from(w) / f64::from(h));
    let tracer = Tracer::new(&stage, |light| names.contains(&light.name));
    let mix = shoot::mix(plan, &stage, &names);
    let factors = mix.factors_of(tracer.scene.lights.iter().map(|l| (l.name.as_str(), l.kind)));
    (tracer, factors)
}

fn options(size: (u32, u32), samples: u32, seed: u32, mix: &[Vec3]) -> Options {
    Options {
        width: size.0,
        height: size.1,
        max_samples: samples,
        within_stops: None,
        seed,
        mix: mix.to_vec(),
        time_limit: None,
    }
}

/// Seconds of one picture, and pictures of several seeds.
type Rung = (f64, Vec<Vec<f32>>);

/// Twice the samples each time until a picture takes long enough.
fn ladder(mut picture: impl FnMut(u32, u32) -> (f64, Vec<f32>)) -> Vec<Rung> {
    let mut rungs: Vec<Rung> = Vec::new();
    let mut samples = 4;
    while rungs.last().is_none_or(|(seconds, _)| *seconds < 0.5 * LONGEST_S) && samples <= 1024 {
        let made: Vec<(f64, Vec<f32>)> = (0..PICTURES).map(|seed| picture(samples, seed)).collect();
        let seconds = made.iter().map(|(s, _)| s).sum::<f64>() / f64::from(PICTURES);
        rungs.push((seconds, made.into_iter().map(|(_, picture)| picture).collect()));
        samples *= 2;
    }
    rungs
}

fn to_target(gpu: &Gpu, plan: &plan::Plan, stage: &Stage, size: (u32, u32)) {
    let (tracer, factors) = framed(plan, stage, size);
    let made = Instant::now();
    let card = GpuTracer::new(gpu, &tracer).expect("the scene fits");
    let made_s = made.elapsed().as_secs_f64();
    let mut bytes = 0;
    let on_card = ladder(|samples, seed| {
        let begun = Instant::now();
        let options = options(size, samples, seed, &factors);
        let (layers, cost) = card.render(&tracer, &options, &mut |_| true).expect("the card stays");
        bytes = cost.bytes;
        // reading back the layers is no part of a window's work
        (
            (cost.card + cost.pools).as_secs_f64().min(begun.elapsed().as_secs_f64()),
            mixed(&layers, &factors),
        )
    });
    let on_cores = ladder(|samples, seed| {
        let begun = Instant::now();
        let layers = tracer.render(&options(size, samples, seed + 50, &factors), &mut |_| true);
        (begun.elapsed().as_secs_f64(), mixed(&layers, &factors))
    });
    let (_, best) = on_card.last().expect("a rung");
    let level: Vec<Option<f64>> = (0..best[0].len())
        .map(|p| Some(best.iter().map(|one| f64::from(one[p])).sum::<f64>() / f64::from(PICTURES)))
        .collect();
    let seconds = |rungs: &[Rung], of: fn(&measure::Error) -> f64| {
        let curve: Vec<(f64, f64)> =
            rungs.iter().map(|(s, pictures)| (*s, of(&spread(pictures, &level)))).collect();
        measure::seconds_to(TARGET, &curve)
    };
    let (card_e10, core_e10) = (seconds(&on_card, |e| e.e10), seconds(&on_cores, |e| e.e10));
    let (card_e1, core_e1) = (seconds(&on_card, |e| e.e1), seconds(&on_cores, |e| e.e1));
    println!("{}×{}, to 5 %:", size.0, size.1);
    println!(
        "  trace-cpu over trace-gpu   {:.1} times (e10), {:.1} times (e1)",
        core_e10 / card_e10,
        core_e1 / card_e1
    );
    println!(
        "  trace-gpu   e10 {card_e10:.3} s, e1 {card_e1:.3} s; pipelines and scene {made_s:.2} s; {} MB on the card",
        bytes >> 20
    );
    println!("  trace-cpu   e10 {core_e10:.3} s, e1 {core_e1:.3} s");
}

/// Milliseconds of each pass, waited for.
fn by_pass(gpu: &Gpu, plan: &plan::Plan, stage: &Stage, size: (u32, u32)) {
    let (tracer, factors) = framed(plan, stage, size);
    let card = GpuTracer::new(gpu, &tracer).expect("the scene fits");
    let options = options(size, 1, 1, &factors);
    let mut session = Session::new(&card, &tracer, &options).expect("the sums fit");
    let shower = Shower::new(&card).expect("a card that stays");
    let pixels = size.0 * size.1;
    let developer = Developer::new(gpu, pixels).expect("the picture fits");
    let shown: Vec<wgpu::Buffer> = (0..session.lights())
        .map(|_| gpu.zeros("shown", u64::from(pixels) * 16).expect("a layer fits"))
        .collect();
    let layers: Vec<&wgpu::Buffer> = shown.iter().collect();
    let all = session.open(None);
    let mut timed = |rounds: usize, work: &mut dyn FnMut(&mut Session)| {
        work(&mut session);
        gpu.wait().expect("a card that stays");
        let begun = Instant::now();
        (0..rounds).for_each(|_| work(&mut session));
        gpu.wait().expect("a card that stays");
        begun.elapsed().as_secs_f64() * 1e3 / rounds as f64
    };
    let rounds = if gpu.is_real() { 8 } else { 1 };
    let mut pass = 0;
    let pools_ms = timed(rounds, &mut |_| {
        pass += 1;
        Pools::new(&tracer, pass, 1);
    });
    let pools = Pools::new(&tracer, 0, 1);
    let slowest = std::cell::Cell::new(0.0f64);
    let mut stream = 0;
    let sample_ms = timed(rounds, &mut |session| {
        let begun = Instant::now();
        session.sample(&card, &pools, &all, stream % 4);
        gpu.wait().expect("a card that stays");
        session.pace(begun.elapsed(), all.len());
        stream += 1;
    });
    timed(1, &mut |session| {
        let before = session.steps;
        let begun = Instant::now();
        session.sample(&card, &pools, &all, 0);
        gpu.wait().expect("a card that stays");
        let made = session.steps - before;
        slowest.set(begun.elapsed().as_secs_f64() * 1e3 / f64::from(made));
    });
    let judge_ms = timed(rounds, &mut |session| {
        session.measure(&card, &all).expect("a card that stays");
    });
    let show_ms = timed(rounds, &mut |session| {
        shower.show(&card, session, 0, None, &shown[0]).expect("a card that stays");
    });
    let develop_ms =
        timed(rounds, &mut |_| developer.develop(gpu, &layers, &factors, Tone::Neutral));
    println!("{}×{}, ms:", size.0, size.1);
    println!("  light sub-paths (processor)  {pools_ms:9.3}");
    println!(
        "  a sample of every pixel      {sample_ms:9.3}   in steps of {:.2} each",
        slowest.get()
    );
    println!("  judging all tiles            {judge_ms:9.3}");
    println!("  showing one light            {show_ms:9.3}");
    println!("  mix, exposure, tone          {develop_ms:9.3}");
}

/// Mix, exposure and tone of three lights.
fn remixed(gpu: &Gpu, (width, height): (u32, u32)) {
    let pixels = width * height;
    let made = Developer::new(gpu, pixels).and_then(|developer| {
        let layer = |_| gpu.zeros("layer", u64::from(pixels) * 16);
        Ok((developer, (0..3).map(layer).collect::<Result<Vec<wgpu::Buffer>, _>>()?))
    });
    let (developer, layers) = match made {
        Ok(made) => made,
        Err(fault) => return println!("re-mix at {width}×{height}: {fault}"),
    };
    let layers: Vec<&wgpu::Buffer> = layers.iter().collect();
    let once = || developer.develop(gpu, &layers, &[Vec3::ONE; 3], Tone::Neutral);
    once();
    gpu.wait().expect("a card that stays");
    let rounds = if gpu.is_real() { 100 } else { 3 };
    let begun = Instant::now();
    (0..rounds).for_each(|_| once());
    gpu.wait().expect("a card that stays");
    let each = begun.elapsed().as_secs_f64() * 1e3 / f64::from(rounds);
    println!("re-mix of three lights at {width}×{height}: {each:.3} ms");
}

/// Development of one light through a diffusion filter.
fn filtered(gpu: &Gpu, (width, height): (u32, u32)) {
    let layer = gpu.zeros("layer", u64::from(width * height) * 16).expect("a layer fits");
    let mut developer = LensDeveloper::new(gpu, (width, height)).expect("the picture fits");
    let exposure = Exposure { iso: 100.0, f_number: 4.0, shutter_s: 0.008 };
    let view = View { half_tan: [0.24, 0.16], pupil_tan: 0.02 };
    let mut taking = Taking::plain(Mix::new(exposure), view);
    taking.lens = StrayLens { flare: 0.0, filter: 0.25 };
    let layers = [CardLayer { name: "light", kind: LightKind::Flash, pixels: &layer }];
    let mut once = || {
        let begun = Instant::now();
        developer.develop(gpu, &layers, &taking, Tone::Neutral).expect("a card that stays");
        gpu.wait().expect("a card that stays");
        begun.elapsed().as_secs_f64() * 1e3
    };
    let first = once();
    let each = (0..3).map(|_| once()).fold(f64::INFINITY, f64::min);
    println!("diffusion filter at {width}×{height}: {each:.2} ms, with a new lens {first:.1} ms");
}

/// A room with a creased cloth of so many triangles and so many discs aimed at its middle.
fn creased(triangles: u32, lights: u32) -> Stage {
    let mut stage = stage::build(
        &plan::parse(shipped::SHIPPED[0].text, "starter").expect("a shipped plan is good"),
    )
    .expect("a shipped plan's set stands");
    stage.meshes.retain(|mesh| mesh.role == Role::Room);
    let side = ((triangles / 2) as f32).sqrt() as u32;
    let at = |i: u32, j: u32| {
        let (x, y) = (i as f32 / side as f32 * 3.0 - 1.5, j as f32 / side as f32 * 2.2);
        let fold = 0.04 * (x * 19.0 + (y * 7.0).sin()).sin() + 0.01 * (x * 61.0 + y * 43.0).sin();
        Vec3::new(x, y, fold - 0.4)
    };
    let row = side + 1;
    let positions = (0..row * row).map(|k| at(k % row, k / row)).collect();
    let corners = (0..side * side).flat_map(|k| {
        let a = k / side * row + k % side;
        [[a, a + 1, a + row], [a + 1, a + row + 1, a + row]]
    });
    stage.meshes.push(Mesh {
        name: "cloth".into(),
        role: Role::Cloth,
        positions,
        normals: vec![],
        tints: vec![],
        triangles: corners.collect(),
        surface: Surface::diffuse("cloth", Vec3::splat(0.5)),
    });
    stage.lights = (0..lights)
        .map(|k| {
            let turn = (k as f32 + 0.5) / lights as f32 * std::f32::consts::PI;
            let position = Vec3::new(1.4 * turn.cos(), 1.6, 1.4 * turn.sin() + 0.3);
            let axis = (Vec3::new(0.0, 1.2, -0.4) - position).normalize();
            let right = axis.cross(Vec3::Y).normalize();
            let source = Source {
                shape: SourceShape::Disc { radius_m: 0.1 },
                position,
                axis,
                right,
                up: right.cross(axis),
                beam: Beam::Dish { beam_rad: 0.7, field_rad: 1.3 },
                glow: None,
                axial_intensity: 1000.0,
            };
            let name = format!("light {k}");
            Light { name, on: true, is_room: false, kind: LightKind::Flash, source, also: vec![] }
        })
        .collect();
    stage
}

/// A step's cost by lights and by triangles.
fn growth(gpu: &Gpu) {
    let size = if gpu.is_real() { (960, 640) } else { (96, 64) };
    println!(
        "a sample of every pixel at {}×{}, ms (trace-cpu in brackets); a step of raster:",
        size.0, size.1
    );
    let cases = [(100_000, 1), (100_000, 4), (100_000, 16), (500_000, 4), (2_000_000, 4)];
    for (triangles, lights) in cases {
        let stage = creased(triangles, lights);
        let tracer = Tracer::new(&stage, |_| true);
        let card = GpuTracer::new(gpu, &tracer).expect("the scene fits");
        let options = options(size, 1, 1, &[]);
        let mut session = Session::new(&card, &tracer, &options).expect("the sums fit");
        let (pools, all) = (Pools::new(&tracer, 0, 1), session.open(None));
        let mut best = f64::INFINITY;
        for stream in 0..4 {
            let begun = Instant::now();
            session.sample(&card, &pools, &all, stream);
            gpu.wait().expect("a card that stays");
            session.pace(begun.elapsed(), all.len());
            best = best.min(begun.elapsed().as_secs_f64() * 1e3);
        }
        let begun = Instant::now();
        tracer.render(&trace::Options { max_samples: 1, ..options }, &mut |_| true);
        let cores = begun.elapsed().as_secs_f64() * 1e3;
        let steps = raster::Options::new(size.0, size.1);
        let mut raster = Raster::new(gpu, &stage, |_| true, steps).expect("the scene fits");
        let mut step = || {
            let begun = Instant::now();
            raster.step().expect("a card that stays");
            gpu.wait().expect("a card that stays");
            begun.elapsed().as_secs_f64() * 1e3
        };
        let first = step();
        let stepped = (0..3).map(|_| step()).fold(f64::INFINITY, f64::min);
        println!(
            "  {triangles:>9} triangles, {lights:>2} lights   {best:8.2} ({cores:.0}); raster \
             {stepped:8.2}, its first {first:.0}"
        );
    }
}
