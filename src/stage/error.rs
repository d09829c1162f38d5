//! Why a plan cannot stand, and which entry of it is to be changed.
//!
//! A message says what is wrong, then, after a semicolon, what to do.

use std::fmt;

use glam::Vec3;
use thiserror::Error;

use super::framing::FramingError;
use super::{RoomBox, cloth, fixture, room, sitter};
use crate::plan::Plan;

/// An operating system's error in plain words.
pub(super) fn io_told(error: &std::io::Error) -> String {
    match error.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".into(),
        std::io::ErrorKind::PermissionDenied => "the file may not be read".into(),
        _ => format!("the file cannot be read ({error})"),
    }
}

/// The entry of the plan that a fault is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// The room.
    Room,
    /// The box of this name.
    Box(String),
    /// The cloth of this name.
    Cloth(String),
    /// The sitter.
    Sitter,
    /// The light of this name.
    Light(String),
    /// The board of this name.
    Board(String),
    /// The lamp of this name.
    Lamp(String),
    /// The window of this name.
    Window(String),
    /// The camera.
    Camera,
    /// What the camera is focused on.
    Focus,
    /// What is to fill the camera's frame.
    Framing,
}

impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Room => write!(f, "room"),
            Self::Box(name) => write!(f, "box \"{name}\""),
            Self::Cloth(name) => write!(f, "cloth \"{name}\""),
            Self::Sitter => write!(f, "sitter"),
            Self::Light(name) => write!(f, "light \"{name}\""),
            Self::Board(name) => write!(f, "board \"{name}\""),
            Self::Lamp(name) => write!(f, "lamp \"{name}\""),
            Self::Window(name) => write!(f, "window \"{name}\""),
            Self::Camera => write!(f, "camera"),
            Self::Focus => write!(f, "camera focus"),
            Self::Framing => write!(f, "camera framing"),
        }
    }
}

impl Part {
    /// Its path in the plan's text.
    fn path(&self, plan: &Plan) -> String {
        let in_list = |list: &str, at: Option<usize>| match at {
            Some(at) => format!("{list}[{at}]"),
            None => list.to_owned(),
        };
        match self {
            Self::Room => "room".into(),
            Self::Box(name) => in_list("boxes", plan.boxes.iter().position(|b| b.name == *name)),
            Self::Cloth(name) => {
                in_list("cloths", plan.cloths.iter().position(|c| c.name == *name))
            }
            Self::Sitter => "sitter".into(),
            Self::Light(name) => {
                in_list("lights", plan.lights.iter().position(|l| l.name == *name))
            }
            Self::Board(name) => {
                in_list("boards", plan.boards.iter().position(|b| b.name == *name))
            }
            Self::Lamp(name) => in_list("lamps", plan.lamps.iter().position(|l| l.name == *name)),
            Self::Window(name) => {
                in_list("windows", plan.windows.iter().position(|w| w.name == *name))
            }
            Self::Camera => "camera".into(),
            Self::Focus => "camera.focus".into(),
            Self::Framing => "camera.framing".into(),
        }
    }
}

/// A set that cannot stand in its room.
#[derive(Debug, Error)]
pub enum StageError {
    /// A target names nothing.
    #[error("{owner}: there is no \"{name}\" to point at; there are {}", known.join(", "))]
    UnknownTarget {
        /// Who asks.
        owner: Part,
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
        owner: Part,
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
        owner: Part,
        /// Where.
        at: Vec3,
        /// The room.
        room: RoomBox,
    },
    /// The sitter's top or limbs are through the room's surface.
    #[error("the sitter reaches {by_m:.2} m through the {side}; {hint}")]
    SitterOutside {
        /// How far, metres.
        by_m: f32,
        /// Which surface.
        side: &'static str,
        /// What would be right.
        hint: &'static str,
    },
    /// The lens cannot focus that near.
    #[error(
        "camera: the focus plane lies {focus_m:.2} m before a {focal_mm} mm lens, which cannot focus there; focus on something farther than twice the focal length and in front of the camera"
    )]
    FocusTooNear {
        /// Metres.
        focus_m: f64,
        /// Millimetres.
        focal_mm: f64,
    },
    /// The frame cannot be had.
    #[error(transparent)]
    Framing(#[from] FramingError),
    /// A file that the plan names cannot be used.
    #[error("{owner}: {}: {problem}; {remedy}", file.escape_debug())]
    File {
        /// Who names it.
        owner: Part,
        /// In which field of its entry.
        field: &'static str,
        /// As written.
        file: String,
        /// What is wrong, with the line where there is one.
        problem: String,
        /// What to do.
        remedy: String,
    },
    /// A light whose level follows from no figure.
    #[error("{owner}: {problem}; {remedy}")]
    Level {
        /// The light.
        owner: Part,
        /// What is wrong.
        problem: &'static str,
        /// What to do.
        remedy: &'static str,
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

impl StageError {
    /// The entry of the plan it is about.
    pub fn part(&self) -> Part {
        match self {
            Self::UnknownTarget { owner, .. }
            | Self::NoDirection { owner, .. }
            | Self::File { owner, .. }
            | Self::Level { owner, .. }
            | Self::OutsideRoom { owner, .. } => owner.clone(),
            Self::SitterOutside { .. } | Self::Sitter(_) => Part::Sitter,
            Self::FocusTooNear { .. } => Part::Focus,
            Self::Framing(_) => Part::Framing,
            Self::Room(error) => room_part(error),
            Self::Cloth(error) => match error {
                cloth::ClothError::Value { cloth, .. }
                | cloth::ClothError::OutsideRoom { cloth, .. }
                | cloth::ClothError::UnknownBox { cloth, .. }
                | cloth::ClothError::NoBox { cloth }
                | cloth::ClothError::Paint { cloth, .. } => Part::Cloth(cloth.clone()),
                cloth::ClothError::Box(error) => room_part(error),
            },
            Self::Fixture(error) => match error {
                fixture::BoardError::Side { board, .. }
                | fixture::BoardError::Openings { board, .. }
                | fixture::BoardError::Holes { board }
                | fixture::BoardError::Picture { board, .. }
                | fixture::BoardError::Paint { board, .. } => Part::Board(board.clone()),
            },
        }
    }

    /// The path of the field to change in the plan's text, `lights[1].place`.
    pub fn field(&self, plan: &Plan) -> String {
        let part = self.part();
        let path = part.path(plan);
        match self {
            Self::OutsideRoom { .. } => format!("{path}.place"),
            Self::File { field, .. } => format!("{path}.{field}"),
            Self::Fixture(fixture::BoardError::Picture { .. }) => format!("{path}.kind.file"),
            Self::Level { .. } => format!("{path}.head.output"),
            Self::UnknownTarget { .. } | Self::NoDirection { .. } if part != Part::Focus => {
                format!("{path}.aim")
            }
            _ => path,
        }
    }

    /// What is wrong, and what to do.
    pub fn told(&self) -> (String, String) {
        let text = self.to_string();
        match text.split_once("; ") {
            Some((problem, remedy)) => (problem.into(), remedy.into()),
            None => (text, format!("change the {} in the plan", self.part())),
        }
    }
}

fn room_part(error: &room::RoomError) -> Part {
    match error {
        room::RoomError::BoxSide { name, .. } | room::RoomError::BoxPlace { name, .. } => {
            Part::Box(name.clone())
        }
        room::RoomError::Window { name, .. } => Part::Window(name.clone()),
        room::RoomError::RoomSide { .. }
        | room::RoomError::MarkOutside { .. }
        | room::RoomError::Paint { .. } => Part::Room,
    }
}
