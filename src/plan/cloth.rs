//! Cloth: what it is made of and how it hangs.

use serde::{Deserialize, Serialize};

use super::room::Paint;
use super::units::Length;

/// How a cloth's surface scatters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Finish {
    /// Linen, muslin, felt: matt.
    #[default]
    Matte,
    /// Satin, silk, chintz: a broad gloss over the dye.
    Satin,
    /// Velvet: dark face-on, a bright asperity rim at grazing angles.
    Velvet,
}

/// A fabric.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fabric {
    /// Reflectance and colour.
    pub paint: Paint,
    /// Matt, satin or velvet.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub finish: Finish,
}

/// A piece of cloth on the set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cloth {
    /// Name other parts of the plan use (`"backdrop"`).
    pub name: String,
    /// What it is made of.
    pub fabric: Fabric,
    /// How it is put up.
    pub shape: ClothShape,
    /// Sharp crumple lines: 0 pressed flat, 1 as it comes out of a bag.
    #[serde(default = "half")]
    pub creases: f64,
    /// Soft hanging or lying folds: 0 stretched, 1 full.
    #[serde(default = "half")]
    pub folds: f64,
    /// Which of the possible creasings; the same seed gives the same mesh.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub seed: u64,
}

fn half() -> f64 {
    0.5
}

/// The ways a cloth is put up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum ClothShape {
    /// Hung from a bar facing the camera, optionally running out on the floor as a sweep.
    Backdrop {
        /// Width of the bar that is covered.
        width: Length,
        /// Height of the bar.
        top: Length,
        /// Behind the mark (positive = away from the camera).
        behind: Length,
        /// Centre, right of the mark.
        #[serde(default, skip_serializing_if = "super::is_default")]
        x: Length,
        /// Turn about the vertical in degrees.
        #[serde(default, skip_serializing_if = "super::is_default")]
        turn: f64,
        /// Length that runs forward on the floor; 0 ends with a hem just above the floor.
        #[serde(default, skip_serializing_if = "super::is_default")]
        sweep: Length,
    },
    /// Laid on the floor.
    Floor {
        /// Along x.
        width: Length,
        /// Along z.
        depth: Length,
        /// Centre, right of the mark.
        #[serde(default, skip_serializing_if = "super::is_default")]
        x: Length,
        /// Centre, toward the camera from the mark.
        #[serde(default, skip_serializing_if = "super::is_default")]
        z: Length,
        /// Turn about the vertical in degrees.
        #[serde(default, skip_serializing_if = "super::is_default")]
        turn: f64,
    },
    /// Thrown over boxes; falls to the floor and lies out around them.
    Over {
        /// Names of the boxes it covers.
        boxes: Vec<String>,
        /// How far it reaches past the boxes' outline on every side before it falls or lies.
        overhang: Length,
    },
    /// A length hung in full folds from a bar or a point, free on all sides.
    Drapery {
        /// Width gathered.
        width: Length,
        /// Height of the bar.
        top: Length,
        /// Length that hangs down from the bar.
        drop: Length,
        /// Centre, right of the mark.
        #[serde(default, skip_serializing_if = "super::is_default")]
        x: Length,
        /// Toward the camera from the mark.
        #[serde(default, skip_serializing_if = "super::is_default")]
        z: Length,
        /// Turn about the vertical in degrees (0 = facing the camera).
        #[serde(default, skip_serializing_if = "super::is_default")]
        turn: f64,
    },
}
