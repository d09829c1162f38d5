//! The meter in hand: a thread that reads places of the set, each light apart and at full power,
//! so that a turned power needs no new reading; and the stops that come of it today.

use std::sync::Arc;

use glam::{DVec3, Vec2, Vec3};

use super::worker::{Desk, Threads};
use crate::layers::LightKind;
use crate::meter::{held_at, held_toward};
use crate::optics::color::{luminance, luminance_f64};
use crate::optics::exposure::metered_f_number;
use crate::picture::Taking;
use crate::plan::Plan;
use crate::shoot;
use crate::stage::Stage;
use crate::trace::{Incident, Receptor, Tracer};

/// Where the meter is held.
#[derive(Debug, Clone, PartialEq)]
pub enum At {
    /// A named place of the set.
    Mark(String),
    /// Before the surface that this point of the frame shows (0 to 1 from its top left).
    Film(Vec2),
}

/// Where its dome looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Dome {
    /// Toward the camera.
    #[default]
    Camera,
    /// Toward each light in turn.
    EachLight,
}

/// A reading that is asked for.
#[derive(Debug, Clone)]
pub struct Ask {
    /// The set.
    pub stage: Arc<Stage>,
    /// Where.
    pub at: At,
    /// Where the dome looks.
    pub dome: Dome,
}

impl PartialEq for Ask {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.stage, &other.stage) && self.at == other.at && self.dome == other.dome
    }
}

/// One light's part, at full power and white.
#[derive(Debug, Clone)]
pub struct UnitLight {
    /// The light.
    pub name: String,
    /// Flash or continuous.
    pub kind: LightKind,
    /// Straight and bounced, lx·s or lx.
    pub direct: f64,
    /// By at least one bounce.
    pub bounced: f64,
    /// Standard error of the sum as a share of it.
    pub error: f64,
}

/// A reading.
#[derive(Debug, Clone)]
pub struct Reading {
    /// What was asked.
    pub ask: Ask,
    /// Where the meter was held, metres.
    pub position: Vec3,
    /// Light by light, in the stage's order.
    pub lights: Vec<UnitLight>,
    /// Batches of paths that it is made of.
    batches: u32,
    /// No better one comes.
    pub settled: bool,
}

/// One light's reading at today's setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// The light; `None` for all together.
    pub name: Option<String>,
    /// Lux seconds.
    pub lux_s: f64,
    /// Stops over what the camera's setting wants.
    pub stops_over_camera: Option<f64>,
    /// What a meter shows.
    pub f_number: Option<f64>,
    /// Share that comes by way of surfaces.
    pub bounced: f64,
    /// Standard error, stops.
    pub error_stops: f64,
    /// It is on.
    pub on: bool,
}

/// Each light's level with today's gains, and all that are on together.
pub fn levels(plan: &Plan, taking: &Taking, reading: &Reading) -> Vec<Level> {
    let setting = shoot::exposure(plan);
    let (iso, c) = (setting.iso, plan.meter_constant);
    let lit = shoot::lit(plan, &[]);
    let level = |name: Option<String>, lux_s: f64, bounced: f64, error: f64, on: bool| Level {
        name,
        lux_s,
        stops_over_camera: (lux_s > 0.0).then(|| setting.stops_over(lux_s, c)),
        f_number: (lux_s > 0.0).then(|| metered_f_number(lux_s, iso, c)),
        bounced,
        error_stops: (1.0 + error).log2(),
        on,
    };
    let (mut total, mut bounced, mut variance) = (0.0, 0.0, 0.0);
    let mut all: Vec<Level> = Vec::new();
    for light in &reading.lights {
        let seconds = if light.kind == LightKind::Continuous { setting.shutter_s } else { 1.0 };
        let gain = f64::from(luminance(taking.mix.gain(&light.name))) * seconds;
        let sum = (light.direct + light.bounced) * gain;
        let on = lit.contains(&light.name);
        if on {
            total += sum;
            bounced += light.bounced * gain;
            variance += (light.error * sum).powi(2);
        }
        let share = if sum > 0.0 { light.bounced * gain / sum } else { 0.0 };
        all.push(level(Some(light.name.clone()), sum, share, light.error, on));
    }
    let (share, error) =
        if total > 0.0 { (bounced / total, variance.sqrt() / total) } else { (0.0, 0.0) };
    all.push(level(None, total, share, error, true));
    all
}

