//! Outlines of things as seen from above or from the side.
//!
//! In: the stage's triangles and a way to flatten them. Out: closed lines in metres. The triangles
//! are painted on a fine grid and the grid's edge is followed, so that folds, stands and a sitter's
//! own shape come out as they are rendered.

use std::collections::HashMap;

use glam::{DVec2, Vec3};

use crate::stage::Mesh;

/// Side of a cell in metres: a third of a millimetre on paper at 1:30.
const CELL_M: f64 = 0.01;
/// Most cells along a side; larger things get larger cells.
const MOST_CELLS: f64 = 1500.0;
/// Corners that stand out less than this share of a cell are left out.
const PLAIN: f64 = 0.6;

/// Closed lines round what some meshes cover.
pub fn outline<'a>(
    meshes: impl Iterator<Item = &'a Mesh> + Clone,
    flatten: impl Fn(Vec3) -> DVec2,
) -> Vec<Vec<DVec2>> {
    let points = || meshes.clone().flat_map(|mesh| mesh.positions.iter().map(|p| flatten(*p)));
    let low = points().fold(DVec2::MAX, DVec2::min);
    let high = points().fold(DVec2::MIN, DVec2::max);
    if low.cmpgt(high).any() {
        return Vec::new();
    }
    let cell = CELL_M.max((high - low).max_element() / MOST_CELLS);
    // a free rim all round, of more than a cell: edges in whole centimetres shall not lie on the
    // border of two cells, where rounding would notch them
    let low = low - 1.37 * cell;
    let size = ((high - low) / cell).ceil().as_uvec2() + 2;
    let mut grid = Grid { width: size.x as usize, height: size.y as usize, cells: Vec::new() };
    grid.cells = vec![false; grid.width * grid.height];
    for mesh in meshes.clone() {
        for triangle in &mesh.triangles {
            let corners =
                triangle.map(|corner| (flatten(mesh.positions[corner as usize]) - low) / cell);
            grid.paint(corners);
        }
    }
    grid.loops()
        .into_iter()
        .map(|line| plain(&line).into_iter().map(|point| low + point * cell).collect())
        .collect()
}

struct Grid {
    width: usize,
    height: usize,
    cells: Vec<bool>,
}

impl Grid {
    fn set(&mut self, x: f64, y: f64) {
        let (x, y) = (x.floor(), y.floor());
        if x >= 0.0 && y >= 0.0 && x < self.width as f64 && y < self.height as f64 {
            self.cells[y as usize * self.width + x as usize] = true;
        }
    }

    fn at(&self, x: i64, y: i64) -> bool {
        x >= 0
            && y >= 0
            && x < self.width as i64
            && y < self.height as i64
            && self.cells[y as usize * self.width + x as usize]
    }

    /// Cells whose middle a triangle covers, and those along its edges, so that thin things show.
    fn paint(&mut self, [a, b, c]: [DVec2; 3]) {
        for (from, to) in [(a, b), (b, c), (c, a)] {
            let steps = ((to - from).abs().max_element() * 1.5).ceil().max(1.0);
            for step in 0..=steps as u32 {
                let point = from.lerp(to, f64::from(step) / steps);
                self.set(point.x, point.y);
            }
        }
        let low = a.min(b).min(c).floor();
        let high = a.max(b).max(c).ceil();
        let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
        let area = side(a, b, c);
        if area.abs() < 1e-9 {
            return;
        }
        for y in low.y as i64..=high.y as i64 {
            for x in low.x as i64..=high.x as i64 {
                let middle = DVec2::new(x as f64 + 0.5, y as f64 + 0.5);
                let inside = [(a, b), (b, c), (c, a)]
                    .into_iter()
                    .all(|(p, q)| side(p, q, middle) * area.signum() >= 0.0);
                if inside {
                    self.set(middle.x, middle.y);
                }
            }
        }
    }

