//! Paint to linear reflectance.
//!
//! In: a plan's [`Paint`], an sRGB hue and perhaps a luminous reflectance. Out: diffuse
//! reflectance in linear Rec.709, every channel within 0 to 1.

use glam::{DVec3, Vec3};
use thiserror::Error;

use crate::plan::Paint;

/// Luminance weights of linear Rec.709 primaries (ITU-R BT.709-6, item 3.2).
const LUMINANCE: DVec3 = DVec3::new(0.2126, 0.7152, 0.0722);

/// What can be wrong with a paint; all are the plan's faults.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PaintError {
    /// Not a colour.
    #[error("\"{0}\" is no colour; write six hexadecimal digits after a #, such as \"#a98a66\"")]
    NotAColor(String),
    /// Not a reflectance.
    #[error("reflectance {0} must be between 0 (black) and 1 (all light returned)")]
    Reflectance(f64),
    /// So bright in this hue that a channel would return more light than falls on it.
    #[error(
        "no matt paint of hue {color} reflects {reflectance}; at most {most:.3}, or take a paler colour"
    )]
    TooBright {
        /// The hue as written.
        color: String,
        /// The reflectance as written.
        reflectance: f64,
        /// The most this hue can reflect.
        most: f64,
    },
}

/// Diffuse reflectance in linear Rec.709.
///
/// Where the paint states a reflectance only the hue of its colour counts: the decoded colour is
/// scaled until its luminance is that reflectance. Black has no hue and counts as neutral then.
pub fn reflectance(paint: &Paint) -> Result<Vec3, PaintError> {
    let linear =
        srgb_hex(&paint.color).ok_or_else(|| PaintError::NotAColor(paint.color.clone()))?;
    let Some(target) = paint.reflectance else {
        return Ok(linear.as_vec3());
    };
    if !(0.0..=1.0).contains(&target) {
        return Err(PaintError::Reflectance(target));
    }
    let luminance = linear.dot(LUMINANCE);
    if luminance == 0.0 {
        return Ok(Vec3::splat(target as f32));
    }
    let most = luminance / linear.max_element();
    // a neutral white of 1 must pass although the weights sum to 1 only within rounding
    if target > most + 1e-9 {
        return Err(PaintError::TooBright {
            color: paint.color.clone(),
            reflectance: target,
            most,
        });
    }
    Ok((linear * (target / luminance)).min(DVec3::ONE).as_vec3())
}

/// `"#rrggbb"` to linear light; `None` if it is not that.
fn srgb_hex(text: &str) -> Option<DVec3> {
    let digits = text.strip_prefix('#')?;
    if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let channel = |at: usize| u8::from_str_radix(&digits[at..at + 2], 16).ok().map(srgb_decode);
    Some(DVec3::new(channel(0)?, channel(2)?, channel(4)?))
}

/// The sRGB transfer curve (IEC 61966-2-1).
fn srgb_decode(code: u8) -> f64 {
    let v = f64::from(code) / 255.0;
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paint(reflectance: Option<f64>, color: &str) -> Paint {
        Paint { reflectance, color: color.into() }
    }

    #[test]
    fn a_stated_reflectance_is_the_luminance_of_the_result() {
        for (hex, r) in [("#a98a66", 0.30), ("#3050c0", 0.05), ("#ffffff", 1.0), ("#c08040", 0.4)] {
            let linear = reflectance(&paint(Some(r), hex)).unwrap().as_dvec3();
            assert!((linear.dot(LUMINANCE) - r).abs() < 1e-6, "{hex}");
        }
    }

    #[test]
    fn middle_code_value_decodes_to_its_published_linear_value() {
        // IEC 61966-2-1: code 188 is 50.3 % of white
        let linear = reflectance(&paint(None, "#bcbcbc")).unwrap();
        assert!((linear.x - 0.5029).abs() < 1e-4, "{}", linear.x);
    }

    #[test]
    fn a_hue_cannot_reflect_more_than_all() {
        let Err(PaintError::TooBright { most, .. }) = reflectance(&paint(Some(0.5), "#0000ff"))
        else {
            panic!("a blue of reflectance 0.5 passed");
        };
        assert!((most - 0.0722).abs() < 1e-9);
        assert!(reflectance(&paint(Some(0.07), "#0000ff")).is_ok());
    }

    #[test]
    fn black_with_a_reflectance_is_neutral() {
        assert_eq!(reflectance(&paint(Some(0.04), "#000000")).unwrap(), Vec3::splat(0.04));
    }

    #[test]
    fn what_is_no_paint_is_refused() {
        for hex in ["", "#fff", "ffffff", "#gggggg", "#+f+f+f", "#ffffff0", "#ééé"] {
            assert!(matches!(reflectance(&paint(None, hex)), Err(PaintError::NotAColor(_))));
        }
        for r in [-0.1, 1.01, f64::NAN, f64::INFINITY] {
            assert!(matches!(reflectance(&Paint::grey(r)), Err(PaintError::Reflectance(_))));
        }
    }
}