/// What a spot meter sees at a point of the frame, each light apart, from the layers: the mean
/// over a disc of the picture as picture values.
pub fn spot(
    layers: &crate::layers::Layers,
    taking: &Taking,
    film: Vec2,
    radius: f32,
) -> Vec<(String, f32)> {
    let size = Vec2::new(layers.width as f32, layers.height as f32);
    let centre = film * size;
    let radius = (radius * size.y).max(0.75);
    let (low, high) = ((centre - radius).floor(), (centre + radius).ceil());
    let mut sums = vec![0.0; layers.layers.len()];
    let mut count = 0u32;
    for y in low.y.max(0.0) as u32..(high.y.max(0.0) as u32).min(layers.height) {
        for x in low.x.max(0.0) as u32..(high.x.max(0.0) as u32).min(layers.width) {
            if Vec2::new(x as f32 + 0.5, y as f32 + 0.5).distance(centre) > radius {
                continue;
            }
            count += 1;
            for (sum, layer) in sums.iter_mut().zip(&layers.layers) {
                let factor = taking.mix.factor(&layer.name, layer.kind);
                *sum += luminance(factor * layer.pixels[(y * layers.width + x) as usize]);
            }
        }
    }
    let named = layers.layers.iter().zip(sums);
    named.map(|(layer, sum)| (layer.name.clone(), sum / count.max(1) as f32)).collect()
}

/// Readings under way: the chosen place, and the one under the pointer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hand {
    /// The chosen place, which the stop ruler shows.
    Chosen = 0,
    /// Under the pointer.
    Pointing = 1,
}

#[derive(Default)]
struct State {
    asked: [Option<Ask>; 2],
    found: [Option<Reading>; 2],
}

/// The thread; ended when dropped.
pub struct Meter {
    desk: Arc<Desk<State>>,
    /// Waited for once the desk is closed.
    _threads: Threads,
}

impl Meter {
    /// Starts it; `wake` is called when there is a new reading.
    pub fn start(wake: impl Fn() + Send + Sync + 'static) -> Self {
        let desk = Arc::<Desk<State>>::default();
        let own = desk.clone();
        let _threads = Threads::default().with("meter", move || run(&own, wake));
        Self { desk, _threads }
    }

    /// Asks for a reading; the newest of each hand wins.
    pub fn ask(&self, hand: Hand, ask: Option<Ask>) {
        if self.desk.lock().asked[hand as usize] != ask {
            self.desk.change(|state| state.asked[hand as usize] = ask);
        }
    }

    /// The newest reading, which may be of an earlier stage.
    pub fn reading(&self, hand: Hand) -> Option<Reading> {
        self.desk.lock().found[hand as usize].clone()
    }
}

impl Drop for Meter {
    fn drop(&mut self) {
        self.desk.close();
    }
}

/// Batches of 1024 paths of a first answer.
const FIRST: u32 = 2;
/// Batches that a reading may come to.
const MOST: u32 = 256;
/// Standard error at which a light has settled, as a share: a fiftieth of a stop.
const SETTLED: f64 = 0.014;

/// What is asked for and not settled yet, with the reading so far: the pointer first.
fn open(state: &mut State) -> Option<(Hand, Ask, Option<Reading>)> {
    [Hand::Pointing, Hand::Chosen].into_iter().find_map(|hand| {
        let ask = state.asked[hand as usize].clone()?;
        let found = state.found[hand as usize].clone().filter(|found| found.ask == ask);
        match found {
            Some(found) if found.settled => None,
            found => Some((hand, ask, found)),
        }
    })
}

