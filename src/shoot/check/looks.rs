//! What the camera and the lights see of the set: rays for the notes that need them.

use glam::{Vec2, Vec3};

use crate::plan::Plan;
use crate::stage::{Light, Mesh, Role, Stage};
use crate::trace::{Incident, Receptor, Tracer};

/// Rows of looks over the frame's longer side.
const GRID: u32 = 72;
/// Batches of 1024 paths for a reading: a few hundredths of a stop, which is enough for a word.
const BATCHES: u32 = 6;
/// What lies so near to a head's front is its own fixture, in metres.
const OWN_FIXTURE_M: f32 = 0.5;

/// One look through the lens.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look {
    /// From the lens.
    pub direction: Vec3,
    /// What it meets.
    pub at: Vec3,
    /// Normal there, on the camera's side.
    pub normal: Vec3,
    /// Which mesh of the stage.
    pub mesh: usize,
}

/// The stage ready for rays, and what the lens sees.
pub(super) struct Looks<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Its stage.
    pub stage: &'a Stage,
    /// The plan's lights that are on, and the room's.
    pub tracer: Tracer,
    /// Gain of each of the tracer's lights today, times the shutter for what burns on.
    pub gains: Vec<Vec3>,
    /// Looks over the whole frame.
    pub grid: Vec<Look>,
    /// From look to look, in metres at a metre from the lens.
    pub pitch: f32,
}

impl<'a> Looks<'a> {
    pub(super) fn new(plan: &'a Plan, stage: &'a Stage) -> Self {
        let tracer = super::super::read_meter::lit_tracer(plan, stage);
        let gains = super::super::read_meter::exposed_gains(plan, stage, &tracer);
        let [w, h] = stage.camera.sensor_m;
        let scale = f64::from(GRID) / w.max(h);
        let (columns, rows) = ((w * scale).ceil() as u32, (h * scale).ceil() as u32);
        let mut grid = Vec::new();
        for row in 0..rows {
            for column in 0..columns {
                let film = (Vec2::new(column as f32, row as f32) + 0.5)
                    / Vec2::new(columns as f32, rows as f32);
                let (from, direction) = stage.camera.ray(film, Vec2::ZERO);
                if let Some(hit) = tracer.scene.intersect(from, direction) {
                    grid.push(Look {
                        direction,
                        at: hit.position,
                        normal: hit.geometric,
                        // the scene has one surface a mesh, in the stage's order
                        mesh: hit.surface as usize,
                    });
                }
            }
        }
        let pitch = 2.0 * stage.camera.half_frame().x / columns as f32;
        Self { plan, stage, tracer, gains, grid, pitch }
    }

    /// The plan's lights that are on, on the stage.
    pub(super) fn lights(&self) -> impl Iterator<Item = &'a Light> {
        let planned = |name: &str| self.plan.lights.iter().any(|l| l.on && l.name == name);
        self.stage.lights.iter().filter(move |light| planned(&light.name))
    }

    /// Index of a light in the tracer.
    pub(super) fn index(&self, name: &str) -> Option<usize> {
        self.tracer.scene.lights.iter().position(|light| light.name == name)
    }

    /// What stands between a point and the middle of a head's front, besides its own fixture, and
    /// how far from the point.
    pub(super) fn blocker(&self, from: Vec3, normal: Vec3, light: &Light) -> Option<(&Mesh, f32)> {
        let to = light.source.position;
        let lifted = from + normal * 1e-3;
        let away = lifted.distance(to);
        let hit = self.tracer.scene.intersect(lifted, (to - lifted).normalize_or(normal))?;
        let mesh = self.stage.meshes.get(hit.surface as usize)?;
        let own = mesh.role == Role::Fixture && away - hit.distance < OWN_FIXTURE_M;
        (hit.distance < away && !own).then_some((mesh, hit.distance))
    }

    /// Reading of every light of the tracer today, colour and shutter included.
    pub(super) fn read(&self, at: Vec3, axis: Vec3, receptor: Receptor) -> Vec<Incident> {
        let mut found = self.tracer.meter(at, axis, receptor, BATCHES, 1);
        for (one, gain) in found.iter_mut().zip(&self.gains) {
            one.direct *= gain.as_dvec3();
            one.bounced *= gain.as_dvec3();
        }
        found
    }

    /// The mark of that name.
    pub(super) fn mark(&self, name: &str) -> Option<(Vec3, Vec3)> {
        let mark = self.stage.marks.iter().find(|mark| mark.name == name)?;
        Some((mark.position, mark.facing))
    }
}

/// Whether a thing is part of the sitter.
pub(super) fn is_sitter(role: Role) -> bool {
    matches!(role, Role::Skin | Role::Eye | Role::Hair | Role::Garment)
}

/// Diameter of a round front of the same area, metres.
pub(super) fn diameter_m(light: &Light) -> f64 {
    2.0 * (light.source.shape.area_m2() / std::f64::consts::PI).sqrt()
}
