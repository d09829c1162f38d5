//! The meter: where it is held, what it looks at, and what it shows.

use glam::Vec3;

use super::ShootError;
use super::gains;
use super::options::{DomeAim, MeterOptions, MeterPoint, Progress};
use super::readings::{
    AmbientReading, Held, LightReading, Ratio, Readings, SpotLight, SpotReading, TotalReading,
};
use crate::layers::LightKind;
use crate::meter::held_at;
use crate::optics::color::{luminance, luminance_f64};
use crate::optics::exposure;
use crate::plan::Plan;
use crate::stage::{self, AMBIENT, Stage};
use crate::trace::{Incident, Receptor, Tracer};

/// Batches of 1024 paths a reading is made from.
const BATCHES: u32 = 24;

/// Luminance meter constant K in cd·s/m², mid of the 10.6 to 13.4 that ISO 2720 allows.
const SPOT_CONSTANT: f64 = 12.5;

/// Reads the lights at a place.
pub fn meter(
    plan: &Plan,
    options: &MeterOptions,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<Readings, ShootError> {
    let stage = stage::build(plan)?;
    progress(Progress { done: 0.1, step: "reading" });
    read(plan, &stage, options)
}

/// The same on a stage that stands already.
pub fn read(plan: &Plan, stage: &Stage, options: &MeterOptions) -> Result<Readings, ShootError> {
    let (name, position, surface) = match &options.at {
        MeterPoint::Mark(name) => {
            if !stage.marks.iter().any(|mark| mark.name == *name) {
                let known = stage.marks.iter().map(|mark| mark.name.clone()).collect();
                return Err(ShootError::NoMark { name: name.clone(), known });
            }
            let (position, facing) = held_at(stage, name);
            (Some(name.clone()), position, facing)
        }
        MeterPoint::Point(p) => {
            let point = Vec3::new(p[0] as f32, p[1] as f32, p[2] as f32);
            (None, point, (stage.camera.position - point).normalize_or(Vec3::Z))
        }
    };
    read_at(plan, stage, options, name, position, surface)
}

/// At the face; where there is no sitter, where a standing adult's would be.
pub(super) fn at_face(
    plan: &Plan,
    stage: &Stage,
    options: &MeterOptions,
) -> Result<Readings, ShootError> {
    let (position, facing) = held_at(stage, "face");
    read_at(plan, stage, options, Some("face".into()), position, facing)
}

fn read_at(
    plan: &Plan,
    stage: &Stage,
    options: &MeterOptions,
    name: Option<String>,
    position: Vec3,
    surface: Vec3,
) -> Result<Readings, ShootError> {
    let names = super::still::lit(plan, &[]);
    let tracer = Tracer::new(stage, |light| names.contains(&light.name));
    let seed = options.seed as u32;
    let receptor = if options.flat { Receptor::Flat } else { Receptor::Dome };
    let toward = |target: Vec3| (target - position).normalize_or(Vec3::Z);
    let found = match &options.dome {
        // a flat receptor lies on the surface; a dome looks at the camera
        DomeAim::Camera if options.flat => tracer.meter(position, surface, receptor, BATCHES, seed),
        DomeAim::Camera => {
            tracer.meter(position, toward(stage.camera.position), receptor, BATCHES, seed)
        }
        DomeAim::Light(one) => {
            let aim = light_position(stage, one).unwrap_or(stage.camera.position);
            tracer.meter(position, toward(aim), receptor, BATCHES, seed)
        }
        DomeAim::EachLight => tracer
            .scene
            .lights
            .iter()
            .enumerate()
            .map(|(index, light)| {
                // the room has no single place: it is read toward the camera
                let aim = (light.name != AMBIENT)
                    .then(|| light_position(stage, &light.name))
                    .flatten()
                    .unwrap_or(stage.camera.position);
                tracer.meter(position, toward(aim), receptor, BATCHES, seed)[index]
            })
            .collect(),
    };
    let levels = levels(plan, stage, &tracer)?;
    let mut readings = assemble(plan, &tracer, &found, &levels);
    readings.at =
        Held { name, position_m: [position.x.into(), position.y.into(), position.z.into()] };
    readings.receptor = if options.flat { "flat" } else { "dome" };
    if let Some(degrees) = options.spot_degrees {
        readings.spot = Some(spot(plan, stage, &tracer, position, degrees, seed, &levels));
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

fn light_position(stage: &Stage, name: &str) -> Option<Vec3> {
    stage.lights.iter().find(|light| light.name == name).map(|light| light.source.position)
}

/// Luminance gain of each of the tracer's lights today.
fn levels(plan: &Plan, stage: &Stage, tracer: &Tracer) -> Result<Vec<f64>, ShootError> {
    let names: Vec<String> = tracer.scene.lights.iter().map(|l| l.name.clone()).collect();
    // a meter sees the light itself, not the camera's white balance: gains at luminance 1
    let mix = gains::try_mix(plan, stage, &names)?;
    Ok(names.iter().map(|name| f64::from(luminance(mix.gain(name)))).collect())
}

fn assemble(plan: &Plan, tracer: &Tracer, found: &[Incident], levels: &[f64]) -> Readings {
    let setting = gains::exposure(plan);
    let c = plan.meter_constant;
    let f_number =
        |lux_s: f64| (lux_s > 0.0).then(|| exposure::metered_f_number(lux_s, plan.camera.iso, c));
    let versus = |lux_s: f64| (lux_s > 0.0).then(|| setting.stops_over(lux_s, c));
    let (mut lights, mut room_lux, mut total) = (Vec::new(), None, 0.0);
    for ((light, one), level) in tracer.scene.lights.iter().zip(found).zip(levels) {
        let direct = luminance_f64(one.direct) * level;
        let bounced = luminance_f64(one.bounced) * level;
        let sum = direct + bounced;
        if !plan.lights.iter().any(|planned| planned.name == light.name) {
            // lamps, windows and the even level are the room's light
            *room_lux.get_or_insert(0.0) += sum;
            continue;
        }
        // a lamp among the heads counts for the shutter time
        let time = match light.kind {
            LightKind::Continuous => setting.shutter_s,
            LightKind::Flash => 1.0,
        };
        total += sum * time;
        lights.push(LightReading {
            name: light.name.clone(),
            flash_lux_s: sum * time,
            f_number: f_number(sum * time),
            stops_vs_camera: versus(sum * time),
            stops_vs_key: None,
            direct_lux_s: direct * time,
            bounced_lux_s: bounced * time,
        });
    }
    let ambient = room_lux.map(|lux: f64| {
        let lux_s = lux * setting.shutter_s;
        total += lux_s;
        AmbientReading { lux, f_number: f_number(lux_s), stops_vs_camera: versus(lux_s) }
    });
    let key = lights.iter().map(|light| light.flash_lux_s).fold(0.0, f64::max);
    for light in &mut lights {
        light.stops_vs_key =
            (key > 0.0 && light.flash_lux_s > 0.0).then(|| (light.flash_lux_s / key).log2());
    }
    Readings {
        at: Held { name: None, position_m: [0.0; 3] },
        iso: plan.camera.iso,
        shutter_s: setting.shutter_s,
        aperture: setting.f_number,
        total: TotalReading { f_number: f_number(total), stops_vs_camera: versus(total) },
        ratio: ratio(&lights),
        lights,
        ambient,
        receptor: "dome",
        spot: None,
    }
}

/// Key is the strongest light here; fill is the one named so, else the next strongest.
fn ratio(lights: &[LightReading]) -> Ratio {
    let mut by_level: Vec<&LightReading> =
        lights.iter().filter(|light| light.flash_lux_s > 0.0).collect();
    by_level.sort_by(|a, b| b.flash_lux_s.total_cmp(&a.flash_lux_s));
    let Some((key, rest)) = by_level.split_first() else {
        return Ratio { key_to_fill: None, lit_to_shadow: None };
    };
    let fill = rest.iter().find(|light| light.name.contains("fill")).or(rest.first());
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
