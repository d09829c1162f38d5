//! Development: mix, expose, tone, encode. Knows only layers and optics.
//!
//! ```text
//!   Layers ──Taking──► Picture ──develop──► Still ──encode──► bytes
//!  (light by light)  (linear, 0.18 grey)  (sRGB)     └─► exr: the layers themselves
//! ```
//! Power, gel, colour temperature, aperture, shutter and ISO are in [`Mix`], lens filter, stray
//! light, curtains and fall-off in [`Taking`]: none needs a ray. A still carries the [`Record`] of
//! how it was taken.

pub mod card;
pub mod clipping;
pub mod compare;
mod encode;
mod exr;
pub mod glare;
pub mod map;
mod mix;
pub mod record;
mod stray;
mod taking;
mod text;
mod tone;
mod view;

pub use encode::{EncodeError, FileFormat, encode, encode_taken, holds};
pub use exr::{ExrError, read_exr, write_exr, write_exr_taken};
pub use mix::{Mix, MixError};
pub use record::Record;
pub use stray::{Stray, StrayLens};
pub use taking::{Edge, Taking};
pub use tone::{Development, Still, Tone, develop};
pub use view::{Frame, View};

use glam::Vec3;

/// What the sensor saw: linear Rec.709, 0.18 is mid-grey.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Row-major from the top left.
    pub pixels: Vec<Vec3>,
}
