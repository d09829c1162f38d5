//! Functions that are written twice, in Rust and in WGSL, give the same on the card.

use std::sync::Arc;

use foreshadow::gpu::upload::MaterialData;
use foreshadow::gpu::{Materials, Slot, shader};
use foreshadow::layers::LightKind;
use foreshadow::optics::beam::{Beam, Gate, Table};
use foreshadow::optics::color;
use foreshadow::optics::surface::Surface;
use foreshadow::stage::source::Emitter;
use foreshadow::stage::{Glow, Light, Source, SourceShape};
use foreshadow::trace::sampler::Sampler;
use glam::{Vec2, Vec3, Vec4};

use crate::card::card;

type Item = [Vec4; 4];

fn run(entry: &str, data: &MaterialData, given: &[Item]) -> Vec<Item> {
    let gpu = card();
    let materials = Materials::new(gpu, data).unwrap();
    let layout = gpu.layout("grid", wgpu::ShaderStages::COMPUTE, &[Slot::Read, Slot::Write]);
    let source = shader::with_scene(include_str!("twins.wgsl"));
    let kernel = gpu.kernel(entry, &source, entry, &[&materials.layout, &layout]).unwrap();
    let input = gpu.storage("given", given).unwrap();
    let output = gpu.zeros("answer", size_of_val(given) as u64).unwrap();
    let group = gpu.group("grid", &layout, &[&input, &output]);
    let mut encoder = gpu.device.create_command_encoder(&Default::default());
    {
        let mut pass = encoder.begin_compute_pass(&Default::default());
        pass.set_pipeline(&kernel.pipeline);
        pass.set_bind_group(0, &materials.group, &[]);
        pass.set_bind_group(1, &group, &[]);
        pass.dispatch_workgroups((given.len() as u32).div_ceil(64), 1, 1);
    }
    gpu.queue.submit([encoder.finish()]);
    gpu.read(&output, 0, given.len() as u64).unwrap()
}

/// Within a thousandth of the value, or of a thousandth of the largest value there is.
struct Close {
    what: String,
    pairs: Vec<(f32, f32)>,
}

impl Close {
    fn new(what: impl Into<String>) -> Self {
        Self { what: what.into(), pairs: Vec::new() }
    }

    fn add(&mut self, ours: f32, theirs: f32) {
        self.pairs.push((ours, theirs));
    }

    /// Holds all but `strays` of a million (a value beside a step may fall on its other side).
    fn hold(&self, strays: usize) {
        let peak = self.pairs.iter().map(|(ours, _)| ours.abs()).fold(0.0, f32::max);
        assert!(peak > 0.0, "{}: nothing but zeros", self.what);
        let off: Vec<&(f32, f32)> = self
            .pairs
            .iter()
            .filter(|(ours, theirs)| {
                let near = (ours - theirs).abs() <= 1e-3 * ours.abs().max(1e-3 * peak);
                !near
            })
            .collect();
        let most = strays * self.pairs.len() / 1_000_000;
        assert!(
            off.len() <= most,
            "{}: {} of {} differ (at most {most} may), first {:?}; peak {peak}",
            self.what,
            off.len(),
            self.pairs.len(),
            off.first()
        );
    }
}

fn grid(side: u32) -> impl Iterator<Item = Vec2> {
    (0..side * side)
        .map(move |k| Vec2::new((k % side) as f32 + 0.5, (k / side) as f32 + 0.5) / side as f32)
}

/// Directions over the upper hemisphere, from grazing to straight up.
fn directions(side: u32) -> Vec<Vec3> {
    grid(side)
        .map(|u| {
            let theta = u.x * std::f32::consts::FRAC_PI_2;
            let phi = u.y * std::f32::consts::TAU;
            Vec3::new(theta.sin() * phi.cos(), theta.sin() * phi.sin(), theta.cos())
        })
        .collect()
}

#[test]
fn sample_streams_are_the_same_to_the_bit() {
    let mut given = Vec::new();
    for index in 0..64u32 {
        for stream in [0, 1, 77, 614_399] {
            for dimension in [0u32, 1, 2, 9, 130] {
                let words = [index, stream, !7, dimension].map(f32::from_bits);
                given.push([Vec4::from_array(words), Vec4::ZERO, Vec4::ZERO, Vec4::ZERO]);
            }
        }
    }
    for (item, answer) in given.iter().zip(run("sampling", &MaterialData::default(), &given)) {
        let [index, stream, seed, dimension] = item[0].to_array().map(f32::to_bits);
        let sampler = Sampler::new(index, stream, seed);
        let ours = sampler.pair(dimension).extend(sampler.single(dimension));
        assert_eq!(ours, answer[0].truncate(), "{index} {stream} {dimension}");
    }
}

