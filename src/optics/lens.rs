//! Lens: field of view, depth of field, blur; thin lens with a symmetric pupil.

/// Angle in radians that a side of `size_mm` of the picture sees, focused far away.
pub fn field_of_view_rad(size_mm: f64, focal_mm: f64) -> f64 {
    2.0 * (0.5 * size_mm / focal_mm).atan()
}

/// Largest blur that passes as sharp: a share of the picture's diagonal (1500 and 1442 are in
/// use; common practice).
pub fn circle_of_confusion_mm(width_mm: f64, height_mm: f64, share: f64) -> f64 {
    width_mm.hypot(height_mm) / share
}

/// Nearest focus that still holds infinity sharp: f²/(Nc) + f.
pub fn hyperfocal_mm(focal_mm: f64, f_number: f64, coc_mm: f64) -> f64 {
    focal_mm * focal_mm / (f_number * coc_mm) + focal_mm
}

/// Limits of what passes as sharp, in millimetres from the lens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthOfField {
    /// Near limit.
    pub near_mm: f64,
    /// Far limit; infinite from the hyperfocal distance on.
    pub far_mm: f64,
}

/// Depth of field about `focus_mm`: s(H − f)/(H + s − 2f) to s(H − f)/(H − s).
pub fn depth_of_field(focal_mm: f64, f_number: f64, coc_mm: f64, focus_mm: f64) -> DepthOfField {
    let h = hyperfocal_mm(focal_mm, f_number, coc_mm);
    let scaled = focus_mm * (h - focal_mm);
    DepthOfField {
        near_mm: scaled / (h + focus_mm - 2.0 * focal_mm),
        far_mm: if focus_mm < h { scaled / (h - focus_mm) } else { f64::INFINITY },
    }
}

/// Diameter on the sensor, in millimetres, of the blur of a point at `point_mm` with the lens
/// focused at `focus_mm`.
pub fn blur_disc_mm(focal_mm: f64, f_number: f64, focus_mm: f64, point_mm: f64) -> f64 {
    let aperture_mm = focal_mm / f_number;
    aperture_mm * focal_mm / (focus_mm - focal_mm) * (point_mm - focus_mm).abs() / point_mm
}

/// The same blur measured at the point's own plane: how wide a smear it makes of what is there.
pub fn smear_mm(focal_mm: f64, f_number: f64, focus_mm: f64, point_mm: f64) -> f64 {
    focal_mm / f_number * (point_mm - focus_mm).abs() / focus_mm
}

/// Light at the film off the axis against that on it, for a pupil seen at a slant: cos⁴θ (the
/// pupil's and the film's cosine, and the square of the longer way).
pub fn natural_falloff(tan_off_axis: f64) -> f64 {
    (1.0 + tan_off_axis * tan_off_axis).powi(-2)
}

/// Area common to two circles whose centres are `apart`, over that of the first (Weisstein,
/// MathWorld, 'Circle-Circle Intersection', eq. 14).
pub fn overlap_share(radius: f64, other: f64, apart: f64) -> f64 {
    let (small, large) = (radius.min(other), radius.max(other));
    let of_first = |area: f64| area / (std::f64::consts::PI * radius * radius);
    if apart <= large - small {
        return of_first(std::f64::consts::PI * small * small);
    }
    if apart >= large + small {
        return 0.0;
    }
    let (r, s, d) = (radius, other, apart);
    let angle = |a: f64, b: f64| ((d * d + a * a - b * b) / (2.0 * d * a)).clamp(-1.0, 1.0).acos();
    let kite = (-d + r + s) * (d + r - s) * (d - r + s) * (d + r + s);
    of_first(r * r * angle(r, s) + s * s * angle(s, r) - 0.5 * kite.max(0.0).sqrt())
}

