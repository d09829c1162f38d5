//! The stage as flat arrays for tracing: triangles in BVH order, surfaces, emitters.
//! Plain data, so that another back end can upload the same.

use glam::{Vec3, Vec3A};
use obvhs::BvhBuildParams;
use obvhs::cwbvh::CwBvh;
use obvhs::cwbvh::builder::build_cwbvh_from_tris;
use obvhs::ray::{Ray, RayHit};
use obvhs::triangle::Triangle;
use std::time::Duration;

use crate::layers::LightKind;
use crate::optics::surface::{Scatter, Surface};
use crate::stage::source::Emitter;
use crate::stage::{Mesh, Stage};

/// A light of the scene.
#[derive(Debug, Clone)]
pub struct SceneLight {
    /// The plan's name.
    pub name: String,
    /// Flash or continuous.
    pub kind: LightKind,
    /// How it emits.
    pub emitter: Emitter,
}

/// One triangle's shading data.
#[derive(Debug, Clone, Copy)]
pub(super) struct Facet {
    pub(super) normals: [Vec3; 3],
    pub(super) tints: [Vec3; 3],
    pub(super) surface: u32,
}

/// A stage made ready for rays.
pub struct Scene {
    pub(super) bvh: CwBvh,
    pub(super) triangles: Vec<Triangle>,
    pub(super) facets: Vec<Facet>,
    pub(super) surfaces: Vec<Surface>,
    /// Lights whose layers are asked for.
    pub lights: Vec<SceneLight>,
    /// How long the BVH took to build.
    pub build_time: Duration,
}

/// Where a ray meets a surface. Normals are turned to the side the ray comes from.
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
    /// Index into the scene's surfaces.
    pub surface: u32,
    /// Distance along the ray.
    pub distance: f32,
}

/// Ray origins are lifted this far off a surface: above the rounding of a hit point at ten
/// metres in f32 (about 1e-6 m), far below the 0.5 mm that contacts must resolve.
const LIFT_M: f32 = 2e-5;

impl Scene {
    /// Builds the BVH over all meshes and keeps the lights that `wanted` accepts.
    pub fn new(stage: &Stage, wanted: impl Fn(&crate::stage::Light) -> bool) -> Self {
        Self::built(stage, wanted, BvhBuildParams::slow_build())
    }

    /// The same for some thousands of rays, which a better BVH would not repay.
    pub fn for_few_rays(stage: &Stage, wanted: impl Fn(&crate::stage::Light) -> bool) -> Self {
        Self::built(stage, wanted, BvhBuildParams::very_fast_build())
    }

    fn built(
        stage: &Stage,
        wanted: impl Fn(&crate::stage::Light) -> bool,
        how: BvhBuildParams,
    ) -> Self {
        let (mut triangles, mut facets, mut surfaces) = (Vec::new(), Vec::new(), Vec::new());
        for mesh in &stage.meshes {
            push_mesh(mesh, surfaces.len() as u32, &mut triangles, &mut facets);
            surfaces.push(mesh.surface.clone());
        }
        let mut build_time = Duration::ZERO;
        let bvh = build_cwbvh_from_tris(&triangles, how, &mut build_time);
        // leaves address primitives through an index list; put triangles in that order once
        let order = &bvh.primitive_indices;
        let triangles = order.iter().map(|&i| triangles[i as usize]).collect();
        let facets = order.iter().map(|&i| facets[i as usize]).collect();
        let lights = stage
            .lights
            .iter()
            .filter(|light| wanted(light))
            .map(|light| SceneLight {
                name: light.name.clone(),
                kind: light.kind,
                emitter: Emitter::of(light),
            })
            .collect();
        Self { bvh, triangles, facets, surfaces, lights, build_time }
    }

    /// Number of triangles.
    pub fn triangle_count(&self) -> usize {
        self.triangles.len()
    }

    /// The surface of a hit.
    pub fn surface(&self, index: u32) -> &Surface {
        &self.surfaces[index as usize]
    }

    /// Nearest surface along a ray.
    pub fn intersect(&self, origin: Vec3, direction: Vec3) -> Option<Hit> {
        let ray = Ray::new_inf(origin.into(), plus_zero(direction).into());
        let mut nearest = RayHit::none();
        let found =
            self.bvh.ray_traverse(ray, &mut nearest, |ray, id| self.triangles[id].intersect(ray));
        found.then(|| self.hit(origin, direction, nearest.primitive_id as usize, nearest.t))
    }

