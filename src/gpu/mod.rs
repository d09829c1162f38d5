//! The graphics card: one device, pipelines and buffers for it, and the stage as it reads it.
//!
//! ```text
//!   Choice ──► Gpu ──► Kernel  (shaders/common + one pass, made once)
//!               └────► buffers ◄── upload: surfaces, tables, fronts, meshes
//! ```
//! Engines that run on the card (`trace`'s second back end, `raster`, development) build on this.
//! Software Vulkan counts as a card. Nothing here panics when the card goes away or is full:
//! [`Gpu::check`] tells.

mod device;
mod error;
mod kernel;
pub mod layout;
pub mod shader;
pub mod upload;

pub use device::{Choice, Gpu};
pub use error::GpuError;
pub use kernel::{Kernel, Slot};
pub use upload::{Materials, Meshes};
