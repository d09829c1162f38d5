//! Today's setting of each light: power, gel and colour temperature as a gain on its layer.

use glam::Vec3;

use super::ShootError;
use crate::meter;
use crate::optics::color;
use crate::optics::exposure::{self, Exposure};
use crate::picture::Mix;
use crate::plan::{self, Gel, LampLevel, Plan};
use crate::stage::{AMBIENT, Stage};
use crate::trace::{Receptor, Tracer};

/// The camera's setting.
pub fn exposure(plan: &Plan) -> Exposure {
    Exposure {
        iso: plan.camera.iso,
        f_number: plan.camera.aperture.f_number,
        shutter_s: plan.camera.shutter.seconds,
    }
}

/// Gain of a head on its layer (full power, white light), as the white balance sees it.
pub fn head(light: &plan::Light, white_balance: f64) -> Vec3 {
    let level = light.power.stops.exp2() as f32;
    let own = light.head.kelvin_at(light.power);
    let bare = |kelvin: f64| color::light_gain(kelvin, white_balance);
    let passed = light.gel.as_ref().map_or(1.0, |gel| (-gel.loss_stops()).exp2()) as f32;
    let colored = match &light.gel {
        None => bare(own),
        Some(Gel::Mired { shift, .. }) => {
            // bluer than any black body: as blue as there is
            bare(color::shifted_kelvin(own, *shift).unwrap_or(color::KELVIN_RANGE.1))
        }
        Some(Gel::Color { color: hex, .. }) => {
            let hue = color::parse_hex(hex).unwrap_or(Vec3::ONE);
            bare(own) * (hue / color::luminance(hue).max(1e-4))
        }
    };
    colored * (level * passed)
}

/// Batches of the reading that sets the room's light: 16,384 paths, a standard error well
/// under a hundredth of a stop.
const AMBIENT_BATCHES: u32 = 16;

/// What sets the level of one of the room's own lights.
struct RoomLight<'a> {
    name: &'a str,
    level: LampLevel,
    kelvin: f64,
}

/// The plan's own room lights among `names`.
fn room_lights<'a>(plan: &'a Plan, names: &[String]) -> Vec<RoomLight<'a>> {
    let even = plan.ambient.iter().map(|room| RoomLight {
        name: AMBIENT,
        level: LampLevel::Ev(room.ev),
        kelvin: room.kelvin,
    });
    let lamps = plan.lamps.iter().map(|lamp| RoomLight {
        name: &lamp.name,
        level: lamp.level,
        kelvin: lamp.kelvin,
    });
    let windows = plan.windows.iter().map(|window| RoomLight {
        name: &window.name,
        level: LampLevel::Ev(window.ev),
        kelvin: window.kelvin,
    });
    let all = even.chain(lamps).chain(windows);
    all.filter(|light| names.iter().any(|name| name == light.name)).collect()
}

/// Gains of the room's own lights: those given by EV are brought to what makes a dome at the
/// sitter's face toward the camera read it, each by itself; those given by lumens emit them.
fn room(plan: &Plan, stage: &Stage, names: &[String]) -> Vec<(String, Result<Vec3, ShootError>)> {
    let lights = room_lights(plan, names);
    let by_reading: Vec<&str> = lights
        .iter()
        .filter(|light| matches!(light.level, LampLevel::Ev(_)))
        .map(|light| light.name)
        .collect();
    let mut unit_lux = Vec::new();
    let (at, _) = meter::held_at(stage, "face");
    if !by_reading.is_empty() {
        let tracer = Tracer::new(stage, |light| by_reading.contains(&light.name.as_str()));
        let toward = (stage.camera.position - at).normalize_or(Vec3::Z);
        let found = tracer.meter(at, toward, Receptor::Dome, AMBIENT_BATCHES, 1);
        unit_lux = tracer.scene.lights.iter().map(|light| light.name.clone()).zip(found).collect();
    }
    lights
        .into_iter()
        .map(|light| {
            let level = match light.level {
                LampLevel::Lumens(lumens) => Ok(lumens),
                LampLevel::Ev(ev) => {
                    let unit = unit_lux
                        .iter()
                        .find(|(name, _)| name == light.name)
                        .map_or(0.0, |(_, one)| color::luminance_f64(one.direct + one.bounced));
                    let wanted_lux = exposure::lux_from_ev100(ev, plan.meter_constant);
                    if unit > 0.0 {
                        Ok(wanted_lux / unit)
                    } else {
                        Err(ShootError::Unread { name: light.name.into(), at: at.to_array() })
                    }
                }
            };
            let color = color::light_gain(light.kelvin, plan.camera.white_balance);
            (light.name.to_owned(), level.map(|level| color * level as f32))
        })
        .collect()
}

/// Today's mix of a plan on its stage: every lit light at its setting. Costs no picture rays:
/// change a power, a gel, the shutter or ISO and mix the same layers again.
///
/// # Errors
/// [`ShootError::Unread`] where a room light is to read an EV at a place that it does not reach.
pub fn try_mix(plan: &Plan, stage: &Stage, layers: &[String]) -> Result<Mix, ShootError> {
    let room = room(plan, stage, layers)
        .into_iter()
        .map(|(name, gain)| gain.map(|gain| (name, gain)))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(assembled(plan, layers, &room))
}

/// The same with room lights dark that cannot be set.
pub fn mix(plan: &Plan, stage: &Stage, layers: &[String]) -> Mix {
    let room: Vec<_> = room(plan, stage, layers)
        .into_iter()
        .filter_map(|(name, gain)| gain.ok().map(|gain| (name, gain)))
        .collect();
    assembled(plan, layers, &room)
}

fn assembled(plan: &Plan, layers: &[String], room: &[(String, Vec3)]) -> Mix {
    let mut mix = Mix::new(exposure(plan));
    for name in layers {
        let of_room = room.iter().find(|(known, _)| known == name).map(|(_, gain)| *gain);
        let gain = of_room.or_else(|| {
            let light = plan.lights.iter().find(|light| light.name == *name)?;
            Some(head(light, plan.camera.white_balance))
        });
        mix = mix.with(name.clone(), gain.unwrap_or(Vec3::ZERO));
    }
    mix
}
