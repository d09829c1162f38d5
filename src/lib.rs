//! Foreshadow: see light and shadow before carrying gear into the studio.
//!
//! ```text
//!         plan ──► stage ──┬─► raster ─┐
//!      (RON, user's units) │           ├─► layers ──► picture ──┐
//!                          └─► trace  ─┘     │                  ├─► shoot ──► cli, window
//!                                 └──────────┴─► meter ─────────┘
//!         optics: pure functions of light, used by all of them, using none of them
//!         files: writing whole files, likewise
//!         gpu: the graphics card, under raster and the second half of trace
//! ```
//!
//! Conventions: metres, right-handed, y up, the sitter's stage mark at the origin, the camera
//! normally on +z looking to −z; left and right as the camera sees them. Degrees and stops at
//! the user's side (`plan`), radians and linear values inside (`stage` and below). Flash is
//! luminous exposure (lx·s), the room's light is illuminance (lx). Colour is linear Rec.709, D65.
//!
//! Start reading at [`shoot`], which joins the pieces the way a verb uses them.

pub mod cli;
pub mod export;
pub mod files;
pub mod gpu;
pub mod layers;
pub mod meter;
pub mod optics;
pub mod papers;
pub mod picture;
pub mod plan;
pub mod raster;
pub mod settle;
pub mod shoot;
pub mod stage;
pub mod trace;
pub mod window;
