//! Cutting a mesh along a level of a function.
//!
//! In: a [`Shell`] and a function that is positive where the mesh is kept. Out: the kept part;
//! triangles across the level are split exactly on it.

use std::collections::HashMap;

use glam::Vec3;
use rayon::prelude::*;

use super::mesher::Shell;

/// The part of `shell` where `wanted` is positive.
pub fn keep(shell: &Shell, wanted: impl Fn(Vec3) -> f32 + Sync) -> Shell {
    let value: Vec<f32> = shell.positions.par_iter().map(|p| wanted(*p)).collect();
    let mut out = Shell::default();
    let mut whole = vec![u32::MAX; value.len()];
    let mut split: HashMap<(u32, u32), u32> = HashMap::new();
    for triangle in &shell.triangles {
        let inside = triangle.map(|i| value[i as usize] > 0.0);
        if inside == [false; 3] {
            continue;
        }
        let mut ring = Vec::with_capacity(4);
        for k in 0..3 {
            let (a, b) = (triangle[k], triangle[(k + 1) % 3]);
            if inside[k] {
                let slot = &mut whole[a as usize];
                if *slot == u32::MAX {
                    *slot = push(&mut out, shell.positions[a as usize], shell.normals[a as usize]);
                }
                ring.push(*slot);
            }
            if inside[k] != inside[(k + 1) % 3] {
                let key = (a.min(b), a.max(b));
                ring.push(*split.entry(key).or_insert_with(|| {
                    let (i, j) = (key.0 as usize, key.1 as usize);
                    let t = value[i] / (value[i] - value[j]);
                    let p = shell.positions[i].lerp(shell.positions[j], t);
                    let n = shell.normals[i].lerp(shell.normals[j], t).normalize_or(Vec3::Y);
                    push(&mut out, p, n)
                }));
            }
        }
        for k in 2..ring.len() {
            out.triangles.push([ring[0], ring[k - 1], ring[k]]);
        }
    }
    out
}

fn push(shell: &mut Shell, p: Vec3, n: Vec3) -> u32 {
    shell.positions.push(p);
    shell.normals.push(n);
    shell.positions.len() as u32 - 1
}
