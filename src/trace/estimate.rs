//! The estimator: one camera (or meter) path, joined to every light.
//!
//! At each vertex x of the path and for each light:
//!
//! ```text
//!   s = 0   the path runs through the light's front                 weighted by
//!   s = 1   x is joined to a point of the front                     the power
//!   s ≥ 2   x is joined to a landing point of the light's pool      heuristic
//! ```
//!
//! so every path of every length is covered by several techniques and weighted once (Veach
//! 1997, chapters 9 and 10). For s ≥ 2 a block of pool members is weighed without visibility and
//! one is kept in proportion (resampled importance sampling, Talbot et al. 2005): one shadow ray.

use glam::Vec3;

use super::light_paths::{BLOCK, LightVertex, Pool};
use super::sampler::Sampler;
use super::scene::Scene;
use super::vertex::{CAMERA_TRUST, Vertex};

/// What one path found of one light.
#[derive(Debug, Clone, Copy, Default)]
pub struct Gathered {
    /// Straight from the front.
    pub direct: Vec3,
    /// By at least one bounce.
    pub bounced: Vec3,
}

/// Longest camera path; roulette ends nearly all long before.
const MAX_VERTICES: u32 = 24;

/// Dimensions of the sampler that the camera itself uses (pixel, lens).
pub const CAMERA_DIMENSIONS: u32 = 2;

/// How much more a connection is trusted than its density says, since several members compete
/// for it. Any constant leaves the estimate unbiased; this one measured best.
pub const POOL_SHARE: f32 = 8.0;

/// Power heuristic with exponent 2 (Veach 1997, section 9.2.3): sharper than balance where one
/// technique is clearly the better.
pub fn power(density_ratio: f32) -> f32 {
    density_ratio * density_ratio
}

/// Partial MIS sums of the camera sub-path (see `light_paths`); light tracing to the lens is
/// not among the techniques, so they begin at zero.
#[derive(Clone, Copy, Default)]
struct Partial {
    dvcm: f32,
    dvc: f32,
}

/// Follows a path from its first vertex and adds what it finds of `wanted` lights to their
/// entries in `found`.
pub fn gather(
    scene: &Scene,
    pools: &[Pool],
    wanted: &[usize],
    first: Vertex<'_>,
    sampler: &Sampler,
    found: &mut [Gathered],
) {
    let mut vertex = first;
    let mut throughput = Vec3::ONE;
    let mut partial = Partial::default();
    let lights = scene.lights.len() as u32;
    let per_vertex = 3 + 2 * lights;
    for depth in 0..MAX_VERTICES {
        let dimension = CAMERA_DIMENSIONS + depth * per_vertex;
        for &light in wanted {
            let sum = &mut found[light];
            let lane = dimension + 3 + light as u32;
            let direct = throughput * join_front(scene, light, &vertex, partial, sampler, lane);
            if depth == 0 {
                sum.direct += direct;
            } else {
                sum.bounced += direct;
            }
            sum.bounced += throughput
                * join_pool(scene, &pools[light], &vertex, partial, sampler, lane + lights);
        }

        let go_on = vertex.camera_share();
        if sampler.single(dimension) >= go_on {
            return;
        }
        let u = sampler.pair(dimension + 1);
        let lobe = sampler.single(dimension + 2);
        let Some(next) = vertex.draw(Vec3::new(lobe, u.x, u.y)) else { return };
        let pdf = vertex.pdf(next) * go_on;
        if pdf <= 0.0 {
            return;
        }
        throughput *= vertex.weigh(next) / pdf;
        if throughput.max_element() <= 0.0 {
            return;
        }
        let reverse = vertex.pdf_between(next, vertex.outgoing) * vertex.light_share();
        let cos_out = if vertex.is_receptor() { 0.0 } else { vertex.geometric_cos(next) };
        let trusted = CAMERA_TRUST * pdf;
        partial = Partial {
            dvcm: power(1.0 / trusted),
            dvc: power(cos_out / trusted) * (partial.dvc * power(reverse) + partial.dvcm),
        };
        let origin = vertex.position + vertex.lift_normal(next) * 2e-5;
        let hit = scene.intersect(origin, next);
        let reach = hit.as_ref().map_or(f32::INFINITY, |h| h.distance);
        for &light in wanted {
            let sum = &mut found[light];
            let seen = throughput * cross_front(scene, light, origin, next, reach, partial);
            if depth == 0 {
                sum.direct += seen;
            } else {
                sum.bounced += seen;
            }
        }
        let Some(hit) = hit else { return };
        vertex = Vertex::at_hit(scene, &hit, next);
        let cos = vertex.geometric_cos(-next);
        if cos <= 1e-6 {
            return;
        }
        partial.dvcm *= power(hit.distance * hit.distance / cos);
        partial.dvc /= power(cos);
    }
}

/// Light seen straight by the lens along a ray, up to `reach` metres.
pub fn seen_front(scene: &Scene, light: usize, origin: Vec3, direction: Vec3, reach: f32) -> f32 {
    let emitter = &scene.lights[light].emitter;
    let mut seen = 0.0;
    emitter.crossings(origin, direction, reach, |_, point| {
        seen += emitter.radiance(&point, -direction);
    });
    seen
}

