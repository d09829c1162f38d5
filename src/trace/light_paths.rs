//! Light sub-paths: rays that leave a head, the points where they land, and where they bounce on.
//!
//! All vertices of a pass's paths form a pool; camera vertices connect to members of it
//! (Davidovič et al. 2014, "Progressive Light Transport Simulation on the GPU": light vertex
//! cache). `dvcm` and `dvc` are the recursive partial sums of the weights
//! (Georgiev 2012, "Implementing Vertex Connection and Merging", without merging).

use glam::{Vec2, Vec3};
use rayon::prelude::*;

use super::estimate::{POOL_SHARE, power};
use super::sampler::Sampler;
use super::scene::Scene;
use super::vertex::Vertex;
use crate::optics::curve::morton;
use crate::optics::surface::Surface;

/// A place where light of one head lands, ready to be connected.
#[derive(Debug, Clone, Copy)]
pub struct LightVertex {
    /// World metres.
    pub position: Vec3,
    /// Geometric normal on the lit side.
    pub geometric: Vec3,
    /// Shading normal.
    pub shading: Vec3,
    /// Unit direction the light came from.
    pub outgoing: Vec3,
    /// Diffuse reflectance.
    pub reflectance: Vec3,
    /// Surface index.
    pub surface: u32,
    /// Flux that arrives (shading-normal corrected), lm·s or lm.
    pub flux: Vec3,
    /// Partial MIS sum of the vertex's own connection.
    pub dvcm: f32,
    /// Partial MIS sum of the vertices before it.
    pub dvc: f32,
}

impl LightVertex {
    /// As a path vertex.
    pub fn vertex<'a>(&self, surface: &'a Surface) -> Vertex<'a> {
        Vertex::surface(
            self.position,
            self.geometric,
            self.shading,
            self.outgoing,
            surface,
            self.reflectance,
        )
    }
}

/// One light's pool of one pass.
#[derive(Debug, Clone, Default)]
pub struct Pool {
    /// Members of equal power, block after block. Each block takes even strides along a
    /// space-filling curve, and so spreads over the set in proportion to the light there.
    pub vertices: Vec<LightVertex>,
    /// What of the members their choice needs.
    pub blocks: Vec<Block>,
    /// Number of paths they stand for.
    pub paths: u32,
}

/// Longest light sub-path; roulette ends nearly all long before.
const MAX_VERTICES: usize = 24;

/// Sub-paths of a pool.
pub const PATHS: u32 = 8192;

/// Members of a pool: few enough that it stays in the cache while pixels pick from it.
pub const MEMBERS: usize = 8192;

/// Members that are weighed together for one connection: a whole cache-friendly block.
pub const BLOCK: usize = 32;

/// The members of one block side by side, so that a processor weighs several at once.
#[derive(Debug, Clone, Copy)]
pub struct Block {
    position: [[f32; BLOCK]; 3],
    normal: [[f32; BLOCK]; 3],
    /// What each throws back; 0 where the block is one short.
    pub(super) power: [f32; BLOCK],
    dvcm: [f32; BLOCK],
}

impl Block {
    fn new(members: &[LightVertex]) -> Self {
        let mut block = Self {
            position: [[0.0; BLOCK]; 3],
            normal: [[0.0; BLOCK]; 3],
            power: [0.0; BLOCK],
            dvcm: [0.0; BLOCK],
        };
        for (i, member) in members.iter().enumerate() {
            for axis in 0..3 {
                block.position[axis][i] = member.position[axis];
                block.normal[axis][i] = member.geometric[axis];
            }
            block.power[i] = power_back(member);
            block.dvcm[i] = member.dvcm;
        }
        block
    }

    /// What each member promises to bring to a vertex, up to a constant: as if it were matt, in
    /// plain view, and weighted against a path that goes there by itself alone. Above zero
    /// wherever the connection is.
    pub fn promises(&self, vertex: &Vertex<'_>) -> [f32; BLOCK] {
        let (at, axis) = (vertex.position, vertex.shading);
        // response a + b·cos θ of a receptor; cos θ of a surface
        let (even, along) = vertex.response();
        let go_on = vertex.camera_trust() * std::f32::consts::FRAC_1_PI;
        let mut promise = [0.0; BLOCK];
        for (i, promise) in promise.iter_mut().enumerate() {
            let x = self.position[0][i] - at.x;
            let y = self.position[1][i] - at.y;
            let z = self.position[2][i] - at.z;
            let distance2 = x * x + y * y + z * z + 1e-9;
            let inverse = 1.0 / distance2;
            let near = (x * axis.x + y * axis.y + z * axis.z) * inverse.sqrt();
            let far = -(x * self.normal[0][i] + y * self.normal[1][i] + z * self.normal[2][i])
                * inverse.sqrt();
            let near = even + along * near;
            let near = if near > 0.0 { near } else { 0.0 };
            let far = if far > 0.0 { far } else { 0.0 };
            let join = near * far * inverse;
            let itself = join * go_on;
            *promise = self.power[i] * join / (1.0 + itself * itself * self.dvcm[i]);
        }
        promise
    }
}

