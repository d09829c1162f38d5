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

/// Distance in millimetres at which `subject_mm` fills `sensor_mm`: f(H/h + 1).
pub fn distance_to_fill_mm(focal_mm: f64, subject_mm: f64, sensor_mm: f64) -> f64 {
    focal_mm * (subject_mm / sensor_mm + 1.0)
}