fn run(desk: &Desk<State>, wake: impl Fn()) {
    let mut tracer: Option<(Arc<Stage>, Tracer)> = None;
    while let Some((hand, ask, before)) = desk.next(open) {
        if tracer.as_ref().is_none_or(|(stage, _)| !Arc::ptr_eq(stage, &ask.stage)) {
            tracer = Some((ask.stage.clone(), Tracer::for_few_rays(&ask.stage, |_| true)));
        }
        let Some((_, tracer)) = &mut tracer else { continue };
        let reading = read(tracer, ask, before);
        desk.lock().found[hand as usize] = Some(reading);
        wake();
    }
}

/// A first answer, or one with twice the paths.
fn read(tracer: &mut Tracer, ask: Ask, before: Option<Reading>) -> Reading {
    let stage = ask.stage.clone();
    let Some((at, _)) = held(tracer, &stage, &ask.at) else {
        return Reading {
            ask,
            position: Vec3::ZERO,
            lights: Vec::new(),
            batches: 0,
            settled: true,
        };
    };
    // each round takes as many as all before it
    let batches = before.as_ref().map_or(FIRST, |before| before.batches);
    let camera = stage.camera.position;
    let toward = |from: Vec3, to: Vec3| (to - from).normalize_or(Vec3::Z);
    let found: Vec<Incident> = match ask.dome {
        Dome::Camera => tracer.meter(at, toward(at, camera), Receptor::Dome, batches, batches),
        Dome::EachLight => {
            let all = std::mem::take(&mut tracer.scene.lights);
            let mut found = Vec::new();
            for light in &all {
                let head = stage.lights.iter().find(|one| one.name == light.name && !one.is_room);
                let head = head.map(|head| head.source.position);
                let position = head.map_or(at, |head| held_toward(&stage, &tracer.scene, at, head));
                let axis = toward(position, head.unwrap_or(camera));
                tracer.scene.lights = vec![light.clone()];
                found.extend(tracer.meter(position, axis, Receptor::Dome, batches, batches));
            }
            tracer.scene.lights = all;
            found
        }
    };
    let lights: Vec<UnitLight> = tracer
        .scene
        .lights
        .iter()
        .zip(&found)
        .enumerate()
        .map(|(i, (light, one))| {
            let y = |v: DVec3| luminance_f64(v);
            let (mut direct, mut bounced, mut error) =
                (y(one.direct), y(one.bounced), one.standard_error);
            // as many paths again as there are: the two halves weigh the same
            if let Some(before) = before.as_ref().and_then(|before| before.lights.get(i)) {
                let own = before.error * (before.direct + before.bounced);
                error = 0.5 * error.hypot(own);
                direct = 0.5 * (direct + before.direct);
                bounced = 0.5 * (bounced + before.bounced);
            }
            let sum = direct + bounced;
            let error = if sum > 0.0 { error / sum } else { 0.0 };
            UnitLight { name: light.name.clone(), kind: light.kind, direct, bounced, error }
        })
        .collect();
    let done = before.as_ref().map_or(FIRST, |_| 2 * batches);
    let settled = done >= MOST || (done >= 8 && lights.iter().all(|light| light.error < SETTLED));
    Reading { ask, position: at, lights, batches: done, settled }
}

/// Where the receptor is held and what the surface there looks to; `None` where nothing is seen.
fn held(tracer: &Tracer, stage: &Stage, at: &At) -> Option<(Vec3, Vec3)> {
    match at {
        At::Mark(name) => Some(held_at(stage, name)),
        At::Film(film) => {
            let (origin, direction) = stage.camera.ray(*film, Vec2::ZERO);
            let hit = tracer.scene.intersect(origin, direction)?;
            Some((hit.position + hit.geometric * 0.02, hit.shading))
        }
    }
}
