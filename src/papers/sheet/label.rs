//! Where labels go: near what they name, clear of each other and of what must be read.
//!
//! In: a size and an anchor for each label; boxes that must stay free; boxes that had better stay
//! free, each with what a covered mm² of it costs, in millimetres farther off; the frame. Out: a box
//! for each label, inside the frame and clear of the others and of what must stay free; `None` only
//! where the frame is full.

use std::f64::consts::TAU;

use glam::DVec2;

use crate::papers::page::Bounds;

/// A label to be placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// What it names.
    pub anchor: DVec2,
    /// Width and height.
    pub size: DVec2,
}

/// Kept free round a label, millimetres.
const AIR_MM: f64 = 0.7;
/// Directions that are tried round an anchor.
const WAYS: u32 = 24;
/// From the anchor to the nearest labels, and steps outward, millimetres.
const NEAREST_MM: f64 = 3.0;
const STEP_MM: f64 = 2.0;

/// Places the labels, the most crowded first.
pub fn place(
    wanted: &[Wanted],
    fixed: &[Bounds],
    soft: &[(Bounds, f64)],
    frame: Bounds,
) -> Vec<Option<Bounds>> {
    let mut placed: Vec<Option<Bounds>> = vec![None; wanted.len()];
    let crowd = |label: &Wanted| -> f64 {
        wanted.iter().map(|other| 1.0 / (4.0 + other.anchor.distance(label.anchor))).sum()
    };
    let mut order: Vec<usize> = (0..wanted.len()).collect();
    order.sort_by(|a, b| crowd(&wanted[*b]).total_cmp(&crowd(&wanted[*a])));
    for index in order {
        let label = &wanted[index];
        let taken: Vec<Bounds> =
            fixed.iter().copied().chain(placed.iter().flatten().copied()).collect();
        let leads: Vec<(DVec2, DVec2)> = wanted
            .iter()
            .zip(&placed)
            .filter_map(|(other, bounds)| bounds.map(|b| lead(other.anchor, b)))
            .collect();
        let free = |bounds: &Bounds| {
            frame.holds(bounds)
                && taken.iter().all(|other| bounds.grown(AIR_MM).overlap(other) == 0.0)
        };
        let cost = |bounds: &Bounds| {
            let (from, to) = lead(label.anchor, *bounds);
            let covered: f64 =
                soft.iter().map(|(thing, weight)| weight * thing.overlap(bounds)).sum();
            let over = taken.iter().filter(|other| crosses_box(from, to, other)).count();
            let crossed = leads.iter().filter(|(a, b)| crosses(from, to, *a, *b)).count();
            // other anchors must not be hidden
            let hidden = wanted
                .iter()
                .enumerate()
                .filter(|(other, one)| {
                    *other != index
                        && bounds.grown(1.0).overlap(&Bounds::new(
                            one.anchor.x,
                            one.anchor.y,
                            0.1,
                            0.1,
                        )) > 0.0
                })
                .count();
            from.distance(to) + covered + 40.0 * (over + hidden) as f64 + 25.0 * crossed as f64
        };
        placed[index] = near(label, frame)
            .chain(all_over(label, frame))
            .filter(free)
            .map(|bounds| (cost(&bounds), bounds))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, bounds)| bounds);
    }
    placed
}

/// From what a label names to the nearest point of its box.
pub fn lead(anchor: DVec2, bounds: Bounds) -> (DVec2, DVec2) {
    (anchor, anchor.clamp(bounds.min, bounds.max))
}

/// Boxes round the anchor, their nearest corner or side at growing distances.
fn near(label: &Wanted, frame: Bounds) -> impl Iterator<Item = Bounds> {
    let Wanted { anchor, size } = *label;
    let reach = 0.5 * frame.size().max_element();
    let rings = (reach / STEP_MM) as u32;
    (0..rings).flat_map(move |ring| {
        let radius = NEAREST_MM + f64::from(ring) * STEP_MM;
        (0..WAYS).map(move |way| {
            let angle = TAU * f64::from(way) / f64::from(WAYS);
            let toward = DVec2::from_angle(angle);
            let centre = anchor + toward * radius + toward * 0.5 * size;
            Bounds { min: centre - 0.5 * size, max: centre + 0.5 * size }
        })
    })
}

/// Boxes all over the frame, for where everything near is taken.
fn all_over(label: &Wanted, frame: Bounds) -> impl Iterator<Item = Bounds> {
    let size = label.size;
    let room = frame.size() - size;
    let (columns, rows) = ((room.x / 3.0).max(0.0) as u32, (room.y / 2.0).max(0.0) as u32);
    (0..=rows).flat_map(move |row| {
        (0..=columns).map(move |column| {
            let min = frame.min + DVec2::new(3.0 * f64::from(column), 2.0 * f64::from(row));
            Bounds { min, max: min + size }
        })
    })
}

/// Whether two stretches cross.
fn crosses(a: DVec2, b: DVec2, c: DVec2, d: DVec2) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Whether a stretch runs through a box.
fn crosses_box(from: DVec2, to: DVec2, bounds: &Bounds) -> bool {
    let (a, c) = (bounds.min, bounds.max);
    let (b, d) = (DVec2::new(c.x, a.y), DVec2::new(a.x, c.y));
    [(a, b), (b, c), (c, d), (d, a)].into_iter().any(|(p, q)| crosses(from, to, p, q))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dozen_labels_on_one_spot_stay_apart_and_inside() {
        let frame = Bounds::new(0.0, 0.0, 150.0, 160.0);
        let wanted: Vec<Wanted> = (0..12)
            .map(|k| Wanted {
                anchor: DVec2::new(60.0 + 0.3 * f64::from(k), 80.0),
                size: DVec2::new(24.0, 6.5),
            })
            .collect();
        let fixed = [Bounds::new(0.0, 0.0, 150.0, 5.0), Bounds::new(0.0, 0.0, 8.0, 160.0)];
        let placed = place(&wanted, &fixed, &[], frame);
        let placed: Vec<Bounds> = placed.into_iter().map(|one| one.expect("room enough")).collect();
        for (index, one) in placed.iter().enumerate() {
            assert!(frame.holds(one));
            assert!(fixed.iter().all(|taken| taken.overlap(one) == 0.0));
            assert!(placed[..index].iter().all(|other| other.overlap(one) == 0.0));
        }
    }

    #[test]
    fn a_full_frame_says_so() {
        let wanted = [Wanted { anchor: DVec2::new(5.0, 5.0), size: DVec2::new(20.0, 5.0) }];
        assert_eq!(place(&wanted, &[], &[], Bounds::new(0.0, 0.0, 10.0, 10.0)), [None]);
    }
}
