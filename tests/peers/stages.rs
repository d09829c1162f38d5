//! Stages for comparing renderers: those of shipped plans, and two built by hand that have every
//! kind of surface, normal and source.

use std::sync::Arc;

use foreshadow::layers::LightKind;
use foreshadow::optics::beam::Beam;
use foreshadow::optics::surface::{Coat, Scatter, Surface};
use foreshadow::plan::{self, shipped::Shipped};
use foreshadow::stage::{self, Camera, Light, Mesh, Role, RoomBox, Source, SourceShape, Stage};
use glam::Vec3;

/// The stage of a plan that ships.
pub fn shipped(shipped: &Shipped) -> Stage {
    let plan = plan::parse(shipped.text, shipped.name).expect("a shipped plan is good");
    stage::build(&plan).expect("a shipped plan's set stands")
}

/// The stage with scattering that Mitsuba has too: its own form of a coat, matt for velvet.
/// Reports what was changed.
pub fn on_equal_terms(mut stage: Stage) -> Stage {
    for mesh in &mut stage.meshes {
        mesh.surface.scatter = match &mesh.surface.scatter {
            Scatter::Diffuse => Scatter::Diffuse,
            Scatter::Coated(coat) => {
                Scatter::Coated(Arc::new(Coat::single_scatter(coat.ior(), coat.alpha())))
            }
            Scatter::Velvet(_) | Scatter::Metal(_) => {
                println!("  {} is compared as matt: Mitsuba has no velvet", mesh.name);
                Scatter::Diffuse
            }
        };
    }
    stage
}

/// A 6 × 5 × 3 m room with a creased backdrop, a crate and a ball; a dish key, a dish aimed at
/// the ceiling, a softbox-like rectangle and the room's own light.
pub fn studio() -> Stage {
    let (min, max) = (Vec3::new(-3.0, 0.0, -2.0), Vec3::new(3.0, 3.0, 3.0));
    let mut meshes = room(min, max);
    meshes.push(backdrop());
    meshes.push(crate_box(Vec3::new(-0.75, 0.0, -0.55), Vec3::new(-0.15, 0.5, 0.05)));
    meshes.push(ball("ball", Vec3::new(0.35, 0.9, -0.1), 0.4, Vec3::new(0.55, 0.38, 0.28)));
    // A tube that emits is a film round its glass; here the glass is black, as in Mitsuba.
    let tube_at = Vec3::new(2.2, 1.4, -0.8);
    meshes.push(core(tube_at, 0.0295, 0.499));
    let dish =
        |deg: f64| Beam::Dish { beam_rad: deg.to_radians(), field_rad: (1.7 * deg).to_radians() };
    let key_at = Vec3::new(1.9, 2.3, 1.7);
    let disc = SourceShape::Disc { radius_m: 0.09 };
    let lights = vec![
        flash("key", disc, key_at, Vec3::new(0.0, 0.9, -0.3) - key_at, dish(35.0), 5000.0),
        flash(
            "bounce",
            disc,
            Vec3::new(-1.8, 1.6, 1.6),
            Vec3::new(0.1, 1.0, -0.3),
            dish(50.0),
            4000.0,
        ),
        flash(
            "window",
            SourceShape::Rectangle { width_m: 0.8, height_m: 1.2 },
            Vec3::new(-2.4, 1.5, 0.6),
            Vec3::new(1.0, -0.15, -0.3),
            Beam::Cosine { exponent: 1.0 },
            3000.0,
        ),
        flash(
            "tube",
            SourceShape::Tube { radius_m: 0.03, length_m: 0.5 },
            tube_at,
            Vec3::Y,
            Beam::Cosine { exponent: 1.0 },
            1500.0,
        ),
        ambient(min, max),
    ];
    Stage {
        room: RoomBox { min, max },
        meshes,
        lights,
        marks: vec![],
        notes: vec![],
        camera: camera(Vec3::new(0.1, 1.3, 2.9), Vec3::new(0.0, 0.95, -0.2), 0.035, 2.0),
    }
}

