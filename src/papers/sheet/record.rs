//! What a set-up sheet says, as data: the pages are drawn from it and `--json` prints it.
//!
//! Keys carry units. Azimuths run round the stage mark: 0 from the camera's side (+z), + to camera
//! right, 180 straight behind. Tilt is degrees above the horizontal. The JSON's keys are a promise:
//! add, never rename.

use std::collections::BTreeMap;

use serde::Serialize;

use super::units::Units;

/// A set-up sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SetUp {
    /// The picture's title.
    pub title: String,
    /// The plan's remark.
    pub note: String,
    /// Job line: client, place, crew.
    pub job: String,
    /// The day.
    pub date: String,
    /// What the pages print lengths in.
    pub units: Units,
    /// The room's walls and ceiling, from the mark.
    pub room: Room,
    /// The camera.
    pub camera: CameraBlock,
    /// The sitter, if any.
    pub sitter: Option<Sitter>,
    /// Two fixed points of the floor that tapes run from.
    pub tape: [TapePoint; 2],
    /// The lights in the plan's order.
    pub lights: Vec<Light>,
    /// Flags, cut-outs, reflectors.
    pub boards: Vec<Board>,
    /// Cloth.
    pub cloths: Vec<Thing>,
    /// Crates and plinths.
    pub boxes: Vec<Thing>,
    /// The room's own light.
    pub ambient: Option<Ambient>,
    /// Test frames in shooting order.
    pub tests: Vec<Test>,
    /// What to pack.
    pub pack: Vec<Pack>,
    /// What to mind.
    pub cautions: Vec<Caution>,
}

/// Walls and ceiling: metres from the mark.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Room {
    /// To the left wall.
    pub left_m: f64,
    /// To the right wall.
    pub right_m: f64,
    /// To the back wall.
    pub back_m: f64,
    /// To the front wall, behind the camera.
    pub front_m: f64,
    /// Floor to ceiling.
    pub height_m: f64,
}

/// A place above the floor.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spot {
    /// Camera right of the mark.
    pub x_m: f64,
    /// Toward the camera from the mark.
    pub z_m: f64,
    /// Above the floor.
    pub height_m: f64,
    /// Along the floor from the mark.
    pub floor_distance_m: f64,
    /// Round the mark.
    pub azimuth_deg: f64,
    /// From the two tape points to the floor under it.
    pub tapes_m: [f64; 2],
}

/// Where something looks.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Aim {
    /// In words.
    pub at: String,
    /// Round the vertical.
    pub azimuth_deg: f64,
    /// Above the horizontal.
    pub tilt_deg: f64,
    /// To what it points at, where that is a place.
    pub distance_m: Option<f64>,
}

/// The camera.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CameraBlock {
    /// The lens's entrance pupil.
    pub spot: Spot,
    /// The middle of the frame.
    pub aim: Aim,
    /// Image area as held, width and height.
    pub format_mm: [f64; 2],
    /// Held upright.
    pub upright: bool,
    /// Focal length.
    pub focal_mm: f64,
    /// f-number.
    pub aperture: f64,
    /// Shutter time.
    pub shutter_s: f64,
    /// Fastest shutter time that flash follows.
    pub sync_s: f64,
    /// ISO.
    pub iso: f64,
    /// White balance.
    pub white_balance_k: f64,
    /// Focus, along the axis.
    pub focus_m: f64,
    /// What is focused on.
    pub focus_on: String,
    /// Near and far limit of what passes as sharp; far is null beyond all.
    pub sharp_m: [Option<f64>; 2],
    /// Width and height that the frame holds at the focus.
    pub frame_m: [f64; 2],
    /// Aperture, shutter in words.
    pub words: String,
}

/// The sitter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sitter {
    /// Right of the mark.
    pub x_m: f64,
    /// Toward the camera from the mark.
    pub z_m: f64,
    /// Of the body, + to camera right.
    pub turn_deg: f64,
    /// Of the head on the body.
    pub head_turn_deg: f64,
    /// Standing height.
    pub height_m: f64,
    /// Where the meter is held: the face, above the floor.
    pub face_height_m: f64,
    /// Pose, garment and hair in words.
    pub words: String,
}

/// A fixed point of the floor.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TapePoint {
    /// `A` or `B`.
    pub name: String,
    /// In words.
    pub place: String,
    /// Right of the mark.
    pub x_m: f64,
    /// Toward the camera from the mark.
    pub z_m: f64,
}

/// A light.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Light {
    /// Its number on the drawings.
    pub number: usize,
    /// The plan's name.
    pub name: String,
    /// What it does.
    pub role: String,
    /// Lit.
    pub on: bool,
    /// The front of the head.
    pub spot: Spot,
    /// Where it points.
    pub aim: Aim,
    /// To the sitter's face, and degrees above it.
    pub face_distance_m: f64,
    /// Above the face's horizontal.
    pub face_elevation_deg: f64,
    /// What is before the tube.
    pub modifier: String,
    /// Colour filter.
    pub gel: Option<String>,
    /// Stops below full.
    pub power_stops: f64,
    /// As fraction and stops.
    pub power: String,
    /// Energy at this power.
    pub energy_ws: f64,
    /// Energy at full power.
    pub full_energy_ws: f64,
    /// Colour temperature before the filter.
    pub kelvin: f64,
    /// What holds it.
    pub support: String,
    /// What a meter at the face reads of it alone.
    pub alone_f_number: Option<f64>,
    /// Stops over the camera's aperture.
    pub alone_stops_vs_camera: Option<f64>,
    /// The reading in words.
    pub alone: String,
}

/// A flag, cut-out or reflector.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Board {
    /// The plan's name.
    pub name: String,
    /// What it is.
    pub words: String,
    /// Its middle.
    pub spot: Spot,
    /// Where its face looks.
    pub aim: Aim,
    /// Turn about its normal.
    pub roll_deg: f64,
    /// Width.
    pub width_m: f64,
    /// Height.
    pub height_m: f64,
}

/// A cloth or a box.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Thing {
    /// The plan's name.
    pub name: String,
    /// What it is and how it is put up.
    pub words: String,
    /// Measures by name, with their unit.
    pub measures: BTreeMap<&'static str, f64>,
}

/// The room's own light.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ambient {
    /// At ISO 100.
    pub ev: f64,
    /// Colour temperature.
    pub kelvin: f64,
    /// What a meter at the face reads at the shutter time.
    pub f_number: Option<f64>,
}

/// A test frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Test {
    /// What it is.
    pub name: String,
    /// The lights that are on.
    pub on: Vec<String>,
    /// What a meter at the face should read.
    pub f_number: Option<f64>,
    /// Stops from the frame before.
    pub change_stops: Option<f64>,
    /// The reading in words.
    pub words: String,
    /// The change in words.
    pub change_words: String,
}

/// Something to pack.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Pack {
    /// How many.
    pub count: usize,
    /// What.
    pub what: String,
}

/// Something to mind.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Caution {
    /// `problem`, `caution` or `safety`.
    pub severity: String,
    /// The thing it is about.
    pub subject: String,
    /// What will happen, and what to do about it.
    pub words: String,
}
