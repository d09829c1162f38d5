//! Low-discrepancy sample streams: Owen-scrambled Sobol points, one independent scramble for
//! every pair of dimensions of every pixel.
//!
//! Brent Burley 2020, "Practical Hash-based Owen Scrambling" (shuffled, scrambled 2-D Sobol
//! points, padded to any dimension). No two dimensions of a path share a sequence.

use glam::Vec2;

/// One sample of one pixel's stream.
#[derive(Debug, Clone, Copy)]
pub struct Sampler {
    index: u32,
    seed: u32,
}

impl Sampler {
    /// The `index`-th sample of the stream of `stream` under `seed`.
    pub fn new(index: u32, stream: u32, seed: u32) -> Self {
        Self { index, seed: hash2(stream, seed) }
    }

    /// Two numbers in [0, 1) for dimension pair `dimension`.
    pub fn pair(&self, dimension: u32) -> Vec2 {
        let seed = hash2(self.seed, dimension);
        let index = owen(self.index, seed);
        let x = owen(index.reverse_bits(), hash2(seed, 0x68bc_21eb));
        let y = owen(sobol_second(index), hash2(seed, 0x02e5_be93));
        Vec2::new(unit(x), unit(y))
    }

    /// One number in [0, 1) for dimension `dimension` (of the same numbering as pairs).
    pub fn single(&self, dimension: u32) -> f32 {
        let seed = hash2(self.seed, dimension);
        unit(owen(owen(self.index, seed).reverse_bits(), hash2(seed, 0x68bc_21eb)))
    }
}

/// Top 24 bits as a number in [0, 1).
fn unit(bits: u32) -> f32 {
    (bits >> 8) as f32 * (1.0 / 16_777_216.0)
}

/// Second Sobol dimension, already in radical-inverse order: the Pascal matrix modulo 2 is a
/// Kronecker power of [[1,1],[0,1]], so it applies in log2(32) butterfly steps.
fn sobol_second(index: u32) -> u32 {
    let mut v = index;
    v ^= (v & 0xaaaa_aaaa) >> 1;
    v ^= (v & 0xcccc_cccc) >> 2;
    v ^= (v & 0xf0f0_f0f0) >> 4;
    v ^= (v & 0xff00_ff00) >> 8;
    v ^= (v & 0xffff_0000) >> 16;
    v.reverse_bits()
}

/// Nested uniform (Owen) scramble of a fraction's bits by a Laine–Karras style hash on the
/// reversed bits: each bit is flipped by a hash of the bits above it.
fn owen(fraction: u32, seed: u32) -> u32 {
    let mut v = fraction.reverse_bits();
    v = v.wrapping_add(seed);
    v ^= v.wrapping_mul(0x6c50_b47c);
    v ^= v.wrapping_mul(0xb82f_1e52);
    v ^= v.wrapping_mul(0xc7af_e638);
    v ^= v.wrapping_mul(0x8d22_f6e6);
    v.reverse_bits()
}

/// Mixes two words (Wellons' low-bias 32-bit finaliser over a combination).
fn hash2(a: u32, b: u32) -> u32 {
    let mut v = a ^ b.wrapping_mul(0x9e37_79b9).rotate_left(15);
    v ^= v >> 16;
    v = v.wrapping_mul(0x7feb_352d);
    v ^= v >> 15;
    v = v.wrapping_mul(0x846c_a68b);
    v ^ (v >> 16)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every elementary interval of area 2⁻⁸ holds exactly one of the first 256 points: the
    /// defining property of a (0, 2)-sequence (Niederreiter 1987), which scrambling keeps.
    #[test]
    fn pairs_are_a_zero_two_sequence() {
        for stream in 0..20 {
            let points: Vec<Vec2> =
                (0..256).map(|i| Sampler::new(i, stream, 7).pair(stream * 3)).collect();
            for split in 0..=8u32 {
                let (nx, ny) = (1u32 << split, 256u32 >> split);
                let mut seen = vec![false; 256];
                for p in &points {
                    let cell = (p.x * nx as f32) as u32 * ny + (p.y * ny as f32) as u32;
                    assert!(!seen[cell as usize], "two points in cell {cell} of {nx}×{ny}");
                    seen[cell as usize] = true;
                }
            }
        }
    }

    /// Two dimension pairs of one path are uncorrelated (the pitfall that hides a 7 % floor).
    #[test]
    fn dimensions_are_uncorrelated() {
        let n = 4096;
        let mut sum = 0.0f64;
        for i in 0..n {
            let s = Sampler::new(i, 3, 1);
            sum += (f64::from(s.pair(0).x) - 0.5) * (f64::from(s.pair(1).x) - 0.5);
        }
        let correlation = sum / f64::from(n) * 12.0;
        assert!(correlation.abs() < 0.05, "correlation {correlation}");
    }
}
