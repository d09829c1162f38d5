//! Exposure: APEX, what a meter asks for, what the sensor makes of it, ratios, filters.
//!
//! Readings are incident (lx for steady light, lx·s for flash) with a meter constant C; the
//! picture is luminance (cd/m², cd·s/m²) through the camera's aperture:
//! ```text
//!   meter    E·t = C·N²/S                    (ISO 2720 form; C = 250 lx·s, flat receptor)
//!   sensor   H = q·L·t/N²                    (q = 0.65: lens transmission and angle)
//!   picture  linear = 0.18 · H/(10/S)        (ISO 12232 standard output sensitivity)
//! ```
//! Together: a Lambertian 18 % card under a metered exposure comes out at 0.168, a tenth of a
//! stop under 0.18, since q·C·0.18/π is 9.31 and not 10.

use std::f64::consts::PI;

/// Incident-meter constant C in lx·s for a flat receptor. Meters differ: 240–400 are in use.
pub const METER_CONSTANT: f64 = 250.0;

/// q of the sensor equation: (π/4)·0.9·0.98·cos⁴10° = 0.652, rounded as ISO 12232 does.
pub const LENS_FACTOR: f64 = 0.65;

/// Light of a focal-plane shutter's flash in pulses that is lost besides what falls on the
/// closed curtain, in stops. An assumption from a single user's measurement (2.39 stops in all
/// at 1/320 s); heads differ by a stop.
pub const PULSE_LOSS_STOPS: f64 = 1.3;

/// A camera's setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    /// Speed S (ISO 12232 standard output sensitivity).
    pub iso: f64,
    /// Aperture N.
    pub f_number: f64,
    /// Seconds the shutter is open.
    pub shutter_s: f64,
}

impl Exposure {
    /// EV of the setting as dialled: Av + Tv.
    pub fn ev(&self) -> f64 {
        aperture_value(self.f_number) + time_value(self.shutter_s)
    }

    /// EV at ISO 100 of the light that this setting suits: Av + Tv − log2(S/100).
    pub fn ev100(&self) -> f64 {
        self.ev() - (self.iso / 100.0).log2()
    }

    /// Picture value for each cd·s/m² of the subject's luminance; 0.18 is mid-grey.
    pub fn linear_per_cd_s_m2(&self) -> f64 {
        let h_lux_s = LENS_FACTOR / (self.f_number * self.f_number);
        0.18 * h_lux_s / output_exposure_lux_s(self.iso)
    }

    /// Picture value of a flash's luminance summed over time. No shutter in it.
    pub fn linear_from_flash(&self, luminance_cd_s_m2: f64) -> f64 {
        luminance_cd_s_m2 * self.linear_per_cd_s_m2()
    }

    /// Picture value of a steady luminance over the shutter time.
    pub fn linear_from_steady(&self, luminance_cd_m2: f64) -> f64 {
        self.linear_from_flash(luminance_cd_m2 * self.shutter_s)
    }

    /// Flash a meter of constant `c` wants for this setting: C·N²/S.
    pub fn metered_lux_s(&self, c: f64) -> f64 {
        c * self.f_number * self.f_number / self.iso
    }

    /// Stops by which `lux_s` (flash, plus steady light times shutter) exceeds this setting.
    pub fn stops_over(&self, lux_s: f64, c: f64) -> f64 {
        (lux_s / self.metered_lux_s(c)).log2()
    }
}

/// Av = 2 log2 N.
pub fn aperture_value(f_number: f64) -> f64 {
    2.0 * f_number.log2()
}

/// N of an Av.
pub fn f_number(aperture_value: f64) -> f64 {
    (0.5 * aperture_value).exp2()
}

/// Tv = −log2 t.
pub fn time_value(shutter_s: f64) -> f64 {
    -shutter_s.log2()
}

/// t in seconds of a Tv.
pub fn shutter_s(time_value: f64) -> f64 {
    (-time_value).exp2()
}

/// Sv = log2(S/3.125).
pub fn speed_value(iso: f64) -> f64 {
    (iso / 3.125).log2()
}

/// Stops from aperture `from` to aperture `to`; + is a smaller hole, or a brighter reading.
pub fn stops_between(from_f_number: f64, to_f_number: f64) -> f64 {
    aperture_value(to_f_number) - aperture_value(from_f_number)
}

/// The aperture `stops` brighter (wider) than `f_number`.
pub fn opened(f_number: f64, stops: f64) -> f64 {
    f_number * (-0.5 * stops).exp2()
}

/// Incident illuminance in lx of an EV at ISO 100: C·2^EV/100.
pub fn lux_from_ev100(ev: f64, c: f64) -> f64 {
    c * ev.exp2() / 100.0
}

/// EV at ISO 100 of an illuminance in lx.
pub fn ev100_from_lux(lux: f64, c: f64) -> f64 {
    (lux * 100.0 / c).log2()
}