    /// Lines along the painted cells' edges, each closed, with the painted side to the right.
    fn loops(&self) -> Vec<Vec<DVec2>> {
        let mut next: HashMap<(i64, i64), Vec<(i64, i64)>> = HashMap::new();
        let mut edge = |from: (i64, i64), to: (i64, i64)| next.entry(from).or_default().push(to);
        let mut starts = Vec::new();
        for y in 0..self.height as i64 {
            for x in (0..self.width as i64).filter(|x| self.at(*x, y)) {
                if !self.at(x, y - 1) {
                    edge((x, y), (x + 1, y));
                    starts.push((x, y));
                }
                if !self.at(x + 1, y) {
                    edge((x + 1, y), (x + 1, y + 1));
                }
                if !self.at(x, y + 1) {
                    edge((x + 1, y + 1), (x, y + 1));
                }
                if !self.at(x - 1, y) {
                    edge((x, y + 1), (x, y));
                }
            }
        }
        let mut loops = Vec::new();
        for start in starts {
            let Some(mut at) = next.get_mut(&start).and_then(Vec::pop) else { continue };
            let mut line = vec![start];
            while at != start {
                line.push(at);
                // every corner has as many ways out as in, so the way goes on until it closes
                let Some(to) = next.get_mut(&at).and_then(Vec::pop) else { break };
                at = to;
            }
            loops.push(line.into_iter().map(|(x, y)| DVec2::new(x as f64, y as f64)).collect());
        }
        loops
    }
}

/// The line without corners that stand out little (Douglas & Peucker 1973, 'Algorithms for the
/// reduction of the number of points required to represent a digitized line').
fn plain(line: &[DVec2]) -> Vec<DVec2> {
    if line.len() < 8 {
        return line.to_vec();
    }
    // a closed line is cut where it is farthest from its start
    let far = (0..line.len())
        .max_by(|a, b| {
            let reach = |i: usize| line[i].distance_squared(line[0]);
            reach(*a).total_cmp(&reach(*b))
        })
        .unwrap_or(0);
    let mut closed = line.to_vec();
    closed.push(line[0]);
    let mut keep = vec![false; closed.len()];
    keep[0] = true;
    let mut parts = vec![(0, far), (far, closed.len() - 1)];
    while let Some((from, to)) = parts.pop() {
        keep[to] = true;
        let along = (closed[to] - closed[from]).normalize_or_zero();
        let off = |i: usize| {
            let way = closed[i] - closed[from];
            if along == DVec2::ZERO { way.length() } else { along.perp_dot(way).abs() }
        };
        let worst = (from + 1..to).max_by(|a, b| off(*a).total_cmp(&off(*b)));
        if let Some(worst) = worst.filter(|worst| off(*worst) > PLAIN) {
            parts.push((from, worst));
            parts.push((worst, to));
        }
    }
    closed.pop();
    closed.iter().zip(&keep).filter(|(_, keep)| **keep).map(|(point, _)| *point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::surface::Surface;
    use crate::stage::Role;

    fn mesh(positions: Vec<Vec3>, triangles: Vec<[u32; 3]>) -> Mesh {
        Mesh {
            name: "thing".into(),
            role: Role::SetBox,
            positions,
            normals: Vec::new(),
            tints: Vec::new(),
            triangles,
            surface: Surface::diffuse("grey", Vec3::splat(0.2)),
        }
    }

    fn area(lines: &[Vec<DVec2>]) -> f64 {
        let one = |line: &Vec<DVec2>| {
            let next = line.iter().cycle().skip(1);
            0.5 * line.iter().zip(next).map(|(a, b)| a.perp_dot(*b)).sum::<f64>()
        };
        lines.iter().map(one).sum::<f64>().abs()
    }

    #[test]
    fn a_square_with_a_hole_comes_back_with_its_area() {
        let corner = |x: f32, z: f32| Vec3::new(x, 1.0, z);
        let ring = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
        let positions = ring.iter().map(|(x, z)| corner(*x, *z));
        let positions = positions.chain(ring.iter().map(|(x, z)| corner(0.5 * x, 0.5 * z)));
        let triangles = (0..4u32).flat_map(|k| {
            let n = (k + 1) % 4;
            [[k, n, 4 + k], [n, 4 + n, 4 + k]]
        });
        let mesh = mesh(positions.collect(), triangles.collect());
        let lines = outline([&mesh].into_iter(), |p| DVec2::new(p.x.into(), p.z.into()));
        assert_eq!(lines.len(), 2);
        // 4 − 1, with about a cell more along every edge
        assert!((area(&lines) - 3.0).abs() < 12.0 * CELL_M * 1.5, "{}", area(&lines));
        let corners: usize = lines.iter().map(Vec::len).sum();
        assert!(corners <= 16, "{corners} corners are not plain");
    }

    #[test]
    fn nothing_has_no_outline() {
        assert!(outline([].into_iter(), |p| DVec2::new(p.x.into(), p.y.into())).is_empty());
    }
}
