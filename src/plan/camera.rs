//! The camera and its setting.

use serde::{Deserialize, Serialize};

use super::light::{Place, Target};
use super::units::{Aperture, Length, Shutter};

/// Image area.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Format {
    /// Long or horizontal side in millimetres, camera held level.
    pub width_mm: f64,
    /// Vertical side in millimetres, camera held level.
    pub height_mm: f64,
}

/// The camera.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Camera {
    /// Image area, 36 × 24 mm by default.
    pub format: Format,
    /// Held upright (portrait).
    pub upright: bool,
    /// Focal length in millimetres.
    pub focal_mm: f64,
    /// Aperture.
    pub aperture: Aperture,
    /// Shutter time.
    pub shutter: Shutter,
    /// ISO speed (standard output sensitivity, ISO 12232).
    pub iso: f64,
    /// Fastest shutter time that flash follows.
    pub sync: Shutter,
    /// White balance in kelvin.
    pub white_balance: f64,
    /// Entrance pupil.
    pub place: Place,
    /// Middle of the frame.
    pub aim: Target,
    /// Focus plane goes through this.
    pub focus: Target,
}

impl Default for Camera {
    fn default() -> Self {
        Self {
            format: Format { width_mm: 36.0, height_mm: 24.0 },
            upright: true,
            focal_mm: 85.0,
            aperture: Aperture { f_number: 8.0 },
            shutter: Shutter { seconds: 1.0 / 125.0 },
            iso: 100.0,
            sync: Shutter { seconds: 1.0 / 200.0 },
            white_balance: 5600.0,
            place: Place::Stand {
                azimuth: 0.0,
                distance: Length::metres(3.0),
                height: Length::metres(1.5),
            },
            aim: Target::Face,
            focus: Target::NearEye,
        }
    }
}
