//! Hair as a solid mass on the scalp, with clumps and strands as relief. Fibres may replace it
//! later; what a mass must get right is the hairline, the outline and a surface that is no helmet.
//!
//! In: the head's chart, the style. Out: a [`Shell`] in the head's own frame. Numbers are
//! millimetres of the average head.

use glam::Vec3;

use super::field::{Field, Near, smooth_min};
use super::head::{Chart, scalp};
use super::mesher::{Grid, Shell, Solid, mesh};
use super::noise::{clump, ease, rough, value};
use crate::plan::HairStyle;

/// The mass of one style; `None` for a bald head.
pub fn hair(chart: &Chart, style: HairStyle) -> Option<Shell> {
    let (min, max, step) = match style {
        HairStyle::Bald => return None,
        HairStyle::Cropped => ([-95.0, -60.0, -125.0], [95.0, 152.0, 95.0], 2.0),
        HairStyle::Volume => ([-165.0, -90.0, -185.0], [165.0, 215.0, 130.0], 3.0),
        HairStyle::Bob => ([-118.0, -100.0, -140.0], [118.0, 165.0, 105.0], 2.5),
        HairStyle::Bun => ([-100.0, -60.0, -150.0], [100.0, 172.0, 95.0], 2.2),
    };
    let solid =
        Mass { chart, style, scalp: Field { parts: vec![scalp(chart)], rests: Vec::new() } };
    Some(mesh(&solid, &Grid::even(chart.point(min), chart.point(max), chart.length(step))))
}

struct Mass<'a> {
    chart: &'a Chart,
    style: HairStyle,
    scalp: Field,
}

/// How far (mm) a place of the head lies inside the hairline; negative outside. `burns` is where
/// sideburns end, `ears` whether the ears stay free.
fn inside_hairline(q: Vec3, burns: f32, ears: bool) -> f32 {
    let x = q.x.abs();
    // Forehead: a shallow M, wavering; temples: the edge runs down and back to the sideburn.
    let waver = 2.0 * value(q * 0.09) + 1.0 * value(q * 0.31);
    let forehead = 83.0 + 5.0 * (-((x - 36.0) / 13.0).powi(2)).exp() + waver;
    let temple = 24.0 + 0.42 * (q.y - 10.0).max(0.0) + 6.0 * ease(50.0, 80.0, q.y) + waver;
    let front = -smooth_min(-(q.y - forehead), -(temple - q.z), 10.0);
    let back = ease(2.0, -40.0, q.z);
    let nape = burns + (-34.0 - burns) * back - 8.0 * ease(-40.0, -90.0, q.z) + waver;
    let mut inside = smooth_min(front, q.y - nape, 8.0);
    if ears {
        let ear = ((q.z + 12.0) / 17.5).powi(2) + ((q.y - 2.0) / 34.0).powi(2);
        if x > 50.0 {
            inside = smooth_min(inside, (ear.sqrt() - 1.0) * 22.0, 5.0);
        }
    }
    inside
}

/// How far (mm) a place lies inside a style's hairline.
pub fn hairline(q: Vec3, style: HairStyle) -> f32 {
    let (burns, ears) = match style {
        HairStyle::Volume => (-6.0, false),
        HairStyle::Bob => (-20.0, false),
        _ => (2.0, true),
    };
    inside_hairline(q, burns, ears)
}

