//! The room's shell, its paint, and the boxes that stand in it.

use serde::{Deserialize, Serialize};

use super::units::Length;

/// A matt paint: luminous reflectance and hue.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paint {
    /// Luminous reflectance, 0 to 1. Where absent, the colour's own luminance is taken.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub reflectance: Option<f64>,
    /// sRGB colour `"#rrggbb"`; where a reflectance is given only the hue counts.
    #[serde(default = "neutral", skip_serializing_if = "is_neutral")]
    pub color: String,
}

fn neutral() -> String {
    "#ffffff".into()
}

fn is_neutral(color: &String) -> bool {
    *color == neutral()
}

impl Paint {
    /// A neutral paint of luminous reflectance `reflectance`.
    pub fn grey(reflectance: f64) -> Self {
        Self { reflectance: Some(reflectance), color: neutral() }
    }
}

/// Where the stage mark lies in the room.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// From the left wall (as the camera sees it).
    pub from_left: Length,
    /// From the back wall (the one the camera looks at).
    pub from_back: Length,
}

/// A rectangular room.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Room {
    /// Left wall to right wall.
    pub width: Length,
    /// Back wall to front wall.
    pub depth: Length,
    /// Floor to ceiling.
    pub height: Length,
    /// The stage mark; by default mid-width and 2 m before the back wall.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mark: Option<Mark>,
    /// All four walls, unless one is given apart.
    pub walls: Paint,
    /// The back wall, where it differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub back_wall: Option<Paint>,
    /// The left wall, where it differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub left_wall: Option<Paint>,
    /// The right wall, where it differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub right_wall: Option<Paint>,
    /// The front wall (behind the camera), where it differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub front_wall: Option<Paint>,
    /// Ceiling paint.
    pub ceiling: Paint,
    /// Floor paint.
    pub floor: Paint,
}

impl Default for Room {
    /// A plain 6 × 5 × 3 m room. Reflectances: matt white ceiling 0.8, walls 0.6, floor 0.3
    /// (within the ranges of indoor lighting practice: ceiling .7–.9, walls .5–.8, floor .2–.4).
    fn default() -> Self {
        Self {
            width: Length::metres(6.0),
            depth: Length::metres(5.0),
            height: Length::metres(3.0),
            mark: None,
            walls: Paint::grey(0.6),
            back_wall: None,
            left_wall: None,
            right_wall: None,
            front_wall: None,
            ceiling: Paint::grey(0.8),
            floor: Paint::grey(0.3),
        }
    }
}

/// A box on the set: a crate to sit on, a plinth.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SetBox {
    /// Name other parts of the plan use.
    pub name: String,
    /// Extent along x before turning.
    pub width: Length,
    /// Extent along y.
    pub height: Length,
    /// Extent along z before turning.
    pub depth: Length,
    /// Centre, right of the mark.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub x: Length,
    /// Centre, toward the camera from the mark.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub z: Length,
    /// What it stands on above the floor (stack boxes with it).
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub base: Length,
    /// Turn about the vertical in degrees, seen from above anticlockwise.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub turn: f64,
    /// Surface.
    #[serde(default = "wood")]
    pub paint: Paint,
}

fn wood() -> Paint {
    Paint { reflectance: Some(0.30), color: "#a98a66".into() }
}
