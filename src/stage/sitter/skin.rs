//! Colours and surfaces of the sitter.
//!
//! In: the plan's skin step, sheen and hair colour. Out: [`Surface`]s.

use glam::Vec3;

use crate::optics::surface::{Coat, Surface};

/// Linear Rec.709 of the Monk Skin Tone scale's ten swatches (E. Monk, 2022), lightest first.
const MONK: [[f32; 3]; 10] = [
    [0.921582, 0.846873, 0.775822],
    [0.896269, 0.799103, 0.708376],
    [0.930111, 0.822786, 0.630757],
    [0.822786, 0.701102, 0.491021],
    [0.679542, 0.508881, 0.304987],
    [0.351533, 0.208637, 0.093059],
    [0.223228, 0.107023, 0.0561285],
    [0.116971, 0.0528606, 0.0343398],
    [0.0423114, 0.0307134, 0.0231534],
    [0.0221739, 0.017642, 0.0144438],
];

/// Skin of step 1 to 10; `sheen` 0 powdered to 1 oiled. The step's swatch is what is seen without
/// the sheen; the base under the coat is brighter (Saunderson's correction).
pub fn skin(step: u8, sheen: f32) -> Surface {
    let seen = seen_skin(step);
    let (ior, alpha) = (1.40, 0.48 - 0.26 * sheen);
    let base = Coat::new(ior, alpha).base_for(seen).min(Vec3::splat(0.99));
    Surface::coated("skin", base, ior, alpha)
}

/// Diffuse reflectance of a skin step.
pub fn seen_skin(step: u8) -> Vec3 {
    Vec3::from(MONK[usize::from(step.clamp(1, 10)) - 1])
}

/// The wet eye; its colours are the mesh's tints.
pub fn eye() -> Surface {
    Surface::coated("eye", Vec3::ONE, 1.376, 0.035)
}

/// Hair as a mass.
pub fn hair(linear: Vec3) -> Surface {
    Surface::coated("hair", linear, 1.55, 0.75)
}