/// s = 0: the path's own ray runs through fronts.
fn cross_front(
    scene: &Scene,
    light: usize,
    origin: Vec3,
    direction: Vec3,
    reach: f32,
    partial: Partial,
) -> f32 {
    let emitter = &scene.lights[light].emitter;
    let mut sum = 0.0;
    emitter.crossings(origin, direction, reach, |distance, point| {
        let radiance = emitter.radiance(&point, -direction);
        let cos = -direction.dot(point.normal);
        if radiance <= 0.0 || cos <= 0.0 {
            return;
        }
        let dvcm = partial.dvcm * power(distance * distance / cos);
        let dvc = partial.dvc / power(cos);
        let area_pdf = emitter.area_pdf(&point);
        let landing = POOL_SHARE * area_pdf * emitter.direction_pdf(&point, -direction);
        let others = power(area_pdf) * dvcm + power(landing) * dvc;
        sum += radiance / (1.0 + others);
    });
    sum
}

/// s = 1: a point of the front.
fn join_front(
    scene: &Scene,
    light: usize,
    vertex: &Vertex<'_>,
    partial: Partial,
    sampler: &Sampler,
    dimension: u32,
) -> Vec3 {
    let emitter = &scene.lights[light].emitter;
    let front = emitter.front(sampler.pair(dimension));
    let span = front.position - vertex.position;
    let distance2 = span.length_squared();
    if distance2 < 1e-12 {
        return Vec3::ZERO;
    }
    let direction = span / distance2.sqrt();
    let cos_light = -direction.dot(front.normal);
    if cos_light <= 1e-4 {
        return Vec3::ZERO;
    }
    let radiance = emitter.radiance(&front, -direction);
    let weight = vertex.weigh(direction);
    if radiance <= 0.0 || weight.max_element() <= 0.0 {
        return Vec3::ZERO;
    }
    // density of this technique per steradian at the vertex
    let direct_pdf = emitter.area_pdf(&front) * distance2 / cos_light;
    let through = power(vertex.pdf(direction) * vertex.camera_trust() / direct_pdf);
    let landing = if vertex.is_receptor() {
        0.0
    } else {
        let reverse = vertex.pdf_between(direction, vertex.outgoing) * vertex.light_share();
        let landed =
            emitter.direction_pdf(&front, -direction) * vertex.geometric_cos(direction) / distance2;
        power(POOL_SHARE * landed) * (partial.dvcm + partial.dvc * power(reverse))
    };
    let mis = 1.0 / (1.0 + through + landing);
    let value = weight * (radiance * mis / direct_pdf);
    let lift = vertex.lift_normal(direction);
    if scene.visible(vertex.position, lift, front.position, front.normal) {
        value
    } else {
        Vec3::ZERO
    }
}

/// s ≥ 2: a landing point of the light's pool.
fn join_pool(
    scene: &Scene,
    pool: &Pool,
    vertex: &Vertex<'_>,
    partial: Partial,
    sampler: &Sampler,
    dimension: u32,
) -> Vec3 {
    if pool.blocks.is_empty() {
        return Vec3::ZERO;
    }
    let u = sampler.pair(dimension);
    let number = ((u.x * pool.blocks.len() as f32) as usize).min(pool.blocks.len() - 1);
    let block = &pool.blocks[number];
    let promise = block.promises(vertex);
    let total: f32 = promise.iter().sum();
    if total <= 0.0 {
        return Vec3::ZERO;
    }
    // a block runs along the curve, so that a pixel's samples spread over the lit places
    let mut rest = u.y * total;
    let mut chosen = 0;
    for (index, &own) in promise.iter().enumerate() {
        if own > 0.0 {
            chosen = index;
            rest -= own;
            if rest < 0.0 {
                break;
            }
        }
    }
    let landed = &pool.vertices[number * BLOCK + chosen];
    let value = connection(scene, landed, vertex, partial);
    if value.max_element() <= 0.0 {
        return Vec3::ZERO;
    }
    let direction = landed.position - vertex.position;
    let lift = vertex.lift_normal(direction.normalize_or_zero());
    if !scene.visible(vertex.position, lift, landed.position, landed.geometric) {
        return Vec3::ZERO;
    }
    let share = total / promise[chosen] * pool.blocks.len() as f32;
    value * (share / pool.paths as f32)
}

/// Weighted contribution of one pool member, before visibility.
fn connection(scene: &Scene, landed: &LightVertex, vertex: &Vertex<'_>, partial: Partial) -> Vec3 {
    let span = landed.position - vertex.position;
    let distance2 = span.length_squared();
    if distance2 < 1e-10 {
        return Vec3::ZERO;
    }
    let direction = span / distance2.sqrt();
    let cos_landed = -direction.dot(landed.geometric);
    if cos_landed <= 0.0 {
        return Vec3::ZERO;
    }
    let weight = vertex.weigh(direction);
    if weight.max_element() <= 0.0 {
        return Vec3::ZERO;
    }
    let source = landed.vertex(scene.surface(landed.surface));
    let thrown = source.throw(-direction);
    if thrown.max_element() <= 0.0 {
        return Vec3::ZERO;
    }
    let to_landed = vertex.pdf(direction) * vertex.camera_trust() * cos_landed / distance2;
    let landed_reverse = source.pdf_between(-direction, landed.outgoing) * source.camera_trust();
    let light_others = power(to_landed) * (landed.dvcm + landed.dvc * power(landed_reverse));
    let camera_others = if vertex.is_receptor() {
        0.0
    } else {
        let to_vertex =
            source.pdf(-direction) * source.light_share() * vertex.geometric_cos(direction)
                / distance2;
        let reverse = vertex.pdf_between(direction, vertex.outgoing) * vertex.light_share();
        power(to_vertex) * (partial.dvcm + partial.dvc * power(reverse))
    };
    let mis = 1.0 / (1.0 + light_others + camera_others);
    weight * thrown * landed.flux * (cos_landed / distance2 * mis)
}