/// A small low room with a tinted ceiling and one head aimed into it: everything bounces.
pub fn attic() -> Stage {
    let (min, max) = (Vec3::new(-1.4, 0.0, -1.3), Vec3::new(1.4, 2.1, 1.9));
    let mut meshes = room(min, max);
    meshes[0].surface.reflectance = Vec3::new(0.75, 0.6, 0.4);
    meshes.push(crate_box(Vec3::new(-0.9, 0.0, -0.9), Vec3::new(-0.3, 0.7, -0.4)));
    meshes.push(ball("ball", Vec3::new(0.25, 0.8, -0.3), 0.35, Vec3::new(0.3, 0.3, 0.32)));
    let beam = Beam::Cosine { exponent: 3.0 };
    let lights = vec![
        flash(
            "bounce",
            SourceShape::Disc { radius_m: 0.06 },
            Vec3::new(0.9, 1.3, 0.9),
            Vec3::new(-0.1, 1.0, -0.1),
            beam,
            1000.0,
        ),
        ambient(min, max),
    ];
    Stage {
        room: RoomBox { min, max },
        meshes,
        lights,
        marks: vec![],
        notes: vec![],
        camera: camera(Vec3::new(-0.4, 1.2, 1.8), Vec3::new(0.0, 0.9, -0.4), 0.028, 4.0),
    }
}

fn room(min: Vec3, max: Vec3) -> Vec<Mesh> {
    let at = |x: bool, y: bool, z: bool| {
        let pick = |high: bool, low: f32, top: f32| if high { top } else { low };
        Vec3::new(pick(x, min.x, max.x), pick(y, min.y, max.y), pick(z, min.z, max.z))
    };
    let (o, l) = (false, true);
    let face = |name: &str, rho: f32, k: [(bool, bool, bool); 4]| Mesh {
        name: name.into(),
        role: Role::Room,
        positions: k.map(|(x, y, z)| at(x, y, z)).to_vec(),
        normals: vec![],
        tints: vec![],
        triangles: vec![[0, 1, 2], [0, 2, 3]],
        surface: Surface::diffuse(name, Vec3::splat(rho)),
    };
    vec![
        face("ceiling", 0.8, [(o, l, o), (l, l, o), (l, l, l), (o, l, l)]),
        face("floor", 0.3, [(o, o, o), (o, o, l), (l, o, l), (l, o, o)]),
        face("left wall", 0.5, [(o, o, o), (o, l, o), (o, l, l), (o, o, l)]),
        face("right wall", 0.5, [(l, o, o), (l, o, l), (l, l, l), (l, l, o)]),
        face("back wall", 0.5, [(o, o, o), (l, o, o), (l, l, o), (o, l, o)]),
        face("front wall", 0.5, [(o, o, l), (o, l, l), (l, l, l), (l, o, l)]),
    ]
}

/// A hanging with smooth folds: vertex normals from the formula, darker dye towards the floor.
fn backdrop() -> Mesh {
    let (columns, rows) = (161_u32, 81_u32);
    let depth = |x: f32, y: f32| -1.2 + 0.05 * (9.0 * x + 1.5 * y).sin() + 0.02 * (31.0 * x).sin();
    let (mut positions, mut normals, mut tints) = (vec![], vec![], vec![]);
    for row in 0..rows {
        for column in 0..columns {
            let x = -1.6 + 3.2 * column as f32 / (columns - 1) as f32;
            let y = 0.01 + 2.5 * row as f32 / (rows - 1) as f32;
            let slope_x = 0.45 * (9.0 * x + 1.5 * y).cos() + 0.62 * (31.0 * x).cos();
            let slope_y = 0.075 * (9.0 * x + 1.5 * y).cos();
            positions.push(Vec3::new(x, y, depth(x, y)));
            normals.push(Vec3::new(-slope_x, -slope_y, 1.0).normalize());
            tints.push(Vec3::splat(1.0 - 0.3 * (1.0 - y / 2.5)));
        }
    }
    let mut triangles = vec![];
    for row in 0..rows - 1 {
        for column in 0..columns - 1 {
            let a = row * columns + column;
            triangles.extend([[a, a + 1, a + columns + 1], [a, a + columns + 1, a + columns]]);
        }
    }
    Mesh {
        name: "backdrop".into(),
        role: Role::Cloth,
        positions,
        normals,
        tints,
        triangles,
        surface: Surface::diffuse("linen", Vec3::new(0.62, 0.58, 0.5)),
    }
}

