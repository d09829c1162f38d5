//! Shaders pass the validator, structures lie as they read them, and lighter meshes keep the size
//! of their shadows.

use std::mem::offset_of;

use glam::Vec3;
use wgpu::naga::front::wgsl;
use wgpu::naga::valid::{Capabilities, ValidationFlags, Validator};
use wgpu::naga::{Module, TypeInner};

use super::gbuffer::View;
use super::receivers::Face;
use super::shade::{Round, Sample};
use super::shadow_mesh::{Fineness, ShadowMesh, lighten};
use super::solid::{Facet, Node};
use crate::optics::surface::Surface;
use crate::stage::{Mesh, Role};

fn parsed(name: &str, source: &str) -> Module {
    let module = wgsl::parse_str(source)
        .unwrap_or_else(|fault| panic!("{name}: {}", fault.emit_to_string(source)));
    // only what every WebGPU device has
    Validator::new(ValidationFlags::all(), Capabilities::empty())
        .validate(&module)
        .unwrap_or_else(|fault| panic!("{name}: {}", fault.emit_to_string(source)));
    module
}

#[test]
fn all_modules_are_valid() {
    for (name, source) in super::shaders() {
        parsed(name, &source);
    }
}

/// Offsets of the members of a shader's structure in order, and its size.
fn laid_out(module: &Module, structure: &str) -> (Vec<u32>, usize) {
    let found = module.types.iter().find(|(_, ty)| ty.name.as_deref() == Some(structure));
    let Some((_, found)) = found else { panic!("no structure {structure}") };
    let TypeInner::Struct { members, span } = &found.inner else {
        panic!("{structure} is no structure")
    };
    (members.iter().map(|member| member.offset).collect(), *span as usize)
}

macro_rules! same_layout {
    ($module:expr, $ours:ident: $($member:ident),+) => {
        let ours = vec![$(offset_of!($ours, $member) as u32),+];
        let theirs = laid_out($module, stringify!($ours));
        assert_eq!(theirs, (ours, size_of::<$ours>()), "{}", stringify!($ours));
    };
}

#[test]
fn structures_lie_as_shaders_read_them() {
    let module = &parsed("shade", &super::shade::shader());
    same_layout!(module, View: origin, near, right, shear_x, up, shear_y, forward, pad, half, jitter, size, pad_after);
    same_layout!(module, Face: from, layer, right, near, up, texel, forward, map_size, bounds, coarse, deviation, pad);
    same_layout!(module, Sample: position, kind, normal, which, shading, weight, outgoing, soft, flux, first_face, reflectance, faces);
    same_layout!(module, Round: samples, faces, count, first_film, films, sums_depth, roots, number, seed, landing_soft, front_soft, front_weight, close);
    same_layout!(module, Node: low, count, high, first);
    same_layout!(module, Facet: corner, surface, edge, pad, other, pad_after);
}

/// Area in m² that a mesh covers seen along z after a turn, on a grid of half-millimetre squares.
fn silhouette_m2(positions: &[Vec3], triangles: &[[u32; 3]], turn: glam::Quat) -> f64 {
    const CELL: f32 = 5e-4;
    const SIDE: i32 = 800;
    let flat: Vec<glam::Vec2> =
        positions.iter().map(|&p| (turn * p).truncate() / CELL + 0.5 * SIDE as f32).collect();
    let mut covered = vec![false; (SIDE * SIDE) as usize];
    for corners in triangles {
        let [a, b, c] = corners.map(|i| flat[i as usize]);
        let (low, high) = (a.min(b).min(c).ceil().as_ivec2(), a.max(b).max(c).floor().as_ivec2());
        let area = (b - a).perp_dot(c - a);
        for y in low.y.max(0)..=high.y.min(SIDE - 1) {
            for x in low.x.max(0)..=high.x.min(SIDE - 1) {
                let p = glam::Vec2::new(x as f32, y as f32);
                let sides =
                    [(a, b), (b, c), (c, a)].map(|(p0, p1)| (p1 - p0).perp_dot(p - p0) * area);
                if sides.iter().all(|side| *side >= 0.0) {
                    covered[(y * SIDE + x) as usize] = true;
                }
            }
        }
    }
    covered.iter().filter(|c| **c).count() as f64 * f64::from(CELL * CELL)
}

