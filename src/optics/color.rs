//! Colour: luminance.

use glam::Vec3;

/// Luminance weights of linear Rec.709 (ITU-R BT.709).
pub const LUMINANCE: Vec3 = Vec3::new(0.2126, 0.7152, 0.0722);

/// Luminance of a linear Rec.709 colour.
#[inline]
pub fn luminance(rgb: Vec3) -> f32 {
    rgb.dot(LUMINANCE)
}
