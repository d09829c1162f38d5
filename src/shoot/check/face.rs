//! What a meter at the face finds wrong: a bounce that is tinted, a room that comes near the flash.

use glam::{DVec3, Vec3};

use super::looks::Looks;
use super::{Note, Severity};
use crate::layers::LightKind;
use crate::optics::color::luminance_f64;
use crate::stage::ABSENT_FACE_M;
use crate::trace::{Incident, Receptor};

/// A light that comes by way of surfaces for more than this share is a bounce.
const BOUNCE: f64 = 0.5;
/// It fills shadows if it is at least this share of what is there besides the key.
const FILLS: f64 = 0.25;
/// A head turned from the face by more than this is meant to bounce, in degrees; a rim light that
/// only the head shades is not.
const TURNED_AWAY_DEG: f32 = 40.0;
/// A tint shows from this distance in CIE 1976 u′v′ on: three just noticeable differences of
/// about 0.004 each (as commonly taken for lamps; from memory).
const TINT: f64 = 0.012;

/// Light at the face, dome toward the camera.
pub(super) struct Face {
    at: Vec3,
    found: Vec<Incident>,
}

impl Face {
    pub(super) fn read(looks: &Looks) -> Self {
        let (at, facing) = looks.mark("face").unwrap_or((Vec3::Y * ABSENT_FACE_M, Vec3::Z));
        let at = at + 0.02 * facing;
        let toward = (looks.stage.camera.position - at).normalize_or(Vec3::Z);
        Self { at, found: looks.read(at, toward, Receptor::Dome) }
    }

    /// How far the light of the room lies under the flash, in stops.
    pub(super) fn room_under_flash_stops(&self, looks: &Looks) -> Option<f64> {
        let sum = |kind: LightKind| -> f64 {
            let lights = looks.tracer.scene.lights.iter().zip(&self.found);
            lights.filter(|(light, _)| light.kind == kind).map(|(_, one)| level(one)).sum()
        };
        let (flash, room) = (sum(LightKind::Flash), sum(LightKind::Continuous));
        (flash > 0.0 && room > 0.0).then(|| (flash / room).log2())
    }

    pub(super) fn notes(&self, looks: &Looks) -> Vec<Note> {
        let total: f64 = self.found.iter().map(level).sum();
        let key = self.found.iter().map(level).fold(0.0, f64::max);
        let lights = looks.tracer.scene.lights.iter().zip(&self.found).zip(&looks.gains);
        let turned_away = |name: &str| {
            looks.lights().find(|light| light.name == name).is_some_and(|light| {
                let to_face = (self.at - light.source.position).normalize_or(Vec3::Y);
                to_face.angle_between(light.source.axis).to_degrees() > TURNED_AWAY_DEG
            })
        };
        lights
            .filter(|((light, _), _)| turned_away(&light.name))
            .filter_map(|((light, one), gain)| {
                let sum = level(one);
                let bounced = luminance_f64(one.bounced) / sum.max(1e-12);
                // a key that is all bounce tints the picture as a fill does
                let rest = if sum < key { total - key } else { total };
                if bounced < BOUNCE || sum < FILLS * rest {
                    return None;
                }
                // the light's own colour is meant; what the surfaces add is not
                let own = gain.as_dvec3().max(DVec3::splat(1e-9));
                tinted(&light.name, (one.direct + one.bounced) / own, bounced)
            })
            .collect()
    }
}

fn level(one: &Incident) -> f64 {
    luminance_f64(one.direct + one.bounced)
}

