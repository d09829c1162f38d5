//! The set as it stands: real geometry in SI, checked.
//!
//! In: a [`crate::plan::Plan`]. Out: a [`Stage`] of meshes with surfaces, sources, named marks
//! and the camera, which engines, meter and export read. One file a thing.

mod ambient;
mod build;
pub mod camera;
pub mod cloth;
mod error;
pub mod fixture;
mod framing;
pub mod mesh;
pub mod modifier;
mod place;
pub mod room;
pub mod sitter;
pub mod source;

use glam::Vec3;

pub use ambient::AMBIENT;
pub use build::{Set, build, set};
pub use camera::Camera;
pub use error::{Part, StageError};
pub use framing::FramingError;
pub use mesh::{Mesh, Role};
pub use place::ABSENT_FACE_M;
pub use source::{Glow, Source, SourceShape};

use crate::layers::LightKind;

/// The checked world.
#[derive(Debug, Clone)]
pub struct Stage {
    /// Inside of the room.
    pub room: RoomBox,
    /// Everything that is seen or casts a shadow.
    pub meshes: Vec<Mesh>,
    /// The lights, in the plan's order, the room's own last: lamps, windows, the even level.
    pub lights: Vec<Light>,
    /// Named places on sitter and set.
    pub marks: Vec<Mark>,
    /// The camera.
    pub camera: Camera,
    /// What had to be bent to stand (a joint held at its limit).
    pub notes: Vec<String>,
}

/// The room's inside as an axis-aligned box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomBox {
    /// Left, floor, back.
    pub min: Vec3,
    /// Right, ceiling, front.
    pub max: Vec3,
}

/// A light at its place. Its layer is rendered at full power with white light.
#[derive(Debug, Clone)]
pub struct Light {
    /// The plan's name; `"ambient"` for the room.
    pub name: String,
    /// Lit in the plan.
    pub on: bool,
    /// Of the room: its even level, a lamp, a window; no head on a stand.
    pub is_room: bool,
    /// Flash or continuous.
    pub kind: LightKind,
    /// Where and how it emits.
    pub source: Source,
    /// Further fronts that burn with it (the tube seen in a dish, the back of an umbrella).
    pub also: Vec<Source>,
}

impl Light {
    /// All its fronts, the main one first.
    pub fn fronts(&self) -> impl Iterator<Item = &Source> {
        std::iter::once(&self.source).chain(&self.also)
    }
}

/// A named place with the direction its surface looks to.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// `"face"`, `"left_eye"`, `"right_eye"`, `"chest"`, `"hips"`, `"left_hand"`, `"right_hand"`,
    /// `"feet"`, `"crown"`, `"nose_tip"`, `"chin"`, or the name of a cloth, box or board.
    pub name: String,
    /// In world metres.
    pub position: Vec3,
    /// Unit vector out of the surface (for a face: where it looks).
    pub facing: Vec3,
}
