//! How the picture is developed: tone, contrast, black and white.

use serde::{Deserialize, Serialize};

use super::is_default;

/// The development.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Development {
    /// The curve.
    #[serde(skip_serializing_if = "is_default")]
    pub tone: Tone,
    /// Stops of the picture for each stop of the scene, about middle grey: 1 leaves it, 1.2 is a
    /// fifth more.
    #[serde(skip_serializing_if = "is_one")]
    pub contrast: f64,
    /// Black and white, by how much each colour counts.
    #[serde(skip_serializing_if = "is_default")]
    pub monochrome: Option<ChannelMix>,
    /// Hatch what is lost: orange-red in the lights, blue in the darks.
    #[serde(skip_serializing_if = "is_default")]
    pub clipping: bool,
}

impl Default for Development {
    fn default() -> Self {
        Self { tone: Tone::default(), contrast: 1.0, monochrome: None, clipping: false }
    }
}

fn is_one(value: &f64) -> bool {
    *value == 1.0
}

/// Curves from light to tones.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Tone {
    /// Middle grey kept, white paper near 240 of 255, highlights rolled off.
    #[default]
    Neutral,
    /// sRGB as it is, clipped at white.
    Straight,
}

/// How much each colour counts in black and white; only the proportions matter. A negative share
/// darkens that colour, as a filter of the opposite colour on the lens would.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct ChannelMix {
    /// Red.
    pub red: f64,
    /// Green.
    pub green: f64,
    /// Blue.
    pub blue: f64,
}

impl Default for ChannelMix {
    /// As bright as the colours are (Rec. 709 luminance).
    fn default() -> Self {
        Self { red: 0.2126, green: 0.7152, blue: 0.0722 }
    }
}