/// Fall-off of light toward the frame's corners.
///
/// Natural: cos⁴θ. With a barrel: besides, the pupil is seen through a front and a rear ring, each
/// as wide as the widest pupil, that shift across it to either side as the tangent of the angle:
/// ```text
///    front       pupil       rear         from the axis     from the corner
///    ┌──────┐   ┌──────┐   ┌──────┐
///    │      ├───┤      ├───┤      │            ◯                 ( )
///    └──────┘   └──────┘   └──────┘
/// ```
/// What is left of a wide pupil is the lens between two circles; stopped down, the small pupil
/// stays within it for longer: closing the aperture cures it, as on the day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Falloff {
    /// Pupil over ring, at most 1: widest f-number over today's.
    pupil: f64,
    /// How far apart the rings' images are, in their radii, at a tangent of 1.
    shift: f64,
}

impl Falloff {
    /// cos⁴θ alone.
    pub const NATURAL: Self = Self { pupil: 1.0, shift: 0.0 };

    /// With a barrel that, at the lens's widest aperture, takes `corner_stops` more than cos⁴θ
    /// where the tangent off the axis is `corner_tan`.
    pub fn barrel(f_number: f64, widest: f64, corner_stops: f64, corner_tan: f64) -> Self {
        let wanted = (-corner_stops).exp2();
        let (mut low, mut high) = (0.0, 2.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if overlap_share(1.0, 1.0, middle) > wanted { low = middle } else { high = middle }
        }
        Self { pupil: (widest / f_number).min(1.0), shift: low / corner_tan }
    }

    /// Light at the film over that on the axis.
    pub fn share(&self, tan_off_axis: f64) -> f64 {
        let (pupil, apart) = (self.pupil, self.shift * tan_off_axis);
        // the farthest point that both rings leave open, from the pupil's middle
        let reach2 = 1.0 - 0.25 * apart * apart;
        let seen = if pupil * pupil >= reach2 {
            overlap_share(1.0, 1.0, apart) / (pupil * pupil)
        } else {
            // each ring takes a cap of its own
            2.0 * overlap_share(pupil, 1.0, 0.5 * apart) - 1.0
        };
        seen.max(0.0) * natural_falloff(tan_off_axis)
    }
}

/// Distance in millimetres at which `subject_mm` fills `sensor_mm`: f(H/h + 1).
pub fn distance_to_fill_mm(focal_mm: f64, subject_mm: f64, sensor_mm: f64) -> f64 {
    focal_mm * (subject_mm / sensor_mm + 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    /// cos⁴ 45° is a quarter; two unit circles a radius apart share 2π/3 − √3/2.
    #[test]
    fn closed_forms_of_fall_off() {
        assert!((natural_falloff(1.0) - 0.25).abs() < 1e-12);
        let lens = (2.0 * PI / 3.0 - 0.75f64.sqrt()) / PI;
        assert!((overlap_share(1.0, 1.0, 1.0) - lens).abs() < 1e-12);
        assert_eq!(overlap_share(0.5, 1.0, 0.4), 1.0);
        assert_eq!(overlap_share(0.5, 1.0, 1.6), 0.0);
        assert!((overlap_share(1.0, 0.5, 0.1) - 0.25).abs() < 1e-12);
    }

    #[test]
    fn a_barrel_darkens_corners_as_stated_and_less_stopped_down() {
        let corner = 0.25;
        let at = |f_number: f64| {
            let all = Falloff::barrel(f_number, 1.8, 1.5, corner).share(corner);
            (all / natural_falloff(corner)).log2()
        };
        assert!((at(1.8) + 1.5).abs() < 1e-9, "{}", at(1.8));
        assert!(at(2.8) > at(1.8) + 0.3 && at(8.0) > -1e-9, "{} {}", at(2.8), at(8.0));
        assert_eq!(Falloff::barrel(2.8, 1.8, 1.5, corner).share(0.0), 1.0);
        // no jump where the pupil begins to hold all of the opening
        let steps: Vec<f64> = (0..400).map(|i| at(1.8 + f64::from(i) * 0.005)).collect();
        assert!(steps.windows(2).all(|pair| (0.0..0.02).contains(&(pair[1] - pair[0]))));
        assert_eq!(Falloff::NATURAL.share(0.5), natural_falloff(0.5));
    }
}
