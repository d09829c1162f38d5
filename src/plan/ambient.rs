//! The room's own light: an even level, lamps at their places, daylight through windows.

use serde::{Deserialize, Serialize};

use super::light::{Place, Target};
use super::units::Length;

/// Continuous light of the room, as an even level read at the sitter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ambient {
    /// Incident exposure value (ISO 100) that a dome reads at the sitter's face toward the camera.
    pub ev: f64,
    /// Colour temperature in kelvin.
    #[serde(default = "warm")]
    pub kelvin: f64,
}

/// A lamp of the room.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lamp {
    /// Name: `"ceiling lamp"`.
    pub name: String,
    /// Where it is.
    pub place: Place,
    /// Its form.
    #[serde(default)]
    pub form: LampForm,
    /// Where it points; down by default. A globe has no direction.
    #[serde(default = "down", skip_serializing_if = "is_down")]
    pub aim: Target,
    /// How bright.
    pub level: LampLevel,
    /// Colour temperature in kelvin.
    #[serde(default = "warm")]
    pub kelvin: f64,
}

/// Forms of lamps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum LampForm {
    /// Lights all round.
    Globe {
        /// Across.
        diameter: Length,
    },
    /// A flat, even, diffusing front.
    Panel {
        /// Width.
        width: Length,
        /// Height.
        height: Length,
    },
    /// A reflector lamp.
    Spot {
        /// Mouth.
        diameter: Length,
        /// Full angle at 50 %, degrees.
        beam: f64,
        /// Full angle at 10 %, degrees.
        field: f64,
    },
}

impl Default for LampForm {
    fn default() -> Self {
        Self::Globe { diameter: Length::metres(0.25) }
    }
}

/// How bright a lamp is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum LampLevel {
    /// What a dome at the sitter's face toward the camera reads of it alone, EV at ISO 100.
    Ev(f64),
    /// Lumens that leave it.
    Lumens(f64),
}

/// An opening in a wall with the sky behind it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Window {
    /// Name: `"north window"`.
    pub name: String,
    /// Which wall.
    pub wall: Wall,
    /// Middle of the opening along the wall, from the mark: to camera right on the back and front
    /// walls, toward the camera on the side walls.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub along: Length,
    /// Lower edge above the floor.
    #[serde(default = "sill")]
    pub sill: Length,
    /// Width of the opening.
    pub width: Length,
    /// Height of the opening.
    pub height: Length,
    /// Thickness of the wall.
    #[serde(default = "thick")]
    pub thickness: Length,
    /// Panes down and across.
    #[serde(default = "one_pane", skip_serializing_if = "is_one_pane")]
    pub panes: (u32, u32),
    /// The sky.
    #[serde(default)]
    pub sky: Sky,
    /// Reflectance of the ground outside.
    #[serde(default = "ground")]
    pub ground: f64,
    /// What a dome at the sitter's face toward the camera reads of it alone, EV at ISO 100.
    pub ev: f64,
    /// Colour temperature in kelvin.
    #[serde(default = "daylight")]
    pub kelvin: f64,
}

/// Walls, as the camera sees them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Wall {
    /// On the left.
    Left,
    /// On the right.
    Right,
    /// The one the camera looks at.
    Back,
    /// Behind the camera.
    Front,
}

/// Skies of the CIE (ISO 15469:2004, CIE S 011), by number of the standard's table; the sun
/// itself does not shine in.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Sky {
    /// Overcast (type 1): three times as bright overhead as at the horizon.
    #[default]
    Overcast,
    /// Equally bright all over (type 5).
    Even,
    /// Clear (type 12), the sun outside at this place.
    Clear {
        /// Degrees round from straight out of the window, + to the right of somebody looking out.
        sun_azimuth: f64,
        /// Degrees above the horizon.
        sun_elevation: f64,
    },
    /// Any of the fifteen types.
    General {
        /// 1 to 15.
        number: u32,
        /// As for a clear sky.
        sun_azimuth: f64,
        /// As for a clear sky.
        sun_elevation: f64,
    },
}

fn warm() -> f64 {
    3000.0
}
fn daylight() -> f64 {
    6500.0
}
fn ground() -> f64 {
    0.2
}
fn sill() -> Length {
    Length::metres(0.9)
}
fn thick() -> Length {
    Length::metres(0.25)
}
fn one_pane() -> (u32, u32) {
    (1, 1)
}
fn is_one_pane(panes: &(u32, u32)) -> bool {
    *panes == one_pane()
}
fn down() -> Target {
    Target::Toward { azimuth: 0.0, tilt: -90.0 }
}
fn is_down(aim: &Target) -> bool {
    *aim == down()
}
