//! Stages built by hand for tests: boxes, planes, balls, plain sources; readings and renders of them.

use foreshadow::layers::{Layers, LightKind};
use foreshadow::optics::beam::Beam;
use foreshadow::optics::surface::Surface;
use foreshadow::stage::{Camera, Light, Mesh, Role, RoomBox, Source, SourceShape, Stage};
use foreshadow::trace::{Incident, Options, Receptor, Tracer};
use glam::{DVec3, Vec2, Vec3};

/// A flat quadrilateral, corners in order.
pub fn quad(name: &str, corners: [Vec3; 4], reflectance: Vec3) -> Mesh {
    Mesh {
        name: name.into(),
        role: Role::Room,
        positions: corners.to_vec(),
        normals: vec![],
        tints: vec![],
        triangles: vec![[0, 1, 2], [0, 2, 3]],
        surface: Surface::diffuse(name, reflectance),
    }
}

/// The six faces of a box: ceiling, four walls, floor, with their reflectances.
pub fn shell(min: Vec3, max: Vec3, ceiling: f32, walls: f32, floor: f32) -> Vec<Mesh> {
    let c = |x: bool, y: bool, z: bool| {
        Vec3::new(
            if x { max.x } else { min.x },
            if y { max.y } else { min.y },
            if z { max.z } else { min.z },
        )
    };
    let face = |name: &str, rho: f32, k: [(bool, bool, bool); 4]| {
        quad(name, k.map(|(x, y, z)| c(x, y, z)), Vec3::splat(rho))
    };
    let (o, l) = (false, true);
    vec![
        face("ceiling", ceiling, [(o, l, o), (l, l, o), (l, l, l), (o, l, l)]),
        face("floor", floor, [(o, o, o), (o, o, l), (l, o, l), (l, o, o)]),
        face("left wall", walls, [(o, o, o), (o, l, o), (o, l, l), (o, o, l)]),
        face("right wall", walls, [(l, o, o), (l, o, l), (l, l, l), (l, l, o)]),
        face("back wall", walls, [(o, o, o), (l, o, o), (l, l, o), (o, l, o)]),
        face("front wall", walls, [(o, o, l), (o, l, l), (l, l, l), (l, o, l)]),
    ]
}

/// A flash source aimed along `axis`.
pub fn source(
    shape: SourceShape,
    position: Vec3,
    axis: Vec3,
    beam: Beam,
    intensity: f64,
) -> Source {
    let axis = axis.normalize();
    let (right, _) = axis.any_orthonormal_pair();
    let up = right.cross(axis).normalize();
    Source { shape, position, axis, right, up, beam, glow: None, axial_intensity: intensity }
}

/// A light of that source.
pub fn light(name: &str, source: Source) -> Light {
    Light {
        name: name.into(),
        on: true,
        is_room: false,
        kind: LightKind::Flash,
        source,
        also: vec![],
    }
}

/// A source so small that it is a point: 1 cd·s in every direction of the upper half.
fn point(position: Vec3) -> Source {
    source(
        SourceShape::Disc { radius_m: 1e-3 },
        position,
        Vec3::Y,
        Beam::Cosine { exponent: 0.0 },
        1.0,
    )
}

/// Two back-to-back flat-beam points: together 1 cd·s in every direction.
pub fn isotropic(position: Vec3) -> [Light; 2] {
    let mut down = point(position);
    down.axis = -Vec3::Y;
    down.right = -down.right;
    [light("upper half", point(position)), light("lower half", down)]
}

/// A stage of those meshes and lights with a stand-in camera.
pub fn stage(meshes: Vec<Mesh>, lights: Vec<Light>, camera: Camera) -> Stage {
    Stage {
        room: RoomBox { min: Vec3::splat(-50.0), max: Vec3::splat(50.0) },
        meshes,
        lights,
        marks: vec![],
        camera,
        notes: vec![],
    }
}

/// A pinhole-like camera at `position` looking at `target` with a square frame.
pub fn camera(position: Vec3, target: Vec3, field_deg: f64) -> Camera {
    let forward = (target - position).normalize();
    let side = forward.cross(Vec3::Y);
    let right = if side.length() < 1e-3 { Vec3::X } else { side.normalize() };
    let focus_m = f64::from((target - position).length());
    let focal_m = 0.05f64.min(focus_m * 0.5);
    let v = focal_m * focus_m / (focus_m - focal_m);
    let side = 2.0 * v * (field_deg.to_radians() * 0.5).tan();
    Camera {
        position,
        right,
        up: right.cross(forward).normalize(),
        forward,
        sensor_m: [side, side],
        focal_m,
        pupil_radius_m: 0.0,
        focus_m,
    }
}

/// Meter at a point: all lights together.
pub fn read(stage: &Stage, at: Vec3, axis: Vec3, receptor: Receptor, batches: u32) -> Incident {
    let tracer = Tracer::new(stage, |_| true);
    let mut all = Incident::default();
    let mut square = 0.0;
    for one in tracer.meter(at, axis.normalize(), receptor, batches, 1) {
        all.direct += one.direct;
        all.bounced += one.bounced;
        square += one.standard_error * one.standard_error;
    }
    all.standard_error = square.sqrt();
    all
}

/// Rec.709 luminance.
pub fn y(c: DVec3) -> f64 {
    c.dot(DVec3::new(0.2126, 0.7152, 0.0722))
}

/// Asserts `got` within `share` of `expected`.
#[track_caller]
pub fn close(got: f64, expected: f64, share: f64) {
    let off = (got - expected) / expected;
    assert!(off.abs() <= share, "got {got}, expected {expected}: off by {:.3} %", off * 100.0);
}