#[test]
fn color_is_the_same() {
    let given: Vec<Item> = (0..=1000)
        .map(|k| {
            let x = k as f32 / 1000.0;
            [Vec4::new(x, x * x, 1.0 - x, 0.0), Vec4::ZERO, Vec4::ZERO, Vec4::ZERO]
        })
        .collect();
    let mut close = Close::new("colour");
    for (item, answer) in given.iter().zip(run("color", &MaterialData::default(), &given)) {
        close.add(color::srgb_encode(item[0].x), answer[0].x);
        close.add(color::srgb_decode(item[0].x), answer[0].y);
        close.add(color::luminance(item[0].truncate()), answer[0].z);
    }
    close.hold(0);
}

#[test]
fn surfaces_scatter_the_same() {
    let base = Vec3::new(0.6, 0.35, 0.2);
    let kinds = [
        Surface::diffuse("matt", base),
        Surface::coated("skin", base, 1.4, 0.3),
        Surface::coated("satin", base, 1.5, 0.08),
        Surface::coated("rough", base, 1.33, 1.0),
        Surface::velvet("velvet", base * 0.1, 1.0),
        Surface::velvet("nap", base, 0.4),
        Surface::metal("silver", base, 0.25),
        Surface::metal("foil", base, 0.08),
    ];
    let mut data = MaterialData::default();
    kinds.iter().for_each(|surface| data.surface(surface));
    let (outgoing, incoming) = (directions(9), directions(12));
    for (index, surface) in kinds.iter().enumerate() {
        let mut given = Vec::new();
        for (o, &wo) in outgoing.iter().enumerate() {
            for (i, &wi) in incoming.iter().enumerate() {
                let u = Vec2::new((o as f32 * 0.618) % 1.0, (i as f32 * 0.7549) % 1.0);
                let lobe = ((o + 3 * i) as f32 * 0.5698) % 1.0;
                given.push([
                    wo.extend(f32::from_bits(index as u32)),
                    wi.extend(0.0),
                    Vec4::new(lobe, u.x, u.y, 0.0),
                    surface.reflectance.extend(0.0),
                ]);
            }
        }
        let (mut f, mut pdf) = (Close::new("f"), Close::new("pdf"));
        let mut drawn = Close::new("draws");
        for (item, answer) in given.iter().zip(run("scattering", &data, &given)) {
            let [wo, wi, u, tint] = item.map(Vec4::truncate);
            let value = surface.eval(tint, wo, wi);
            (0..3).for_each(|c| f.add(value[c], answer[0][c]));
            pdf.add(surface.pdf(tint, wo, wi), answer[0].w);
            pdf.add(surface.pdf(tint, wi, wo), answer[1].w);
            let direction = surface.sample(tint, wo, u).unwrap_or(Vec3::ZERO);
            (0..3).for_each(|c| drawn.add(direction[c], answer[1][c]));
        }
        for close in [&mut f, &mut pdf, &mut drawn] {
            close.what = format!("{}: {}", surface.name, close.what);
            close.hold(0);
        }
    }
}

fn source(shape: SourceShape, beam: Beam) -> Source {
    let axis = Vec3::new(0.3, -0.5, -0.8).normalize();
    let right = axis.cross(Vec3::Y).normalize();
    Source {
        shape,
        position: Vec3::new(1.0, 2.0, 1.5),
        axis,
        right,
        up: right.cross(axis),
        beam,
        glow: None,
        axial_intensity: 1234.0,
    }
}