impl Mass<'_> {
    /// Height of the mass over the scalp in millimetres.
    fn height(&self, q: Vec3) -> f32 {
        match self.style {
            HairStyle::Bald => 0.0,
            HairStyle::Cropped => {
                let inside = hairline(q, self.style) + 1.5 * rough(q / 2.4);
                let full = 9.0 * ease(40.0, 120.0, q.y) + 3.0;
                // Short hairs lie forward and down: the relief is longer that way.
                let lie = q / Vec3::new(2.2, 7.0, 8.0);
                let relief = 0.2 * (0.5 - clump(q / 6.5)) + 0.3 * rough(lie);
                full * ease(-3.0, 30.0, inside) - 0.8 + relief * ease(-3.0, 6.0, inside)
            }
            HairStyle::Volume => {
                let inside = hairline(q, self.style);
                // Fuller above and behind; lumps of several sizes; a broken outline.
                let full = 46.0 + 10.0 * ease(20.0, 150.0, q.y) + 9.0 * value(q / 52.0);
                let relief = 4.5 * (0.55 - clump(q / 21.0))
                    + 2.2 * (0.5 - clump(q / 8.5 + Vec3::splat(3.0)))
                    + 1.8 * rough(q / 4.6);
                full * ease(-6.0, 66.0, inside) - 2.0 + relief * ease(-4.0, 20.0, inside)
            }
            HairStyle::Bob => {
                let inside = hairline(q, self.style);
                let part = 5.0
                    * (-((q.x - 18.0) / 4.0).powi(2)).exp()
                    * ease(40.0, 90.0, q.y)
                    * ease(-40.0, 0.0, q.z);
                let lock = self.lock(q);
                (13.0 - part) * ease(-3.0, 16.0, inside) - 1.8 + lock * ease(0.0, 10.0, inside)
            }
            HairStyle::Bun => {
                let inside = hairline(q, self.style);
                7.0 * ease(-3.0, 30.0, inside) - 1.2 + self.lock(q) * 0.7 * ease(0.0, 9.0, inside)
            }
        }
    }

    /// Strands and locks in millimetres, drawn along the way the style is combed.
    fn lock(&self, q: Vec3) -> f32 {
        let along = match self.style {
            HairStyle::Bun => {
                // Drawn back to the knot: constant along great circles through it.
                let from = q - Vec3::new(0.0, 60.0, -20.0);
                let knot = Vec3::new(0.0, 0.62, -0.78);
                let side = (from - knot * from.dot(knot)).normalize_or(Vec3::X);
                side * 80.0 + knot * (from.dot(knot) * 0.09)
            }
            // Falls from the parting: nearly constant downward, and outward on the crown.
            _ => {
                let down = ease(95.0, 50.0, q.y);
                Vec3::new(q.x * (0.10 + 0.90 * down), q.y * (0.05), q.z)
            }
        };
        let bend = Vec3::splat(2.5 * value(q / 38.0));
        1.9 * rough((along + bend) / 9.0) + 1.0 * value((along + bend) / 3.6)
    }

    fn curtain(&self, q: Vec3) -> f32 {
        // A bell of hair around the head from ear height to the jaw, open before the face.
        let flare = 1.0 + 0.05 * ease(30.0, -60.0, q.y);
        let (rx, rz) = (87.0 * flare, 96.0 * flare);
        let ring = ((q.x / rx).powi(2) + ((q.z + 16.0) / rz).powi(2)).sqrt();
        let shell = ((ring - 1.0) * rx + 8.0).abs() - 9.5;
        let hem = -70.0 - 8.0 * ease(0.0, -90.0, q.z)
            + 4.0 * value(Vec3::new(q.x / 9.0, 0.0, q.z / 9.0))
            - q.y;
        let open = q.z - (34.0 + 8.0 * ease(-10.0, -60.0, q.y) + 3.0 * value(q / 14.0));
        let top = q.y - 64.0;
        let cut = -smooth_min(-hem, smooth_min(-open, -top, 10.0), 8.0);
        -smooth_min(-shell, -cut, 8.0) - self.lock(q)
    }

    fn knot(&self, q: Vec3) -> f32 {
        let c = q - Vec3::new(0.0, 122.0, -84.0);
        let turn = c.y.atan2(c.x);
        let round = (c / Vec3::new(33.0, 31.0, 29.0)).length();
        let coil = (turn * 2.0 + round * 2.0 + c.z * 0.21).sin() * 2.2;
        (round - 1.0) * 30.0 - coil - 0.9 * rough(Vec3::new(turn * 2.0, c.z / 4.0, round * 6.0))
    }
}

impl Solid for Mass<'_> {
    type Near = Near;

    fn near(&self, centre: Vec3, radius: f32) -> Near {
        // The mass stands up to 80 mm off the scalp.
        self.scalp.near(centre, radius + 0.085)
    }

    fn distance(&self, near: &Near, p: Vec3) -> f32 {
        let q = self.chart.millimetres(p);
        let mm = 1e-3;
        // Outside the hairline the mass dives under the skin, whose features the scalp lacks.
        let dive = 22.0 * ease(-3.0, -24.0, hairline(q, self.style));
        let base = self.scalp.distance(near, p) - (self.height(q) - dive) * mm;
        let other = match self.style {
            HairStyle::Bob => self.curtain(q) * mm,
            HairStyle::Bun => self.knot(q) * mm,
            _ => return 0.8 * base,
        };
        0.8 * smooth_min(base, other, 0.020)
    }
}
