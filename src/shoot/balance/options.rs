//! What is wished of a balance.

use crate::shoot::options::{DomeAim, MeterPoint};

/// What is read.
#[derive(Debug, Clone, PartialEq)]
pub enum Subject {
    /// One light, the others off.
    Light(String),
    /// All lights and the room together, dome toward the camera.
    Total,
}

/// What a wish is counted from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Base {
    /// A reading of this f-number.
    Aperture(f64),
    /// The camera's aperture.
    Camera,
    /// The key's reading.
    Key,
    /// All lights together, at the balance's own place.
    Total,
}

/// One wish: `rim=+0.5@crown`.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// What is read.
    pub subject: Subject,
    /// Counted from this…
    pub base: Base,
    /// …so many stops above.
    pub stops: f64,
    /// Where; at the balance's own place if not said.
    pub at: Option<MeterPoint>,
}

/// A balance.
#[derive(Debug, Clone, PartialEq)]
pub struct BalanceOptions {
    /// At least one.
    pub wishes: Vec<Wish>,
    /// Where readings are taken unless a wish says otherwise.
    pub at: MeterPoint,
    /// Where the dome looks for each light's own reading.
    pub dome: DomeAim,
    /// The key; by default the light named so, else the first with an f-number, else the strongest.
    pub key: Option<String>,
    /// Lights whose distance is solved instead of their power.
    pub moved: Vec<String>,
    /// Step of all heads in stops, 0 for none; by default each head's own.
    pub step_stops: Option<f64>,
    /// Same seed, same readings.
    pub seed: u64,
}
