//! Which lights shine straight into the lens, and how strongly: rays between fronts and pupil, so
//! that whatever stands between, a flag, a board, the sitter, keeps the lens dark.

use glam::{Vec2, Vec3};

use super::Tracer;
use super::sampler::Sampler;
use crate::layers::LightKind;

/// A light as the lens meets it.
#[derive(Debug, Clone, PartialEq)]
pub struct IntoLens {
    /// The light's name.
    pub name: String,
    /// Flash or steady.
    pub kind: LightKind,
    /// Straight light across the lens's axis at unit setting: lx·s of a flash, lx of a steady one.
    pub on_lens: f64,
    /// Mean direction to what shines in, unit, in the world.
    pub toward: Vec3,
}

/// Rays from each light to the pupil.
const RAYS: u32 = 1024;

/// Light nearer to the lens's own plane than this does not reach its glass: cos 78°, where a hood
/// or the mount's rim ends (common practice, no source).
const RIM_COS: f32 = 0.2;

impl Tracer {
    /// The scene's lights that shine into the lens, straight, within 78° of its axis.
    pub fn into_lens(&self) -> Vec<IntoLens> {
        let camera = &self.camera;
        let radius = camera.pupil_radius_m as f32;
        let shine = |light: usize| {
            let one = &self.scene.lights[light];
            let (mut sum, mut toward) = (0.0f64, Vec3::ZERO);
            for ray in 0..RAYS {
                let sampler = Sampler::new(ray, light as u32, 0x1e45);
                let front = one.emitter.front(sampler.pair(0));
                let glass = camera.position + camera.on_pupil(sampler.pair(1), radius);
                let span = glass - front.position;
                let direction = span.normalize_or_zero();
                let (cos_front, cos_lens) =
                    (front.normal.dot(direction), -camera.forward.dot(direction));
                if cos_front <= 0.0 || cos_lens < RIM_COS {
                    continue;
                }
                let radiance = one.emitter.radiance(&front, direction);
                let arrives = radiance * cos_front * cos_lens
                    / (span.length_squared() * one.emitter.area_pdf(&front));
                let open = arrives > 0.0
                    && self.scene.visible(front.position, front.normal, glass, -direction);
                if open {
                    sum += f64::from(arrives);
                    toward -= direction * arrives;
                }
            }
            let on_lens = sum / f64::from(RAYS);
            (on_lens > 0.0).then(|| IntoLens {
                name: one.name.clone(),
                kind: one.kind,
                on_lens,
                toward: toward.normalize_or(camera.forward),
            })
        };
        (0..self.scene.lights.len()).filter_map(shine).collect()
    }

    /// Tangents to the right and up of the camera's axis, of a direction before it.
    pub fn tangents(&self, toward: Vec3) -> Vec2 {
        let ahead = toward.dot(self.camera.forward).max(1e-3);
        Vec2::new(toward.dot(self.camera.right), toward.dot(self.camera.up)) / ahead
    }
}
