//! Values with their units, as photographers spell them.

use serde::{Deserialize, Serialize};

/// A length. Written `1.5` (metres), `"1.5 m"`, `"180 cm"`, `"5 ft"` or `"5ft 2in"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Length {
    /// Metres.
    pub metres: f64,
}

impl Length {
    /// A length of `metres`.
    pub const fn metres(metres: f64) -> Self {
        Self { metres }
    }
}

/// Power of a head in stops below full: 0 is full, −3 is 1/8.
/// Written `-3`, `"1/8"`, `"-2 1/3"` or `"1/4 + 1/3"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Power {
    /// Stops relative to full power; never above 0 on a real head.
    pub stops: f64,
}

/// Aperture as an f-number. Written `8` or `"f/8"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Aperture {
    /// The f-number N.
    pub f_number: f64,
}

/// Shutter time. Written in seconds (`0.008`) or `"1/125"`, `"2 s"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Shutter {
    /// Seconds the shutter is open.
    pub seconds: f64,
}
