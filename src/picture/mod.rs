//! Development: mix, expose, tone, encode. Knows only layers and optics.
//!
//! ```text
//!   Layers ──Mix──► Picture ──develop──► Still ──encode──► bytes
//!  (light by light) (linear, 0.18 grey)  (sRGB)     └─► exr: the layers themselves
//! ```
//! Power, gel, colour temperature, aperture, shutter and ISO are in [`Mix`]: none needs a ray.

pub mod compare;
mod encode;
mod exr;
pub mod map;
mod mix;
mod text;
mod tone;

pub use encode::{EncodeError, FileFormat, encode};
pub use exr::{ExrError, read_exr, write_exr};
pub use mix::{Mix, MixError};
pub use tone::{Still, Tone, develop};

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
