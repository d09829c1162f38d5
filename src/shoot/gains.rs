//! Today's setting of each light: power, gel and colour temperature as a gain on its layer.

use glam::Vec3;

use crate::meter;
use crate::optics::color;
use crate::optics::exposure::{self, Exposure, PULSE_LOSS_STOPS};
use crate::optics::shutter::TRAVEL_OF_SYNC;
use crate::picture::Mix;
use crate::plan::{self, Gel, Plan};
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

/// Gain of a flash on its layer (full power, white light), as the white balance sees it.
pub fn flash(light: &plan::Light, white_balance: f64) -> Vec3 {
    let level = light.power.stops.exp2() as f32;
    let bare = |kelvin: f64| color::light_gain(kelvin, white_balance);
    let colored = match &light.gel {
        None => bare(light.head.kelvin),
        Some(Gel::Mired { shift, transmission }) => {
            // the plan's check keeps the shifted temperature finite
            let kelvin =
                color::shifted_kelvin(light.head.kelvin, *shift).unwrap_or(light.head.kelvin);
            bare(kelvin) * *transmission as f32
        }
        Some(Gel::Color { color: hex, transmission }) => {
            let hue = color::parse_hex(hex).unwrap_or(Vec3::ONE);
            let hue = hue / color::luminance(hue).max(1e-4);
            bare(light.head.kelvin) * hue * *transmission as f32
        }
    };
    colored * level
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

/// What a dome at the sitter's face toward the camera reads of the room's light at unit level, lx.
/// Takes rays; holds for a stage.
pub fn unit_ambient_lux(stage: &Stage, tracer: &mut Tracer) -> f64 {
    tracer.scene.lights.retain(|light| light.name == AMBIENT);
    let (at, _) = meter::held_at(stage, "face");
    let toward = (stage.camera.position - at).normalize();
    let unit = tracer.meter(at, toward, Receptor::Dome, AMBIENT_BATCHES, 1);
    unit.first().map_or(0.0, |one| color::luminance_f64(one.direct + one.bounced))
}

/// Gain of the room's own light: what makes that dome read the plan's EV.
fn ambient(ambient: &plan::Ambient, plan: &Plan, unit_lux: f64) -> Vec3 {
    let wanted_lux = exposure::lux_from_ev100(ambient.ev, plan.meter_constant);
    let level = if unit_lux > 0.0 { wanted_lux / unit_lux } else { 0.0 };
    color::light_gain(ambient.kelvin, plan.camera.white_balance) * level as f32
}

/// Today's mix of a plan on its stage: every lit light at its setting. Change a power, a gel, the
/// shutter or ISO and mix the same layers again. Takes rays only for the level of the room's light.
pub fn mix(plan: &Plan, stage: &Stage, layers: &[String]) -> Mix {
    let unit_lux = match &plan.ambient {
        Some(_) if layers.iter().any(|name| name == AMBIENT) => {
            let mut tracer = Tracer::for_few_rays(stage, |light| light.name == AMBIENT);
            unit_ambient_lux(stage, &mut tracer)
        }
        _ => 0.0,
    };
    mix_at(plan, layers, unit_lux)
}

/// The same with the room's unit level known: no ray at all.
pub fn mix_at(plan: &Plan, layers: &[String], unit_lux: f64) -> Mix {
    let mut mix = Mix::new(exposure(plan));
    let pulsed = (-high_speed_loss(&plan.camera)).exp2() as f32;
    for name in layers {
        let gain = if name == AMBIENT {
            plan.ambient.as_ref().map(|room| ambient(room, plan, unit_lux))
        } else {
            plan.lights
                .iter()
                .find(|light| light.name == *name)
                .map(|light| flash(light, plan.camera.white_balance) * pulsed)
        };
        mix = mix.with(name.clone(), gain.unwrap_or(Vec3::ZERO));
    }
    mix
}
