//! What a spot meter sees: mean luminance of a small cone.

use std::f32::consts::TAU;

use glam::Vec3;

use super::Tracer;
use super::estimate::{Gathered, gather, seen_front};
use super::receptor::{Incident, averaged};
use super::sampler::Sampler;
use super::vertex::Vertex;

impl Tracer {
    /// Mean luminance from `position` over the cone of half-angle `half_rad` around `axis`, each
    /// light at unit setting apart: cd·s/m² for a flash, cd/m² for a continuous light.
    pub fn spot(
        &self,
        position: Vec3,
        axis: Vec3,
        half_rad: f32,
        batches: u32,
        seed: u32,
    ) -> Vec<Incident> {
        let (right, up) = axis.any_orthonormal_pair();
        let versine = 1.0 - half_rad.cos();
        let all: Vec<usize> = (0..self.scene.lights.len()).collect();
        averaged(self, batches, seed, |pools, sampler: &Sampler, found: &mut [Gathered]| {
            let u = sampler.pair(0);
            let cos = 1.0 - versine * u.x;
            let (sin, phi) = ((1.0 - cos * cos).max(0.0).sqrt(), TAU * u.y);
            let direction =
                (right * (sin * phi.cos()) + up * (sin * phi.sin()) + axis * cos).normalize();
            let hit = self.scene.intersect(position, direction);
            let reach = hit.as_ref().map_or(f32::INFINITY, |hit| hit.distance);
            for (light, sum) in found.iter_mut().enumerate() {
                let seen = seen_front(&self.scene, light, position, direction, reach);
                sum.direct += Vec3::splat(seen);
            }
            if let Some(hit) = hit {
                let vertex = Vertex::at_hit(&self.scene, &hit, direction);
                gather(&self.scene, pools, &all, vertex, sampler, found);
            }
        })
    }
}
