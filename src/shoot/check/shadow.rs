//! Shadows where they show: of the sitter or a stand on what is behind, and two of them crossing.

use glam::Vec3;

use super::looks::{Look, Looks, diameter_m, is_sitter};
use super::{Note, Severity};
use crate::optics::color::luminance_f64;
use crate::optics::geometry;
use crate::stage::{Light, Role};
use crate::trace::Receptor;

/// A shadow is worth a word from this share of the frame on.
const SHARE: f64 = 0.005;
/// A shadow less deep than this hardly shows, in stops (common practice, no source).
const DEEP_STOPS: f64 = 0.5;
/// A shadow nearer to what throws it than this belongs to it, as under a sitter on a cloth, metres.
const TOUCHES_M: f32 = 0.4;
/// Surfaces that look up more than this are floors: a shadow at the feet belongs there.
const FLOOR: f32 = 0.7;
/// Two lights within this many stops cast shadows of like strength (common practice, no source:
/// a second shadow hides under a key that is a stop and more over it).
const LIKE_STOPS: f64 = 1.0;
/// Shadows nearer together than this run into one, in degrees.
const APART_DEG: f64 = 20.0;
/// A front that looks wider than this from the face casts no shadow to speak of, in radians.
const SOFT_RAD: f64 = 0.5;

pub(super) fn notes(looks: &Looks) -> Vec<Note> {
    let mut notes = Vec::new();
    for light in looks.lights() {
        notes.extend(behind(looks, light, "the sitter", |role, _| is_sitter(role)));
        notes.extend(behind(looks, light, "a stand", |role, name| {
            role == Role::Fixture && !name.starts_with(light.name.as_str())
        }));
    }
    notes.extend(crossing(looks));
    notes
}

/// The shadow that `whose` body throws on walls and cloth in the frame.
fn behind(
    looks: &Looks,
    light: &Light,
    whose: &str,
    casts: impl Fn(Role, &str) -> bool,
) -> Option<Note> {
    let background = |look: &&Look| {
        let role = looks.stage.meshes[look.mesh].role;
        matches!(role, Role::Room | Role::Cloth) && look.normal.y.abs() < FLOOR
    };
    let faces = |look: &&Look| (light.source.position - look.at).dot(look.normal) > 0.0;
    let (mut dark, mut lit) = (Vec::new(), Vec::new());
    for look in looks.grid.iter().filter(background).filter(faces) {
        match looks.blocker(look.at, look.normal, light) {
            None => lit.push(look),
            Some((mesh, away)) if away > TOUCHES_M && casts(mesh.role, &mesh.name) => {
                dark.push((look, away));
            }
            Some(_) => {}
        }
    }
    let share = dark.len() as f64 / looks.grid.len().max(1) as f64;
    if share < SHARE {
        return None;
    }
    let middle = dark.iter().map(|(look, _)| look.at).sum::<Vec3>() / dark.len() as f32;
    let nearest = |a: &&Look, b: &&Look, to: Vec3| {
        a.at.distance_squared(to).total_cmp(&b.at.distance_squared(to))
    };
    let (dark, away) = dark.into_iter().min_by(|(a, _), (b, _)| nearest(a, b, middle))?;
    let lit = lit.into_iter().min_by(|a, b| nearest(a, b, dark.at))?;
    let index = looks.index(&light.name)?;
    let flat = |look: &Look| looks.read(look.at + look.normal * 0.01, look.normal, Receptor::Flat);
    let missing = luminance_f64(flat(lit)[index].direct);
    let there: f64 = flat(dark).iter().map(|one| luminance_f64(one.direct + one.bounced)).sum();
    let depth = ((there + missing) / there.max(1e-9)).log2();
    if depth < DEEP_STOPS {
        return None;
    }
    let on = &looks.stage.meshes[dark.mesh].name;
    let to_caster = light.source.position.distance(dark.at) - away;
    let edge = geometry::penumbra_m(diameter_m(light), to_caster.into(), away.into());
    let side = (dark.at - looks.stage.camera.position).dot(looks.stage.camera.right);
    let sitter = looks.mark("face").map_or(0.0, |(face, _)| {
        (face - looks.stage.camera.position).dot(looks.stage.camera.right)
    });
    let beside = side - sitter;
    let where_to = if beside >= 0.0 { "right" } else { "left" };
    Some(Note::new(
        Severity::Caution,
        &light.name,
        format!(
            "it throws the shadow of {whose} on {on}: {depth:.1} stops deep, {:.0} % of the frame, \
             its middle {:.1} m to the {where_to}, its edge {:.0} cm wide",
            100.0 * share,
            beside.abs(),
            100.0 * edge
        ),
        format!(
            "place it so on purpose, or raise the head or swing it outward until it falls out of \
             the frame, bring the sitter forward of the {:.1} m that are behind, or flag the light \
             off the background",
            away
        ),
    ))
}

/// Two lights that strike the face alike from two sides.
fn crossing(looks: &Looks) -> Option<Note> {
    let (face, facing) = looks.mark("face")?;
    let at = face + 0.02 * facing;
    let toward = (looks.stage.camera.position - at).normalize_or(Vec3::Z);
    let found = looks.read(at, toward, Receptor::Dome);
    let mut hard: Vec<(&Light, f64)> = looks
        .lights()
        .filter(|light| {
            diameter_m(light) / f64::from(light.source.position.distance(at)) < SOFT_RAD
        })
        .filter_map(|light| {
            let level = luminance_f64(found[looks.index(&light.name)?].direct);
            (level > 0.0).then_some((light, level))
        })
        .collect();
    hard.sort_by(|a, b| b.1.total_cmp(&a.1));
    let [(first, most), (second, next), ..] = hard.as_slice() else { return None };
    let apart_stops = (most / next).log2();
    let apart_deg = geometry::angle_between_rad(
        first.source.position.as_dvec3(),
        at.as_dvec3(),
        second.source.position.as_dvec3(),
    )
    .to_degrees();
    (apart_stops < LIKE_STOPS && apart_deg > APART_DEG).then(|| {
        Note::new(
            Severity::Caution,
            &second.name,
            format!(
                "it is only {apart_stops:.1} stops under \"{}\" at the face and {apart_deg:.0}° \
                 from it: the nose will throw two shadows of like strength",
                first.name
            ),
            format!(
                "lower it by {:.1} stops, move it beside the lens, or soften it with a front of {:.1} m \
                 and more",
                2.0 * LIKE_STOPS - apart_stops,
                SOFT_RAD * f64::from(second.source.position.distance(at))
            ),
        )
    })
}
