//! Where a light's rays land and bounce on: the virtual lights that carry its reflected light.
//!
//! In: the set and a light. Out: places that throw light back with the surface's own scattering
//! (Keller 1997, 'Instant Radiosity'), each with the chance that it is drawn. The chance follows
//! what a place would bring to points the camera sees, so that dark corners and walls behind the
//! camera take few samples (after Segovia et al. 2006, 'Bidirectional Instant Radiosity').

use std::f32::consts::FRAC_1_PI;

use glam::Vec3;
use rayon::prelude::*;

use super::receivers::Receiver;
use super::solid::{LIFT_M, Set};
use crate::optics::curve::morton;
use crate::optics::sampler::Sampler;
use crate::stage::Stage;
use crate::stage::source::Emitter;

/// A place where light lands.
#[derive(Debug, Clone, Copy)]
pub struct Landing {
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
    /// Index of its surface.
    pub surface: u32,
    /// Flux that arrives, lm·s or lm, of one path.
    pub flux: Vec3,
}

/// A landing that was drawn.
#[derive(Debug, Clone, Copy)]
pub struct Draw {
    /// Where.
    pub landing: Landing,
    /// One over (its chance × paths): what its flux is worth.
    pub worth: f32,
}

/// Sub-paths of a light's first pool, and of later ones: the first look waits for the first.
const PATHS: [u32; 2] = [2048, 8192];
/// Longest sub-path; roulette ends nearly all long before.
const MOST_BOUNCES: usize = 24;
/// Share of the draws that follow the power alone: places that the receivers' sample overlooks
/// keep a chance.
const BY_POWER: f64 = 0.25;

/// The landing points of a light's paths, ready to be drawn from.
pub struct Pool {
    /// Sub-paths that it stands for.
    paths: u32,
    landings: Vec<Landing>,
    /// Cumulative chance, along a space-filling curve.
    cumulative: Vec<f64>,
    /// Mean over receivers of the unshadowed illuminance of all landings: lx·s or lx.
    pub bounced: f32,
    /// How far a draw's illuminance scatters, as a share of `bounced`.
    pub scatter: f32,
}

impl Pool {
    /// Traces the sub-paths of the light's pool of number `index`.
    pub fn new(
        stage: &Stage,
        set: &Set,
        emitter: &Emitter,
        receivers: &[Receiver],
        (stream, index, seed): (u32, u32, u32),
    ) -> Self {
        let (before, paths) = match index {
            0 => (0, PATHS[0]),
            _ => (PATHS[0].wrapping_add((index - 1).wrapping_mul(PATHS[1])), PATHS[1]),
        };
        let mut landings: Vec<Landing> = (0..paths)
            .into_par_iter()
            .with_min_len(64)
            .flat_map_iter(|path| {
                let sampler = Sampler::new(before.wrapping_add(path), stream, !seed);
                sub_path(stage, set, emitter, &sampler)
            })
            .collect();
        landings.sort_by_cached_key(|landing| morton(landing.position));
        let (chances, brought, scatter) = chances(&landings, receivers);
        let bounced = brought / paths as f32;
        let mut sum = 0.0;
        let cumulative = chances
            .iter()
            .map(|chance| {
                sum += chance;
                sum
            })
            .collect();
        Self { paths, landings, cumulative, bounced, scatter }
    }

    /// A landing for `u` in [0, 1).
    pub fn draw(&self, u: f32) -> Option<Draw> {
        let total = *self.cumulative.last()?;
        if total <= 0.0 {
            return None;
        }
        let at = f64::from(u) * total;
        let index = self.cumulative.partition_point(|&c| c <= at).min(self.landings.len() - 1);
        let before = if index == 0 { 0.0 } else { self.cumulative[index - 1] };
        let chance = (self.cumulative[index] - before) / total;
        (chance > 0.0).then(|| Draw {
            landing: self.landings[index],
            worth: (1.0 / (chance * f64::from(self.paths))) as f32,
        })
    }
}

