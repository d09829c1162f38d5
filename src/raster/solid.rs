//! The set's triangles in a binary bounding-volume hierarchy: walked here by light sub-paths,
//! and by the card for the last stretch of a shadow ray.
//!
//! Two of them make a set: what stands (room, cloth, sitter), and the fixtures, which move with
//! their lights and are rebuilt in a moment.

use bytemuck::{Pod, Zeroable};
use glam::{Vec3, Vec3A};
use obvhs::BvhBuildParams;
use obvhs::bvh2::Bvh2;
use obvhs::bvh2::builder::build_bvh2_from_tris;
use obvhs::ray::{Ray, RayHit};
use obvhs::triangle::Triangle;
use std::time::Duration;

use crate::stage::{Mesh, Role, Stage};

/// Rays leave a surface from this far above it, as those of `trace` do.
pub const LIFT_M: f32 = 2e-5;

/// `Node` of shaders/raster/near.wgsl.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
pub struct Node {
    /// World metres.
    pub low: [f32; 3],
    /// Triangles of a leaf; 0 for a fork.
    pub count: u32,
    /// World metres.
    pub high: [f32; 3],
    /// First triangle, or the first of two children.
    pub first: u32,
}

/// `Facet` of shaders/raster/near.wgsl: a corner and two edges.
#[repr(C)]
#[derive(Debug, Clone, Copy, Pod, Zeroable)]
pub struct Facet {
    /// World metres.
    pub corner: [f32; 3],
    /// Index of its surface.
    pub surface: u32,
    /// World metres.
    pub edge: [f32; 3],
    /// Nothing.
    pub pad: f32,
    /// World metres.
    pub other: [f32; 3],
    /// Nothing.
    pub pad_after: f32,
}

/// Where a ray meets the set; normals are turned to the side the ray comes from.
#[derive(Debug, Clone, Copy)]
pub struct Hit {
    /// World metres.
    pub position: Vec3,
    /// Geometric normal, unit.
    pub geometric: Vec3,
    /// Shading normal, unit.
    pub shading: Vec3,
    /// Diffuse reflectance here.
    pub reflectance: Vec3,
    /// Index of the mesh, which is that of its surface.
    pub mesh: u32,
    /// Metres.
    pub distance: f32,
}

/// One hierarchy.
pub struct Solid {
    bvh: Bvh2,
    triangles: Vec<Triangle>,
    /// Mesh and triangle of each.
    owners: Vec<[u32; 2]>,
}

impl Solid {
    /// Over the meshes of the stage that `wanted` accepts.
    pub fn new(stage: &Stage, wanted: impl Fn(&Mesh) -> bool) -> Self {
        let (mut triangles, mut owners) = (Vec::new(), Vec::new());
        for (index, mesh) in stage.meshes.iter().enumerate().filter(|(_, mesh)| wanted(mesh)) {
            for (which, corners) in mesh.triangles.iter().enumerate() {
                let [v0, v1, v2] = corners.map(|i| Vec3A::from(mesh.positions[i as usize]));
                // one without area has nothing to hit, and no normal
                if (v1 - v0).cross(v2 - v0).length_squared() >= 1e-24 {
                    triangles.push(Triangle { v0, v1, v2 });
                    owners.push([index as u32, which as u32]);
                }
            }
        }
        let parameters = BvhBuildParams::fast_build();
        let bvh = build_bvh2_from_tris(&triangles, parameters, &mut Duration::default());
        let order = &bvh.primitive_indices;
        let triangles = order.iter().map(|&i| triangles[i as usize]).collect();
        let owners = order.iter().map(|&i| owners[i as usize]).collect();
        Self { bvh, triangles, owners }
    }

    /// Nearest surface along a ray, within `reach` metres.
    pub fn intersect(&self, stage: &Stage, from: Vec3, way: Vec3, reach: f32) -> Option<Hit> {
        if self.triangles.is_empty() {
            return None;
        }
        let ray = Ray::new(from.into(), (way + Vec3::ZERO).into(), 0.0, reach);
        let mut nearest = RayHit::none();
        let hit = |ray: &Ray, id: usize| self.triangles[id].intersect(ray);
        let found = self.bvh.ray_traverse(ray, &mut nearest, hit);
        let id = nearest.primitive_id as usize;
        (found && nearest.t < reach).then(|| self.hit(stage, from, way, id, nearest.t))
    }

