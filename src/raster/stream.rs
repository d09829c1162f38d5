//! One light's samples, round by round: points of its fronts and places where it lands, from
//! the same low-discrepancy draws that `trace` takes.

use std::f32::consts::FRAC_1_PI;
use std::ops::Range;

use bytemuck::Zeroable;
use glam::Vec3;

use super::landing::{Draw, Pool};
use super::receivers::{self, Face, Receiver};
use super::shade::{MOST_SAMPLES, Round, Sample, kind};
use super::shadow::{FRONT_LAYERS, LANDING_LAYERS};
use super::shadow_mesh::Fineness;
use super::solid::Set;
use crate::optics::sampler::Sampler;
use crate::stage::source::{Emitter, Film};
use crate::stage::{SourceShape, Stage};

/// Draws from a pool before the next one is traced.
const DRAWS_OF_A_POOL: u32 = 64;
/// Landing points look from this far above their surface: shadow meshes may stand proud of it.
const LANDING_LIFT_M: f32 = 0.010;
/// Nothing nearer to a light point throws a shadow, metres.
const NEAR_M: f32 = 0.003;
/// r of the softened fall-off of landing points, and of fronts at most, metres: the larger, the
/// smoother the bounce and the more close rays have to bring.
const SOFT_M: f32 = 0.25;
/// Length of a close ray over r: beyond it 1.3 % of the light is left out.
const CLOSE: f32 = 2.5;
/// Where direct light is less than this share of all, it is taken in one round of several only.
const FAINT: f32 = 1e-3;
/// Scatter of direct light from one point of a front to another over the surfaces seen, as a
/// share: penumbrae and the fall-off across the front. A guess that only steers.
const EDGES: f32 = 0.25;
/// How many rounds then.
const FAINT_EVERY: u32 = 8;

/// A light's stream.
pub struct Stream {
    emitter: Emitter,
    /// Its number among the stage's lights.
    index: u32,
    seed: u32,
    pool: Option<Pool>,
    /// Landing points drawn.
    landed: u32,
    /// Points of fronts drawn.
    fronts: u32,
    /// Rounds given.
    pub rounds: u32,
    /// Mean unshadowed illuminance of the receivers straight from the fronts, lx·s or lx.
    direct: f32,
}

/// How shadow maps are made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Maps {
    /// Texels of a side for a point of a front.
    pub front: u32,
    /// Texels of a side for a landing point.
    pub landing: u32,
}

/// The samples of one round.
pub struct Drawn {
    /// Filled but for what the stage on the card is.
    pub round: Round,
    /// Faces in use.
    pub faces: Vec<Face>,
}

impl Stream {
    /// The stream of the light that emits as `emitter` does.
    pub fn new(emitter: Emitter, index: u32, seed: u32, receivers: &[Receiver]) -> Self {
        let direct = straight(&emitter, receivers);
        Self { emitter, index, seed, pool: None, landed: 0, fronts: 0, rounds: 0, direct }
    }

    /// Mean unshadowed illuminance of the surfaces seen, lx·s or lx.
    pub fn level(&self) -> f32 {
        self.direct + self.pool.as_ref().map_or(0.0, |pool| pool.bounced)
    }

    /// How far the mean of the rounds so far is likely to be off, in lx·s or lx at the surfaces
    /// seen: what says which light needs the next one.
    pub fn unsettled(&self) -> f32 {
        if self.rounds == 0 {
            return f32::INFINITY;
        }
        let bounced = self.pool.as_ref().map_or(0.0, |pool| pool.bounced * pool.scatter);
        let direct = EDGES * self.direct;
        direct.hypot(bounced) / (self.rounds as f32).sqrt()
    }

    /// The next round of `landings` landing points and, mostly, one point of a front.
    pub fn next(
        &mut self,
        (stage, set, receivers): (&Stage, &Set, &[Receiver]),
        films: Range<u32>,
        landings: u32,
        maps: Maps,
    ) -> Drawn {
        let mut drawn = Drawn { round: Round::zeroed(), faces: Vec::new() };
        drawn.round.first_film = films.start;
        drawn.round.films = films.len() as u32;
        self.renew_pool(stage, set, receivers);
        let bounced = self.pool.as_ref().map_or(0.0, |pool| pool.bounced);
        let faint = self.direct < FAINT * bounced;
        let soft = self.front_soft();
        if !faint || self.rounds.is_multiple_of(FAINT_EVERY) {
            let weight = if faint { FAINT_EVERY as f32 } else { 1.0 };
            let points = self.front_points();
            for _ in 0..points {
                let point = self.draw_front(films.start, weight / points as f32, soft);
                drawn.push(point, maps, receivers);
            }
            drawn.round.front_weight = weight;
        }
        drawn.round.number = self.rounds;
        drawn.round.seed = self.seed ^ self.index.wrapping_mul(0x9e37_79b9);
        drawn.round.front_soft = soft;
        drawn.round.landing_soft = SOFT_M.powi(4);
        drawn.round.close = if landings > 0 { CLOSE * SOFT_M } else { 0.0 };
        for _ in 0..landings {
            if let Some(landing) = self.draw_landing(1.0 / landings as f32) {
                drawn.push(landing, maps, receivers);
            }
        }
        self.rounds += 1;
        drawn
    }

