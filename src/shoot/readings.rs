//! What the meter says: one record for the table on the terminal and for `--json`.
//!
//! The JSON shape is a promise: fields may be added, never renamed. Fields that do not apply are
//! null. `stops_vs_camera` is how far a reading lies above (+) or below (−) the camera's setting.

use std::fmt;

use serde::Serialize;

use crate::plan::{Aperture, Shutter};

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
    /// Luminous exposure in lx·s.
    pub flash_lux_s: f64,
    /// What a meter shows; null where no light arrives.
    pub f_number: Option<f64>,
    /// Stops above the camera's aperture.
    pub stops_vs_camera: Option<f64>,
    /// Stops above the strongest light.
    pub stops_vs_key: Option<f64>,
    /// The part that comes straight from the head, lx·s.
    pub direct_lux_s: f64,
    /// The part that comes by way of surfaces, lx·s.
    pub bounced_lux_s: f64,
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
}

/// Contrast in both conventions.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ratio {
    /// Key to fill, each alone.
    pub key_to_fill: Option<f64>,
    /// Key and fill together to fill alone.
    pub lit_to_shadow: Option<f64>,
}

impl fmt::Display for Readings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [x, y, z] = self.at.position_m;
        let name = self.at.name.as_deref().unwrap_or("point");
        let camera = Aperture { f_number: self.aperture };
        let shutter = Shutter { seconds: self.shutter_s };
        writeln!(
            f,
            "{name} at ({x:.2}, {y:.2}, {z:.2}) m; camera {camera}, {shutter}, ISO {}",
            self.iso
        )?;
        writeln!(f)?;
        writeln!(
            f,
            "{:<16} {:>8} {:>10} {:>8} {:>11} {:>11}",
            "light", "reads", "vs camera", "vs key", "direct", "bounced"
        )?;
        for light in &self.lights {
            writeln!(
                f,
                "{:<16} {:>8} {:>10} {:>8} {:>6.1} lx·s {:>6.1} lx·s",
                light.name,
                f_number(light.f_number),
                stops(light.stops_vs_camera),
                stops(light.stops_vs_key),
                light.direct_lux_s,
                light.bounced_lux_s,
            )?;
        }
        if let Some(room) = &self.ambient {
            let (reads, versus) = (f_number(room.f_number), stops(room.stops_vs_camera));
            writeln!(
                f,
                "{:<16} {reads:>8} {versus:>10} {:>8} {:>6.0} lx",
                "ambient", "", room.lux
            )?;
        }
        let (reads, versus) = (f_number(self.total.f_number), stops(self.total.stops_vs_camera));
        writeln!(f, "{:<16} {reads:>8} {versus:>10}", "total")?;
        if let (Some(key), Some(lit)) = (self.ratio.key_to_fill, self.ratio.lit_to_shadow) {
            writeln!(f)?;
            writeln!(f, "key : fill {}   lit side : shadow side {}", to_one(key), to_one(lit))?;
        }
        if let Some(spot) = &self.spot {
            writeln!(f)?;
            let tone = stops(spot.stops_vs_middle_grey);
            let reads = f_number(spot.f_number);
            writeln!(f, "spot {}° reads {reads}, falls {tone} from middle grey", spot.degrees)?;
            for light in &spot.lights {
                writeln!(f, "  {:<14} {:>8}", light.name, stops(light.stops_vs_middle_grey))?;
            }
        }
        Ok(())
    }
}

fn f_number(reading: Option<f64>) -> String {
    reading.map_or("–".into(), |n| format!("f/{n:.1}"))
}

fn stops(reading: Option<f64>) -> String {
    reading.map_or("–".into(), |s| format!("{s:+.1}").replace('-', "−"))
}

fn to_one(ratio: f64) -> String {
    format!("{ratio:.1} : 1")
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
            }],
            ambient: None,
            total: TotalReading { f_number: Some(8.0), stops_vs_camera: Some(0.0) },
            ratio: Ratio { key_to_fill: None, lit_to_shadow: None },
            receptor: "dome",
            spot: None,
        }
    }

    #[test]
    fn json_keeps_its_promise() {
        let json = serde_json::to_string(&readings()).unwrap();
        assert_eq!(
            json,
            "{\"at\":{\"name\":\"face\",\"position_m\":[0.0,1.6,0.1]},\"iso\":100.0,\
             \"shutter_s\":0.008,\"aperture\":8.0,\"lights\":[{\"name\":\"key\",\
             \"flash_lux_s\":160.0,\"f_number\":8.0,\"stops_vs_camera\":0.0,\"stops_vs_key\":0.0,\
             \"direct_lux_s\":150.0,\"bounced_lux_s\":10.0}],\"ambient\":null,\
             \"total\":{\"f_number\":8.0,\"stops_vs_camera\":0.0},\
             \"ratio\":{\"key_to_fill\":null,\"lit_to_shadow\":null},\
             \"receptor\":\"dome\",\"spot\":null}"
        );
    }

    #[test]
    fn the_table_has_a_line_a_light() {
        let text = readings().to_string();
        assert!(text.contains("key") && text.contains("f/8.0"), "{text}");
        assert!(!text.contains("ambient"), "{text}");
    }
}
