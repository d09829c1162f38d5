//! Smooth noise for strands, clumps and folds. The same point gives the same value everywhere.

use glam::{IVec3, Vec3};

fn hash(cell: IVec3) -> u32 {
    // Mixing constants of 'lowbias32' (C. Wellons' search for low-bias integer hashes, 2018).
    let mut h = (cell.x as u32).wrapping_mul(0x9e37_79b9)
        ^ (cell.y as u32).wrapping_mul(0x85eb_ca6b)
        ^ (cell.z as u32).wrapping_mul(0xc2b2_ae35);
    h ^= h >> 16;
    h = h.wrapping_mul(0x7feb_352d);
    h ^= h >> 15;
    h = h.wrapping_mul(0x846c_a68b);
    h ^ (h >> 16)
}

fn unit(h: u32) -> f32 {
    (h >> 8) as f32 / (1 << 24) as f32
}

/// Value noise, −1 to 1, cells of size 1.
pub fn value(p: Vec3) -> f32 {
    let cell = p.floor();
    let f = p - cell;
    let w = f * f * f * (f * (f * 6.0 - 15.0) + 10.0);
    let c = cell.as_ivec3();
    let at = |x, y, z| unit(hash(c + IVec3::new(x, y, z)));
    let mix = |a: f32, b: f32, t: f32| a + (b - a) * t;
    let edge = |y, z| mix(at(0, y, z), at(1, y, z), w.x);
    let face = |z| mix(edge(0, z), edge(1, z), w.y);
    2.0 * mix(face(0), face(1), w.z) - 1.0
}

/// Two octaves of [`value`].
pub fn rough(p: Vec3) -> f32 {
    0.67 * value(p) + 0.33 * value(p * 2.17 + Vec3::splat(11.3))
}

/// Distance to the nearest of one random point a cell (Worley 1996), in cells.
pub fn clump(p: Vec3) -> f32 {
    let cell = p.floor().as_ivec3();
    let mut nearest = f32::MAX;
    for z in -1..=1 {
        for y in -1..=1 {
            for x in -1..=1 {
                let c = cell + IVec3::new(x, y, z);
                let h = hash(c);
                let jitter = Vec3::new(
                    unit(h),
                    unit(h.wrapping_mul(0x9e37_79b9).rotate_left(7)),
                    unit(h.wrapping_mul(0x85eb_ca6b).rotate_left(13)),
                );
                nearest = nearest.min((c.as_vec3() + jitter).distance_squared(p));
            }
        }
    }
    nearest.sqrt()
}

/// 0 below `low`, 1 above `high`, smooth between.
pub fn ease(low: f32, high: f32, v: f32) -> f32 {
    let t = ((v - low) / (high - low)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}
