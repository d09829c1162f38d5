//! Colours and surfaces of the sitter.
//!
//! In: the plan's skin step, sheen, hair colour, fabric. Out: [`Surface`]s, and the tint of skin
//! at a place of the head.

use std::sync::Arc;

use glam::Vec3;

use crate::optics::surface::{Coat, Scatter, Surface, Velvet};
use crate::plan::{Fabric, Finish};

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

fn coated(name: &str, reflectance: Vec3, ior: f32, alpha: f32) -> Surface {
    let scatter = Scatter::Coated(Arc::new(Coat { ior, alpha }));
    Surface { name: name.into(), reflectance, scatter }
}

/// Skin of step 1 to 10; `sheen` 0 powdered to 1 oiled.
pub fn skin(step: u8, sheen: f32) -> Surface {
    let reflectance = Vec3::from(MONK[usize::from(step.clamp(1, 10)) - 1]);
    coated("skin", reflectance, 1.40, 0.48 - 0.26 * sheen)
}

/// The wet eye; its colours are the mesh's tints.
pub fn eye() -> Surface {
    coated("eye", Vec3::ONE, 1.376, 0.035)
}

/// Hair as a mass.
pub fn hair(linear: Vec3) -> Surface {
    coated("hair", linear, 1.55, 0.42)
}

/// Cloth on the body.
pub fn fabric(name: &str, fabric: &Fabric) -> Result<Surface, String> {
    let hue = linear_from_hex(&fabric.paint.color)?;
    let luminance = hue.dot(LUMINANCE);
    let reflectance = match fabric.paint.reflectance {
        Some(wanted) if luminance > 0.0 => {
            (hue * (wanted as f32 / luminance)).min(Vec3::splat(0.98))
        }
        _ => hue,
    };
    let scatter = match fabric.finish {
        Finish::Matte => Scatter::Diffuse,
        Finish::Satin => Scatter::Coated(Arc::new(Coat { ior: 1.46, alpha: 0.30 })),
        Finish::Velvet => Scatter::Velvet(Arc::new(Velvet { pile: 0.6 })),
    };
    Ok(Surface { name: name.into(), reflectance, scatter })
}

/// Rec.709 luminance of linear RGB.
const LUMINANCE: Vec3 = Vec3::new(0.2126, 0.7152, 0.0722);

/// Linear Rec.709 of `"#rrggbb"` (sRGB, IEC 61966-2-1).
pub fn linear_from_hex(hex: &str) -> Result<Vec3, String> {
    let digits = hex.strip_prefix('#').unwrap_or(hex);
    let value =
        (digits.len() == 6 && digits.is_ascii()).then(|| u32::from_str_radix(digits, 16).ok());
    let Some(value) = value.flatten() else {
        return Err(hex.into());
    };
    let channel = |shift: u32| {
        let v = (value >> shift & 255) as f32 / 255.0;
        if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    Ok(Vec3::new(channel(16), channel(8), channel(0)))
}
