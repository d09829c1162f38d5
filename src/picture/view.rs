//! Where the pixels of a picture look: tangents off the optical axis, and the part of the sensor
//! that a crop leaves.

use glam::Vec2;

/// The frame as the lens sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Half the sensor's width and height, as held, over its distance from the lens.
    pub half_tan: [f64; 2],
    /// Radius of the entrance pupil over the same distance.
    pub pupil_tan: f64,
}

/// A picture's frame: the view cropped to the picture's shape, and its pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// Pixels across and down.
    pub size: [u32; 2],
    /// Half the picture's width and height over the sensor's distance.
    pub half_tan: [f64; 2],
    /// Share of the sensor's width and height that the picture keeps.
    pub kept: [f64; 2],
}

impl View {
    /// The middle of the sensor in the shape of a picture of so many pixels.
    pub fn cropped(&self, width: u32, height: u32) -> Frame {
        let aspect = f64::from(width) / f64::from(height.max(1));
        let [w, h] = self.half_tan;
        let half_tan = if w / h > aspect { [h * aspect, h] } else { [w, w / aspect] };
        Frame { size: [width, height], half_tan, kept: [half_tan[0] / w, half_tan[1] / h] }
    }

    /// Tangent of the sensor's corner off the axis.
    pub fn corner_tan(&self) -> f64 {
        self.half_tan[0].hypot(self.half_tan[1])
    }
}

impl Frame {
    /// A pixel's side in tangents, across and down.
    pub fn pixel_tan(&self) -> [f64; 2] {
        [0, 1].map(|side| 2.0 * self.half_tan[side] / f64::from(self.size[side].max(1)))
    }

    /// Tangents to the right and up of a pixel's middle.
    pub fn tangents(&self, pixel: usize) -> Vec2 {
        let width = self.size[0].max(1) as usize;
        let place = |at: usize, side: usize| {
            let share = (at as f64 + 0.5) / f64::from(self.size[side].max(1));
            (2.0 * share - 1.0) * self.half_tan[side]
        };
        Vec2::new(place(pixel % width, 0) as f32, -place(pixel / width, 1) as f32)
    }

    /// Whether a direction of these tangents falls on the picture.
    pub fn holds(&self, tangents: Vec2) -> bool {
        f64::from(tangents.x.abs()) <= self.half_tan[0]
            && f64::from(tangents.y.abs()) <= self.half_tan[1]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crops_keep_the_middle() {
        let view = View { half_tan: [0.3, 0.2], pupil_tan: 0.01 };
        let whole = view.cropped(300, 200);
        assert!((whole.kept[0] - 1.0).abs() < 1e-12 && (whole.kept[1] - 1.0).abs() < 1e-12);
        let square = view.cropped(100, 100);
        assert!((square.kept[0] - 2.0 / 3.0).abs() < 1e-12 && square.kept[1] == 1.0);
        assert!((square.pixel_tan()[0] - 0.004).abs() < 1e-12);
        let corner = square.tangents(0);
        assert!((corner - Vec2::new(-0.198, 0.198)).length() < 1e-6, "{corner}");
        assert!(square.holds(corner) && !square.holds(Vec2::new(0.25, 0.0)));
    }
}