/// Traces the sub-paths of light `light` for pass `pass`. The stream is the light's own and goes
/// on from pass to pass.
pub fn pool(scene: &Scene, light: usize, pass: u32, seed: u32) -> Pool {
    let mut landed: Vec<LightVertex> = (0..PATHS)
        .into_par_iter()
        .with_min_len(256)
        .flat_map_iter(|path| {
            let index = pass.wrapping_mul(PATHS).wrapping_add(path);
            sub_path(scene, light, &Sampler::new(index, light as u32, !seed))
        })
        .collect();
    landed.par_sort_by_cached_key(|v| morton(v.position));
    let offset = Sampler::new(pass, light as u32, seed ^ 0x9001).single(0);
    let members = equal_power(&landed, offset);
    let strides = members.len().div_ceil(BLOCK);
    let block = |first: usize| members.iter().skip(first).step_by(strides);
    let mut vertices = Vec::with_capacity(strides * BLOCK);
    let mut blocks = Vec::with_capacity(strides);
    for first in 0..strides {
        let from = vertices.len();
        vertices.extend(block(first).copied());
        blocks.push(Block::new(&vertices[from..]));
        // the last strides may be one short: never chosen, for its power is zero
        vertices.resize((first + 1) * BLOCK, members[0]);
    }
    Pool { vertices, blocks, paths: PATHS }
}

/// What a member throws back; a little more than a matt surface would, since gloss counts too.
fn power_back(v: &LightVertex) -> f32 {
    (v.flux * (v.reflectance + 0.05)).max_element()
}

/// Systematic resampling: members drawn in proportion to the power they throw back, their flux
/// scaled by what that proportion was, so that sums keep their expectation and dark places (the
/// back of a flag, a black floor) take no members from bright ones.
fn equal_power(landed: &[LightVertex], offset: f32) -> Vec<LightVertex> {
    let power = |v: &LightVertex| f64::from(power_back(v));
    let total: f64 = landed.iter().map(power).sum();
    if total <= 0.0 {
        return Vec::new();
    }
    let step = total / MEMBERS as f64;
    let mut members = Vec::with_capacity(MEMBERS + 1);
    let (mut sum, mut next) = (0.0, f64::from(offset) * step);
    for vertex in landed {
        let own = power(vertex);
        sum += own;
        while next < sum && members.len() < MEMBERS {
            let mut member = *vertex;
            member.flux *= (step / own) as f32;
            members.push(member);
            next += step;
        }
    }
    members
}

fn sub_path(scene: &Scene, light: usize, sampler: &Sampler) -> Vec<LightVertex> {
    let emitter = &scene.lights[light].emitter;
    let emission = emitter.emit(sampler.pair(0), sampler.pair(1));
    let mut vertices = Vec::new();
    if emission.flux <= 0.0 || emission.direction_pdf <= 0.0 {
        return vertices;
    }
    let mut flux = Vec3::splat(emission.flux);
    let cos_light = emission.direction.dot(emission.from.normal);
    let mut dvcm = power(1.0 / (POOL_SHARE * emission.direction_pdf));
    let mut dvc =
        power(cos_light / (POOL_SHARE * emitter.area_pdf(&emission.from) * emission.direction_pdf));
    let (mut origin, mut direction) =
        (emission.from.position + emission.from.normal * 1e-5, emission.direction);
    while let Some(hit) = scene.intersect(origin, direction) {
        let vertex = Vertex::at_hit(scene, &hit, direction);
        let cos = vertex.geometric_cos(-direction);
        let shading_cos = hit.shading.dot(-direction);
        if cos <= 1e-6 || shading_cos <= 0.0 {
            break;
        }
        dvcm *= power(hit.distance * hit.distance / cos);
        dvc /= power(cos);
        flux *= shading_cos / cos;
        vertices.push(LightVertex {
            position: hit.position,
            geometric: hit.geometric,
            shading: hit.shading,
            outgoing: -direction,
            reflectance: hit.reflectance,
            surface: hit.surface,
            flux,
            dvcm,
            dvc,
        });
        let dimension = 2 + 3 * vertices.len() as u32;
        let go_on = vertex.light_share();
        if vertices.len() >= MAX_VERTICES || sampler.single(dimension) >= go_on {
            break;
        }
        let u: Vec2 = sampler.pair(dimension + 1);
        let Some(next) = vertex.draw(Vec3::new(sampler.single(dimension + 2), u.x, u.y)) else {
            break;
        };
        let pdf = vertex.pdf(next) * go_on;
        if pdf <= 0.0 {
            break;
        }
        let reverse = vertex.pdf_between(next, -direction) * vertex.camera_trust();
        let cos_out = vertex.geometric_cos(next);
        flux *= vertex.throw(next) * (cos_out / pdf);
        dvc = power(cos_out / pdf) * (dvc * power(reverse) + dvcm);
        dvcm = power(1.0 / pdf);
        (origin, direction) = (Scene::lifted(&hit), next);
    }
    vertices
}