/// Asserts that noise leaves the reading good to `share`, so that a comparison means something.
#[track_caller]
pub fn steady(reading: &Incident, share: f64) {
    let level = y(reading.direct + reading.bounced);
    let noise = reading.standard_error / level;
    assert!(noise <= share, "noise {:.3} % of {level} is too much to judge by", noise * 100.0);
}

/// Stops of `a` over `b`.
pub fn stops(a: f64, b: f64) -> f64 {
    (a / b).log2()
}

/// Asserts `got` within `tolerance` of `expected`, in the unit of both.
#[track_caller]
pub fn within(got: f64, expected: f64, tolerance: f64) {
    assert!((got - expected).abs() <= tolerance, "got {got}, expected {expected} ± {tolerance}");
}

/// A Lambertian round front.
pub fn disc(radius_m: f64, position: Vec3, axis: Vec3, intensity: f64) -> Source {
    source(
        SourceShape::Disc { radius_m },
        position,
        axis,
        Beam::Cosine { exponent: 1.0 },
        intensity,
    )
}

/// A beam that is even inside a full angle and ends there.
pub fn even_cone(full_deg: f64) -> Beam {
    Beam::Dish { beam_rad: full_deg.to_radians(), field_rad: (full_deg * 1.000_005).to_radians() }
}

/// A ball of flat facets, `rings` of them from pole to pole.
pub fn ball(centre: Vec3, radius: f32, rings: u32, surface: Surface) -> Mesh {
    let round = 2 * rings;
    let at = |ring: u32, step: u32| {
        let (theta, phi) = (
            std::f32::consts::PI * ring as f32 / rings as f32,
            std::f32::consts::TAU * step as f32 / round as f32,
        );
        let flat = theta.sin();
        centre + Vec3::new(flat * phi.sin(), theta.cos(), flat * phi.cos()) * radius
    };
    let positions: Vec<Vec3> =
        (0..=rings).flat_map(|ring| (0..round).map(move |step| at(ring, step))).collect();
    let mut triangles = Vec::new();
    for ring in 0..rings {
        for step in 0..round {
            let (a, b) = (ring * round + step, ring * round + (step + 1) % round);
            let (c, d) = (a + round, b + round);
            if ring > 0 {
                triangles.push([a, c, b]);
            }
            if ring + 1 < rings {
                triangles.push([b, c, d]);
            }
        }
    }
    let name = surface.name.clone();
    Mesh { name, role: Role::SetBox, positions, normals: vec![], tints: vec![], triangles, surface }
}

/// The same ball with the sphere's own normals.
pub fn smooth_ball(centre: Vec3, radius: f32, rings: u32, surface: Surface) -> Mesh {
    let mut mesh = ball(centre, radius, rings, surface);
    mesh.normals = mesh.positions.iter().map(|&p| (p - centre).normalize()).collect();
    mesh
}

/// A square of `side` metres around `centre` that looks along `normal`.
pub fn square(name: &str, centre: Vec3, normal: Vec3, side: f32, reflectance: f32) -> Mesh {
    let (a, b) = normal.normalize().any_orthonormal_pair();
    let corner = |i: f32, j: f32| centre + (a * i + b * j) * (0.5 * side);
    let corners = [corner(-1.0, -1.0), corner(1.0, -1.0), corner(1.0, 1.0), corner(-1.0, 1.0)];
    quad(name, corners, Vec3::splat(reflectance))
}

/// The stage ready for rays, its frame cropped to `size`, and a fixed count of samples.
pub fn taken(stage: &Stage, size: [u32; 2], samples: u32, seed: u32) -> (Tracer, Options) {
    let mut stage = stage.clone();
    stage.camera = stage.camera.cropped_to(f64::from(size[0]) / f64::from(size[1]));
    let options = Options {
        width: size[0],
        height: size[1],
        max_samples: samples,
        within_stops: None,
        seed,
        mix: vec![Vec3::ONE; stage.lights.len()],
        time_limit: None,
    };
    (Tracer::new(&stage, |_| true), options)
}

/// Layers of the stage with a fixed count of samples.
pub fn render(stage: &Stage, size: [u32; 2], samples: u32, seed: u32) -> Layers {
    let (tracer, options) = taken(stage, size, samples, seed);
    tracer.render(&options, &mut |_| true)
}

/// Luminance of a layer, averaged down each column, over where the column looks on a plane
/// `distance` before the camera: metres to the right of the axis.
pub fn across(layers: &Layers, layer: usize, camera: &Camera, distance: f64) -> Vec<(f64, f64)> {
    let (w, h) = (layers.width as usize, layers.height as usize);
    let half = f64::from(camera.cropped_to(w as f64 / h as f64).half_frame().x) * distance;
    let pixels = &layers.layers[layer].pixels;
    (0..w)
        .map(|column| {
            let sum: f64 = (0..h).map(|row| y(pixels[row * w + column].as_dvec3())).sum();
            (((column as f64 + 0.5) / w as f64 * 2.0 - 1.0) * half, sum / h as f64)
        })
        .collect()
}

/// Where the middle of a pixel looks on the plane z = `z`.
pub fn on_plane(camera: &Camera, size: [u32; 2], column: u32, row: u32, z: f32) -> Vec3 {
    let film =
        (Vec2::new(column as f32, row as f32) + 0.5) / Vec2::new(size[0] as f32, size[1] as f32);
    let (from, direction) = camera.ray(film, Vec2::ZERO);
    from + direction * ((z - from.z) / direction.z)
}
