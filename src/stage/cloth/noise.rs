//! Seeded numbers and smooth noise: the same seed gives the same cloth on every machine.

/// SplitMix64's finaliser (Steele, Lea & Flood 2014): every bit of `v` stirs every bit of the result.
fn stir(mut v: u64) -> u64 {
    v = (v ^ (v >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    v = (v ^ (v >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    v ^ (v >> 31)
}

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub struct Rng(u64);

impl Rng {
    /// The stream of `seed` for the purpose `salt`; different purposes don't correlate.
    pub fn new(seed: u64, salt: u64) -> Self {
        Self(stir(seed.wrapping_add(0x9E37_79B9_7F4A_7C15) ^ stir(salt)))
    }

    /// The next number in 0..1.
    pub fn unit(&mut self) -> f32 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        (stir(self.0) >> 40) as f32 / (1u64 << 24) as f32
    }

    /// The next number in `low..high`.
    pub fn between(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.unit()
    }

    /// The next seed for a [`Noise`].
    pub fn noise(&mut self) -> Noise {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        Noise(stir(self.0))
    }
}

/// Gradient noise in the plane (Perlin 2002: quintic fade), about −1 to 1 with features of size 1.
#[derive(Debug, Clone, Copy)]
pub struct Noise(u64);

impl Noise {
    /// Its value at (x, y); zero at whole numbers.
    pub fn at(&self, x: f32, y: f32) -> f32 {
        let (fx, fy) = (x.floor(), y.floor());
        let (ix, iy) = (fx as i64, fy as i64);
        let (tx, ty) = (x - fx, y - fy);
        let corner = |dx: i64, dy: i64| {
            let key =
                (ix + dx).wrapping_mul(0x1F3D_5B79) ^ (iy + dy).wrapping_mul(0x6C8E_9CF5_70B3);
            let angle = (stir(self.0 ^ key as u64) >> 40) as f32
                * (std::f32::consts::TAU / (1u64 << 24) as f32);
            angle.cos() * (tx - dx as f32) + angle.sin() * (ty - dy as f32)
        };
        let fade = |t: f32| t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
        let (u, v) = (fade(tx), fade(ty));
        let low = corner(0, 0) + u * (corner(1, 0) - corner(0, 0));
        let high = corner(0, 1) + u * (corner(1, 1) - corner(0, 1));
        // a corner's gradient reaches 1/√2 in the middle of the cell
        (low + v * (high - low)) * std::f32::consts::SQRT_2
    }
}

/// 0 below `low`, 1 above `high`, a smooth step between.
pub fn smoothstep(low: f32, high: f32, x: f32) -> f32 {
    let t = ((x - low) / (high - low)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_even_and_repeat_with_the_seed() {
        let mut rng = Rng::new(7, 1);
        let mean = (0..10_000).map(|_| rng.unit()).sum::<f32>() / 10_000.0;
        // standard error of the mean of 10⁴ uniform numbers: 0.0029
        assert!((mean - 0.5).abs() < 0.012, "{mean}");
        assert_eq!(Rng::new(7, 1).unit(), Rng::new(7, 1).unit());
        assert_ne!(Rng::new(7, 1).unit(), Rng::new(7, 2).unit());
        assert_ne!(Rng::new(7, 1).unit(), Rng::new(8, 1).unit());
    }

    #[test]
    fn noise_is_continuous_across_cells_and_bounded() {
        let noise = Rng::new(3, 0).noise();
        for i in 0..200 {
            let y = i as f32 * 0.173 - 9.0;
            let step = noise.at(2.0 + 1e-4, y) - noise.at(2.0 - 1e-4, y);
            assert!(step.abs() < 2e-3, "{step}");
            assert!(noise.at(y * 1.7, y).abs() <= 1.0);
        }
    }
}
