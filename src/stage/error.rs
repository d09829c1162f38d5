//! Why a plan cannot stand.

use glam::Vec3;
use thiserror::Error;

use super::{RoomBox, cloth, fixture, room, sitter};

/// A set that cannot stand in its room.
#[derive(Debug, Error)]
pub enum StageError {
    /// A target names nothing.
    #[error("{owner}: there is no \"{name}\" to point at; there are {}", known.join(", "))]
    UnknownTarget {
        /// Who asks.
        owner: String,
        /// For what.
        name: String,
        /// What there is.
        known: Vec<String>,
    },
    /// Place and target coincide.
    #[error(
        "{owner} stands at its own target ({x:.2}, {y:.2}, {z:.2}) and has no direction; move it or aim elsewhere"
    )]
    NoDirection {
        /// Who.
        owner: String,
        /// Metres.
        x: f32,
        /// Metres.
        y: f32,
        /// Metres.
        z: f32,
    },
    /// Something is outside the room.
    #[error(
        "{owner} would be at x {:.2}, y {:.2}, z {:.2} m, outside the room (x {:.2} to {:.2}, y 0 to {:.2}, z {:.2} to {:.2} m); bring it nearer or enlarge the room",
        at.x, at.y, at.z, room.min.x, room.max.x, room.max.y, room.min.z, room.max.z
    )]
    OutsideRoom {
        /// Who.
        owner: String,
        /// Where.
        at: Vec3,
        /// The room.
        room: RoomBox,
    },
    /// The lens cannot focus that near.
    #[error(
        "camera: the focus plane is {focus_m:.2} m before a {focal_mm} mm lens; it must be farther than twice the focal length and in front of the camera"
    )]
    FocusTooNear {
        /// Metres.
        focus_m: f64,
        /// Millimetres.
        focal_mm: f64,
    },
    /// The room or its boxes.
    #[error(transparent)]
    Room(#[from] room::RoomError),
    /// A cloth.
    #[error(transparent)]
    Cloth(#[from] cloth::ClothError),
    /// A fixture or board.
    #[error(transparent)]
    Fixture(#[from] fixture::BoardError),
    /// The sitter.
    #[error(transparent)]
    Sitter(#[from] sitter::SitterError),
}
