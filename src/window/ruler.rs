//! The stop ruler's geometry: a vertical scale of stops around the camera's setting, and marks
//! that may not lie on each other.

/// A scale whose middle is the camera's setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Upper end, in points.
    pub top: f32,
    /// Lower end.
    pub bottom: f32,
    /// Stops over the setting at the upper end.
    pub high: f32,
    /// Stops over the setting at the lower end.
    pub low: f32,
}

impl Scale {
    /// Place of a reading, kept on the scale.
    pub fn place(&self, stops: f32) -> f32 {
        let share = (self.high - stops) / (self.high - self.low);
        self.top + share.clamp(0.0, 1.0) * (self.bottom - self.top)
    }

    /// Whether a reading is beyond the scale.
    pub fn is_beyond(&self, stops: f32) -> bool {
        stops > self.high || stops < self.low
    }

    /// Points a stop takes.
    pub fn points_a_stop(&self) -> f32 {
        (self.bottom - self.top) / (self.high - self.low)
    }

    /// Stops that a movement of so many points up means.
    pub fn stops_of(&self, points_up: f32) -> f32 {
        points_up / self.points_a_stop()
    }
}

/// Puts marks of `height` apart, each as near to its wish as may be, within `top` to `bottom`.
/// Gives their places in the order of the wishes.
pub fn spread(wishes: &[f32], height: f32, top: f32, bottom: f32) -> Vec<f32> {
    let mut order: Vec<usize> = (0..wishes.len()).collect();
    order.sort_by(|&a, &b| wishes[a].total_cmp(&wishes[b]));
    // blocks of touching marks: (sum of wishes less their offset, count)
    let mut blocks: Vec<(f32, usize)> = Vec::new();
    let centre = |(sum, count): (f32, usize)| {
        let room = (bottom - top - count as f32 * height).max(0.0);
        let first = sum / count as f32;
        first.clamp(top + 0.5 * height, top + 0.5 * height + room)
    };
    for &index in &order {
        blocks.push((wishes[index], 1));
        // a block that reaches into the one above it joins it
        while let [.., above, last] = blocks[..] {
            let end = centre(above) + above.1 as f32 * height;
            if centre(last) >= end {
                break;
            }
            blocks.truncate(blocks.len() - 2);
            let moved = last.0 - last.1 as f32 * above.1 as f32 * height;
            blocks.push((above.0 + moved, above.1 + last.1));
        }
    }
    let mut places = vec![0.0; wishes.len()];
    let mut next = order.into_iter();
    for block in blocks {
        let first = centre(block);
        for (step, index) in next.by_ref().take(block.1).enumerate() {
            places[index] = first + step as f32 * height;
        }
    }
    places
}

/// A power snapped to steps of a head's dial.
pub fn snapped(stops: f64, step: f64) -> f64 {
    if step > 0.0 { (stops / step).round() * step } else { stops }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stop_takes_as_many_points_everywhere() {
        let scale = Scale { top: 10.0, bottom: 210.0, high: 4.0, low: -6.0 };
        assert_eq!(scale.place(4.0), 10.0);
        assert_eq!(scale.place(-6.0), 210.0);
        assert_eq!(scale.place(0.0) - scale.place(1.0), 20.0);
        assert_eq!(scale.stops_of(20.0), 1.0);
        assert_eq!(scale.place(9.0), 10.0, "kept on the scale");
        assert!(scale.is_beyond(9.0) && !scale.is_beyond(3.9));
    }

    #[test]
    fn marks_keep_apart_and_near_their_wish() {
        let wishes = [100.0, 101.0, 102.0, 300.0, 5.0];
        let places = spread(&wishes, 16.0, 0.0, 400.0);
        let mut sorted = places.clone();
        sorted.sort_by(f32::total_cmp);
        for pair in sorted.windows(2) {
            assert!(pair[1] - pair[0] >= 15.99, "{places:?}");
        }
        assert_eq!(places[3], 300.0);
        assert!((places[1] - 101.0).abs() < 1e-3, "the middle one stays: {places:?}");
        assert_eq!(places[4], 8.0, "within the scale");
        // as many as fit, and the order of equal wishes kept
        let crowded = spread(&[50.0; 5], 20.0, 0.0, 100.0);
        assert_eq!(crowded, [10.0, 30.0, 50.0, 70.0, 90.0]);
    }
}
