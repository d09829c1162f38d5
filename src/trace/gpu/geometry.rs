//! The scene's triangles and nodes as the card reads them (shaders/trace/bvh.wgsl).

use bytemuck::{Pod, Zeroable};
use glam::Vec3;
use half::f16;
use obvhs::cwbvh::CwBvh;

use super::super::light_paths::LightVertex;
use super::super::scene::Scene;
use crate::gpu::layout::pack_normal;

/// `Landed` of shaders/trace/path.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
pub struct Landed {
    position: [f32; 3],
    surface: u32,
    geometric: u32,
    shading: u32,
    outgoing: u32,
    dvcm: f32,
    reflectance: [f32; 3],
    dvc: f32,
    flux: [f32; 3],
    pad: u32,
}

impl From<&LightVertex> for Landed {
    fn from(v: &LightVertex) -> Self {
        Self {
            position: v.position.to_array(),
            surface: v.surface,
            geometric: pack_normal(v.geometric),
            shading: pack_normal(v.shading),
            outgoing: pack_normal(v.outgoing),
            dvcm: v.dvcm,
            reflectance: v.reflectance.to_array(),
            dvc: v.dvc,
            flux: v.flux.to_array(),
            pad: 0,
        }
    }
}

/// Three corners a triangle, each with the packed normal there.
pub fn corners(scene: &Scene) -> Vec<[f32; 4]> {
    let mut corners = Vec::with_capacity(3 * scene.triangles.len());
    for (triangle, facet) in scene.triangles.iter().zip(&scene.facets) {
        let at = [triangle.v0, triangle.v1, triangle.v2];
        for (p, n) in at.into_iter().zip(facet.normals) {
            corners.push([p.x, p.y, p.z, f32::from_bits(pack_normal(n))]);
        }
    }
    corners
}

/// Surface and tints of each triangle.
pub fn facets(scene: &Scene) -> Vec<[u32; 8]> {
    let pair = |a: f32, b: f32| {
        u32::from(f16::from_f32(a).to_bits()) | u32::from(f16::from_f32(b).to_bits()) << 16
    };
    scene
        .facets
        .iter()
        .map(|facet| {
            let [a, b, c]: [Vec3; 3] = facet.tints;
            let tints =
                [pair(a.x, a.y), pair(a.z, b.x), pair(b.y, b.z), pair(c.x, c.y), pair(c.z, 0.0)];
            let [t0, t1, t2, t3, t4] = tints;
            [facet.surface, t0, t1, t2, t3, t4, 0, 0]
        })
        .collect()
}

/// Levels of nodes on the longest way down: a ray leaves at most one group of siblings behind on
/// each, so that this many entries of a stack are enough.
pub fn depth(bvh: &CwBvh) -> u32 {
    let mut deepest = 0;
    let mut open = if bvh.nodes.is_empty() { vec![] } else { vec![(0usize, 1u32)] };
    while let Some((at, level)) = open.pop() {
        deepest = deepest.max(level);
        let node = &bvh.nodes[at];
        for child in 0..node.imask.count_ones() {
            open.push(((node.child_base_idx + child) as usize, level + 1));
        }
    }
    deepest
}