    /// Whether nothing stands between two points. Each is lifted along its own normal (already
    /// on the side that looks to the other).
    pub fn visible(&self, a: Vec3, a_normal: Vec3, b: Vec3, b_normal: Vec3) -> bool {
        let (a, b) = (a + a_normal * LIFT_M, b + b_normal * LIFT_M);
        let span = b - a;
        let distance = span.length();
        if distance < 1e-7 {
            return true;
        }
        let ray = Ray::new(a.into(), plus_zero(span / distance).into(), 0.0, distance);
        self.bvh.ray_traverse_miss(ray, |ray, id| self.triangles[id].intersect(ray))
    }

    fn hit(&self, origin: Vec3, direction: Vec3, id: usize, distance: f32) -> Hit {
        let (tri, facet) = (&self.triangles[id], &self.facets[id]);
        let (u, v) = barycentric(tri, Vec3A::from(origin), Vec3A::from(direction));
        let w = 1.0 - u - v;
        let position: Vec3 = (tri.v0 * w + tri.v1 * u + tri.v2 * v).into();
        let mut geometric: Vec3 = (tri.v1 - tri.v0).cross(tri.v2 - tri.v0).normalize().into();
        let [n0, n1, n2] = facet.normals;
        let mut shading = (n0 * w + n1 * u + n2 * v).normalize_or(geometric);
        if geometric.dot(direction) > 0.0 {
            geometric = -geometric;
        }
        if shading.dot(geometric) < 0.0 {
            shading = -shading;
        }
        let [t0, t1, t2] = facet.tints;
        let reflectance =
            self.surfaces[facet.surface as usize].reflectance * (t0 * w + t1 * u + t2 * v);
        Hit { position, geometric, shading, reflectance, surface: facet.surface, distance }
    }

    /// Ray origin at a hit, lifted to the side the normal looks to.
    pub fn lifted(hit: &Hit) -> Vec3 {
        hit.position + hit.geometric * LIFT_M
    }

    /// Whether a surface is plain Lambert.
    pub fn is_diffuse(&self, surface: u32) -> bool {
        matches!(self.surfaces[surface as usize].scatter, Scatter::Diffuse)
    }
}

/// The same direction with +0 for −0: the traversal takes −0 for a negative slope and would miss
/// everything.
#[inline]
fn plus_zero(direction: Vec3) -> Vec3 {
    direction + Vec3::ZERO
}

fn push_mesh(mesh: &Mesh, surface: u32, triangles: &mut Vec<Triangle>, facets: &mut Vec<Facet>) {
    for &[a, b, c] in &mesh.triangles {
        let [a, b, c] = [a as usize, b as usize, c as usize];
        let p = |i: usize| Vec3A::from(mesh.positions[i]);
        let tri = Triangle { v0: p(a), v1: p(b), v2: p(c) };
        let flat = (tri.v1 - tri.v0).cross(tri.v2 - tri.v0);
        if flat.length_squared() < 1e-24 {
            // no area: nothing to hit, and no normal
            continue;
        }
        let flat: Vec3 = flat.normalize().into();
        let normal = |i: usize| mesh.normals.get(i).copied().unwrap_or(flat);
        let tint = |i: usize| mesh.tints.get(i).copied().unwrap_or(Vec3::ONE);
        triangles.push(tri);
        facets.push(Facet {
            normals: [normal(a), normal(b), normal(c)],
            tints: [tint(a), tint(b), tint(c)],
            surface,
        });
    }
}

/// Barycentric weights of v1 and v2 where the ray meets the triangle's plane
/// (Möller & Trumbore 1997).
fn barycentric(tri: &Triangle, origin: Vec3A, direction: Vec3A) -> (f32, f32) {
    let (e1, e2) = (tri.v1 - tri.v0, tri.v2 - tri.v0);
    let p = direction.cross(e2);
    let inverse = 1.0 / e1.dot(p);
    let s = origin - tri.v0;
    let q = s.cross(e1);
    let u = (s.dot(p) * inverse).clamp(0.0, 1.0);
    let v = (direction.dot(q) * inverse).clamp(0.0, 1.0 - u);
    (u, v)
}
