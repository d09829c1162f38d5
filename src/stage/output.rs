//! What a head gives on its axis, from whichever figure the photographer has.

use crate::optics::beam::Beam;
use crate::optics::exposure;
use crate::optics::photometry;
use crate::plan::{Head, Modifier, Output};
use crate::stage::SourceShape;

/// Axial luminous intensity in cd·s at full power with white light.
///
/// A guide number or a reading is taken on the axis with the modifier in place: a flat meter of
/// constant C reads N where E = C·N²/S, and E = I/d². An efficacy gives the tube's lm·s; the
/// modifier loses its stops and spreads the rest over its beam.
pub fn axial_intensity_cd_s(
    head: &Head,
    modifier: &Modifier,
    shape: SourceShape,
    beam: &Beam,
    meter_constant: f64,
) -> f64 {
    match &head.output {
        Output::GuideNumber(guide_number_m) => {
            exposure::intensity_from_guide_number(*guide_number_m, meter_constant)
        }
        Output::Reading { aperture, distance, iso, power } => {
            let exposure_lux_s = meter_constant * aperture.f_number.powi(2) / iso;
            exposure_lux_s * distance.metres.powi(2) / power.stops.exp2()
        }
        Output::Efficacy { lm_s_per_ws } => {
            let lost = match modifier {
                Modifier::BareTube { .. } => 0.0,
                Modifier::Dish { loss, .. } | Modifier::Panel { loss, .. } => *loss,
            };
            let tube_lm_s = photometry::luminous_energy_lm_s(head.energy_ws, *lm_s_per_ws);
            photometry::axial_intensity_cd_s(tube_lm_s * (-lost).exp2(), spread_sr(shape, beam))
        }
    }
}

/// Flux over axial intensity, in sr.
fn spread_sr(shape: SourceShape, beam: &Beam) -> f64 {
    match shape {
        // Lambertian skin: flux π·L·A, intensity across the tube L·2rl
        SourceShape::Tube { radius_m, length_m } => {
            std::f64::consts::PI * shape.area_m2() / (2.0 * radius_m * length_m)
        }
        _ => beam.solid_angle(),
    }
}
