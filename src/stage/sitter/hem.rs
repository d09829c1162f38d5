//! Hems: the open edges of cloth are turned in, so that one sees a folded edge and the inside of
//! the cloth, not a paper-thin end.
//!
//! ```text
//!   outside ──────╮   edge, 2.5 mm thick
//!   inside   ─────╯   running back 30 mm, a little nearer the body
//! ```

use std::collections::HashMap;

use glam::Vec3;

use super::mesher::Shell;

const THICK_M: f32 = 0.0025;
const TURN_M: f32 = 0.030;

/// The shell with its open edges turned in; `inward` grows from the edge into the cloth.
pub fn turn_in(shell: &Shell, inward: impl Fn(Vec3) -> f32) -> Shell {
    let mut out = shell.clone();
    let mut edges: HashMap<(u32, u32), i32> = HashMap::new();
    for t in &shell.triangles {
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            *edges.entry((a.min(b), a.max(b))).or_default() += if a < b { 1 } else { -1 };
        }
    }
    let mut open: Vec<(u32, u32)> = edges
        .into_iter()
        .filter(|(_, n)| *n != 0)
        .map(|((a, b), n)| if n > 0 { (a, b) } else { (b, a) })
        .collect();
    open.sort_unstable();
    let mut ring: HashMap<u32, [u32; 4]> = HashMap::new();
    for (a, b) in open {
        let [ra, rb] =
            [a, b].map(|v| *ring.entry(v).or_insert_with(|| add_ring(&mut out, v, &inward)));
        // Border edges run with the cloth on their left; the strip continues over the edge.
        for k in [0, 2] {
            let (a0, b0) = (ra[k], rb[k]);
            let (a1, b1) = (ra[k + 1], rb[k + 1]);
            out.triangles.push([b0, a0, a1]);
            out.triangles.push([b0, a1, b1]);
        }
    }
    out
}

/// Vertices of the turned edge behind border vertex `v`: the edge itself (outer, inner), then the
/// inside (edge, end).
fn add_ring(out: &mut Shell, v: u32, inward: &impl Fn(Vec3) -> f32) -> [u32; 4] {
    let (p, n) = (out.positions[v as usize], out.normals[v as usize]);
    let h = 0.004;
    let slope = |a: Vec3| inward(p + a * h) - inward(p - a * h);
    let rise = Vec3::new(slope(Vec3::X), slope(Vec3::Y), slope(Vec3::Z));
    let into = (rise - n * rise.dot(n)).normalize_or(Vec3::Y);
    let mut push = |p: Vec3, n: Vec3| {
        out.positions.push(p);
        out.normals.push(n);
        out.positions.len() as u32 - 1
    };
    let edge = p - n * THICK_M;
    [
        push(p, -into),
        push(edge, -into),
        push(edge, -n),
        push(edge + into * TURN_M - n * (0.6 * THICK_M), -n),
    ]
}