fn crate_box(min: Vec3, max: Vec3) -> Mesh {
    let mut positions = vec![];
    let mut triangles = vec![];
    for face in room(min, max) {
        let base = positions.len() as u32;
        positions.extend(face.positions);
        // seen from outside: the other way round than the inside of a room
        triangles.extend(face.triangles.iter().map(|&[a, b, c]| [base + a, base + c, base + b]));
    }
    Mesh {
        name: "crate".into(),
        role: Role::SetBox,
        positions,
        normals: vec![],
        tints: vec![],
        triangles,
        surface: Surface::diffuse("pine", Vec3::new(0.45, 0.33, 0.2)),
    }
}

fn ball(name: &str, centre: Vec3, radius: f32, base: Vec3) -> Mesh {
    let (around, down) = (96_u32, 48_u32);
    let (mut normals, mut triangles) = (vec![], vec![]);
    for row in 0..=down {
        for column in 0..=around {
            let theta = std::f32::consts::PI * row as f32 / down as f32;
            let phi = std::f32::consts::TAU * column as f32 / around as f32;
            normals.push(Vec3::new(theta.sin() * phi.cos(), theta.cos(), -theta.sin() * phi.sin()));
        }
    }
    for row in 0..down {
        for column in 0..around {
            let a = row * (around + 1) + column;
            let b = a + around + 1;
            triangles.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
        }
    }
    Mesh {
        name: name.into(),
        role: Role::Skin,
        positions: normals.iter().map(|&n| centre + radius * n).collect(),
        normals,
        tints: vec![],
        triangles,
        surface: Surface::coated(name, base, 1.4, 0.3),
    }
}

/// An upright black prism of many sides.
fn core(centre: Vec3, radius: f32, length: f32) -> Mesh {
    let sides = 64_u32;
    let up = Vec3::Y * (0.5 * length);
    let mut positions = vec![centre - up, centre + up];
    let mut triangles = vec![];
    for side in 0..sides {
        let (sin, cos) = (std::f32::consts::TAU * side as f32 / sides as f32).sin_cos();
        let rim = centre + radius * Vec3::new(cos, 0.0, -sin);
        positions.extend([rim - up, rim + up]);
        let (a, b) = (2 + 2 * side, 2 + 2 * ((side + 1) % sides));
        triangles.extend([[0, b, a], [1, a + 1, b + 1], [a, b, b + 1], [a, b + 1, a + 1]]);
    }
    Mesh {
        name: "tube core".into(),
        role: Role::Fixture,
        positions,
        normals: vec![],
        tints: vec![],
        triangles,
        surface: Surface::diffuse("black", Vec3::ZERO),
    }
}

fn flash(
    name: &str,
    shape: SourceShape,
    position: Vec3,
    axis: Vec3,
    beam: Beam,
    axial_intensity: f64,
) -> Light {
    let axis = axis.normalize();
    let aside = if axis.y.abs() > 0.99 { Vec3::Z } else { Vec3::Y };
    let right = axis.cross(aside).normalize();
    let up = right.cross(axis);
    let source = Source { shape, position, axis, right, up, beam, glow: None, axial_intensity };
    Light {
        name: name.into(),
        on: true,
        is_room: false,
        kind: LightKind::Flash,
        source,
        also: vec![],
    }
}

/// A Lambertian panel a millimetre below the ceiling.
fn ambient(min: Vec3, max: Vec3) -> Light {
    let size = max - min;
    let shape = SourceShape::Rectangle {
        width_m: f64::from(0.6 * size.x),
        height_m: f64::from(0.6 * size.z),
    };
    let mut position = 0.5 * (min + max);
    position.y = max.y - 1e-3;
    let beam = Beam::Cosine { exponent: 1.0 };
    let light = flash("ambient", shape, position, -Vec3::Y, beam, 100.0);
    let source = Source { right: Vec3::X, up: -Vec3::Z, ..light.source };
    Light { kind: LightKind::Continuous, source, ..light }
}

fn camera(position: Vec3, target: Vec3, focal_m: f64, f_number: f64) -> Camera {
    let forward = (target - position).normalize();
    let right = forward.cross(Vec3::Y).normalize();
    Camera {
        position,
        right,
        up: right.cross(forward),
        forward,
        sensor_m: [0.036, 0.024],
        focal_m,
        pupil_radius_m: focal_m / (2.0 * f_number),
        focus_m: f64::from((target - position).length()),
    }
}
