//! The person: size, build, skin, pose, hair, cloth on the body.

use serde::{Deserialize, Serialize};

use super::cloth::Fabric;
use super::units::Length;

/// Parts of a sitter that a meter can be held at.
pub const PARTS: [&str; 11] = [
    "face",
    "left_eye",
    "right_eye",
    "chest",
    "hips",
    "left_hand",
    "right_hand",
    "feet",
    "crown",
    "nose_tip",
    "chin",
];

/// The sitter. Angles in degrees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Sitter {
    /// Stature (standing height, bare head and feet).
    pub height: Length,
    /// −1 slim, 0 average, +1 heavy.
    pub build: f64,
    /// Sex-typical proportion: 0 female, 1 male, anything between.
    pub proportion: f64,
    /// Skin tone step, 1 lightest to 10 darkest.
    pub skin: u8,
    /// Skin sheen: 0 powdered, 1 oiled.
    pub sheen: f64,
    /// The pose.
    pub pose: Pose,
    /// Name of the box sat on, for `SeatedOnBox`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seat: Option<String>,
    /// Turn of the whole body about the vertical; 0 faces the camera, + turns to camera right.
    #[serde(skip_serializing_if = "super::is_default")]
    pub turn: f64,
    /// The head on top of the body.
    #[serde(skip_serializing_if = "super::is_default")]
    pub head: HeadTurn,
    /// Right of the mark.
    #[serde(skip_serializing_if = "super::is_default")]
    pub x: Length,
    /// Toward the camera from the mark.
    #[serde(skip_serializing_if = "super::is_default")]
    pub z: Length,
    /// Hair.
    pub hair: Hair,
    /// Headwrap, if worn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub headwrap: Option<Fabric>,
    /// Garment, if any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub garment: Option<Garment>,
}

impl Default for Sitter {
    fn default() -> Self {
        Self {
            height: Length::metres(1.70),
            build: 0.0,
            proportion: 0.5,
            skin: 5,
            sheen: 0.3,
            pose: Pose::Standing,
            seat: None,
            turn: 0.0,
            head: HeadTurn::default(),
            x: Length::metres(0.0),
            z: Length::metres(0.0),
            hair: Hair::default(),
            headwrap: None,
            garment: None,
        }
    }
}

/// The head relative to the chest, in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct HeadTurn {
    /// + turns the face to camera right.
    pub turn: f64,
    /// + leans the crown to camera right.
    pub tilt: f64,
    /// + brings the chin down.
    pub nod: f64,
}

/// Poses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Pose {
    /// Standing, weight even, arms hanging.
    #[default]
    Standing,
    /// Standing, weight on one leg, hips and shoulders counter-tilted.
    Contrapposto,
    /// Seated on the box named in `seat`, hands on the thighs.
    SeatedOnBox,
    /// Seated on the floor, one knee raised, arm over it.
    SeatedOnFloor,
}

/// Hair.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Hair {
    /// Cut.
    pub style: HairStyle,
    /// sRGB colour of the hair mass `"#rrggbb"`.
    pub color: String,
}

impl Default for Hair {
    fn default() -> Self {
        Self { style: HairStyle::Cropped, color: "#2b1d14".into() }
    }
}

/// Cuts of hair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum HairStyle {
    /// None.
    Bald,
    /// Close to the skull.
    #[default]
    Cropped,
    /// A rounded volume.
    Volume,
    /// To the jaw.
    Bob,
    /// Gathered behind the crown.
    Bun,
}

/// Cloth worn on the body.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Garment {
    /// Cut.
    pub cut: GarmentCut,
    /// What it is made of.
    pub fabric: Fabric,
}

/// Cuts of garment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum GarmentCut {
    /// Loose tunic to the thigh, short sleeves, over trousers of the same cloth.
    Tunic,
    /// Long robe to the ankle, long sleeves.
    Robe,
    /// Shoulders bare, cloth wrapped from the chest down.
    BareShoulders,
}
