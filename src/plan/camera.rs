//! The camera and its setting.

use serde::{Deserialize, Serialize};

use super::is_default;
use super::light::{Place, Target};
use super::units::{Aperture, Diffusion, Length, Neutral, Shutter};

/// Image area.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Format {
    /// Long or horizontal side in millimetres, camera held level.
    pub width_mm: f64,
    /// Vertical side in millimetres, camera held level.
    pub height_mm: f64,
}

/// How much of the sitter or the set a frame shows, with the camera moved or the lens chosen for
/// it. The frame's middle is then the part's, and `aim` is not used.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Framing {
    /// What is to fill the frame.
    pub part: Extent,
    /// Share of the frame's height that it takes.
    pub height: f64,
    /// What is changed for it.
    #[serde(default, skip_serializing_if = "is_default")]
    pub by: FramedBy,
    /// How far above the frame's middle its own middle lies, as a share of the frame's height.
    #[serde(default, skip_serializing_if = "is_default")]
    pub rise: f64,
}

/// What a framing measures: from the top of the hair down to a named height.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Extent {
    /// To the chin.
    Head,
    /// To the shoulders.
    HeadAndShoulders,
    /// To the breast bone.
    Bust,
    /// To the hips.
    HalfLength,
    /// To the knees.
    ThreeQuarter,
    /// To the soles.
    FullLength,
    /// The whole of a cloth, box or board.
    Named(String),
}

/// How a framing is reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum FramedBy {
    /// The camera moves along the line from the part to its place.
    #[default]
    Distance,
    /// The camera keeps its place and the focal length is chosen.
    Lens,
}

/// How light falls off toward the corners.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Vignetting {
    /// By the angle alone: cos⁴.
    Natural,
    /// Besides, by the lens's barrel, which hides part of a wide pupil from the corners.
    Barrel {
        /// The lens's widest aperture.
        widest: Aperture,
        /// Stops the barrel takes in the corners at that aperture.
        corner_stops: f64,
    },
}

/// The camera.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Camera {
    /// Image area, 36 × 24 mm by default.
    pub format: Format,
    /// Held upright (portrait).
    pub upright: bool,
    /// Focal length in millimetres.
    pub focal_mm: f64,
    /// Aperture.
    pub aperture: Aperture,
    /// Shutter time.
    pub shutter: Shutter,
    /// ISO speed (standard output sensitivity, ISO 12232).
    pub iso: f64,
    /// Neutral filter before the lens: takes flash and room alike.
    #[serde(skip_serializing_if = "is_default")]
    pub nd: Neutral,
    /// Fastest shutter time that flash follows.
    pub sync: Shutter,
    /// Time a curtain takes over the frame; four fifths of the sync time where it is not given.
    #[serde(skip_serializing_if = "is_default")]
    pub curtain: Option<Shutter>,
    /// Beyond sync the heads pulse through the slit's travel: no dark band, and less light.
    #[serde(skip_serializing_if = "is_default")]
    pub high_speed_sync: bool,
    /// White balance in kelvin.
    pub white_balance: f64,
    /// Entrance pupil.
    pub place: Place,
    /// Middle of the frame.
    pub aim: Target,
    /// Focus plane goes through this.
    pub focus: Target,
    /// What is to fill the frame, if place or lens are to follow from it.
    #[serde(skip_serializing_if = "is_default")]
    pub framing: Option<Framing>,
    /// Diffusion filter before the lens.
    #[serde(skip_serializing_if = "is_default")]
    pub diffusion: Diffusion,
    /// Fall-off toward the corners; none where it is not given.
    #[serde(skip_serializing_if = "is_default")]
    pub vignetting: Option<Vignetting>,
    /// Share of the light of a source shining into the lens that its glass strays evenly over
    /// the picture; 0 is a perfect lens.
    #[serde(skip_serializing_if = "is_usual_flare")]
    pub flare: f64,
}

/// A modern coated lens (common practice, no source: veiling glare of 0.5 to 2 % as ISO 9358
/// measures it).
pub const USUAL_FLARE: f64 = 0.005;

fn is_usual_flare(share: &f64) -> bool {
    *share == USUAL_FLARE
}

impl Default for Camera {
    fn default() -> Self {
        Self {
            format: Format { width_mm: 36.0, height_mm: 24.0 },
            upright: true,
            focal_mm: 85.0,
            aperture: Aperture { f_number: 8.0 },
            shutter: Shutter { seconds: 1.0 / 125.0 },
            iso: 100.0,
            nd: Neutral::default(),
            sync: Shutter { seconds: 1.0 / 200.0 },
            curtain: None,
            high_speed_sync: false,
            white_balance: 5600.0,
            place: Place::Stand {
                azimuth: 0.0,
                distance: Length::metres(3.0),
                height: Length::metres(1.5),
            },
            aim: Target::Face,
            focus: Target::NearEye,
            framing: None,
            diffusion: Diffusion::default(),
            vignetting: None,
            flare: USUAL_FLARE,
        }
    }
}
