//! What to do when a head is too weak or too strong for what is wished of it.

use super::{OneLight, Set};
use crate::optics::exposure;
use crate::plan::Gel;
use crate::stage::{Source, SourceShape};

/// Nearer than this no head is offered, metres: fronts are of that size and faces need room.
const NEAREST_M: f64 = 0.4;
/// Farther than this no head is offered, metres.
const FARTHEST_M: f64 = 15.0;
/// Losses under this are not worth changing a modifier for, in stops.
const WORTH_STOPS: f64 = 0.3;

/// Ways out for a head that lacks `short` stops at full power.
pub(super) fn too_weak(set: &Set, light: usize, one: OneLight, short: f64) -> Vec<String> {
    let mut ways = Vec::new();
    let Some(planned) = set.planned(light) else { return ways };
    ways.extend(closer(set, light, one, short));
    let iso = set.plan.camera.iso;
    ways.push(format!(
        "ISO {:.0} instead of {iso:.0}, with the other heads {short:.1} stops lower (the room's \
         light comes up by as much)",
        iso * short.exp2()
    ));
    let energy = planned.head.energy_ws;
    ways.push(format!(
        "a head of {:.0} W·s in place of {energy:.0}, or {:.0} of these in the modifier",
        round2(energy * short.exp2()),
        short.exp2().ceil()
    ));
    let (modifier, gel) =
        (planned.modifier.loss_stops(), planned.gel.as_ref().map_or(0.0, Gel::loss_stops));
    if modifier >= WORTH_STOPS {
        ways.push(format!(
            "a modifier that loses less: this one takes {modifier:.1} stops (as the plan assumes)"
        ));
    }
    if gel >= WORTH_STOPS {
        ways.push(format!("a thinner gel: this one takes {gel:.1} stops"));
    }
    let aperture = set.plan.camera.aperture.f_number;
    ways.push(format!(
        "f/{:.1} instead of f/{aperture:.1} on the camera, with every wish {short:.1} stops lower",
        exposure::opened(aperture, short)
    ));
    ways
}

/// Ways out for a head that gives `over` stops too much at its lowest power.
pub(super) fn too_strong(set: &Set, light: usize, one: OneLight, over: f64) -> Vec<String> {
    let mut ways = vec![format!(
        "a neutral gel of {over:.1} stops (density {:.1}) before it",
        over / exposure::density_stops(1.0)
    )];
    ways.extend(closer(set, light, one, -over));
    let iso = set.plan.camera.iso;
    ways.push(format!(
        "ISO {:.0} instead of {iso:.0}, or a neutral filter of {over:.1} stops on the lens, with \
         the other heads {over:.1} stops higher (the room's light falls by as much)",
        iso * (-over).exp2()
    ));
    ways.push("a smaller head, or a modifier that loses more".into());
    ways
}

/// The distance at which the head gives `more` stops than it does.
fn closer(set: &Set, light: usize, one: OneLight, more: f64) -> Option<String> {
    let source = &set.stage.lights.iter().find(|l| l.name == set.names[light])?.source;
    let now = f64::from(one.position.distance(source.position));
    let to = distance_for(source, one, now, more)?;
    let word = if more > 0.0 { "nearer" } else { "farther" };
    Some(format!("{word}: about {to:.2} m instead of {now:.2} m"))
}

/// Distance in metres at which what comes straight from a front changes so that the whole changes
/// by `more` stops; what comes by way of the room is taken to stay. None where nothing comes
/// straight, or no distance on a set would do.
pub(super) fn distance_for(source: &Source, one: OneLight, now_m: f64, more: f64) -> Option<f64> {
    let wanted = one.lux_s() * more.exp2() - one.bounced_lux_s;
    if one.direct_lux_s <= 0.0 || wanted <= 0.0 || one.direct_lux_s < 0.2 * one.lux_s() {
        return None;
    }
    // a round front of the same area: E ∝ 1/(R² + d²) on its axis
    let r2 = match source.shape {
        SourceShape::Tube { .. } => 0.0,
        shape => shape.area_m2() / std::f64::consts::PI,
    };
    let to2 = (now_m * now_m + r2) * one.direct_lux_s / wanted - r2;
    let to = to2.max(0.0).sqrt();
    (NEAREST_M..=FARTHEST_M).contains(&to).then_some(to)
}

/// Two digits, as energies are named.
fn round2(value: f64) -> f64 {
    let unit = 10f64.powf(value.log10().floor() - 1.0);
    (value / unit).ceil() * unit
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::beam::Beam;
    use glam::Vec3;

    fn source(shape: SourceShape) -> Source {
        Source {
            shape,
            position: Vec3::ZERO,
            axis: Vec3::NEG_Z,
            right: Vec3::NEG_X,
            up: Vec3::Y,
            beam: Beam::Cosine { exponent: 1.0 },
            glow: None,
            axial_intensity: 1.0,
        }
    }

    fn one(direct_lux_s: f64, bounced_lux_s: f64) -> OneLight {
        OneLight { direct_lux_s, bounced_lux_s, error: 0.0, position: Vec3::ZERO }
    }

    /// Case J02: 0.78 stops short at 3 m, works from 2.29 m.
    #[test]
    fn a_small_head_follows_the_square() {
        let small = source(SourceShape::Disc { radius_m: 0.01 });
        let to = distance_for(&small, one(100.0, 0.0), 3.0, 0.78).unwrap();
        assert!((to - 2.29).abs() < 0.01, "{to}");
    }

    /// Case D08: a disc of 1.2 m gains 1.16 stops from 1 m to 0.5 m, not 2.
    #[test]
    fn a_large_front_follows_its_size() {
        let large = source(SourceShape::Disc { radius_m: 0.6 });
        let to = distance_for(&large, one(100.0, 0.0), 1.0, 1.16).unwrap();
        assert!((to - 0.5).abs() < 0.01, "{to}");
    }

    #[test]
    fn a_bounce_has_no_distance() {
        let small = source(SourceShape::Disc { radius_m: 0.01 });
        assert_eq!(distance_for(&small, one(0.0, 10.0), 2.0, 1.0), None);
        assert_eq!(distance_for(&small, one(10.0, 0.0), 0.5, 3.0), None);
    }

    #[test]
    fn energies_are_round() {
        assert_eq!(round2(985.0), 990.0);
        assert_eq!(round2(400.0), 400.0);
    }
}
