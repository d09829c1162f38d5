//! Flags, nets, cut-outs and boards on stands.

use serde::{Deserialize, Serialize};

use super::light::{Place, Target};
use super::room::Paint;
use super::units::Length;

/// A flat thing on a stand that cuts or bounces light.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// Name other parts of the plan use.
    pub name: String,
    /// Flag, net, cut-out or reflector.
    pub kind: BoardKind,
    /// Width; of a folded pair, of each leaf.
    pub width: Length,
    /// Height.
    pub height: Length,
    /// Round (an ellipse of that width and height) instead of rectangular.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub round: bool,
    /// A pair hinged along its upright middle, with this many degrees between the leaves; it
    /// opens toward its aim.
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub fold: Option<f64>,
    /// Paint of its back, where it differs (a pair is often white inside and black outside).
    #[serde(default, skip_serializing_if = "super::is_default")]
    pub back: Option<Paint>,
    /// Centre (of a pair: of the hinge).
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
    /// Black threads that take away so much light and leave its direction.
    Net {
        /// Stops lost, seen square; more from aslant, as with a real net.
        stops: f64,
    },
    /// Black with openings.
    CutOut(CutOut),
    /// Painted board that bounces.
    Reflector(Paint),
    /// White board: matt, reflectance 0.9 (common practice, no source).
    White,
    /// Silver cloth or foil: mirrors with a wide gloss, reflectance 0.82 (assumption).
    Silver,
    /// Gold cloth or foil: the same, warm.
    Gold,
    /// Black board: takes light away from a side (reflectance 0.04, common practice).
    Black,
}

impl BoardKind {
    /// Whether it is put up to send light back.
    pub fn bounces(&self) -> bool {
        matches!(self, Self::Reflector(_) | Self::White | Self::Silver | Self::Gold)
    }
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
    /// Openings one by one; they may not overlap.
    Shapes {
        /// The openings.
        holes: Vec<Hole>,
    },
    /// Open where a PNG picture is: laid over the whole board, 256 cells on its longer side.
    Picture {
        /// The file, from the plan's own folder.
        file: String,
        /// Which of its values.
        #[serde(default)]
        by: By,
        /// Open from this value up, 0 to 1.
        #[serde(default = "middle")]
        level: f64,
        /// Open below it instead.
        #[serde(default, skip_serializing_if = "super::is_default")]
        invert: bool,
    },
}

fn middle() -> f64 {
    0.5
}

/// Which value of a picture opens a cut-out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum By {
    /// White is open.
    #[default]
    Luminance,
    /// Opaque is open.
    Alpha,
}

/// One opening; places are from the board's middle, to the right and up as seen from its face.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Hole {
    /// Round.
    Circle {
        /// Right of the middle.
        #[serde(default)]
        x: Length,
        /// Above the middle.
        #[serde(default)]
        y: Length,
        /// Across.
        diameter: Length,
    },
    /// Oval.
    Ellipse {
        /// Right of the middle.
        #[serde(default)]
        x: Length,
        /// Above the middle.
        #[serde(default)]
        y: Length,
        /// Before turning.
        width: Length,
        /// Before turning.
        height: Length,
        /// Degrees anticlockwise.
        #[serde(default)]
        turn: f64,
    },
    /// Rectangular.
    Slot {
        /// Right of the middle.
        #[serde(default)]
        x: Length,
        /// Above the middle.
        #[serde(default)]
        y: Length,
        /// Before turning.
        width: Length,
        /// Before turning.
        height: Length,
        /// Degrees anticlockwise.
        #[serde(default)]
        turn: f64,
    },
    /// Any outline that does not cross itself: its corners in order.
    Outline(Vec<(Length, Length)>),
}
