//! A cloth wound around the head: bands that cross before the brow, creases along them, a knot.
//!
//! In: the head's chart. Out: a [`Shell`] in the head's own frame. Millimetres of the average head.

use glam::Vec3;

use super::field::{Field, Near, smooth_min};
use super::head::{Chart, scalp};
use super::mesher::{Grid, Shell, Solid, mesh};
use super::noise::{ease, rough, value};

/// The wrap.
pub fn headwrap(chart: &Chart) -> Shell {
    let solid = Wrap { chart, scalp: Field { parts: vec![scalp(chart)], rests: Vec::new() } };
    let (min, max) = ([-125.0, -85.0, -155.0], [125.0, 195.0, 135.0]);
    mesh(&solid, &Grid::even(chart.point(min), chart.point(max), chart.length(2.4)))
}

struct Wrap<'a> {
    chart: &'a Chart,
    scalp: Field,
}

impl Wrap<'_> {
    /// Height over the scalp, millimetres.
    fn height(&self, q: Vec3) -> f32 {
        // The lower edge rises from the nape to the forehead.
        let edge = 66.0 + 0.335 * (q.z - 88.0) + 2.0 * value(q / 24.0);
        let inside = q.y - edge;
        let full = 9.0 + 12.0 * ease(60.0, 150.0, q.y) + 12.0 * ease(20.0, -110.0, q.z);
        (full + self.bands(q)) * ease(-5.0, 7.0, inside) - 2.5 - 22.0 * ease(-4.0, -26.0, inside)
    }

    /// Two families of bands, one a side, crossing at the middle of the brow.
    fn bands(&self, q: Vec3) -> f32 {
        let side = ease(-16.0, 16.0, q.x + 0.10 * (q.y - 80.0));
        let sag = Vec3::new(0.0, 5.0 * value(q / 60.0), 0.0);
        let family = |tilt: f32, phase: f32| {
            let lie = Vec3::new(tilt, 0.92, -0.26);
            let across = (q + sag).dot(lie);
            // Each band overlaps the one below: a saw with a soft back and a steep lower edge.
            let turns = across / 25.0 + phase + 0.10 * value(q / 45.0);
            let t = turns - turns.floor();
            let saw = ease(0.0, 0.20, t) * (1.0 - 0.80 * ease(0.25, 1.0, t));
            // Creases run along the band.
            let run = Vec3::new(q.x * 0.14, across, q.z * 0.14);
            let crease = 1.5 * rough(run / 7.0 + Vec3::splat(phase * 7.0)) + 0.6 * value(run / 2.8);
            8.5 * saw + crease
        };
        let (left, right) = (family(0.52, 0.1), family(-0.52, 0.55));
        left * side + right * (1.0 - side)
    }

    /// A knot over the brow with two short ends.
    fn knot(&self, q: Vec3) -> f32 {
        let at = Vec3::new(10.0, 124.0, 70.0);
        let c = q - at;
        let twist = c.x * 0.12 + (c.y.atan2(c.z)) * 1.6;
        let creases = 2.0 * (twist * 2.0).sin() + 1.4 * rough(q / 7.0);
        let lobe = |o: Vec3, r: Vec3| (((c - o) / r).length() - 1.0) * r.min_element() - creases;
        let core = lobe(Vec3::ZERO, Vec3::new(21.0, 19.0, 20.0));
        let ear_a = lobe(Vec3::new(28.0, 13.0, -6.0), Vec3::new(24.0, 13.0, 10.0));
        let ear_b = lobe(Vec3::new(-25.0, 16.0, -6.0), Vec3::new(22.0, 12.0, 10.0));
        smooth_min(core, smooth_min(ear_a, ear_b, 6.0), 5.0)
    }
}

impl Solid for Wrap<'_> {
    type Near = Near;

    fn near(&self, centre: Vec3, radius: f32) -> Near {
        self.scalp.near(centre, radius + 0.06)
    }

    fn distance(&self, near: &Near, p: Vec3) -> f32 {
        let q = self.chart.millimetres(p);
        let base = self.scalp.distance(near, p) - self.height(q) * 1e-3;
        0.75 * smooth_min(base, self.knot(q) * 1e-3, 0.006)
    }
}