    fn renew_pool(&mut self, stage: &Stage, set: &Set, receivers: &[Receiver]) {
        if self.pool.is_none() || self.landed.is_multiple_of(DRAWS_OF_A_POOL) {
            // some of the receivers will do: thousands of landings are judged by them
            let few: Vec<Receiver> = receivers.iter().step_by(31).copied().collect();
            let number = self.landed / DRAWS_OF_A_POOL;
            let stream = (self.index, number, self.seed);
            self.pool = Some(Pool::new(stage, set, &self.emitter, &few, stream));
        }
    }

    /// Points of the fronts in a round: one of a tube or ball faces half of what it lights, one of a wide
    /// front stands at one end of it, and a first look at either would be a stop off.
    fn front_points(&self) -> u32 {
        const WIDE_M2: f32 = 0.25;
        let films = self.emitter.films();
        let area: f32 = films.iter().map(|film| film.area).sum();
        let round =
            |film: &Film| matches!(film.shape, SourceShape::Tube { .. } | SourceShape::Ball { .. });
        if films.len() > 1 || area > WIDE_M2 || films.iter().any(round) { 4 } else { 1 }
    }

    /// r⁴ of the fronts: about their own size, since a point of a small one is no spike before it.
    fn front_soft(&self) -> f32 {
        let area: f32 = self.emitter.films().iter().map(|film| film.area).sum();
        (area * FRAC_1_PI).min(SOFT_M * SOFT_M).powi(2)
    }

    fn draw_front(&mut self, first_film: u32, weight: f32, soft: f32) -> Sample {
        let sampler = Sampler::new(self.fronts, self.index, self.seed ^ 0xf207);
        let point = self.emitter.front(sampler.pair(0));
        self.fronts += 1;
        let pdf = self.emitter.area_pdf(&point);
        Sample {
            position: point.position.to_array(),
            kind: kind::FRONT,
            normal: point.normal.to_array(),
            which: first_film + point.film,
            weight: weight / pdf,
            soft,
            ..Sample::zeroed()
        }
    }

    fn draw_landing(&mut self, share: f32) -> Option<Sample> {
        let sampler = Sampler::new(self.landed, self.index, self.seed ^ 0x1a2d);
        self.landed += 1;
        let Draw { landing, worth } = self.pool.as_ref()?.draw(sampler.single(0))?;
        Some(Sample {
            position: landing.position.to_array(),
            kind: kind::LANDING,
            normal: landing.geometric.to_array(),
            which: landing.surface,
            shading: landing.shading.to_array(),
            weight: worth * share,
            outgoing: landing.outgoing.to_array(),
            soft: SOFT_M.powi(4),
            flux: landing.flux.to_array(),
            reflectance: landing.reflectance.to_array(),
            ..Sample::zeroed()
        })
    }
}

impl Drawn {
    /// Adds a sample with as many of its faces as there is room for; what falls outside them is
    /// traced.
    fn push(&mut self, mut sample: Sample, maps: Maps, receivers: &[Receiver]) {
        let at = self.round.count as usize;
        if at >= MOST_SAMPLES {
            return;
        }
        let (lift, size, fineness, layers) = match sample.kind {
            kind::FRONT => (0.0, maps.front, Fineness::Fine, FRONT_LAYERS),
            _ => (LANDING_LIFT_M, maps.landing, Fineness::Coarse, LANDING_LAYERS),
        };
        let normal = Vec3::from(sample.normal);
        let from = Vec3::from(sample.position) + normal * lift;
        sample.first_face = self.faces.len() as u32;
        let coarse = u32::from(fineness == Fineness::Coarse);
        for mut face in receivers::faces(from, normal, NEAR_M, receivers) {
            let layer = self.faces.iter().filter(|face| face.coarse == coarse).count();
            if layer < layers {
                face.layer = layer as u32;
                face.map_size = size as f32;
                face.texel = 2.0 * face.bounds[2].max(face.bounds[3]) / size as f32;
                face.coarse = coarse;
                face.deviation = fineness.deviation_m();
                self.round.faces[self.faces.len()] = face;
                self.faces.push(face);
            }
        }
        sample.faces = self.faces.len() as u32 - sample.first_face;
        self.round.samples[at] = sample;
        self.round.count += 1;
    }
}

/// Mean illuminance of the receivers from a few points of the fronts, without shadows.
fn straight(emitter: &Emitter, receivers: &[Receiver]) -> f32 {
    const POINTS: u32 = 4;
    let mut sum = 0.0f64;
    for index in 0..POINTS {
        let point = emitter.front(Sampler::new(index, 0, 0xd1ec).pair(0));
        let pdf = emitter.area_pdf(&point);
        for receiver in receivers {
            let span: Vec3 = point.position - receiver.position;
            let distance2 = span.length_squared().max(1e-6);
            let way = span / distance2.sqrt();
            let cos = way.dot(receiver.normal).max(0.0) * (-way.dot(point.normal)).max(0.0);
            let lit = emitter.radiance(&point, -way) * cos / (distance2 * pdf);
            sum += f64::from(lit);
        }
    }
    (sum / (f64::from(POINTS) * receivers.len().max(1) as f64)) as f32
}
