//! The meter: where it is held, what it looks at, and what it shows.

use glam::Vec3;

use super::ShootError;
use super::gains;
use super::options::{DomeAim, MeterOptions, MeterPoint, Progress};
use super::readings::{
    AmbientReading, Held, LightReading, Ratio, Readings, RoomReading, SpotLight, SpotReading,
    TotalReading,
};
use crate::layers::LightKind;
use crate::meter::{held_at, held_toward};
use crate::optics::color::{luminance, luminance_f64};
use crate::optics::exposure;
use crate::plan::Plan;
use crate::stage::{self, Stage};
use crate::trace::{Incident, Receptor, Tracer};

/// Batches of 1024 paths that a reading is begun with.
const BATCHES: u32 = 24;
/// Batches that it may come to while it is not settled.
const MOST_BATCHES: u32 = 16 * BATCHES;
/// Standard error at which a reading has settled, as a share: a hundredth of a stop.
const SETTLED: f64 = 0.007;
/// The same for lights under an eighth of the strongest: half a tenth, as finely as they are shown.
const SETTLED_WEAK: f64 = 0.03;
/// Lights this far under the strongest need not settle: a 250th of it changes nothing.
const FAINT: f64 = 1.0 / 256.0;

/// Luminance meter constant K in cd·s/m², mid of the 10.6 to 13.4 that ISO 2720 allows.
const SPOT_CONSTANT: f64 = 12.5;

