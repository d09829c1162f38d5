//! The main colours of a still, by k-means in a perceptual space.
//!
//! In: sRGB pixels. Out: a few colours with the share of the picture that each stands for, dark
//! to light. The same picture gives the same colours.

use glam::Vec3;

use crate::optics::color::{srgb_decode, srgb_encode};

/// A colour of a palette.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Swatch {
    /// sRGB.
    pub rgb: [u8; 3],
    /// Share of the picture, 0 to 1.
    pub share: f64,
}

/// Pixels that are looked at, at most.
const LOOKS: usize = 6000;
/// Rounds of k-means; it has settled long before.
const ROUNDS: usize = 40;
/// Colours nearer than this in Oklab count as one: about what an eye tells apart side by side.
const SAME: f32 = 0.025;

/// Linear Rec.709 to Oklab (Ottosson 2020, 'A perceptual color space for image processing').
fn oklab(linear: Vec3) -> Vec3 {
    let lms = Vec3::new(
        linear.dot(Vec3::new(0.412_221_47, 0.536_332_55, 0.051_445_995)),
        linear.dot(Vec3::new(0.211_903_5, 0.680_699_5, 0.107_396_96)),
        linear.dot(Vec3::new(0.088_302_46, 0.281_718_85, 0.629_978_7)),
    );
    let root = Vec3::new(lms.x.cbrt(), lms.y.cbrt(), lms.z.cbrt());
    Vec3::new(
        root.dot(Vec3::new(0.210_454_26, 0.793_617_8, -0.004_072_047)),
        root.dot(Vec3::new(1.977_998_5, -2.428_592_2, 0.450_593_7)),
        root.dot(Vec3::new(0.025_904_037, 0.782_771_77, -0.808_675_77)),
    )
}

/// The way back (same source).
fn from_oklab(lab: Vec3) -> Vec3 {
    let root = Vec3::new(
        lab.dot(Vec3::new(1.0, 0.396_337_78, 0.215_803_76)),
        lab.dot(Vec3::new(1.0, -0.105_561_346, -0.063_854_17)),
        lab.dot(Vec3::new(1.0, -0.089_484_18, -1.291_485_5)),
    );
    let lms = root * root * root;
    Vec3::new(
        lms.dot(Vec3::new(4.076_741_7, -3.307_711_6, 0.230_969_94)),
        lms.dot(Vec3::new(-1.268_438, 2.609_757_4, -0.341_319_38)),
        lms.dot(Vec3::new(-0.004_196_086_3, -0.703_418_6, 1.707_614_7)),
    )
}

fn rgb(lab: Vec3) -> [u8; 3] {
    from_oklab(lab)
        .to_array()
        .map(|value| (srgb_encode(value.clamp(0.0, 1.0)) * 255.0).round() as u8)
}

/// At most `count` colours of some sRGB pixels (0 to 1).
pub fn palette(pixels: &[Vec3], count: usize) -> Vec<Swatch> {
    let step = pixels.len().div_ceil(LOOKS).max(1);
    let points: Vec<Vec3> = pixels
        .iter()
        .step_by(step)
        .map(|pixel| {
            oklab(Vec3::from_array(pixel.clamp(Vec3::ZERO, Vec3::ONE).to_array().map(srgb_decode)))
        })
        .collect();
    if points.is_empty() || count == 0 {
        return Vec::new();
    }
    let mut means = seeds(&points, count);
    let mut members = vec![0usize; means.len()];
    for _ in 0..ROUNDS {
        let mut sums = vec![(Vec3::ZERO, 0usize); means.len()];
        for point in &points {
            let sum = &mut sums[nearest(&means, *point).0];
            *sum = (sum.0 + *point, sum.1 + 1);
        }
        let moved: f32 = means
            .iter_mut()
            .zip(&sums)
            .filter(|(_, (_, count))| *count > 0)
            .map(|(mean, (sum, count))| {
                let before = std::mem::replace(mean, *sum / *count as f32);
                before.distance(*mean)
            })
            .sum();
        members = sums.iter().map(|(_, count)| *count).collect();
        if moved < 1e-4 {
            break;
        }
    }
    let mut found: Vec<(Vec3, usize)> =
        means.into_iter().zip(members).filter(|m| m.1 > 0).collect();
    found.sort_by(|a, b| a.0.x.total_cmp(&b.0.x));
    let all = points.len() as f64;
    found.iter().map(|(lab, count)| Swatch { rgb: rgb(*lab), share: *count as f64 / all }).collect()
}

/// Starting points far from each other: the mean's nearest point, then always the one farthest
/// from those taken, which lets a small bright accent have a swatch of its own.
fn seeds(points: &[Vec3], count: usize) -> Vec<Vec3> {
    let mean = points.iter().copied().sum::<Vec3>() / points.len() as f32;
    let mut taken = vec![points[nearest(points, mean).0]];
    while taken.len() < count {
        let farthest = points
            .iter()
            .map(|point| (*point, nearest(&taken, *point).1))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        match farthest {
            Some((point, distance)) if distance > SAME => taken.push(point),
            _ => break,
        }
    }
    taken
}

fn nearest(means: &[Vec3], point: Vec3) -> (usize, f32) {
    let found = means.iter().enumerate().map(|(index, mean)| (index, mean.distance(point)));
    found.min_by(|a, b| a.1.total_cmp(&b.1)).unwrap_or((0, f32::MAX))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// White and red as Ottosson's page gives them, and the way back.
    #[test]
    fn oklab_of_known_colours() {
        assert!(oklab(Vec3::ONE).distance(Vec3::X) < 1e-4);
        let red = oklab(Vec3::X);
        assert!(red.distance(Vec3::new(0.6280, 0.2249, 0.1258)) < 1e-3, "{red}");
        for linear in [Vec3::new(0.2, 0.5, 0.1), Vec3::new(0.9, 0.02, 0.4)] {
            assert!(from_oklab(oklab(linear)).distance(linear) < 1e-4);
        }
    }

    #[test]
    fn three_flat_colours_come_back_with_their_shares() {
        let colours =
            [Vec3::new(0.1, 0.1, 0.1), Vec3::new(0.8, 0.2, 0.1), Vec3::new(0.9, 0.9, 0.8)];
        let mut pixels = vec![colours[0]; 600];
        pixels.extend(vec![colours[1]; 100]);
        pixels.extend(vec![colours[2]; 300]);
        let found = palette(&pixels, 6);
        assert_eq!(found.len(), 3);
        for (swatch, (colour, share)) in found.iter().zip(colours.iter().zip([0.6, 0.1, 0.3])) {
            assert!((swatch.share - share).abs() < 0.01, "{swatch:?}");
            for (got, wanted) in swatch.rgb.iter().zip(colour.to_array()) {
                assert!((f32::from(*got) - 255.0 * wanted).abs() <= 1.0, "{swatch:?}");
            }
        }
        assert!(palette(&[], 5).is_empty());
        assert_eq!(palette(&[Vec3::ONE], 5).len(), 1);
    }
}
