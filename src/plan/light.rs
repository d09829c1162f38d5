//! Flash heads, what is put before them, and what is put between.

use serde::{Deserialize, Serialize};

use super::room::Paint;
use super::units::{Aperture, Length, Power};

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

/// A flash head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Head {
    /// Stored energy at full power in W·s.
    pub energy_ws: f64,
    /// How its light is known.
    pub output: Output,
    /// Colour temperature in kelvin.
    pub kelvin: f64,
    /// Lowest power in stops below full.
    pub lowest: Power,
}

impl Default for Head {
    /// A generic 400 W·s head, 40 lm·s per W·s (assumption: mid of the 15–45 range that
    /// makers state for pack systems), 5600 K, down to 1/128.
    fn default() -> Self {
        Self {
            energy_ws: 400.0,
            output: Output::Efficacy { lm_s_per_ws: 40.0 },
            kelvin: 5600.0,
            lowest: Power { stops: -7.0 },
        }
    }
}

/// How the light of a head is known; a reading beats a table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Output {
    /// Guide number in metres at ISO 100 at full power, on the axis, with the modifier of this plan.
    GuideNumber(f64),
    /// The user's own reading on the axis with the modifier of this plan.
    Reading {
        /// What the meter said.
        aperture: Aperture,
        /// From the front of the modifier.
        distance: Length,
        /// Meter's ISO.
        #[serde(default = "iso100")]
        iso: f64,
        /// At this power.
        #[serde(default)]
        power: Power,
    },
    /// From the energy: lm·s per W·s at the tube, less the modifier's loss.
    Efficacy {
        /// lm·s of light per W·s stored.
        lm_s_per_ws: f64,
    },
}

fn iso100() -> f64 {
    100.0
}

/// What is before the tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Modifier {
    /// Nothing: a bare tube that lights all round.
    BareTube {
        /// Tube diameter.
        #[serde(default = "tube_diameter")]
        diameter: Length,
        /// Tube length.
        #[serde(default = "tube_length")]
        length: Length,
    },
    /// An open dish reflector.
    Dish {
        /// Mouth.
        diameter: Length,
        /// Full angle at 50 % of the peak intensity, degrees.
        beam: f64,
        /// Full angle at 10 % of the peak intensity, degrees.
        field: f64,
        /// Light lost inside, in stops.
        #[serde(default = "dish_loss")]
        loss: f64,
    },
    /// A flat diffusing front (Lambertian), such as a soft box's.
    Panel {
        /// Width of the front.
        width: Length,
        /// Height of the front.
        height: Length,
        /// Light lost inside, in stops.
        #[serde(default = "panel_loss")]
        loss: f64,
    },
}

fn tube_diameter() -> Length {
    Length::metres(0.04)
}
fn tube_length() -> Length {
    Length::metres(0.08)
}
fn dish_loss() -> f64 {
    0.5
}
fn panel_loss() -> f64 {
    1.5
}

impl Default for Modifier {
    /// A common 18 cm dish with a 55° beam and an 85° field.
    fn default() -> Self {
        Self::Dish { diameter: Length::metres(0.18), beam: 55.0, field: 85.0, loss: dish_loss() }
    }
}

/// A colour filter before the head.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Gel {
    /// Conversion filter by mired shift (+ warms) with its luminous transmission (0 to 1).
    Mired {
        /// Shift in mired.
        shift: f64,
        /// Luminous transmission.
        transmission: f64,
    },
    /// Free colour by sRGB `"#rrggbb"` with its luminous transmission (0 to 1).
    Color {
        /// Hue.
        color: String,
        /// Luminous transmission.
        transmission: f64,
    },
}

/// A flat thing on a stand that cuts or bounces light.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// Name other parts of the plan use.
    pub name: String,
    /// Flag, cut-out or reflector.
    pub kind: BoardKind,
    /// Width.
    pub width: Length,
    /// Height.
    pub height: Length,
    /// Centre.
    pub place: Place,
    /// What its face looks at.
    #[serde(default)]
    pub aim: Target,
    /// Turn about its own normal, degrees.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub roll: f64,
}

/// Kinds of board.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum BoardKind {
    /// Black, opaque.
    Flag,
    /// Black with openings.
    CutOut(CutOut),
    /// Painted board that bounces.
    Reflector(Paint),
}

/// Openings of a cut-out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum CutOut {
    /// A window of panes.
    Window {
        /// Panes down.
        rows: u32,
        /// Panes across.
        columns: u32,
        /// Share of the pitch that is bar, 0 to 1.
        bar: f64,
    },
    /// Horizontal slots.
    Slats {
        /// How many slots.
        count: u32,
        /// Share of the pitch that is solid, 0 to 1.
        solid: f64,
    },
    /// Irregular leaf-like openings.
    Leaves {
        /// Which of the possible patterns.
        seed: u64,
        /// How many openings.
        count: u32,
    },
}

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

fn warm() -> f64 {
    3000.0
}
