//! One light's samples, round by round: points of its fronts and places where it lands, from
//! the same low-discrepancy draws that `trace` takes.

use std::f32::consts::FRAC_1_PI;

use bytemuck::Zeroable;
use glam::Vec3;

use super::landing::Pool;
use super::receivers::{self, Face, Receiver};
use super::shade::{MOST_SAMPLES, Round, Sample, kind};
use super::shadow::MOST_FACES;
use super::solid::Set;
use crate::optics::sampler::Sampler;
use crate::stage::Stage;
use crate::stage::source::Emitter;

/// Draws from a pool before the next one is traced.
const DRAWS_OF_A_POOL: u32 = 64;
/// Landing points look from this far above their surface: shadow meshes may stand proud of it.
const LANDING_LIFT_M: f32 = 0.006;
/// Nothing nearer to a light point throws a shadow, metres.
const NEAR_M: f32 = 0.003;
/// Radius that the first landing point of a light stands for; it shrinks with the root of
/// their number, as the places drawn come to lie closer.
const FIRST_RADIUS_M: f32 = 0.35;
/// Where direct light is less than this share of all, it is taken in one round of several only.
const FAINT: f32 = 1e-3;
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

    /// The next round of `landings` landing points and, mostly, one point of a front.
    pub fn next(
        &mut self,
        stage: &Stage,
        set: &Set,
        receivers: &[Receiver],
        films: std::ops::Range<u32>,
        landings: u32,
    ) -> Drawn {
        let mut drawn = Drawn { round: Round::zeroed(), faces: Vec::new() };
        drawn.round.first_film = films.start;
        drawn.round.films = films.len() as u32;
        self.renew_pool(stage, set, receivers);
        let bounced = self.pool.as_ref().map_or(0.0, |pool| pool.bounced);
        let faint = self.direct < FAINT * bounced;
        if self.direct > 0.0 && (!faint || self.rounds.is_multiple_of(FAINT_EVERY)) {
            let weight = if faint { FAINT_EVERY as f32 } else { 1.0 };
            self.draw_front(&mut drawn, receivers, films.start, weight);
        }
        for _ in 0..landings {
            self.draw_landing(&mut drawn, receivers, 1.0 / landings as f32);
        }
        self.rounds += 1;
        drawn
    }

    fn renew_pool(&mut self, stage: &Stage, set: &Set, receivers: &[Receiver]) {
        if self.pool.is_none() || self.landed.is_multiple_of(DRAWS_OF_A_POOL) {
            // every sixteenth receiver will do: thousands of landings are judged by them
            let few: Vec<Receiver> = receivers.iter().step_by(61).copied().collect();
            let number = self.landed / DRAWS_OF_A_POOL;
            let stream = (self.index, number, self.seed);
            self.pool = Some(Pool::new(stage, set, &self.emitter, &few, stream));
        }
    }

    fn draw_front(&mut self, drawn: &mut Drawn, receivers: &[Receiver], film: u32, weight: f32) {
        let sampler = Sampler::new(self.fronts, self.index, self.seed ^ 0xf207);
        let point = self.emitter.front(sampler.pair(0));
        self.fronts += 1;
        let pdf = self.emitter.area_pdf(&point);
        let sample = Sample {
            position: point.position.to_array(),
            kind: kind::FRONT,
            normal: point.normal.to_array(),
            which: film + point.film,
            weight: weight / pdf,
            footprint: FRAC_1_PI / (pdf * (self.fronts + 1) as f32),
            ..Sample::zeroed()
        };
        let faces = receivers::faces(point.position, point.normal, NEAR_M, receivers);
        drawn.push(sample, faces);
    }

    fn draw_landing(&mut self, drawn: &mut Drawn, receivers: &[Receiver], share: f32) {
        let sampler = Sampler::new(self.landed, self.index, self.seed ^ 0x1a2d);
        self.landed += 1;
        let Some((landing, worth)) = self.pool.as_ref().and_then(|p| p.draw(sampler.single(0)))
        else {
            return;
        };
        let radius = FIRST_RADIUS_M / (self.landed as f32).sqrt();
        let sample = Sample {
            position: landing.position.to_array(),
            kind: kind::LANDING,
            normal: landing.geometric.to_array(),
            which: landing.surface,
            shading: landing.shading.to_array(),
            weight: worth * share,
            outgoing: landing.outgoing.to_array(),
            footprint: radius * radius,
            flux: landing.flux.to_array(),
            reflectance: landing.reflectance.to_array(),
            ..Sample::zeroed()
        };
        let from = landing.position + landing.geometric * LANDING_LIFT_M;
        let faces = receivers::faces(from, landing.geometric, NEAR_M, receivers);
        drawn.push(sample, faces);
    }
}

impl Drawn {
    /// Adds a sample with as many of its faces as there is room for; what falls outside them is
    /// traced.
    fn push(&mut self, mut sample: Sample, faces: Vec<Face>) {
        let at = self.round.count as usize;
        if at >= MOST_SAMPLES {
            return;
        }
        sample.first_face = self.faces.len() as u32;
        for mut face in faces {
            if self.faces.len() < MOST_FACES {
                face.layer = self.faces.len() as u32;
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
