//! Paint to linear reflectance.
//!
//! In: a plan's [`Paint`], an sRGB hue and perhaps a luminous reflectance. Out: diffuse
//! reflectance in linear Rec.709, every channel within 0 to 1.

use glam::{DVec3, Vec3};
use thiserror::Error;

use crate::optics::color::{luminance_f64, parse_hex};
use crate::plan::Paint;

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
        parse_hex(&paint.color).ok_or_else(|| PaintError::NotAColor(paint.color.clone()))?;
    let Some(target) = paint.reflectance else {
        return Ok(linear);
    };
    let linear = linear.as_dvec3();
    if !(0.0..=1.0).contains(&target) {
        return Err(PaintError::Reflectance(target));
    }
    let luminance = luminance_f64(linear);
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
            assert!((luminance_f64(linear) - r).abs() < 1e-6, "{hex}");
        }
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
