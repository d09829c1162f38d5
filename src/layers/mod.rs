//! Named linear images, one for each light and one for the room's own light.
//!
//! A layer holds what its light alone gives at unit setting with white light, so that power,
//! gel, colour temperature, shutter, aperture and ISO are gains at the mix and need no new rays.

use glam::Vec3;

/// What a layer's values are integrals of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LightKind {
    /// Luminance times flash time at full power: cd·s/m².
    Flash,
    /// Luminance at unit level: cd/m².
    Continuous,
}

/// One light's picture.
#[derive(Debug, Clone)]
pub struct Layer {
    /// The light's name; `"ambient"` for the room.
    pub name: String,
    /// What the values are.
    pub kind: LightKind,
    /// Row-major from the top left: mean estimate, linear Rec.709.
    pub pixels: Vec<Vec3>,
    /// Variance of the mean, one a pixel, of the luminance.
    pub variance: Vec<f32>,
}

/// The layers of one view.
#[derive(Debug, Clone)]
pub struct Layers {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// One a light, in the plan's order, the room's last.
    pub layers: Vec<Layer>,
    /// Distance along the optical axis in metres of the first surface, 0 where there is none.
    pub depth: Vec<f32>,
    /// Samples taken for each pixel.
    pub samples: Vec<u32>,
}

impl Layers {
    /// The layer of this name.
    pub fn named(&self, name: &str) -> Option<&Layer> {
        self.layers.iter().find(|layer| layer.name == name)
    }
}