/// Luminance in cd/m² of an EV at ISO 100 by a spot meter of constant `k` (12.5 or 14).
pub fn luminance_from_ev100(ev: f64, k: f64) -> f64 {
    k * ev.exp2() / 100.0
}

/// Aperture a meter shows for an exposure at the subject: √(H·S/C).
pub fn metered_f_number(lux_s: f64, iso: f64, c: f64) -> f64 {
    (lux_s * iso / c).sqrt()
}

/// Focal-plane exposure of an output mid-grey: 10/S lx·s (ISO 12232 SOS).
pub fn output_exposure_lux_s(iso: f64) -> f64 {
    10.0 / iso
}

/// Focal-plane exposure at which a sensor clips: 78/S lx·s (ISO 12232 saturation).
pub fn saturation_exposure_lux_s(iso: f64) -> f64 {
    78.0 / iso
}

/// Picture value at which the sensor clips: 0.18·78/10 = 1.404.
pub const SENSOR_CLIP: f64 = 0.18 * 7.8;

/// Guide number that a head of guide number `guide` (ISO 100, full power) has at another speed,
/// with its power and losses in `stops` (0 = full and nothing lost).
pub fn guide_number_at(guide: f64, iso: f64, stops: f64) -> f64 {
    guide * (iso / 100.0).sqrt() * (0.5 * stops).exp2()
}

/// Aperture for a guide number (same unit of length).
pub fn f_number_at_distance(guide: f64, distance: f64) -> f64 {
    guide / distance
}

/// Axial intensity in cd·s behind a guide number (metres, ISO 100): C·GN²/100.
pub fn intensity_from_guide_number(guide_m: f64, c: f64) -> f64 {
    c * guide_m * guide_m / 100.0
}

/// Guide number (metres, ISO 100) of an axial intensity in cd·s.
pub fn guide_number_from_intensity(intensity_cd_s: f64, c: f64) -> f64 {
    (intensity_cd_s * 100.0 / c).sqrt()
}

/// Separate readings of lights that fall together: √ΣN².
pub fn combined_f_number(f_numbers: &[f64]) -> f64 {
    f_numbers.iter().map(|n| n * n).sum::<f64>().sqrt()
}

/// Power in stops below one full head of several heads together at `stops` each.
pub fn combined_power_stops(stops: &[f64]) -> f64 {
    stops.iter().map(|s| s.exp2()).sum::<f64>().log2()
}

/// Change in stops on going from distance `from` to `to` of a small source.
pub fn inverse_square_stops(from: f64, to: f64) -> f64 {
    2.0 * (from / to).log2()
}

/// Stops of a surface `gap` behind the subject relative to the subject, both facing a small
/// source at distance `to_subject` from the subject.
pub fn background_stops(to_subject: f64, gap: f64) -> f64 {
    inverse_square_stops(to_subject, to_subject + gap)
}

/// Stops lost by a surface turned `angle_rad` from the light.
pub fn tilt_stops(angle_rad: f64) -> f64 {
    angle_rad.cos().log2()
}

/// Key over fill as a factor: the first of the two ratios photographers quote.
pub fn key_to_fill(key_minus_fill_stops: f64) -> f64 {
    key_minus_fill_stops.exp2()
}

/// (Key + fill) over fill: lit side over shadow side when the fill reaches both.
pub fn lit_to_shadow(key_minus_fill_stops: f64) -> f64 {
    key_minus_fill_stops.exp2() + 1.0
}

/// Transmittance of a neutral filter of optical density D: 10^−D.
pub fn density_transmittance(density: f64) -> f64 {
    10f64.powf(-density)
}

/// Stops a neutral filter of optical density D takes.
pub fn density_stops(density: f64) -> f64 {
    density * std::f64::consts::LOG2_10
}

/// T-number of a lens of aperture `f_number` that passes `transmittance`.
pub fn t_number(f_number: f64, transmittance: f64) -> f64 {
    f_number / transmittance.sqrt()
}

/// Stops of flash lost when it pulses through the travel of a slit: log2((tc + t)/t), the light
/// spread evenly over curtain travel and slit, plus `pulse_loss_stops` that the head itself loses
/// by pulsing ([`PULSE_LOSS_STOPS`]). A model of our own; makers' figures scatter by ±0.7 stop.
pub fn high_speed_sync_loss_stops(shutter_s: f64, curtain_s: f64, pulse_loss_stops: f64) -> f64 {
    ((curtain_s + shutter_s) / shutter_s).log2() + pulse_loss_stops
}

/// Luminance of a Lambertian surface of `reflectance` under `illuminance` (lx → cd/m², lx·s →
/// cd·s/m²).
pub fn lambertian_luminance(illuminance: f64, reflectance: f64) -> f64 {
    illuminance * reflectance / PI
}
