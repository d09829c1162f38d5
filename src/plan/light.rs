//! Lights: where they stand, what they point at, which head they are and what is before it.

use serde::{Deserialize, Serialize};

use super::head::Head;
use super::modifier::{Doors, FrontCloth, Modifier};
use super::units::{Length, Power};

/// Where something stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Place {
    /// In the photographer's way, around a target (the sitter's face by default).
    Around {
        /// Degrees around the sitter: 0 from the camera, + camera right, 180 straight behind.
        azimuth: f64,
        /// Degrees above the target's horizontal.
        elevation: f64,
        /// Distance from the target.
        distance: Length,
        /// The target.
        #[serde(default, skip_serializing_if = "super::is_default")]
        of: Target,
    },
    /// By the floor: azimuth around the stage mark, distance along the floor, height above it.
    Stand {
        /// Degrees around the mark: 0 from the camera, + camera right, 180 straight behind.
        azimuth: f64,
        /// Along the floor from the mark.
        distance: Length,
        /// Above the floor.
        height: Length,
    },
    /// Plain coordinates from the mark.
    At {
        /// Camera right.
        x: Length,
        /// Up.
        y: Length,
        /// Toward the camera.
        z: Length,
    },
}

/// What something is aimed at, focused on, or measured around.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Target {
    /// Between the eyes and the mouth.
    #[default]
    Face,
    /// The eye nearer to the camera.
    NearEye,
    /// Breast bone.
    Chest,
    /// Between the hips.
    Hips,
    /// Right hand (the sitter's own right).
    RightHand,
    /// Left hand (the sitter's own left).
    LeftHand,
    /// Between the feet, on the floor.
    Feet,
    /// Back of the head.
    Crown,
    /// The stage mark on the floor.
    Mark,
    /// Straight up, the point of the ceiling above.
    Ceiling,
    /// A cloth, box or board by name: its middle.
    Named(String),
    /// A point from the mark.
    Point {
        /// Camera right.
        x: Length,
        /// Up.
        y: Length,
        /// Toward the camera.
        z: Length,
    },
    /// A plain direction: compass-like azimuth (0 = toward the camera side +z, 90 = camera right) and tilt up.
    Toward {
        /// Degrees.
        azimuth: f64,
        /// Degrees above the horizontal.
        tilt: f64,
    },
}

/// A head on its stand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Light {
    /// Name: `"key"`, `"fill"`, `"rim"`.
    pub name: String,
    /// Lit or not.
    #[serde(default = "yes", skip_serializing_if = "is_yes")]
    pub on: bool,
    /// Stops below full power.
    #[serde(default)]
    pub power: Power,
    /// The head.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub head: Head,
    /// What is before the tube.
    #[serde(default)]
    pub modifier: Modifier,
    /// Grid before it, by its angle in degrees: the full angle at which it passes a tenth of what
    /// it does straight ahead (common practice, no source). Honeycomb on round fronts, egg-crate
    /// on rectangular ones and octagons.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub grid: Option<f64>,
    /// Barn doors on an open front.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub doors: Option<Doors>,
    /// Diffusing cloth over an open front.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub cloth: Option<FrontCloth>,
    /// Colour filter.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub gel: Option<Gel>,
    /// Where the front of the head is.
    pub place: Place,
    /// What it points at.
    #[serde(default)]
    pub aim: Target,
    /// Draw the head and its stand (they are seen and cast shadows).
    #[serde(default = "yes", skip_serializing_if = "is_yes")]
    pub fixture: bool,
}

fn yes() -> bool {
    true
}

fn is_yes(value: &bool) -> bool {
    *value
}

/// A colour filter before the head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Gel {
    /// Conversion filter by mired shift (+ warms).
    Mired {
        /// Shift in mired.
        shift: f64,
        /// Luminous transmission (0 to 1). By default what a colour-meter maker's table of
        /// conversion filters gives: ⅔ stop for +131 mired (85B), 2 stops for −131 (80A), in
        /// proportion between.
        #[serde(default, skip_serializing_if = "super::is_default")]
        transmission: Option<f64>,
    },
    /// Free colour by sRGB `"#rrggbb"` with its luminous transmission (0 to 1).
    Color {
        /// Hue.
        color: String,
        /// Luminous transmission.
        transmission: f64,
    },
}

impl Gel {
    /// Light lost, in stops.
    pub fn loss_stops(&self) -> f64 {
        let by_shift = |shift: f64| {
            if shift > 0.0 { shift / 131.0 * (2.0 / 3.0) } else { shift / -131.0 * 2.0 }
        };
        match self {
            Self::Mired { shift, transmission: None } => by_shift(*shift),
            Self::Mired { transmission: Some(share), .. } => -share.log2(),
            Self::Color { transmission, .. } => -transmission.log2(),
        }
    }
}
