//! What the meter says: one record for the table on the terminal and for `--json`.
//!
//! The JSON shape is a promise: fields may be added, never renamed. Fields that do not apply are
//! null. `stops_vs_camera` is how far a reading lies above (+) or below (−) the camera's setting.

use serde::Serialize;

/// Readings of one place.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Readings {
    /// Where.
    pub at: Held,
    /// ISO speed that the f-numbers are for.
    pub iso: f64,
    /// Shutter time that ambient is read with, in seconds.
    pub shutter_s: f64,
    /// The camera's f-number.
    pub aperture: f64,
    /// Each flash alone, in the plan's order.
    pub lights: Vec<LightReading>,
    /// The room's light alone, if there is any.
    pub ambient: Option<AmbientReading>,
    /// All of them.
    pub total: TotalReading,
    /// Contrast.
    pub ratio: Ratio,
    /// `"dome"` or `"flat"`.
    pub receptor: &'static str,
    /// A spot meter at the camera pointed here, if asked for.
    pub spot: Option<SpotReading>,
    /// What the receptor looks at: `"camera"`, `"surface"` (flat, along it), `"each light"`, or
    /// the name of a light or place.
    pub toward: String,
    /// Each of the room's own lights alone; `ambient` is their sum.
    pub room: Vec<RoomReading>,
}

/// A spot meter's reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpotReading {
    /// Full angle of its cone.
    pub degrees: f64,
    /// What it shows (K = 12.5).
    pub f_number: Option<f64>,
    /// Where the tone falls in the picture: stops above 18 % grey.
    pub stops_vs_middle_grey: Option<f64>,
    /// Each light's share.
    pub lights: Vec<SpotLight>,
}

/// One light's part of a spot reading.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpotLight {
    /// The light's name.
    pub name: String,
    /// Luminance times time.
    pub cd_s_per_m2: f64,
    /// Stops above 18 % grey if this light were alone.
    pub stops_vs_middle_grey: Option<f64>,
}

/// Where the meter was held.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Held {
    /// The mark's name; null for a point.
    pub name: Option<String>,
    /// In metres from the stage mark.
    pub position_m: [f64; 3],
}

/// One flash alone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LightReading {
    /// The plan's name.
    pub name: String,
    /// Luminous exposure in lx·s; of a lamp that burns on, its illuminance times the shutter time.
    pub flash_lux_s: f64,
    /// What a meter shows; null where no light arrives.
    pub f_number: Option<f64>,
    /// Stops above the camera's aperture.
    pub stops_vs_camera: Option<f64>,
    /// Stops above the key: the light with `key` in its name, else the strongest.
    pub stops_vs_key: Option<f64>,
    /// The part that comes straight from the head, lx·s.
    pub direct_lux_s: f64,
    /// The part that comes by way of surfaces, lx·s.
    pub bounced_lux_s: f64,
    /// Illuminance in lx of a lamp that burns on; null for a flash.
    pub lux: Option<f64>,
    /// From the middle of the light's front to the meter, metres.
    pub distance_m: f64,
    /// Where the meter was held for this light: as `at`, unless the dome looks at the light and
    /// the sitter would shade it there.
    pub position_m: [f64; 3],
    /// Standard error of the reading in stops, from tracing alone.
    pub error_stops: Option<f64>,
}

/// One of the room's lights alone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RoomReading {
    /// The plan's name; `"ambient"` for the even level.
    pub name: String,
    /// Illuminance in lx.
    pub lux: f64,
    /// At the plan's shutter time.
    pub f_number: Option<f64>,
    /// Stops above the camera's aperture.
    pub stops_vs_camera: Option<f64>,
}

/// The room's light alone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AmbientReading {
    /// Illuminance in lx.
    pub lux: f64,
    /// At the plan's shutter time.
    pub f_number: Option<f64>,
    /// Stops above the camera's aperture.
    pub stops_vs_camera: Option<f64>,
}

/// Everything together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TotalReading {
    /// What a meter shows.
    pub f_number: Option<f64>,
    /// Stops above the camera's aperture.
    pub stops_vs_camera: Option<f64>,
    /// Standard error in stops, from tracing alone.
    pub error_stops: Option<f64>,
}

/// Contrast in both conventions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ratio {
    /// Key to fill, each alone.
    pub key_to_fill: Option<f64>,
    /// Key and fill together to fill alone.
    pub lit_to_shadow: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn readings() -> Readings {
        Readings {
            at: Held { name: Some("face".into()), position_m: [0.0, 1.6, 0.1] },
            iso: 100.0,
            shutter_s: 0.008,
            aperture: 8.0,
            lights: vec![LightReading {
                name: "key".into(),
                flash_lux_s: 160.0,
                f_number: Some(8.0),
                stops_vs_camera: Some(0.0),
                stops_vs_key: Some(0.0),
                direct_lux_s: 150.0,
                bounced_lux_s: 10.0,
                lux: None,
                distance_m: 2.5,
                position_m: [0.0, 1.6, 0.1],
                error_stops: Some(0.01),
            }],
            ambient: None,
            total: TotalReading {
                f_number: Some(8.0),
                stops_vs_camera: Some(0.0),
                error_stops: Some(0.01),
            },
            ratio: Ratio { key_to_fill: None, lit_to_shadow: None },
            receptor: "dome",
            spot: None,
            toward: "camera".into(),
            room: vec![],
        }
    }

    /// The promised fields, in their order and under their names; what was added follows them.
    #[test]
    fn json_keeps_its_promise() {
        let json = serde_json::to_value(readings()).unwrap();
        let keys = |value: &serde_json::Value| -> Vec<String> {
            value.as_object().unwrap().keys().cloned().collect()
        };
        let promised = [
            "at",
            "iso",
            "shutter_s",
            "aperture",
            "lights",
            "ambient",
            "total",
            "ratio",
            "receptor",
            "spot",
        ];
        assert_eq!(keys(&json)[..promised.len()], promised);
        assert_eq!(keys(&json["at"]), ["name", "position_m"]);
        let light = [
            "name",
            "flash_lux_s",
            "f_number",
            "stops_vs_camera",
            "stops_vs_key",
            "direct_lux_s",
            "bounced_lux_s",
        ];
        assert_eq!(keys(&json["lights"][0])[..light.len()], light);
        assert_eq!(keys(&json["total"])[..2], ["f_number", "stops_vs_camera"]);
        assert_eq!(keys(&json["ratio"]), ["key_to_fill", "lit_to_shadow"]);
        assert!(json["ambient"].is_null() && json["lights"][0]["lux"].is_null());
    }
}
