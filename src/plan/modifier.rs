//! What is put before the tube.
//!
//! Losses are of luminous flux inside the modifier, in stops; what flags, doors, snoots and
//! recesses cut away after that comes from their geometry. Sizes, angles and losses are
//! assumptions of common practice (no source) unless the plan says otherwise.

use serde::{Deserialize, Serialize};

use super::units::Length;

/// What is before the tube.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Modifier {
    /// Nothing: a bare tube that lights all round.
    BareTube {
        /// Tube diameter.
        #[serde(default = "cm4")]
        diameter: Length,
        /// Tube length.
        #[serde(default = "cm8")]
        length: Length,
    },
    /// A ball of white cloth that lights all round.
    Lantern {
        /// Across.
        #[serde(default = "cm50")]
        diameter: Length,
        /// Light lost in the cloth, in stops.
        #[serde(default = "one")]
        loss: f64,
    },
    /// An open dish reflector; by default the common standard one.
    Dish {
        /// Mouth.
        #[serde(default = "cm18")]
        diameter: Length,
        /// Full angle at 50 % of the peak intensity, degrees.
        #[serde(default = "deg55")]
        beam: f64,
        /// Full angle at 10 % of the peak intensity, degrees.
        #[serde(default = "deg85")]
        field: f64,
        /// Light lost inside, in stops.
        #[serde(default = "half")]
        loss: f64,
    },
    /// A short, wide-angle dish, as umbrellas take.
    ShortDish {
        /// Mouth.
        #[serde(default = "cm14")]
        diameter: Length,
        /// Full angle at 50 %, degrees.
        #[serde(default = "deg85")]
        beam: f64,
        /// Full angle at 10 %, degrees.
        #[serde(default = "deg120")]
        field: f64,
        /// Light lost inside, in stops.
        #[serde(default = "third")]
        loss: f64,
    },
    /// A deep, narrow dish that throws far.
    LongThrow {
        /// Mouth.
        #[serde(default = "cm35")]
        diameter: Length,
        /// Full angle at 50 %, degrees.
        #[serde(default = "deg20")]
        beam: f64,
        /// Full angle at 10 %, degrees.
        #[serde(default = "deg40")]
        field: f64,
        /// Light lost inside, in stops.
        #[serde(default = "two_thirds")]
        loss: f64,
    },
    /// A shallow dish whose deflector hides the tube: a bright ring round a dark middle.
    BeautyDish {
        /// Mouth.
        #[serde(default = "cm55")]
        diameter: Length,
        /// The deflector before the tube.
        #[serde(default = "cm15")]
        deflector: Length,
        /// Full angle at 50 %, degrees.
        #[serde(default = "deg75")]
        beam: f64,
        /// Full angle at 10 %, degrees.
        #[serde(default = "deg115")]
        field: f64,
        /// Light lost inside, in stops.
        #[serde(default = "one")]
        loss: f64,
    },
    /// A tube that runs round the lens.
    Ring {
        /// Outside.
        #[serde(default = "cm25")]
        diameter: Length,
        /// Hole for the lens.
        #[serde(default = "cm13")]
        hole: Length,
        /// Full angle at 50 %, degrees.
        #[serde(default = "deg75")]
        beam: f64,
        /// Full angle at 10 %, degrees.
        #[serde(default = "deg115")]
        field: f64,
        /// Light lost inside, in stops.
        #[serde(default = "half")]
        loss: f64,
    },
    /// A black tunnel before a small even front: a round patch with a soft edge.
    Snoot {
        /// Across, inside.
        #[serde(default = "cm7")]
        diameter: Length,
        /// How long.
        #[serde(default = "cm20")]
        length: Length,
        /// Light lost before the tunnel, in stops.
        #[serde(default = "half")]
        loss: f64,
    },
    /// A lens that throws a sharp-edged patch.
    LensSpot {
        /// The lens.
        #[serde(default = "cm12")]
        diameter: Length,
        /// Full angle of the open iris, degrees.
        #[serde(default = "deg26")]
        beam: f64,
        /// Distance from the lens at which the patch's edge is sharp.
        #[serde(default = "m3")]
        focus: Length,
        /// Four blades in the gate.
        #[serde(default, skip_serializing_if = "super::is_default")]
        shutters: Shutters,
        /// Light lost inside, in stops.
        #[serde(default = "two")]
        loss: f64,
    },
    /// A flat diffusing front that glows evenly (Lambertian).
    Panel {
        /// Width of the front.
        width: Length,
        /// Height of the front.
        height: Length,
        /// Light lost inside, in stops.
        #[serde(default = "one_half")]
        loss: f64,
    },
    /// A soft box: square, or a strip, by its sides.
    SoftBox {
        /// Width of the front.
        #[serde(default = "cm60")]
        width: Length,
        /// Height of the front.
        #[serde(default = "cm90")]
        height: Length,
        /// How far the front cloth lies back from the rim.
        #[serde(default, skip_serializing_if = "super::is_default")]
        recess: Length,
        /// By how many stops the middle outshines the end of the longer side.
        #[serde(default = "half")]
        hot: f64,
        /// Full angle at 50 %, degrees; 120 is a perfect diffuser.
        #[serde(default = "deg110")]
        beam: f64,
        /// Light lost inside, in stops (inner baffle and front cloth).
        #[serde(default = "one_half")]
        loss: f64,
    },
    /// An eight-sided soft box.
    Octagon {
        /// Corner to corner.
        #[serde(default = "cm120")]
        diameter: Length,
        /// How far the front cloth lies back from the rim.
        #[serde(default, skip_serializing_if = "super::is_default")]
        recess: Length,
        /// By how many stops the middle outshines the corners.
        #[serde(default = "half")]
        hot: f64,
        /// Full angle at 50 %, degrees; 120 is a perfect diffuser.
        #[serde(default = "deg110")]
        beam: f64,
        /// Light lost inside, in stops (inner baffle and front cloth).
        #[serde(default = "one_half")]
        loss: f64,
    },
    /// An umbrella that the head shines into and that throws the light back past it.
    BounceUmbrella {
        /// Tip to tip.
        #[serde(default = "cm105")]
        diameter: Length,
        /// By how many stops the middle outshines the rim.
        #[serde(default = "one")]
        hot: f64,
        /// Full angle at 50 %, degrees (white inside; silver is nearer to 70).
        #[serde(default = "deg95")]
        beam: f64,
        /// Light lost, in stops.
        #[serde(default = "one_and_quarter")]
        loss: f64,
    },
    /// A white umbrella that the head shines through; as much again goes back into the room.
    ShootThrough {
        /// Tip to tip.
        #[serde(default = "cm105")]
        diameter: Length,
        /// By how many stops the middle outshines the rim.
        #[serde(default = "one")]
        hot: f64,
        /// Full angle at 50 %, degrees.
        #[serde(default = "deg110")]
        beam: f64,
        /// Share of what leaves the cloth that goes back behind it.
        #[serde(default = "spill")]
        spill: f64,
        /// Light lost in the cloth, in stops, both ways taken together.
        #[serde(default = "half")]
        loss: f64,
    },
    /// Cloth in a frame with the head behind it. What passes by the frame goes on as it is.
    Scrim {
        /// Width of the frame.
        #[serde(default = "cm120")]
        width: Length,
        /// Height of the frame.
        #[serde(default = "cm180")]
        height: Length,
        /// The head's front behind the cloth.
        #[serde(default = "m1")]
        behind: Length,
        /// Share of light that the cloth lets through (assumption: a full white cloth).
        #[serde(default = "through")]
        transmission: f64,
        /// The head's dish: full angle at 50 %, degrees.
        #[serde(default = "deg55")]
        beam: f64,
        /// The head's dish: full angle at 10 %, degrees.
        #[serde(default = "deg85")]
        field: f64,
        /// Light lost in the head's dish, in stops.
        #[serde(default = "half")]
        loss: f64,
    },
    /// The intensity of a photometric file: IES LM-63 (`.ies`) or EULUMDAT (`.ldt`). Its C0 plane
    /// lies to the right of the axis.
    Photometric {
        /// The file, from the plan's own folder.
        file: String,
        /// Size of a round opening. By default what the file says.
        #[serde(default, skip_serializing_if = "super::is_default")]
        diameter: Option<Length>,
        /// Light lost inside, in stops, where the level comes from energy or lumens.
        #[serde(default, skip_serializing_if = "super::is_default")]
        loss: f64,
    },
}

