//! What falls on a meter's receptor: each light alone, straight and bounced apart.

use glam::{DVec3, Vec3};
use rayon::prelude::*;

use super::Tracer;
use super::estimate::{Gathered, gather};
use super::light_paths::{self, Pool};
use super::sampler::Sampler;
use super::vertex::{Receptor, Vertex};
use crate::optics::color::luminance_f64;

/// Light of one lamp at unit setting, linear Rec.709: for a flash lx·s (cd·s/m² on a spot
/// meter) at full power, for a continuous light lx (cd/m²) at unit level.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Incident {
    /// Straight from the front.
    pub direct: DVec3,
    /// By at least one bounce.
    pub bounced: DVec3,
    /// Standard error of the sum's luminance.
    pub standard_error: f64,
}

/// Paths of each of the independent batches that the standard error is taken from.
const BATCH: u32 = 1024;
/// Paths a task takes at once.
const CHUNK: u32 = 64;

impl Tracer {
    /// Light of each of the scene's lights on a receptor at `position` looking along `axis`,
    /// from `batches` batches of 1024 paths.
    pub fn meter(
        &self,
        position: Vec3,
        axis: Vec3,
        receptor: Receptor,
        batches: u32,
        seed: u32,
    ) -> Vec<Incident> {
        let all: Vec<usize> = (0..self.scene.lights.len()).collect();
        averaged(self, batches, seed, |pools, sampler, found| {
            let vertex = Vertex::receptor(position, axis, receptor);
            gather(&self.scene, pools, &all, vertex, sampler, found);
        })
    }
}

/// Averages what `path` gathers over batches of paths; sums in f64.
pub fn averaged(
    tracer: &Tracer,
    batches: u32,
    seed: u32,
    path: impl Fn(&[Pool], &Sampler, &mut [Gathered]) + Sync,
) -> Vec<Incident> {
    let lights = tracer.scene.lights.len();
    let per_batch: Vec<Vec<[DVec3; 2]>> = (0..batches)
        .map(|batch| {
            let pools: Vec<Pool> = (0..lights)
                .map(|light| light_paths::pool(&tracer.scene, light, batch, seed ^ 0x5eed))
                .collect();
            (0..BATCH / CHUNK)
                .into_par_iter()
                .map(|chunk| {
                    let mut sums = vec![[DVec3::ZERO; 2]; lights];
                    let mut found = vec![Gathered::default(); lights];
                    for i in 0..CHUNK {
                        found.fill(Gathered::default());
                        let sampler = Sampler::new(chunk * CHUNK + i, batch, seed);
                        path(&pools, &sampler, &mut found);
                        for (sum, gathered) in sums.iter_mut().zip(&found) {
                            sum[0] += gathered.direct.as_dvec3();
                            sum[1] += gathered.bounced.as_dvec3();
                        }
                    }
                    sums
                })
                // in the order of the chunks, so that sums do not depend on the cores
                .collect::<Vec<_>>()
                .into_iter()
                .reduce(|mut a, b| {
                    for (a, b) in a.iter_mut().zip(b) {
                        a[0] += b[0];
                        a[1] += b[1];
                    }
                    a
                })
                .unwrap_or_default()
        })
        .collect();
    (0..lights).map(|light| summarise(per_batch.iter().map(|b| b[light]))).collect()
}

/// Mean of the batches and the standard error between them.
fn summarise(batches: impl ExactSizeIterator<Item = [DVec3; 2]>) -> Incident {
    let count = batches.len() as f64;
    let (mut direct, mut bounced, mut y, mut y2) = (DVec3::ZERO, DVec3::ZERO, 0.0, 0.0);
    for [d, b] in batches {
        direct += d / f64::from(BATCH);
        bounced += b / f64::from(BATCH);
        let level = luminance_f64(d + b) / f64::from(BATCH);
        y += level;
        y2 += level * level;
    }
    let variance = (y2 / count - (y / count).powi(2)).max(0.0) / (count - 1.0).max(1.0);
    Incident { direct: direct / count, bounced: bounced / count, standard_error: variance.sqrt() }
}
