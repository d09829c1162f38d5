//! The stage as files that other 3D programs read.
//!
//! In: a [`crate::stage::Stage`]. Out: a glTF 2.0 file with everything a renderer needs to make
//! the same picture: meshes, surfaces, lights and camera in SI units.

pub mod gltf;

mod binary;

use std::path::PathBuf;

/// Why a stage could not be exported.
#[derive(Debug, thiserror::Error)]
pub enum ExportError {
    /// The target cannot be written: the user's path, rights or disk.
    #[error("cannot write {}: {source}", path.display())]
    Write {
        /// What was to be written.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// More data than the format can hold.
    #[error("the stage takes {bytes} bytes; a binary glTF file holds less than 4 GiB")]
    TooLarge {
        /// Bytes needed.
        bytes: u64,
    },
    /// A mesh with a position, normal or tint that is not a number: a fault of this program.
    #[error("mesh \"{mesh}\" has a vertex that is not a finite number")]
    NotFinite {
        /// Name of the mesh.
        mesh: String,
    },
}
