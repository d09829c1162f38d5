//! Colours and paints that can exist.

use glam::Vec3;

use super::{At, Faults};
use crate::optics::color::{luminance, parse_hex};
use crate::plan::Paint;

/// No diffuse surface reflects more; pressed barium sulphate, the whitest in use, is near this.
const WHITEST: f64 = 0.98;

impl Faults {
    /// Linear Rec.709 of an sRGB colour, or a fault and `None`.
    pub(super) fn color(&mut self, at: &At, color: &str) -> Option<Vec3> {
        let rgb = parse_hex(color);
        if rgb.is_none() {
            let shown: String = color.chars().take(24).collect();
            self.add(
                at,
                format!("\"{}\" is not a colour", shown.escape_debug()),
                "write red, green and blue in hexadecimal: \"#a98a66\"",
            );
        }
        rgb
    }

    /// A paint none of whose channels reflects more than comes in.
    pub(super) fn paint(&mut self, at: &At, paint: &Paint) {
        if let Some(reflectance) = paint.reflectance {
            self.range(&at.field("reflectance"), reflectance, 0.0, WHITEST, "");
        }
        let Some(rgb) = self.color(&at.field("color"), &paint.color) else { return };
        let luminance = f64::from(luminance(rgb));
        let brightest = f64::from(rgb.max_element());
        match paint.reflectance {
            None if brightest > WHITEST => self.add(
                &at.field("color"),
                format!("\"{}\" without a reflectance reflects {brightest:.2}", paint.color),
                "no paint reflects all light; add `reflectance: 0.8` or darken the colour",
            ),
            Some(reflectance) if (0.0..=WHITEST).contains(&reflectance) && reflectance > 0.0 => {
                let most = if brightest > 0.0 { WHITEST * luminance / brightest } else { 0.0 };
                if reflectance > most + 0.005 {
                    self.add(
                        &at.field("reflectance"),
                        format!(
                            "{reflectance} is more than a paint \"{}\" can reflect",
                            paint.color
                        ),
                        format!(
                            "write at most {:.2}, or a paler colour",
                            (most * 100.0).floor() / 100.0
                        ),
                    );
                }
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(reflectance: Option<f64>, color: &str) -> usize {
        let mut faults = Faults::default();
        faults.paint(&At::default(), &Paint { reflectance, color: color.into() });
        faults.list.len()
    }

    #[test]
    fn paints_stay_below_one_in_every_channel() {
        assert_eq!(faults(Some(0.8), "#ffffff"), 0);
        assert_eq!(faults(Some(0.99), "#ffffff"), 1);
        assert_eq!(faults(Some(-0.1), "#ffffff"), 1);
        assert_eq!(faults(Some(f64::NAN), "#ffffff"), 1);
        assert_eq!(faults(None, "#ffffff"), 1);
        assert_eq!(faults(None, "#808080"), 0);
        // a pure red paint of luminous reflectance 0.5 would need a red channel of 2.35
        assert_eq!(faults(Some(0.5), "#ff0000"), 1);
        assert_eq!(faults(Some(0.2), "#ff0000"), 0);
    }
}
