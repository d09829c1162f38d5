//! A curve that fills space, so that places near each other along it are near each other.

use glam::Vec3;

/// Place along the Z-order curve (Morton 1966, "A Computer Oriented Geodetic Data Base") of a
/// point in metres: 10 bits a coordinate over a 32 m cube about the mark, cells of 3 cm. Points
/// outside count as on the cube's faces.
pub fn morton(p: Vec3) -> u32 {
    let spread = |x: f32| {
        let mut v = ((x + 16.0) * 32.0).clamp(0.0, 1023.0) as u32;
        v = (v | (v << 16)) & 0x0300_00ff;
        v = (v | (v << 8)) & 0x0300_f00f;
        v = (v | (v << 4)) & 0x030c_30c3;
        (v | (v << 2)) & 0x0924_9249
    };
    spread(p.x) | (spread(p.y) << 1) | (spread(p.z) << 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bits_of_the_three_coordinates_take_turns() {
        let cell = |x: u32, y: u32, z: u32| {
            Vec3::new(x as f32 + 0.5, y as f32 + 0.5, z as f32 + 0.5) / 32.0 - 16.0
        };
        assert_eq!(morton(cell(1, 0, 0)), 0b001);
        assert_eq!(morton(cell(0, 1, 0)), 0b010);
        assert_eq!(morton(cell(0, 0, 1)), 0b100);
        assert_eq!(morton(cell(2, 1, 3)), 0b101_110);
        assert_eq!(morton(Vec3::splat(99.0)), (1 << 30) - 1);
        assert_eq!(morton(Vec3::splat(-99.0)), 0);
    }
}