/// Blades of a lens spot's gate: share of the iris's width that each covers from its side.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Shutters {
    /// From the left of the patch, as seen from the head.
    pub left: f64,
    /// From the right.
    pub right: f64,
    /// From above.
    pub top: f64,
    /// From below.
    pub bottom: f64,
}

/// Barn doors: four leaves hinged on the rim. Angles in degrees from the axis: 0 straight ahead,
/// 90 wide open, below 0 folded over the light.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Doors {
    /// Upper leaf.
    pub top: f64,
    /// Lower leaf.
    pub bottom: f64,
    /// Leaf on the left, as seen from the head.
    pub left: f64,
    /// Leaf on the right.
    pub right: f64,
    /// How far the leaves reach from the rim; by default as far as the mouth is wide.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length: Option<Length>,
}

impl Default for Doors {
    fn default() -> Self {
        Self { top: 45.0, bottom: 45.0, left: 45.0, right: 45.0, length: None }
    }
}

/// Diffusing cloth over an open front: the source becomes the cloth, no larger.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct FrontCloth {
    /// Its size; by default that of the mouth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub diameter: Option<Length>,
    /// Light lost in it, in stops.
    pub loss: f64,
    /// By how many stops the middle outshines the rim.
    pub hot: f64,
    /// Full angle at 50 %, degrees; 120 is a perfect diffuser.
    pub beam: f64,
}

