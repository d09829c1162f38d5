//! What keeps people whole. Common studio practice, no source; local codes and the judgement of
//! licensed electricians and riggers come first.

use glam::Vec3;

use super::room::LEGS_M;
use super::{Held, Note, Severity, held};
use crate::plan::Plan;
use crate::stage::{Role, Stage};

/// A head's front above this height wants a weight on its stand, in metres.
const HIGH_M: f32 = 2.0;
/// A front wider than this catches air and weighs, in metres.
const WIDE_M: f64 = 1.0;
/// A head nearer than this to eyes is uncomfortable at power, in metres.
const NEAR_EYES_M: f32 = 0.6;
/// A modelling lamp nearer than this can scorch cloth, in metres.
const NEAR_CLOTH_M: f32 = 0.3;
/// Within this of the sitter's axis a head hangs over them, in metres.
const OVER_M: f32 = 0.5;

/// Cautions that hold for every set with lights.
pub(super) fn general(plan: &Plan) -> Vec<Note> {
    if plan.lights.is_empty() {
        return Vec::new();
    }
    let set = |what: String, remedy: &str| Note::new(Severity::Safety, "set", what, remedy);
    let most_ws = plan.lights.iter().map(|light| light.head.energy_ws).fold(0.0, f64::max);
    vec![
        set(
            "mains cables cross the floor, and flash heads and modelling lamps get hot".into(),
            "tape the cables down, keep them out of walkways, let heads cool before changing \
             modifiers; local codes and a licensed electrician's word come first",
        ),
        set(
            format!(
                "capacitors of up to {most_ws:.0} W·s stay charged after a head is switched off and \
                 unplugged"
            ),
            "never open a head or a pack, dump its charge before tubes or plugs are changed, and \
             leave repairs to the maker's service",
        ),
        set(
            "flashes in quick succession can bring on a seizure in photosensitive people".into(),
            "ask sitter and crew before the first flash, warn before each series, keep modelling \
             lamps and strobe modes from flickering, and stop at the first sign of unease",
        ),
    ]
}

pub(super) fn rigging(plan: &Plan, stage: &Stage) -> Vec<Note> {
    let mut notes = Vec::new();
    let mark = |name: &str| stage.marks.iter().find(|m| m.name == name).map(|m| m.position);
    let face = mark("face");
    for (light, planned) in stage.lights.iter().zip(&plan.lights) {
        let at = light.source.position;
        let mut safety = |what: String, remedy: &str| {
            notes.push(Note::new(Severity::Safety, &light.name, what, remedy));
        };
        let wide = planned.modifier.largest_m().is_some_and(|largest| largest >= WIDE_M);
        let crown = mark("crown").unwrap_or(Vec3::ZERO);
        let overhead = face.is_some()
            && at.y > crown.y
            && Vec3::new(at.x - crown.x, 0.0, at.z - crown.z).length() < OVER_M;
        if overhead {
            safety(
                "it hangs over the sitter".into(),
                "use a boom with a counterweight, bag its stand, and tether the head by a safety cable",
            );
        } else if matches!(held(light, stage), Held::Ceiling) {
            safety(
                format!("the head hangs from the ceiling at {:.1} m", at.y),
                "hang it from a rated point, tether it by a safety cable, and keep people from \
                 under it while it is rigged",
            );
        } else if at.y > HIGH_M || wide {
            // tipped about the line between two of three feet, half the radius from the column
            let push = 100.0 * 0.5 * LEGS_M / at.y.max(0.1);
            safety(
                format!(
                    "{} at {:.1} m can topple: on legs that reach {LEGS_M} m from the column a push \
                     at the head of {push:.0} % of the whole weight tips it",
                    if wide { "a large front" } else { "a head" },
                    at.y
                ),
                "bag the stand with as much as the head weighs, spread its legs, and set one leg \
                 under the load",
            );
        }
        if let Some(distance) = face.map(|face| at.distance(face)).filter(|d| *d < NEAR_EYES_M) {
            safety(
                format!("the flash is {distance:.2} m from the sitter's eyes"),
                "warn the sitter, let them close their eyes for tests, keep the power low",
            );
        }
        let cloth = stage
            .meshes
            .iter()
            .filter(|mesh| matches!(mesh.role, Role::Cloth | Role::Garment))
            .flat_map(|mesh| mesh.positions.iter().map(move |p| (mesh, p.distance(at))))
            .min_by(|a, b| a.1.total_cmp(&b.1))
            .filter(|(_, distance)| *distance < NEAR_CLOTH_M);
        if let Some((mesh, distance)) = cloth {
            safety(
                format!(
                    "the head is {distance:.2} m from \"{}\": its lamp can scorch it",
                    mesh.name
                ),
                "switch the modelling lamp off or move the head away",
            );
        }
    }
    notes
}
