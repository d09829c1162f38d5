//! Where the face is not one colour: lips, brows, lashes, lids, cheeks, the corner of the eye.
//!
//! In: a point of the head in its own frame. Out: linear factors on the skin's reflectance.
//! Places are millimetres of the average head; strengths are chosen by eye, no source.

use glam::Vec3;

use super::face::{OPENING, eye_axes};
use super::hair::hairline;
use super::head::Chart;
use super::noise::{ease, rough, value};
use super::skeleton::SIDES;
use crate::plan::HairStyle;

/// What the tints depend on.
#[derive(Debug, Clone, Copy)]
pub struct Palette {
    /// Skin reflectance.
    pub skin: Vec3,
    /// Hair reflectance.
    pub hair: Vec3,
    /// The style, whose line the skin darkens toward.
    pub style: HairStyle,
}

/// Height of the border of the red, above (true) or below the mouth, at `x` from the middle.
fn lip_border(x: f32, upper: bool) -> f32 {
    let knots: &[(f32, f32)] = if upper {
        &[(0.0, -43.6), (4.5, -42.0), (9.0, -42.7), (18.0, -45.6), (25.5, -48.6), (30.0, -50.0)]
    } else {
        &[(0.0, -59.2), (9.0, -58.5), (17.0, -55.4), (24.5, -50.4), (30.0, -46.4)]
    };
    let i = knots.iter().rposition(|k| k.0 <= x).unwrap_or(0).min(knots.len() - 2);
    let ((x0, y0), (x1, y1)) = (knots[i], knots[i + 1]);
    y0 + (y1 - y0) * ease(0.0, 1.0, (x - x0) / (x1 - x0)) * 0.5
        + (y1 - y0) * ((x - x0) / (x1 - x0)).clamp(0.0, 1.0) * 0.5
}

/// The skin's factor at `p`.
pub fn tint(chart: &Chart, palette: &Palette, p: Vec3) -> Vec3 {
    let q = chart.millimetres(p);
    let mut tint = Vec3::ONE;
    let hairs = (palette.hair / palette.skin.max(Vec3::splat(0.01))).min(Vec3::ONE);
    if palette.style != HairStyle::Bald {
        // The first short hairs stand before the mass begins.
        let fuzz = hairline(q, palette.style) + 2.2 * rough(q / 2.1);
        tint = tint.lerp(hairs, 0.80 * ease(-6.5, 4.0, fuzz));
    }
    if q.z < 20.0 && q.x.abs() < 60.0 {
        return tint;
    }
    let bell = |c: [f32; 3], r: f32| {
        let d = Vec3::new(q.x.abs(), q.y, q.z) - Vec3::from(c);
        (-d.length_squared() / (r * r)).exp()
    };
    // Blood under the skin, where it is thin.
    let flush = 0.8 * bell([40.0, -14.0, 70.0], 20.0)
        + 0.7 * bell([0.0, -16.0, 112.0], 13.0)
        + 0.8 * bell([78.0, 5.0, -14.0], 24.0)
        + 0.3 * bell([0.0, -82.0, 90.0], 12.0);
    tint *= Vec3::ONE.lerp(Vec3::new(0.98, 0.88, 0.86), flush.min(1.0));
    tint *= Vec3::ONE.lerp(Vec3::new(0.90, 0.85, 0.86), 0.8 * bell([33.0, 17.0, 82.0], 15.0));
    // A hint of beard on a male face.
    let beard = ease(-22.0, -40.0, q.y)
        * ease(20.0, 45.0, q.z)
        * ease(-106.0, -86.0, q.y)
        * chart.male.powi(2);
    tint *= Vec3::ONE.lerp(Vec3::new(0.86, 0.87, 0.90), 0.7 * beard);
    // Pores and blotches, barely.
    let above_cut = ease(-104.0, -84.0, q.y);
    tint *= 1.0 + above_cut * (0.018 * rough(q / 5.0) + 0.02 * value(q / 19.0));
    // The dark of the nostrils, which the mesh holds only as dents.
    tint *= 1.0 - 0.75 * bell([6.8, -26.0, 100.5], 3.6);

    let lip = ease(-0.9, 0.9, lip_border(q.x.abs(), true) - q.y)
        * ease(-0.9, 0.9, q.y - lip_border(q.x.abs(), false))
        * ease(70.0, 76.0, q.z);
    tint *= Vec3::ONE.lerp(Vec3::new(0.80, 0.55, 0.56), lip);

    // The dark between the lips.
    let x = q.x.abs();
    let line =
        -50.1 + 0.9 * ease(0.0, 8.0, x) - 0.3 * ease(8.0, 16.0, x) + 0.3 * ease(17.0, 24.0, x);
    let parting =
        (-((q.y - line) / 0.75).powi(2)).exp() * ease(25.5, 21.0, x) * ease(70.0, 76.0, q.z);
    tint *= Vec3::ONE.lerp(Vec3::new(0.34, 0.24, 0.24), 0.85 * parting);

    let brow = brow(q, chart.male) * ease(50.0, 60.0, q.z);
    tint = tint.lerp(tint * hairs, 0.78 * brow);

    for side in SIDES {
        let e = eye_axes(side).transpose() * (p - chart.eye(side));
        if e.z < 0.0 || e.length() > 0.024 {
            continue;
        }
        let t = (e.x - OPENING.inner[0]) / (OPENING.outer[0] - OPENING.inner[0]);
        let (low, up) = OPENING.margins(e.x);
        let within = ease(-0.02, 0.06, t) * ease(1.06, 0.98, t);
        let lash = |y: f32, half: f32| (-((e.y - y) / half).powi(2)).exp() * within;
        tint *= Vec3::ONE.lerp(Vec3::splat(0.16), 0.92 * lash(up + 0.0004, 0.0009));
        tint *= Vec3::ONE.lerp(Vec3::new(0.62, 0.5, 0.5), 0.7 * lash(low - 0.0003, 0.0008));
        if OPENING.distance(e.x, e.y) < -0.0002 {
            tint *= Vec3::new(0.95, 0.62, 0.60);
        }
    }
    tint
}

/// How much of the skin the brow's hairs cover.
fn brow(q: Vec3, male: f32) -> f32 {
    let x = q.x.abs();
    let t = ((x - 9.0) / (48.0 - 9.0)).clamp(0.0, 1.0);
    let centre = 33.0 + 8.0 * t * (1.0 - t) * (1.0 + 1.1 * t) + 1.5 * t;
    let half = (3.5 + 1.1 * male) * (1.0 - t).powf(0.55) + 0.7;
    let edge = 1.0 - ((q.y - centre) / half).abs();
    // Hairs lie outward and up near the nose, outward along the tail.
    let lean = 0.9 - 0.9 * t;
    let strand = value(Vec3::new((x - q.y * lean) / 4.0, (q.y + 0.45 * x * (t - 0.3)) / 0.8, 0.0));
    ease(-0.10, 0.95, edge + 0.34 * strand) * ease(7.0, 12.0, x) * ease(50.0, 44.0, x)
}