    fn hit(&self, stage: &Stage, from: Vec3, way: Vec3, id: usize, distance: f32) -> Hit {
        let tri = &self.triangles[id];
        let [mesh, which] = self.owners[id];
        let owner = &stage.meshes[mesh as usize];
        let corners = owner.triangles[which as usize].map(|i| i as usize);
        let (u, v) = barycentric(tri, Vec3A::from(from), Vec3A::from(way));
        let w = 1.0 - u - v;
        let position: Vec3 = (tri.v0 * w + tri.v1 * u + tri.v2 * v).into();
        let mut geometric: Vec3 = (tri.v1 - tri.v0).cross(tri.v2 - tri.v0).normalize().into();
        let blend = |of: &[Vec3]| of[corners[0]] * w + of[corners[1]] * u + of[corners[2]] * v;
        let mut shading = if owner.normals.is_empty() {
            geometric
        } else {
            blend(&owner.normals).normalize_or(geometric)
        };
        if geometric.dot(way) > 0.0 {
            geometric = -geometric;
        }
        if shading.dot(geometric) < 0.0 {
            shading = -shading;
        }
        let tint = if owner.tints.is_empty() { Vec3::ONE } else { blend(&owner.tints) };
        let reflectance = owner.surface.reflectance * tint;
        Hit { position, geometric, shading, reflectance, mesh, distance }
    }

    /// The same triangles with their meshes found by name and order in another stage, where other
    /// meshes have come or gone.
    pub fn renumbered(mut self, was: &Stage, is: &Stage) -> Self {
        // the n-th of its role stays the n-th
        let nth = |stage: &Stage, index: usize| {
            let fixture = stage.meshes[index].role == Role::Fixture;
            stage.meshes[..index].iter().filter(|m| (m.role == Role::Fixture) == fixture).count()
        };
        let moved: Vec<u32> = (0..was.meshes.len())
            .map(|old| {
                let (fixture, number) = (was.meshes[old].role == Role::Fixture, nth(was, old));
                let mut like = (0..is.meshes.len())
                    .filter(|&new| (is.meshes[new].role == Role::Fixture) == fixture);
                like.nth(number).unwrap_or(old) as u32
            })
            .collect();
        for owner in &mut self.owners {
            owner[0] = moved[owner[0] as usize];
        }
        self
    }

    /// Appends this hierarchy as the card reads it.
    pub fn flatten(&self, nodes: &mut Vec<Node>, facets: &mut Vec<Facet>) {
        let (node_at, facet_at) = (nodes.len() as u32, facets.len() as u32);
        if self.triangles.is_empty() {
            // a box that nothing can be in
            nodes.push(Node { low: [1e30; 3], count: 1, high: [-1e30; 3], first: 0 });
            return;
        }
        nodes.extend(self.bvh.nodes.iter().map(|node| Node {
            low: node.aabb.min.to_array(),
            count: node.prim_count,
            high: node.aabb.max.to_array(),
            first: node.first_index + if node.prim_count == 0 { node_at } else { facet_at },
        }));
        facets.extend(self.triangles.iter().zip(&self.owners).map(|(tri, owner)| Facet {
            corner: tri.v0.to_array(),
            surface: owner[0],
            edge: (tri.v1 - tri.v0).to_array(),
            pad: 0.0,
            other: (tri.v2 - tri.v0).to_array(),
            pad_after: 0.0,
        }));
    }

    /// Most forks between the root and a leaf.
    pub fn depth(&self) -> usize {
        if self.triangles.is_empty() { 0 } else { self.bvh.depth(0) }
    }
}

/// The set as rays see it: what stands, and the fixtures.
pub struct Set {
    /// Room, cloth, sitter, boards.
    pub standing: Solid,
    /// Heads and their stands.
    pub fixtures: Solid,
}

impl Set {
    /// Nearest surface along a ray.
    pub fn intersect(&self, stage: &Stage, from: Vec3, way: Vec3) -> Option<Hit> {
        let first = self.standing.intersect(stage, from, way, f32::INFINITY);
        let reach = first.as_ref().map_or(f32::INFINITY, |hit| hit.distance);
        self.fixtures.intersect(stage, from, way, reach).or(first)
    }
}

/// Weights of v1 and v2 where the ray meets the triangle's plane (Möller & Trumbore 1997).
fn barycentric(tri: &Triangle, from: Vec3A, way: Vec3A) -> (f32, f32) {
    let (e1, e2) = (tri.v1 - tri.v0, tri.v2 - tri.v0);
    let p = way.cross(e2);
    let inverse = 1.0 / e1.dot(p);
    let s = from - tri.v0;
    let u = (s.dot(p) * inverse).clamp(0.0, 1.0);
    let v = (way.dot(s.cross(e1)) * inverse).clamp(0.0, 1.0 - u);
    (u, v)
}
