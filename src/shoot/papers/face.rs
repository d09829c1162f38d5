//! What a meter at the face reads of lights whose readings at unit setting are known.

use crate::layers::LightKind;
use crate::optics::color::luminance;
use crate::optics::exposure::{self, Exposure};
use crate::picture::Mix;

/// One light's reading at the face at unit setting.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct AtUnit {
    /// The light.
    pub(super) name: String,
    /// Flash or continuous.
    pub(super) kind: LightKind,
    /// lx·s or lx.
    pub(super) value: f64,
}

/// A reading of some lights together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Reading {
    /// Luminous exposure in lx·s over the shutter time.
    pub(super) lux_s: f64,
    /// What a meter of the plan's constant shows; `None` in the dark.
    pub(super) f_number: Option<f64>,
    /// Stops over the camera's aperture.
    pub(super) stops_vs_camera: Option<f64>,
}

/// The reading of the lights that `on` accepts in today's mix.
pub(super) fn reading(
    lights: &[AtUnit],
    mix: &Mix,
    meter_constant: f64,
    on: impl Fn(&str) -> bool,
) -> Reading {
    let setting: Exposure = mix.exposure;
    let lux_s: f64 = lights
        .iter()
        .filter(|light| on(&light.name))
        .map(|light| {
            let open_s = match light.kind {
                LightKind::Flash => 1.0,
                LightKind::Continuous => setting.shutter_s,
            };
            light.value * f64::from(luminance(mix.gain(&light.name))) * open_s
        })
        .sum();
    reading_of(lux_s, &setting, meter_constant)
}

/// The reading of a luminous exposure in lx·s.
pub(super) fn reading_of(lux_s: f64, setting: &Exposure, meter_constant: f64) -> Reading {
    let lit = lux_s > 0.0;
    Reading {
        lux_s,
        f_number: lit.then(|| exposure::metered_f_number(lux_s, setting.iso, meter_constant)),
        stops_vs_camera: lit.then(|| setting.stops_over(lux_s, meter_constant)),
    }
}

/// Stops from one reading to another; `None` from or to the dark.
pub(super) fn change(from: &Reading, to: &Reading) -> Option<f64> {
    (from.lux_s > 0.0 && to.lux_s > 0.0).then(|| (to.lux_s / from.lux_s).log2())
}