/// A light of each shape, and of each beam.
fn lights() -> Vec<(&'static str, Light)> {
    let disc = SourceShape::Disc { radius_m: 0.09 };
    let dish = Beam::Dish { beam_rad: 0.6, field_rad: 1.1 };
    let soft = Beam::Cosine { exponent: 1.0 };
    let table = Table::new(46, 24, |theta, phi| theta.cos().powi(2) * (1.5 + (2.0 * phi).sin()));
    let gate = Gate { iris: 0.3, across: [-0.2, 0.9], upward: [-0.9, 0.25], focus_m: 3.0 };
    let far = Gate { focus_m: f64::INFINITY, across: [-1e9, 1e9], ..gate };
    let alone = |source: Source| Light {
        name: "light".into(),
        on: true,
        is_room: false,
        kind: LightKind::Flash,
        source,
        also: Vec::new(),
    };
    let mut umbrella = source(SourceShape::Polygon { sides: 8, radius_m: 0.5 }, soft.clone());
    umbrella.glow = Some(Glow { behind_m: 0.4, power: 1.5 });
    let mut pair = alone(source(disc, dish.clone()));
    pair.also.push(source(SourceShape::Ring { radius_m: 0.2, hole_m: 0.09 }, soft.clone()));
    vec![
        ("dish", alone(source(disc, dish.clone()))),
        ("narrow dish", alone(source(disc, Beam::Dish { beam_rad: 0.2, field_rad: 0.3 }))),
        ("panel", alone(source(SourceShape::Rectangle { width_m: 0.6, height_m: 0.9 }, soft))),
        ("tight", alone(source(disc, Beam::Cosine { exponent: 12.0 }))),
        ("tube", alone(source(SourceShape::Tube { radius_m: 0.02, length_m: 0.1 }, dish))),
        (
            "lantern",
            alone(source(SourceShape::Ball { radius_m: 0.3 }, Beam::Cosine { exponent: 1.0 })),
        ),
        ("table", alone(source(disc, Beam::Table(Arc::new(table))))),
        ("gate", alone(source(disc, Beam::Gate(gate)))),
        ("far gate", alone(source(disc, Beam::Gate(far)))),
        ("umbrella", alone(umbrella)),
        ("two fronts", pair),
    ]
}

#[test]
fn fronts_emit_the_same() {
    let lights = lights();
    let mut data = MaterialData::default();
    let emitters: Vec<Emitter> = lights.iter().map(|(_, light)| Emitter::of(light)).collect();
    emitters.iter().for_each(|emitter| data.light(emitter));
    for (((name, light), emitter), films) in lights.iter().zip(&emitters).zip(&data.lights) {
        let (right, up, axis) = (light.source.right, light.source.up, light.source.axis);
        let mut given = Vec::new();
        for u in grid(12) {
            for local in directions(11) {
                let direction = right * local.x + up * local.y + axis * local.z;
                let turn = (u.x * 5.3 + local.x * 2.9).rem_euclid(1.0);
                given.push([
                    Vec4::new(
                        f32::from_bits(films.start),
                        f32::from_bits(films.len() as u32),
                        u.x,
                        u.y,
                    ),
                    direction.extend(0.0),
                    Vec4::new(local.z, turn, 0.0, 0.0),
                    Vec4::ZERO,
                ]);
            }
        }
        let named = |what: &str| Close::new(format!("{name}: {what}"));
        let (mut place, mut radiance, mut pdf) = (named("point"), named("radiance"), named("pdf"));
        let (mut left, mut flux, mut met) = (named("direction"), named("flux"), named("crossing"));
        for (item, answer) in given.iter().zip(run("fronts", &data, &given)) {
            let u = Vec2::new(item[0].z, item[0].w);
            let direction = item[1].truncate();
            let point = emitter.front(u);
            (0..3).for_each(|c| place.add(point.position[c], answer[0][c]));
            (0..3).for_each(|c| place.add(point.normal[c], answer[1][c]));
            radiance.add(emitter.radiance(&point, direction), answer[0].w);
            pdf.add(emitter.direction_pdf(&point, direction), answer[1].w);
            pdf.add(emitter.area_pdf(&point), answer[3].y);
            let emission = emitter.emit(u, Vec2::new(item[2].x, item[2].y));
            (0..3).for_each(|c| left.add(emission.direction[c], answer[2][c]));
            flux.add(emission.flux, answer[2].w);
            pdf.add(emission.direction_pdf, answer[3].x);
            let mut nearest = (1e30f32, 0.0);
            emitter.crossings(point.position + 0.5 * direction, -direction, 10.0, |t, at| {
                if at.film == point.film {
                    nearest = (t, at.normal.dot(direction));
                }
            });
            if nearest.0 < 1e29 && answer[3].z < 1e29 {
                met.add(nearest.0, answer[3].z);
                met.add(nearest.1, answer[3].w);
            }
        }
        assert!(met.pairs.len() as f32 > 1.6 * given.len() as f32, "{name}: rays miss the front");
        place.hold(0);
        left.hold(0);
        met.hold(1000);
        radiance.hold(if name.contains("gate") { 2000 } else { 0 });
        // a direction beside a ring's edge may count as the next ring
        pdf.hold(5000);
        flux.hold(5000);
    }
}