/// The note on a bounce of that colour, linear Rec.709 of white light.
fn tinted(name: &str, color: DVec3, bounced: f64) -> Option<Note> {
    let ([u, v], white) = (uv(color), uv(DVec3::ONE));
    let (du, dv) = (u - white[0], v - white[1]);
    if du.hypot(dv) < TINT {
        return None;
    }
    let shift = 1e6 / kelvin(color) - 1e6 / kelvin(DVec3::ONE);
    let hue = hue(color);
    Some(Note::new(
        Severity::Caution,
        name,
        format!(
            "{:.0} % of it comes by way of walls, ceiling and things and arrives {hue}, {shift:+.0} \
             mired from the light of the head",
            100.0 * bounced
        )
        .replace('-', "−"),
        format!(
            "aim it at something neutral, hang white (or black) cloth over what tints it, or gel \
             the head by {:+.0} mired",
            -shift
        )
        .replace('-', "−"),
    ))
}

/// CIE XYZ of linear Rec.709 (IEC 61966-2-1).
fn xyz(rgb: DVec3) -> DVec3 {
    DVec3::new(
        0.412_390_8 * rgb.x + 0.357_584_3 * rgb.y + 0.180_480_8 * rgb.z,
        0.212_639_0 * rgb.x + 0.715_168_7 * rgb.y + 0.072_192_3 * rgb.z,
        0.019_330_8 * rgb.x + 0.119_194_8 * rgb.y + 0.950_532_2 * rgb.z,
    )
}

/// CIE 1976 u′v′.
fn uv(rgb: DVec3) -> [f64; 2] {
    let xyz = xyz(rgb);
    let sum = xyz.x + 15.0 * xyz.y + 3.0 * xyz.z;
    [4.0 * xyz.x / sum, 9.0 * xyz.y / sum]
}

/// Correlated colour temperature (McCamy 1992, 'Correlated color temperature as an explicit
/// function of chromaticity coordinates', Color Res. Appl. 17).
fn kelvin(rgb: DVec3) -> f64 {
    let xyz = xyz(rgb);
    let sum = xyz.element_sum();
    let n = (xyz.x / sum - 0.3320) / (0.1858 - xyz.y / sum);
    (449.0 * n * n * n + 3525.0 * n * n + 6823.3 * n + 5520.33).max(1000.0)
}

/// A word for a colour cast.
fn hue(rgb: DVec3) -> &'static str {
    let mean = rgb.element_sum() / 3.0;
    let over = rgb / mean - 1.0;
    if over.y > over.x.max(over.z) {
        "greenish"
    } else if over.y < over.x.min(over.z) {
        if over.x > 1.5 * over.z { "reddish" } else { "pinkish" }
    } else if over.x > over.z {
        "warmer"
    } else {
        "cooler"
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::color::planckian_rgb;

    #[test]
    fn temperatures_and_words() {
        // D65 is about 6504 K; the fit is good to a few kelvin there
        assert!((kelvin(DVec3::ONE) - 6504.0).abs() < 10.0);
        for wanted in [3200.0, 4500.0] {
            let got = kelvin(planckian_rgb(wanted).as_dvec3());
            assert!((got / wanted - 1.0).abs() < 0.01, "{got} for {wanted}");
        }
        // u′v′ of D65: 0.1978, 0.4683 (CIE 15)
        let [u, v] = uv(DVec3::ONE);
        assert!((u - 0.1978).abs() < 1e-4 && (v - 0.4683).abs() < 1e-4, "{u} {v}");
        assert_eq!(hue(DVec3::new(1.1, 1.0, 0.8)), "warmer");
        assert_eq!(hue(DVec3::new(0.9, 1.1, 0.9)), "greenish");
        assert_eq!(hue(DVec3::new(0.8, 1.0, 1.1)), "cooler");
    }

    #[test]
    fn a_tint_is_told_with_its_way_out() {
        let note = tinted("fill", DVec3::new(1.2, 1.0, 0.7), 0.9).unwrap();
        assert!(note.what.contains("90 %") && note.what.contains("warmer"), "{}", note.what);
        assert!(note.remedy.contains("−"), "{}", note.remedy);
        assert_eq!(tinted("fill", DVec3::new(1.01, 1.0, 0.99), 0.9), None);
    }
}