impl Default for FrontCloth {
    fn default() -> Self {
        Self { diameter: None, loss: 1.0, hot: 0.5, beam: 110.0 }
    }
}

impl Default for Modifier {
    /// A common 18 cm dish with a 55° beam and an 85° field.
    fn default() -> Self {
        Self::Dish { diameter: cm18(), beam: deg55(), field: deg85(), loss: half() }
    }
}

/// An open reflector: mouth, beam, field, loss.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OpenDish {
    /// Mouth.
    pub diameter: Length,
    /// Degrees.
    pub beam: f64,
    /// Degrees.
    pub field: f64,
    /// Stops.
    pub loss: f64,
}

impl Modifier {
    /// Its figures, where it is an open dish of any depth.
    pub fn open_dish(&self) -> Option<OpenDish> {
        match *self {
            Self::Dish { diameter, beam, field, loss }
            | Self::ShortDish { diameter, beam, field, loss }
            | Self::LongThrow { diameter, beam, field, loss } => {
                Some(OpenDish { diameter, beam, field, loss })
            }
            _ => None,
        }
    }

    /// Light lost inside it, in stops (of photometric files: against the file's lumens).
    pub fn loss_stops(&self) -> f64 {
        match self {
            Self::BareTube { .. } => 0.0,
            Self::Lantern { loss, .. }
            | Self::Dish { loss, .. }
            | Self::ShortDish { loss, .. }
            | Self::LongThrow { loss, .. }
            | Self::BeautyDish { loss, .. }
            | Self::Ring { loss, .. }
            | Self::Snoot { loss, .. }
            | Self::LensSpot { loss, .. }
            | Self::Panel { loss, .. }
            | Self::SoftBox { loss, .. }
            | Self::Octagon { loss, .. }
            | Self::BounceUmbrella { loss, .. }
            | Self::ShootThrough { loss, .. }
            | Self::Scrim { loss, .. }
            | Self::Photometric { loss, .. } => *loss,
        }
    }

    /// The longest side of its front in metres; None where a photometric file decides.
    pub fn largest_m(&self) -> Option<f64> {
        Some(match self {
            Self::BareTube { diameter, length } => diameter.metres.max(length.metres),
            Self::Dish { diameter, .. }
            | Self::ShortDish { diameter, .. }
            | Self::LongThrow { diameter, .. }
            | Self::BeautyDish { diameter, .. }
            | Self::Ring { diameter, .. }
            | Self::Snoot { diameter, .. }
            | Self::LensSpot { diameter, .. }
            | Self::Octagon { diameter, .. }
            | Self::Lantern { diameter, .. }
            | Self::BounceUmbrella { diameter, .. }
            | Self::ShootThrough { diameter, .. } => diameter.metres,
            Self::Panel { width, height, .. }
            | Self::SoftBox { width, height, .. }
            | Self::Scrim { width, height, .. } => width.metres.max(height.metres),
            Self::Photometric { diameter, .. } => return diameter.map(|d| d.metres),
        })
    }

    /// What a photographer calls it.
    pub fn name(&self) -> &'static str {
        match self {
            Self::BareTube { .. } => "bare tube",
            Self::Lantern { .. } => "lantern",
            Self::Dish { .. } => "dish",
            Self::ShortDish { .. } => "short dish",
            Self::LongThrow { .. } => "long-throw dish",
            Self::BeautyDish { .. } => "beauty dish",
            Self::Ring { .. } => "ring",
            Self::Snoot { .. } => "snoot",
            Self::LensSpot { .. } => "lens spot",
            Self::Panel { .. } => "panel",
            Self::SoftBox { .. } => "soft box",
            Self::Octagon { .. } => "octagon",
            Self::BounceUmbrella { .. } => "bounce umbrella",
            Self::ShootThrough { .. } => "shoot-through umbrella",
            Self::Scrim { .. } => "scrim",
            Self::Photometric { .. } => "photometric file",
        }
    }
}

macro_rules! lengths {
    ($($name:ident $metres:literal)*) => {
        $(fn $name() -> Length { Length::metres($metres) })*
    };
}
macro_rules! numbers {
    ($($name:ident $value:literal)*) => {
        $(fn $name() -> f64 { $value })*
    };
}
lengths! {
    cm4 0.04 cm7 0.07 cm8 0.08 cm12 0.12 cm13 0.13 cm14 0.14 cm15 0.15 cm18 0.18 cm20 0.20
    cm25 0.25 cm35 0.35 cm50 0.50 cm55 0.55 cm60 0.60 cm90 0.90 cm105 1.05 cm120 1.20 cm180 1.80 m1 1.0
    m3 3.0
}
numbers! {
    deg20 20.0 deg26 26.0 deg40 40.0 deg55 55.0 deg75 75.0 deg85 85.0 deg95 95.0 deg110 110.0
    deg115 115.0 deg120 120.0 third 0.3 half 0.5 two_thirds 0.7 one 1.0 one_and_quarter 1.25
    one_half 1.5 two 2.0 spill 0.45 through 0.4
}
