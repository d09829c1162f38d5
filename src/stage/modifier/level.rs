//! What a head gives on its axis, from whichever figure the photographer has.

use glam::{Vec2, Vec3};

use super::Fronts;
use crate::optics::{exposure, photometry};
use crate::plan::{Head, Output};
use crate::stage::error::{Part, StageError};
use crate::stage::source::{Emitter, Source, SourceShape};

/// Why a level cannot be set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoLevel {
    /// Nothing goes along the axis, where the reading or guide number was taken.
    DarkAxis,
    /// The level of a photometric file is asked for, and there is none.
    NoFile,
}

impl NoLevel {
    /// As the light's fault.
    pub fn blame(self, owner: Part) -> StageError {
        let (problem, remedy) = match self {
            Self::DarkAxis => (
                "no light goes along its axis, where a reading is taken",
                "give its output by Efficacy or Lumens, or aim another side of it",
            ),
            Self::NoFile => (
                "AsFiled takes the level of a photometric file, and this light has none",
                "use it with `modifier: Photometric(file: \"lamp.ies\")`, or give Lumens",
            ),
        };
        StageError::Level { owner, problem, remedy }
    }
}

/// The fronts at full power with white light.
///
/// A guide number or a reading is taken on the axis, toward what the light is aimed at, with the
/// modifier in place: a flat meter of constant C reads N where E = C·N²/S. A guide number is an
/// intensity (E = I/d², far off); a reading is the exposure there from the true size of the front.
/// An efficacy gives the tube's lm·s, of which the modifier loses its stops.
pub fn scaled(fronts: Fronts, head: &Head, meter_constant: f64) -> Result<Vec<Source>, NoLevel> {
    let count = f64::from(head.count);
    let on_axis = |wanted: f64, unit: f64| {
        if unit > 0.0 { Ok(wanted / unit) } else { Err(NoLevel::DarkAxis) }
    };
    let far = || axial_intensity(&fronts);
    let near = |distance_m: f64| axial_exposure(&fronts, distance_m);
    let factor = match &head.output {
        Output::GuideNumber(guide_number_m) => {
            on_axis(exposure::intensity_from_guide_number(*guide_number_m, meter_constant), far())?
        }
        Output::Reading { aperture, distance, iso, power } => {
            let exposure_lux_s = meter_constant * aperture.f_number.powi(2) / iso;
            on_axis(exposure_lux_s / power.stops.exp2(), near(distance.metres))?
        }
        Output::Efficacy { lm_s_per_ws } => {
            count * photometry::luminous_energy_lm_s(head.energy_ws, *lm_s_per_ws)
        }
        Output::Lumens(lumens) => count * lumens,
        Output::Candela(candela) => on_axis(*candela, far())?,
        Output::Lux { lux, distance } => on_axis(*lux, near(distance.metres))?,
        Output::AsFiled => fronts.as_filed.ok_or(NoLevel::NoFile)?,
    };
    let mut sources = fronts.sources;
    for source in &mut sources {
        source.axial_intensity *= factor;
    }
    Ok(sources)
}

/// Intensity along the mouth's axis, far off.
fn axial_intensity(fronts: &Fronts) -> f64 {
    let toward = fronts.mouth.axis;
    fronts
        .sources
        .iter()
        .map(|source| {
            let cos = f64::from(source.axis.dot(toward));
            match source.shape {
                SourceShape::Tube { radius_m, length_m } => {
                    let sin = (1.0 - cos * cos).max(0.0).sqrt();
                    let side = 2.0 * radius_m * length_m;
                    let end = std::f64::consts::PI * radius_m * radius_m;
                    source.axial_intensity * (side * sin + end * cos.abs()) / side
                }
                SourceShape::Ball { .. } => source.axial_intensity,
                _ if cos <= 0.0 => 0.0,
                _ => source.axial_intensity * f64::from(source.beam.toward(Vec3::Z)),
            }
        })
        .sum()
}

/// Luminous exposure on a flat meter on the axis that looks back at the mouth, over the true areas
/// of the fronts, as if nothing stood between.
fn axial_exposure(fronts: &Fronts, distance_m: f64) -> f64 {
    const POINTS: u32 = 1 << 16;
    let at = (fronts.mouth.position + fronts.mouth.axis * distance_m as f32).as_dvec3();
    let facing = -fronts.mouth.axis.as_dvec3();
    fronts
        .sources
        .iter()
        .map(|source| {
            let emitter = Emitter::new(source);
            let mut sum = 0.0;
            for k in 0..POINTS {
                // Roberts 2018, 'The Unreasonable Effectiveness of Quasirandom Sequences', R2
                let n = f64::from(k) + 0.5;
                let u = Vec2::new(
                    (n * 0.754_877_666_246_692_8).fract() as f32,
                    (n * 0.569_840_290_998_053_2).fract() as f32,
                );
                let point = emitter.front(u);
                let span = at - point.position.as_dvec3();
                let direction = span.normalize();
                let leaving = f64::from(emitter.radiance(&point, direction.as_vec3()))
                    * direction.dot(point.normal.as_dvec3()).max(0.0);
                let arriving = (-direction.dot(facing)).max(0.0);
                let density = f64::from(emitter.area_pdf(&point));
                sum += leaving * arriving / (span.length_squared() * density);
            }
            sum / f64::from(POINTS)
        })
        .sum()
}