/// Reads the lights at a place.
pub fn meter(
    plan: &Plan,
    options: &MeterOptions,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Readings, ShootError> {
    let mut all = meter_places(plan, std::slice::from_ref(options), progress)?;
    all.pop().ok_or(ShootError::Dark)
}

/// Reads the lights at several places of one stage, in their order.
pub fn meter_places(
    plan: &Plan,
    options: &[MeterOptions],
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Vec<Readings>, ShootError> {
    progress(Progress { done: 0.0, step: "building" });
    let stage = stage::build(plan)?;
    let count = options.len().max(1) as f64;
    let one = |(number, options)| {
        progress(Progress { done: 0.1 + 0.9 * number as f64 / count, step: "reading" });
        read(plan, &stage, options)
    };
    options.iter().enumerate().map(one).collect()
}

/// The same on a stage that stands already.
pub fn read(plan: &Plan, stage: &Stage, options: &MeterOptions) -> Result<Readings, ShootError> {
    let mut tracer = lit_tracer(plan, stage);
    let levels = levels(plan, stage, &tracer)?;
    let found = look(plan, stage, &mut tracer, &levels, options)?;
    let mut readings = assemble(plan, stage, &tracer, &found.lights, &levels);
    let name = match &options.at {
        MeterPoint::Mark(name) => Some(name.clone()),
        MeterPoint::Point(_) => None,
    };
    readings.at = Held { name, position_m: metres(found.at) };
    readings.receptor = if options.flat { "flat" } else { "dome" };
    readings.toward = match &options.dome {
        DomeAim::Camera if options.flat => "surface".into(),
        DomeAim::Camera => "camera".into(),
        DomeAim::EachLight => "each light".into(),
        DomeAim::Light(name) | DomeAim::Toward(MeterPoint::Mark(name)) => name.clone(),
        DomeAim::Toward(MeterPoint::Point([x, y, z])) => format!("({x:.2}, {y:.2}, {z:.2}) m"),
    };
    if let Some(degrees) = options.spot_degrees {
        let seed = options.seed as u32;
        readings.spot = Some(spot(plan, stage, &tracer, found.at, degrees, seed, &levels));
    }
    Ok(readings)
}

/// Illuminance or luminous exposure that each of the tracer's lights gives a dome at the face
/// toward the camera, at unit setting with white light.
pub(super) fn face_at_unit(stage: &Stage, tracer: &Tracer, seed: u64) -> Vec<f64> {
    let (at, _) = held_at(stage, "face");
    let toward = (stage.camera.position - at).normalize_or(Vec3::Z);
    let found = tracer.meter(at, toward, Receptor::Dome, BATCHES, seed as u32);
    found.iter().map(|one| luminance_f64(one.direct + one.bounced)).collect()
}

/// The stage with the lights that are on, ready for rays.
pub(super) fn lit_tracer(plan: &Plan, stage: &Stage) -> Tracer {
    let names = super::still::lit(plan, &[]);
    Tracer::new(stage, |light| names.contains(&light.name))
}

/// What a receptor found of one light.
pub(super) struct Look {
    /// Where it was held.
    pub position: Vec3,
    /// At full power, white.
    pub incident: Incident,
}

/// What a receptor found at a place.
pub(super) struct Found {
    /// The place.
    pub at: Vec3,
    /// In the tracer's order.
    pub lights: Vec<Look>,
}

/// Holds the receptor and reads every light of the tracer until what matters has settled.
/// `levels` are today's gains, which say what matters.
pub(super) fn look(
    plan: &Plan,
    stage: &Stage,
    tracer: &mut Tracer,
    levels: &[f64],
    options: &MeterOptions,
) -> Result<Found, ShootError> {
    let (at, surface) = place(stage, &options.at)?;
    let camera = stage.camera.position;
    let receptor = if options.flat { Receptor::Flat } else { Receptor::Dome };
    let seed = options.seed as u32;
    let toward = |from: Vec3, to: Vec3| (to - from).normalize_or(Vec3::Z);
    let all_at = |tracer: &Tracer, at: Vec3, axis: Vec3| Found {
        at,
        lights: settled(tracer, at, axis, receptor, levels, seed)
            .into_iter()
            .map(|incident| Look { position: at, incident })
            .collect(),
    };
    Ok(match &options.dome {
        // a flat receptor lies on the surface; a dome looks at the camera
        DomeAim::Camera if options.flat => all_at(tracer, at, surface),
        DomeAim::Camera => all_at(tracer, at, toward(at, camera)),
        DomeAim::Toward(target) => {
            let target = place(stage, target)?.0;
            all_at(tracer, at, toward(at, target))
        }
        DomeAim::Light(one) => {
            let aim = light_position(stage, one).unwrap_or(camera);
            let held = held_toward(stage, &tracer.scene, at, aim);
            all_at(tracer, held, toward(held, aim))
        }
        DomeAim::EachLight => {
            let all = std::mem::take(&mut tracer.scene.lights);
            let mut lights = Vec::with_capacity(all.len());
            for (light, level) in all.iter().zip(levels) {
                // the room has no single place: it is read toward the camera
                let head = planned(plan, &light.name)
                    .then(|| light_position(stage, &light.name))
                    .flatten();
                let position = head.map_or(at, |head| held_toward(stage, &tracer.scene, at, head));
                let axis = toward(position, head.unwrap_or(camera));
                tracer.scene.lights = vec![light.clone()];
                let found = settled(tracer, position, axis, receptor, &[*level], seed);
                let incident = found.first().copied().unwrap_or_default();
                lights.push(Look { position, incident });
            }
            tracer.scene.lights = all;
            Found { at, lights }
        }
    })
}

/// Position and facing of a place.
fn place(stage: &Stage, at: &MeterPoint) -> Result<(Vec3, Vec3), ShootError> {
    match at {
        MeterPoint::Mark(name) if stage.marks.iter().any(|mark| mark.name == *name) => {
            Ok(held_at(stage, name))
        }
        MeterPoint::Mark(name) => {
            let known = stage.marks.iter().map(|mark| mark.name.clone()).collect();
            Err(ShootError::NoMark { name: name.clone(), known })
        }
        MeterPoint::Point([x, y, z]) => {
            let point = Vec3::new(*x as f32, *y as f32, *z as f32);
            Ok((point, (stage.camera.position - point).normalize_or(Vec3::Z)))
        }
    }
}

/// Paths are added until every light that matters is known to a hundredth of a stop, or to half a
/// tenth where it hardly counts.
fn settled(
    tracer: &Tracer,
    at: Vec3,
    axis: Vec3,
    receptor: Receptor,
    levels: &[f64],
    seed: u32,
) -> Vec<Incident> {
    let mut found = tracer.meter(at, axis, receptor, BATCHES, seed);
    let mut batches = BATCHES;
    let sum = |one: &Incident| luminance_f64(one.direct + one.bounced);
    let open = |found: &[Incident]| {
        let most = found.iter().zip(levels).map(|(one, gain)| sum(one) * gain).fold(0.0, f64::max);
        found.iter().zip(levels).any(|(one, gain)| {
            let level = sum(one) * gain;
            let share = if level > most / 8.0 { SETTLED } else { SETTLED_WEAK };
            level > FAINT * most && one.standard_error > share * sum(one)
        })
    };
    while open(&found) && batches < MOST_BATCHES {
        // a fresh seed for each round; every round doubles what there is
        let round = seed.wrapping_add(batches.wrapping_mul(0x9e37_79b9));
        let more = tracer.meter(at, axis, receptor, batches, round);
        for (one, other) in found.iter_mut().zip(more) {
            *one = Incident {
                direct: 0.5 * (one.direct + other.direct),
                bounced: 0.5 * (one.bounced + other.bounced),
                standard_error: 0.5 * one.standard_error.hypot(other.standard_error),
            };
        }
        batches *= 2;
    }
    found
}

fn metres(at: Vec3) -> [f64; 3] {
    at.to_array().map(f64::from)
}

/// Whether a light is one of the plan's own, which have a power; else it is the room's.
fn planned(plan: &Plan, name: &str) -> bool {
    plan.lights.iter().any(|light| light.name == name)
}

fn light_position(stage: &Stage, name: &str) -> Option<Vec3> {
    stage.lights.iter().find(|light| light.name == name).map(|light| light.source.position)
}

/// Luminance gain of each of the tracer's lights today.
pub(super) fn levels(plan: &Plan, stage: &Stage, tracer: &Tracer) -> Result<Vec<f64>, ShootError> {
    let names: Vec<String> = tracer.scene.lights.iter().map(|l| l.name.clone()).collect();
    // a meter sees the light itself, not the camera's white balance: gains at luminance 1
    let mix = gains::try_mix(plan, stage, &names)?;
    Ok(names.iter().map(|name| f64::from(luminance(mix.gain(name)))).collect())
}

/// Gain and colour of each of the tracer's lights today, as the camera sees them, times the
/// shutter time for what burns on.
pub(super) fn exposed_gains(plan: &Plan, stage: &Stage, tracer: &Tracer) -> Vec<Vec3> {
    let names: Vec<String> = tracer.scene.lights.iter().map(|l| l.name.clone()).collect();
    let mix = gains::mix(plan, stage, &names);
    let shutter_s = plan.camera.shutter.seconds as f32;
    tracer
        .scene
        .lights
        .iter()
        .map(|light| match light.kind {
            LightKind::Continuous => mix.gain(&light.name) * shutter_s,
            LightKind::Flash => mix.gain(&light.name),
        })
        .collect()
}

fn assemble(
    plan: &Plan,
    stage: &Stage,
    tracer: &Tracer,
    found: &[Look],
    levels: &[f64],
) -> Readings {
    let setting = gains::exposure(plan);
    let c = plan.meter_constant;
    let f_number =
        |lux_s: f64| (lux_s > 0.0).then(|| exposure::metered_f_number(lux_s, plan.camera.iso, c));
    let versus = |lux_s: f64| (lux_s > 0.0).then(|| setting.stops_over(lux_s, c));
    let in_stops = |error: f64, of: f64| (of > 0.0).then(|| (1.0 + error / of).log2());
    let (mut lights, mut room) = (Vec::new(), Vec::new());
    let (mut total, mut variance) = (0.0, 0.0);
    for ((light, look), level) in tracer.scene.lights.iter().zip(found).zip(levels) {
        let seconds = match light.kind {
            LightKind::Continuous => setting.shutter_s,
            LightKind::Flash => 1.0,
        };
        let gain = level * seconds;
        let direct = luminance_f64(look.incident.direct) * gain;
        let bounced = luminance_f64(look.incident.bounced) * gain;
        let sum = direct + bounced;
        let error = look.incident.standard_error * gain;
        total += sum;
        variance += error * error;
        let lux = (light.kind == LightKind::Continuous).then_some(sum / seconds);
        if !planned(plan, &light.name) {
            room.push(RoomReading {
                name: light.name.clone(),
                lux: sum / seconds,
                f_number: f_number(sum),
                stops_vs_camera: versus(sum),
            });
            continue;
        }
        let head = light_position(stage, &light.name).unwrap_or(look.position);
        lights.push(LightReading {
            name: light.name.clone(),
            flash_lux_s: sum,
            f_number: f_number(sum),
            stops_vs_camera: versus(sum),
            stops_vs_key: None,
            direct_lux_s: direct,
            bounced_lux_s: bounced,
            lux,
            distance_m: look.position.distance(head).into(),
            position_m: metres(look.position),
            error_stops: in_stops(error, sum),
        });
    }
    let key = key(&lights).map_or(0.0, |key| key.flash_lux_s);
    for light in &mut lights {
        light.stops_vs_key =
            (key > 0.0 && light.flash_lux_s > 0.0).then(|| (light.flash_lux_s / key).log2());
    }
    let ambient = (!room.is_empty()).then(|| {
        let lux = room.iter().map(|one| one.lux).sum::<f64>();
        let lux_s = lux * setting.shutter_s;
        AmbientReading { lux, f_number: f_number(lux_s), stops_vs_camera: versus(lux_s) }
    });
    Readings {
        at: Held { name: None, position_m: [0.0; 3] },
        iso: plan.camera.iso,
        shutter_s: setting.shutter_s,
        aperture: setting.f_number,
        total: TotalReading {
            f_number: f_number(total),
            stops_vs_camera: versus(total),
            error_stops: in_stops(variance.sqrt(), total),
        },
        ratio: ratio(&lights),
        lights,
        ambient,
        receptor: "dome",
        spot: None,
        toward: String::new(),
        room,
    }
}

/// The light with `key` in its name, else the strongest here.
fn key(lights: &[LightReading]) -> Option<&LightReading> {
    let lit = || lights.iter().filter(|light| light.flash_lux_s > 0.0);
    let strongest = || lit().max_by(|a, b| a.flash_lux_s.total_cmp(&b.flash_lux_s));
    lit().find(|light| light.name.contains("key")).or_else(strongest)
}

/// Fill is the light named so, else the strongest beside the key.
fn ratio(lights: &[LightReading]) -> Ratio {
    let Some(key) = key(lights) else {
        return Ratio { key_to_fill: None, lit_to_shadow: None };
    };
    let rest = || lights.iter().filter(|light| light.flash_lux_s > 0.0 && light.name != key.name);
    let strongest = || rest().max_by(|a, b| a.flash_lux_s.total_cmp(&b.flash_lux_s));
    let fill = rest().find(|light| light.name.contains("fill")).or_else(strongest);
    let key_to_fill = fill.map(|fill| key.flash_lux_s / fill.flash_lux_s);
    Ratio { key_to_fill, lit_to_shadow: key_to_fill.map(|ratio| ratio + 1.0) }
}

/// A spot meter at the camera, pointed at the place.
fn spot(
    plan: &Plan,
    stage: &Stage,
    tracer: &Tracer,
    at: Vec3,
    degrees: f64,
    seed: u32,
    levels: &[f64],
) -> SpotReading {
    let setting = gains::exposure(plan);
    let camera = stage.camera.position;
    let half_rad = (0.5 * degrees.to_radians()) as f32;
    let found =
        tracer.spot(camera, (at - camera).normalize_or(Vec3::NEG_Z), half_rad, BATCHES, seed);
    let mut sum = 0.0;
    let lights = tracer
        .scene
        .lights
        .iter()
        .zip(&found)
        .zip(levels)
        .map(|((light, one), level)| {
            let steady = match light.kind {
                LightKind::Continuous => setting.shutter_s,
                LightKind::Flash => 1.0,
            };
            let luminance = luminance_f64(one.direct + one.bounced) * level * steady;
            sum += luminance;
            SpotLight {
                name: light.name.clone(),
                cd_s_per_m2: luminance,
                stops_vs_middle_grey: from_grey(setting.linear_from_flash(luminance)),
            }
        })
        .collect();
    SpotReading {
        degrees,
        f_number: (sum > 0.0).then(|| (sum * plan.camera.iso / SPOT_CONSTANT).sqrt()),
        stops_vs_middle_grey: from_grey(setting.linear_from_flash(sum)),
        lights,
    }
}

/// Stops of a picture value above 18 % grey.
fn from_grey(linear: f64) -> Option<f64> {
    (linear > 0.0).then(|| (linear / 0.18).log2())
}
