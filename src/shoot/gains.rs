//! Today's setting of each light: power, gel and colour temperature as a gain on its layer.

use glam::Vec3;

use super::ShootError;
use crate::meter;
use crate::optics::color;
use crate::optics::exposure::{self, Exposure, PULSE_LOSS_STOPS};
use crate::optics::shutter::TRAVEL_OF_SYNC;
use crate::picture::Mix;
use crate::plan::{self, Gel, LampLevel, Plan};
use crate::stage::{AMBIENT, Stage};
use crate::trace::{Receptor, Tracer};

/// The camera's setting. A neutral filter before the lens acts on all light as a lower speed.
pub fn exposure(plan: &Plan) -> Exposure {
    Exposure {
        iso: plan.camera.iso * (-plan.camera.nd.stops).exp2(),
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

/// Stops of flash that high-speed sync costs at the camera's shutter; 0 within sync or without it.
pub fn high_speed_loss(camera: &plan::Camera) -> f64 {
    let (shutter_s, sync_s) = (camera.shutter.seconds, camera.sync.seconds);
    if !camera.high_speed_sync || shutter_s >= sync_s {
        return 0.0;
    }
    let curtain_s = camera.curtain.map_or(TRAVEL_OF_SYNC * sync_s, |curtain| curtain.seconds);
    exposure::high_speed_sync_loss_stops(shutter_s, curtain_s, PULSE_LOSS_STOPS)
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

/// Names of the plan's room lights among `names` whose level is an EV at the sitter.
pub fn read_by_ev(plan: &Plan, names: &[String]) -> Vec<String> {
    room_lights(plan, names)
        .into_iter()
        .filter(|light| matches!(light.level, LampLevel::Ev(_)))
        .map(|light| light.name.to_owned())
        .collect()
}

/// What a dome at the sitter's face toward the camera reads of each of the room lights `wanted` at
/// unit level, lx. Takes rays; holds for a stage.
pub fn unit_room_lux(stage: &Stage, mut tracer: Tracer, wanted: &[String]) -> Vec<(String, f64)> {
    tracer.scene.lights.retain(|light| wanted.contains(&light.name));
    if tracer.scene.lights.is_empty() {
        return Vec::new();
    }
    let (at, _) = meter::held_at(stage, "face");
    let toward = (stage.camera.position - at).normalize_or(Vec3::Z);
    let found = tracer.meter(at, toward, Receptor::Dome, AMBIENT_BATCHES, 1);
    let names = tracer.scene.lights.iter().map(|light| light.name.clone());
    names.zip(found.iter().map(|one| color::luminance_f64(one.direct + one.bounced))).collect()
}

/// Gain of one of the room's own lights, from what it gives at unit level where an EV sets it:
/// what makes that dome read the plan's EV. `None` where it gives nothing there.
fn room(plan: &Plan, light: &RoomLight<'_>, unit_lux: &[(String, f64)]) -> Option<Vec3> {
    let level = match light.level {
        LampLevel::Lumens(lumens) => lumens,
        LampLevel::Ev(ev) => {
            let (_, unit) = unit_lux.iter().find(|(name, lux)| name == light.name && *lux > 0.0)?;
            exposure::lux_from_ev100(ev, plan.meter_constant) / unit
        }
    };
    Some(color::light_gain(light.kelvin, plan.camera.white_balance) * level as f32)
}

fn unit_lux_of(plan: &Plan, stage: &Stage, layers: &[String]) -> Vec<(String, f64)> {
    let wanted = read_by_ev(plan, layers);
    if wanted.is_empty() {
        return Vec::new();
    }
    let tracer = Tracer::for_few_rays(stage, |light| wanted.contains(&light.name));
    unit_room_lux(stage, tracer, &wanted)
}

/// Today's mix of a plan on its stage: every lit light at its setting. Change a power, a gel, the
/// shutter or ISO and mix the same layers again. Takes rays only for the level of the room's light.
///
/// # Errors
/// [`ShootError::Unread`] where a room light is to read an EV at a place that it does not reach.
pub fn try_mix(plan: &Plan, stage: &Stage, layers: &[String]) -> Result<Mix, ShootError> {
    let unit_lux = unit_lux_of(plan, stage, layers);
    if let Some(light) =
        room_lights(plan, layers).iter().find(|light| room(plan, light, &unit_lux).is_none())
    {
        let (at, _) = meter::held_at(stage, "face");
        return Err(ShootError::Unread { name: light.name.into(), at: at.to_array() });
    }
    Ok(mix_at(plan, layers, &unit_lux))
}

/// The same with room lights dark that cannot be set.
pub fn mix(plan: &Plan, stage: &Stage, layers: &[String]) -> Mix {
    mix_at(plan, layers, &unit_lux_of(plan, stage, layers))
}

/// The same with the room lights' unit levels known: no ray at all.
pub fn mix_at(plan: &Plan, layers: &[String], unit_lux: &[(String, f64)]) -> Mix {
    let room_lights = room_lights(plan, layers);
    let mut mix = Mix::new(exposure(plan));
    let pulsed = (-high_speed_loss(&plan.camera)).exp2() as f32;
    for name in layers {
        let of_room = room_lights.iter().find(|light| light.name == name);
        let gain = match of_room {
            Some(light) => room(plan, light, unit_lux),
            None => plan.lights.iter().find(|light| light.name == *name).map(|light| {
                head(light, plan.camera.white_balance)
                    * if light.head.output.is_continuous() { 1.0 } else { pulsed }
            }),
        };
        mix = mix.with(name.clone(), gain.unwrap_or(Vec3::ZERO));
    }
    mix
}
