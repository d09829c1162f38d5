//! What will go wrong on the day, in a photographer's words.
//!
//! In: a plan, and its stage. Out: notes, each with what to do. Problems spoil the picture or
//! cannot be set up; cautions may; safety notes keep people whole.

mod backdrop;
mod exposure;
mod eyes;
mod face;
mod frame;
mod looks;
mod room;
mod safety;
mod shadow;

use std::fmt::Write;

pub(super) use frame::{cover, in_picture};

use glam::Vec3;
use serde::Serialize;

use crate::plan::Plan;
use crate::stage::{Light, Role, Stage, StageError};

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The picture fails or the set cannot be built.
    Problem,
    /// It may show in the picture.
    Caution,
    /// Somebody may be hurt or something burnt.
    Safety,
}

/// One thing to know before the day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Note {
    /// How bad it is.
    pub severity: Severity,
    /// The thing it is about: a light's name, `"camera"`, `"room"`.
    pub subject: String,
    /// What will happen.
    pub what: String,
    /// What to do about it.
    pub remedy: String,
}

impl Note {
    fn new(severity: Severity, subject: &str, what: String, remedy: impl Into<String>) -> Self {
        Self { severity, subject: subject.into(), what, remedy: remedy.into() }
    }
}

/// Everything to know about a plan and its stage, or why it has none.
pub fn check(plan: &Plan, stage: Result<&Stage, &StageError>) -> Vec<Note> {
    let mut notes = Vec::new();
    match stage {
        Ok(stage) => {
            let looks = looks::Looks::new(plan, stage);
            let face = face::Face::read(&looks);
            notes.extend(exposure::notes(plan, face.room_under_flash_stops(&looks)));
            let bent = |what: &String| {
                let remedy = "ease the pose, or accept it as it is built";
                Note::new(Severity::Caution, "sitter", what.clone(), remedy)
            };
            notes.extend(stage.notes.iter().map(bent));
            notes.extend(room::notes(stage));
            notes.extend(frame::notes(stage));
            notes.extend(backdrop::notes(&looks));
            notes.extend(shadow::notes(&looks));
            notes.extend(face.notes(&looks));
            notes.extend(eyes::notes(&looks));
            notes.extend(safety::rigging(plan, stage));
        }
        Err(error) => {
            notes.extend(exposure::notes(plan, None));
            let (problem, remedy) = error.told();
            notes.push(Note::new(
                Severity::Problem,
                &error.part().to_string(),
                format!("the set cannot stand: {problem}"),
                format!("{remedy}; until then nothing else about the set can be checked"),
            ));
        }
    }
    notes.extend(safety::general(plan));
    notes
}

/// What holds a light up on the stage.
enum Held {
    /// A stand, or a boom on one, with its column here on the floor.
    Stand(Vec3),
    /// It hangs from the ceiling.
    Ceiling,
}

/// By the light's fixture; where the plan leaves that out, a stand under the head is assumed.
fn held(light: &Light, stage: &Stage) -> Held {
    let at = light.source.position;
    let name = format!("{} stand", light.name);
    let Some(mesh) = stage.meshes.iter().find(|m| m.role == Role::Fixture && m.name == name) else {
        return Held::Stand(at.with_y(0.0));
    };
    let low: Vec<Vec3> = mesh.positions.iter().copied().filter(|p| p.y < FOOT_M).collect();
    if low.is_empty() {
        return Held::Ceiling;
    }
    let (min, max) = low.iter().fold((low[0], low[0]), |(a, b), p| (a.min(*p), b.max(*p)));
    Held::Stand((0.5 * (min + max)).with_y(0.0))
}

/// A pole this far from under its head carries it on an arm, metres.
const ARM_M: f32 = 0.6;

/// What holds a light up: `stand`, `boom` or `ceiling`.
pub(super) fn support(light: &Light, stage: &Stage) -> &'static str {
    let at = light.source.position;
    match held(light, stage) {
        Held::Ceiling => "ceiling",
        Held::Stand(foot) if foot.distance(at.with_y(0.0)) > ARM_M => "boom",
        Held::Stand(_) => "stand",
    }
}

/// What of a fixture is under this height is its foot, in metres.
const FOOT_M: f32 = 0.05;

/// The notes as a text, the worst first.
pub fn report(notes: &[Note]) -> String {
    if notes.is_empty() {
        return "Nothing to remark.\n".into();
    }
    let mut text = String::new();
    for (severity, heading) in [
        (Severity::Problem, "PROBLEM"),
        (Severity::Caution, "CAUTION"),
        (Severity::Safety, "SAFETY"),
    ] {
        for note in notes.iter().filter(|note| note.severity == severity) {
            // writing to a string cannot fail
            let _ = writeln!(text, "{heading:<8} {}: {}", note.subject, note.what);
            let _ = writeln!(text, "         {}", note.remedy);
        }
    }
    text
}
