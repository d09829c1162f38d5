//! Stages built by hand for tests: boxes, planes, plain sources.
#![expect(dead_code, reason = "each test file uses its own part")]

use foreshadow::layers::LightKind;
use foreshadow::optics::beam::Beam;
use foreshadow::optics::surface::Surface;
use foreshadow::stage::{Camera, Light, Mesh, Role, RoomBox, Source, SourceShape, Stage};
use foreshadow::trace::{Incident, Receptor, Tracer};
use glam::{DVec3, Vec3};

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
    Source { shape, position, axis, right, up, beam, axial_intensity: intensity }
}

/// A light of that source.
pub fn light(name: &str, source: Source) -> Light {
    Light { name: name.into(), on: true, kind: LightKind::Flash, source }
}

/// A source so small that it is a point: 1 cd·s in every direction.
pub fn point(position: Vec3) -> Source {
    // a sphere-like tube is not isotropic; two Lambertian-free halves would not be either, so
    // isotropy comes from a pair of discs with a flat beam (see `isotropic`)
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
