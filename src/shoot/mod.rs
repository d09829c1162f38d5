//! Joins the pieces: plan to stage to layers to picture and readings; what verbs and the window call.

pub mod balance;
pub mod check;
mod engine;
mod gains;
pub mod keys;
mod map;
pub mod options;
pub mod output;
pub mod papers;
mod rastered;
mod read_meter;
pub mod readings;
mod still;
mod stopping;
mod table;
mod take;

use std::path::Path;

pub use balance::{BalanceOptions, Balanced, balance};
pub use check::{Note, Severity};
pub use gains::{exposure, mix, try_mix};
pub use map::{MapZero, map_of, stops_map};
pub use options::{
    Device, DomeAim, Engine, EngineOptions, MeterOptions, MeterPoint, Progress, Settle,
    StillOptions,
};
pub use output::{Output, OutputError};
pub use read_meter::{meter, meter_places, read};
pub use readings::Readings;
pub use still::{default_size, layers, lit, still};
pub use stopping::stoppable;
pub use table::{TableStyle, columns};
pub use take::{Rays, curtains, develop_plan, development, rays, record, take, taking, view};

pub use crate::optics::fstop::{self, Step};
pub use crate::picture::FileFormat;

use crate::export::{self, ExportError};
use crate::gpu::GpuError;
use crate::papers::DrawError;
use crate::picture::{EncodeError, ExrError, MixError};
use crate::plan::Plan;
use crate::plan::vary::VaryError;
use crate::stage::{self, StageError};

/// Why work on a good plan failed.
#[derive(Debug, thiserror::Error)]
pub enum ShootError {
    /// The result could not be kept.
    #[error(transparent)]
    Output(#[from] OutputError),
    /// The set cannot stand in its room.
    #[error(transparent)]
    Stage(#[from] StageError),
    /// Called off by whoever asked for it.
    #[error("stopped before it was done; nothing was written")]
    Stopped,
    /// Nothing is lit.
    #[error("every light is off and there is no ambient: nothing would be seen; turn one on")]
    Dark,
    /// A room light is to be read where none of it arrives.
    #[error(
        "{name}: no light of it reaches the place where its EV is read, x {:.2}, y {:.2}, z {:.2} m\n   \
         hint: move what stands before that place, or give a lamp's level by Lumens",
        at[0], at[1], at[2]
    )]
    Unread {
        /// The light.
        name: String,
        /// Where it is read, metres.
        at: [f32; 3],
    },
    /// More layers and pixels than memory has room for.
    #[error(
        "{megapixels:.0} megapixels with {lights} lights are too many to hold in memory\n   hint: keep \
         the size under {most_megapixels:.0} megapixels, or render fewer lights at a time with --only"
    )]
    TooLarge {
        /// Asked for.
        megapixels: f64,
        /// Lit or asked for.
        lights: usize,
        /// What so many lights may have.
        most_megapixels: f64,
    },
    /// No such place on this stage.
    #[error("there is no \"{name}\" on this set; there are {}", known.join(", "))]
    NoMark {
        /// What was asked for.
        name: String,
        /// What there is.
        known: Vec<String>,
    },
    /// Shadow mapping was asked for where it cannot run.
    #[error(
        "the raster engine draws on a graphics card (software Vulkan counts), never on the processor\n   hint: \
         leave out --device cpu, or use --engine trace"
    )]
    RasterOnCpu,
    /// The graphics card cannot be used.
    #[error(transparent)]
    Gpu(#[from] GpuError),
    /// A reading is wished where the light does not come.
    #[error(
        "no light of \"{light}\" reaches {place}, so no power gives the wished reading there\n   \
         hint: name a place that it lights, such as {light}=…@crown, or turn the head toward it"
    )]
    Unlit {
        /// The light.
        light: String,
        /// The place.
        place: String,
    },
    /// A place whose tone is asked for is not in the picture.
    #[error(
        "{place} is not in the picture, so its tone cannot be taken\n   hint: turn the camera to it, \
         or name another place"
    )]
    OutOfFrame {
        /// The place.
        place: String,
    },
    /// A place whose tone is asked for is behind something.
    #[error(
        "{place} is hidden from the camera, so its tone cannot be taken\n   hint: name a place that \
         is seen"
    )]
    Hidden {
        /// The place.
        place: String,
    },
    /// Layers and mix do not fit: ours.
    #[error(transparent)]
    Mix(#[from] MixError),
    /// The picture could not be encoded.
    #[error("the picture cannot be encoded: {0}")]
    Encode(#[from] EncodeError),
    /// The plan could not be put into words: ours.
    #[error("the plan cannot be written into the picture: {0}")]
    Plan(#[from] ron::Error),
    /// The layers could not be encoded.
    #[error("the layers cannot be encoded: {0}")]
    Exr(#[from] ExrError),
    /// A page could not be drawn.
    #[error(transparent)]
    Page(#[from] DrawError),
    /// A field of the plan that does not vary as asked.
    #[error(transparent)]
    Vary(#[from] VaryError),
    /// A picture for the board that could not be read.
    #[error("{path}: {problem}\n   hint: {remedy}")]
    Picture {
        /// The file.
        path: String,
        /// What is wrong with it.
        problem: String,
        /// What would be right.
        remedy: String,
    },
    /// The stage could not be exported.
    #[error(transparent)]
    Export(#[from] ExportError),
}

/// Writes the stage as glTF into a folder that exists or can be made.
pub fn export(plan: &Plan, folder: &Path) -> Result<(), ShootError> {
    export::gltf::write(&stage::build(plan)?, folder)?;
    Ok(())
}

/// Everything to know before the day.
pub fn notes(plan: &Plan) -> Vec<Note> {
    check::check(plan, stage::build(plan).as_ref())
}
