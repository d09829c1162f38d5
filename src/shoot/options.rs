//! What a caller wants of a verb, checked; how far the work is.

/// Which engine renders.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Engine {
    /// The best that this machine has.
    #[default]
    Auto,
    /// The path tracer.
    Trace,
    /// Shadow mapping on a graphics card: quick, and near the truth.
    Raster,
}

/// Where it runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Device {
    /// On a graphics card if there is a real one.
    #[default]
    Auto,
    /// On the processor.
    Cpu,
    /// On a graphics card; software Vulkan counts.
    Gpu,
}

/// What makes pictures.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct EngineOptions {
    /// Which engine.
    pub engine: Engine,
    /// Where it runs.
    pub device: Device,
    /// Part of the name of the graphics card to use.
    pub adapter: Option<String>,
}

/// When a rendering is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Settle {
    /// After this many samples for each pixel.
    Samples(u32),
    /// When the picture's error is within this many stops.
    Within {
        /// Stops.
        stops: f64,
    },
}

impl Default for Settle {
    fn default() -> Self {
        Self::Within { stops: 0.05 }
    }
}

/// A still.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StillOptions {
    /// Pixels across and down; by default the camera's format at a size that settles in minutes.
    pub size: Option<(u32, u32)>,
    /// When to stop.
    pub settle: Settle,
    /// Names of the lights to keep, `"ambient"` for the room's; empty keeps all that are on.
    pub only: Vec<String>,
    /// Which engine, where.
    pub engine: EngineOptions,
    /// Same seed, same picture.
    pub seed: u64,
}

/// Where the meter is held.
#[derive(Debug, Clone, PartialEq)]
pub enum MeterPoint {
    /// At a mark of the stage: a part of the sitter or a thing of the set.
    Mark(String),
    /// At a point in metres from the mark.
    Point([f64; 3]),
}

/// What the meter's dome looks at.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum DomeAim {
    /// The camera.
    #[default]
    Camera,
    /// Each light in turn.
    EachLight,
    /// One light, for all of them.
    Light(String),
    /// A place.
    Toward(MeterPoint),
}

/// A reading.
#[derive(Debug, Clone, PartialEq)]
pub struct MeterOptions {
    /// Where it is held.
    pub at: MeterPoint,
    /// Where it looks.
    pub dome: DomeAim,
    /// A flat receptor instead of the dome; toward the camera means along the surface's normal.
    pub flat: bool,
    /// Also read a spot meter of this angle in degrees from the camera.
    pub spot_degrees: Option<f64>,
    /// Same seed, same reading.
    pub seed: u64,
}

/// How far long work is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Share done, 0 to 1.
    pub done: f64,
    /// What is being done, a few words; or a `note: …` for the user to read.
    pub step: &'static str,
}
