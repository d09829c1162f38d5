//! What the photographer writes down: the plan file, in the user's units.
//!
//! In: RON text (`format: 1`). Out: [`Plan`], checked for spelling and units but not
//! yet for geometry (that is `stage`). Knows no graphics.

pub mod ambient;
pub mod board;
pub mod camera;
pub mod check;
pub mod cloth;
pub mod development;
mod diagnose;
pub mod error;
pub mod head;
pub mod light;
mod locate;
pub mod modifier;
pub mod read;
pub mod room;
pub mod shipped;
pub mod sitter;
pub mod still;
pub mod suggest;
pub mod units;
pub mod vary;
pub mod write;

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

pub use ambient::{Ambient, Lamp, LampForm, LampLevel, Sky, Wall, Window};
pub use board::{Board, BoardKind, By, CutOut, Hole};
pub use camera::{Camera, Extent, Format, FramedBy, Framing, Vignetting};
pub use cloth::{Cloth, ClothShape, Fabric, Finish};
pub use development::{ChannelMix, Development, Tone};
pub use error::Fault;
pub use error::PlanError;
pub use head::{Drift, Head, HeadClass, Output, Step, TubeSeen};
pub use light::{Gel, Light, Place, Target};
pub use modifier::{Doors, FrontCloth, Modifier, OpenDish, Shutters};
pub use read::{blame, parse, parse_draft, read, read_draft};
pub use room::{Mark, Paint, Room, SetBox};
pub use sitter::{Garment, GarmentCut, Hair, HairStyle, HeadTurn, Pose, Sitter};
pub use units::{Aperture, Diffusion, Length, Neutral, Power, Shutter};
pub use write::{to_text, write};

/// One set, written down: room, cloth, sitter, lights, camera.
///
/// Right-handed metres, y up; the sitter's stage mark is the origin and the camera
/// normally stands on +z looking to −z. Left and right are as the camera sees them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Plan {
    /// Version of the file's language; this program writes 1 and reads all earlier ones.
    pub format: u32,
    /// Title of the picture.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub title: String,
    /// What the set teaches, or any other remark. The `//` lines that open a file are read into
    /// it and written from it; other comments are not kept.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// The room's shell.
    #[serde(default, skip_serializing_if = "is_default")]
    pub room: Room,
    /// Backdrops, sweeps, draped and hung cloth.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cloths: Vec<Cloth>,
    /// Crates, plinths, posing boxes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub boxes: Vec<SetBox>,
    /// The person, if any.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sitter: Option<Sitter>,
    /// Flash heads.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lights: Vec<Light>,
    /// Flags, cut-outs and reflector boards.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub boards: Vec<Board>,
    /// The room's own light as an even level, if it is kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient: Option<Ambient>,
    /// Lamps of the room, each a layer of its own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lamps: Vec<Lamp>,
    /// Windows with daylight, each a layer of its own.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub windows: Vec<Window>,
    /// The camera and its setting.
    #[serde(default)]
    pub camera: Camera,
    /// How the picture is developed.
    #[serde(default, skip_serializing_if = "is_default")]
    pub development: Development,
    /// Incident-meter constant C in lx·s (flat receptor, ISO 2720 form; 250 by default, meters differ).
    #[serde(default = "default_meter_constant", skip_serializing_if = "is_default_meter_constant")]
    pub meter_constant: f64,
    /// Where files that the plan names are looked for; not part of what it says.
    #[serde(skip)]
    pub folder: Folder,
}

/// The folder of a plan's file. Plans that say the same are equal wherever they lie.
#[derive(Debug, Clone, Default)]
pub struct Folder(pub PathBuf);

impl PartialEq for Folder {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

fn default_meter_constant() -> f64 {
    250.0
}

fn is_default_meter_constant(constant: &f64) -> bool {
    *constant == default_meter_constant()
}

/// Left out of written files.
fn is_default<T: Default + PartialEq>(value: &T) -> bool {
    *value == T::default()
}
