//! The scene's triangles and nodes as the card reads them (shaders/trace/bvh.wgsl).

use bytemuck::{Pod, Zeroable};
use glam::Vec3;
use half::f16;
use obvhs::cwbvh::CwBvh;

use super::super::light_paths::{LightVertex, MEMBERS, Pool};
use super::super::scene::Scene;
use crate::gpu::layout::pack_normal;

/// What a member's choice needs; two words of four in shaders/trace/path.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
pub struct Member {
    position: [f32; 3],
    power: f32,
    geometric: u32,
    dvcm: f32,
    pad: [u32; 2],
}

/// The rest of it; three words of four.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
pub struct Landed {
    flux: [f32; 3],
    surface: u32,
    reflectance: [f32; 3],
    dvc: f32,
    shading: u32,
    outgoing: u32,
    pad: [u32; 2],
}

/// One light's pool for the card.
#[derive(Debug, Clone)]
pub struct LightPool {
    /// Blocks of members.
    pub blocks: u32,
    /// All members, block by block.
    pub members: Vec<Member>,
    /// The rest of each.
    pub landed: Vec<Landed>,
}

impl From<&Pool> for LightPool {
    fn from(pool: &Pool) -> Self {
        let powers = pool.blocks.iter().flat_map(|block| block.power);
        let member = |(v, power): (&LightVertex, f32)| Member {
            position: v.position.to_array(),
            power,
            geometric: pack_normal(v.geometric),
            dvcm: v.dvcm,
            pad: [0; 2],
        };
        let landed = |v: &LightVertex| Landed {
            flux: v.flux.to_array(),
            surface: v.surface,
            reflectance: v.reflectance.to_array(),
            dvc: v.dvc,
            shading: pack_normal(v.shading),
            outgoing: pack_normal(v.outgoing),
            pad: [0; 2],
        };
        Self {
            blocks: pool.blocks.len() as u32,
            members: pool.vertices.iter().zip(powers).map(member).collect(),
            landed: pool.vertices.iter().map(landed).collect(),
        }
    }
}

/// Bytes that a light's pool has room for.
pub const POOL_BYTES: usize = MEMBERS * (size_of::<Member>() + size_of::<Landed>());

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