/// A bumpy closed body and an open rumpled sheet, both far finer than a cell.
fn bodies() -> [Mesh; 2] {
    let grid = |columns: u32, rows: u32, closed: bool, at: &dyn Fn(f32, f32) -> Vec3| {
        let point = |c: u32, r: u32| at(c as f32 / columns as f32, r as f32 / rows as f32);
        let across = if closed { columns } else { columns + 1 };
        let positions: Vec<Vec3> = (0..=rows)
            .flat_map(|r| (0..across).map(move |c| (c, r)))
            .map(|(c, r)| point(c, r))
            .collect();
        let index = |c: u32, r: u32| r * across + c % across;
        let triangles: Vec<[u32; 3]> = (0..rows)
            .flat_map(|r| (0..columns).map(move |c| (c, r)))
            .flat_map(|(c, r)| {
                let (a, b, d, e) =
                    (index(c, r), index(c + 1, r), index(c, r + 1), index(c + 1, r + 1));
                [[a, d, b], [b, d, e]]
            })
            .collect();
        (positions, triangles)
    };
    let ball = grid(200, 100, true, &|u, v| {
        let (theta, phi) = (std::f32::consts::PI * v, std::f32::consts::TAU * u);
        let relief = 1.0 + 0.03 * (9.0 * phi).sin() * theta.sin().powi(2);
        Vec3::new(theta.sin() * phi.cos(), theta.cos(), -theta.sin() * phi.sin()) * (0.1 * relief)
    });
    let sheet = grid(160, 160, false, &|u, v| {
        Vec3::new(0.3 * (u - 0.5), 0.3 * (v - 0.5), 0.004 * (40.0 * u).sin() * (31.0 * v).cos())
    });
    let mesh = |(positions, triangles): (Vec<Vec3>, Vec<[u32; 3]>), role, round: bool| Mesh {
        name: "body".into(),
        role,
        normals: positions.iter().map(|p| if round { p.normalize() } else { Vec3::Z }).collect(),
        positions,
        tints: vec![],
        triangles,
        surface: Surface::diffuse("body", Vec3::splat(0.5)),
    };
    [mesh(ball, Role::Hair, true), mesh(sheet, Role::Garment, false)]
}

/// The shadow of a lighter mesh is as large as its original's, from wherever it is lit.
#[test]
fn lighter_meshes_keep_the_size_of_their_shadow() {
    for (mesh, tolerances) in bodies().iter().zip([[0.01, 0.02], [0.03, 0.03]]) {
        for ((fineness, least), tolerance) in
            [(Fineness::Fine, 4.0), (Fineness::Coarse, 15.0)].into_iter().zip(tolerances)
        {
            let ShadowMesh { positions, triangles } = lighten(mesh, fineness);
            let lighter = mesh.triangles.len() as f64 / triangles.len() as f64;
            assert!(lighter > least, "{fineness:?}: only {lighter} times lighter");
            for angle in [0.0f32, 0.5, 1.1] {
                let turn = glam::Quat::from_rotation_y(angle) * glam::Quat::from_rotation_x(0.3);
                let full = silhouette_m2(&mesh.positions, &mesh.triangles, turn);
                let light = silhouette_m2(&positions, &triangles, turn);
                let off = light / full - 1.0;
                eprintln!(
                    "{:?} {fineness:?} at {angle}: {lighter:.1} times lighter, area off by {off:.4}",
                    mesh.role
                );
                assert!(off.abs() < tolerance, "{:?} {fineness:?} at {angle}: {off}", mesh.role);
            }
        }
    }
}