/// Chances of the landings, which sum to 1; the mean illuminance they bring together, and the relative
/// scatter of one draw.
fn chances(landings: &[Landing], receivers: &[Receiver]) -> (Vec<f64>, f32, f32) {
    let power = |l: &Landing| f64::from((l.flux * (l.reflectance + 0.02)).max_element());
    let brings = |l: &Landing, r: &Receiver| -> f64 {
        let span = l.position - r.position;
        let distance2 = span.length_squared() + SOFT_M2;
        let way = span / distance2.sqrt();
        let cos = (way.dot(r.normal).max(0.0)) * (-way.dot(l.geometric)).max(0.0);
        f64::from(cos / distance2) * power(l) * f64::from(FRAC_1_PI)
    };
    let totals: Vec<f64> =
        receivers.par_iter().map(|r| landings.iter().map(|l| brings(l, r)).sum::<f64>()).collect();
    let mean = totals.iter().sum::<f64>() / totals.len().max(1) as f64;
    let lit: Vec<(&Receiver, f64)> = receivers
        .iter()
        .zip(&totals)
        // a receiver that gets nearly nothing must not rule
        .map(|(r, &total)| (r, 1.0 / (total + 0.1 * mean).max(1e-30)))
        .collect();
    let all: f64 = landings.iter().map(power).sum();
    let by_sight: Vec<f64> = landings
        .par_iter()
        .map(|l| lit.iter().map(|(r, scale)| brings(l, r) * scale).sum::<f64>())
        .collect();
    let seen: f64 = by_sight.iter().sum();
    let chances: Vec<f64> = landings
        .iter()
        .zip(&by_sight)
        .map(|(l, sight)| {
            let blind = power(l) / all.max(1e-30);
            let sighted = if seen > 0.0 { sight / seen } else { blind };
            (1.0 - BY_POWER) * sighted + BY_POWER * blind
        })
        .collect();
    let squares: f64 = receivers
        .par_iter()
        .map(|r| {
            let drawn = landings.iter().zip(&chances).filter(|(_, chance)| **chance > 0.0);
            drawn.map(|(l, chance)| brings(l, r).powi(2) / chance).sum::<f64>()
        })
        .sum();
    let ideal: f64 = totals.iter().map(|total| total * total).sum();
    let scatter = (squares / ideal.max(1e-30) - 1.0).max(0.0).sqrt();
    (chances, mean as f32, scatter as f32)
}

/// Keeps a receiver beside a landing from ruling its chance, m².
const SOFT_M2: f32 = 0.02;

fn sub_path(stage: &Stage, set: &Set, emitter: &Emitter, sampler: &Sampler) -> Vec<Landing> {
    let emission = emitter.emit(sampler.pair(0), sampler.pair(1));
    let mut landed = Vec::new();
    if emission.flux <= 0.0 || emission.direction_pdf <= 0.0 {
        return landed;
    }
    let mut flux = Vec3::splat(emission.flux);
    let mut from = emission.from.position + emission.from.normal * 1e-5;
    let mut way = emission.direction;
    while let Some(hit) = set.intersect(stage, from, way) {
        let (cos, shading_cos) = (-way.dot(hit.geometric), -way.dot(hit.shading));
        if cos <= 1e-6 || shading_cos <= 0.0 {
            break;
        }
        // adjoint of the shading normal (Veach 1997, section 5.3)
        flux *= shading_cos / cos;
        landed.push(Landing {
            position: hit.position,
            geometric: hit.geometric,
            shading: hit.shading,
            outgoing: -way,
            reflectance: hit.reflectance,
            surface: hit.mesh,
            flux,
        });
        let dimension = 2 + 3 * landed.len() as u32;
        let go_on = hit.reflectance.max_element().clamp(0.1, 0.95);
        if landed.len() >= MOST_BOUNCES || sampler.single(dimension) >= go_on {
            break;
        }
        let surface = &stage.meshes[hit.mesh as usize].surface;
        let frame = Frame::new(hit.shading);
        let wo = frame.local(-way);
        let u = sampler.pair(dimension + 1);
        let Some(wi) =
            surface.sample(hit.reflectance, wo, Vec3::new(sampler.single(dimension + 2), u.x, u.y))
        else {
            break;
        };
        let next = frame.world(wi);
        let cos_out = next.dot(hit.geometric);
        let pdf = surface.pdf(hit.reflectance, wo, wi) * go_on;
        if pdf <= 0.0 || cos_out <= 0.0 {
            break;
        }
        flux *= surface.eval(hit.reflectance, wo, wi) * (cos_out / pdf);
        from = hit.position + hit.geometric * LIFT_M;
        way = next;
    }
    landed
}

/// A frame about a normal.
struct Frame {
    t: Vec3,
    b: Vec3,
    n: Vec3,
}

impl Frame {
    fn new(n: Vec3) -> Self {
        let (t, b) = n.any_orthonormal_pair();
        Self { t, b, n }
    }

    fn local(&self, d: Vec3) -> Vec3 {
        Vec3::new(d.dot(self.t), d.dot(self.b), d.dot(self.n))
    }

    fn world(&self, d: Vec3) -> Vec3 {
        (self.t * d.x + self.b * d.y + self.n * d.z).normalize()
    }
}
